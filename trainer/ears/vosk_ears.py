"""Two recognisers over Vosk: our own model with a graph for each situation, and any model of the user's.

What Vosk's word confidences mean with these graphs, measured on 240 calls, a third each in an unseen
neural voice, in that voice at 20 dB, in espeak at 20 dB: the least confident word was under 0.7 in 11
of the 18 calls not heard exactly and in 11 of the 222 heard exactly; under 0.9 in 12 and 31. They are
worth a "say again", and a third of the errors is certain of itself.
"""

import json
import os
import shutil
import tempfile
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from phraseology.heard import Heard, HeardBy, HeardWord
from phraseology.wordgraph import WordAutomaton
from trainer.ears.acoustic import BACKGROUND, load_acoustic
from trainer.ears.errors import EarsError, MissingWordsError
from trainer.ears.foreground import Levels
from trainer.ears.graph import LOOP_MARK, GraphWriter, Prices
from trainer.ears.model_files import SHIPPED_MODEL, check_manifest, check_model_files, probe_model
from trainer.ears.phrases import covering_sentences
from trainer.ears.pronouncing import say_word
from trainer.ears.recogniser import SAMPLE_RATE, Block

_CACHED_SITUATIONS = 2
"""The present one and the one before: libvosk holds the whole network, 25 MB, with each."""

# Lines added to the model's settings. The bracket of a transmission comes from the key or the detector of
# the end of speech, never from Vosk: nothing ends before a thousand seconds. The prices of graph.Prices
# were calibrated at this acoustic scale.
_DECODING = "\n--acoustic-scale=1.0\n--endpoint.rule5.min-utterance-length=1000\n" + "".join(
    f"--endpoint.rule{rule}.min-trailing-silence=1000\n" for rule in range(1, 6)
)
# Kaldi dithers with one random sequence for the whole process, so the same sound may be heard differently the
# second time. `OwnGraphRecogniser.block` dithers instead, as much, from the same seed for each transmission.
_FEATURES = "\n--dither=0\n"
_DITHER_SEED = 0


def _vosk() -> Any:
    import vosk  # late: it takes a quarter of a second, and not every command hears

    vosk.SetLogLevel(-1)
    return vosk


class _Transmission:
    """What Vosk makes of one transmission."""

    def __init__(self, situation: WordAutomaton, model: Any, *grammar: str) -> None:
        self._situation = situation
        self._recogniser = _vosk().KaldiRecognizer(model, float(SAMPLE_RATE), *grammar)
        self._recogniser.SetWords(True)
        self._words: list[HeardWord] = []
        self._levels = Levels()

    def block(self, samples: Block) -> None:
        self._levels.feed(samples)
        if self._recogniser.AcceptWaveform(samples.tobytes()):  # Vosk sees an end of speech: we do not
            self._take(self._recogniser.Result())

    def partial(self) -> str:
        said = [word.text for word in self._words] + json.loads(self._recogniser.PartialResult())[
            "partial"
        ].split()
        return " ".join(word.removesuffix(LOOP_MARK) for word in said if word != BACKGROUND)

    def end(self) -> Heard:
        """What the speaker said, without whom he has behind him.

        Words of the loop are never of the situation, nor is a call of it that broke off.
        """
        self._take(self._recogniser.FinalResult())
        said = [word for word in self._words if word.text != BACKGROUND]
        labelled = self._levels.of_the_speaker(said)
        if not labelled:
            return Heard()
        known = self._situation.accepts([word.text for word in labelled])
        words = tuple(replace(word, text=word.text.removesuffix(LOOP_MARK)) for word in labelled)
        return Heard(words, HeardBy.SITUATION if known else HeardBy.LANGUAGE)

    def _take(self, result: str) -> None:
        # times count from the recogniser's first sample, which is this transmission's
        self._words += [
            HeardWord(word["word"], min(1.0, word["conf"]), word["start"], word["end"])
            for word in json.loads(result).get("result", [])
        ]


class _Ears:
    """The brackets of a transmission, the same for both recognisers."""

    name: str

    def __init__(self) -> None:
        self._situation: WordAutomaton | None = None
        self._ready: _Transmission | None = None
        self._transmission: _Transmission | None = None

    def key_on(self) -> None:
        """Open the transmission that is ready; another one in the same situation is made here."""
        if self._situation is None:
            raise RuntimeError("listen_for comes before key_on")
        self._transmission, self._ready = self._ready or self._open(self._situation), None

    def _get_ready(self, situation: WordAutomaton) -> None:
        """Open the next transmission ahead, unless one in this situation is open already."""
        if self._ready is None or situation != self._situation:
            self._ready = self._open(situation)
        self._situation = situation

    def _open(self, situation: WordAutomaton) -> _Transmission:
        raise NotImplementedError

    def _opened(self) -> _Transmission:
        if self._transmission is None:
            raise RuntimeError("key_on comes before block, partial and key_off")
        return self._transmission

    def block(self, samples: Block) -> None:
        """Decode one block."""
        self._opened().block(samples)

    def partial(self) -> str:
        """The words so far; nothing before the first key-on."""
        return self._transmission.partial() if self._transmission else ""

    def key_off(self) -> Heard:
        """Close the transmission: what was heard."""
        transmission, self._transmission = self._opened(), None
        return transmission.end()


class OwnGraphRecogniser(_Ears):
    """Our own model, with a decoding graph written for each situation."""

    name = "own graph"

    def __init__(
        self, folder: Path = SHIPPED_MODEL, prices: Prices | None = None, workspace: Path | None = None
    ) -> None:
        """ModelError if a file of the model is missing, cut short or changed.

        `workspace` is the folder for temporary files, None the system's.
        """
        super().__init__()
        self._workspace = workspace
        check_manifest(folder)
        self._acoustic = load_acoustic(folder.resolve())
        self._prices = prices or Prices()
        self._writer = GraphWriter(self._acoustic, self._prices)
        self._models: OrderedDict[WordAutomaton, Any] = OrderedDict()

    def missing_words(self, words: Iterable[str]) -> list[str]:
        """The words that this recogniser can never hear, sorted."""
        return sorted(word for word in self._not_in_lexicon(words) - {BACKGROUND} if not say_word(word))

    def _not_in_lexicon(self, words: Iterable[str]) -> set[str]:
        return set(words) - (self._acoustic.lexicon.keys() - {BACKGROUND})

    def learn(self, words: Iterable[str]) -> None:
        """Take words into the lexicon that the network was not trained on, by how they are said."""
        new = {word: ways for word in sorted(self._not_in_lexicon(words)) if (ways := say_word(word))}
        if new:
            self._acoustic = self._acoustic.with_words(new)
            self._writer = GraphWriter(self._acoustic, self._prices)
            self._models.clear()

    def listen_for(self, situation: WordAutomaton) -> None:
        """MissingWordsError if the lexicon lacks any of its words; the one before then stays in force."""
        if missing := self.missing_words(situation.words):
            raise MissingWordsError(missing, "the recogniser")
        self.learn(situation.words)
        if situation not in self._models:
            self._models[situation] = self._load(situation)
            if len(self._models) > _CACHED_SITUATIONS:
                self._models.popitem(last=False)
        self._models.move_to_end(situation)
        self._get_ready(situation)

    def key_on(self) -> None:
        """Open a transmission."""
        super().key_on()
        self._dither = np.random.default_rng(_DITHER_SEED)

    def _open(self, situation: WordAutomaton) -> _Transmission:
        return _Transmission(situation, self._models[situation])

    def block(self, samples: Block) -> None:
        """Decode one block."""
        noisy = np.rint(samples + self._acoustic.dither * self._dither.standard_normal(len(samples)))
        super().block(np.clip(noisy, -32768, 32767).astype(np.int16))

    def _load(self, situation: WordAutomaton) -> Any:
        """A Vosk model of the situation's graph; libvosk wants a folder, but only until it has read it."""
        graph = self._writer.decoding_graph(situation)
        source = self._acoustic.folder
        try:
            with tempfile.TemporaryDirectory(prefix="graph-", dir=self._workspace) as name:
                folder = Path(name)
                for part in ("am", "conf", "graph/phones"):
                    (folder / part).mkdir(parents=True)
                _link(source / "am/final.mdl", folder / "am/final.mdl")
                for settings, more in (("conf/model.conf", _DECODING), ("conf/mfcc.conf", _FEATURES)):
                    text = (source / settings).read_text(encoding="ascii")
                    (folder / settings).write_text(text + more, encoding="ascii")
                boundary = "graph/phones/word_boundary.int"
                shutil.copyfile(source / boundary, folder / boundary)
                (folder / "graph/words.txt").write_text(self._writer.symbols, encoding="utf-8")
                (folder / "graph/HCLG.fst").write_bytes(graph)
                return _vosk().Model(name)
        except OSError as error:
            raise EarsError(
                f"the folder for temporary files cannot be used ({error.strerror})",
                "make room there, or set TMPDIR to another",
            ) from error


def _link(source: Path, target: Path) -> None:
    try:
        os.symlink(source, target)
    except OSError:  # not everybody may, on Windows
        shutil.copyfile(source, target)


class UserModelRecogniser(_Ears):
    """Any Vosk model: its own run-time grammar, of the situation's pairs of words and `[unk]`.

    A model with one large fixed graph takes no grammar and hears its whole language.
    """

    name = "user model"

    def __init__(self, folder: Path) -> None:
        """ModelError if the folder is no Vosk model or the speech library cannot load it."""
        super().__init__()
        check_model_files(folder)
        probe_model(folder)
        self._model = _vosk().Model(str(folder))

    def missing_words(self, words: Iterable[str]) -> list[str]:
        """The words that this recogniser can never hear, sorted."""
        return sorted(word for word in set(words) if self._model.vosk_model_find_word(word) < 0)

    def listen_for(self, situation: WordAutomaton) -> None:
        """MissingWordsError if the model lacks any of its words; the one before then stays in force."""
        if missing := self.missing_words(situation.words):
            raise MissingWordsError(missing, "the chosen model")
        self._get_ready(situation)

    def _open(self, situation: WordAutomaton) -> _Transmission:
        return _Transmission(situation, self._model, _grammar(situation))


@lru_cache(maxsize=8)
def _grammar(situation: WordAutomaton) -> str:
    """As Vosk takes it: a list of sentences."""
    return json.dumps([*covering_sentences(situation), BACKGROUND])
