"""The driver behind the `Speaker` port: an engine in a worker process that may die and is replaced."""

import difflib
import sys
import tempfile
import threading
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from voices.errors import UnknownVoice, VoiceError
from voices.mixing import resample
from voices.process import WorkerLost, WorkerProcess
from voices.pronounce import Manner, engine_text
from voices.sound import Sound, Voice
from voices.wav import read_wav

START_TIMEOUT_S = 30.0
JOB_TIMEOUT_S = 20.0
ATTEMPTS = 2
PACE_LIMITS = (80, 400)
"""Words a minute that the engines follow."""
MOST_SEMITONES = 6.0
"""How far a voice's pitch may be moved; words stay as clear to the recogniser as they were up to about 3."""

_STOP_GRACE_S = 1.0
_RATES = range(8_000, 48_001)


class WorkerSpeaker:
    """Speaks through a worker process, which starts with the first use and is restarted when it fails.

    Safe to use from several threads; they wait for one another. `log` is the file for what the
    libraries print (thrown away if None), `command` the worker to start instead of the usual one, `engine`
    one of `voices.engine` in place of pyttsx3, `manner` how figures are pronounced, `workspace` the folder
    for temporary files (None: the system's). A program that is killed leaves its folder of sounds there.
    """

    def __init__(
        self,
        log: Path | None = None,
        timeout_s: float = JOB_TIMEOUT_S,
        command: Sequence[str] | None = None,
        engine: str | None = None,
        manner: Manner = Manner.US,
        workspace: Path | None = None,
    ) -> None:
        self._lock = threading.Lock()
        self._log = log
        self._timeout_s = timeout_s
        usual = (sys.executable, "-P", "-m", "voices.worker", *([engine] if engine else []))
        self._command = tuple(command or usual)
        self._manner = manner
        self._folder = tempfile.TemporaryDirectory(
            prefix="voices-", dir=workspace, ignore_cleanup_errors=True
        )
        self._worker: WorkerProcess | None = None
        self._engine = ""
        self._names: tuple[str, ...] = ()
        self._jobs = 0
        self._closed = False

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def worker_pid(self) -> int | None:
        """Process id of the running worker, if there is one."""
        return self._worker.pid if self._worker else None

    def voices(self) -> tuple[str, ...]:
        """Names that `speak` accepts. Raises VoiceError if the engine does not start."""
        with self._lock:
            self._know_voices()
            return self._names

    def speak(self, text: str, voice: Voice) -> Sound:
        """`text` (words, commas between clauses) as sound, at the engine's own rate.

        Raises UnknownVoice, or VoiceError for empty text, a pace out of `PACE_LIMITS`, a pitch beyond
        `MOST_SEMITONES`, and when the worker has failed twice with this job.
        """
        slowest, fastest = PACE_LIMITS
        if not any(character.isalnum() for character in text):
            raise VoiceError("there is nothing to say in the text", "give it at least one word")
        if not slowest <= voice.words_a_minute <= fastest:
            raise VoiceError(
                f"{voice.words_a_minute} words a minute cannot be spoken", f"stay in {slowest} to {fastest}"
            )
        if abs(voice.semitones) > MOST_SEMITONES:
            raise VoiceError(
                f"a pitch of {voice.semitones:+g} semitones cannot be spoken",
                f"stay in -{MOST_SEMITONES:g} to {MOST_SEMITONES:g}",
            )
        with self._lock:
            self._know_voices()
            if voice.name not in self._names:
                nearest = difflib.get_close_matches(voice.name, self._names, n=3, cutoff=0.0)
                raise UnknownVoice(voice.name, tuple(nearest), self._names)
            # Played quicker it is higher and shorter, so it is spoken slower by as much.
            higher = 2 ** (voice.semitones / 12)
            sound = self._with_retry(text, voice.name, round(voice.words_a_minute / higher))
        return resample(Sound(sound.samples, round(sound.rate * higher)), sound.rate)

    def close(self) -> None:
        """End the worker and remove the temporary files; a second call does nothing."""
        with self._lock:
            self._closed = True
            self._drop(_STOP_GRACE_S)
            self._folder.cleanup()

    def _know_voices(self) -> None:
        """Start the worker for the first time, trying again once if it fails."""
        if self._closed:
            raise VoiceError("this speaker has been closed", "make a new one")
        for _ in range(ATTEMPTS):
            if self._names:
                return
            try:
                self._started()
            except WorkerLost as lost:
                self._drop(0.0)
                why = lost
        if not self._names:
            raise self._failure("start", why)

    def _with_retry(self, text: str, voice: str, pace: int) -> Sound:
        for _ in range(ATTEMPTS):
            try:
                return self._job(self._started(), text, voice, pace)
            except WorkerLost as lost:
                self._drop(0.0)
                why = lost
        raise self._failure("speak", why)

    def _failure(self, task: str, why: WorkerLost) -> VoiceError:
        remedy = f"see {self._log}" if self._log else "start again with a log file and read that"
        return VoiceError(f"the voice engine failed twice to {task} ({why})", remedy)

    def _started(self) -> WorkerProcess:
        if self._worker is None:
            self._worker = WorkerProcess((*self._command, self._folder.name), self._log)
            hello = self._worker.reply(START_TIMEOUT_S)
            if "error" in hello:
                self._drop(_STOP_GRACE_S)
                raise VoiceError(str(hello["error"]), str(hello["remedy"]))
            self._engine, self._names = str(hello.get("engine")), tuple(hello.get("voices", ()))
            if not self._names:
                self._drop(_STOP_GRACE_S)
                raise VoiceError("the voice engine has no voice", "install a voice in the system's settings")
        return self._worker

    def _job(self, worker: WorkerProcess, text: str, voice: str, pace: int) -> Sound:
        self._jobs += 1
        path = Path(self._folder.name, f"{self._jobs}.wav")
        spoken = engine_text(text, self._engine, self._manner)
        worker.send(job=self._jobs, text=spoken, voice=voice, rate=pace, path=str(path))
        self._check(worker.reply(self._timeout_s))
        try:
            sound = read_wav(path)
        except VoiceError as error:
            raise WorkerLost(str(error)) from error
        path.unlink()
        if sound.rate not in _RATES or not plausible(sound.seconds, text, pace):
            raise WorkerLost(f"it gave {sound.seconds:.2f} s at {sound.rate} samples a second")
        return sound

    def _check(self, answer: dict[str, Any]) -> None:
        if answer.get("job") != self._jobs:
            raise WorkerLost(f"it answered job {answer.get('job')} instead of {self._jobs}")
        if "error" in answer:
            raise WorkerLost(str(answer["error"]))

    def _drop(self, grace_s: float) -> None:
        if self._worker is not None:
            self._worker.stop(grace_s)
            self._worker = None


def plausible(seconds: float, text: str, words_a_minute: int) -> bool:
    """Whether a text can have taken so long: a sound cut short or run on is neither said nor heard.

    Pace counts words of about five letters. Over the calls of the trade at all paces the engine
    takes 0.97 to 3.4 times that (the most for spelled letters); the limits leave room on both sides.
    """
    letters = sum(character.isalnum() for character in text)
    shortest = 60 * letters / 5 / words_a_minute
    longest = max(shortest, 60 * len(text.split()) / words_a_minute)
    return 0.5 * shortest <= seconds <= 4 * longest + 3
