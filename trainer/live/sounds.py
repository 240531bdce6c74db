"""What is heard on the frequency: each transmission in its voice, on the player, and how long it takes."""

from collections.abc import Callable

from trainer.radio_room import RadioRoom
from voices.errors import VoiceError
from voices.playback import Player, SilentPlayer
from voices.sound import Sound

SECONDS_A_WORD = 0.4
"""What a word takes when there is no voice to measure it by: 150 words a minute."""


class FrequencySound:
    """`room` None: nobody has a voice. What fails is told to `notify` once, and the text goes on."""

    def __init__(self, room: RadioRoom | None, player: Player, notify: Callable[[str], None]) -> None:
        self._room = room
        self._player = player
        self._notify = notify
        self._last = ""

    @property
    def speaking(self) -> str | None:
        """The station that is to be heard now."""
        return self._last if self._player.busy else None

    def seconds(self, station: str, words: str) -> float:
        """How long the transmission takes."""
        sound = self._sound(station, words)
        return sound.seconds if sound else SECONDS_A_WORD * len(words.split())

    def play(self, station: str, words: str) -> Sound | None:
        """Begin the transmission; its sound, if it has one."""
        sound = self._sound(station, words)
        if sound is not None:
            self._last = station
            try:
                self._player.play(sound)
            except VoiceError as error:
                self._notify(f"{error} Going on without sound.")
                self._player.close()
                self._player = SilentPlayer()
                self._player.play(sound)
        return sound

    def close(self) -> None:
        self._player.close()

    def _sound(self, station: str, words: str) -> Sound | None:
        if self._room is None:
            return None
        try:
            return self._room.sound(station, words)
        except VoiceError as error:
            self._notify(f"{error} Going on in text.")
            self._room = None
            return None
