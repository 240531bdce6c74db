"""The wording against what is published: the source stands beside each check.

"From memory" marks a source that was not at hand; "common practice" one that does not exist.
"""

import pytest

from phraseology.assess import Assessment, assess
from phraseology.calls import expect
from phraseology.elements import Callsign, Kind, Severity
from phraseology.errors import PhraseologyError
from phraseology.expected import Context
from phraseology.numbers import read_digits, read_thousands, say_digits, say_thousands
from phraseology.parse import World, parse
from phraseology.phrases import LETTERS
from phraseology.readback import answer_to
from phraseology.render import say
from phraseology.replies import Message, message, read_message, say_message
from phraseology.standards import standard

US = standard("us_military_tower")
WORLD = World(points=frozenset({"QUARRY", "SILO", "WEIR"}))
HERE = Context(US, WORLD, "SABLE 21", "31", "corbel tower", intention="touch_and_go", point="QUARRY")


def tower_says(name: str, **fields: str) -> str:
    return say_message(message(name, "SABLE 21", {Kind(k): v for k, v in fields.items()}), US)


def answered(controller: str, pilot: str) -> Assessment:
    return assess(answer_to(read_message(controller, WORLD), HERE), pilot)


# -- numbers --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("feet", "words"),
    [
        (500, "five hundred"),  # AIM 4-2-8
        (4_500, "four thousand five hundred"),  # AIM 4-2-8
        (10_000, "one zero thousand"),  # AIM 4-2-8
        (13_500, "one three thousand five hundred"),  # AIM 4-2-8
        (11_000, "one one thousand"),  # JO 7110.65 2-4-17
        (2_700, "two thousand seven hundred"),  # JO 7110.65 2-4-17
    ],
)
def test_altitudes_in_thousands_and_hundreds(feet: int, words: str) -> None:
    """AIM 4-2-8 and JO 7110.65 2-4-17, the published examples."""
    assert say_thousands(feet) == words
    number = read_thousands(words.split(), 0)
    assert number is not None
    assert (int(number.figures), number.standard) == (feet, True)


@pytest.mark.parametrize(
    ("figure", "icao"),
    [("3", "tree"), ("4", "fower"), ("5", "fife"), ("8", "ait"), ("9", "niner")],
)
def test_icao_digits_are_understood(figure: str, icao: str) -> None:
    """ICAO Annex 10 vol. II 5.2.1.4.3.1: TREE, FOW-er, FIFE, AIT, NIN-er; a listener spells them so."""
    number = read_digits([icao], 0, 1)
    assert number is not None
    assert (number.figures, number.standard) == (figure, True)


def test_nine_is_said_niner() -> None:
    """ICAO Annex 10 vol. II 5.2.1.4.3.1; AIM 4-2-7."""
    assert say_digits("9") == "niner"
    number = read_digits(["nine"], 0, 1)
    assert number is not None
    assert not number.standard


def test_altimeter_and_wind_are_said_digit_by_digit() -> None:
    """JO 7110.65 2-4-17."""
    assert say(Kind.ALTIMETER, "2992", US) == "altimeter two niner niner two"
    assert say(Kind.WIND, "310/8", US) == "wind three one zero at eight"


def test_a_wind_direction_has_three_digits() -> None:
    """AIM 4-2-10: directions are three digits."""
    assert say(Kind.WIND, "030/5", US) == "wind zero three zero at five"
    assert parse("wind three one at eight", WORLD).value(Kind.WIND) is None


def test_a_runway_is_said_digit_by_digit_without_a_leading_zero() -> None:
    """JO 7110.65 2-4-17, the FAA standard; ICAO keeps the zero (from memory)."""
    assert say(Kind.RUNWAY, "31", US) == "runway three one"
    assert say(Kind.RUNWAY, "08L", US) == "runway eight left"
    assert parse("runway zero eight left", WORLD).value(Kind.RUNWAY) == "8 left"


def test_decimal_is_understood_as_point() -> None:
    """AIM 4-2-8: "point", and "decimal" is honoured from military aircraft."""
    for joint in ("point", "decimal"):
        assert parse(f"altimeter two niner {joint} niner two", WORLD).value(Kind.ALTIMETER) == "2992"


def test_the_spelling_alphabet() -> None:
    """ICAO Annex 10 vol. II 5.2.1.3, also in FAA P-8740-47: 26 words, Alfa and Juliett in this spelling."""
    assert [word[0] for word in LETTERS] == list("abcdefghijklmnopqrstuvwxyz")
    assert {"alfa", "juliett", "xray", "zulu", "quebec"} <= set(LETTERS)
    assert parse("information Juliet", WORLD).value(Kind.ATIS) == "juliett"
    assert parse("information X-ray", WORLD).value(Kind.ATIS) == "xray"


# -- callsigns and facilities -----------------------------------------------------------------------


@pytest.mark.parametrize("text", ["AB 21", "SABLEST 21", "SABLE 12345", "SABLE", "21", "SA8LE 21"])
def test_no_military_callsign(text: str) -> None:
    """JO 7110.65 2-4-9: a pronounceable word of 3 to 6 letters and 1 to 4 figures."""
    with pytest.raises(PhraseologyError, match="3 to 6 letters and 1 to 4 figures"):
        Callsign.of(text)


def test_a_military_callsign_has_seven_characters_at_most() -> None:
    """JO 7110.65 2-4-9, 7 characters in all."""
    assert Callsign("SABLE", "21").within_limit
    assert not Callsign("MARTEN", "21").within_limit


def test_a_military_callsign_is_said_with_separate_digits_and_never_abbreviated() -> None:
    """JO 7110.65 2-4-9; never abbreviated: 2-4-20 from memory."""
    assert say(Kind.CALLSIGN, "SABLE 21", US) == "sable two one"
    grouped = assess(expect("request_closed", HERE), "sable twenty one request closed")
    assert grouped.accepted
    assert grouped.score < 100
    for short in ("sable request closed", "two one request closed"):
        assert assess(expect("request_closed", HERE), short).critical


def test_the_first_call_says_whom_who_where_what() -> None:
    """AIM 4-2-3 and FAA P-8740-47; ICAO Annex 10 vol. II 5.2.1.6: addressee, originator, text."""
    expected = expect("check_in", HERE.with_(where="10 west", altitude_ft=4500, atis="alfa"))
    kinds = [element.kind for element in parse(expected.model_call, WORLD).elements]
    assert kinds[:2] == [Kind.STATION, Kind.CALLSIGN]
    assert kinds.index(Kind.WHERE) < kinds.index(Kind.REQUEST) < kinds.index(Kind.INTENTION)


def test_the_facilitys_name_may_be_dropped_after_contact() -> None:
    """JO 7110.65 2-4-9: dropped after contact, not on the first call."""
    assert assess(expect("initial", HERE), "sable two one initial").score == 100
    assert not expect("initial", HERE).model_call.startswith("corbel")
    assert expect("check_in", HERE).model_call.startswith("corbel tower")


# -- what the controller says -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("clearance", "words"),
    [
        ("full_stop", "cleared to land"),
        ("touch_and_go", "cleared touch and go"),
        ("stop_and_go", "cleared stop and go"),
        ("low_approach", "cleared low approach"),
        ("option", "cleared for the option"),
    ],
)
def test_a_landing_clearance_is_runway_wind_clearance(clearance: str, words: str) -> None:
    """JO 7110.65 3-10-5: runway first; the wind between at military fields (from memory)."""
    said = tower_says("cleared", runway="31", wind="310/8", clearance=clearance)
    assert said == f"sable two one, runway three one, wind three one zero at eight, {words}"


def test_closed_is_approved_and_denied_in_these_words() -> None:
    """JO 7110.65 3-10-11: "closed traffic approved", "unable closed traffic" and what next; "traffic" is
    left out at military fields (common practice), and understood."""
    assert tower_says("closed_approved") == "sable two one, closed approved"
    denied = tower_says("closed_denied_breakout", report="QUARRY")
    assert denied == "sable two one, unable closed, breakout, report quarry"
    for written in ("left closed traffic approved, report base", "closed traffic approved"):
        assert read_message(f"SABLE 21, {written}", WORLD).value(Kind.CLOSED) == "approved"
    assert (
        read_message("SABLE 21, unable closed traffic, report initial", WORLD).kind == "closed_denied_outside"
    )


def test_a_sequence_is_number_and_whom_to_follow() -> None:
    """JO 7110.65 3-8-1, from memory."""
    said = tower_says("sequence", sequence="2", follow="jet_trainer final_turn")
    assert said == "sable two one, number two, follow jet trainer in the final turn"


def test_pattern_altitude_is_said_only_where_it_is_given() -> None:
    """AIM 5-4-27: altitude and direction only if not standard; "report initial"."""
    plain = tower_says("overhead_approved", runway="31", report="initial 3")
    assert plain == "sable two one, runway three one, overhead approved, report three mile initial"
    other = tower_says("overhead_approved", runway="31", altitude="2700", report="initial 3")
    assert "overhead approved, pattern altitude two thousand seven hundred" in other


def test_the_break_may_be_moved_and_a_report_of_it_asked() -> None:
    """AIM 5-4-27 (break point if not standard, "report break"); CNATRA P-806 (the tower may move it)."""
    assert tower_says("break_at", **{"break": "midfield"}) == "sable two one, break at midfield"
    assert tower_says("report_break") == "sable two one, report break"
    assert read_message("SABLE 21, report break", WORLD) == Message(
        "report_break", "SABLE 21", ((Kind.REPORT, "break"),)
    )


def test_the_tower_calls_the_turn_of_who_extends() -> None:
    """JO 7110.65 3-8-1 from memory ("extend downwind"); an example of 3-9-4 ("tower will call your base")."""
    assert tower_says("extend_downwind") == "sable two one, extend downwind, i will call your turn"


def test_the_reminder_of_the_wheels() -> None:
    """JO 7110.65 2-1-25: "check wheels down"; "wheels should be down"."""
    assert tower_says("check_wheels_down") == "sable two one, check wheels down"
    assert read_message("SABLE 21, wheels should be down", WORLD).kind == "check_wheels_down"


# -- what the pilot says ----------------------------------------------------------------------------


def test_continue_is_no_clearance() -> None:
    """JO 7110.65 3-10-5, from memory."""
    msg = read_message("SABLE 21, continue", WORLD)
    assert not msg.has(Kind.CLEARANCE)
    taken = answered("SABLE 21, continue", "SABLE 21, runway 31, cleared to land")
    assert "clearance" in {judged.element for judged in taken.critical}


def test_the_gear_report_is_callsign_position_gear_intention() -> None:
    """CNATRA P-806: this order of slots."""
    expected = expect("gear_report", HERE.with_(position="base"))
    order = [slot.kind for slot in expected.slots if slot.kind not in (Kind.STATION, Kind.RUNWAY)]
    assert order == [Kind.CALLSIGN, Kind.POSITION, Kind.GEAR, Kind.INTENTION]
    assert assess(expected, "sable two one base gear down touch and go").score == 100
    turned = assess(expected, "sable two one base touch and go gear down")
    assert [judged.verdict.value for judged in turned.faults] == ["order"]


def test_the_position_of_a_late_gear_report_is_where_one_really_is() -> None:
    """CNATRA P-806: if the frequency was busy, give the position where you are."""
    for place in ("perch", "base", "final turn", "final"):
        assert (
            assess(expect("gear_report", HERE), f"sable two one {place} gear down touch and go").score == 100
        )


def test_gear_in_transit_is_an_honest_report() -> None:
    """CNATRA P-806: in transit is a permitted form; and it never becomes "down"."""
    assessment = assess(expect("gear_report", HERE), "sable two one gear in transit touch and go")
    assert assessment.accepted
    assert parse("gear in transit", WORLD).value(Kind.GEAR) == "in_transit"


def test_a_gear_report_is_never_made_before_it_is_true() -> None:
    """CNATRA P-806: never before it is verified; on initial it cannot be."""
    assessment = assess(expect("initial", HERE), "sable two one initial gear down")
    assert [judged.severity for judged in assessment.faults] == [Severity.CRITICAL]


@pytest.mark.parametrize(
    ("controller", "left_out"),
    [
        ("SABLE 21, runway 31, cleared touch and go", Kind.RUNWAY),  # AIM 4-4-7; PANS-ATM 4.5.7.5
        ("SABLE 21, runway 31, cleared touch and go", Kind.CLEARANCE),  # PANS-ATM 4.5.7.5 (quoted)
        ("SABLE 21, unable closed, climb out at or above 3,700, report SILO", Kind.ALTITUDE),  # AIM 4-4-7
        (
            "SABLE 21, runway 31, overhead approved, altimeter 29.92, report initial",
            Kind.ALTIMETER,
        ),  # PANS-ATM
    ],
)
def test_what_must_be_read_back(controller: str, left_out: Kind) -> None:
    """AIM 4-4-7 (altitudes, runway assignments, with the callsign); ICAO PANS-ATM 4.5.7.5, quoted elsewhere
    (clearances on a runway, runway in use, altimeter setting, level)."""
    expected = answer_to(read_message(controller, WORLD), HERE)
    assert assess(expected, expected.model_call).score == 100
    rest = [
        say(slot.kind, slot.say, US)
        for slot in expected.slots
        if slot.kind is not left_out and slot.say and slot.missing is not Severity.NONE
    ]
    assessment = assess(expected, " ".join(rest))
    assert not assessment.accepted
    assert [judged.element for judged in assessment.faults] == [left_out.value]


def test_roger_alone_is_no_read_back_but_roger_and_content_is() -> None:
    """AIM 4-4-7; ICAO Annex 11 3.7.3 (its heading)."""
    cleared = "SABLE 21, runway 31, cleared touch and go"
    assert not answered(cleared, "SABLE 21, roger").accepted
    assert answered(cleared, "SABLE 21, roger, runway 31, cleared touch and go").score == 100


def test_the_callsign_belongs_to_the_read_back() -> None:
    """AIM 4-4-7: read back with the callsign."""
    assert answered("SABLE 21, closed approved", "closed approved").critical
    assert answered("SABLE 21, closed approved", "closed approved, SABLE 21").score == 100


def test_a_correction_is_said_with_the_word_correction() -> None:
    """Pilot/Controller Glossary CORRECTION, from memory: the right version follows."""
    assert parse("SABLE 22, correction, 21, initial", WORLD).value(Kind.CALLSIGN) == "SABLE 21"


def test_negative_i_say_again_corrects_a_read_back() -> None:
    """ICAO, from memory: "negative, I say again"."""
    msg = read_message("SABLE 21, negative, I say again, runway 31, cleared touch and go", WORLD)
    assert msg.corrects
    assert msg.value(Kind.RUNWAY) == "31"


def test_wilco_roger_and_affirmative_are_three_things() -> None:
    """Pilot/Controller Glossary, from memory: ROGER received, WILCO will comply, AFFIRMATIVE yes."""
    go_around = "SABLE 21, go around"
    assert answered(go_around, "SABLE 21, wilco").score == 100
    assert answered(go_around, "SABLE 21, roger").score < 100
    assert not answered("SABLE 21, confirm gear", "SABLE 21, roger").accepted


def test_unable_is_always_available() -> None:
    """Pilot/Controller Glossary UNABLE, from memory."""
    assessment = answered("SABLE 21, unable closed, breakout, report QUARRY", "SABLE 21, unable")
    assert assessment.refused
    assert assessment.accepted


def test_an_unchallenged_clearance_for_a_like_callsign_is_not_taken() -> None:
    """NASA CR-177398: similar callsigns and expectation; the answer to another's message is silence."""
    other = "SABLE 12, runway 31, cleared touch and go"
    assert answered(other, "").accepted
    assert answered(other, "SABLE 21, runway 31, cleared touch and go").critical
