"""The wording against what is published: the source and its label stand beside each check.

S: text or abstract seen. Q: seen as a quotation elsewhere. M: from memory, the source was not at hand.
CP: common practice, there is no source. C: computed here.
"""

from dataclasses import replace

import pytest

from phraseology.assess import Assessment, Delivery, assess
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
from phraseology.standards import STANDARDS, Standard, standard

US = standard("us_military_tower")
CIVIL = standard("us_civil_tower")
ICAO = standard("icao")
UK = standard("uk_military")
AMERICAN, INTERNATIONAL = (US, CIVIL), (ICAO, UK)
WORLD = World(points=frozenset({"QUARRY", "SILO", "WEIR"}))
HERE = Context(US, WORLD, "SABLE 21", "31", "corbel tower", intention="touch_and_go", point="QUARRY")


def there(of: Standard) -> Context:
    """The same aircraft at a field that has this standard: runway 6 with a parallel."""
    return HERE.with_(standard=of, runway="06L", station="wickstone tower")


def tower_says(name: str, of: Standard = US, **fields: str) -> str:
    return say_message(message(name, "SABLE 21", {Kind(k): v for k, v in fields.items()}), of)


def answered(controller: str, pilot: str, context: Context = HERE) -> Assessment:
    return assess(answer_to(read_message(controller, context.world), context), pilot)


def is_standard(text: str, kind: Kind, of: Standard) -> bool:
    """Whether these words are this standard's own for what they say. They must say something of that kind."""
    element = parse(text, World(points=WORLD.points, standard=of)).first(kind)
    assert element is not None
    return element.standard


def faults(assessment: Assessment) -> list[str]:
    return [judged.element for judged in assessment.faults]


# -- numbers --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("feet", "words"),
    [
        (500, "five hundred"),  # AIM 4-2-8 (S)
        (4_500, "four thousand five hundred"),  # AIM 4-2-8 (S)
        (10_000, "one zero thousand"),  # AIM 4-2-8 (S)
        (13_500, "one three thousand five hundred"),  # AIM 4-2-8 (S)
        (11_000, "one one thousand"),  # JO 7110.65 2-4-17 (S)
        (2_700, "two thousand seven hundred"),  # JO 7110.65 2-4-17 (S)
    ],
)
def test_altitudes_in_thousands_and_hundreds(feet: int, words: str) -> None:
    """AIM 4-2-8 and JO 7110.65 2-4-17, the published examples (S)."""
    assert say_thousands(feet) == words
    number = read_thousands(words.split(), 0)
    assert number is not None
    assert (int(number.figures), number.standard) == (feet, True)


@pytest.mark.parametrize(
    ("figure", "icao"),
    [("3", "tree"), ("4", "fower"), ("5", "fife"), ("8", "ait"), ("9", "niner")],
)
def test_icao_digits_are_understood(figure: str, icao: str) -> None:
    """ICAO Annex 10 vol. II 5.2.1.4.3.1: TREE, FOW-er, FIFE, AIT, NIN-er (S); a listener spells them so."""
    number = read_digits([icao], 0, 1)
    assert number is not None
    assert (number.figures, number.standard) == (figure, True)


def test_nine_is_said_niner() -> None:
    """ICAO Annex 10 vol. II 5.2.1.4.3.1 (S); AIM 4-2-7 (M)."""
    assert say_digits("9") == "niner"
    number = read_digits(["nine"], 0, 1)
    assert number is not None
    assert not number.standard


def test_altimeter_and_wind_are_said_digit_by_digit() -> None:
    """JO 7110.65 2-4-17 (S)."""
    assert say(Kind.ALTIMETER, "2992", US) == "altimeter two niner niner two"
    assert say(Kind.WIND, "310/8", US) == "wind three one zero at eight"


def test_a_wind_direction_has_three_digits() -> None:
    """AIM 4-2-10: directions are three digits (S)."""
    assert say(Kind.WIND, "030/5", US) == "wind zero three zero at five"
    assert parse("wind three one at eight", WORLD).value(Kind.WIND) is None


def test_a_runway_is_said_digit_by_digit_without_a_leading_zero() -> None:
    """JO 7110.65 2-4-17, the FAA standard (S); ICAO keeps the zero (M)."""
    assert say(Kind.RUNWAY, "31", US) == "runway three one"
    assert say(Kind.RUNWAY, "08L", US) == "runway eight left"
    assert parse("runway zero eight left", WORLD).value(Kind.RUNWAY) == "8 left"


def test_decimal_is_understood_as_point() -> None:
    """AIM 4-2-8: "point", and "decimal" is honoured from military aircraft (S)."""
    for joint in ("point", "decimal"):
        assert parse(f"altimeter two niner {joint} niner two", WORLD).value(Kind.ALTIMETER) == "2992"


def test_the_spelling_alphabet() -> None:
    """ICAO Annex 10 vol. II 5.2.1.3, also in FAA P-8740-47: 26 words, Alfa and Juliett so spelt (S)."""
    assert [word[0] for word in LETTERS] == list("abcdefghijklmnopqrstuvwxyz")
    assert {"alfa", "juliett", "xray", "zulu", "quebec"} <= set(LETTERS)
    assert parse("information Juliet", WORLD).value(Kind.ATIS) == "juliett"
    assert parse("information X-ray", WORLD).value(Kind.ATIS) == "xray"


# -- callsigns and facilities -----------------------------------------------------------------------


@pytest.mark.parametrize("text", ["AB 21", "SABLEST 21", "SABLE 12345", "SABLE", "21", "SA8LE 21"])
def test_no_military_callsign(text: str) -> None:
    """JO 7110.65 2-4-9: a pronounceable word of 3 to 6 letters and 1 to 4 figures (S)."""
    with pytest.raises(PhraseologyError, match="3 to 6 letters and 1 to 4 figures"):
        Callsign.of(text)


def test_a_military_callsign_has_seven_characters_at_most() -> None:
    """JO 7110.65 2-4-9: 7 characters in all (S)."""
    assert Callsign("SABLE", "21").within_limit
    assert not Callsign("MARTEN", "21").within_limit


def test_a_military_callsign_is_said_with_separate_digits_and_never_abbreviated() -> None:
    """JO 7110.65 2-4-9 (S); never abbreviated: 2-4-20 (M)."""
    assert say(Kind.CALLSIGN, "SABLE 21", US) == "sable two one"
    grouped = assess(expect("request_closed", HERE), "sable twenty one request closed")
    assert grouped.accepted
    assert grouped.score < 100
    for short in ("sable request closed", "two one request closed"):
        assert assess(expect("request_closed", HERE), short).critical


def test_the_first_call_says_whom_who_where_what() -> None:
    """AIM 4-2-3 and FAA P-8740-47 (S)."""
    expected = expect("check_in", HERE.with_(where="10 west", altitude_ft=4500, atis="alfa"))
    kinds = [element.kind for element in parse(expected.model_call, WORLD).elements]
    assert kinds[:2] == [Kind.STATION, Kind.CALLSIGN]
    assert kinds.index(Kind.WHERE) < kinds.index(Kind.REQUEST) < kinds.index(Kind.INTENTION)


def test_the_facilitys_name_may_be_dropped_after_contact() -> None:
    """JO 7110.65 2-4-9: dropped after contact, not on the first call (S)."""
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
    """JO 7110.65 3-10-5: runway first (S); the wind between at military fields (M)."""
    said = tower_says("cleared", runway="31", wind="310/8", clearance=clearance)
    assert said == f"sable two one, runway three one, wind three one zero at eight, {words}"


def test_closed_is_approved_and_denied_in_these_words() -> None:
    """JO 7110.65 3-10-11: "closed traffic approved", "unable closed traffic" and what next (Q); "traffic"
    is left out at military fields (CP), and understood."""
    assert tower_says("closed_approved") == "sable two one, closed approved"
    denied = tower_says("closed_denied_breakout", report="QUARRY")
    assert denied == "sable two one, unable closed, breakout, report quarry"
    for written in ("left closed traffic approved, report base", "closed traffic approved"):
        assert read_message(f"SABLE 21, {written}", WORLD).value(Kind.CLOSED) == "approved"
    assert (
        read_message("SABLE 21, unable closed traffic, report initial", WORLD).kind == "closed_denied_outside"
    )


def test_a_sequence_is_number_and_whom_to_follow() -> None:
    """JO 7110.65 3-8-1: number n, follow (type, place) (M)."""
    said = tower_says("sequence", sequence="2", follow="jet_trainer final_turn")
    assert said == "sable two one, number two, follow jet trainer in the final turn"


def test_pattern_altitude_is_said_only_where_it_is_given() -> None:
    """AIM 5-4-27: altitude and direction only if not standard; "report initial" (S)."""
    plain = tower_says("overhead_approved", runway="31", report="initial 3")
    assert plain == "sable two one, runway three one, overhead approved, report three mile initial"
    other = tower_says("overhead_approved", runway="31", altitude="2700", report="initial 3")
    assert "overhead approved, pattern altitude two thousand seven hundred" in other


def test_the_break_may_be_moved_and_a_report_of_it_asked() -> None:
    """AIM 5-4-27: break point if not standard, "report break" (S); CNATRA P-806: the tower may move it (S)."""
    assert tower_says("break_at", **{"break": "midfield"}) == "sable two one, break at midfield"
    assert tower_says("report_break") == "sable two one, report break"
    assert read_message("SABLE 21, report break", WORLD) == Message(
        "report_break", "SABLE 21", ((Kind.REPORT, "break"),)
    )


def test_the_tower_calls_the_turn_of_who_extends() -> None:
    """JO 7110.65 3-8-1 "extend downwind" (M); an example of 3-9-4, "tower will call your base" (S)."""
    assert tower_says("extend_downwind") == "sable two one, extend downwind, i will call your turn"


def test_the_reminder_of_the_wheels() -> None:
    """JO 7110.65 2-1-25: "check wheels down"; "wheels should be down" (Q)."""
    assert tower_says("check_wheels_down") == "sable two one, check wheels down"
    assert read_message("SABLE 21, wheels should be down", WORLD).kind == "check_wheels_down"


# -- what the pilot says ----------------------------------------------------------------------------


def test_continue_is_no_clearance() -> None:
    """JO 7110.65 3-10-5 (M)."""
    msg = read_message("SABLE 21, continue", WORLD)
    assert not msg.has(Kind.CLEARANCE)
    taken = answered("SABLE 21, continue", "SABLE 21, runway 31, cleared to land")
    assert "clearance" in {judged.element for judged in taken.critical}


def test_the_gear_report_is_callsign_position_gear_intention() -> None:
    """CNATRA P-806: this order of slots (S)."""
    expected = expect("gear_report", HERE.with_(position="base"))
    order = [slot.kind for slot in expected.slots if slot.kind not in (Kind.STATION, Kind.RUNWAY, Kind.SIDE)]
    assert order == [Kind.CALLSIGN, Kind.POSITION, Kind.GEAR, Kind.INTENTION]
    assert assess(expected, "sable two one base gear down touch and go").score == 100
    turned = assess(expected, "sable two one base touch and go gear down")
    assert [judged.verdict.value for judged in turned.faults] == ["order"]


def test_the_position_of_a_late_gear_report_is_where_one_really_is() -> None:
    """CNATRA P-806: if the frequency was busy, give the position where you are (S)."""
    for place in ("perch", "base", "final turn", "final"):
        assert (
            assess(expect("gear_report", HERE), f"sable two one {place} gear down touch and go").score == 100
        )


def test_gear_in_transit_is_an_honest_report() -> None:
    """CNATRA P-806: in transit is a permitted form (S); and it never becomes "down"."""
    assessment = assess(expect("gear_report", HERE), "sable two one gear in transit touch and go")
    assert assessment.accepted
    assert parse("gear in transit", WORLD).value(Kind.GEAR) == "in_transit"


def test_a_gear_report_is_never_made_before_it_is_true() -> None:
    """CNATRA P-806: never before it is verified (S); on initial it cannot be."""
    assessment = assess(expect("initial", HERE), "sable two one initial gear down")
    assert [judged.severity for judged in assessment.faults] == [Severity.CRITICAL]


@pytest.mark.parametrize(
    ("controller", "left_out"),
    [
        ("SABLE 21, runway 31, cleared touch and go", Kind.RUNWAY),  # AIM 4-4-7 (S); PANS-ATM 4.5.7.5 (Q)
        ("SABLE 21, runway 31, cleared touch and go", Kind.CLEARANCE),  # PANS-ATM 4.5.7.5 (Q)
        ("SABLE 21, unable closed, climb out at or above 3,700, report SILO", Kind.ALTITUDE),  # AIM 4-4-7 (S)
        (
            "SABLE 21, runway 31, overhead approved, altimeter 29.92, report initial",
            Kind.ALTIMETER,
        ),  # PANS-ATM 4.5.7.5 (Q)
    ],
)
def test_what_must_be_read_back(controller: str, left_out: Kind) -> None:
    """AIM 4-4-7: altitudes, runway assignments, with the callsign (S); ICAO PANS-ATM 4.5.7.5: clearances on
    a runway, runway in use, altimeter setting, level (Q)."""
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
    """AIM 4-4-7: roger plus content is fine (S); ICAO Annex 11 3.7.3 (S, its heading)."""
    cleared = "SABLE 21, runway 31, cleared touch and go"
    assert not answered(cleared, "SABLE 21, roger").accepted
    assert answered(cleared, "SABLE 21, roger, runway 31, cleared touch and go").score == 100


def test_the_callsign_belongs_to_the_read_back() -> None:
    """AIM 4-4-7: read back with the callsign (S)."""
    assert answered("SABLE 21, closed approved", "closed approved").critical
    assert answered("SABLE 21, closed approved", "closed approved, SABLE 21").score == 100


def test_a_correction_is_said_with_the_word_correction() -> None:
    """Pilot/Controller Glossary CORRECTION: the right version follows (M)."""
    assert parse("SABLE 22, correction, 21, initial", WORLD).value(Kind.CALLSIGN) == "SABLE 21"


def test_negative_i_say_again_corrects_a_read_back() -> None:
    """ICAO: "negative, I say again" (M)."""
    msg = read_message("SABLE 21, negative, I say again, runway 31, cleared touch and go", WORLD)
    assert msg.corrects
    assert msg.value(Kind.RUNWAY) == "31"


def test_wilco_roger_and_affirmative_are_three_things() -> None:
    """Pilot/Controller Glossary: ROGER received, WILCO will comply, AFFIRMATIVE yes (M)."""
    go_around = "SABLE 21, go around"
    assert answered(go_around, "SABLE 21, wilco").score == 100
    assert answered(go_around, "SABLE 21, roger").score < 100
    assert not answered("SABLE 21, confirm gear", "SABLE 21, roger").accepted


def test_unable_is_always_available() -> None:
    """Pilot/Controller Glossary UNABLE (M)."""
    assessment = answered("SABLE 21, unable closed, breakout, report QUARRY", "SABLE 21, unable")
    assert assessment.refused
    assert assessment.accepted


def test_an_unchallenged_clearance_for_a_like_callsign_is_not_taken() -> None:
    """NASA CR-177398: similar callsigns and expectation (S); the answer to another's message is silence."""
    other = "SABLE 12, runway 31, cleared touch and go"
    assert answered(other, "").accepted
    assert answered(other, "SABLE 21, runway 31, cleared touch and go").critical


# -- one word, one meaning --------------------------------------------------------------------------


def test_roger_answers_no_question() -> None:
    """Pilot/Controller Glossary ROGER: received, neither yes nor no (M)."""
    context = HERE.with_(atis="alfa")
    assert not answered("SABLE 21, verify information alfa", "SABLE 21, roger", context).accepted
    assert answered("SABLE 21, verify information alfa", "SABLE 21, affirmative", context).accepted
    assert answered("SABLE 21, verify information alfa", "SABLE 21, negative", context).accepted


def test_stand_by_is_neither_yes_nor_no() -> None:
    """Pilot/Controller Glossary STAND BY (M): who takes it for an approval errs critically."""
    assert "closed" in faults(answered("SABLE 21, stand by", "SABLE 21, closed approved"))
    assert answered("SABLE 21, stand by", "SABLE 21, closed approved").critical
    assert answered("SABLE 21, stand by", "SABLE 21, standing by").accepted
    assert answered("SABLE 21, stand by", "").accepted


def test_minimum_fuel_gives_no_priority() -> None:
    """Pilot/Controller Glossary MINIMUM FUEL: no undue delay, no priority (M): it declares no emergency."""
    said = "sable two one minimum fuel"
    assert assess(expect("minimum_fuel", HERE), said).score == 100
    assert "emergency" in faults(assess(expect("emergency", HERE), said))
    assert not assess(expect("emergency", HERE), said).accepted
    assert "no priority" in US.rules["fuel"].text


def test_wilco_does_not_read_back_what_must_be_read_back() -> None:
    """Pilot/Controller Glossary WILCO (M); AIM 4-4-7: altitudes are said back (S)."""
    assert answered("SABLE 21, report outside downwind", "SABLE 21, wilco").score == 100
    assert not answered("SABLE 21, maintain 2,700", "SABLE 21, wilco").accepted


def test_say_again_asks_for_all_or_for_a_part() -> None:
    """Pilot/Controller Glossary SAY AGAIN (M); "all after" and "word before": ICAO Doc 9432 (M)."""
    assert assess(expect("say_again", HERE), "sable two one say again").score == 100
    assert parse("sable two one say again all after runway", WORLD).value(Kind.PART) == "all_after runway"


@pytest.mark.parametrize("words", ["sable two one going around", "going around sable two one"])
def test_go_around_is_answered_by_doing_it(words: str) -> None:
    """Pilot/Controller Glossary GO AROUND (M): an instruction; anything else flown is critical."""
    assert answered("SABLE 21, go around", words).score == 100
    assert answered("SABLE 21, go around", "SABLE 21, cleared to land").critical
    assert answered("SABLE 21, go around", "SABLE 21, continuing").critical


def test_unable_closed_from_the_pilot_refuses_an_approval() -> None:
    """Pilot/Controller Glossary UNABLE (M)."""
    refused = answered("SABLE 21, closed approved", "SABLE 21, unable closed")
    assert (refused.refused, refused.accepted) == (True, True)
    repeated = answered("SABLE 21, unable closed, report initial", "SABLE 21, unable closed, report initial")
    assert not repeated.refused


def test_a_correction_in_the_same_call_counts_as_right() -> None:
    """Pilot/Controller Glossary CORRECTION; ICAO Doc 9432 (M)."""
    for context in map(there, STANDARDS.values()):
        said = "sable two two correction two one initial"
        assert assess(expect("initial", context), said).score == 100


def test_mayday_and_pan_pan_are_said_three_times() -> None:
    """ICAO Annex 10 vol. II 5.3; AIM 6-3-1 (M): once is understood."""
    for of in STANDARDS.values():
        assert say(Kind.EMERGENCY, "mayday", of) == "mayday mayday mayday"
        assert say(Kind.EMERGENCY, "pan_pan", of) == "pan pan pan pan pan pan"
        assert not is_standard("mayday", Kind.EMERGENCY, of)
        assert not is_standard("pan pan", Kind.EMERGENCY, of)
    declared = assess(expect("emergency", HERE), "sable two one declaring an emergency engine failure")
    assert declared.score == 100


def test_emergency_comes_before_whom_and_who() -> None:
    """AIM 6-3-2; ICAO Annex 10 vol. II 5.3.2.1 (M): the signal, the station, the callsign, the nature."""
    kinds = [element.kind for element in parse(expect("emergency", HERE).model_call, WORLD).elements]
    assert kinds == [Kind.EMERGENCY, Kind.CALLSIGN, Kind.NATURE]


# -- on the air -------------------------------------------------------------------------------------


def test_listen_before_you_transmit() -> None:
    """AIM 4-2-2: listen first (S)."""
    over = assess(expect("initial", HERE), "SABLE 21, initial", Delivery(stepped_on="HERON 42"))
    assert "AIM 4-2-2" in str(over.faults[0].rule)
    assert not over.accepted


@pytest.mark.parametrize("of", STANDARDS.values(), ids=lambda of: of.name)
def test_a_hesitation_costs_and_hides_nothing(of: Standard) -> None:
    """AIM 4-2-2, think first (S); ICAO Doc 9432, no hesitation sounds (S, via a national guide)."""
    hesitant = assess(expect("initial", there(of)), "sable uh two um one initial")
    assert faults(hesitant) == ["hesitation", "hesitation"]
    assert hesitant.accepted


def test_items_are_read_back_in_the_order_received() -> None:
    """AIM 4-4-7: in the order received (S): the model does so."""
    said = "SABLE 21, unable closed, climb out at or above 3,700, report SILO"
    model = answer_to(read_message(said, WORLD), HERE).model_call
    assert model == "sable two one, climbing out, three thousand seven hundred, report silo"
    msg = message("heading", "SABLE 21", {Kind.SIDE: "left", Kind.HEADING: "350", Kind.ALTITUDE: "2700"})
    answer = answer_to(msg, HERE).model_call
    assert answer == "sable two one, left heading three five zero, two thousand seven hundred"


@pytest.mark.parametrize("of", STANDARDS.values(), ids=lambda of: of.name)
def test_left_and_right_belong_to_the_runway_that_is_read_back(of: Standard) -> None:
    """AIM 4-4-7: the runway with left, right or center in the first landing read-back (S)."""
    cleared = "SABLE 21, runway 06 left, wind calm, cleared to land"
    runway = say(Kind.RUNWAY, "6 left", of)
    context = there(of)
    assert answered(cleared, f"sable two one {runway} cleared to land", context).score == 100
    for short in (runway.removesuffix(" left"), runway.replace("left", "right")):
        wrong = answered(cleared, f"sable two one {short} cleared to land", context)
        assert "runway" in {judged.element for judged in wrong.critical}


# -- the tower, in every standard -------------------------------------------------------------------


@pytest.mark.parametrize("of", STANDARDS.values(), ids=lambda of: of.name)
def test_the_runway_comes_before_the_clearance_in_every_standard(of: Standard) -> None:
    """JO 7110.65 3-10-5 (S); ICAO PANS-ATM 12 (M)."""
    said = tower_says("cleared", of, runway="6", wind="060/8", clearance="full_stop")
    assert said.index("runway") < said.index("wind") < said.index("cleared to land")


def test_number_n_follow_is_answered_with_what_is_seen() -> None:
    """JO 7110.65 3-8-1 (M): who follows says whether he sees whom he follows (CP)."""
    sequence = "SABLE 21, number two, follow jet trainer on inside downwind"
    msg = read_message(sequence, WORLD)
    assert (msg.value(Kind.SEQUENCE), msg.value(Kind.FOLLOW)) == ("2", "jet_trainer inside_downwind")
    assert answered(sequence, "SABLE 21, traffic in sight").accepted
    assert not answered(sequence, "SABLE 21, number three, follow jet trainer").accepted


def test_spacing_is_made_in_these_words() -> None:
    """JO 7110.65 3-8-1: extend downwind, make short approach, make left three-sixty, go around (M);
    "tower will call your base": an example of 3-9-4 (S)."""
    for words, kind in {
        "extend downwind, tower will call your base": "extend_downwind",
        "make short approach": "short_approach",
        "make left three-sixty": "three_sixty",
        "go around": "go_around",
    }.items():
        assert read_message(f"SABLE 21, {words}", WORLD).kind == kind


def test_traffic_is_called_with_its_type_and_place() -> None:
    """JO 7110.65 3-8-1: traffic (type, place) (M); looked for or seen, roger tells neither (M, glossary)."""
    said = "SABLE 21, traffic, jet trainer, three mile initial"
    assert read_message(said, WORLD).value(Kind.TRAFFIC_INFORMATION) == "jet_trainer initial 3"
    assert answered(said, "SABLE 21, traffic in sight").score == 100
    assert answered(said, "SABLE 21, negative contact").score == 100
    assert answered(said, "SABLE 21, roger").score < 100


def test_landing_information_is_runway_then_wind_then_altimeter() -> None:
    """JO 7110.65 3-10-1: runway, wind, altimeter (S); what the letter covers may be left out (S)."""
    said = tower_says("overhead_approved", runway="31", wind="310/8", altimeter="2992", report="initial")
    assert said.index("runway") < said.index("wind") < said.index("altimeter")
    short = tower_says("overhead_approved", runway="31", report="initial")
    assert "wind" not in short
    assert "altimeter" not in short


def test_the_reminder_of_the_wheels_is_for_military_aircraft() -> None:
    """JO 7110.65 2-1-24 and 2-1-25 (Q): a civil tower has none, and waits for no gear report (M)."""
    assert "check_wheels_down" in CIVIL.without_replies
    assert "check_wheels_down" not in US.without_replies
    said = "sable two one final turn touch and go"
    assert assess(expect("gear_report", HERE.with_(standard=CIVIL)), said).accepted
    assert assess(expect("gear_report", HERE), said).critical


def test_the_civil_tower_says_closed_traffic() -> None:
    """JO 7110.65 3-10-11 (Q)."""
    assert tower_says("closed_approved", CIVIL, side="left") == "sable two one, left closed traffic approved"
    assert say(Kind.CLOSED, "requested", CIVIL) == "request closed traffic"
    context = HERE.with_(standard=CIVIL)
    assert assess(expect("request_closed", context), "sable two one request closed traffic").score == 100


def test_a_wrong_read_back_is_corrected_with_negative() -> None:
    """ICAO: "negative, I say again" (M); the FAA's controller says "negative" (M)."""
    right = message("cleared", "SABLE 21", {Kind.RUNWAY: "31", Kind.CLEARANCE: "full_stop"})
    again = replace(right, corrects=True)
    for of, words in ((US, "negative"), (ICAO, "negative, i say again"), (UK, "negative, i say again")):
        said = say_message(again, of)
        assert said.startswith(f"sable two one, {words}, runway three one")
        assert read_message(said, WORLD) == again


# -- what differs from one standard to the next -----------------------------------------------------


def test_affirm_is_icao_and_affirmative_is_american() -> None:
    """Affirm / affirmative belongs to the standard (M); the other one is understood."""
    for of in AMERICAN:
        assert say(Kind.ACK, "affirmative", of) == "affirmative"
        assert not is_standard("affirm", Kind.ACK, of)
    for of in INTERNATIONAL:
        assert say(Kind.ACK, "affirmative", of) == "affirm"
        assert not is_standard("affirmative", Kind.ACK, of)


def test_confirm_is_icao_and_verify_is_american() -> None:
    """Pilot/Controller Glossary VERIFY; ICAO Annex 10 vol. II 5.2.1.5.8 CONFIRM (M)."""
    assert [say(Kind.QUERY, "verify", of) for of in AMERICAN] == ["verify", "verify"]
    assert [say(Kind.QUERY, "verify", of) for of in INTERNATIONAL] == ["confirm", "confirm"]


def test_decimal_is_icao_and_point_is_american() -> None:
    """ICAO Annex 10 vol. II 5.2.1.4.3.1 DAY-SEE-MAL (S); AIM 4-2-8: "decimal" is honoured (S)."""
    for of in AMERICAN:
        assert say(Kind.FREQUENCY, "118.1", of) == "one one eight point one"
        assert is_standard("one one eight decimal one", Kind.FREQUENCY, of)
    for of in INTERNATIONAL:
        assert say(Kind.FREQUENCY, "118.1", of) == "one one eight decimal one"
        assert not is_standard("one one eight point one", Kind.FREQUENCY, of)


def test_qnh_is_icao_and_altimeter_is_american() -> None:
    """QNH in hectopascals, altimeter in inches: a matter of the standard (M)."""
    for of in AMERICAN:
        assert "qnh" in of.without_replies
        assert is_standard("altimeter two niner niner two", Kind.ALTIMETER, of)
    for of in INTERNATIONAL:
        assert "altimeter" in of.without_replies
        assert say(Kind.QNH, "1013", of) == "qnh one zero one three"
        assert not is_standard("altimeter two niner niner two", Kind.ALTIMETER, of)


def test_a_runway_keeps_its_zero_under_icao() -> None:
    """JO 7110.65 2-4-17: no leading zero (S); ICAO: "zero six" (M). The other form is understood."""
    for of in AMERICAN:
        assert say(Kind.RUNWAY, "6", of) == "runway six"
        assert not is_standard("runway zero six", Kind.RUNWAY, of)
    for of in INTERNATIONAL:
        assert say(Kind.RUNWAY, "6", of) == "runway zero six"
        assert not is_standard("runway six", Kind.RUNWAY, of)
    for of in STANDARDS.values():
        for words in ("runway six", "runway zero six"):
            assert parse(words, World(standard=of)).value(Kind.RUNWAY) == "6"


def test_finals_initials_and_run_in_and_break_are_british() -> None:
    """UK military: final / finals (M), run in and break (M)."""
    assert say(Kind.POSITION, "final", UK) == "finals"
    assert say(Kind.POSITION, "initial", UK) == "initials"
    assert say(Kind.REQUEST, "overhead", UK) == "request run in and break"
    for of in (US, CIVIL, ICAO):
        assert say(Kind.POSITION, "final", of) == "final"
        assert not is_standard("finals", Kind.POSITION, of)
        assert not is_standard("request run in and break", Kind.REQUEST, of)


def test_readability_is_a_figure_under_icao_and_words_in_america() -> None:
    """ICAO Annex 10 vol. II 5.2.1.8.4, readability scale 1 to 5 (M); "loud and clear" (CP)."""
    for of in INTERNATIONAL:
        assert say(Kind.READABILITY, "5", of) == "readability five"
        assert not is_standard("loud and clear", Kind.READABILITY, of)
    for of in AMERICAN:
        assert say(Kind.READABILITY, "5", of) == "loud and clear"
    for of in STANDARDS.values():
        context = there(of)
        words = f"sable two one {say(Kind.READABILITY, '5', of)}"
        assert answered("SABLE 21, radio check, how do you hear", words, context).score == 100


def test_figures_go_one_by_one_except_whole_hundreds_and_thousands() -> None:
    """ICAO Annex 10 vol. II 5.2.1.4.1 (S); AIM 4-2-8 (S), 4-2-10 (S), 4-2-11: digits and "knots" (S)."""
    for of in STANDARDS.values():
        assert say(Kind.ALTITUDE, "4500", of).removesuffix(" feet") == "four thousand five hundred"
        assert say(Kind.HEADING, "050", of) == "heading zero five zero"
        assert say(Kind.SPEED, "200", of) == "speed two zero zero knots"
        assert say(Kind.CALLSIGN, "SABLE 29", of) == "sable two niner"
        assert not is_standard("sable twenty one", Kind.CALLSIGN, of)
        assert not is_standard("sable two nine", Kind.CALLSIGN, of)


def test_addressee_originator_text() -> None:
    """ICAO Annex 10 vol. II 5.2.1.6 (S)."""
    context = there(ICAO).with_(where="10 west", altitude_ft=4500, atis="alfa")
    expected = expect("check_in", context)
    kinds = [element.kind for element in parse(expected.model_call, context.world).elements]
    assert kinds[:3] == [Kind.STATION, Kind.CALLSIGN, Kind.WHERE]
    turned = assess(expected, expected.model_call.replace("wickstone tower, ", "") + ", wickstone tower")
    assert [judged.verdict.value for judged in turned.faults] == ["order"]


@pytest.mark.parametrize("of", INTERNATIONAL, ids=lambda of: of.name)
@pytest.mark.parametrize(
    ("controller", "must"),
    [
        ("runway 06 left, wind calm, cleared to land", {"runway", "clearance"}),  # PANS-ATM 4.5.7.5 (Q)
        ("runway 06 left, wind calm, cleared touch and go", {"runway", "clearance"}),  # the same (Q)
        ("runway change, runway 24 right", {"runway"}),  # runway in use (Q)
        ("QNH 1013", {"qnh"}),  # altimeter setting (Q)
        ("maintain 2,300 feet", {"altitude"}),  # level (Q)
        ("turn left heading 350", {"side", "heading"}),  # heading (Q); Annex 11 3.7.3 (S, its heading)
        ("speed 200 knots", {"speed"}),  # speed (Q)
    ],
)
def test_what_icao_always_wants_read_back(controller: str, must: set[str], of: Standard) -> None:
    """PANS-ATM 4.5.7.5, quoted elsewhere (Q); roger alone is no read-back: Annex 11 3.7.3 (S, its heading)."""
    context = there(of)
    message_read = read_message(f"SABLE 21, {controller}", context.world)
    expected = answer_to(message_read, context)
    assert assess(expected, expected.model_call).score == 100
    for alone in ("sable two one roger", "sable two one wilco", "sable two one"):
        assert set(faults(assess(expected, alone))) == must
        assert not assess(expected, alone).accepted


def test_every_rule_names_its_source() -> None:
    """Each rule of each standard names a publication, or says that it has none or that it is from memory."""
    for of in STANDARDS.values():
        for rule in of.rules.values():
            assert any(
                word in rule.source
                for word in (
                    "AIM",
                    "JO 7110",
                    "ICAO",
                    "Annex",
                    "PANS",
                    "Doc",
                    "CNATRA",
                    "NASA",
                    "P-8740",
                    "Glossary",
                )
            ) or rule.source in ("common practice", "from memory")
