"""What differs from one country or service to the next, as data: `Standard` and the standards there are.

A field file names its standard. Nothing else in the language core knows which one is in force.
"""

from phraseology.errors import PhraseologyError
from phraseology.standards.icao import ICAO
from phraseology.standards.standard import Rule, Standard
from phraseology.standards.uk_military import UK_MILITARY
from phraseology.standards.us_civil_tower import US_CIVIL_TOWER
from phraseology.standards.us_military_tower import US_MILITARY_TOWER

STANDARDS: dict[str, Standard] = {
    each.name: each for each in (US_MILITARY_TOWER, US_CIVIL_TOWER, ICAO, UK_MILITARY)
}

__all__ = ["STANDARDS", "Rule", "Standard", "standard"]


def standard(name: str) -> Standard:
    """The standard of that name; raises PhraseologyError listing the choices."""
    try:
        return STANDARDS[name]
    except KeyError:
        raise PhraseologyError(f'no standard "{name}"; there is: {", ".join(STANDARDS)}') from None
