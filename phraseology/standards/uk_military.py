"""The UK military standard: ICAO's numbers, and the words of the military circuit.

All of it from memory of the published radiotelephony manual and of common practice; a unit's own
orders come first.
"""

from dataclasses import replace

from phraseology.elements import Kind
from phraseology.standards.faa import FAA_CONTROLLER_WORDS
from phraseology.standards.icao import ICAO_NUMBERS, ICAO_RULES, ICAO_WORDS
from phraseology.standards.standard import Rule, Standard

_NO_CLOSED = "the circuit goes on by itself: there is no request for closed (from memory)"

UK_MILITARY = Standard(
    name="uk_military",
    title="UK military",
    rules=ICAO_RULES
    | {
        "gear": Rule(
            "Report the gear with finals on every approach, and only when it is true.", "from memory"
        ),
        "gear_false": Rule("Never report the gear down when it can not be.", "common practice"),
        "request": Rule("Ask for a run in and break.", "from memory"),
        "position": Rule("Report initials, break, downwind and finals by these names.", "from memory"),
        "intention": Rule("Say how you will use the runway.", "from memory"),
    },
    numbers=replace(ICAO_NUMBERS, round_numbers=True, hectopascals_below_1000=True),
    words=ICAO_WORDS
    | {
        (Kind.POSITION, "initial"): ("initials", "initial"),
        (Kind.POSITION, "break"): ("on the break", "in the break", "break", "left break", "right break"),
        (Kind.POSITION, "final"): ("finals", "on finals", "final", "on final", "long final", "short final"),
        (Kind.REQUEST, "overhead"): ("request run in and break", "for run in and break", "run in and break"),
        (Kind.OVERHEAD, "approved"): ("run in and break approved",),
        (Kind.OVERHEAD, "denied"): ("unable run in and break",),
        (Kind.INTENTION, "touch_and_go"): ("roller", "touch and go"),
        (Kind.CLEARANCE, "touch_and_go"): ("cleared touch and go", "cleared roller"),
        (Kind.ACTION, "going_around"): ("going around", "go around", "overshooting", "overshoot"),
        (Kind.GEAR, "down"): ("gear down", "three greens", "gear down and locked", "three down and locked"),
    },
    controller_words=FAA_CONTROLLER_WORDS,
    says_again="negative, i say again",
    names_field_at_end=False,
    without_calls={
        "request_closed": _NO_CLOSED,
        "closed_downwind": _NO_CLOSED,
        "ninety_to_initial": "joins are reported at initials (from memory)",
        "forty_five_to_initial": "joins are reported at initials (from memory)",
    },
    without_replies={
        "altimeter": "altimeter settings are QNH or QFE, in hectopascals (from memory)",
        "closed_approved": _NO_CLOSED,
        "closed_approved_when": _NO_CLOSED,
        "closed_denied_breakout": _NO_CLOSED,
        "closed_denied_climb_out": _NO_CLOSED,
        "closed_denied_outside": _NO_CLOSED,
    },
)
