"""The one place that builds engines: recogniser, speaker, player, microphone, logbook.

Everything else gets them handed in. Engines are imported here late, so that a command that needs
none starts at once; a lack of sound gives a sentence and a silent stand-in, never an end.
"""

from collections.abc import Callable
from pathlib import Path

from phraseology.calls import CALLS, expect
from phraseology.situation import situation
from phraseology.standards import Standard
from trainer.ears.errors import EarsError
from trainer.ears.microphone import DeviceMicrophone, Microphone
from trainer.ears.recogniser import Recogniser
from trainer.logbook.locations import data_folder, private_folder
from trainer.logbook.store import Logbook
from trainer.scratch import scratch_folder
from trainer.session.plan import SessionPlan
from voices.errors import VoiceError
from voices.piper_engine import natural_voices
from voices.playback import DevicePlayer, Player, SilentPlayer
from voices.pronounce import Manner
from voices.returning import ReturningPlayer
from voices.several import SeveralSpeakers
from voices.speaker import WorkerSpeaker

VOICE_TIMEOUT_S = 8.0
"""A job takes some hundredths of a second; a worker that hangs holds the screen up for this long, twice."""


def open_ears(model: Path | None = None) -> Recogniser:
    """The recogniser; None is the model that comes with the package.

    A model of our own make hears by a graph for each situation, any other by its own run-time grammar.
    Raises EarsError where the directory is not a usable model.
    """
    from trainer.ears.model_files import is_our_make
    from trainer.ears.vosk_ears import OwnGraphRecogniser, UserModelRecogniser

    if model is None:
        return OwnGraphRecogniser(workspace=scratch_folder())
    if is_our_make(model):
        return OwnGraphRecogniser(model, workspace=scratch_folder())
    return UserModelRecogniser(model)


def unheard_words(plan: SessionPlan, ears: Recogniser) -> tuple[list[str], list[str]]:
    """Words that this recogniser can never hear: of the session's own names, and of the language at large."""
    context = plan.context(plan.callsign)
    names = {plan.callsign.split()[0].lower(), *plan.field.tower.lower().split()}
    names |= {point.lower() for point in plan.field.points}
    language = situation([expect(name, context) for name in CALLS], []).words
    missing = ears.missing_words(names | language)
    return [word for word in missing if word in names], [word for word in missing if word not in names]


def open_speaker(standard: Standard | None = None) -> SeveralSpeakers:
    """The system's voices and, where the extra is installed, the natural ones, each in its worker.

    Figures are pronounced as in the standard (None: as in the US). What the libraries print goes to a log
    file in the data folder.
    """
    engines = [None, "piper"] if natural_voices() else [None]
    log = private_folder(data_folder()) / "voices.log"
    return SeveralSpeakers(
        [
            WorkerSpeaker(log, VOICE_TIMEOUT_S, None, engine, manner(standard), scratch_folder())
            for engine in engines
        ]
    )


def manner(standard: Standard | None) -> Manner:
    """How figures are pronounced in this standard."""
    return Manner.ICAO if standard and standard.numbers.point_word == "decimal" else Manner.US


def open_returning_player(notify: Callable[[str], None]) -> ReturningPlayer:
    """The default output for a whole session: it may be missing, go and come back, and `notify` is told."""
    return ReturningPlayer(DevicePlayer, notify)


def open_player() -> tuple[Player, str | None]:
    """The default output, or a silent one and the sentence that says what to do."""
    try:
        return DevicePlayer(), None
    except VoiceError as error:
        return SilentPlayer(), str(error)


def open_microphone() -> tuple[Microphone | None, str | None]:
    """The default input, or None and the sentence that says what to do."""
    try:
        return DeviceMicrophone(), None
    except EarsError as error:
        return None, str(error)


def open_logbook(*, checked: bool = True) -> Logbook:
    """The logbook in the data folder; raises LogbookError. `checked` as in `Logbook.open`."""
    return Logbook.open(data_folder(), checked=checked)
