"""What is heard on the frequency: each transmission in its voice, on the player, and how long it takes."""

from collections.abc import Callable, Iterable

from trainer.radio_room import RadioRoom
from trainer.session.frequency import TOWER
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
        self._tower_words_a_minute = 0

    @property
    def speaking(self) -> str | None:
        """The station that is to be heard now."""
        return self._last if self._player.busy else None

    @property
    def lead_s(self) -> float:
        """A transmission is heard so long after it was begun."""
        return self._player.lead_s

    def seconds(self, station: str, words: str) -> float:
        """How long the transmission takes."""
        sound = self._sound(station, words)
        if sound is not None:
            return sound.seconds
        slow = station == TOWER and self._tower_words_a_minute
        return len(words.split()) * (60.0 / self._tower_words_a_minute if slow else SECONDS_A_WORD)

    def tower_speaks_at(self, words_a_minute: int) -> None:
        """The tower's rate from now on."""
        self._tower_words_a_minute = words_a_minute
        if self._room is not None:
            self._room.tower_words_a_minute = words_a_minute

    def ahead(self, likely: Iterable[tuple[str, str]]) -> None:
        """Have the sounds of these, station and words, made while there is time."""
        if self._room is not None:
            self._room.ahead(likely)

    def measured_by(self, distance_nm: Callable[[str], float]) -> None:
        """How far the trainee is from each station, for the noise."""
        if self._room is not None:
            self._room.distance_nm = distance_nm

    def play(self, station: str, words: str, *, is_blocked: bool = False) -> Sound | None:
        """Begin the transmission; its sound, if it has one."""
        sound = self._sound(station, words, is_blocked)
        if sound is not None:
            self._last = station
            self._play(sound)
        return sound

    def listen_to(self, sound: Sound) -> None:
        """Play this alone: for the debrief."""
        self._player.stop()
        self._play(sound)

    def stop(self) -> None:
        """Fall silent."""
        self._player.stop()

    def model(self, station: str, words: str) -> Sound | None:
        """How the station would say it; None without a voice."""
        return self._sound(station, words)

    def _play(self, sound: Sound) -> None:
        try:
            self._player.play(sound)
        except VoiceError as error:
            self._notify(f"{error} Going on without sound.")
            self._player.close()
            self._player = SilentPlayer()
            self._player.play(sound)

    def close(self) -> None:
        self._player.close()
        if self._room is not None:
            self._room.close()

    def _sound(self, station: str, words: str, is_blocked: bool = False) -> Sound | None:
        if self._room is None:
            return None
        try:
            return self._room.sound(station, words, is_blocked=is_blocked)
        except VoiceError as error:
            self._notify(f"{error} Going on in text.")
            self._room = None
            return None
