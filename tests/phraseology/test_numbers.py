"""Number forms both ways: what is said is read as itself, and no digit is ever changed."""

import re
import string
from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from typing import NamedTuple, get_args, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phraseology import figures
from phraseology.errors import PhraseologyError
from phraseology.figures import NumberStyle
from phraseology.numbers import (
    CARELESS_DIGITS,
    DIGIT_VALUES,
    DIGIT_WORDS,
    NUMBER_WORDS,
    TEEN_VALUES,
    TENS_VALUES,
    UNIT_WORDS,
    Number,
    read_run,
    read_scaled,
)

FAA = NumberStyle()
ICAO = NumberStyle(
    runway_leading_zero=True,
    point_word="decimal",
    pressure="qnh",
    wind_form="degrees",
    frequency_in_full=True,
    feet_said=True,
)
UK = replace(ICAO, round_numbers=True, hectopascals_below_1000=True)

_HINTS = get_type_hints(NumberStyle)
styles = st.builds(
    NumberStyle,
    **{
        field.name: st.sampled_from(get_args(_HINTS[field.name]) or (False, True))
        for field in fields(NumberStyle)
    },
)
"""Every combination of what a standard may choose, not only the standards that there are."""


def with_pressure(style: NumberStyle, name: str) -> NumberStyle:
    """The style of a field that gives the pressure of this form, where it is one."""
    if name == "altimeter":
        return replace(style, pressure="altimeter")
    return replace(style, pressure="qnh") if name == "qnh" else style


class Form(NamedTuple):
    """One pair of functions and the values that it is for."""

    say: Callable[[str, NumberStyle], str]
    read: Callable[[Sequence[str], int, NumberStyle], Number | None]
    values: st.SearchStrategy[str]


def digits(least: int, most: int, of: str = string.digits) -> st.SearchStrategy[str]:
    return st.text(of, min_size=least, max_size=most)


speeds = st.integers(0, 99).map(str)
directions = st.integers(0, 360).map("{:03}".format) | st.just("variable")
channels = st.integers(118_000, 399_995).map(lambda kilohertz: f"{kilohertz - kilohertz % 5}")
frequencies = channels.filter(lambda khz: khz[-2:] not in ("20", "70")).map(
    lambda khz: f"{khz[:3]}.{khz[3:].rstrip('0') or '0'}"
)
"""25 kHz and 8.33 kHz steps: the second pair of figures .x20 and .x70 are no channels."""

FORMS = {
    "runway": Form(
        figures.say_runway,
        figures.read_runway,
        st.builds("{}{}".format, st.integers(1, 36), st.sampled_from(["", " left", " right", " center"])),
    ),
    "altitude": Form(
        figures.say_altitude,
        figures.read_altitude,
        st.integers(1, 999).map(lambda hundreds: str(hundreds * 100))
        | st.integers(10, 99_999).map(str)
        | st.integers(10, 600).map("FL{}".format),
    ),
    "altimeter": Form(figures.say_altimeter, figures.read_altimeter, digits(4, 4)),
    "qnh": Form(figures.say_qnh, figures.read_qnh, st.integers(800, 1199).map(str) | st.just("1000")),
    "wind": Form(
        figures.say_wind,
        figures.read_wind,
        st.just("calm")
        | st.builds("{}/{}".format, directions, speeds)
        | st.builds("{}/{}/{}".format, directions, speeds, speeds),
    ),
    "distance": Form(
        figures.say_distance,
        figures.read_distance,
        st.integers(1, 99).map(str)
        | st.builds("{}.{}".format, st.integers(1, 99), st.integers(0, 9))
        | st.integers(1, 9).map("0.{}".format),
    ),
    "heading": Form(figures.say_heading, figures.read_heading, digits(3, 3)),
    "speed": Form(figures.say_speed, figures.read_speed, st.integers(10, 999).map(str)),
    "time": Form(
        figures.say_time,
        figures.read_time,
        st.builds("{:02}{:02}".format, st.integers(0, 23), st.integers(0, 59))
        | st.integers(0, 59).map("{:02}".format),
    ),
    "frequency": Form(figures.say_frequency, figures.read_frequency, frequencies),
    "code": Form(
        figures.say_code, figures.read_code, digits(4, 4, "01234567") | st.sampled_from(["7000", "0000"])
    ),
    "callsign_figures": Form(figures.say_callsign_figures, figures.read_callsign_figures, digits(1, 4)),
    "fuel": Form(figures.say_fuel, figures.read_fuel, st.integers(1, 999).map(str)),
    "count": Form(figures.say_count, figures.read_count, st.integers(0, 999).map(str)),
    "readability": Form(figures.say_readability, figures.read_readability, digits(1, 1, "12345")),
}

EXTRA_WORDS = "flight level calm variable at gusts gusting gust to left right center break zulu plus and by sable runway"
any_words = st.lists(
    st.sampled_from(sorted({*NUMBER_WORDS, *UNIT_WORDS, *EXTRA_WORDS.split()})) | st.text(max_size=6),
    max_size=12,
)


def test_every_pair_is_tested() -> None:
    """A form without its inverse, or without values here, fails."""
    for verb, other in (("say_", "read_"), ("read_", "say_")):
        for name in (name.removeprefix(verb) for name in figures.__all__ if name.startswith(verb)):
            if name not in ("grouped", "quantity"):  # other ways to say what is read; tested below
                assert f"{other}{name}" in figures.__all__
                assert name in FORMS


# -- the inverse --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", FORMS)
@given(data=st.data(), style=styles)
def test_what_is_said_is_read_as_itself_and_is_standard(
    name: str, data: st.DataObject, style: NumberStyle
) -> None:
    form = FORMS[name]
    value = data.draw(form.values)
    style = with_pressure(style, name)
    words = form.say(value, style).split()
    assert form.read(["before", *words], 1, style) == Number(value, len(words), standard=True)


@pytest.mark.parametrize("name", FORMS)
@given(data=st.data(), said=styles, in_force=styles)
def test_every_style_is_understood_whatever_is_in_force(
    name: str, data: st.DataObject, said: NumberStyle, in_force: NumberStyle
) -> None:
    form = FORMS[name]
    value = data.draw(form.values)
    words = form.say(value, said).split()
    number = form.read(words, 0, in_force)
    assert number is not None
    assert number.figures == value
    assert number.length == len(words)


@given(value=digits(1, 6), style=styles)
def test_group_form_is_read_as_the_same_figures(value: str, style: NumberStyle) -> None:
    grouped = figures.say_grouped(value)
    number = figures.read_callsign_figures(grouped.split(), 0, style, most=6)
    assert number is not None
    assert (number.figures, number.length) == (value, len(grouped.split()))
    assert number.standard == (style.callsign_groups or grouped == figures.say_callsign_figures(value, style))


@given(value=st.integers(0, 999).map(str))
def test_plain_english_is_read_as_the_same_number(value: str) -> None:
    words = figures.say_quantity(value).split()
    assert figures.read_count(words, 0, FAA) == Number(value, len(words), standard=True)
    fuel = [*words, "minutes"]
    assert figures.read_fuel(fuel, 0, FAA) == Number(value, len(fuel), standard=True)


# -- reading never fails and never repairs ------------------------------------------------------------


@pytest.mark.parametrize("name", FORMS)
@given(words=any_words, style=styles)
def test_reading_is_total(name: str, words: list[str], style: NumberStyle) -> None:
    for start in range(len(words) + 2):
        number = FORMS[name].read(words, start, style)
        assert number is None or 0 < number.length <= len(words) - start


@pytest.mark.parametrize("name", FORMS)
@given(words=any_words, style=styles)
def test_what_is_standard_is_said_by_its_value(name: str, words: list[str], style: NumberStyle) -> None:
    """Nothing counts as standard that is no value of the form."""
    number = FORMS[name].read(words, 0, style)
    if number and number.standard and name not in ("fuel", "count"):
        assert FORMS[name].say(number.figures, style)


digit_runs = st.lists(st.sampled_from(sorted(DIGIT_VALUES)), min_size=1, max_size=6)


def heard(words: Sequence[str]) -> str:
    return "".join(DIGIT_VALUES.get(word, "") for word in words)


@pytest.mark.parametrize(
    ("name", "behind"),
    [
        ("altimeter", ""),
        ("heading", "degrees"),
        ("time", "zulu"),
        ("code", ""),
        ("callsign_figures", ""),
        ("readability", ""),
    ],
)
@given(words=digit_runs, style=styles)
def test_the_figures_are_the_digits_that_were_heard(
    name: str, behind: str, words: list[str], style: NumberStyle
) -> None:
    number = FORMS[name].read([*words, *behind.split()], 0, style)
    if number:
        assert number.figures == heard(words[: number.length])


@pytest.mark.parametrize(
    ("name", "behind"),
    [
        ("runway", "left"),
        ("qnh", "hectopascals"),
        ("speed", "knots"),
        ("distance", "miles"),
        ("altitude", "feet"),
        ("fuel", "minutes"),
        ("count", ""),
    ],
)
@given(words=digit_runs, style=styles)
def test_only_leading_zeros_are_left_out(
    name: str, behind: str, words: list[str], style: NumberStyle
) -> None:
    number = FORMS[name].read([*words, *behind.split()], 0, style)
    if number:
        value = re.sub("[^0-9]", "", number.figures)
        assert value == (heard(words[: number.length]).lstrip("0") or "0")


@given(whole=digit_runs, part=digit_runs, point=st.sampled_from(["point", "decimal"]), style=styles)
def test_a_frequency_keeps_its_digits(
    whole: list[str], part: list[str], point: str, style: NumberStyle
) -> None:
    """Zeros at the end go; the 5 behind .x2 and .x7 comes, which the FAA's form leaves out."""
    number = figures.read_frequency([*whole, point, *part], 0, style)
    assert (number is None) == (len(whole) != 3)
    if number:
        megahertz, decimals = number.figures.split(".")
        said = heard(part[:3])
        assert megahertz == heard(whole)
        assert decimals.rstrip("0") == said.rstrip("0") or (decimals == f"{said}5" and said[1:] in ("2", "7"))


@given(
    direction=digit_runs, speed=digit_runs, at=st.sampled_from(["at", "degrees", "degrees at"]), style=styles
)
def test_a_wind_keeps_its_digits(direction: list[str], speed: list[str], at: str, style: NumberStyle) -> None:
    number = figures.read_wind([*direction, *at.split(), *speed], 0, style)
    if len(direction) == 3:
        assert number is not None
        assert number.figures == f"{heard(direction)}/{int(heard(speed[:2]))}"


# -- what is standard ---------------------------------------------------------------------------------

ICAO_DIGITS = ("zero", "one", "two", "tree", "fower", "fife", "six", "seven", "ait", "niner")


@pytest.mark.parametrize("name", FORMS)
@given(data=st.data(), style=styles)
def test_the_digits_as_icao_pronounces_them_are_standard(
    name: str, data: st.DataObject, style: NumberStyle
) -> None:
    form = FORMS[name]
    value = data.draw(form.values)
    style = with_pressure(style, name)
    words = form.say(value, style).split()
    as_pronounced = [ICAO_DIGITS[DIGIT_WORDS.index(word)] if word in DIGIT_WORDS else word for word in words]
    assert form.read(as_pronounced, 0, style) == Number(value, len(words), standard=True)


@pytest.mark.parametrize("name", FORMS)
@pytest.mark.parametrize(("right", "careless"), [("niner", "nine"), ("zero", "oh")])
@given(data=st.data(), style=styles)
def test_a_careless_digit_is_understood_and_not_standard(
    name: str, right: str, careless: str, data: st.DataObject, style: NumberStyle
) -> None:
    form = FORMS[name]
    value = data.draw(form.values)
    words = [careless if word == right else word for word in form.say(value, style).split()]
    number = form.read(words, 0, style)
    assert number is not None
    assert number.figures == value
    if CARELESS_DIGITS & set(words):
        assert not number.standard


GROUPED = sorted({*TEEN_VALUES, *TENS_VALUES})


@pytest.mark.parametrize("group", GROUPED)
@pytest.mark.parametrize(
    ("name", "before", "behind", "value"),
    [
        ("runway", "", "", "{}"),
        ("altimeter", "two niner", "", "29{}"),
        ("qnh", "one zero", "", "10{}"),
        ("heading", "three", "", "3{}"),
        ("speed", "two", "knots", "2{}"),
        ("code", "four two", "", "42{}"),
        ("callsign_figures", "four", "", "4{}"),
        ("time", "", "", "{}"),
        ("frequency", "one", "point one", "1{}.1"),
        ("wind", "three one zero at", "", "310/{}"),
    ],
)
def test_group_form_is_understood_and_not_standard(
    name: str, before: str, behind: str, value: str, group: str
) -> None:
    two = TEEN_VALUES.get(group) or f"{TENS_VALUES[group]}0"
    words = f"{before} {group} {behind}".split()
    for style in (FAA, ICAO, UK):
        assert FORMS[name].read(words, 0, style) == Number(value.format(two), len(words), standard=False)


@pytest.mark.parametrize(
    ("name", "words", "value", "standard_for"),
    [
        ("runway", "six", "6", {FAA}),
        ("runway", "zero six", "6", {ICAO, UK}),
        ("runway", "zero eight left", "8 left", {ICAO, UK}),
        ("runway", "two six centre", "26 center", {FAA, ICAO, UK}),
        ("runway", "four two", "42", set()),
        ("altitude", "two thousand seven hundred", "2700", {FAA, ICAO, UK}),
        ("altitude", "two thousand seven hundred feet", "2700", {FAA, ICAO, UK}),
        ("altitude", "twenty seven hundred", "2700", set()),
        ("altitude", "two seven zero zero feet", "2700", set()),
        ("altitude", "two thousand seven hundred fifty", "2750", set()),
        ("altitude", "two thousand seven fifty", "2750", set()),
        ("altitude", "flight level two zero zero", "FL200", {FAA, ICAO}),
        ("altitude", "flight level two hundred", "FL200", {UK}),
        ("altitude", "flight level one eighty", "FL180", set()),
        ("altimeter", "two niner niner two", "2992", {FAA}),
        ("altimeter", "two niner point niner two", "2992", set()),
        ("altimeter", "twenty nine ninety two", "2992", set()),
        ("altimeter", "niner niner two", "992", set()),
        ("qnh", "one zero one three", "1013", {ICAO, UK}),
        ("qnh", "one zero zero zero", "1000", {ICAO}),
        ("qnh", "one thousand", "1000", {UK}),
        ("qnh", "one thousand thirteen", "1013", set()),
        ("qnh", "niner niner five", "995", {ICAO}),
        ("qnh", "niner niner five hectopascals", "995", {ICAO, UK}),
        ("wind", "three one zero at eight", "310/8", {FAA}),
        ("wind", "three one zero at zero eight knots", "310/8", {FAA}),
        ("wind", "three one zero degrees eight knots", "310/8", {ICAO, UK}),
        ("wind", "three one zero eight", "310/8", set()),
        ("wind", "three one zero degrees eight", "310/8", set()),
        ("wind", "three one zero at eight gusts one five", "310/8/15", {FAA}),
        ("wind", "three one zero at eight gusting to one five", "310/8/15", set()),
        ("wind", "variable at five", "variable/5", {FAA}),
        ("wind", "variable five knots", "variable/5", {ICAO, UK}),
        ("wind", "calm", "calm", {FAA, ICAO, UK}),
        ("distance", "three mile", "3", {FAA, ICAO, UK}),
        ("distance", "ten miles", "10", {FAA, ICAO, UK}),
        ("distance", "one zero miles", "10", {FAA, ICAO, UK}),
        ("distance", "twenty five miles", "25", set()),
        ("distance", "one point five miles", "1.5", {FAA}),
        ("distance", "ten point five miles", "10.5", set()),
        ("heading", "three one zero degrees", "310", {FAA, ICAO, UK}),
        ("heading", "three hundred", "300", set()),
        ("heading", "three one", "31", set()),
        ("speed", "two zero zero knots", "200", {FAA, ICAO, UK}),
        ("speed", "two zero zero", "200", set()),
        ("speed", "two hundred fifty knots", "250", set()),
        ("time", "one zero", "10", {FAA, ICAO, UK}),
        ("time", "zero seven one zero zulu", "0710", {FAA, ICAO, UK}),
        ("time", "zero seven hundred", "0700", set()),
        ("time", "seven one zero", "710", set()),
        ("time", "two five three zero", "2530", set()),
        ("frequency", "two five seven point eight", "257.8", {FAA}),
        ("frequency", "one one eight point two", "118.2", {FAA}),
        ("frequency", "two five seven decimal eight", "257.8", {ICAO, UK}),
        ("frequency", "one three five point two seven", "135.275", {FAA}),
        ("frequency", "one three five point two seven five", "135.275", {FAA}),
        ("frequency", "one one eight decimal zero five", "118.05", set()),
        ("frequency", "one one eight decimal zero five zero", "118.05", {ICAO, UK}),
        ("frequency", "one one eight point one zero zero", "118.1", set()),
        ("code", "seven thousand", "7000", {UK}),
        ("code", "seven zero zero zero", "7000", {FAA, ICAO}),
        ("code", "twelve hundred", "1200", set()),
        ("code", "four two niner three", "4293", set()),
        ("callsign_figures", "four twenty one", "421", set()),
        ("fuel", "thirty minutes", "30", {FAA, ICAO, UK}),
        ("fuel", "one hour", "60", {FAA, ICAO, UK}),
        ("fuel", "one hour and thirty minutes", "90", {FAA, ICAO, UK}),
        ("fuel", "one plus three zero", "90", {FAA, ICAO, UK}),
        ("count", "two", "2", {FAA, ICAO, UK}),
        ("count", "twelve", "12", {FAA, ICAO, UK}),
        ("count", "one hundred and fifty", "150", {FAA, ICAO, UK}),
        ("readability", "five by five", "5", set()),
    ],
)
def test_understood_in_every_style_and_standard_in_some(
    name: str, words: str, value: str, standard_for: set[NumberStyle]
) -> None:
    spoken = words.split()
    read = FORMS[name].read
    results = {style: read(spoken, 0, style) for style in (FAA, ICAO, UK)}
    assert {(number and (number.figures, number.length)) for number in results.values()} == {
        (value, len(spoken))
    }
    assert {style for style, number in results.items() if number and number.standard} == standard_for


# -- whose number it is -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "words", "value", "length"),
    [
        ("runway", "six five miles", "6", 1),
        ("runway", "six two niner niner two", "6", 1),
        ("runway", "three one left break", "31", 2),
        ("runway", "three one left", "31 left", 3),
        ("runway", "three one right closed", "31", 2),
        ("altitude", "two thousand ten miles", "2000", 2),
        ("altitude", "two thousand five miles", "2000", 2),
        ("altitude", "two thousand seven", "2000", 2),
        ("qnh", "niner niner five two thousand", "995", 3),
        ("qnh", "niner niner five three one", "995", 3),
        ("qnh", "one thousand three mile", "1000", 2),
        ("qnh", "one thousand three one", "1000", 2),
        ("wind", "three one zero at eight two thousand feet", "310/8", 5),
        ("wind", "three one zero at eight gusts", "310/8", 5),
        ("callsign_figures", "two one three mile initial", "21", 2),
        ("callsign_figures", "two one five hundred", "21", 2),
        ("callsign_figures", "two one twenty five miles", "21", 2),
        ("frequency", "one one eight point one three miles", "118.1", 5),
        ("heading", "three one zero two thousand", "310", 3),
        ("fuel", "one hour three miles", "60", 2),
        ("fuel", "one hour niner zero", "60", 2),
    ],
)
def test_a_number_before_another_unit_is_left_to_it(name: str, words: str, value: str, length: int) -> None:
    number = FORMS[name].read(words.split(), 0, FAA)
    assert number is not None
    assert (number.figures, number.length) == (value, length)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("runway", "five miles"),
        ("runway", "left"),
        ("altitude", "two seven zero zero"),
        ("altitude", "zero feet"),
        ("altitude", "flight level"),
        ("altimeter", "two"),
        ("altimeter", "two thousand eight hundred"),
        ("callsign_figures", "two hundred feet"),
        ("count", "one hundred knots"),
        ("qnh", "one"),
        ("wind", "three one at eight"),
        ("wind", "three one zero"),
        ("wind", "variable"),
        ("distance", "three"),
        ("distance", "zero miles"),
        ("distance", "one point miles"),
        ("speed", "two knots"),
        ("frequency", "one one eight one"),
        ("frequency", "one eight point one"),
        ("fuel", "three zero"),
        ("fuel", "one plus"),
        ("readability", "six"),
        ("count", "three miles"),
    ],
)
def test_no_number_of_this_form(name: str, words: str) -> None:
    for style in (FAA, ICAO, UK):
        assert FORMS[name].read(words.split(), 0, style) is None


def test_a_run_leaves_a_whole_group_to_its_unit() -> None:
    assert read_run(["two", "one", "twenty", "five", "miles"], 0, 4) == Number("21", 2, True)
    assert read_run(["twenty", "five", "miles"], 0, 4) is None
    assert read_run(["twenty", "five", "miles"], 0, 4, frozenset({"miles"})) == Number("25", 2, False)


def test_a_single_figure_behind_a_thousand_is_taken_only_on_demand() -> None:
    words = ["two", "thousand", "seven"]
    assert read_scaled(words, 0) == Number("2007", 3, False)
    assert read_scaled(words, 0, ones=False) == Number("2000", 2, True)


# -- values that there are not ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("runway", "37"),
        ("runway", "0"),
        ("runway", "31 middle"),
        ("altitude", "0"),
        ("altitude", "FL5"),
        ("altitude", "2,700"),
        ("altimeter", "29.92"),
        ("qnh", "2992"),
        ("qnh", "799"),
        ("wind", "31/8"),
        ("wind", "310"),
        ("wind", "310/8/"),
        ("distance", "0"),
        ("distance", "three"),
        ("heading", "31"),
        ("speed", "8"),
        ("time", "2400"),
        ("time", "60"),
        ("time", "710"),
        ("frequency", "118"),
        ("frequency", "118.1001"),
        ("code", "4208"),
        ("code", "420"),
        ("callsign_figures", ""),
        ("callsign_figures", "2A"),
        ("fuel", "0"),
        ("count", "1000"),
        ("readability", "6"),
    ],
)
def test_a_value_of_another_form_is_refused_with_the_remedy(name: str, value: str) -> None:
    with pytest.raises(PhraseologyError, match=f'^"{re.escape(value)}" is no .*: write '):
        FORMS[name].say(value, FAA)
