"""What can go wrong while a model is made."""

from trainer.ears.errors import EarsError


class TrainingError(EarsError):
    """A step of the training cannot be done."""


def needs(package: str) -> TrainingError:
    """A Python package of the extra is not installed."""
    return TrainingError(
        f"the training needs the package {package}", "pip install '.[train]' in the clone of patternvoice"
    )
