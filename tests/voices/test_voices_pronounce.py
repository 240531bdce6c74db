"""How the trade says it, checked against the phonemes that the voice library makes of the words.

What must come out: figures and letters, ICAO Annex 10 vol. II 5.2.1.3 and 5.2.1.4.3.1 (the tables that AIM 4-2-7 and
4-2-8 print too), from memory; other words, common practice.
"""

import ctypes
import sys

import pytest

from voices.pronounce import (
    DIGITS,
    LETTERS,
    PAUSE,
    RESPELLED,
    RESPELLED_ICAO,
    Manner,
    engine_text,
    read_out,
    respelled,
)

CALL = "sable two one, runway three one, wind calm, cleared touch and go"


def test_a_call_passes_unchanged_with_its_pauses() -> None:
    assert read_out(CALL) == CALL
    assert respelled(CALL) == CALL


def test_capitals_are_words_not_letters() -> None:
    assert respelled("SABLE two one") == "sable two one"


def test_only_whole_words_are_respelled() -> None:
    assert respelled("altimeter two niner, altimeters") == "al-timmiter two niner, altimeters"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("SABLE 21", "sable two one"),
        ("runway 31L, HERON 09", "runway three one left, heron zero niner"),
        ("altimeter 29.92, wind 310/12", "altimeter two niner niner two, wind three one zero at one two"),
        ("climb 2,700 feet, 10,000", "climb two thousand seven hundred feet, one zero thousand"),
        ("contact 118.1.", "contact one one eight point one."),
        ("information A, point B, a go around", "information alfa, point bravo, a go around"),
        ("nine miles, ninety to initial", "niner miles, ninety to initial"),
    ],
)
def test_what_is_typed_is_read_as_it_is_said(typed: str, said: str) -> None:
    assert read_out(typed) == said
    assert read_out(said) == said


def test_the_point_and_the_wind_follow_the_standard() -> None:
    assert read_out("118.1, 310/12", Manner.ICAO) == (
        "one one eight decimal one, three one zero degrees one two knots"
    )


def test_figures_are_set_apart_by_small_pauses() -> None:
    parted = engine_text("sable two one cleared to land, niner miles, runway three one", "espeak")
    assert parted == f"sable {PAUSE}two one {PAUSE} cleared to land, niner miles, runway {PAUSE}three one"
    assert PAUSE not in engine_text("sable two one cleared to land", "piper")
    assert engine_text("altimeter", "sapi5") == "altimeter"


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


FIGURES = dict(zip(DIGITS, ("zˈiəɹoʊ", "wˌʌn", "tˈuː", "θɹˈiː", "fˈɔːɹ", "fˈaɪv", "sˈɪks", "sˈɛvən",
                            "ˈeɪt", "nˈaɪnɚ"), strict=True))  # fmt: skip
ICAO_FIGURES = FIGURES | {"three": "tɹˈiː", "four": "fˈaʊɚ", "five": "fˈaɪf"}


@pytest.mark.parametrize("manner", Manner)
def test_the_figures_sound_as_the_standard_has_them(espeak: ctypes.CDLL, manner: Manner) -> None:
    """wun, too, six, seven, ait, nin-er in both; tree, fow-er, fife where ICAO's words are used."""
    wanted = FIGURES if manner is Manner.US else ICAO_FIGURES
    assert {word: phonemes(espeak, respelled(word, manner)) for word in DIGITS} == wanted


@pytest.mark.parametrize(
    ("word", "sound"),
    [("thousand", "tˈaʊsænd"), ("decimal", "deɪsˈiːməl"), ("affirm", "ˈeɪfɜːm"), ("hundred", "hˈʌndɹɪd")],
)
def test_the_other_words_of_icaos_table(espeak: ctypes.CDLL, word: str, sound: str) -> None:
    assert phonemes(espeak, respelled(word, Manner.ICAO)) == sound


@pytest.mark.parametrize("voice", ["en-us", "en-gb-x-rp", "en-029"])
def test_a_typed_number_is_spoken_figure_by_figure(espeak: ctypes.CDLL, voice: str) -> None:
    """Not "twenty-one", not "nine"; the pauses do not change a sound."""
    words = engine_text(read_out("SABLE 29 closed"), "espeak")
    figures = [phonemes(espeak, word, voice) for word in ("two", "niner")]
    assert figures[1] not in phonemes(espeak, "29", voice)
    assert PAUSE in words
    assert " ".join(figures) in phonemes(espeak, words, voice)
    assert phonemes(espeak, words, voice) == phonemes(espeak, words.replace(PAUSE, ""), voice)


LETTER_SOUNDS = {
    "alfa": "ˈælfə", "bravo": "bɹˈɑːvoʊ", "charlie": "tʃˈɑːɹli", "delta": "dˈɛltə", "echo": "ˈɛkoʊ",
    "foxtrot": "fˈɑːkstɹɑːt", "golf": "ɡˈɑːlf", "hotel": "hoʊtˈɛl", "india": "ˈɪndiə", "juliett": "dʒˌuːlɪˈɛt",
    "kilo": "kˈiːloʊ", "lima": "lˈiːmɐ", "mike": "mˈaɪk", "november": "noʊvˈɛmbɚ", "oscar": "ˈɑːskɚ",
    "papa": "pˈɑːpˈɑː", "quebec": "kˈɛbɛk", "romeo": "ɹˈoʊmɪˌoʊ", "sierra": "siːˈɛɹə", "tango": "tˈæŋɡoʊ",
    "uniform": "jˈuːnɪfˌɔːɹm", "victor": "vˈɪktɚ", "whiskey": "wˈɪski", "x-ray": "ˈɛksɹˈeɪ", "yankee": "jˈæŋkiː",
    "zulu": "zˈuːluː",
}  # fmt: skip


def test_the_letters_sound_as_the_trade_says_them(espeak: ctypes.CDLL) -> None:
    """PAH-PAH and KEH-BECK above all, which espeak says like the father and the province."""
    assert list(LETTERS.values()) == list(LETTER_SOUNDS)
    assert {name: phonemes(espeak, respelled(name)) for name in LETTER_SOUNDS} == LETTER_SOUNDS


@pytest.mark.parametrize(
    ("word", "sound"),
    [
        ("altimeter", "ˈæltˈɪmɪɾɚ"),
        ("atis", "ˈeɪɾɪs"),
        ("qnh", "kjˈuː ˈɛn ˈeɪtʃ"),
        ("qfe", "kjˈuː ˈɛf ˈiː"),
        ("ils", "ˈaɪ ˈɛl ˈɛs"),
        ("ifr", "ˈaɪ ˈɛf ˈɑːɹ"),
        ("uhf", "jˈuː ˈeɪtʃ ˈɛf"),
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


@pytest.mark.parametrize("word", [*RESPELLED, *RESPELLED_ICAO])
def test_every_respelling_is_needed(espeak: ctypes.CDLL, word: str) -> None:
    assert phonemes(espeak, word) != phonemes(espeak, respelled(word, Manner.ICAO))


def test_commas_part_the_clauses(espeak: ctypes.CDLL) -> None:
    assert phonemes(espeak, respelled(CALL)).count(" | ") == CALL.count(",")
