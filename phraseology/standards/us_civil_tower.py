"""The US civil tower standard: FAA wording at a civil field that has an overhead pattern.

The overhead manoeuvre is civil wording too (AIM 5-4-27); closed is "closed traffic" (JO 7110.65 3-10-11).
"""

from phraseology.elements import Kind, Severity
from phraseology.standards.faa import FAA_CONTROLLER_WORDS, FAA_NUMBERS, FAA_RULES
from phraseology.standards.standard import Rule, Standard

US_CIVIL_TOWER = Standard(
    name="us_civil_tower",
    title="US civil tower",
    rules=FAA_RULES
    | {
        "gear": Rule(
            "A civil tower does not wait for a gear report; what is reported must be true.",
            "JO 7110.65 2-1-25, from memory",
        )
    },
    numbers=FAA_NUMBERS,
    words={
        (Kind.CLOSED, "requested"): ("request closed traffic", "request closed"),
        (Kind.CLOSED, "approved"): (
            "closed traffic approved",
            "closed approved",
            "closed traffic is approved",
        ),
        (Kind.CLOSED, "denied"): ("unable closed traffic", "unable closed", "negative closed traffic"),
    },
    controller_words=FAA_CONTROLLER_WORDS,
    says_again="negative",
    missing={"gear": Severity.NONE},
    without_replies={
        "qnh": "US altimeter settings are in inches (JO 7110.65 2-7-1, from memory)",
        "check_wheels_down": "the reminder is for military aircraft (JO 7110.65 2-1-25, from memory)",
        "confirm_gear": "no gear report is waited for (JO 7110.65 2-1-25, from memory)",
    },
)
