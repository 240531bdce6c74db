"""What `explain` says is what the judge does, for every call and reply in every standard; and how it reads."""

import io
import json
from collections.abc import Iterator

import pytest
from rich.console import Console

from phraseology.assess import Verdict, assess
from phraseology.calls import CALLS, SHORT_NAMES
from phraseology.elements import Severity
from phraseology.errors import PhraseologyError
from phraseology.example import example_context, example_message
from phraseology.expected import Expected
from phraseology.explain import (
    CallExplained,
    ElementExplained,
    Lacking,
    ReplyExplained,
    Treatment,
    as_json,
    explain,
    explain_call,
    explain_reply,
)
from phraseology.parse import parse
from phraseology.readback import answer_to
from phraseology.replies import REPLIES, ReplyKind, say_message
from phraseology.standards import STANDARDS, Standard, standard
from trainer.cli import main
from trainer.commands.explain import print_explanation

US = standard("us_military_tower")

IN_EVERY_STANDARD = [(name, each) for each in STANDARDS.values() for name in (*CALLS, *REPLIES)]
NAMED = pytest.mark.parametrize(
    ("name", "std"), [pytest.param(name, each, id=f"{each.name}: {name}") for name, each in IN_EVERY_STANDARD]
)


def judged(name: str, std: Standard) -> Iterator[tuple[CallExplained | ReplyExplained, Expected]]:
    """What is said of the name, beside what the judge holds it against."""
    explanation = explain(name, std)
    if isinstance(explanation.call, CallExplained):
        call = CALLS[explanation.call.name]
        yield explanation.call, call.expect(example_context(std, call.name))
    if isinstance(explanation.reply, ReplyExplained):
        msg = example_message(explanation.reply.name, std)
        yield explanation.reply, answer_to(msg, example_context(std))


def faults(expected: Expected, said: list[str]) -> list[tuple[str, Verdict, Severity]]:
    assessment = assess(expected, ", ".join(said))
    return [(each.element, each.verdict, each.severity) for each in assessment.faults]


# -- it is true -----------------------------------------------------------------------------------


@NAMED
def test_every_call_and_reply_is_explained_or_said_to_be_lacking(name: str, std: Standard) -> None:
    explanation = explain(name, std)
    if name in CALLS:
        entry = explanation.call
        assert isinstance(entry, Lacking) is (name in std.without_calls)
        assert isinstance(entry, Lacking | CallExplained)
    if name in REPLIES:
        answer = explanation.reply
        assert isinstance(answer, Lacking) is (name in std.without_replies)
        assert isinstance(answer, Lacking | ReplyExplained)
    for lacking in (explanation.call, explanation.reply):
        if isinstance(lacking, Lacking):
            assert lacking.reason in {**std.without_calls, **std.without_replies}.values()


@NAMED
def test_the_model_is_perfect(name: str, std: Standard) -> None:
    for entry, expected in judged(name, std):
        model = entry.model if isinstance(entry, CallExplained) else entry.answer
        assert faults(expected, [model]) == []


@NAMED
def test_what_is_said_to_be_required_costs_what_is_said_when_it_is_missing(name: str, std: Standard) -> None:
    for entry, expected in judged(name, std):
        required = [element for element in entry.elements if element.required]
        for left_out in required:
            said = [element.words for element in required if element is not left_out]
            if said:
                fault = (left_out.element, Verdict.MISSING, left_out.missing)
                assert fault in faults(expected, said), left_out


@NAMED
def test_what_may_be_said_costs_nothing(name: str, std: Standard) -> None:
    for entry, expected in judged(name, std):
        for place, extra in enumerate(entry.elements):
            if not extra.required:
                before = [element.words for element in entry.elements[:place] if element.required]
                after = [element.words for element in entry.elements[place + 1 :] if element.required]
                found = faults(expected, [*before, extra.words, *after])
                assert [fault for fault in found if fault[0] == extra.element] == [], extra


@NAMED
def test_other_words_are_as_good_or_cost_a_minor_point_as_said(name: str, std: Standard) -> None:
    for entry, expected in judged(name, std):
        for element in entry.elements:
            for way in element.as_good:
                assert of_it(element, entry, expected, way.words) == [], way
            for way in element.understood:
                if way.words is not None:
                    found = of_it(element, entry, expected, way.words)
                    assert found == [(element.element, Verdict.NONSTANDARD, Severity.MINOR)], way


def of_it(
    element: ElementExplained, entry: CallExplained | ReplyExplained, expected: Expected, words: str | None
) -> list[tuple[str, Verdict, Severity]]:
    """The faults of this element where these words stand in its place."""
    if words is None:
        return []
    said = [
        words if each is element else each.words
        for each in entry.elements
        if each.required or each is element
    ]
    return [fault for fault in faults(expected, said) if fault[0] == element.element]


@NAMED
def test_what_must_never_be_said_costs_what_is_said(name: str, std: Standard) -> None:
    call = explain(name, std).call
    if isinstance(call, CallExplained):
        expected = CALLS[call.name].expect(example_context(std, call.name))
        for ban in call.never:
            words = (
                ban.way.words
                or {"clearance": "cleared to land", "runway": "runway one three"}[ban.way.element]
            )
            assert (ban.way.element, Verdict.WRONG, ban.severity) in faults(expected, [call.model, words])


@NAMED
def test_every_rule_is_of_the_standard_and_has_a_source(name: str, std: Standard) -> None:
    for entry, _ in judged(name, std):
        bans = entry.never if isinstance(entry, CallExplained) else ()
        for rule in [element.rule for element in entry.elements] + [ban.rule for ban in bans]:
            assert rule in std.rules.values()
            assert rule.source


@pytest.mark.parametrize("std", STANDARDS.values(), ids=lambda std: std.name)
@pytest.mark.parametrize("reply", REPLIES.values(), ids=lambda reply: reply.name)
def test_what_is_to_be_read_back_is_in_the_answer_and_roger_does_not_do_for_it(
    reply: ReplyKind, std: Standard
) -> None:
    entry = explain_reply(reply, std)
    if isinstance(entry, Lacking):
        return
    context = example_context(std)
    expected = answer_to(example_message(reply.name, std), context)
    roger = assess(expected, "sable two one, roger")
    answer = parse(entry.answer, context.world)
    read_back = [part for part in entry.parts if part.treatment is Treatment.READ_BACK]
    for part in read_back:
        assert any(element.kind.value == part.element for element in answer.elements), part
        assert any(fault.element == part.element for fault in roger.faults), part
    if any(part.treatment is Treatment.NOTHING for part in entry.parts) and not entry.answer_due:
        assert assess(expected, "").score == 100
    only_acknowledged = {part.treatment for part in entry.parts} <= {Treatment.ACKNOWLEDGE, Treatment.NOTHING}
    assert only_acknowledged is False or roger.accepted


def test_the_example_is_of_the_demo_world_and_says_all_that_a_reply_can_carry() -> None:
    for std in STANDARDS.values():
        wording = "wickstone" if std.numbers.pressure == "qnh" else "corbel"
        assert example_context(std).station == f"{wording} tower"
        assert example_context(std, "announce_break").station == f"{wording} traffic"
    words = say_message(example_message("overhead_approved", US), US)
    assert words == (
        "sable two one, runway three one, overhead approved, pattern altitude two thousand seven hundred,"
        " wind three one zero at eight, altimeter two niner niner two, report three mile initial"
    )


# -- names ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["gear_report", "gear report", "Gear-Report", " gear ", "gear"])
def test_names_may_be_short_or_have_spaces_or_hyphens(name: str) -> None:
    assert explain(name, US) == explain("gear_report", US)


def test_every_short_name_is_explained() -> None:
    for short, name in SHORT_NAMES.items():
        assert explain(short, US).call == explain_call(CALLS[name], US)


def test_a_name_that_is_a_call_and_a_reply_gives_both() -> None:
    both = {name for name in {*CALLS, *REPLIES} if explain(name, US).call and explain(name, US).reply}
    assert both == {"straight_through", "stand_by", "say_again", "breakout", "go_around"}


def test_an_unknown_name_is_answered_with_the_nearest_and_the_list() -> None:
    with pytest.raises(PhraseologyError, match=r'did you mean "gear_report".*check_in.*overhead_approved'):
        explain("gear_reprot", US)
    with pytest.raises(PhraseologyError, match=r'no call or reply "zzz"\. The calls are: check_in'):
        explain("zzz", US)


# -- how it reads ---------------------------------------------------------------------------------


def text(name: str, std: str) -> str:
    out = io.StringIO()
    print_explanation(
        explain(name, standard(std)), Console(file=out, width=100, highlight=False, color_system=None)
    )
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()).strip()


GOLDEN = {
    ("gear_report", "us_military_tower"): """
Gear report  (call gear_report, US military tower)
  when   At the perch, before or in the first part of the final turn, with the gear down and
         checked.
  model  "sable two one, gear down, touch and go"

  The elements, in this order:
  may    station    "corbel tower"
                    as good: "tower"
                    wrong: major
                    On first contact say whom you call; afterwards the tower's name may be dropped.
                    (AIM 4-2-3; JO 7110.65 2-4-9)
  must   callsign   "sable two one"
                    missing: critical, wrong: critical
                    Say your own callsign in full, figure by figure; a military callsign is never
                    abbreviated. (JO 7110.65 2-4-9; 2-4-20 from memory)
  may    position   "perch"
                    as good: "base", "closed downwind", "downwind", "final", "final turn", "inside
                    downwind"
                    wrong: major
                    Report from the place where the tower needs it, by its right name. (AIM 5-4-27)
  must   gear       "gear down"
                    as good: "gear in transit"
                    missing: critical, wrong: critical
                    Report the gear on every approach, and only when it is true; in transit is an
                    honest answer. (CNATRA P-806; JO 7110.65 2-1-25)
  may    side       "left"
                    wrong: major
                    Turn, and say that you turn, to the side that was given. (AIM 5-4-27; AIM 4-4-7)
  may    runway     "runway three one"
                    wrong: critical
                    Name the right runway. (AIM 4-4-7)
  must   intention  "touch and go"
                    missing: major, wrong: major
                    Say how you will use the runway; the tower clears what you say. (CNATRA P-806)
  never  clearance  any
                    said: major
                    Never accept a clearance that you were not given, nor one for another aircraft.
                    (NASA CR-177398; AIM 4-4-7)

  Common slips:
  -  the gear left out
  -  the intention left out: the tower can not clear you
  -  said before it is down

Of 100 points a critical fault costs 50, a major one 25, a minor one 5. What has a critical or a
major fault is not accepted.
""",
    ("closed_denied_breakout", "us_military_tower"): """
Closed denied, breakout  (reply closed_denied_breakout, US military tower)
  do       Turn away, climb to the breakout altitude, go to the point named and report it.
  follows  request_closed
  tower    "sable two one, unable closed, breakout, report quarry"
  answer   "sable two one, breaking out, report quarry"

  Of what the tower says:
  hear         closed  "unable closed"
  acknowledge  action  "breakout"
  read back    report  "report quarry"

  The elements of the answer, in any order:
  must  callsign  "sable two one"
                  missing: critical, wrong: critical
                  Say your own callsign in full, figure by figure; a military callsign is never
                  abbreviated. (JO 7110.65 2-4-9; 2-4-20 from memory)
  must  action    "breaking out"
                  as good: "wilco"
                  understood, minor: "affirmative", "roger"
                  missing: minor, wrong: critical
                  Acknowledge with your callsign; wilco means that you will comply.
                  (Pilot/Controller Glossary, from memory)
  must  report    "report quarry"
                  as good: "quarry"
                  missing: major, wrong: major
                  Read back what you are to report, or say wilco to a report in the pattern. (common
                  practice)

  Common slips:
  -  silence
  -  the point forgotten

Of 100 points a critical fault costs 50, a major one 25, a minor one 5. What has a critical or a
major fault is not accepted.
""",
    ("stand_by", "icao"): """
Stand by  (call stand_by, ICAO)
  when   When you need time before you can answer: it is neither yes nor no.
  model  "sable two one, stand by"

  The elements, in this order:
  may    station          "wickstone tower"
                          as good: "tower"
                          wrong: major
                          On first contact say whom you call; afterwards the station may be left
                          out. (Annex 10 vol. II 5.2.1.6, 5.2.1.7 from memory)
  must   callsign         "sable two one"
                          missing: critical, wrong: critical
                          Say your own callsign in full, figure by figure. (Annex 10 vol. II
                          5.2.1.4.1, 5.2.1.7 from memory)
  must   acknowledgement  "stand by"
                          missing: major, wrong: major
                          Use the standard word. (Annex 10 vol. II 5.2.1.5.8, from memory)
  never  clearance        any
                          said: major
                          Never accept a clearance that you were not given. (NASA CR-177398; Annex
                          11 3.7.3)
  never  runway           any but "runway zero eight left"
                          said: critical
                          Name the right runway, with both figures. (PANS-ATM 4.5.7.5; common
                          practice)

  Common slips:
  -  a guess instead

Stand by  (reply stand_by, ICAO)
  do       Wait: it is neither yes nor no.
  follows  check_in, entry_point, request_closed
  tower    "sable two one, stand by"
  answer   none is due

  Of what the tower says:
  hear  acknowledgement  "stand by"

  The elements of an answer, if there is one, in any order:
  must  callsign  "sable two one"
                  missing: critical, wrong: critical
                  Say your own callsign in full, figure by figure. (Annex 10 vol. II 5.2.1.4.1,
                  5.2.1.7 from memory)

  Common slips:
  -  taken for an approval

Of 100 points a critical fault costs 50, a major one 25, a minor one 5. What has a critical or a
major fault is not accepted.
""",
    ("overhead_approved", "uk_military"): """
Overhead approved  (reply overhead_approved, UK military)
  do       Set the altimeter, come to initial at the pattern altitude, report where told.
  follows  check_in
  tower    "sable two one, runway zero eight left, run in and break approved, pattern altitude one
           thousand eight hundred feet, wind zero eight zero degrees eight knots, qnh one zero one
           three, report three mile initials"
  answer   "sable two one, runway zero eight left, one thousand eight hundred feet, qnh one zero one
           three, report three mile initials"

  Of what the tower says:
  read back    runway    "runway zero eight left"
  acknowledge  overhead  "run in and break approved"
  read back    altitude  "pattern altitude one thousand eight hundred feet" (not always said)
  hear         wind      "wind zero eight zero degrees eight knots" (not always said)
  read back    qnh       "qnh one zero one three" (not always said)
  acknowledge  report    "report three mile initials"

  The elements of the answer, in any order:
  must  callsign  "sable two one"
                  missing: critical, wrong: critical
                  Say your own callsign in full, figure by figure. (Annex 10 vol. II 5.2.1.4.1,
                  5.2.1.7 from memory)
  may   overhead  "run in and break approved"
                  as good: "roger", "wilco", "request run in and break", any words for traffic
                  understood, minor: "affirm"
                  wrong: major
                  Acknowledge with your callsign; wilco means that you will comply. (Annex 10 vol.
                  II 5.2.1.5.8, from memory)
  must  runway    "runway zero eight left"
                  missing: major, wrong: critical
                  Read back the runway with the clearance. (PANS-ATM 4.5.7.5)
  must  altitude  "one thousand eight hundred feet"
                  missing: major, wrong: major
                  Read back every level. (PANS-ATM 4.5.7.5)
  must  qnh       "qnh one zero one three"
                  missing: major, wrong: major
                  Read back the altimeter setting. (PANS-ATM 4.5.7.5)
  must  report    "report three mile initials"
                  as good: "three mile initials", "wilco"
                  understood, minor: "report initials", "initials", "affirm", "roger"
                  missing: major, wrong: major
                  Read back what you are to report, or say wilco to a report in the pattern. (common
                  practice)

  Common slips:
  -  the altimeter not read back
  -  roger alone

Of 100 points a critical fault costs 50, a major one 25, a minor one 5. What has a critical or a
major fault is not accepted.
""",
    ("closed", "uk_military"): """
Request for closed  (call request_closed, UK military)
  There is none: the circuit goes on by itself: there is no request for closed (from memory).
""",
}


@pytest.mark.parametrize(("name", "std"), GOLDEN)
def test_what_people_read(name: str, std: str) -> None:
    assert text(name, std) == GOLDEN[name, std].strip()


@NAMED
def test_the_text_names_every_element_every_rule_and_every_slip(name: str, std: Standard) -> None:
    read = " ".join(text(name, std.name).split())
    for entry, _ in judged(name, std):
        assert entry.title in read
        for element in entry.elements:
            assert f'"{element.words}"' in read
            assert str(element.rule) in read
        for slip in entry.slips:
            assert slip in read


@NAMED
def test_the_json_is_plain_and_holds_all(name: str, std: Standard) -> None:
    out = as_json(explain(name, std))
    assert json.loads(json.dumps(out)) == out
    assert list(out) == ["standard", "call", "reply"]
    for entry, _ in judged(name, std):
        part = out["call" if isinstance(entry, CallExplained) else "reply"]
        assert [each["words"] for each in part["elements"]] == [each.words for each in entry.elements]
        assert part["slips"] == list(entry.slips)


# -- the command ----------------------------------------------------------------------------------


def run(*arguments: str) -> int:
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    assert isinstance(end.value.code, int)
    return end.value.code


def test_the_command_takes_a_name_in_several_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("explain", "closed", "denied", "breakout", "--standard", "us_civil_tower") == 0
    assert "unable closed traffic, breakout, report quarry" in " ".join(capsys.readouterr().out.split())


def test_the_command_gives_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("explain", "closed", "--standard", "uk_military", "--json") == 0
    out = json.loads(capsys.readouterr().out)
    assert out["call"]["lacking"] == standard("uk_military").without_calls["request_closed"]
    assert out["reply"] is None


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("explain", "gear", "repot"), 'did you mean "gear_report"'),
        (("explain",), "gear report"),
        (("explain", "gear", "--standard", "french"), "us_military_tower, us_civil_tower"),
        (
            ("assess", "--standard", "uk_military", "--call", "request_closed", "--said", "x"),
            "no request for closed",
        ),
        (("assess", "--standard", "french", "--call", "initial", "--said", "x"), "us_military_tower"),
    ],
)
def test_bad_usage_is_one_sentence_and_status_2(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], says: str
) -> None:
    assert run(*arguments) == 2
    lines = capsys.readouterr().err.strip().splitlines()
    assert len(lines) == 1
    assert lines[0].startswith("patternvoice: ")
    assert says in lines[0]


def test_the_standard_of_assess_goes_before_that_of_the_field(capsys: pytest.CaptureFixture[str]) -> None:
    gear = ("assess", "--call", "gear_report", "--intention", "touch_and_go")
    assert run(*gear, "--said", "sable two one, gear down, roller", "--standard", "uk_military") == 0
    assert "Gear report: accepted, 100 of 100" in capsys.readouterr().out
    run(*gear, "--said", "sable two one, gear down, roller")
    assert "Gear report: accepted, 95 of 100" in capsys.readouterr().out
