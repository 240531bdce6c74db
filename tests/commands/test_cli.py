"""The command line from outside: exit status, JSON, and one clear sentence for every bad input."""

import json
import struct
import subprocess
import sys
import wave
from pathlib import Path

import numpy as np
import pytest

MODEL_FILES = Path(__file__).parents[2] / "trainer" / "ears" / "model"


@pytest.fixture
def cli(tmp_path, monkeypatch):
    """Run a command with a data folder of its own."""
    monkeypatch.setenv("PATTERNVOICE_DATA", str(tmp_path / "data"))

    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-c", "from trainer.cli import main; main()", *arguments],
            capture_output=True,
            text=True,
            timeout=120,
            cwd=Path(__file__).parents[2],
        )

    return run


def is_one_sentence(result: subprocess.CompletedProcess[str]) -> bool:
    lines = result.stderr.strip().splitlines()
    return len(lines) == 1 and lines[0].startswith("patternvoice: ") and "Traceback" not in result.stderr


GEAR = ("assess", "--field", "corbel", "--runway", "31", "--callsign", "SABLE 21", "--call", "gear_report",
        "--intention", "touch_and_go")  # fmt: skip
AFTER = ("assess", "--callsign", "SABLE 21", "--after")


def test_assess_json_has_the_published_form(cli):
    result = cli(*GEAR, "--said", "sable two one gear down touch and go", "--json")
    assert result.returncode == 0
    out = json.loads(result.stdout)
    assert list(out) == ["call", "accepted", "score", "critical", "heard", "model_call", "elements"]
    assert (out["call"], out["accepted"], out["score"], out["critical"]) == ("gear_report", True, 100, [])
    assert out["model_call"] == "sable two one, gear down, touch and go"
    for element in out["elements"]:
        assert list(element) == ["element", "expected", "heard", "verdict", "severity", "rule"]


def test_assess_exits_1_for_what_the_tower_could_not_act_on(cli):
    result = cli(*GEAR, "--said", "sable two two gear down touch and go", "--json")
    assert result.returncode == 1
    assert json.loads(result.stdout)["critical"] == ["callsign"]


def test_assess_after_a_message_to_another_wants_silence(cli):
    message = "SABLE 12, closed approved"
    assert cli(*AFTER, message, "--said", "").returncode == 0
    answered = cli(*AFTER, message, "--said", "sable two one closed approved", "--json")
    assert answered.returncode == 1
    assert json.loads(answered.stdout)["critical"] == ["silence"]


@pytest.mark.parametrize("asked", [("--call", "initial"), ("--after", "SABLE 21, closed approved")])
def test_assess_of_silence_where_words_are_due_is_not_heard_and_worth_nothing(cli, asked):
    for words in ("", "  ", "..."):
        result = cli("assess", *asked, "--said", words)
        assert result.returncode == 1
        assert "not heard, 0 of 100\n  Nothing was heard" in result.stdout
        assert "critical" not in result.stdout, "no fault of a call that was not made"
    assert json.loads(cli("assess", *asked, "--said", "", "--json").stdout)["score"] == 0
    assert "25 of 100" in cli("assess", "--call", "initial", "--said", "roger").stdout, "but words are judged"


def test_assess_for_people_names_rule_source_and_model_call(cli):
    result = cli(*AFTER, "SABLE 21, unable closed, breakout, report QUARRY", "--said", "sable two one roger")
    assert result.returncode == 1
    assert "missing: QUARRY" in result.stdout
    assert "common practice" in result.stdout
    assert "model  sable two one, breaking out, report quarry" in result.stdout


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("assess", "--call", "gear_repot", "--said", "x"), 'did you mean "gear_report"'),
        (("assess", "--call", "initial"), "--said WORDS or --wav FILE"),
        (("assess", "--said", "x"), "--call NAME"),
        (("assess", "--call", "initial", "--after", "y", "--said", "x"), "--call NAME"),
        (("assess", "--field", "korbel", "--call", "initial", "--said", "x"), "corbel"),
        (("assess", "--runway", "32", "--call", "initial", "--said", "x"), "13, 31"),
        (("assess", "--callsign", "21 SABLE", "--call", "initial", "--said", "x"), "SABLE 21"),
        (("assess", "--intention", "crash", "--call", "initial", "--said", "x"), "touch_and_go"),
        (("assess", "--point", "NOWHERE", "--call", "initial", "--said", "x"), "QUARRY"),
        (("assess", "--after", "the weather is lovely", "--said", "x"), "words of the tower"),
        (("assess", "--altitude", "high", "--call", "initial", "--said", "x"), "--altitude"),
        (("assess", "--bogus", "1"), "--bogus"),
        (("land",), "land"),
        (("check",), "name one or more"),
        (("fly", "--drill", "first_fligt", "--no-sound"), "first_flight"),
        (("fly", "--callsign", "X", "--no-sound"), "SABLE 21"),
    ],
)
def test_bad_usage_is_one_sentence_and_status_2(cli, arguments, says):
    result = cli(*arguments)
    assert result.returncode == 2, result
    assert is_one_sentence(result), result.stderr
    assert says in result.stderr


# -- files --------------------------------------------------------------------------------------------


def wav(path: Path, *, rate=16000, width=2, channels=1, seconds=1.0) -> Path:
    with wave.open(str(path), "wb") as out:
        out.setframerate(rate)
        out.setsampwidth(width)
        out.setnchannels(channels)
        out.writeframes(bytes(round(seconds * rate) * width * channels))
    return path


def truncated(path: Path) -> Path:
    wav(path)
    path.write_bytes(path.read_bytes()[:9000])
    return path


def written(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


BAD_WAVS = {
    "wrong rate": (lambda p: wav(p, rate=44100), "16000"),
    "8-bit": (lambda p: wav(p, width=1), "16"),
    "stereo": (lambda p: wav(p, channels=2), "mono"),
    "no samples": (lambda p: wav(p, seconds=0), "no "),
    "0 bytes": (lambda p: written(p, b""), "empty"),
    "truncated": (truncated, "cut"),
    "not a WAV": (lambda p: written(p, b"hello" * 100), "WAV"),
    "missing": (lambda p: p, "no "),
}


@pytest.mark.parametrize("kind", BAD_WAVS)
def test_a_bad_wav_is_one_sentence_that_names_the_file(cli, tmp_path, kind):
    make, says = BAD_WAVS[kind]
    path = make(tmp_path / "call.wav")
    result = cli(*GEAR, "--wav", str(path))
    assert result.returncode == 2
    assert is_one_sentence(result), result.stderr
    assert str(path) in result.stderr
    assert says.lower() in result.stderr.lower()


@pytest.mark.parametrize("kind", ["silence", "white noise", "hum"])
def test_what_is_no_speech_is_never_accepted(cli, tmp_path, kind):
    rng = np.random.default_rng(3)
    seconds = np.arange(3 * 16000) / 16000
    sound = {
        "silence": np.zeros_like(seconds),
        "white noise": rng.normal(0, 0.1, len(seconds)),
        "hum": 0.2 * np.sin(2 * np.pi * 50 * seconds),
    }[kind]
    path = tmp_path / "noise.wav"
    with wave.open(str(path), "wb") as out:
        out.setframerate(16000)
        out.setsampwidth(2)
        out.setnchannels(1)
        out.writeframes((sound * 32767).astype(np.int16).tobytes())
    result = cli(*GEAR, "--wav", str(path), "--json")
    assert result.returncode == 1
    assert json.loads(result.stdout)["heard"] == ""


def test_a_model_that_is_none_or_cut_short_is_one_sentence(cli, tmp_path):
    sound = wav(tmp_path / "call.wav")
    nothing = cli(*GEAR, "--wav", str(sound), "--model", str(tmp_path / "data"))
    assert nothing.returncode == 2
    assert is_one_sentence(nothing), nothing.stderr
    for name in ("am/final.mdl", "conf/mfcc.conf", "conf/model.conf", "graph/HCLr.fst", "graph/Gr.fst",
                 "graph/words.txt", "graph/disambig_tid.int", "graph/phones/word_boundary.int"):  # fmt: skip
        target = tmp_path / "model" / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes((MODEL_FILES / name).read_bytes())
    cut = tmp_path / "model" / "am" / "final.mdl"
    cut.write_bytes(cut.read_bytes()[:200_000])
    result = cli(*GEAR, "--wav", str(sound), "--model", str(tmp_path / "model"))
    assert result.returncode == 2
    assert is_one_sentence(result), result.stderr
    assert "final.mdl" in result.stderr


BAD_DRILLS = {
    "broken YAML": ("drill: [unclosed\n", ":"),
    "unknown key": (None, "did you mean"),
    "missing field": ("drill: x\n", "goal"),
    "unquoted runway": (None, "quotes"),
}


@pytest.mark.parametrize("kind", BAD_DRILLS)
def test_a_bad_drill_gives_file_line_and_column(cli, tmp_path, kind):
    library = Path(__file__).parents[2] / "drills" / "library" / "first_flight.yaml"
    text, says = BAD_DRILLS[kind]
    if kind == "unknown key":
        text, says = library.read_text().replace("entry_point:", "entrypoint:"), "entry_point"
    if kind == "unquoted runway":
        text = library.read_text().replace('runway: "31"', "runway: 31")
    path = tmp_path / "drill.yaml"
    path.write_text(text)
    result = cli("check", str(path))
    assert result.returncode == 2
    assert "Traceback" not in result.stderr
    finding = result.stdout.splitlines()[0]
    name, line, column, _ = finding.split(":", 3)
    assert (name, line.isdigit(), column.isdigit()) == (str(path), True, True)
    assert says in result.stdout


def test_check_passes_the_whole_library(cli):
    drills = Path(__file__).parents[2] / "drills"
    files = [
        str(path) for folder in ("library", "fields") for path in sorted((drills / folder).glob("*.yaml"))
    ]
    result = cli("check", *files)
    assert result.returncode == 0, result.stdout
    assert "0 error(s), 0 warning(s)" in result.stdout


def test_the_logbook_that_is_corrupt_is_kept_and_said_so(cli, tmp_path):
    folder = tmp_path / "data"
    folder.mkdir()
    (folder / "logbook.sqlite3").write_bytes(struct.pack("<I", 7) * 4000)
    result = cli("demo", "--out", str(tmp_path))
    assert "damaged" in result.stderr
    assert list(folder.glob("logbook-corrupt-*"))
    assert "Traceback" not in result.stderr


def test_a_folder_that_cannot_be_made_is_one_sentence(cli, tmp_path, monkeypatch):
    in_the_way = written(tmp_path / "file", b"not a folder")
    result = cli("demo", "--out", str(in_the_way / "recordings"))
    assert result.returncode == 2
    assert is_one_sentence(result), result.stderr
    monkeypatch.setenv("PATTERNVOICE_DATA", str(in_the_way))
    for command in (("demo",), ("doctor", "--no-record")):
        result = cli(*command)
        assert result.returncode in (1, 2)
        assert "Traceback" not in result.stderr
        assert str(in_the_way) in result.stdout + result.stderr
