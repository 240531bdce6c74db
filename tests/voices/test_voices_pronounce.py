"""Respelling, checked against the phonemes that the voice library makes of the words."""

import ctypes
import sys

import pytest

from voices.pronounce import RESPELLED, respelled

CALL = "sable two one, runway three one, wind calm, cleared touch and go"


def test_a_call_passes_unchanged_with_its_pauses() -> None:
    assert respelled(CALL) == CALL


def test_capitals_are_words_not_letters() -> None:
    assert respelled("SABLE two one") == "sable two one"


def test_only_whole_words_are_respelled() -> None:
    assert respelled("altimeter two niner, altimeters") == "al-timmiter two niner, altimeters"


@pytest.fixture(scope="module")
def espeak() -> ctypes.CDLL:
    if sys.platform != "linux":
        pytest.skip("the espeak library is used on Linux only")
    import espeakng_loader

    library = ctypes.CDLL(espeakng_loader.get_library_path())
    assert library.espeak_Initialize(2, 0, espeakng_loader.get_data_path().encode(), 0x8000) > 0
    library.espeak_TextToPhonemes.restype = ctypes.c_char_p
    return library


def phonemes(library: ctypes.CDLL, text: str, voice: str = "en-us") -> str:
    """International phonetic alphabet, without stress marks' spaces; clauses joined by ` | `."""
    assert library.espeak_SetVoiceByName(voice.encode()) == 0
    rest, clauses = ctypes.c_char_p(text.encode()), []
    while rest.value:
        clauses.append(library.espeak_TextToPhonemes(ctypes.byref(rest), 1, 2).decode().strip())
    return " | ".join(clauses)


@pytest.mark.parametrize(
    ("word", "sound"),
    [
        ("altimeter", "ˈæltˈɪmɪɾɚ"),
        ("atis", "ˈeɪɾɪs"),
        ("quebec", "kˈɛbɛk"),
        ("qnh", "kjˈuː ˈɛn ˈeɪtʃ"),
        ("niner", "nˈaɪnɚ"),
        ("wind", "wˈɪnd"),
        ("closed", "klˈoʊzd"),
        ("read back", "ɹˈiːd bˈæk"),
        ("corbel", "kˈɔːɹbəl"),
        ("wickstone", "wˈɪkstoʊn"),
        ("sable", "sˈeɪbəl"),
        ("heron", "hˈɛɹən"),
        ("topaz", "tˈoʊpæz"),
        ("adze", "ˈædz"),
        ("quarry", "kwˈɔːɹi"),
        ("silo", "sˈaɪloʊ"),
        ("weir", "wˈɪɹ"),
    ],
)
def test_the_trades_words_sound_as_the_trade_says_them(espeak: ctypes.CDLL, word: str, sound: str) -> None:
    assert phonemes(espeak, respelled(word)) == sound


@pytest.mark.parametrize("word", RESPELLED)
def test_every_respelling_is_needed(espeak: ctypes.CDLL, word: str) -> None:
    assert phonemes(espeak, word) != phonemes(espeak, respelled(word))


def test_commas_part_the_clauses(espeak: ctypes.CDLL) -> None:
    assert phonemes(espeak, respelled(CALL)).count(" | ") == CALL.count(",")
