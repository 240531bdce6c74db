"""Respelling for the espeak voices: the few words of the trade that they say wrongly.

Each entry was found by listing the phonemes of the trade's words; everything else (callsigns,
points, "niner", "wind", "read back") comes out right as it stands.
"""

import re

RESPELLED = {
    "altimeter": "al-timmiter",
    "atis": "aitiss",
    "quebec": "kebeck",
    "qnh": "q n h",
}
_WORD = re.compile(r"[a-z']+")


def respelled(text: str) -> str:
    """`text` (words in lower case, commas between clauses) with those words respelled.

    Commas stay: they are the pauses. Capitals become small letters, so that no word is spelled out.
    """
    return _WORD.sub(lambda match: RESPELLED.get(match[0], match[0]), text.lower())
