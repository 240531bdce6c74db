"""What works on this machine, line by line, and for each lack the one line that cures it."""

import time
from collections.abc import Callable

import numpy as np

from phraseology.calls import CALLS, expect
from phraseology.situation import situation
from trainer import microphone_check
from trainer.commands.question import Question
from trainer.compose import open_ears, open_microphone, open_player, open_speaker
from trainer.ears.calibration import CALIBRATION_S, Verdict, amplify
from trainer.ears.listener import as_block, hear_whole
from trainer.ears.recogniser import SAMPLE_RATE
from trainer.errors import KNOWN_ERRORS
from trainer.judging import expected_of
from trainer.logbook.locations import data_folder
from trainer.models import EMBEDDED, chosen_model
from voices.mixing import resample
from voices.playback import DevicePlayer
from voices.sound import Sound, Voice

PLAY_BACK_S = 5.0


class _Lack(Exception):
    """A sentence that says what is lacking and what cures it."""


def examine(*, record: bool) -> int:
    """Print the findings. Exit status 0 if a session with typed calls can be flown, 1 if not even that."""
    checks: list[tuple[str, Callable[[], str], bool]] = [
        ("data directory", _data_directory, True),
        ("voices", _voices, True),
        ("model and recogniser", _recogniser, True),
        ("speaker", _player, False),
        ("microphone", lambda: _microphone(record), False),
    ]
    able, lacking = True, False
    for name, check, needed in checks:
        try:
            print(f"ok    {name}: {check()}")
        except (_Lack, *KNOWN_ERRORS) as error:
            print(f"LACK  {name}: {' '.join(str(error).split())}")
            able, lacking = able and not needed, True
    print(_verdict(able, lacking), flush=True)
    return 0 if able else 1


def _verdict(able: bool, lacking: bool) -> str:
    if not able:
        return "Not ready: cure what is marked LACK first."
    return "Ready to fly by typed line; by voice once the LACKs are cured." if lacking else "Ready to fly."


def _data_directory() -> str:
    from trainer.logbook.store import Logbook

    with Logbook.open(data_folder()) as logbook:
        return f"{logbook.path.parent}, {len(logbook.sessions())} sessions"


def _voices() -> str:
    with open_speaker() as speaker:
        names = speaker.voices()
        sound = speaker.speak("radio check", Voice(names[0]))
        return f"{len(names)}, a test call took {sound.seconds:.1f} s to say"


def _recogniser() -> str:
    """Say a call to the recogniser in a synthetic voice, and see whether it is heard."""
    call = expected_of(Question("corbel", "31", "SABLE 21", call="gear_report", intention="touch_and_go"))
    words = call.model_call
    model = chosen_model()
    ears = open_ears(model)
    listening_for = situation([call], [expect(name, call.context) for name in CALLS if name != call.name])
    with open_speaker() as speaker:
        sound = resample(speaker.speak(words, Voice(speaker.voices()[0])), SAMPLE_RATE)
    began = time.perf_counter()
    heard = hear_whole(as_block(sound.samples), ears, listening_for)
    took = time.perf_counter() - began
    lacking = ears.missing_words(listening_for.words)
    note = f"; cannot hear: {', '.join(lacking)}" if lacking else ""
    return f'{model or EMBEDDED} ({ears.name}), heard "{heard.text}" in {took:.2f} s{note}'


def _player() -> str:
    player, lack = open_player()
    player.close()
    if lack or not isinstance(player, DevicePlayer):
        raise _Lack(lack or "no device")
    return "the default output opens"


def _microphone(record: bool) -> str:
    microphone, lack = open_microphone()
    if microphone is None:
        raise _Lack(lack or "no device")
    if not record:
        return "the default input is there"
    print(f"      recording {CALIBRATION_S:.0f} s. Wait a moment, then read aloud, with a pause between:")
    print("\n".join(f'      "{line}"' for line in microphone_check.TO_READ), flush=True)
    samples = microphone_check.record(microphone)
    found = microphone_check.take(samples)
    heard = amplify(samples[: round(PLAY_BACK_S * SAMPLE_RATE)], found.gain_db)
    _play_back(Sound(heard.astype(np.float32) / np.float32(32768), SAMPLE_RATE))
    if found.verdict is Verdict.BAD:
        raise _Lack(found.reason)
    return f"{microphone_check.in_words(found)} {microphone.dropped} blocks lost"


def _play_back(sound: Sound) -> None:
    player, lack = open_player()
    if lack is None:
        player.play(sound)
        until = time.monotonic() + sound.seconds + 3.0
        while player.busy and time.monotonic() < until:
            time.sleep(0.05)
    player.close()
