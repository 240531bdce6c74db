"""What this package raises when something outside it is wrong."""


class VoiceError(Exception):
    """Something could not be spoken, played, read or written.

    `what` is the fault, `remedy` what cures it; the text is both, as one sentence.
    """

    def __init__(self, what: str, remedy: str) -> None:
        super().__init__(f"{what}: {remedy}")
        self.what = what
        self.remedy = remedy


class UnknownVoice(VoiceError):
    """The engine has no voice of this `name`; `nearest` are names that it has, best first."""

    def __init__(self, name: str, nearest: tuple[str, ...]) -> None:
        choices = ", ".join(nearest)
        super().__init__(f"there is no voice {name!r}", f"use one of these instead: {choices}")
        self.name = name
        self.nearest = nearest
