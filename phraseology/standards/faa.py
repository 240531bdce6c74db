"""The FAA's rules and words, which both US standards share.

Paragraphs are of FAA JO 7110.65 (edition BB of 2025), the AIM, and CNATRA P-806 unless said.
"""

from phraseology.elements import Kind
from phraseology.figures import NumberStyle
from phraseology.standards.standard import Rule

FAA_NUMBERS = NumberStyle()

FAA_RULES = {
    "whom": Rule(
        "On first contact say whom you call; afterwards the tower's name may be dropped.",
        "AIM 4-2-3; JO 7110.65 2-4-9",
    ),
    "whom_traffic": Rule(
        "At a field without a tower call the field's traffic, and say its name again at the end.",
        "AIM 4-1-9",
    ),
    "callsign": Rule(
        "Say your own callsign in full, figure by figure; a military callsign is never abbreviated.",
        "JO 7110.65 2-4-9; 2-4-20 from memory",
    ),
    "flight": Rule(
        "A formation says that it is one, and of how many: the leader talks for the flight.",
        "common practice",
    ),
    "order": Rule("Say whom, who, where, what, in this order.", "AIM 4-2-3; FAA P-8740-47"),
    "where": Rule("Say where you are: miles and direction, or a named point.", "AIM 4-2-3"),
    "altitude": Rule("Say your altitude in thousands and hundreds of feet.", "AIM 4-2-9, P-8740-47"),
    "atis": Rule("Say the letter of the information that you have.", "JO 7110.65 3-10-1"),
    "request": Rule("Say what you want.", "AIM 4-2-3"),
    "intention": Rule("Say how you will use the runway; the tower clears what you say.", "CNATRA P-806"),
    "position": Rule("Report from the place where the tower needs it, by its right name.", "AIM 5-4-27"),
    "initial_distance": Rule("Report initial at the distance that was asked.", "AIM 5-4-27"),
    "timing": Rule(
        "Make the call where it is needed, neither before nor after.", "AIM 4-2-3; common practice"
    ),
    "listen_first": Rule("Listen before you transmit; never talk over another station.", "AIM 4-2-2"),
    "gear": Rule(
        "Report the gear on every approach, and only when it is true; in transit is an honest answer.",
        "CNATRA P-806; JO 7110.65 2-1-25",
    ),
    "gear_false": Rule("Never report the gear down when it can not be.", "CNATRA P-806"),
    "runway": Rule("Name the right runway.", "AIM 4-4-7"),
    "side": Rule("Turn, and say that you turn, to the side that was given.", "AIM 5-4-27; AIM 4-4-7"),
    "closed": Rule("Ask for closed on the go, in these words.", "JO 7110.65 3-10-11"),
    "point": Rule("Name the right point.", "AIM 5-4-27; common practice"),
    "action": Rule("Say at once what you are doing.", "Pilot/Controller Glossary, from memory"),
    "traffic": Rule(
        "Say whether you have the traffic in sight, and never that you have when you have not.",
        "Pilot/Controller Glossary, from memory",
    ),
    "emergency": Rule(
        "Declare it: mayday for distress, pan-pan for urgency, three times, or in plain words.",
        "AIM 6-3-1, from memory",
    ),
    "nature": Rule("Say what is wrong, then what you intend.", "AIM 6-3-2, from memory"),
    "fuel": Rule(
        "Say fuel in minutes; minimum fuel tells that no undue delay can be accepted, it gives no priority.",
        "Pilot/Controller Glossary, from memory",
    ),
    "souls": Rule("Say how many are on board when asked.", "AIM 6-3-2, from memory"),
    "readback_runway": Rule("Read back the runway with the landing clearance.", "AIM 4-4-7"),
    "readback_clearance": Rule(
        "Read back the clearance that you were given and no other; roger alone is not a read-back.",
        "AIM 4-4-7; ICAO Annex 11 3.7.3",
    ),
    "readback_condition": Rule(
        "Read back the condition with the clearance: without it, it is another clearance.",
        "ICAO PANS-ATM 4.5.7.5, from memory",
    ),
    "readback_altitude": Rule("Read back every altitude.", "AIM 4-4-7"),
    "readback_altimeter": Rule("Read back the altimeter setting.", "ICAO PANS-ATM 4.5.7.5; common practice"),
    "readback_heading": Rule("Read back headings and speeds.", "AIM 4-4-7; ICAO PANS-ATM 4.5.7.5"),
    "readback_frequency": Rule("Read back the frequency before you change to it.", "common practice"),
    "readback_report": Rule(
        "Read back what you are to report, or say wilco to a report in the pattern.", "common practice"
    ),
    "readback_hold": Rule(
        "Read back the point that you are to hold at.", "ICAO PANS-ATM 4.5.7.5; common practice"
    ),
    "acknowledge": Rule(
        "Acknowledge with your callsign; wilco means that you will comply.",
        "Pilot/Controller Glossary, from memory",
    ),
    "answer": Rule("Answer the question that the tower asked.", "AIM 4-2-3"),
    "not_given": Rule(
        "Never accept a clearance that you were not given, nor one for another aircraft.",
        "NASA CR-177398; AIM 4-4-7",
    ),
    "wrong_runway": Rule(
        "Challenge a clearance for a runway that is not yours: confirm, do not read it back.",
        "AIM 4-4-7; NASA CR-177398",
    ),
    "not_for_you": Rule("Keep silent when the tower speaks to another callsign.", "AIM 4-2-2"),
    "brevity": Rule("Leave out words that the call does not need.", "AIM 4-2-1"),
    "hesitation": Rule("Think before you key: no hesitation sounds.", "AIM 4-2-2; ICAO Doc 9432"),
    "words": Rule("Use the standard word.", "Pilot/Controller Glossary, from memory"),
}

FAA_CONTROLLER_WORDS = {
    (Kind.ACTION, "going_around"): "go around",
    (Kind.ACTION, "breaking_out"): "breakout",
    (Kind.ACTION, "climbing_out"): "climb out",
    (Kind.ACTION, "straight_through"): "carry straight through",
    (Kind.ACTION, "extend_downwind"): "extend downwind",
    (Kind.ACTION, "extend_upwind"): "extend upwind",
    (Kind.ACTION, "turn_base"): "turn base",
    (Kind.ACTION, "continue"): "continue",
    (Kind.ACTION, "short_approach"): "make short approach",
    (Kind.ACTION, "make_straight_in"): "make straight in",
    (Kind.ACTION, "remain_outside"): "remain outside",
    (Kind.ACTION, "remain_clear"): "remain clear",
}
"""Instructions, where the pilot answers with what he is doing."""
