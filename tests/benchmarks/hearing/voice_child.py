"""Speaks for the evaluation, in whatever interpreter has the synthesizer: JSON lines in, a JSON line and samples out.

A process of its own, since each synthesizer wants packages that no other part of the project does.
"""

import json
import sys
from collections.abc import Callable
from pathlib import Path


def main() -> None:
    from trainer.ears.errors import EarsError
    from trainer.ears.training.speakers import SPEAKERS, Manner
    from trainer.ears.training.synthesizers import Clip, Sources, synthesizer

    kokoro, digits = (Path(argument) if argument else None for argument in sys.argv[1:3])
    engines, phonemes = {}, None
    for line in sys.stdin.buffer:
        job = json.loads(line)
        speaker = SPEAKERS[job["speaker"]]
        try:
            if speaker.engine not in engines:
                engines[speaker.engine] = synthesizer(speaker.engine, Sources(kokoro, digits))
            if speaker.engine == "kokoro" and phonemes is None:
                phonemes = _phonemizer(job["more"])
            signs = phonemes(job["text"], speaker.voice) if speaker.engine == "kokoro" and phonemes else ""
            (sound,) = engines[speaker.engine]([Clip(speaker.name, job["text"], Manner(job["rate"]), signs)])
            _answer({"bytes": sound.nbytes}, sound.tobytes())
        except (EarsError, OSError) as error:
            _answer({"error": str(error)})


def _phonemizer(more: list[str]) -> Callable[[str, str], str]:
    """Late: it wants packages that only some interpreters have."""
    from trainer.ears.pronouncing import say_word
    from trainer.ears.training.lexicon import Lexicon, whole_lexicon
    from trainer.ears.training.phonemes import phonemizer

    return phonemizer(Lexicon({**{word: say_word(word) for word in more}, **whole_lexicon().ways}))


def _answer(head: dict[str, object], body: bytes = b"") -> None:
    sys.stdout.buffer.write(json.dumps(head).encode() + b"\n" + body)
    sys.stdout.buffer.flush()


main()
