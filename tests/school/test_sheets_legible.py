"""What the class and student sheets add to the style sheet can be read in light, dark and print.

W3C, WCAG 2.2, success criterion 1.4.3: 4.5:1 for text. `tests/debrief/test_debrief_page.py` has the formula, holds it
to known values, and holds the style sheet's own colours, which the sheets use too.
"""

import itertools
import re
from importlib import resources

import pytest

from tests.debrief.test_debrief_page import TEXT, contrast, palettes
from trainer.school.sheet_page import _BANDS

PAGES = resources.files("trainer") / "pages"
ADDED = (PAGES / "sheet_parts.html").read_text("utf-8").partition("{% endmacro %}")[0]
CELLS = {
    name: (ground, ink)
    for name, ground, ink in re.findall(
        r"\.(b\d) \{ background: (#[0-9a-f]{6}); color: (#[0-9a-f]{6});", ADDED
    )
}


@pytest.mark.parametrize("cell", CELLS)
def test_a_shaded_cell_brings_its_own_ground_and_ink(cell: str) -> None:
    """The same in all three: neither is left to the page."""
    ground, ink = CELLS[cell]
    assert contrast(ink, ground) >= 4.5
    for palette in palettes():
        assert {ground, ink} != {palette["paper"], palette["ink"]}, "then it need not be shaded"


def test_every_band_is_shaded_but_the_best_and_has_a_sign_beside_its_shade() -> None:
    assert {band.css for band in _BANDS[1:]} == set(CELLS)
    assert len({band.sign for band in _BANDS}) == len(_BANDS)


def test_neighbouring_shades_differ_on_paper_without_colour() -> None:
    """By lightness alone, which is what a printer without colours leaves: each darker than the better one."""
    grounds = [palettes()[2]["paper"], *(CELLS[band.css][0] for band in _BANDS[1:])]
    towards_white = [contrast(ground, "#ffffff") for ground in grounds]
    assert towards_white == sorted(towards_white)
    assert min(b / a for a, b in itertools.pairwise(towards_white)) > 1.1


def test_a_printer_is_told_to_keep_the_shades() -> None:
    """Browsers drop grounds in print, and white figures would stand on white paper."""
    printed = ADDED.partition("@media print")[2]
    (rule,) = re.findall(r"([^{}]*)\{ [^}]*print-color-adjust: exact", printed)
    assert {name.strip(" .\n") for name in rule.split(",")} == set(CELLS)


def test_the_sheets_use_no_other_colour_than_those_that_are_checked() -> None:
    written = set(re.findall(r"#[0-9a-f]{3,8}\b", ADDED))
    assert written == {colour for pair in CELLS.values() for colour in pair}
    assert set(re.findall(r"(?<![-\w])color: var\(--(\w+)\)", ADDED)) <= set(TEXT)
    for name in ("class.html", "student.html", "debrief.html", "page.html", "parts.html"):
        markup = (PAGES / name).read_text("utf-8")
        assert "style=" not in markup, "a look that no test sees"
        assert not re.findall(r"(?<![\w&])#[0-9a-f]{3,8}\b(?!-)", markup), name
