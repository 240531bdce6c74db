"""When a call is over: sooner where nothing can follow, later in the middle of an element; and its level."""

import threading
from collections.abc import Callable, Iterable

import numpy as np
import pytest

from phraseology.heard import Heard
from phraseology.wordgraph import Maybe, Say, Seq, WordAutomaton, automaton
from trainer.ears.completeness import Ending
from trainer.ears.endpoint import CHUNK, HANG_OVER_S
from trainer.ears.level import Trouble
from trainer.ears.listener import HANG_OVERS_S, WORDS_LAG_S, HeardCall, KeyedOn, Listener
from trainer.ears.microphone import CapturedBlock
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.ears.vosk_ears import OwnGraphRecogniser
from trainer.live.hearing import EarsEvent, Hearing, MicrophoneTrouble, TraineeKeyed, TraineeSaid

Speak = Callable[[str, str], Block]

HERE = automaton(
    Seq(
        (
            Say.of("sable two one three mile initial"),
            Maybe(Say.of("touch and go"), take=1.0),
            Maybe(Say.of("corbel tower"), take=9.0),
        )
    )
)


class Dictated:
    """A `Recogniser` at the boundary whose partial words are dictated."""

    name = "dictated"

    def __init__(self) -> None:
        self.words = ""
        self.situations: list[WordAutomaton] = []

    def missing_words(self, words: Iterable[str]) -> list[str]:
        return []

    def listen_for(self, situation: WordAutomaton) -> None:
        self.situations.append(situation)

    def key_on(self) -> None:
        pass

    def block(self, samples: Block) -> None:
        pass

    def partial(self) -> str:
        return self.words

    def key_off(self) -> Heard:
        return Heard.typed(self.words)


def silence(seconds: float) -> Block:
    return np.zeros(round(seconds * SAMPLE_RATE), np.int16)


def voice(speak: Speak) -> Block:
    """Speech up to its last sound."""
    sound = speak("sable two one three mile initial", "en-us")
    return sound[: np.flatnonzero(sound)[-1] + 1]


def waited(listener: Listener, speech: Block, quiet: Block, block: int = CHUNK) -> float:
    """Seconds of the silence after the speech that passed before the call was over."""
    stream = np.concatenate([speech, quiet])
    for start in range(0, len(stream), block):
        for event in listener.feed(stream[start : start + block]):
            if isinstance(event, HeardCall):
                return event.ended - len(speech) / SAMPLE_RATE
    raise AssertionError("it never ended")


@pytest.mark.parametrize(
    ("words", "stands"),
    [
        ("sable two one three mile initial touch and go", Ending.COMPLETE),
        ("sable two one three mile initial", Ending.OPEN),
        ("sable two one three mile", Ending.MIDDLE),
        ("the weather is lovely", Ending.OPEN),
        ("", Ending.OPEN),
    ],
)
@pytest.mark.parametrize("block", [CHUNK, 320, 4096])
def test_the_words_decide_how_long_to_wait(speak: Speak, words: str, stands: Ending, block: int) -> None:
    ears = Dictated()
    ears.words = words
    passed = waited(Listener(ears, lambda: HERE), voice(speak), silence(2), block)
    assert passed == pytest.approx(HANG_OVERS_S[stands], abs=0.13)


def test_words_that_still_change_are_not_complete(speak: Speak) -> None:
    class Restless(Dictated):
        def partial(self) -> str:
            self.words = "" if self.words else "sable two one three mile initial touch and go"
            return self.words

    passed = waited(Listener(Restless(), lambda: HERE), voice(speak), silence(2))
    assert passed == pytest.approx(HANG_OVER_S, abs=0.13)


def test_a_word_that_comes_late_shows_that_the_voice_goes_on(speak: Speak) -> None:
    ears = Dictated()
    speech = voice(speak)
    listener = Listener(ears, lambda: HERE, dict.fromkeys(Ending, HANG_OVER_S))
    listener.feed(np.concatenate([speech, silence(0.5)]))
    assert listener.speaking
    ears.words = "sable"
    passed = waited(listener, silence(0.0), silence(2)) - (len(speech) / SAMPLE_RATE + 0.5)
    assert passed == pytest.approx(HANG_OVER_S - WORDS_LAG_S, abs=0.07)


def test_one_wait_for_all_where_that_is_asked_for(speak: Speak) -> None:
    ears = Dictated()
    ears.words = "sable two one three mile"
    listener = Listener(ears, lambda: HERE, dict.fromkeys(Ending, 0.4))
    assert waited(listener, voice(speak), silence(2)) == pytest.approx(0.4, abs=0.13)


def test_each_call_is_heard_in_the_situation_of_its_key_on(speak: Speak) -> None:
    ears = Dictated()
    ears.words = "roger"
    now = [HERE, automaton(Say.of("roger"))]
    listener = Listener(ears, lambda: now[len(ears.situations)])
    stream = np.concatenate([silence(1), voice(speak), silence(2)])
    calls = [event for _ in now for event in listener.feed(stream) if isinstance(event, HeardCall)]
    assert ears.situations == now
    first, second = (call.ended - call.began for call in calls)
    assert first - second == pytest.approx(
        HANG_OVERS_S[Ending.OPEN] - HANG_OVERS_S[Ending.COMPLETE], abs=0.13
    ), "complete there"


def test_a_real_call_is_over_sooner_than_its_beginning(
    speak: Speak, own_ears: OwnGraphRecogniser, situation: WordAutomaton
) -> None:
    def after(text: str) -> float:
        sound = speak(text, "en-us")
        return waited(
            Listener(own_ears, lambda: situation), sound[: np.flatnonzero(sound)[-1] + 1], silence(2)
        )

    assert after("sable two one request closed") < 0.45
    assert after("sable two one five mile") > 0.8


@pytest.mark.parametrize("gap", [2, 3, 4])
def test_a_pause_in_a_call_does_not_cut_it(
    speak: Speak, own_ears: OwnGraphRecogniser, situation: WordAutomaton, gap: int
) -> None:
    words = ["sable", "two", "one", "request", "closed"]
    halves = [speak(" ".join(part), "en-us") for part in (words[:gap], words[gap:])]
    sounds = [half[np.flatnonzero(half)[0] : np.flatnonzero(half)[-1] + 1] for half in halves]
    listener = Listener(own_ears, lambda: situation)
    events = listener.feed(np.concatenate([silence(0.5), sounds[0], silence(0.4), sounds[1], silence(1.5)]))
    heard = [event.heard.text for event in events if isinstance(event, HeardCall)]
    assert heard == [" ".join(words)]


class TestPrepare:
    """What takes time is done between calls; a call is heard in the situation of its key-on all the same."""

    OTHER = automaton(Say.of("roger"))

    def test_key_on_finds_it_done(self) -> None:
        ears = Dictated()
        listener = Listener(ears, lambda: HERE)
        for _ in range(3):
            listener.prepare()
        assert ears.situations == [HERE]
        listener.press()
        assert ears.situations == [HERE]
        listener.release()
        listener.prepare()
        assert ears.situations == [HERE, HERE], "and the next call is got ready for"

    def test_what_changed_since_is_got_ready_for_at_key_on(self) -> None:
        ears, now = Dictated(), [HERE]
        listener = Listener(ears, lambda: now[-1])
        listener.prepare()
        now.append(self.OTHER)
        listener.press()
        assert ears.situations == now

    def test_an_open_call_keeps_its_situation(self) -> None:
        ears, now = Dictated(), [HERE]
        listener = Listener(ears, lambda: now[-1])
        listener.press()
        now.append(self.OTHER)
        listener.prepare()
        assert ears.situations == [HERE]
        listener.release()
        listener.prepare()
        assert ears.situations == now

    def test_the_microphones_thread_gets_ready_before_anybody_speaks(self) -> None:
        ears, now = Dictated(), [HERE]
        microphone = Played(silence(1))
        hearing = Hearing(microphone, ears, lambda: now[-1], lambda: True, lambda event: None)
        hearing.listen()
        now.append(self.OTHER)  # the tower begins to speak
        hearing.listen()
        hearing.listen()
        assert ears.situations == now

    def test_the_situation_changes_all_the_while_and_each_call_has_one_of_its_moment(self) -> None:
        """The session's thread changes it as fast as it can, the microphone's thread opens calls."""
        numbered = [automaton(Say((str(number),))) for number in range(2000)]
        now = [0]
        at_key_on: list[tuple[int, WordAutomaton, int]] = []
        asked: list[int] = []

        def situation() -> WordAutomaton:
            asked.append(now[0])
            return numbered[asked[-1]]

        class Watched(Dictated):
            def key_on(self) -> None:
                at_key_on.append((asked[-1], self.situations[-1], now[0]))

        def change() -> None:
            for number in range(len(numbered)):
                now[0] = number

        listener = Listener(Watched(), situation)
        changing = threading.Thread(target=change)
        changing.start()
        for _ in range(200):
            listener.prepare()
            listener.press()
            listener.release()
        changing.join()
        assert len(at_key_on) == 200
        for wanted, listened_for, latest in at_key_on:
            assert listened_for is numbered[wanted], "asked for at this very key-on"
            assert wanted <= latest

    def test_a_real_recogniser_has_nothing_left_to_do_at_key_on(
        self, speak: Speak, situation: WordAutomaton, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        ears = OwnGraphRecogniser()
        listener = Listener(ears, lambda: situation)
        listener.prepare()

        def too_late(*_: object) -> None:
            raise AssertionError("done at key-on")

        monkeypatch.setattr(ears, "_load", too_late)
        monkeypatch.setattr(ears, "_open", too_late)
        listener.press()
        listener.feed(speak("sable two one request closed", "en-us"))
        (call,) = listener.release()
        assert isinstance(call, HeardCall)
        assert call.heard.text == "sable two one request closed"


class TestPushToTalk:
    def test_words_stream_and_no_silence_ends_it(
        self, speak: Speak, own_ears: OwnGraphRecogniser, situation: WordAutomaton
    ) -> None:
        listener = Listener(own_ears, lambda: situation)
        seen, events = [], list(listener.press())
        stream = np.concatenate([speak("sable two one request closed", "en-us"), silence(3)])
        for start in range(0, len(stream), CHUNK):
            events += listener.feed(stream[start : start + CHUNK])
            seen.append(listener.partial())
        assert [type(event) for event in events] == [KeyedOn]
        assert seen[0] == ""
        assert {"sable two", "sable two one", "sable two one request"} & set(seen), "no words before the end"
        (call,) = listener.release()
        assert isinstance(call, HeardCall)
        assert call.heard.text == seen[-1] == "sable two one request closed"
        assert listener.partial() == ""

    def test_the_level_is_measured_as_without_a_key(self, speak: Speak) -> None:
        stream = np.concatenate([silence(1), speak("sable two one request closed", "en-us"), silence(1)])
        by_key, hands_free, muted = (Listener(Dictated(), lambda: HERE) for _ in range(3))
        by_key.press()
        muted.muted = True
        for listener in (by_key, hands_free, muted):
            listener.feed(stream)
        assert by_key.level == hands_free.level
        assert by_key.level.speech_dbfs is not None
        assert muted.level.seconds == 0

    def test_who_has_begun_is_heard_out_when_it_is_muted(self, speak: Speak) -> None:
        said = speak("sable two one request closed", "en-us")
        stream = np.concatenate([said, silence(2)])
        listener = Listener(Dictated(), lambda: HERE)
        events: list[KeyedOn | HeardCall] = []
        for start in range(0, len(stream), CHUNK):
            events += listener.feed(stream[start : start + CHUNK])
            listener.muted = listener.muted or listener.speaking
        assert [type(event) for event in events] == [KeyedOn, HeardCall]
        (call,) = (event for event in events if isinstance(event, HeardCall))
        assert call.ended > len(said) / SAMPLE_RATE - 0.5
        assert listener.feed(stream) == []  # and nobody begins


class Played:
    """A `Microphone` at the boundary: it plays what it was given."""

    dropped = 0

    def __init__(self, sound: Block) -> None:
        self.blocks = [sound[start : start + CHUNK] for start in range(0, len(sound), CHUNK)]

    def start(self) -> None:
        pass

    def read(self, timeout: float) -> CapturedBlock | None:
        return CapturedBlock(self.blocks.pop(0), 0.0) if self.blocks else None

    def stop(self) -> None:
        pass


def played(sound: Block, gain_db: float = 0.0) -> list[EarsEvent]:
    microphone, told = Played(sound), list[EarsEvent]()
    hearing = Hearing(microphone, Dictated(), lambda: HERE, lambda: False, told.append, gain_db)
    while microphone.blocks:
        hearing.listen()
    return [event for event in told if isinstance(event, MicrophoneTrouble | TraineeSaid)]


def test_a_trouble_is_told_once_after_the_call_and_its_end_too(speak: Speak) -> None:
    good = np.concatenate([speak("sable two one request closed", "en-us"), silence(1)])
    faint = (good / 60).astype(np.int16)
    events = played(np.concatenate([faint, faint, *[good] * 8]))
    kinds = [event.sentences if isinstance(event, MicrophoneTrouble) else "said" for event in events]
    assert kinds[:3] == ["said", (Trouble.QUIET.value,), "said"]
    assert [kind for kind in kinds[3:] if kind != "said"] == [()]


def test_the_gain_cures_a_quiet_voice_and_the_tape_keeps_what_came(speak: Speak) -> None:
    faint = (np.concatenate([speak("sable two one request closed", "en-us"), silence(1)]) / 60).astype(
        np.int16
    )
    (said,) = played(faint, gain_db=35.0)
    assert isinstance(said, TraineeSaid)
    assert np.abs(said.samples).max() == np.abs(faint).max()


def test_what_is_let_go_is_neither_told_nor_in_the_way_of_the_next_call(speak: Speak) -> None:
    said = speak("sable two one request closed", "en-us")
    microphone, told = Played(np.concatenate([said, silence(1), said, silence(1)])), list[EarsEvent]()
    hearing = Hearing(microphone, Dictated(), lambda: HERE, lambda: False, told.append)
    first_ends = len(microphone.blocks) // 2
    while microphone.blocks:
        hearing.listen()
        if TraineeKeyed() in told and len(microphone.blocks) > first_ends:
            hearing.let_go()
    assert [type(event) for event in told if isinstance(event, TraineeSaid)] == [TraineeSaid]
    (call,) = (event for event in told if isinstance(event, TraineeSaid))
    assert len(call.samples) == pytest.approx(len(said), abs=SAMPLE_RATE)


def test_at_rest_the_thread_wakes_seldom_and_hears_all_the_same(speak: Speak) -> None:
    said = speak("sable two one request closed", "en-us")
    coming = Played(np.concatenate([silence(4), said, silence(1)])).blocks
    microphone, told = Played(np.empty(0, np.int16)), list[EarsEvent]()
    slept = 0

    def wait(seconds: float) -> bool:
        nonlocal slept
        slept += 1
        for _ in range(round(seconds * SAMPLE_RATE / CHUNK)):
            microphone.blocks += [coming.pop(0)] if coming else []
        return False

    hearing = Hearing(
        microphone, Dictated(), lambda: HERE, lambda: False, told.append, wait=wait, resting=lambda: True
    )
    looks = 0
    while coming or microphone.blocks:
        looks += 1
        if not microphone.blocks and any(isinstance(event, TraineeKeyed) for event in told):
            microphone.blocks += [coming.pop(0)]  # while somebody speaks each block is waited for
        hearing.listen()
    assert slept >= 4.0 / 0.25
    assert looks > 2 * slept
    assert [type(event) for event in told if isinstance(event, TraineeSaid)] == [TraineeSaid]
