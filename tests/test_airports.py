"""Tonight's field from public data: position, elevation, great circles and magnetic variation, held against
published figures; and from nothing to flying within what a person types in two minutes."""

import builtins
from datetime import date
from pathlib import Path

import pytest

from drills.check import load_field
from phraseology.heard import Heard
from trainer import airports
from trainer.airports import Airport, Variation, as_bearing, great_circle
from trainer.cli import main
from trainer.commands.simulate import speech_seconds
from trainer.live.start import plan_of
from trainer.session.events import TowerSpoke
from trainer.session.session import Session

LAX, JFK = (33 + 57 / 60, -(118 + 24 / 60)), (40 + 38 / 60, -(73 + 47 / 60))
HOME = Airport("XXXX", "Alder Airport", 600, 51.0, -1.0)
TYPED = ("30", "300", "8000", "left", "2100", "", "", "MILL 51.13N 1.05W", "TARN 150 9", "")
"""Runway, heading, length, side, overhead, conventional, breakout, points, no more."""
LETTERS_A_MINUTE = 200
"""40 words of five letters: the usual measure of an unpractised typist (from memory)."""


def run(*words: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    return int(ended.value.code or 0)


def test_great_circle_as_published() -> None:
    """Ed Williams, Aviation Formulary V1.46, worked example LAX to JFK: 2144 nautical miles, initial course 66
    degrees. It counts a minute of arc as a mile, so its Earth is 0.07 per cent smaller than the mean one."""
    bearing, miles = great_circle(LAX, JFK)
    assert bearing == pytest.approx(66, abs=0.5)
    assert miles == pytest.approx(2144, rel=0.001)


@pytest.mark.parametrize(
    ("to", "bearing", "miles"),
    [((52, 0), 0, 60), ((50, 0), 180, 60), ((51, 0), 90, 37.8), ((51.0, -1.0), 270, 37.8)],
)
def test_north_is_0_east_is_90_and_a_degree_is_60_miles(to, bearing: float, miles: float) -> None:
    """The nautical mile was made for this: a minute of latitude. 37.8 is 60 cos 51."""
    start = (51.0, -1.0) if bearing == 90 else (51.0, 0.0)
    found = great_circle(start, to)
    assert abs((found[0] - bearing + 180) % 360 - 180) < 0.5
    assert found[1] == pytest.approx(miles, rel=0.005)


@pytest.mark.parametrize(
    ("day", "km", "latitude", "longitude", "degrees"),
    [
        (date(2025, 1, 1), 0, 80, 0, 1.28),
        (date(2025, 1, 1), 0, 0, 120, -0.16),
        (date(2025, 1, 1), 0, -80, 240, 68.78),
        (date(2025, 1, 1), 100, 80, 0, 0.85),
        (date(2025, 1, 1), 100, -80, 240, 68.21),
        (date(2027, 7, 2), 0, 80, 0, 2.59),
        (date(2027, 7, 2), 0, 0, 120, -0.24),
        (date(2027, 7, 2), 100, -80, 240, 67.93),
    ],
)
def test_the_variation_is_that_of_the_world_magnetic_model(day, km, latitude, longitude, degrees) -> None:
    """NOAA/BGS, WMM2025_TEST_VALUES.txt, declination; 2027.5 is the 2nd of July."""
    pytest.importorskip("pygeomag")
    found = airports.variation(Airport("XXXX", "", round(km * 3280.84), latitude, longitude), day)
    assert found is not None
    assert found.degrees == pytest.approx(degrees, abs=0.011)
    assert day.isoformat() in found.source


def test_beyond_the_model_it_is_not_known() -> None:
    assert airports.variation(HOME, date(2051, 1, 1)) is None


def test_a_point_by_position_becomes_a_magnetic_bearing() -> None:
    east_3 = Variation(3.0, "as said")
    assert as_bearing("MILL 51.5N 1.0W", HOME, east_3) == "MILL 357 30.0"
    assert as_bearing("mill 51.0N, 1.5W", HOME, Variation(-3.0, "")) == "mill 273.2 18.9"
    assert str(east_3) == "3.0 E (as said)"
    with pytest.raises(airports.TrainerError, match="is no place on Earth"):
        as_bearing("MILL 91N 1W", HOME, east_3)


class Tonight(date):
    @classmethod
    def today(cls) -> date:
        return date(2026, 11, 25)


@pytest.fixture
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The public data knows an invented airport, and it is always the same night."""
    data = pytest.importorskip("airportsdata")
    pytest.importorskip("pygeomag")
    known = {
        "icao": "XXXX",
        "name": HOME.name,
        "elevation": 600.2,
        "lat": HOME.latitude,
        "lon": HOME.longitude,
    }
    monkeypatch.setattr(data, "load", lambda _: {"XXXX": known})
    monkeypatch.setattr("trainer.commands.new_field.date", Tonight)
    monkeypatch.chdir(tmp_path)


def typing(monkeypatch: pytest.MonkeyPatch, *lines: str) -> list[str]:
    """Answers the questions with these lines; returns what was asked."""
    asked: list[str] = []
    left = iter(lines)

    def answer(question: str = "") -> str:
        asked.append(question)
        try:
            return next(left)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr(builtins, "input", answer)
    return asked


def test_from_an_airport_code_to_the_tower_s_first_answer_within_two_minutes_of_typing(
    home: None, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    commands = ("patternvoice new-field --airport XXXX", "patternvoice fly --field alder_airport.yaml")
    asked = typing(monkeypatch, *TYPED)
    assert run("new-field", "--airport", "XXXX") == 0
    said = capsys.readouterr().out
    assert "Alder Airport, XXXX at 51.0000N 1.0000W, magnetic variation" in said
    assert "WMM-2025 on 2026-11-25" in said
    assert "elevation 600 ft. The data has no runways." in said
    assert not [question for question in asked if "elevation" in question or "Name" in question]
    field = load_field("alder_airport.yaml")
    assert (field.field, field.tower, field.elevation_ft) == ("Alder Airport", "Alder Tower", 600)
    assert field.points["MILL"].distance_nm == pytest.approx(8.0, abs=0.1)
    assert "magnetic variation" in Path("alder_airport.yaml").read_text().splitlines()[0]
    plan, _ = plan_of(None, None, "alder_airport.yaml", None, seed=3, difficulty="beginner")
    session = Session(plan, speech_seconds)
    answers: list[TowerSpoke] = []
    while not answers:
        events = session.advance(session.now + 0.5)
        prompt = session.prompt
        if prompt is not None and not session.on_air:
            session.trainee_keys()
            events += session.trainee_said(Heard.typed(prompt.model_call))
        answers = [event for event in events if isinstance(event, TowerSpoke) and event.to == plan.callsign]
    assert answers[0].reply == "overhead_approved"
    letters = sum(len(line) + 1 for line in (*commands, *TYPED))
    assert letters / LETTERS_A_MINUTE < 2.0


def test_what_is_said_goes_before_the_data(home: None, monkeypatch: pytest.MonkeyPatch) -> None:
    typing(monkeypatch, *TYPED)
    words = ("--name", "Other Field", "--elevation", "500", "--variation=-4", "--out", "other.yaml")
    assert run("new-field", "--airport", "xxxx", *words) == 0
    field = load_field("other.yaml")
    assert (field.field, field.elevation_ft) == ("Other Field", 500)
    bearing, _ = great_circle((51.0, -1.0), (51.13, -1.05))
    assert field.points["MILL"].bearing_deg == pytest.approx(bearing + 4.0, abs=0.06)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--airport", "ZZZZ"), 'no airport has the ICAO code "ZZZZ"'),
        (("--airport", "XXXX", "--variation", "west"), "the magnetic variation is not known"),
        (("--airport", "XXXX", "--variation", "400"), "a variation of 400 degrees is none"),
        (("--airport", "XXXX", "--point", "MILL 95N 1W"), "is no place on Earth"),
    ],
)
def test_bad_input_is_one_sentence(words, sentence, home, monkeypatch, capsys) -> None:
    typing(monkeypatch)
    assert run("new-field", *words) == 2
    said = capsys.readouterr().err
    assert sentence in said
    assert said.count("\n") == 1


def test_without_the_extra_the_way_to_get_it_is_said(monkeypatch: pytest.MonkeyPatch, capsys) -> None:
    monkeypatch.setitem(__import__("sys").modules, "airportsdata", None)
    assert run("new-field", "--airport", "XXXX") == 2
    assert "'.[airports]'" in capsys.readouterr().err


def test_without_the_magnetic_model_the_variation_is_asked_for(home, monkeypatch, capsys) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pygeomag", None)
    asked = typing(monkeypatch, "-1.5", *TYPED)
    assert run("new-field", "--airport", "XXXX") == 0
    assert asked[0].startswith("Magnetic variation there")
    assert "1.5 W (as said)" in capsys.readouterr().out


def test_the_data_itself_knows_an_airport_where_it_is() -> None:
    """Ed Williams' position of JFK, as above, to the minute."""
    pytest.importorskip("airportsdata")
    found = airports.find_airport("kjfk")
    assert great_circle(JFK, (found.latitude, found.longitude))[1] < 1.0
