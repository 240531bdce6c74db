"""What is kept, what is played, what is heard and when; and what goes on where something fails."""

import json
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from phraseology.heard import Heard
from trainer.ears.level import Trouble
from trainer.errors import TrainerError
from trainer.live.book import FlightBook
from trainer.live.hearing import EarsLost, MicrophoneTrouble, TraineeKeyed, TraineeSaid
from trainer.live.session import DEAF_AFTER_S, PART_S, TOGETHER_S, LiveSession
from trainer.live.sounds import FrequencySound
from trainer.live.start import closing_account, plan_of
from trainer.logbook.recording import SessionRecording
from trainer.logbook.store import Logbook
from trainer.radio_room import RadioRoom
from trainer.screens.app import FlightApp
from trainer.session.events import Event, NotUnderstood, SessionEnded, TowerSpoke, TraineeSpoke
from voices.errors import VoiceError
from voices.playback import SilentPlayer
from voices.sound import Sound, Voice
from voices.wav import read_wav

CHECK_IN = (
    "corbel tower sable two one one zero miles west three thousand five hundred information alfa"
    " request overhead touch and go"
)
SOUND = np.full(1600, 1000, np.int16)


def rows(flight: Any) -> list[dict[str, Any]]:
    return list(flight.logbook.events(flight.live.book.session_id))


async def test_every_event_is_in_the_logbook_before_the_screen_has_it(flown: Callable[..., Any]) -> None:
    flight = flown()
    shown: list[dict[str, Any]] = []

    class WatchedApp(FlightApp):
        def took_place(self, events: list[Event]) -> None:
            shown.extend(json.loads(json.dumps(event.as_json())) for event in events)
            assert rows(flight) == shown
            super().took_place(events)

    app = WatchedApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)):
        flight.into_the_turn(app)
    assert len(shown) > 20


def test_typed_words_wait_until_the_air_is_free(flown: Callable[..., Any]) -> None:
    flight = flown(pace="real")
    flight.live.typed(flight.until_due())
    flight.until(lambda: flight.live.sounds.speaking is not None)
    assert flight.live.typed("sable two one runway three one report three mile initial") == []
    assert flight.live.waits_for_the_air
    flight.until(lambda: len(flight.live.calls) == 2)
    assert flight.live.calls[1].assessment.accepted
    assert flight.live.calls[1].assessment.call == "answer_to_overhead_approved"


def test_the_microphone_is_shut_while_somebody_speaks_and_shortly_after(flown: Callable[..., Any]) -> None:
    flight = flown(pace="real")
    flight.live.typed(flight.until_due())
    assert not flight.live.muted
    flight.until(lambda: flight.live.sounds.speaking is not None)
    assert flight.live.muted
    flight.until(lambda: flight.live.sounds.speaking is None)
    silent_since = flight.clock.seconds
    flight.until(lambda: not flight.live.muted)
    assert flight.clock.seconds - silent_since == pytest.approx(DEAF_AFTER_S, abs=0.11)


def test_speech_is_taken_and_its_sound_is_kept(flown: Callable[..., Any], tmp_path: Path) -> None:
    flight = flown()
    tape = SessionRecording(tmp_path / "tape.wav")
    flight.live.book = FlightBook(
        flight.logbook, flight.live.book.session_id, tape, flight.live.notices.append
    )
    flight.until_due()
    flight.live.hear(TraineeKeyed())
    assert flight.live.session.on_air
    events = flight.live.hear(TraineeSaid(Heard.typed(CHECK_IN), SOUND))
    assert [type(event) for event in events] == [TraineeSpoke]
    assert tape.seconds == pytest.approx(flight.live.session.now, abs=0.1)
    flight.live.close()
    assert np.abs(read_wav(tape.path).samples[-len(SOUND) :]).min() > 0


def test_nothing_of_the_trade_is_not_understood_and_costs_nothing(flown: Callable[..., Any]) -> None:
    flight = flown()
    flight.until_due()
    flight.live.hear(TraineeKeyed())
    events = flight.live.hear(TraineeSaid(Heard(), SOUND))
    assert [type(event) for event in events] == [NotUnderstood]
    assert flight.live.calls == []


def test_what_the_detector_opens_while_somebody_speaks_is_let_go(flown: Callable[..., Any]) -> None:
    flight = flown()
    flight.until(lambda: flight.live.muted)
    for _ in range(round(TOGETHER_S / PART_S) + 1):
        flight.step()
    flight.live.hear(TraineeKeyed())
    assert flight.live.hear(TraineeSaid(Heard.typed(CHECK_IN), SOUND)) == []
    assert flight.live.calls == []


def test_a_lost_microphone_is_told_and_typing_goes_on(flown: Callable[..., Any]) -> None:
    flight = flown()
    model_call = flight.until_due()
    flight.live.hear(EarsLost("the microphone was unplugged: plug it in."))
    assert flight.live.no_microphone == "the microphone was unplugged: plug it in."
    assert len(flight.live.notices) == 1
    assert flight.live.typed(model_call)


def test_what_is_wrong_with_the_microphone_is_told_and_the_call_counts(flown: Callable[..., Any]) -> None:
    flight = flown()
    flight.until_due()
    flight.live.hear(TraineeKeyed())
    assert flight.live.hear(TraineeSaid(Heard.typed(CHECK_IN), SOUND))
    flight.live.hear(MicrophoneTrouble((Trouble.CLIPPED.value,)))
    flight.live.hear(MicrophoneTrouble(()))
    assert list(flight.live.notices) == [Trouble.CLIPPED.value]


def test_a_failing_logbook_is_told_once_and_the_session_goes_on(flown: Callable[..., Any]) -> None:
    flight = flown()
    flight.until_due()
    flight.logbook.close()
    events: list[Event] = []
    for _ in range(3):
        events += flight.live.typed(flight.until_due())
    assert len(events) == 3
    assert [notice.endswith("Going on without the logbook.") for notice in flight.live.notices] == [True]
    flight.live.leave()
    assert "logbook  " not in closing_account(flight.live).split("Going on")[0]


class HoarseSpeaker:
    """A `Speaker` at the boundary that has no voice left."""

    def voices(self) -> tuple[str, ...]:
        return ("en-gb-x-rp", "en-us+m1")

    def speak(self, text: str, voice: Voice) -> Sound:
        raise VoiceError("the voice engine failed twice to speak", "see voices.log")

    def close(self) -> None:
        pass


def test_a_failing_voice_is_told_once_and_the_text_goes_on(tmp_path: Path) -> None:
    plan, _ = plan_of("first_flight", None, "corbel", "31", seed=1)
    notices: deque[str] = deque()
    room = RadioRoom(HoarseSpeaker(), [plan.callsign, "HERON 42"], 1)
    sounds = FrequencySound(room, SilentPlayer(lambda: 0.0), notices.append)
    with Logbook.open(tmp_path) as logbook:
        book = FlightBook(logbook, logbook.start_session({}, "2025-01-31T18:00:00"), None, notices.append)
        live = LiveSession(plan, "real", sounds, book, notices)
        spoken = [event for _ in range(60) for event in live.tick(1.0) if not isinstance(event, TowerSpoke)]
        assert len(spoken) > 2
        assert [notice.endswith("Going on in text.") for notice in notices] == [True]
        live.close()


def test_leaving_ends_the_session_in_order(flown: Callable[..., Any]) -> None:
    flight = flown()
    flight.live.typed(flight.until_due())
    assert [type(event) for event in flight.live.leave()] == [SessionEnded]
    assert flight.live.leave() == []
    (session,) = flight.logbook.sessions()
    assert session.summary is not None
    assert session.summary["calls"] == 1
    assert rows(flight)[-1]["event"] == "SessionEnded"


def test_the_callsign_of_another_aircraft_is_refused() -> None:
    with pytest.raises(TrainerError, match="HERON 42 is another aircraft of this drill: choose another"):
        plan_of("first_flight", "heron 42", "corbel", "31", seed=1)
