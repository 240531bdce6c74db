"""A player that goes on without its device, says so once, and plays again when the device is back.

A headset is unplugged, a sound server ends: in mid-sentence the rest takes its time in silence. Meanwhile a
thread tries to open the output anew.
"""

import threading
from collections.abc import Callable

import numpy as np

from voices.errors import VoiceError
from voices.playback import Player, SilentPlayer
from voices.sound import Sound

RETRY_S = 2.0
BACK = "The sound output is back."
_SILENCE_RATE = 1_000


class ReturningPlayer:
    """`open_player` opens the output, or raises VoiceError; what comes and goes is told to `notify`.

    Used by one thread. `notify` is only called on that thread, from `busy` and `play`. `wait` sleeps so many
    seconds between two attempts, and says whether to give up.
    """

    def __init__(
        self,
        open_player: Callable[[], Player],
        notify: Callable[[str], None],
        silent: Callable[[], Player] = SilentPlayer,
        wait: Callable[[float], bool] | None = None,
    ) -> None:
        self._open = open_player
        self._notify = notify
        self._silent = silent
        self._closing = threading.Event()
        self._wait = wait or self._closing.wait
        self._lock = threading.Lock()
        self._found: Player | None = None
        self._played = 0.0
        self._is_silent = False
        try:
            self._player = open_player()
        except VoiceError as error:
            self._player = silent()
            self._without(error)

    @property
    def busy(self) -> bool:
        self._look()
        return self._player.busy

    @property
    def seconds_left(self) -> float:
        return self._player.seconds_left

    @property
    def lead_s(self) -> float:
        return self._player.lead_s

    @property
    def lost(self) -> str | None:
        """Never lost: it goes on in silence."""
        return None

    @property
    def seconds_played(self) -> float:
        return self._played + self._player.seconds_played

    def play(self, sound: Sound) -> None:
        self._look()
        try:
            self._player.play(sound)
        except VoiceError as error:
            self._fall_silent(error)
            self._player.play(sound)

    def stop(self) -> None:
        self._player.stop()

    def close(self) -> None:
        with self._lock:
            self._closing.set()
            found, self._found = self._found, None
        if found is not None:
            found.close()
        self._player.close()

    def _look(self) -> None:
        """Give up an output that has gone, take one that has come."""
        lost = self._player.lost
        if lost is not None:
            self._fall_silent(VoiceError(lost, "plug it in again"))
        elif self._is_silent and not self._player.busy:
            with self._lock:
                found, self._found = self._found, None
            if found is not None:
                self._change_to(found)
                self._is_silent = False
                self._notify(BACK)

    def _fall_silent(self, error: VoiceError) -> None:
        left = self._player.seconds_left
        self._player.close()
        self._change_to(self._silent())
        self._player.play(Sound(np.zeros(round(left * _SILENCE_RATE), np.float32), _SILENCE_RATE))
        self._without(error)

    def _change_to(self, player: Player) -> None:
        self._played += self._player.seconds_played
        self._player = player

    def _without(self, error: VoiceError) -> None:
        self._is_silent = True
        self._notify(f"{error}. Going on in text; sound comes back with the output.")
        threading.Thread(target=self._search, name="sound output", daemon=True).start()

    def _search(self) -> None:
        while not self._wait(RETRY_S) and not self._closing.is_set():
            try:
                found = self._open()
            except VoiceError:
                continue
            with self._lock:
                if not self._closing.is_set():
                    self._found = found
                    return
            found.close()
            return
