"""The worker and its speaker: real speech, and every way in which the child can fail."""

import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.voices.unlikeness import traits
from voices.errors import UnknownVoice, VoiceError
from voices.espeak_library import LONGEST_DATA_PATH, short_data_path
from voices.mixing import active_level
from voices.process import WorkerProcess
from voices.sound import Sound, Speaker, Voice
from voices.speaker import WorkerSpeaker, plausible

CALL = "sable two one, runway three one, wind calm, cleared touch and go"
US = Voice("en-us")
WORKER = (sys.executable, "-P", "-m", "voices.worker")
linux = pytest.mark.skipif(sys.platform != "linux", reason="the espeak voices are used on Linux only")


@pytest.fixture(scope="module")
def speaker() -> Iterator[WorkerSpeaker]:
    with WorkerSpeaker() as made:
        yield made


def wrapped(tmp_path: Path, first_start: str) -> tuple[str, ...]:
    """The real worker, sabotaged by `first_start` when it is started for the first time."""
    script = tmp_path / "wrapped.py"
    script.write_text(
        "import os, pathlib, runpy, signal, sys, time\n"
        f"marker = pathlib.Path({str(tmp_path / 'started')!r})\n"
        "if not marker.exists():\n"
        "    marker.touch()\n"
        + "".join(f"    {line}\n" for line in first_start.splitlines())
        + "runpy.run_module('voices.worker', run_name='__main__')\n"
    )
    return (sys.executable, str(script))


def scripted(tmp_path: Path, job: str) -> tuple[str, ...]:
    """A hand-made worker that speaks the protocol; `job` is done for each request."""
    script = tmp_path / "scripted.py"
    script.write_text(
        "import json, struct, sys, wave\n"
        "def say(**reply): print(json.dumps(reply), flush=True)\n"
        "say(ready=True, engine='none', voices=['en-us'])\n"
        "for line in sys.stdin:\n"
        "    job = json.loads(line)\n" + "".join(f"    {line}\n" for line in job.splitlines())
    )
    return (sys.executable, str(script))


WRITE = """with wave.open(job['path'], 'wb') as f:
    f.setnchannels(1); f.setsampwidth(2); f.setframerate({rate}); f.writeframes(bytes({bytes}))
"""
DONE = "say(job=job['job'], done=True)"


def alike(one: Sound, other: Sound) -> float:
    """Correlation of the two spectrograms, at as many places of each: 0.95 and more for one voice and text.

    espeak takes a little longer or shorter, depending on the jobs before.
    """

    def spectrogram(sound: Sound) -> NDArray[np.float64]:
        starts = np.linspace(0, len(sound.samples) - 512, 200).astype(int)
        frames = sound.samples[starts[:, None] + np.arange(512)] * np.hanning(512)
        return np.log(np.abs(np.fft.rfft(frames)) + 1e-3).ravel()

    return float(np.corrcoef(spectrogram(one), spectrogram(other))[0, 1])


@linux
def test_a_call_is_spoken_at_a_plausible_length_and_level(speaker: Speaker) -> None:
    sound = speaker.speak(CALL, US)
    assert sound.rate == 22_050
    assert 3 < sound.seconds < 9
    assert 0.02 < active_level(sound) < 0.5
    slow = speaker.speak(CALL, Voice("en-us", 110))
    assert slow.seconds > 1.3 * sound.seconds


@linux
def test_each_voice_and_variant_sounds_of_its_own(speaker: Speaker) -> None:
    names = ("en-us", "en-us+m3", "en-us+f3", "en-gb-x-rp")
    sounds = [speaker.speak(CALL, Voice(name)) for name in names]
    for index, name in enumerate(names):
        again = speaker.speak(CALL, Voice(name))
        closest = max(range(len(names)), key=lambda other: alike(again, sounds[other]))
        assert closest == index
        assert alike(again, sounds[index]) > 0.9


@linux
def test_commas_are_heard_as_pauses(speaker: Speaker) -> None:
    without = speaker.speak(CALL.replace(",", ""), US)
    assert speaker.speak(CALL, US).seconds > without.seconds + 0.3


@linux
@pytest.mark.parametrize(
    ("asked", "offered"),
    [
        ("en-us+andy", "en-us+Andy"),
        ("en-uk", "en-us"),
        ("en-us+m33", "en-us+m3"),
        ("en-gb-scotlan", "en-gb-scotland"),
    ],
)
def test_an_unknown_voice_is_refused_with_the_nearest(speaker: Speaker, asked: str, offered: str) -> None:
    with pytest.raises(UnknownVoice, match=f"no voice {asked!r}".replace("+", r"\+")) as caught:
        speaker.speak(CALL, Voice(asked))
    assert offered in caught.value.nearest
    assert offered in speaker.voices()
    assert offered in caught.value.remedy


@pytest.mark.parametrize("text", ["", "  ", ", ,"])
def test_nothing_to_say_is_refused(speaker: Speaker, text: str) -> None:
    with pytest.raises(VoiceError, match="nothing to say"):
        speaker.speak(text, US)


def test_a_pace_nobody_can_speak_is_refused(speaker: Speaker) -> None:
    with pytest.raises(VoiceError, match="900 words a minute.*80 to 400"):
        speaker.speak(CALL, Voice("en-us", 900))


@linux
def test_a_higher_pitch_is_heard_and_takes_no_less_time(speaker: WorkerSpeaker) -> None:
    plain, high, low = (
        speaker.speak(CALL, Voice("en-us+m3", 165, semitones)) for semitones in (0.0, 3.0, -3.0)
    )
    assert traits(high).pitch - traits(plain).pitch == pytest.approx(3, abs=1)
    assert traits(plain).pitch - traits(low).pitch == pytest.approx(3, abs=1)
    assert high.rate == low.rate == plain.rate
    assert high.seconds == pytest.approx(plain.seconds, rel=0.05)
    assert low.seconds == pytest.approx(plain.seconds, rel=0.05)


def test_a_pitch_nobody_has_is_refused(speaker: WorkerSpeaker) -> None:
    with pytest.raises(VoiceError, match=r"\+12 semitones cannot be spoken: stay in -6 to 6"):
        speaker.speak(CALL, Voice("en-us", 165, 12.0))


@linux
def test_the_pace_is_in_words_a_minute(speaker: WorkerSpeaker) -> None:
    """Nine words without a pause between them: nominal within a third, and evenly quicker up to a busy tower's."""
    text = "cleared touch and go report at three mile initial"
    said = [60 * 9 / speaker.speak(text, Voice("en-us", pace)).seconds for pace in (100, 150, 200, 250)]
    assert said == pytest.approx([100, 150, 200, 250], rel=0.34)
    assert [quicker / said[0] for quicker in said[1:]] == pytest.approx([1.5, 2.0, 2.5], rel=0.2)


@linux
def test_several_threads_may_speak_at_once(speaker: WorkerSpeaker) -> None:
    texts = [f"{word} two one, initial" for word in ("sable", "heron", "marten", "topaz", "adze")]
    alone = {text: speaker.speak(text, US) for text in texts}
    together: dict[str, Sound] = {}

    def speak(text: str) -> None:
        together[text] = speaker.speak(text, US)

    threads = [threading.Thread(target=speak, args=(text,)) for text in texts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for text in texts:
        assert max(texts, key=lambda other: alike(together[text], alone[other])) == text


@linux
def test_a_worker_killed_between_calls_is_replaced() -> None:
    with WorkerSpeaker() as speaker:
        before = speaker.speak(CALL, US)
        first = speaker.worker_pid
        assert first is not None
        os.kill(first, signal.SIGKILL)
        after = speaker.speak(CALL, US)
        assert speaker.worker_pid != first
        assert alike(after, before) > 0.9


@linux
def test_a_worker_killed_in_the_middle_of_a_job_still_delivers(tmp_path: Path) -> None:
    # The kill comes when the speech is made and not yet under its final name.
    kill = "os.replace = lambda *names: os.kill(os.getpid(), signal.SIGKILL)"
    with WorkerSpeaker(command=wrapped(tmp_path, kill)) as speaker, WorkerSpeaker() as healthy:
        assert alike(speaker.speak(CALL, US), healthy.speak(CALL, US)) > 0.9
        assert (tmp_path / "started").exists()


@linux
def test_a_worker_that_hangs_is_replaced(tmp_path: Path) -> None:
    hang = "os.replace = lambda *names: time.sleep(600)"
    with WorkerSpeaker(timeout_s=3.0, command=wrapped(tmp_path, hang)) as speaker:
        assert speaker.speak(CALL, US).seconds > 3


@linux
def test_a_worker_that_dies_at_its_start_is_replaced(tmp_path: Path) -> None:
    with WorkerSpeaker(command=wrapped(tmp_path, "sys.exit(1)")) as speaker:
        assert "en-us" in speaker.voices()


FAULTY = {
    "cut short": (WRITE.format(rate=22_050, bytes=400_000) + "open(job['path'], 'r+b').truncate(999)\n" + DONE, "cut short"),
    "no sound": (WRITE.format(rate=22_050, bytes=0) + DONE, "holds no sound"),
    "no file": (DONE, "no file"),
    "far too short": (WRITE.format(rate=22_050, bytes=2_000) + DONE, "gave 0.05 s"),
    "far too long": (WRITE.format(rate=8_000, bytes=2_000_000) + DONE, "gave 125.00 s"),
    "absurd rate": (WRITE.format(rate=100, bytes=1_000) + DONE, "at 100 samples"),
    "another job's answer": ("say(job=99, done=True)", "job 99 instead of"),
    "an error": ("say(job=job['job'], error='out of breath')", "out of breath"),
    "nonsense": ("print('hello', flush=True)", "answered 'hello"),
    "not an object": ("print('[]', flush=True)", "answered '"),
    "exit": ("sys.exit(3)", "ended with code 3"),
    "no answer": ("pass", "no answer in 0.3 s"),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTY)
def test_what_fails_twice_is_one_sentence(tmp_path: Path, fault: str) -> None:
    job, why = FAULTY[fault]
    log = tmp_path / "voices.log"
    timeout_s = 0.3 if fault == "no answer" else 30.0
    with WorkerSpeaker(log, timeout_s, scripted(tmp_path, job)) as speaker:
        with pytest.raises(VoiceError, match="failed twice to speak") as caught:
            speaker.speak(CALL, US)
        assert why in caught.value.what
        assert caught.value.remedy == f"see {log}"
        assert speaker.worker_pid is None


def test_a_fault_of_the_first_worker_only_is_not_noticed(tmp_path: Path) -> None:
    right = WRITE.format(rate=22_050, bytes=220_500)
    job = (
        "import os\n" + right + f"if not os.path.exists({str(tmp_path / 'once')!r}):\n"
        f"    open({str(tmp_path / 'once')!r}, 'w').close()\n"
        "    open(job['path'], 'r+b').truncate(1_000)\n" + DONE
    )
    with WorkerSpeaker(command=scripted(tmp_path, job)) as speaker:
        assert speaker.speak(CALL, US).seconds == 5.0


def test_an_engine_that_says_why_it_does_not_start_is_quoted(tmp_path: Path) -> None:
    script = tmp_path / "broken.py"
    script.write_text('print(\'{"error": "no voices", "remedy": "install one"}\')')
    with (
        WorkerSpeaker(command=(sys.executable, str(script))) as speaker,
        pytest.raises(VoiceError, match="^no voices: install one$"),
    ):
        speaker.voices()


def test_a_worker_that_never_starts_is_one_sentence(tmp_path: Path) -> None:
    with (
        WorkerSpeaker(command=(sys.executable, "-c", "raise SystemExit(1)")) as speaker,
        pytest.raises(VoiceError, match="failed twice to start .*ended with code 1.*log file"),
    ):
        speaker.speak(CALL, US)


@linux
def test_closing_leaves_no_process_and_no_file() -> None:
    speaker = WorkerSpeaker()
    speaker.speak(CALL, US)
    pid = speaker.worker_pid
    assert pid is not None
    folder = Path(f"/proc/{pid}/cmdline").read_bytes().split(b"\0")[-2].decode()
    assert Path(folder).is_dir()
    speaker.close()
    speaker.close()
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)
    assert not Path(folder).exists()
    with pytest.raises(VoiceError, match="has been closed"):
        speaker.speak(CALL, US)


def started(command: tuple[str, ...], folder: Path) -> "subprocess.Popen[str]":
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    return subprocess.Popen(
        [*command, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env=environment,
    )


@linux
def test_the_worker_ends_with_its_input_as_when_the_parent_dies(tmp_path: Path) -> None:
    with started(WORKER, tmp_path) as worker:
        assert worker.stdout is not None
        assert worker.stdin is not None
        assert json.loads(worker.stdout.readline())["ready"]
        worker.stdin.close()
        assert worker.wait(timeout=60) == 0


@linux
def test_the_worker_ends_even_if_its_engine_hangs(tmp_path: Path) -> None:
    command = wrapped(tmp_path, "os.replace = lambda *names: time.sleep(600)")
    with started(command, tmp_path) as worker:
        assert worker.stdout is not None
        assert worker.stdin is not None
        worker.stdout.readline()
        request = {"job": 1, "text": "go", "voice": "en-us", "rate": 165, "path": str(tmp_path / "1.wav")}
        worker.stdin.write(json.dumps(request) + "\n")
        worker.stdin.close()
        assert worker.wait(timeout=60) == 1


@linux
def test_what_the_libraries_print_goes_to_the_log(tmp_path: Path) -> None:
    log = tmp_path / "voices.log"
    with WorkerSpeaker(log) as speaker:
        speaker.speak(CALL, US)
    assert "Audio saved to" in log.read_text()


@linux
def test_an_unwritable_place_is_an_answer_not_a_hang(tmp_path: Path) -> None:
    worker = WorkerProcess([*WORKER, str(tmp_path)], log=None)
    try:
        assert worker.reply(60)["ready"]
        worker.send(job=1, text="go", voice="en-us", rate=165, path=str(tmp_path / "missing" / "1.wav"))
        assert "No such file" in worker.reply(60)["error"]
        worker.send(job=2, text="go", voice="en-us", rate=165, path=str(tmp_path / "2.wav"))
        assert worker.reply(60) == {"job": 2, "done": True}
        # A fault of the engine itself: the parent ends a worker that told one, so nothing comes after it.
        worker.send(job=3, text="go", voice="no such", rate=165, path=str(tmp_path / "3.wav"))
        assert "engine failed" in worker.reply(60)["error"]
    finally:
        worker.stop(5)
    assert (tmp_path / "2.wav").stat().st_size > 1_000
    assert not list(tmp_path.glob("*.part"))


def long_folder(parent: Path) -> Path:
    folder = parent.joinpath("d" * 100, "e" * 60, "espeak-ng-data")
    folder.mkdir(parents=True)
    (folder / "phontab").touch()
    return folder


def test_a_long_data_path_becomes_a_short_link(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("voices.espeak_library.LONGEST_DATA_PATH", len(str(tmp_path)) + 30)
    data = long_folder(tmp_path)
    short = short_data_path(data, tmp_path)
    assert short.is_symlink()
    assert (short / "phontab").is_file()
    assert short_data_path(data, tmp_path) == short
    assert short_data_path(short, tmp_path) == short
    with pytest.raises(VoiceError, match="set TMPDIR"):
        short_data_path(data, data)


def test_where_links_are_forbidden_the_data_is_copied(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voices.espeak_library.LONGEST_DATA_PATH", len(str(tmp_path)) + 30)

    def refuse(*_: object, **__: object) -> None:
        raise OSError("links are not allowed here")

    monkeypatch.setattr(Path, "symlink_to", refuse)
    short = short_data_path(long_folder(tmp_path), tmp_path)
    assert (short / "phontab").is_file()
    assert not short.is_symlink()


@linux
def test_the_worker_speaks_from_a_long_data_path(
    tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """The package of the voice library is put under a path that would end the process."""
    import espeakng_loader

    deep = tmp_path / ("x" * 120)
    deep.mkdir()
    (deep / "espeakng_loader").symlink_to(Path(espeakng_loader.__file__).parent)
    assert len(str(deep)) > LONGEST_DATA_PATH
    script = tmp_path / "deep.py"
    script.write_text(f"import runpy, sys; sys.path.insert(0, {str(deep)!r}); "
                      "runpy.run_module('voices.worker', run_name='__main__')")  # fmt: skip
    log = tmp_path / "log"
    with WorkerSpeaker(log, command=(sys.executable, str(script))) as speaker:
        assert speaker.speak(CALL, US).seconds > 3


def test_missing_data_is_a_sentence_not_the_end_of_the_process(tmp_path: Path) -> None:
    if sys.platform != "linux":
        pytest.skip("the espeak voices are used on Linux only")
    package = tmp_path / "espeakng_loader"
    package.mkdir()
    (package / "__init__.py").write_text(
        "def get_library_path(): return __file__.replace('__init__.py', 'libespeak-ng.so')\n"
    )
    script = tmp_path / "bare.py"
    script.write_text(f"import runpy, sys; sys.path.insert(0, {str(tmp_path)!r}); "
                      "runpy.run_module('voices.worker', run_name='__main__')")  # fmt: skip
    with (
        WorkerSpeaker(command=(sys.executable, str(script))) as speaker,
        pytest.raises(VoiceError, match="is incomplete: pip install --force-reinstall espeakng-loader"),
    ):
        speaker.voices()


def test_plausible_lengths() -> None:
    assert plausible(5.3, CALL, 165)
    assert not plausible(1.0, CALL, 165)
    assert not plausible(60.0, CALL, 165)


def test_every_job_is_spoken_in_its_own_voice(speaker: WorkerSpeaker) -> None:
    """A slow and a quick voice in turn: a setting that is lost would show in the length of the sound."""
    slow, quick = Voice("en-gb-x-rp", 120), Voice("en-us+f3", 220)
    lengths: dict[Voice, set[float]] = {slow: set(), quick: set()}
    for _ in range(40):
        for voice in (slow, quick):
            lengths[voice].add(round(speaker.speak("heron four two, closed approved", voice).seconds, 1))
    assert max(lengths[slow]) - min(lengths[slow]) <= 0.1
    assert max(lengths[quick]) - min(lengths[quick]) <= 0.1
    assert min(lengths[slow]) > 1.3 * max(lengths[quick])
