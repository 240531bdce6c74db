"""Ten seconds with the microphone: what `doctor` keeps of them and what `fly` is told."""

from collections import deque
from pathlib import Path

import numpy as np
import pytest

from trainer.commands import doctor
from trainer.ears.calibration import Calibration, Verdict
from trainer.ears.microphone import CapturedBlock
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.errors import TrainerError
from trainer.live.start import microphone_gain
from trainer.microphone_check import FILE, TO_READ, in_words, kept, record, take
from voices.mixing import resample
from voices.playback import SilentPlayer
from voices.sound import Voice
from voices.speaker import WorkerSpeaker


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PATTERNVOICE_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture(scope="module")
def reading() -> Block:
    """The calls that are to be read, in a synthetic voice over a quiet room."""
    gap = np.zeros(SAMPLE_RATE)
    with WorkerSpeaker() as speaker:
        calls = [resample(speaker.speak(line, Voice("en-us", 160)), SAMPLE_RATE).samples for line in TO_READ]
    sound = np.concatenate([gap, *[part for call in calls for part in (0.3 * call, gap)]])
    return np.rint(32767 * sound + np.random.default_rng(1).normal(0, 8, len(sound))).astype(np.int16)


def fainter(sound: Block, db: float) -> Block:
    return np.rint(sound * 10 ** (-db / 20)).astype(np.int16)


class Played:
    """A `Microphone` at the boundary: it plays what it was given, then nothing more comes."""

    dropped = 0

    def __init__(self, sound: Block) -> None:
        self.blocks = [sound[start : start + 512] for start in range(0, len(sound), 512)]
        self.open = False

    def start(self) -> None:
        self.open = True

    def read(self, timeout: float) -> CapturedBlock | None:
        assert self.open
        return CapturedBlock(self.blocks.pop(0), 0.0) if self.blocks else None

    def stop(self) -> None:
        self.open = False


def test_as_much_as_was_asked_for_is_taken_and_the_microphone_closed(reading: Block) -> None:
    microphone = Played(reading)
    taken = record(microphone, seconds=1.0)
    assert len(taken) == pytest.approx(SAMPLE_RATE, abs=512)
    assert (taken == reading[: len(taken)]).all()
    assert not microphone.open


def test_a_good_voice_flies_without_a_word(reading: Block) -> None:
    found = take(reading)
    assert found.verdict is Verdict.GOOD, found
    assert kept() == (found, None)
    assert in_words(found).startswith("good. The voice is loud and clear. Voice ")
    assert " dB over the room" in in_words(found)


def test_a_faint_voice_is_raised_and_the_trainee_told_so(reading: Block) -> None:
    found = take(fainter(reading, 35))
    assert found.verdict is Verdict.USABLE, found
    assert found.gain_db > 15
    again, notice = kept()
    assert again == found
    assert notice is not None
    assert f"raised by {found.gain_db:.0f} dB" in notice
    assert f"raised by {found.gain_db:.0f} dB" in in_words(found)


def test_a_bad_microphone_is_told_again_at_every_flight() -> None:
    found = take(np.zeros(10 * SAMPLE_RATE, np.int16))
    assert found.verdict is Verdict.BAD
    again, notice = kept()
    assert again == found
    assert notice is not None
    assert notice.startswith(found.reason)
    assert notice.endswith("patternvoice doctor")


def test_never_measured_is_told() -> None:
    found, notice = kept()
    assert found is None
    assert notice is not None
    assert "patternvoice doctor" in notice


@pytest.mark.parametrize("text", ["", "7", "{}", "null", '{"verdict": "good"}', "\xff"])
def test_a_broken_file_is_one_sentence_and_no_gain(data: Path, reading: Block, text: str) -> None:
    take(reading)
    (data / FILE).write_bytes(text.encode("latin-1"))
    found, notice = kept()
    assert found is None
    assert notice is not None
    assert str(data / FILE) in notice
    assert notice.endswith("patternvoice doctor")


def test_what_cannot_be_kept_is_said(data: Path, reading: Block) -> None:
    (data / FILE).mkdir(parents=True)
    with pytest.raises(TrainerError, match="cannot be written"):
        take(reading)
    assert [path.name for path in data.iterdir()] == [FILE], "no half file is left"


def test_the_figures_of_a_calibration_survive_the_file(reading: Block) -> None:
    found = take(fainter(reading, 35))
    assert Calibration.from_json(found.as_json()) == found == kept()[0]


def test_doctor_measures_and_fly_hears_with_it(
    reading: Block, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(doctor, "open_microphone", lambda: (Played(fainter(reading, 35)), None))
    monkeypatch.setattr(doctor, "open_player", lambda: (SilentPlayer(), "no loudspeaker"))
    told: deque[str] = deque()
    assert microphone_gain(told) == 0.0
    assert ["never measured" in notice for notice in told] == [True]
    doctor.examine(record=True)
    printed = capsys.readouterr().out
    assert "ok    microphone: usable. The voice is too quiet" in printed
    assert all(line in printed for line in TO_READ)
    found, notice = kept()
    assert found is not None
    told.clear()
    assert microphone_gain(told) == found.gain_db > 0
    assert list(told) == [notice]


def test_doctor_calls_a_dead_microphone_a_lack(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(
        doctor, "open_microphone", lambda: (Played(np.zeros(10 * SAMPLE_RATE, np.int16)), None)
    )
    monkeypatch.setattr(doctor, "open_player", lambda: (SilentPlayer(), "no loudspeaker"))
    doctor.examine(record=True)
    assert "LACK  microphone: Nothing comes from the microphone: unmute it" in capsys.readouterr().out
