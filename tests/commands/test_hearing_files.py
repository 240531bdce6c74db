"""Recordings in files: heard, named, judged; what cannot be read is a sentence, and the rest goes on."""

import contextlib
import json
import os
import struct
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soxr

from trainer.commands.hear import FileEars, FileHeard, hear_files, result_lines, wav_files
from trainer.commands.question import Question
from trainer.ears.level import Trouble
from trainer.ears.vosk_ears import OwnGraphRecogniser
from trainer.errors import TrainerError
from voices.sound import Sound, Voice
from voices.speaker import WorkerSpeaker
from voices.wav import write_wav

VOICE = Voice("en-us+f3", 155)
GEAR = "sable two one, gear down, touch and go"
DUE = Question(call="gear_report", intention="touch_and_go")


@pytest.fixture(scope="module")
def spoken() -> Iterator[Callable[[str], Sound]]:
    """The words in a synthetic voice, at the voice's own rate, with half a second of faint noise around them."""
    with WorkerSpeaker() as worker:

        def say(words: str) -> Sound:
            sound = worker.speak(words, VOICE)
            quiet = np.zeros(sound.rate // 2, np.float32)
            samples = np.concatenate([quiet, 0.5 * sound.samples, quiet])
            hiss = np.random.default_rng(1).normal(0, 1e-3, len(samples))
            return Sound((samples + hiss).astype(np.float32), sound.rate)

        yield say


@pytest.fixture(scope="module")
def ears() -> OwnGraphRecogniser:
    return OwnGraphRecogniser()


@pytest.fixture(scope="module")
def folder(spoken: Callable[[str], Sound], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two calls, one of them deeper in, an empty file, half a file, and what is no recording."""
    folder = tmp_path_factory.mktemp("recordings")
    (folder / "deeper").mkdir()
    write_wav(folder / "gear.wav", spoken(GEAR))
    write_wav(folder / "deeper" / "CLOSED.WAV", spoken("heron four two, request closed"))
    (folder / "empty.wav").write_bytes(b"")
    (folder / "half.wav").write_bytes((folder / "gear.wav").read_bytes()[:20_000])
    (folder / "notes.txt").write_text("no recording")
    return folder


@pytest.fixture(scope="module")
def gear(folder: Path, ears: OwnGraphRecogniser) -> FileHeard:
    return FileEars(DUE, lambda: ears).hear(folder / "gear.wav")


def test_a_right_call_is_heard_and_accepted(gear: FileHeard) -> None:
    assert gear.problem is None
    assert gear.heard.text == "sable two one gear down touch and go"
    assert gear.recognised is not None
    assert gear.recognised.name == "gear_report"
    assert gear.assessment is not None
    assert (gear.assessment.accepted, gear.assessment.score) == (True, 100)
    assert gear.level is not None
    assert 1.5 < gear.level.speech_s < gear.level.seconds - 0.8
    assert gear.warnings == ()


def test_what_a_person_reads(gear: FileHeard) -> None:
    lines = result_lines(gear)
    assert lines[0] == f"{gear.path}: Gear report: accepted, 100 of 100"
    assert lines[1].startswith("  heard  sable two")
    assert lines[2:] == [
        "  as     Gear report",
        "  + callsign",
        "  + gear",
        "  + intention",
        "  model  sable two one, gear down, touch and go",
        f"  sound  {gear.level.speech_s:.1f} s of speech in {gear.level.seconds:.1f} s,"
        f" taken in within {gear.took_s:.2f} s",
    ]


def test_another_call_than_the_one_that_was_due(folder: Path, ears: OwnGraphRecogniser) -> None:
    result = FileEars(DUE, lambda: ears).hear(folder / "deeper" / "CLOSED.WAV")
    assert result.heard.text == "heron four two request closed"
    assert result.recognised is not None
    assert result.recognised.name == "request_closed"
    assert result.assessment is not None
    assert {judged.element for judged in result.assessment.critical} == {"callsign", "gear"}


def test_without_a_call_the_whole_language_is_heard_and_nothing_judged(
    spoken: Callable[[str], Sound], ears: OwnGraphRecogniser, tmp_path: Path
) -> None:
    listening = FileEars(Question(), lambda: ears)
    for words, name in (
        (GEAR, "gear_report"),
        ("sable two one, runway three one, cleared touch and go", "answer_to_cleared"),
        ("sable two one, request closed", "request_closed"),
    ):
        write_wav(tmp_path / "call.wav", spoken(words))
        result = listening.hear(tmp_path / "call.wav")
        assert result.heard.text == words.replace(",", "")
        assert result.recognised is not None
        assert (result.recognised.name, result.assessment) == (name, None)


def test_float_stereo_at_another_rate_is_heard_alike(
    spoken: Callable[[str], Sound], ears: OwnGraphRecogniser, tmp_path: Path
) -> None:
    sound = spoken(GEAR)
    samples = soxr.resample(sound.samples, sound.rate, 44_100).astype("<f4")
    data = np.stack([samples, samples], axis=1).tobytes()
    form = struct.pack("<HHIIHH", 3, 2, 44_100, 44_100 * 8, 8, 32)
    body = b"WAVEfmt " + struct.pack("<I", 16) + form + b"data" + struct.pack("<I", len(data)) + data
    path = tmp_path / "call.wav"
    path.write_bytes(b"RIFF" + struct.pack("<I", len(body)) + body)
    assert FileEars(DUE, lambda: ears).hear(path).heard.text == "sable two one gear down touch and go"


def test_the_level_is_warned_of(
    spoken: Callable[[str], Sound], ears: OwnGraphRecogniser, tmp_path: Path
) -> None:
    sound = spoken(GEAR)
    write_wav(tmp_path / "loud.wav", Sound(np.clip(sound.samples * 20, -1, 1), sound.rate))
    result = FileEars(DUE, lambda: ears).hear(tmp_path / "loud.wav")
    assert result.warnings == (Trouble.CLIPPED.value,)
    assert result_lines(result)[-1] == f"  !      {Trouble.CLIPPED.value}"


def test_folders_are_walked_in_order_and_each_file_comes_once(folder: Path, tmp_path: Path) -> None:
    names = [path.relative_to(folder).as_posix() for path in wav_files([folder, folder / "gear.wav"])]
    assert names == ["deeper/CLOSED.WAV", "empty.wav", "gear.wav", "half.wav"]
    assert wav_files([folder / "none.wav"]) == [folder / "none.wav"], "it gets a sentence of its own"
    for nothing in ([], [tmp_path]):
        with pytest.raises(TrainerError, match="no recording to hear.*: name WAV files"):
            wav_files(nothing)


def test_one_line_of_json_a_file_and_the_rest_goes_on(
    folder: Path, ears: OwnGraphRecogniser, capsys: pytest.CaptureFixture[str]
) -> None:
    assert hear_files([folder, folder / "none.wav"], DUE, lambda: ears, as_json=True) == 2
    out, err = capsys.readouterr()
    rows = [json.loads(line) for line in out.splitlines()]
    assert [Path(row["file"]).name for row in rows] == [
        "CLOSED.WAV",
        "empty.wav",
        "gear.wav",
        "half.wav",
        "none.wav",
    ]
    keys = ["file", "problem", "text", "heard_by", "words", "recognised", "assessment", "seconds", "speech_s",
            "warnings", "took_s"]  # fmt: skip
    assert all(list(row) == keys for row in rows)
    problems = [row["problem"] for row in rows if row["problem"]]
    assert err.splitlines() == [f"patternvoice: {problem}" for problem in problems]
    assert [problem.split(str(folder))[1].split()[0].rstrip(":") for problem in problems] == [
        "/empty.wav",
        "/half.wav",
        "/none.wav",
    ]
    assert rows[2]["assessment"]["accepted"] is True
    assert [word["word"] for word in rows[2]["words"]] == rows[2]["text"].split()
    assert all(0 < word["confidence"] <= 1 and word["start"] < word["end"] for word in rows[2]["words"])
    assert [row["text"] == "" for row in rows] == [False, True, False, True, True]


@pytest.mark.parametrize(
    ("names", "question", "status"),
    [
        (["gear.wav"], DUE, 0),
        (["gear.wav", "deeper"], DUE, 1),
        (["deeper"], Question(), 0),
        (["gear.wav", "half.wav"], Question(), 2),
    ],
)
def test_exit_status(
    folder: Path, ears: OwnGraphRecogniser, names: list[str], question: Question, status: int
) -> None:
    assert hear_files([folder / name for name in names], question, lambda: ears, as_json=False) == status


def test_a_bad_question_comes_before_the_model(folder: Path) -> None:
    def no_ears() -> OwnGraphRecogniser:
        raise AssertionError("the model was loaded")

    with pytest.raises(TrainerError, match="uk_military|UK military"):
        hear_files([folder], Question(call="request_closed", standard="uk_military"), no_ears, as_json=False)


def test_the_bar_is_on_the_terminal_and_the_results_are_not(folder: Path, tmp_path: Path) -> None:
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    files = [str(folder / "gear.wav"), str(folder / "deeper")]
    done = subprocess.run(
        [sys.executable, "-c", "from trainer.cli import main; main()", "hear", "--json", *files],
        stdout=subprocess.PIPE,
        stderr=theirs,
        stdin=subprocess.DEVNULL,
        env=os.environ | {"PATTERNVOICE_DATA": str(tmp_path), "TERM": "xterm-256color"},
        cwd=Path(__file__).parents[2],
        timeout=120,
    )
    os.close(theirs)
    drawn = ""
    with contextlib.suppress(OSError):  # the end of a terminal, on Linux
        while more := os.read(ours, 1 << 16):
            drawn += more.decode(errors="replace")
    os.close(ours)
    assert done.returncode == 0
    assert [json.loads(line)["recognised"] for line in done.stdout.decode().splitlines()] == [
        "gear_report",
        "request_closed",
    ]
    assert "2/2" in drawn
    assert "recognised" not in drawn
