"""`patternvoice new-field`: from nothing to a flight there; and every answer out of sense is refused with its reason."""

import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from drills.check import load_field
from phraseology.expected import Expected
from phraseology.heard import Heard
from trainer.cli import main
from trainer.commands.simulate import speech_seconds
from trainer.live.start import plan_of
from trainer.rehearsal import STEP_S
from trainer.session.session import Session

ALDER = {
    "--name": "Alder Field",
    "--runway": "24",
    "--heading": "243",
    "--length": "8000",
    "--side": "left",
    "--elevation": "600",
    "--pattern-altitude": "2100",
    "--conventional-altitude": "1600",
    "--breakout-altitude": "3100",
}
POINTS = ("MILL 330 8", "TARN 150 9")
COMMAND = (sys.executable, "-c", "from trainer.cli import main; main()")


def run(out: Path, *more: str, points: tuple[str, ...] = POINTS, **changed: str) -> int:
    options = ALDER | {f"--{name.replace('_', '-')}": value for name, value in changed.items()}
    words = [word for pair in options.items() for word in pair]
    words += [word for point in points for word in ("--point", point)]
    with pytest.raises(SystemExit) as ended:
        main(["new-field", "--out", str(out), *words, *more])
    return int(ended.value.code or 0)


def check(path: Path) -> int:
    with pytest.raises(SystemExit) as ended:
        main(["check", str(path)])
    return int(ended.value.code or 0)


def test_from_nothing_to_a_flight_on_the_new_field(tmp_path: Path, capsys) -> None:
    """Options, the file, `check`, and a free flight there by the book to its full stop."""
    path = tmp_path / "alder.yaml"
    assert run(path) == 0
    assert f"Written: {path}" in capsys.readouterr().out
    assert check(path) == 0
    assert "0 error(s), 0 warning(s)" in capsys.readouterr().out
    field = load_field(path)
    ends = {end.end: (end.heading_deg, end.length_ft, end.break_side) for end in field.runways}
    assert ends == {"06": (63, 8000, "right"), "24": (243, 8000, "left")}
    assert field.tower == "Alder Tower"
    plan, _ = plan_of(None, None, str(path), None, seed=3, difficulty="beginner")
    assert plan.runway == "24"
    session = Session(plan, speech_seconds)
    words: list[str] = []
    while session.ended is None:
        words += [event.words for event in session.advance(session.now + STEP_S) if hasattr(event, "words")]
        prompt = session.prompt
        if prompt is not None and not session.on_air and session.ended is None:
            session.trainee_keys()
            session.advance(session.now + 3.0)
            session.trainee_said(Heard.typed(lands(prompt)))
    assert session.ended.reason == "full stop"
    assert any("runway two four, cleared to land" in text for text in words)


def lands(prompt: Expected) -> str:
    if prompt.name in ("gear_report", "final"):
        return f"{prompt.model_call.removesuffix(', touch and go')} full stop"
    return prompt.model_call


def test_fly_starts_on_the_new_field_in_a_terminal(tmp_path: Path) -> None:
    path = tmp_path / "alder.yaml"
    assert run(path) == 0
    terminal, other_end = pty.openpty()
    with subprocess.Popen(
        [*COMMAND, "fly", "--no-sound", "--field", str(path)],
        stdin=other_end,
        stdout=other_end,
        stderr=subprocess.PIPE,
        env=os.environ | {"PATTERNVOICE_DATA": str(tmp_path / "data"), "TERM": "xterm-256color"},
        cwd=Path(__file__).parents[2],
        start_new_session=True,
    ) as flight:
        os.close(other_end)
        shown = b""
        while b"Alder Tower" not in shown:
            part = os.read(terminal, 65536)
            assert part, shown[-500:]
            shown += part
        flight.terminate()
        while True:
            try:
                if not os.read(terminal, 65536):
                    break
            except OSError:  # Linux says EIO where the other end has closed
                break
        assert flight.wait(60) == 0
    os.close(terminal)


def test_what_is_not_an_option_is_asked_and_an_answer_out_of_sense_again(tmp_path: Path) -> None:
    """The pattern at 500 ft lies below the field: refused with the reason, and asked once more."""
    answers = ["Alder Field", "24", "", "8000", "left", "600", "500", "", "", "MILL 330 8", "", "2100", ""]
    done = subprocess.run(
        [*COMMAND, "new-field", "--out", str(tmp_path / "alder.yaml")],
        input="\n".join(answers) + "\n",
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "overhead_altitude_ft 500 is not above the field elevation 600" in done.stdout
    field = load_field(tmp_path / "alder.yaml")
    altitudes = (field.overhead_altitude_ft, field.conventional_altitude_ft, field.breakout_altitude_ft)
    assert altitudes == (2100, 1600, 3100)
    assert [end.heading_deg for end in field.runways] == [60, 240]


def test_a_question_that_nobody_answers_is_one_sentence(tmp_path: Path) -> None:
    done = subprocess.run(
        [*COMMAND, "new-field", "--name", "Alder Field"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])},
    )
    assert done.returncode == 2
    assert done.stderr == "patternvoice: Runway end in use: no answer: answer, or give --runway\n"
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (("--side", "north"), "break cannot be"),
        (("--runway", "37"), '"37" is not a runway end'),
        (("--length", "900"), "1000"),
        (("--elevation", "high"), "elevation_ft cannot be"),
        (("--elevation", "600", "--pattern-altitude", "500"), "is not above the field elevation 600"),
        (("--runway", "24", "--heading", "270"), "does not fit runway"),
        (("--point", "MILL north"), '"MILL north" is no entry point'),
        (("--standard", "us_militery_tower"), 'did you mean "us_military_tower"'),
        (("--report-initial", "6"), "lies before initial begins"),
        (("--limit", "0"), "limit"),
        (("--separation", "near"), "minimum_separation_nm cannot be"),
    ],
)
def test_what_is_given_is_looked_at_before_anything_is_asked(capsys, monkeypatch, given, says: str) -> None:
    def asked(question: str) -> str:
        raise AssertionError(f"asked: {question}")

    monkeypatch.setattr("builtins.input", asked)
    with pytest.raises(SystemExit) as ended:
        main(["new-field", *given])
    assert ended.value.code == 2
    assert says in capsys.readouterr().err


@pytest.mark.parametrize("field", ["", "--elevation 5400", "--pattern-altitude 9000", "--breakout-altitude 900",
                                   "--elevation 5400 --breakout-altitude 6200", "--conventional-altitude 700",
                                   "--heading 4", "--heading 360", "--heading 243", "--point MILL:330:8"])  # fmt: skip
def test_what_may_still_be_right_is_asked_on(capsys, monkeypatch, field: str) -> None:
    class AskedError(Exception):
        pass

    def asked(question: str) -> str:
        raise AskedError

    monkeypatch.setattr("builtins.input", asked)
    with pytest.raises(AskedError):
        main(["new-field", *(word.replace(":", " ") for word in field.split())])


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"pattern_altitude": "500"}, "overhead_altitude_ft 500 is not above the field elevation 600"),
        ({"conventional_altitude": "600"}, "conventional_altitude_ft 600 is not above the field elevation"),
        ({"heading": "270"}, "does not fit runway"),
        ({"runway": "37"}, '"37" is not a runway end'),
        ({"length": "900"}, "1000"),
        ({"length": "long"}, "length_ft cannot be"),
        ({"side": "north"}, "break cannot be"),
        ({"elevation": "0700"}, "elevation_ft cannot be"),
        ({"report_initial": "1.5"}, "inside the perch, which for a fast jet is 1.6 NM before the threshold"),
        ({"report_initial": "6"}, "lies before initial begins"),
        ({"outside_offset": "1"}, "write an outside offset of"),
        ({"separation": "-1"}, "minimum_separation_nm"),
        ({"points": ("MILL 153 2", "TARN 330 9")}, "MILL lies inside the pattern of runway"),
        ({"points": ("MILL 330 8", "TARN 335 8")}, "aircraft that hold at both would meet"),
        ({"points": ("MILL north",)}, '"MILL north" is no entry point'),
        ({"points": ("MI 330 8",)}, '"MI" is not a point name'),
    ],
)
def test_values_out_of_sense_are_refused_with_the_reason(tmp_path: Path, capsys, changed, says: str) -> None:
    path = tmp_path / "alder.yaml"
    assert run(path, **changed) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1
    assert not path.exists()


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        (
            {"pattern_altitude": "2000"},
            "less than 500 ft above the conventional pattern at 1600 (FAA Pilot/Controller Glossary",
        ),
        ({"conventional_altitude": "900", "pattern_altitude": "1500"}, "usually 1,000 to 1,500 (AIM 4-3-3)"),
        ({"pattern_altitude": "4000", "breakout_altitude": "5000"}, "would come down"),
        ({"initial": "6"}, "is not 3 to 5 (FAA Pilot/Controller Glossary"),
    ],
)
def test_what_departs_from_a_published_rule_warns_with_its_source(
    tmp_path: Path, capsys, changed, says
) -> None:
    path = tmp_path / "alder.yaml"
    assert run(path, **changed) == 0
    assert f"warning: {capsys.readouterr().out}".count(says) == 1
    assert check(path) == 0
    assert says in capsys.readouterr().out, "check says the same"


def test_a_file_is_not_overwritten(tmp_path: Path, capsys) -> None:
    path = tmp_path / "alder.yaml"
    path.write_text("mine")
    assert run(path) == 2
    assert "is there already" in capsys.readouterr().err
    assert path.read_text() == "mine"


def test_one_way_leaves_the_other_end_out(tmp_path: Path) -> None:
    path = tmp_path / "alder.yaml"
    assert run(path, "--one-way") == 0
    assert [end.end for end in load_field(path).runways] == ["24"]
