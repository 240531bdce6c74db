"""Listening again after the flight: one's own voice, and the same call as it should sound."""

from trainer.ears.recogniser import SAMPLE_RATE
from trainer.live.session import LiveSession
from trainer.session.events import TraineeSpoke
from voices.sound import Sound


def play_mine(live: LiveSession, number: int) -> str | None:
    """Play call `number`, from 0, as it was spoken; a sentence where that cannot be done."""
    samples = live.voice_of.get(number)
    if samples is None:
        return "There is no sound of this call: it was typed, or not made."
    live.sounds.listen_to(Sound((samples / 32768).astype("float32"), SAMPLE_RATE))
    return None


def play_model(live: LiveSession, number: int) -> str | None:
    """Play the model words of call `number`, from 0; a sentence where that cannot be done."""
    call = live.calls[number]
    words = call.assessment.model_call if isinstance(call, TraineeSpoke) else live.model_of.get(number, "")
    if not words:
        return "Nothing was to be said there."
    sound = live.sounds.model(live.plan.callsign, words)
    if sound is None:
        return "There is no voice to say it with."
    live.sounds.listen_to(sound)
    return None
