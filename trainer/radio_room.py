"""Every voice on the frequency: words of a station as sound, once synthesized and then kept.

The session asks it how long a transmission takes; whoever plays or records asks for the sound. What is likely
to be said next it makes ahead, on a thread of its own.
"""

import contextlib
import threading
import zlib
from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, replace

import numpy as np

from trainer.ears.recogniser import SAMPLE_RATE
from trainer.session.frequency import TOWER
from voices.casting import cast
from voices.errors import VoiceError
from voices.mixing import resample
from voices.radio import NEAR_NM, NORMAL, RadioSetting, blocked, radio
from voices.sound import Sound, Speaker, Voice

KEPT = 24
"""So many transmissions are kept, some 10 MB: three times what may be said next."""
LATE_STATIONS, LATE_CALLS = 0.12, 0.33
"""One pilot in eight speaks before he keys, in a third of his calls (our own choice)."""
LATE_S = (0.08, 0.25)
"""So much of his first word is lost then: about a syllable."""


@dataclass(frozen=True)
class _Job:
    """What a sound depends on. `doublings`: how often farther than `NEAR_NM`; `over`: who keys with it."""

    station: str
    words: str
    voice: Voice
    doublings: int = 0
    over: "_Job | None" = None


def _cast(stations: Sequence[str], seed: int, available: Sequence[str]) -> dict[str, Voice]:
    """A voice each; where there are fewer, who comes later has the voice of one who came before."""
    pilots = list(dict.fromkeys(name for name in stations if name != TOWER))
    for count in range(len(pilots), -1, -1):
        try:
            found = cast([TOWER, *pilots[:count]], seed, available)
        except VoiceError:
            if count <= 1:
                raise
            continue
        return found | {name: found[pilots[i % count]] for i, name in enumerate(pilots[count:])}
    raise AssertionError  # cast() raises for the tower alone


class RadioRoom:
    """`stations` are "tower" and the callsigns. Sounds are at `SAMPLE_RATE`, through the radio.

    `tower_words_a_minute` is the tower's speaking rate from now on; None: as the cast has it. `distance_nm`
    of a station: the noise goes with it. Safe to use from several threads.
    """

    def __init__(
        self, speaker: Speaker, stations: Sequence[str], seed: int, setting: RadioSetting = NORMAL
    ) -> None:
        self._speaker = speaker
        self._cast = _cast(stations, seed, speaker.voices())
        self.tower_words_a_minute: int | None = None
        self.distance_nm: Callable[[str], float] = lambda station: 0.0
        self._setting = setting
        self._seed = seed
        self._lock = threading.Condition()
        self._kept: OrderedDict[_Job, Future[Sound]] = OrderedDict()
        self._wanted: list[_Job] = []
        self._last: _Job | None = None
        self._maker: threading.Thread | None = None
        self._closed = False

    def sound(self, station: str, words: str, *, is_blocked: bool = False) -> Sound:
        """What is heard when the station says these words; VoiceError if the engine fails twice.

        `is_blocked`: another voice and the tone of two carriers lie over it, and it takes no longer.
        """
        job = self._job(station, words)
        if is_blocked:
            other = self._last if self._last is not None and self._last.station != station else None
            job = replace(job, over=other or job)
        else:
            self._last = job
        return self._made(job)

    def ahead(self, likely: Iterable[tuple[str, str]]) -> None:
        """Make these sounds, station and words, while there is time, in this order; earlier wishes lapse."""
        jobs = [self._job(station, words) for station, words in likely]
        with self._lock:
            self._wanted = [job for job in jobs if job not in self._kept]
            if self._wanted and self._maker is None and not self._closed:
                self._maker = threading.Thread(target=self._make_ahead, name="voices ahead", daemon=True)
                self._maker.start()
            self._lock.notify()

    def has(self, station: str, words: str) -> bool:
        """The sound is ready."""
        with self._lock:
            future = self._kept.get(self._job(station, words))
            return future is not None and future.done()

    def close(self) -> None:
        """Make nothing ahead any more; returns when nothing is being made."""
        with self._lock:
            self._closed, self._wanted = True, []
            self._lock.notify()
        if self._maker is not None:
            self._maker.join()

    def _job(self, station: str, words: str) -> _Job:
        voice = self._cast[station]
        if station == TOWER and self.tower_words_a_minute is not None:
            voice = replace(voice, words_a_minute=self.tower_words_a_minute)
        farther = self.distance_nm(station) / NEAR_NM
        return _Job(station, words, voice, max(0, round(np.log2(max(farther, 1.0)))))

    def _made(self, job: _Job) -> Sound:
        """The sound kept, or that another thread is making, or made here."""
        with self._lock:
            found = self._kept.get(job)
            future: Future[Sound] = found or Future()
            self._kept[job] = future
            self._kept.move_to_end(job)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        if found is None:
            try:
                future.set_result(self._make(job))
            except Exception as error:  # whoever waits for it must hear of it
                with self._lock:
                    self._kept.pop(job, None)
                future.set_exception(error)
        return future.result()

    def _make(self, job: _Job) -> Sound:
        spoken = resample(self._speaker.speak(job.words, job.voice), SAMPLE_RATE)
        rng = np.random.default_rng(zlib.crc32(f"{self._seed}/{job.station}/{job.words}".encode()))
        setting = self._setting.from_afar(NEAR_NM * 2**job.doublings)
        late_s = self._late_s(job.station, rng)
        if job.over is None:
            return radio(spoken, setting, rng, late_s)
        length = radio(spoken, setting, rng, late_s).samples.size
        other = resample(self._speaker.speak(job.over.words, job.over.voice), SAMPLE_RATE)
        both = blocked(spoken, other, setting, rng)
        return Sound(np.pad(both.samples, (0, max(0, length - both.samples.size)))[:length], SAMPLE_RATE)

    def _late_s(self, station: str, rng: np.random.Generator) -> float:
        """How much of the first word he loses; 0 for most, and for the tower always."""
        habit = zlib.crc32(f"{self._seed}/{station}".encode()) / 2**32
        draw, late_s = rng.random(), rng.uniform(*LATE_S)
        return float(late_s) if station != TOWER and habit < LATE_STATIONS and draw < LATE_CALLS else 0.0

    def _make_ahead(self) -> None:
        while True:
            with self._lock:
                self._lock.wait_for(lambda: self._wanted or self._closed)
                if self._closed:
                    return
                job = self._wanted.pop(0)
            with contextlib.suppress(VoiceError):  # it is told when the sound is needed
                self._made(job)

    def seconds(self, station: str, words: str) -> float:
        """How long that takes."""
        return self.sound(station, words).seconds
