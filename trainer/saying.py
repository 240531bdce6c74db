"""Words said aloud as a station says them, in its voice and through the radio: played, or into a file."""

import time
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from phraseology.explain import CallExplained, Explanation, ReplyExplained
from phraseology.standards import Standard, standard
from trainer import compose
from trainer.ears.recogniser import SAMPLE_RATE
from trainer.errors import TrainerError
from trainer.session.frequency import TOWER
from voices.casting import cast
from voices.errors import VoiceError
from voices.mixing import resample
from voices.pronounce import read_out
from voices.radio import NORMAL, SETTINGS, blocked, radio
from voices.sound import Sound, Speaker, Voice
from voices.wav import write_wav

Radio = Literal["clean", "normal", "weak", "blocked"]
SLOWEST, QUICKEST = 100, 250
"""Words a minute. A controller is asked for no more than 100 (ICAO Annex 10 vol. II 5.2.1.5, from memory);
a busy one is twice as quick and more (common practice)."""
LONGEST = 400
"""Characters: half a minute, far beyond any transmission."""
_PILOT = "SABLE 21"
_OTHER, _OTHER_WORDS = "ADZE 44", "adze four four, three mile initial"
_END_S = 0.2


@dataclass(frozen=True)
class Saying:
    """What was made: the words as they are said, who says them, what is heard."""

    words: str
    station: str
    voice: Voice
    sound: Sound

    def __str__(self) -> str:
        pitch = f", {self.voice.semitones:+g} semitones" if self.voice.semitones else ""
        return (
            f'{self.station}: "{self.words}" ({self.sound.seconds:.1f} s, voice {self.voice.name},'
            f" {self.voice.words_a_minute} words a minute{pitch})"
        )


def say(
    text: str,
    station: str,
    reception: Radio,
    out: Path | None,
    standard_name: str,
    seed: int,
    words_a_minute: int | None,
) -> int:
    """Say it, and print what was said. Known errors for text, rate, file and sound card. Exit status 0."""
    spoken = standard(standard_name)
    _check(text, station, words_a_minute)
    with compose.open_speaker(spoken) as speaker:
        saying = make(speaker, spoken, text, station, reception, seed, words_a_minute)
    deliver(saying, out)
    return 0


def say_model(explanation: Explanation) -> None:
    """The model call in a pilot's voice; of a reply the tower's words, then the answer if one is due."""
    lines: list[tuple[str, str]] = []
    if isinstance(explanation.reply, ReplyExplained):
        lines.append((TOWER, explanation.reply.tower))
        if explanation.reply.answer_due:
            lines.append((_PILOT, explanation.reply.answer))
    if isinstance(explanation.call, CallExplained):
        lines.insert(0, (_PILOT, explanation.call.model))
    with compose.open_speaker(explanation.standard) as speaker:
        sayings = [make(speaker, explanation.standard, words, station) for station, words in lines]
    for saying in sayings:
        deliver(saying, None)


def deliver(saying: Saying, out: Path | None) -> None:
    """Into the file, or through the loudspeaker until its end; then a line of print."""
    if out is not None:
        write_wav(out, saying.sound)
        print(f"{saying} Written: {out}")
        return
    play(saying.sound)
    print(saying)


def play(sound: Sound) -> None:
    """Through the loudspeaker until its end. Raises VoiceError where there is none."""
    player, lack = compose.open_player()
    if lack:
        raise VoiceError("this cannot be played", f"write it with --out FILE, or mend this: {lack}")
    try:
        player.play(sound)
        while player.busy and player.lost is None:
            time.sleep(0.02)
        time.sleep(_END_S)  # what lies in the card
        if player.lost:
            raise VoiceError(player.lost, "write it with --out FILE")
    finally:
        player.close()


def make(
    speaker: Speaker,
    spoken: Standard,
    text: str,
    station: str,
    reception: Radio = "normal",
    seed: int = 1,
    words_a_minute: int | None = None,
) -> Saying:
    """The text as this station says it. The seed gives the voice that it has in a session of that seed."""
    name = TOWER if station.lower() == TOWER else station
    parts = cast([TOWER, name, _OTHER], seed, speaker.voices())
    voice = parts[name]
    if words_a_minute is not None:
        voice = Voice(voice.name, words_a_minute, voice.semitones)
    words = read_out(text, compose.manner(spoken))
    rng = np.random.default_rng(zlib.crc32(f"{seed}/{name}/{words}".encode()))
    sound = resample(speaker.speak(words, voice), SAMPLE_RATE)
    if reception == "blocked":
        other = next(one for one in (_OTHER, TOWER) if one.split() != name.upper().split())
        over = resample(speaker.speak(_OTHER_WORDS, parts[other]), SAMPLE_RATE)
        heard = blocked(sound, over, NORMAL, rng)
    else:
        heard = radio(sound, SETTINGS[reception], rng)
    return Saying(words, name, voice, heard)


def _check(text: str, station: str, words_a_minute: int | None) -> None:
    if not any(character.isalnum() for character in text):
        raise TrainerError("nothing to say", 'give the words, for instance "SABLE 21, closed approved"')
    if len(text) > LONGEST:
        raise TrainerError(f"the text is longer than {LONGEST} characters", "say it in several transmissions")
    if not any(character.isalnum() for character in station):
        raise TrainerError("nobody says it", 'give --as "tower" or a callsign')
    if words_a_minute is not None and not SLOWEST <= words_a_minute <= QUICKEST:
        raise TrainerError(
            f"no controller speaks {words_a_minute} words a minute", f"stay in {SLOWEST} to {QUICKEST}"
        )
