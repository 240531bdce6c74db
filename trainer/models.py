"""The models that are on this machine, and which of them is heard with."""

import sys
from dataclasses import dataclass
from pathlib import Path

from trainer.ears.errors import ModelError
from trainer.ears.model_files import (
    SHIPPED_MODEL,
    check_manifest,
    check_model_files,
    is_our_make,
    probe_model,
)
from trainer.errors import TrainerError
from trainer.logbook.locations import data_folder
from trainer.settings import load_settings, save_settings

EMBEDDED = "embedded"
"""The name of the model that comes with the package."""


@dataclass(frozen=True)
class InstalledModel:
    """A model directory. `size` in bytes; `problem` None: its files are complete."""

    name: str
    folder: Path
    size: int
    problem: str | None
    in_use: bool


def models_folder() -> Path:
    """Where fetched models lie, and where others may be put."""
    return data_folder() / "models"


def chosen_model(named: Path | None = None) -> Path | None:
    """The model to hear with: the one `named` on the command line, else the one chosen; None is the embedded.

    A broken settings file is a sentence on standard error. TrainerError if the chosen model is gone.
    """
    if named is not None:
        return named
    settings, notice = load_settings()
    if notice:
        print(f"patternvoice: {notice}", file=sys.stderr)
    if settings.model is None:
        return None
    folder = _folder_of(settings.model)
    if not folder.is_dir():
        raise TrainerError(
            f"the model that you chose is no longer in {folder}",
            f"put it back, or choose another:  patternvoice model use {EMBEDDED}",
        )
    return folder


def installed_models() -> list[InstalledModel]:
    """The embedded one first, then those of the data folder, then the chosen one if it lies elsewhere."""
    chosen = load_settings()[0].model
    in_use = SHIPPED_MODEL if chosen is None else _folder_of(chosen)
    folders = {EMBEDDED: SHIPPED_MODEL}
    folders |= {folder.name: folder for folder in _folders_in(models_folder()) if folder.name != EMBEDDED}
    if in_use not in folders.values():
        folders[str(in_use)] = in_use
    return [
        InstalledModel(name, folder, _size(folder), _problem(folder), in_use=folder == in_use)
        for name, folder in folders.items()
    ]


def use_model(name: str) -> InstalledModel:
    """Hear with this one from now on: a name of the list, a folder, or `EMBEDDED`.

    TrainerError for a name that is none, ModelError for a folder that is no model or a damaged one.
    """
    if name == EMBEDDED:
        _save_choice(None)
    else:
        own, elsewhere = models_folder() / name, Path(name).expanduser()
        is_own = own in _folders_in(models_folder())
        if not is_own and not elsewhere.is_dir():
            names = ", ".join(model.name for model in installed_models())
            raise TrainerError(f'there is no model "{name}"', f"name a folder, or one of: {names}")
        folder = own if is_own else elsewhere.resolve()
        _check(folder)
        probe_model(folder)
        _save_choice(name if is_own else str(folder))
    return next(model for model in installed_models() if model.in_use)


def _save_choice(model: str | None) -> None:
    save_settings(load_settings()[0].model_copy(update={"model": model}))


def model_lines(models: list[InstalledModel]) -> list[str]:
    """The list for people; the one in use is marked."""
    width = max(len(model.name) for model in models)
    return [
        f"{'*' if model.in_use else ' '} {model.name:{width}}  {model.size / 1e6:6.1f} MB"
        f"  {model.problem or 'complete'}" + ("  (in use)" if model.in_use else "")
        for model in models
    ]


def _folder_of(chosen: str) -> Path:
    """A plain name is in the folder of models."""
    return models_folder() / chosen  # an absolute path stays what it is


def _folders_in(folder: Path) -> list[Path]:
    """Its visible folders, sorted; none where it is not there or may not be read."""
    try:
        return sorted(
            entry for entry in folder.iterdir() if entry.is_dir() and not entry.name.startswith(".")
        )
    except OSError:
        return []


def _size(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def _check(folder: Path) -> None:
    """Of a model of our make the checksums, of any other that nothing is missing or empty; ModelError."""
    if folder == SHIPPED_MODEL or is_our_make(folder):
        check_manifest(folder)
    else:
        check_model_files(folder)


def _problem(folder: Path) -> str | None:
    try:
        _check(folder)
    except ModelError as error:
        return str(error)
    except OSError as error:
        return f"{folder} cannot be read ({error.strerror})"
    return None
