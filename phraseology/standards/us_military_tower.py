"""The US military tower standard: FAA wording with the military additions."""

from phraseology.standards.faa import FAA_CONTROLLER_WORDS, FAA_NUMBERS, FAA_RULES
from phraseology.standards.standard import Standard

US_MILITARY_TOWER = Standard(
    name="us_military_tower",
    title="US military tower",
    rules=FAA_RULES,
    numbers=FAA_NUMBERS,
    words={},
    controller_words=FAA_CONTROLLER_WORDS,
    says_again="negative",
    without_replies={"qnh": "US altimeter settings are in inches (JO 7110.65 2-7-1, from memory)"},
)
