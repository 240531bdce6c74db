"""Which words pass for each other: the table that the costs and the threshold are held to, and the laws."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phraseology.lexicon import PRONUNCIATIONS
from phraseology.likeness import (
    ALIKE,
    CONSONANTS,
    HEARD_FOR_EACH_OTHER,
    VOWELS,
    edit_costs,
    likeness,
    sound_alikes,
    unlikeness,
    weight,
)

ALIKE_PAIRS = {
    ("sable", "table"): "measured: the recogniser's most frequent confusion of a callsign",
    ("sable", "saber"): "measured, as table",
    ("sable", "cable"): "one consonant",
    ("sable", "stable"): "one consonant more",
    ("heron", "hair on"): "one word heard as two, nearly the same phones",
    ("heron", "herring"): "only the end of the second syllable differs",
    ("in sight", "inside"): "measured with a large recogniser: traffic in sight, inside downwind",
    ("unable", "enable"): "measured with a large recogniser; the first vowel is unstressed",
    ("unable", "able"): "the unstressed first syllable is lost, and the meaning turned round",
    ("quarry", "query"): "one vowel",
    ("silo", "solo"): "one vowel",
    ("three", "tree"): "the same: AIM 4-2-8 has three said as tree",
    ("marten", "martin"): "the same sound",
    ("weir", "where"): "one vowel, a neighbour",
    ("weir", "we're"): "the same sound",
    ("adze", "adds"): "the same sound",
    ("adze", "add"): "the last consonant is lost",
    ("four", "fower"): "two ways to say one figure",
    ("five", "fife"): "two ways to say one figure",
    ("nine", "niner"): "two ways to say one figure",
    ("nine", "five"): "measured; the reason for niner",
    ("nine", "right"): "measured",
    ("base", "eight"): "measured",
    ("five", "fire"): "one consonant; ICAO says fife for it",
    ("clear", "cleared"): "the end of a word is the first to go",
    ("final", "finals"): "the end of a word is the first to go",
    ("stop", "stops"): "the end of a word is the first to go",
    ("thirty", "thirteen"): "why figures are said one by one",
    ("fifty", "fifteen"): "why figures are said one by one",
    ("option", "auction"): "one vowel, a neighbour",
    ("perch", "church"): "one consonant",
    ("roger", "lodger"): "one consonant",
    ("gear", "clear"): "rhyme",
}
UNLIKE_PAIRS = {
    ("left", "right"): "must never be in doubt by sound",
    ("topaz", "sable"): "two callsigns of one field",
    ("heron", "sable"): "two callsigns of one field",
    ("heron", "marten"): "two callsigns of one field",
    ("sable", "marten"): "two callsigns of one field",
    ("adze", "topaz"): "two callsigns of one field",
    ("silo", "weir"): "two points of one field",
    ("silo", "quarry"): "two points of one field",
    ("heron", "seven"): "a callsign and a figure: same vowels, no consonant but the last",
    ("marten", "mallard"): "same beginning only",
    ("heron", "harbor"): "same beginning only",
    ("saber", "mayday"): "one vowel in common",
    ("inside", "outside"): "half a word in common, and two different downwinds",
    ("upwind", "downwind"): "half a word in common, and two different legs",
    ("crosswind", "downwind"): "half a word in common, and two different legs",
    ("approved", "disapproved"): "a whole syllable more",
    ("affirm", "negative"): "nothing in common",
    ("wilco", "roger"): "nothing in common",
    ("base", "break"): "two consonants",
    ("seven", "eleven"): "two figures, a whole syllable more",
    ("zero", "seven"): "two figures",
    ("four", "five"): "two figures with one consonant in common",
    ("six", "seven"): "two figures with one consonant in common",
    ("afternoon", "altitude"): "same number of syllables, nearly no consonant",
}
words = st.sampled_from(sorted(PRONUNCIATIONS)) | st.text(
    alphabet="abcdefgilmnorstuz", min_size=1, max_size=9
)
phones = st.sampled_from(sorted({*VOWELS, *CONSONANTS}))
sounds = st.lists(phones, max_size=8)


@pytest.mark.parametrize(("a", "b"), ALIKE_PAIRS)
def test_alike(a: str, b: str) -> None:
    assert likeness(a, b) >= ALIKE, ALIKE_PAIRS[a, b]


@pytest.mark.parametrize(("a", "b"), UNLIKE_PAIRS)
def test_unlike(a: str, b: str) -> None:
    assert likeness(a, b) < ALIKE, UNLIKE_PAIRS[a, b]


def test_the_threshold_keeps_off_both_sides_of_the_table() -> None:
    by_phones = {pair for pair in ALIKE_PAIRS if frozenset(pair) not in HEARD_FOR_EACH_OTHER}
    assert min(likeness(*pair) for pair in by_phones) == pytest.approx(0.70, abs=0.005)
    assert max(likeness(*pair) for pair in UNLIKE_PAIRS) == pytest.approx(0.65, abs=0.005)


def test_few_words_of_the_lexicon_pass_for_each_other() -> None:
    """A threshold that lets everything through would pass the table of alike pairs too."""
    lexicon = sorted(word for word in PRONUNCIATIONS if len(word) > 4)[::5]
    pairs = [(a, b) for place, a in enumerate(lexicon) for b in lexicon[:place]]
    assert sum(likeness(a, b) >= ALIKE for a, b in pairs) < 0.01 * len(pairs)


@pytest.mark.parametrize(
    ("a", "b"),
    [("three", "tree"), ("marten", "martin"), ("adze", "adds"), ("weir", "we're"), ("SABLE", "sable")],
)
def test_the_same_sound_is_one(a: str, b: str) -> None:
    assert likeness(a, b) == 1.0


@given(words, words)
def test_symmetric_and_between_nothing_and_one(a: str, b: str) -> None:
    assert likeness(a, b) == likeness(b, a)
    assert 0.0 <= likeness(a, b) <= 1.0
    assert likeness(a, a) == likeness(a, a.upper()) == 1.0


def test_what_has_no_sound_is_like_nothing_but_itself() -> None:
    assert likeness("", "sable") == 0.0
    assert likeness("", "") == 1.0


def test_a_new_callsign_sounds_as_it_is_spelled() -> None:
    assert likeness("zable", "sable") >= ALIKE
    assert sound_alikes("rabel", ["label", "marten", "roger"]) == ("label",)


@given(phones, phones)
def test_a_phone_costs_no_more_than_the_heavier_of_two(a: str, b: str) -> None:
    assert unlikeness(a, b) == unlikeness(b, a)
    assert (unlikeness(a, b) == 0.0) == (a == b)
    assert unlikeness(a, b) <= max(weight(a), weight(b))


@pytest.mark.parametrize("pair", ["PB", "TD", "SZ", "FV", "NM", "KG"])
def test_consonants_made_alike_are_cheap(pair: str) -> None:
    assert unlikeness(*pair) <= 0.4 < unlikeness(pair[0], "L")


@pytest.mark.parametrize(("near", "far"), [("IH", "UW"), ("EH", "OW"), ("AE", "UW")])
def test_vowels_of_one_class_are_cheaper(near: str, far: str) -> None:
    assert unlikeness("IY" if near == "IH" else "EY", near) < unlikeness("IY" if near == "IH" else "EY", far)


@given(sounds, sounds)
def test_no_cheaper_way_through_another_order(a: list[str], b: list[str]) -> None:
    there = edit_costs(a, b, weight, unlikeness)[-1][-1]
    assert there == pytest.approx(edit_costs(b, a, weight, unlikeness)[-1][-1])
    assert there == pytest.approx(edit_costs(a[::-1], b[::-1], weight, unlikeness)[-1][-1])
    assert there <= sum(map(weight, (*a, *b)))
    assert edit_costs(a, a, weight, unlikeness)[-1][-1] == 0.0


@given(sounds, sounds, phones)
def test_a_phone_more_costs_at_most_its_weight(a: list[str], b: list[str], phone: str) -> None:
    less, more = (edit_costs(a, other, weight, unlikeness)[-1][-1] for other in (b, [*b, phone]))
    assert more <= less + weight(phone) + 1e-9
    assert (
        less <= more + max(map(weight, (*a, phone))) + 1e-9
    )  # it may stand for a heavier one of the other's


def test_sound_alikes_are_the_closest_first_and_never_the_word_itself() -> None:
    among = ["roger", "saber", "sable", "table", "stable", "heron", "topaz", "SABLE"]
    assert sound_alikes("sable", among) == ("table", "stable", "saber")
    assert sound_alikes("marten", {"martin", "heron"}) == ("martin",)
    assert sound_alikes("sable", among, least=0.8) == ("table", "stable")
    assert sound_alikes("affirm", ["negative"]) == ()


def test_equals_come_in_the_order_of_the_alphabet() -> None:
    assert sound_alikes("adze", ["odds", "adds", "ads"])[:2] == ("adds", "ads")
