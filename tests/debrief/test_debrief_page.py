"""The debrief page: whole, valid, without script, legible in light, dark and print; hostile text stays text."""

import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import html5lib
import numpy as np
import pytest

from tests.logbook.flown import fly_into
from trainer.cli import main
from trainer.debrief.account import SessionAccount
from trainer.debrief.debriefing import account_of, debrief, split_rule
from trainer.debrief.page import debrief_page
from trainer.logbook.recording import SessionRecording
from trainer.logbook.store import Clip, Logbook
from trainer.paper import style

HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</style></svg><iframe src='//e'>",
    "{{ 7 * 7 }}{% raw %}",
    "&lt;b&gt; \x00\x1b[31m \x85",
)
XHTML = "{http://www.w3.org/1999/xhtml}"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("debrief")
    with Logbook.open(folder) as logbook:
        fly_into(logbook, wrong=("gear_report",))
    return folder


@pytest.fixture(scope="module")
def account(folder: Path) -> SessionAccount:
    with Logbook.open(folder) as logbook:
        return debrief(logbook)


def parsed(document: str) -> Any:
    """The tree, by a parser that takes no error (html5lib, the algorithm of the HTML standard)."""
    return html5lib.HTMLParser(strict=True).parse(document)


def text_of(tree: Any) -> str:
    return " ".join("".join(tree.itertext()).split())


def test_every_call_stands_there_with_marks_rule_source_and_reasons(account: SessionAccount) -> None:
    tree = parsed(debrief_page(account))
    text = text_of(tree)
    cards = tree.findall(f".//{XHTML}article")
    assert len(cards) == len(account.calls) > 10
    for call, card in zip(account.calls, cards, strict=True):
        said = text_of(card)
        assert call.title in said
        assert call.model_call in said
        for mark in call.faults:
            assert mark.rule in said
            assert mark.source
            assert mark.source in said
        for reason in call.reasons:
            assert reason in said
    assert any(call.faults for call in account.calls)
    assert "Instructor: Read back the point." in text
    assert account.work_on[0] in text


def test_the_plan_marks_each_call_where_it_was_made(account: SessionAccount) -> None:
    assert account.chart is not None
    track = [(east, north) for _, east, north, _, _ in account.chart.track]
    for call in account.calls:
        assert call.place is not None
        assert min(np.hypot(call.place[0] - e, call.place[1] - n) for e, n in track) < 0.05
    initial = next(call for call in account.calls if call.call == "initial")
    assert initial.place is not None
    assert 2.5 < np.hypot(*initial.place) < 3.2, "a three-mile initial, NM from the threshold"
    plan = debrief_page(account).split("<svg")[1]
    assert sorted(map(int, re.findall(r'href="#call-(\d+)"', plan))) == [
        each.number for each in account.calls
    ]


def test_it_needs_no_script_and_nothing_from_elsewhere(account: SessionAccount) -> None:
    document = debrief_page(account, {1: "data:audio/flac;base64,AA=="}, {2: "data:audio/flac;base64,AA=="})
    tree = parsed(document)
    assert not tree.findall(f".//{XHTML}script")
    addresses = [
        value
        for node in tree.iter()
        for name, value in node.attrib.items()
        if name in ("src", "href", "data", "srcset") or name.endswith("}href")
    ]
    assert len([value for value in addresses if value.startswith("data:audio/flac")]) == 2
    assert all(value.startswith(("data:", "#")) for value in addresses)
    assert "@import" not in document
    assert "url(" not in document
    assert not [name for node in tree.iter() for name in node.attrib if name.startswith("on")]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stays_text(folder: Path, text: str) -> None:
    with Logbook.open(folder) as logbook:
        (row,) = logbook.sessions()
        events, track = logbook.events(1), logbook.track(1)
    for event in events:
        if event["event"] == "TowerSpoke":
            event["note"], event["words"] = text, text
            event["reasons"] = [text]
        if event["event"] == "TraineeSpoke":
            event["heard"] = event["model_call"] = text
            for each in event["elements"]:
                each |= {"element": text, "expected": text, "heard": text, "rule": f"{text} ({text})"}
    chart = row.meta["chart"] | {"points": {text: [-9.0, 0.4]}}
    row.meta.update(title=text, callsign=text, field=text, runway=text, pace=text, chart=chart)
    tree = parsed(debrief_page(account_of(row, events, track)))
    names = {node.tag.split("}")[-1] for node in tree.iter() if isinstance(node.tag, str)}
    assert not names & {"script", "img", "iframe", "b"}
    assert not [name for node in tree.iter() for name in node.attrib if name.startswith("on")]
    shown = re.sub(r"[\x00-\x1f\x7f-\x9f\ud800-\udfff]", " ", text)
    assert " ".join(shown.split()) in text_of(tree.find(f".//{XHTML}h1"))
    assert "49" not in text_of(tree.find(f".//{XHTML}h1"))


def test_a_session_with_nothing_in_it_is_a_page_too(tmp_path: Path) -> None:
    with Logbook.open(tmp_path) as logbook:
        logbook.start_session({}, "yesterday")
        text = text_of(parsed(debrief_page(debrief(logbook))))
    assert "No call was made and none was missed." in text
    assert "it did not end in order" in text


@pytest.mark.parametrize(
    ("written", "parts"),
    [
        ("Say it. (AIM 4-2-3)", ("Say it.", "AIM 4-2-3")),
        ("Say (it). (Annex 10 (II), from memory)", ("Say (it).", "Annex 10 (II), from memory")),
        ("Say it.", ("Say it.", "")),
        ("(only)", ("(only)", "")),
        ("odd) ending)", ("odd) ending)", "")),
    ],
)
def test_a_rule_and_its_source(written: str, parts: tuple[str, str]) -> None:
    assert split_rule(written) == parts


# -- contrast: WCAG 2.2, success criterion 1.4.3, 4.5:1 for text; 1.4.11, 3:1 for what a drawing says ---------

TEXT = ("ink", "soft", "good", "bad", "care", "doubt", "track")
DRAWN = ("track", "soft", "good", "bad", "doubt", "ink")


def palettes() -> list[dict[str, str]]:
    """The colours of light, dark and print, as the style sheet has them."""
    found = [dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", block)) for block in style().split(":root")[1:4]]
    assert len(found) == 3
    return found


def luminance(colour: str) -> float:
    """Relative luminance, as WCAG 2.2 defines it."""
    parts = [int(colour[place : place + 2], 16) / 255.0 for place in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_known_values() -> None:
    """Black on white is 21:1 by the definition; #767676 on white is known as the lightest grey that passes."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("palette", palettes(), ids=["light", "dark", "print"])
def test_contrast(palette: dict[str, str]) -> None:
    for name in TEXT:
        for ground in ("paper", "panel"):
            assert contrast(palette[name], palette[ground]) >= 4.5, (name, ground)
    for name in DRAWN:
        assert contrast(palette[name], palette["paper"]) >= 3.0, name


def test_no_text_has_a_colour_that_is_not_checked() -> None:
    used = set(re.findall(r"(?<![-\w])color: var\(--(\w+)\)", style()))
    used |= set(re.findall(r"text[^{]*\{ fill: var\(--(\w+)\)", style()))
    assert used <= set(TEXT)
    assert not re.findall(r"(?<![-\w])color: #", style())


# -- the command, and a real browser ---------------------------------------------------------------------------


def run(*words: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    return int(ended.value.code or 0)


def test_the_command_puts_what_was_said_into_the_page(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    data = Path(shutil.copytree(folder, tmp_path / "data"))
    monkeypatch.setenv("PATTERNVOICE_DATA", str(data))
    monkeypatch.setattr("trainer.commands.debrief.model_sounds", lambda account: {})  # no voice needed here
    with Logbook.open(data) as logbook:
        call = debrief(logbook).calls[0]
        recording = SessionRecording(data / "a.wav")
        start = recording.append(np.full(16_000, 500, np.int16), 3.0)
        recording.close()
        assert start is not None
        logbook.recording_is(1, data / "a.wav")
        logbook.recorded(1, Clip(call.at, "SABLE 21", start, 1.0))
    out = tmp_path / "page.html"
    assert run("debrief", "--out", str(out)) == 0
    assert "1 recorded, 0 model calls spoken" in capsys.readouterr().out
    assert len(re.findall(r'<audio [^>]*src="data:audio/flac;base64,', out.read_text("utf-8"))) == 1
    assert run("debrief", "7", "--out", str(out)) == 2
    assert (
        capsys.readouterr().err
        == "patternvoice: the logbook has no session 7; see patternvoice logbook list.\n"
    )
    assert run("debrief", "--no-audio", "--out", str(tmp_path)) == 2
    assert "is a folder: name a file" in capsys.readouterr().err


CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


@pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here")
def test_chromium_shows_it_without_script_and_prints_it(account: SessionAccount, tmp_path: Path) -> None:
    """On a phone nothing is wider than the screen; the print has no player and few pages."""
    page, pdf = tmp_path / "page.html", tmp_path / "page.pdf"
    probe = (
        "<script>document.title = 'wide ' + document.documentElement.scrollWidth"
        " + ' of ' + innerWidth</script></body>"
    )
    document = debrief_page(account, {1: "data:audio/flac;base64,AA=="})
    page.write_text(document.replace("</body>", probe), "utf-8")
    base = [str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'u'}"]
    for width in (500, 1280):  # headless Chromium has no narrower window than 500
        size = f"--window-size={width},800"
        shown = subprocess.run(
            [*base, size, "--dump-dom", page.as_uri()],
            capture_output=True,
            text=True,
            timeout=60,
            env=os.environ,
        ).stdout
        wide, of = map(int, re.findall(r"<title>wide (\d+) of (\d+)", shown)[0])
        assert wide <= of
    page.write_text(document, "utf-8")
    subprocess.run(
        [*base, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri()],
        capture_output=True,
        timeout=60,
    )
    pages = len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))
    assert 2 <= pages <= 8
