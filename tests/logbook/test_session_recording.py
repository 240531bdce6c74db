"""The recording plays at every moment, keeps the session's clock, and fails once."""

import signal
import stat
import subprocess
import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from trainer.logbook.errors import LogbookError
from trainer.logbook.recording import LONGEST_S, SessionRecording

Child = Callable[..., subprocess.Popen[str]]

RECORD_FOR_EVER = """
import itertools, sys
from pathlib import Path
import numpy as np
from trainer.logbook.recording import SessionRecording
recording = SessionRecording(Path(sys.argv[1]))
for number in itertools.count():
    recording.append(np.full(1600, number % 30000, np.int16), number / 10)
    print(number, flush=True)
"""

RECORD_UNTIL_FULL = """
import resource, signal, sys
from pathlib import Path
import numpy as np
from trainer.logbook.errors import LogbookError
from trainer.logbook.recording import SessionRecording
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
recording = SessionRecording(Path(sys.argv[1]))
for number in range(100):
    try:
        recording.append(np.full(1600, number, np.int16), number / 10)
    except LogbookError as error:
        print(number, error)
recording.close()
print("closed")
"""


def heard(path: Path) -> NDArray[np.int16]:
    with wave.open(str(path)) as sound:
        assert (sound.getnchannels(), sound.getsampwidth(), sound.getframerate()) == (1, 2, 16_000)
        data = sound.readframes(sound.getnframes())
        assert len(data) == 2 * sound.getnframes(), "the header promises more than there is"
    return np.frombuffer(data, "<i2").astype(np.int16)


def block(value: int, samples: int = 1600) -> NDArray[np.int16]:
    return np.full(samples, value, np.int16)


def test_silence_fills_the_time_between(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    recording = SessionRecording(path)
    recording.append(block(100), 1.0)
    recording.append(block(-200), 25.5)
    assert recording.seconds == pytest.approx(25.6)
    recording.close()
    expected = np.zeros(int(25.6 * 16_000), np.int16)
    expected[16_000:17_600] = 100
    expected[-1600:] = -200
    np.testing.assert_array_equal(heard(path), expected)


def test_jitter_adds_no_silence_and_the_clock_does_not_run_away(tmp_path: Path) -> None:
    recording = SessionRecording(tmp_path / "a.wav")
    for number in range(500):
        recording.append(block(7), number * 0.101)  # the clock runs one in a hundred fast
        assert abs(recording.seconds - (number * 0.101 + 0.1)) < 0.051
    recording.close()
    samples = heard(tmp_path / "a.wav")
    gaps = np.flatnonzero(np.diff((samples == 0).astype(int)) == 1)
    assert 5 <= len(gaps) <= 15


def test_sound_at_the_same_time_is_put_behind(tmp_path: Path) -> None:
    recording = SessionRecording(tmp_path / "a.wav")
    recording.append(block(1), 0.0)
    recording.append(block(2), 0.05)
    recording.append(block(3)[::2], 0.0)
    recording.close()
    np.testing.assert_array_equal(heard(tmp_path / "a.wav"), [1] * 1600 + [2] * 1600 + [3] * 800)


def test_it_plays_before_it_is_closed(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    recording = SessionRecording(path)
    assert len(heard(path)) == 0
    for number in range(3):
        recording.append(block(number), number / 10)
        assert len(heard(path)) == 1600 * (number + 1)
    recording.close()
    recording.close()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_killed_program_leaves_a_recording_that_plays(tmp_path: Path, child: Child) -> None:
    path = tmp_path / "a.wav"
    process = child(RECORD_FOR_EVER, path)
    assert process.stdout
    for _ in range(40):
        assert process.stdout.readline(), process.communicate()[1]
    process.send_signal(signal.SIGKILL)
    written = 40 + sum(1 for line in process.stdout.read().split("\n")[:-1] if line)
    samples = heard(path)
    assert len(samples) // 1600 - written in (0, 1)
    np.testing.assert_array_equal(samples[: 1600 * 40 : 1600], np.arange(40))


def test_a_full_disk_is_said_once_and_what_there_is_plays(tmp_path: Path, child: Child) -> None:
    path = tmp_path / "a.wav"
    said, trouble = child(RECORD_UNTIL_FULL, path).communicate()
    assert trouble == ""
    lines = said.strip().split("\n")
    assert len(lines) == 2
    assert lines[0].endswith(
        f"the recording {path} cannot be written (File too large); "
        "make room on the disk or name another folder; the session goes on without it."
    )
    failed_at = int(lines[0].split()[0])
    samples = heard(path)
    assert 0 < failed_at <= 100_000 // 3200
    assert len(samples) == 1600 * failed_at


def test_a_really_full_disk(small_disk: Path) -> None:
    recording = SessionRecording(small_disk / "a.wav")
    errors = []
    for number in range(200):
        try:
            recording.append(block(number), number / 10)
        except LogbookError as error:
            errors.append(str(error))
    recording.close()
    assert len(errors) == 1
    assert "No space left on device" in errors[0]
    assert len(heard(small_disk / "a.wav")) == round(recording.seconds * 16_000) > 0


def test_a_place_that_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(LogbookError, match=r"cannot be written \(No such file or directory\)"):
        SessionRecording(tmp_path / "absent" / "a.wav")
    SessionRecording(tmp_path / "a.wav").close()
    with pytest.raises(LogbookError, match=r"there is a recording .* already; choose another name"):
        SessionRecording(tmp_path / "a.wav")


def test_a_time_beyond_any_session_is_refused_once(tmp_path: Path) -> None:
    recording = SessionRecording(tmp_path / "a.wav")
    with pytest.raises(LogbookError, match="is longer than 12 hours; start a new session"):
        recording.append(block(1), LONGEST_S)
    recording.append(block(1), 0.0)
    recording.close()
    assert len(heard(tmp_path / "a.wav")) == 0
