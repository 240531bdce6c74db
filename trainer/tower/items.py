"""How much is in a message: what may be said and need not be, added or left out.

Only what changes nothing that the aircraft does: wind, altimeter setting, pattern altitude, side.
"""

from dataclasses import replace

from phraseology.elements import Kind
from phraseology.replies import REPLIES, Message
from trainer.tower.picture import Picture

_MAY_GO = frozenset({Kind.WIND})
"""What is left out of a message that would be too long for a beginner."""


def with_items(message: Message, items: int, picture: Picture) -> Message:
    """The message with about so many elements; those that the decision needs all stay."""
    if message.kind not in REPLIES or message.has(Kind.QUERY):
        return message
    said = dict(message.elements)
    spare = _spare(message, picture)
    parts = REPLIES[message.kind].parts
    for part in parts:
        if part.optional and part.kind not in said and part.kind in spare and len(said) < items:
            said[part.kind] = spare[part.kind]
    for part in parts:
        if part.optional and part.kind in _MAY_GO and part.kind in said and len(said) > items:
            del said[part.kind]
    order = [part.kind for part in parts if part.kind in said]
    return replace(message, elements=tuple((kind, said[kind]) for kind in order))


def _spare(message: Message, picture: Picture) -> dict[Kind, str]:
    found = {
        Kind.SIDE: picture.field.runway(picture.runway).break_side,
        Kind.WIND: picture.wind,
        **picture.pressure,
    }
    if message.kind == "overhead_approved":
        found[Kind.ALTITUDE] = str(picture.field.overhead_altitude_ft)
    return found if message.kind != "heading" else {}
