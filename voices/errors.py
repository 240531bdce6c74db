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
    """The engine has no voice of this `name`; `nearest` are names that it has, best first, of all `names`.

    espeak has hundreds: a voice alone, or with a timbre after a plus sign. The text names those alone.
    """

    def __init__(self, name: str, nearest: tuple[str, ...], names: tuple[str, ...]) -> None:
        alone = tuple(other for other in names if "+" not in other)
        timbres = f", each also with a timbre ({nearest[0]})" if len(alone) < len(names) and nearest else ""
        super().__init__(
            f"there is no voice {name!r}",
            f"use one like it ({', '.join(nearest)}) or any of these: {', '.join(alone)}{timbres}",
        )
        self.name = name
        self.nearest = nearest
