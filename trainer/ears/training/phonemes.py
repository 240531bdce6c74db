"""Texts as phonemes in misaki's alphabet, for Kokoro. Words that it would say otherwise than our lexicon are spelled
out from the lexicon, so that the sound is what the label says."""

from collections.abc import Callable
from functools import cache

from rapidfuzz.distance import Levenshtein

from trainer.ears.training.errors import needs
from trainer.ears.training.lexicon import NOISE, Lexicon

_VOWELS = {
    "AA": "ɑ", "AE": "æ", "AH": "ʌ", "AO": "ɔ", "AW": "W", "AY": "I", "EH": "ɛ", "ER": "ɜɹ",
    "EY": "A", "IH": "ɪ", "IY": "i", "OW": "O", "OY": "Y", "UH": "ʊ", "UW": "u",
}  # fmt: skip
_CONSONANTS = {
    "B": "b", "CH": "ʧ", "D": "d", "DH": "ð", "F": "f", "G": "ɡ", "HH": "h", "JH": "ʤ", "K": "k", "L": "l",
    "M": "m", "N": "n", "NG": "ŋ", "P": "p", "R": "ɹ", "S": "s", "SH": "ʃ", "T": "t", "TH": "θ", "V": "v",
    "W": "w", "Y": "j", "Z": "z", "ZH": "ʒ",
}  # fmt: skip
_ALIKE = str.maketrans({"ə": "ʌ", "ᵊ": "ʌ", "ɐ": "ʌ", "ɜ": "ʌ", "ᵻ": "ɪ", "a": "æ", "ɒ": "ɑ", "ɔ": "ɑ", "Q": "O",
                        "ɾ": "t", "T": "t", "ɹ": None, "ː": None, "ˈ": None, "ˌ": None, "i": "ɪ"})  # fmt: skip
_TOO_FAR = 0.4
"""Share of phonemes that may differ: accents do, in about a fifth."""


def _spelled(phones: tuple[str, ...]) -> str:
    """The first vowel is stressed: right for most words of the trade."""
    signs, stressed = "", False
    for phone in phones:
        if phone in _VOWELS:
            signs += ("" if stressed else "ˈ") + _VOWELS[phone]
            stressed = True
        else:
            signs += _CONSONANTS[phone]
    return signs


def common_words() -> frozenset[str]:
    """Plain words of English that the rules know by heart; needs the package hibari-tts."""
    try:
        from hibari.g2p import G2P
    except ImportError:
        raise needs("hibari-tts") from None
    return frozenset(word for word in G2P().lexicon.golds.d if word.isascii() and word.islower())


def phonemizer(lexicon: Lexicon) -> Callable[[str, str], str]:
    """A function of a text and a voice ("bm_daniel": British); needs the package hibari-tts for its rules."""
    try:
        from hibari.g2p import G2P
    except ImportError:
        raise needs("hibari-tts") from None
    speakers = {british: G2P(british=british) for british in (False, True)}

    @cache
    def own_way(word: str, british: bool) -> str | None:
        """The lexicon's phonemes where the rules' are too far from all of its ways."""
        ways = [_spelled(way) for way in lexicon.ways.get(word, ()) if NOISE not in way]
        if not ways:
            return None
        said = str(speakers[british](word)).translate(_ALIKE)
        far = min(Levenshtein.normalized_distance(said, way.translate(_ALIKE)) for way in ways)
        return ways[0] if far > _TOO_FAR else None

    def phonemes(text: str, voice: str) -> str:
        british = voice.startswith("b")
        parts = []
        for clause in text.split(" , "):
            run: list[str] = []
            said: list[str] = []
            for word in clause.split():
                spelled = own_way(word, british)
                if spelled is None:
                    run.append(word)
                    continue
                if run:
                    said.append(speakers[british](" ".join(run)))
                    run = []
                said.append(spelled)
            if run:
                said.append(speakers[british](" ".join(run)))
            parts.append(" ".join(said))
        return ", ".join(parts)

    return phonemes
