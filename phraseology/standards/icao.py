"""The ICAO standard: Annex 10 vol. II, PANS-ATM (Doc 4444) chapter 12, Doc 9432.

ICAO has no overhead pattern; a field that flies one under ICAO wording borrows the words of the
pattern (common practice), and everything else is ICAO's.
"""

from phraseology.elements import Kind
from phraseology.figures import NumberStyle
from phraseology.standards.faa import FAA_CONTROLLER_WORDS, FAA_RULES
from phraseology.standards.standard import Rule, Standard

ICAO_NUMBERS = NumberStyle(
    runway_leading_zero=True,
    point_word="decimal",
    pressure="qnh",
    wind_form="degrees",
    frequency_in_full=True,
    feet_said=True,
)

ICAO_RULES = FAA_RULES | {
    "whom": Rule(
        "On first contact say whom you call; afterwards the station may be left out.",
        "Annex 10 vol. II 5.2.1.6, 5.2.1.7 from memory",
    ),
    "whom_traffic": Rule(
        "At a field without a tower address its traffic.", "Doc 9432, from memory; common practice"
    ),
    "callsign": Rule(
        "Say your own callsign in full, figure by figure.", "Annex 10 vol. II 5.2.1.4.1, 5.2.1.7 from memory"
    ),
    "order": Rule("Say the addressee, the originator, the text.", "Annex 10 vol. II 5.2.1.6"),
    "where": Rule("Say where you are.", "Doc 9432, from memory"),
    "altitude": Rule(
        "Say your altitude in whole thousands and hundreds, other numbers digit by digit.",
        "Annex 10 vol. II 5.2.1.4.1",
    ),
    "atis": Rule("Acknowledge the ATIS broadcast by its letter.", "PANS-ATM 4.5.7.5, from memory"),
    "request": Rule("Say what you want.", "Annex 10 vol. II 5.2.1.6"),
    "intention": Rule("Say how you will use the runway.", "Doc 9432, from memory"),
    "position": Rule("Report from the place where the tower needs it.", "Doc 9432, from memory"),
    "initial_distance": Rule("Report initial at the distance that was asked.", "common practice"),
    "timing": Rule("Make the call where it is needed.", "common practice"),
    "listen_first": Rule("Listen before you transmit.", "Annex 10 vol. II 5.2.1.5, from memory; Doc 9432"),
    "runway": Rule("Name the right runway, with both figures.", "PANS-ATM 4.5.7.5; common practice"),
    "side": Rule("Turn to the side that was given.", "PANS-ATM 12, from memory"),
    "closed": Rule("Ask to stay in the pattern in these words.", "common practice"),
    "point": Rule("Name the right point.", "common practice"),
    "action": Rule("Say at once what you are doing.", "PANS-ATM 12, from memory"),
    "traffic": Rule("Say whether you have the traffic in sight.", "PANS-ATM 12, from memory"),
    "emergency": Rule(
        "Mayday three times for distress, pan pan three times for urgency.",
        "Annex 10 vol. II 5.3, from memory",
    ),
    "nature": Rule("Say what is wrong, then what you intend.", "Annex 10 vol. II 5.3, from memory"),
    "fuel": Rule("Minimum fuel tells that no further delay can be accepted.", "PANS-ATM 15.5, from memory"),
    "souls": Rule("Say how many persons are on board when asked.", "PANS-ATM, from memory"),
    "readback_runway": Rule("Read back the runway with the clearance.", "PANS-ATM 4.5.7.5"),
    "readback_clearance": Rule(
        "Read back the clearance that you were given; roger alone is not a read-back.",
        "PANS-ATM 4.5.7.5; Annex 11 3.7.3",
    ),
    "readback_altitude": Rule("Read back every level.", "PANS-ATM 4.5.7.5"),
    "readback_altimeter": Rule("Read back the altimeter setting.", "PANS-ATM 4.5.7.5"),
    "readback_heading": Rule("Read back headings and speeds.", "PANS-ATM 4.5.7.5; Annex 11 3.7.3"),
    "acknowledge": Rule(
        "Acknowledge with your callsign; wilco means that you will comply.",
        "Annex 10 vol. II 5.2.1.5.8, from memory",
    ),
    "answer": Rule("Answer the question that was asked.", "Doc 9432, from memory"),
    "wrong_runway": Rule("Challenge a clearance for a runway that is not yours.", "NASA CR-177398"),
    "not_given": Rule("Never accept a clearance that you were not given.", "NASA CR-177398; Annex 11 3.7.3"),
    "not_for_you": Rule(
        "Keep silent when another station is called.", "Annex 10 vol. II 5.2.1.5, from memory"
    ),
    "brevity": Rule("Be brief: standard phrases, nothing else.", "Doc 9432, from memory"),
    "hesitation": Rule("No hesitation sounds.", "Doc 9432"),
    "words": Rule("Use the standard word.", "Annex 10 vol. II 5.2.1.5.8, from memory"),
}

ICAO_WORDS = {
    (Kind.ACK, "affirmative"): ("affirm",),
    (Kind.QUERY, "verify"): ("confirm", "verify"),
    (Kind.ACTION, "clear_of_runway"): ("runway vacated", "vacated", "vacated the runway"),
    (Kind.READABILITY, "5"): (),
    (Kind.READABILITY, "3"): (),
    (Kind.READABILITY, "1"): (),
    (Kind.ACTION, "three_sixty"): ("orbit", "orbiting", "three sixty", "make three sixty"),
}
"""No words for readability: it is said by its figure (Annex 10 vol. II 5.2.1.8.4, from memory)."""

ICAO = Standard(
    name="icao",
    title="ICAO",
    rules=ICAO_RULES,
    numbers=ICAO_NUMBERS,
    words=ICAO_WORDS,
    controller_words=FAA_CONTROLLER_WORDS,
    says_again="negative, i say again",
    names_field_at_end=False,
    without_replies={"altimeter": "altimeter settings are QNH, in hectopascals (Annex 3; PANS-ATM 12)"},
)
