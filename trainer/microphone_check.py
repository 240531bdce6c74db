"""Ten seconds with the microphone: `doctor` takes and keeps them, `fly` hears with what came of them."""

import json
import time
from collections.abc import Callable

import numpy as np

from trainer.ears.calibration import CALIBRATION_S, Calibration, Verdict, calibrate
from trainer.ears.errors import EarsError
from trainer.ears.microphone import Microphone
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.logbook.locations import data_folder
from trainer.settings import write_whole

TO_READ = (
    "Corbel Tower, Sable two one, three mile initial, touch and go.",
    "Sable two one, gear down, touch and go.",
)
FILE = "microphone.json"

_FIRST_BLOCK_S = 2.0
_AGAIN = "patternvoice doctor"


def record(
    microphone: Microphone, seconds: float = CALIBRATION_S, stopped: Callable[[], bool] = lambda: False
) -> Block:
    """What the microphone gives in so many seconds, less where it gives nothing or has been `stopped`;
    EarsError if it fails."""
    microphone.start()
    try:
        blocks: list[Block] = []
        until = time.monotonic() + seconds + _FIRST_BLOCK_S
        while sum(map(len, blocks)) < seconds * SAMPLE_RATE and time.monotonic() < until and not stopped():
            block = microphone.read(timeout=0.5)
            if block is not None:
                blocks.append(block.samples)
    finally:
        microphone.stop()
    return np.concatenate([*blocks, np.zeros(0, np.int16)])


def take(samples: Block) -> Calibration:
    """Judge the recording and keep what was found; TrainerError if it cannot be kept."""
    found = calibrate([samples])
    write_whole(FILE, json.dumps(found.as_json(), indent=2) + "\n")
    return found


def kept() -> tuple[Calibration | None, str | None]:
    """What was found last, None if nothing was or it cannot be read; and what the trainee should be told."""
    path = data_folder() / FILE
    try:
        found = Calibration.from_json(json.loads(path.read_bytes()))
    except (FileNotFoundError, NotADirectoryError):
        return None, f"The microphone was never measured; it takes ten seconds:  {_AGAIN}"
    except (OSError, ValueError, RecursionError, EarsError) as error:
        return None, f"{path} cannot be used ({error}). Measure the microphone again:  {_AGAIN}"
    if found.verdict is Verdict.BAD:
        return found, f"{found.reason} Then measure it again:  {_AGAIN}"
    if found.gain_db:
        return found, f"The microphone is raised by {found.gain_db:.0f} dB. Is it another now?  {_AGAIN}"
    return found, None


def in_words(found: Calibration) -> str:
    """Verdict, reason and figures in one line."""
    if found.speech_dbfs is None or found.snr_db is None:
        return f"{found.verdict}. {found.reason}"
    figures = [
        f"Voice {-found.speech_dbfs:.0f} dB under full scale",
        f"{found.snr_db:.0f} dB over the room",
        f"{100 * found.clipped:.1f} % at full scale",
    ]
    if found.gain_db:
        figures.append(f"raised by {found.gain_db:.0f} dB when you fly")
    return f"{found.verdict}. {found.reason} {', '.join(figures)}."
