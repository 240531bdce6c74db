"""What the graph writer needs of a model directory of our own: phones, transitions, lexicon, words."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from trainer.ears.errors import ModelError
from trainer.ears.transition_model import TransitionModel, read_transition_model

SILENCE = "SIL"
BACKGROUND = "[unk]"
"""The word for sound that is no word of ours."""

Pronunciation = tuple[str, ...]

_REMEDY = "put the model's original files back, or choose another model"


@dataclass(frozen=True)
class Acoustic:
    """A model directory as the graph writer sees it.

    `lexicon` has every word, `BACKGROUND` too, with its pronunciations; `words` are in the order of
    their numbers, `<eps>` first, those that the network was not trained on last; `phone_numbers` has
    silence and noises under their plain names and each speech phone four times, by its place in the
    word: `_B`egin, `_I`nside, `_E`nd, `_S`ingle. `dither` is how loud the noise is that the model wants
    added, in steps of 16-bit sound.
    """

    folder: Path
    transitions: TransitionModel
    phone_numbers: dict[str, int]
    lexicon: dict[str, tuple[Pronunciation, ...]]
    words: tuple[str, ...]
    dither: float = 1.0

    def in_place(self, phones: Pronunciation) -> tuple[int, ...]:
        """The numbers of a word's phones, each in its place in the word."""
        places = "S" if len(phones) == 1 else f"B{'I' * (len(phones) - 2)}E"
        return tuple(
            self.phone_numbers[phone if phone in self.phone_numbers else f"{phone}_{place}"]
            for phone, place in zip(phones, places, strict=True)
        )

    def with_words(self, more: Mapping[str, tuple[Pronunciation, ...]]) -> "Acoustic":
        """The same with words that the network was not trained on: a graph needs only their phones.

        ModelError for a word with a phone that the network does not know.
        """
        words = (*self.words, *(word for word in more if word not in self.words))
        extended = replace(self, lexicon=self.lexicon | dict(more), words=words)
        _check(extended)
        return extended


def _lines(path: Path) -> list[list[str]]:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ModelError(path, f"cannot be read ({error})", _REMEDY) from error
    return [line.split() for line in text.splitlines() if line.strip()]


def _numbered(path: Path) -> dict[str, int]:
    """A Kaldi symbol table: `name number` a line."""
    try:
        return {name: int(number) for name, number in _lines(path)}
    except ValueError as error:
        raise ModelError(path, "is not a table of names and numbers", _REMEDY) from error


def load_acoustic(folder: Path) -> Acoustic:
    """Read a model directory of our own make; ModelError says which file is missing, cut or at odds."""
    if not (folder / "am" / "final.mdl").is_file():
        raise ModelError(folder, "is not a model directory (it has no am/final.mdl)", _REMEDY)
    transitions = read_transition_model(folder / "am" / "final.mdl")
    phone_numbers = _numbered(folder / "graph" / "phones.txt")
    numbers = _numbered(folder / "graph" / "words.txt")
    if sorted(numbers.values()) != list(range(len(numbers))):
        raise ModelError(folder / "graph" / "words.txt", "does not number its words from 0 on", _REMEDY)
    lexicon: dict[str, tuple[Pronunciation, ...]] = {}
    for word, *phones in _lines(folder / "lexicon.txt"):
        lexicon[word] = (*lexicon.get(word, ()), tuple(phones))
    acoustic = Acoustic(
        folder,
        transitions,
        phone_numbers,
        lexicon,
        tuple(sorted(numbers, key=numbers.__getitem__)),
        _dither(folder / "conf" / "mfcc.conf"),
    )
    _check(acoustic)
    return acoustic


def _dither(path: Path) -> float:
    """Kaldi's own is 1."""
    dithers = [line[0].partition("=")[2] for line in _lines(path) if line[0].startswith("--dither=")]
    try:
        return float(dithers[-1]) if dithers else 1.0
    except ValueError as error:
        raise ModelError(path, f"has a dither that is no number ({dithers[-1]})", _REMEDY) from error


def _check(acoustic: Acoustic) -> None:
    path = acoustic.folder / "lexicon.txt"
    for word, pronunciations in acoustic.lexicon.items():
        if word not in acoustic.words:
            raise ModelError(path, f"has the word {word!r}, which graph/words.txt lacks", _REMEDY)
        if not all(pronunciations):
            raise ModelError(path, f"says {word!r} with no phones at all", _REMEDY)
        try:
            numbers = [number for phones in pronunciations for number in acoustic.in_place(phones)]
        except KeyError as error:
            raise ModelError(path, f"says {word!r} with an unknown phone {error}", _REMEDY) from error
        if not acoustic.transitions.phones.keys() >= set(numbers):
            raise ModelError(path, f"says {word!r} with phones that am/final.mdl lacks", _REMEDY)
    for name in (SILENCE, BACKGROUND):
        if name not in acoustic.phone_numbers and name not in acoustic.lexicon:
            raise ModelError(acoustic.folder, f"has no {name}", _REMEDY)
