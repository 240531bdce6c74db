"""`patternvoice say`: words to sound, in a station's voice, by radio; and every bad input in one sentence."""

import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from phraseology.standards import standard
from trainer import saying
from trainer.cli import main
from trainer.compose import open_speaker
from trainer.ears.recogniser import SAMPLE_RATE
from voices.mixing import active_level
from voices.several import SeveralSpeakers
from voices.sound import Sound
from voices.wav import read_wav

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="what is measured here are espeak's voices")
US, ICAO = standard("us_military_tower"), standard("icao")
CALL = "SABLE 21, runway 31, cleared touch and go"


@pytest.fixture(autouse=True)
def data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATTERNVOICE_DATA", str(tmp_path / "data"))


@pytest.fixture
def speaker(data_folder: None) -> Iterator[SeveralSpeakers]:
    with open_speaker() as made:
        yield made


def run(*arguments: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main(["say", *arguments])
    return int(ended.value.code or 0)


def test_a_file_is_written_and_the_words_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "call.wav"
    assert run("SABLE 29, runway 31L", "--out", str(out)) == 0
    sound = read_wav(out, SAMPLE_RATE)
    assert 1.5 < sound.seconds < 5
    assert active_level(sound) > 0.05
    told = capsys.readouterr().out
    assert 'tower: "sable two niner, runway three one left"' in told
    assert f"Written: {out}" in told


def test_each_reception_is_heard_in_its_own_way(speaker: SeveralSpeakers) -> None:
    """The noise between the clauses grows; two at once are longer or as long, and nothing like one."""
    heard = {
        radio: saying.make(speaker, US, "go, , go", "tower", radio).sound
        for radio in ("clean", "normal", "weak", "blocked")
    }
    quiet = {radio: quietest(sound) for radio, sound in heard.items()}
    assert quiet["clean"] < quiet["normal"] < quiet["weak"] < quiet["blocked"]
    assert heard["blocked"].seconds > heard["normal"].seconds


def quietest(sound: Sound) -> float:
    """Level of the quietest 50 ms that are not the beginning or the end."""
    frames = sound.samples[1_600:-4_800]
    frames = frames[: len(frames) // 800 * 800].reshape(-1, 800)
    return float(np.sqrt((frames**2).mean(1)).min())


def test_stations_have_the_voices_of_the_session(speaker: SeveralSpeakers) -> None:
    tower, aircraft = (saying.make(speaker, US, CALL, name).voice for name in ("Tower", "HERON 55"))
    assert tower == saying.make(speaker, US, "go", "tower", seed=7).voice
    assert tower.name != aircraft.name
    assert aircraft == saying.make(speaker, US, "go", "HERON 55").voice
    assert saying.make(speaker, US, "go", "ADZE 44", "blocked").sound.seconds > 0.3


def test_the_rate_is_in_words_a_minute(speaker: SeveralSpeakers) -> None:
    """Figures one at a time, without pauses between clauses: nominal within a third, and twice is twice."""
    words = "runway three one cleared touch and go"
    seconds = {
        pace: saying.make(speaker, US, words, "tower", "clean", words_a_minute=pace).sound.seconds
        for pace in (100, 200)
    }
    assert 7 * 60 / seconds[100] == pytest.approx(100, rel=0.33)
    assert seconds[100] / seconds[200] == pytest.approx(2, rel=0.25)


def test_the_standard_says_the_words(speaker: SeveralSpeakers) -> None:
    assert saying.make(speaker, ICAO, "contact 118.1", "tower").words == "contact one one eight decimal one"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["..."], "nothing to say: give the words"),
        (["go " * 200], "longer than 400 characters"),
        (["go", "--wpm", "99"], "no controller speaks 99 words a minute: stay in 100 to 250"),
        (["go", "--wpm", "251"], "stay in 100 to 250"),
        (["go", "--as", " "], "nobody says it"),
        (["go", "--standard", "martian"], 'no standard "martian"'),
        (["go", "--radio", "loud"], "loud"),
        (["go", "--out", "/no/such/folder/call.wav"], "cannot write /no/such/folder/call.wav"),
    ],
)
def test_bad_input_is_one_sentence(
    arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(*arguments) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1
    assert "Traceback" not in error


def test_without_a_sound_card_a_file_is_offered(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from voices.playback import SilentPlayer

    monkeypatch.setattr("trainer.compose.open_player", lambda: (SilentPlayer(), "there is none"))
    assert run("go") == 2
    assert "write it with --out FILE, or mend this: there is none" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("gear report", ["SABLE 21: "]),
        ("closed approved", ["tower: ", "SABLE 21: "]),
    ],
)
def test_explain_can_be_heard(
    name: str, told: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    played: list[float] = []
    monkeypatch.setattr("trainer.saying.play", lambda sound: played.append(sound.seconds))
    with pytest.raises(SystemExit) as ended:
        main(["explain", name, "--say"])
    assert ended.value.code == 0
    lines = [line for line in capsys.readouterr().out.splitlines() if "words a minute" in line]
    assert [line[: len(start)] for line, start in zip(lines, told, strict=True)] == told
    assert len(played) == len(told)
    assert min(played) > 0.8
