"""Several speakers behind one port: the system's voices, and the natural ones if the extra is installed."""

import difflib
from collections.abc import Sequence
from types import TracebackType
from typing import Self

from voices.errors import UnknownVoice, VoiceError
from voices.sound import Sound, Speaker, Voice


class SeveralSpeakers:
    """Each voice is spoken by the first speaker that has it.

    The first must start; if another does not, its voices are left out and `problems` says why.
    """

    def __init__(self, speakers: Sequence[Speaker]) -> None:
        self._speakers = tuple(speakers)
        self._of: dict[str, Speaker] = {}
        self.problems: list[str] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def voices(self) -> tuple[str, ...]:
        """Names that `speak` accepts, of all of them. Raises VoiceError if the first does not start."""
        if not self._of:
            found: dict[str, Speaker] = {}
            problems = []
            for speaker in self._speakers:
                try:
                    names = speaker.voices()
                except VoiceError as error:
                    if speaker is self._speakers[0]:
                        raise
                    problems.append(str(error))
                    continue
                found |= {name: speaker for name in names if name not in found}
            self._of, self.problems = found, problems
        return tuple(self._of)

    def speak(self, text: str, voice: Voice) -> Sound:
        """As the speaker that has this voice. Raises UnknownVoice, and what that raises."""
        names = self.voices()
        if voice.name not in self._of:
            raise UnknownVoice(
                voice.name, tuple(difflib.get_close_matches(voice.name, names, n=3, cutoff=0.0)), names
            )
        return self._of[voice.name].speak(text, voice)

    def close(self) -> None:
        for speaker in self._speakers:
            speaker.close()
