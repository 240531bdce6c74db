"""The number forms against the published examples: the source stands beside each.

"From memory" marks a source that was not at hand; "quoted" one that was seen as a quotation elsewhere.
Each example is said so from its value, and heard as that value, in the standard that publishes it.
"""

import pytest

from phraseology import figures
from phraseology.figures import NumberStyle
from phraseology.numbers import DIGIT_VALUES, Number

FAA = NumberStyle()
ICAO = NumberStyle(
    runway_leading_zero=True,
    point_word="decimal",
    pressure="qnh",
    wind_form="degrees",
    frequency_in_full=True,
)
UK = NumberStyle(
    runway_leading_zero=True,
    point_word="decimal",
    pressure="qnh",
    wind_form="degrees",
    frequency_in_full=True,
    round_numbers=True,
    hectopascals_below_1000=True,
)

FAA_EXAMPLES = [
    ("altitude", "500", "five hundred"),  # AIM 4-2-8a
    ("altitude", "4500", "four thousand five hundred"),  # AIM 4-2-8a
    ("altitude", "10000", "one zero thousand"),  # AIM 4-2-8b; JO 7110.65 2-4-17b1
    ("altitude", "13500", "one three thousand five hundred"),  # AIM 4-2-8b
    ("altitude", "12000", "one two thousand"),  # AIM 4-2-9a
    ("altitude", "12500", "one two thousand five hundred"),  # AIM 4-2-9a
    ("altitude", "11000", "one one thousand"),  # JO 7110.65 2-4-17b1
    ("altitude", "17900", "one seven thousand niner hundred"),  # JO 7110.65 2-4-17b1
    ("altitude", "FL190", "flight level one niner zero"),  # AIM 4-2-9b
    ("altitude", "FL275", "flight level two seven five"),  # AIM 4-2-9b; JO 7110.65 2-4-17b2
    ("altitude", "FL180", "flight level one eight zero"),  # JO 7110.65 2-4-17b2
    ("count", "10", "one zero"),  # AIM 4-2-8d
    ("frequency", "122.1", "one two two point one"),  # AIM 4-2-8e
    ("heading", "005", "zero zero five"),  # AIM 4-2-10; JO 7110.65 2-4-17h
    ("heading", "360", "three six zero"),  # AIM 4-2-10
    ("heading", "100", "one zero zero"),  # AIM 4-2-10
    ("speed", "250", "two five zero knots"),  # AIM 4-2-11
    ("speed", "190", "one niner zero knots"),  # AIM 4-2-11
    ("time", "0920", "zero niner two zero"),  # AIM 4-2-12
    ("time", "0715", "zero seven one five"),  # JO 7110.65 2-4-17c1
    ("time", "1915", "one niner one five"),  # JO 7110.65 2-4-17c1
    ("time", "15", "one five"),  # JO 7110.65 2-4-17c4, abbreviated time, from memory
    ("altimeter", "3001", "three zero zero one"),  # JO 7110.65 2-4-17f, from memory
    ("altimeter", "2992", "two niner niner two"),  # JO 7110.65 2-4-18, quoted
    ("wind", "030/25", "zero three zero at two five"),  # JO 7110.65 2-4-17g, from memory
    ("wind", "270/15/35", "two seven zero at one five gusts three five"),  # 2-4-17g, from memory
    ("code", "1000", "one zero zero zero"),  # JO 7110.65 2-4-17i, from memory
    ("code", "2100", "two one zero zero"),  # JO 7110.65 2-4-17i, from memory
    ("runway", "3", "three"),  # JO 7110.65 2-4-17j, from memory
    ("runway", "8 left", "eight left"),  # JO 7110.65 2-4-17j, from memory
    ("runway", "27 right", "two seven right"),  # JO 7110.65 2-4-17j, from memory
    ("frequency", "126.55", "one two six point five five"),  # JO 7110.65 2-4-17k, quoted in 2-4-18
    ("frequency", "369.0", "three six niner point zero"),  # JO 7110.65 2-4-17k, from memory
    ("frequency", "121.5", "one two one point five"),  # JO 7110.65 2-4-17k, from memory
    ("frequency", "135.275", "one three five point two seven"),  # JO 7110.65 2-4-17k, from memory
    ("distance", "30", "three zero mile"),  # JO 7110.65 2-4-17n, from memory
    ("callsign_figures", "316", "three one six"),  # JO 7110.65 2-3-5, quoted: a military callsign
]

ICAO_EXAMPLES = [
    ("callsign_figures", "238", "two three eight"),  # Annex 10 vol. II 5.2.1.4.1.1
    ("callsign_figures", "242", "two four two"),  # 5.2.1.4.1.1
    ("altitude", "FL180", "flight level one eight zero"),  # 5.2.1.4.1.1
    ("altitude", "FL200", "flight level two zero zero"),  # 5.2.1.4.1.1
    ("heading", "100", "one zero zero"),  # 5.2.1.4.1.1
    ("heading", "080", "zero eight zero"),  # 5.2.1.4.1.1
    ("wind", "200/70", "two zero zero degrees seven zero knots"),  # 5.2.1.4.1.1
    (
        "wind",
        "160/18/30",
        "one six zero degrees one eight knots gusting three zero knots",
    ),  # 5.2.1.4.1.1
    ("code", "2400", "two four zero zero"),  # 5.2.1.4.1.1
    ("code", "4203", "four two zero three"),  # 5.2.1.4.1.1
    ("runway", "27", "two seven"),  # 5.2.1.4.1.1
    ("runway", "30", "three zero"),  # 5.2.1.4.1.1
    ("qnh", "1010", "one zero one zero"),  # 5.2.1.4.1.1
    ("qnh", "1000", "one zero zero zero"),  # 5.2.1.4.1.1, the edition seen; see the UK's below
    ("altitude", "800", "eight hundred"),  # 5.2.1.4.1.2
    ("altitude", "3400", "three thousand four hundred"),  # 5.2.1.4.1.2
    ("altitude", "12000", "one two thousand"),  # 5.2.1.4.1.2
    ("frequency", "118.0", "one one eight decimal zero"),  # 5.2.1.7.3.4, from memory
    ("frequency", "118.005", "one one eight decimal zero zero five"),  # 5.2.1.7.3.4, quoted
    ("frequency", "118.025", "one one eight decimal zero two five"),  # 5.2.1.7.3.4, quoted
    ("frequency", "118.05", "one one eight decimal zero five zero"),  # 5.2.1.7.3.4, from memory
    ("frequency", "118.1", "one one eight decimal one"),  # 5.2.1.7.3.4, quoted
    ("time", "20", "two zero"),  # 5.2.1.4.1.4 (0920, minutes only), from memory
    ("time", "0920", "zero niner two zero"),  # 5.2.1.4.1.4, from memory
    ("time", "43", "four three"),  # 5.2.1.4.1.4 (1643, minutes only), from memory
    ("runway", "6", "zero six"),  # designators have two figures: Annex 14 vol. I 5.2.2.4, from memory
    ("readability", "5", "five"),  # Annex 10 vol. II 5.2.1.8.4, from memory
]

UK_EXAMPLES = [
    ("callsign_figures", "246", "two four six"),  # CAP 413 ch. 2, table 3
    ("altitude", "FL100", "flight level one hundred"),  # CAP 413 ch. 2, table 3
    ("altitude", "FL180", "flight level one eight zero"),  # CAP 413 ch. 2, table 3
    ("heading", "150", "one five zero"),  # CAP 413 ch. 2, table 3
    ("frequency", "122.1", "one two two decimal one"),  # CAP 413 ch. 2, table 3
    ("code", "6500", "six five zero zero"),  # CAP 413 ch. 2, table 3
    ("code", "7000", "seven thousand"),  # SERA.14035(a)(1)(iii), from memory
    ("qnh", "1000", "one thousand"),  # SERA.14035(a)(1)(ii), from memory
    ("qnh", "995", "niner niner five hectopascals"),  # CAP 413, from memory: the unit below 1000
    ("runway", "8 left", "zero eight left"),  # CAP 413, from memory
]

ALL = [
    *((FAA, *example) for example in FAA_EXAMPLES),
    *((ICAO, *example) for example in ICAO_EXAMPLES),
    *((UK, *example) for example in UK_EXAMPLES),
]


@pytest.mark.parametrize(("style", "form", "value", "words"), ALL)
def test_the_published_example_is_said_and_heard_so(
    style: NumberStyle, form: str, value: str, words: str
) -> None:
    assert getattr(figures, f"say_{form}")(value, style) == words
    spoken = words.split()
    assert getattr(figures, f"read_{form}")(spoken, 0, style) == Number(value, len(spoken), standard=True)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("52", "fifty two"),  # JO 7110.65 2-4-20, quoted
        ("100", "one hundred"),  # 2-4-20, quoted
        ("110", "one ten"),  # 2-4-20, quoted
        ("3015", "thirty fifteen"),  # 2-4-20, quoted
        ("101", "one zero one"),  # 2-4-20, quoted: a zero breaks the group
        ("010", "zero one zero"),  # 2-4-20, quoted
        ("1004", "ten zero four"),  # 2-4-20, quoted
        ("521", "five twenty one"),  # 2-4-20, quoted
        ("611", "six eleven"),  # 2-4-20, quoted
    ],
)
def test_group_form(value: str, words: str) -> None:
    """Airlines' flight numbers; a military callsign has separate digits (JO 7110.65 2-4-9)."""
    assert figures.say_grouped(value) == words
    spoken = words.split()
    civil = figures.read_callsign_figures(spoken, 0, NumberStyle(callsign_groups=True))
    military = figures.read_callsign_figures(spoken, 0, FAA)
    assert civil == Number(value, len(spoken), standard=True)
    assert military is not None
    assert military.figures == value
    assert military.standard == (words == figures.say_callsign_figures(value, FAA))


@pytest.mark.parametrize(
    ("form", "value", "words"),
    [
        ("altitude", "10000", "ten thousand"),  # JO 7110.65 2-4-17b1 note
        ("altitude", "11000", "eleven thousand"),  # JO 7110.65 2-4-17b1 note
        ("altitude", "17900", "seventeen thousand niner hundred"),  # JO 7110.65 2-4-17b1 note
        ("altimeter", "2992", "twenty nine ninety two"),  # JO 7110.65 2-4-18, quoted
        ("frequency", "126.55", "one twenty six point fifty five"),  # JO 7110.65 2-4-18, quoted
    ],
)
def test_what_a_controller_may_restate_for_clarity_is_understood(form: str, value: str, words: str) -> None:
    """Group form only restates what was said digit by digit: alone it is not standard."""
    spoken = words.split()
    assert getattr(figures, f"read_{form}")(spoken, 0, FAA) == Number(value, len(spoken), standard=False)


@pytest.mark.parametrize(
    ("words", "digits"),
    [
        ("zero one two three four five six seven eight niner", "0123456789"),  # AIM 4-2-7
        ("zero one two tree fower fife six seven ait niner", "0123456789"),  # Annex 10 II 5.2.1.4.3.1
    ],
)
def test_the_ten_digits(words: str, digits: str) -> None:
    assert "".join(DIGIT_VALUES[word] for word in words.split()) == digits
    for word, digit in zip(words.split(), digits, strict=True):
        assert figures.read_callsign_figures([word], 0, FAA) == Number(digit, 1, standard=True)


def test_decimal_is_honoured_from_military_aircraft() -> None:
    """AIM 4-2-8e note: understood; the FAA's own word is "point"."""
    heard = figures.read_frequency("one two two decimal one".split(), 0, FAA)  # noqa: SIM905
    assert heard == Number("122.1", 5, standard=False)


def test_mda_altitudes_are_separate_digits() -> None:
    """JO 7110.65 2-4-17b3: what is not whole hundreds goes digit by digit (1,320)."""
    assert figures.say_altitude("1320", FAA) == "one three two zero feet"
