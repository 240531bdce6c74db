"""How soon the tower is heard: from "end of speech declared" to the first sample of its reply queued for playing.

    python tests/benchmarks/reply_latency.py --replies 200

The application as `fly` runs it, without a terminal: its clock, its screen, its logbook and recording on disk, the
voice worker, the radio, the output (the default one where it opens, for instance the virtual card of tests/sound;
else a silent player, and the resampling to 48 kHz counted all the same). A script makes the trainee's calls: it
keys, "speaks" for `--speaking` seconds, and then says what was heard, `--silent` seconds after the last word, as
the ears do for a complete call; one call in eight is wrong, one in nine not understood. The recogniser is not part of it.
Between calls time is let run fast. Every session begins with no sound made; only the worker is warm.
"""

import argparse
import asyncio
import itertools
import tempfile
import time
from collections import Counter, deque
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import numpy as np

from phraseology.heard import Heard, HeardBy, HeardWord
from phraseology.words import tokens
from trainer.ears.recogniser import SAMPLE_RATE
from trainer.live.book import FlightBook
from trainer.live.hearing import TraineeKeyed, TraineeSaid
from trainer.live.session import LiveSession
from trainer.live.sounds import FrequencySound
from trainer.live.start import plan_of
from trainer.logbook.recording import SessionRecording
from trainer.logbook.store import Logbook
from trainer.radio_room import RadioRoom
from trainer.screens.app import FlightApp
from trainer.session.events import Event, TowerSpoke
from trainer.session.frequency import TOWER
from voices.errors import VoiceError
from voices.mixing import resample
from voices.playback import DevicePlayer, Player, SilentPlayer
from voices.sound import Sound, Speaker
from voices.speaker import WorkerSpeaker

DRILLS = ("first_flight", "denied_three_ways", None)
PATIENCE_S = 2.5
PARTS = ("judged", "on the air", "sound made", "queued")


class Clock:
    """Wall time while it `runs`."""

    def __init__(self) -> None:
        self.runs = False
        self._at, self._since = 0.0, time.monotonic()

    def __call__(self) -> float:
        now = time.monotonic()
        self._at += (now - self._since) * self.runs
        self._since = now
        return self._at


class Output:
    """Plays only while it is `on`; when time runs fast nobody listens."""

    lost = None
    seconds_left = 0.0
    seconds_played = 0.0

    def __init__(self) -> None:
        try:
            self._player: Player = DevicePlayer()
        except VoiceError as error:
            print(f"no output ({error}): a silent player")
            self._player = SilentPlayer()
        self.on = False

    @property
    def busy(self) -> bool:
        return self.on and self._player.busy

    @property
    def lead_s(self) -> float:
        return self._player.lead_s

    def play(self, sound: Sound) -> None:
        if self.on:
            if isinstance(self._player, SilentPlayer):
                sound = resample(sound, 48_000)
            self._player.play(sound)

    def stop(self) -> None:
        self._player.stop()

    def close(self) -> None:
        self._player.close()


class TimedSound(FrequencySound):
    """Notes when each transmission is taken on the air, made and queued, and whether it was ready."""

    def __init__(self, room: RadioRoom, output: Output) -> None:
        super().__init__(room, output, print)
        self.room = room
        self.times: list[tuple[str, str, bool, list[float]]] = []

    def seconds(self, station: str, words: str) -> float:
        ready, taken = self.room.has(station, words), time.perf_counter()
        length = super().seconds(station, words)
        self.times.append((station, words, ready, [taken, time.perf_counter()]))
        return length

    def play(self, station: str, words: str, *, is_blocked: bool = False) -> Sound | None:
        sound = super().play(station, words, is_blocked=is_blocked)
        self.times[-1][3].append(time.perf_counter())
        return sound


class Reply:
    """One reply: seconds after the end of speech, for each of `PARTS`; `ready`: its sound was made ahead."""

    def __init__(self, words: str, ready: bool, waited: bool, parts: list[float]) -> None:
        self.words, self.ready, self.waited, self.parts = words, ready, waited, parts


def heard(model_call: str, number: int) -> Heard:
    if number % 9 == 8:
        return Heard()
    words = tokens(model_call)
    if number % 8 == 7:
        words = [{"one": "two", "two": "three"}.get(word, word) for word in words]
    return Heard(tuple(HeardWord(word) for word in words), HeardBy.SITUATION)


async def flight(
    drill: str | None,
    seed: int,
    speaker: Speaker,
    options: argparse.Namespace,
    folder: Path,
    replies: list[Reply],
) -> None:
    """One flight to its end, or until there are enough replies."""
    plan, _ = plan_of(drill, None, "corbel", "31", seed=seed)
    notices: deque[str] = deque()
    clock, output = Clock(), Output()
    sounds = TimedSound(RadioRoom(speaker, plan.stations, seed), output)
    with Logbook.open(folder) as logbook:
        tape = SessionRecording(folder / f"{drill}-{seed}.wav", SAMPLE_RATE)
        book = FlightBook(logbook, logbook.start_session({}, "2025-01-31T18:00:00"), tape, print)
        live = LiveSession(plan, "real", sounds, book, notices)
        app = FlightApp(live, clock=clock)
        async with app.run_test(size=(120, 40)) as pilot:
            for number in itertools.count():
                await pilot.pause()
                due = to_the_next_call(live)
                if due is None or len(replies) >= options.replies:
                    break
                clock()
                clock.runs = output.on = True
                reply = await one_call(live, app, sounds, heard(due, number), options)
                clock()
                clock.runs = output.on = False
                output.stop()
                replies += [reply] if reply else []
            app.advance = lambda wall_seconds: None  # type: ignore[method-assign]
        live.close()


def to_the_next_call(live: LiveSession) -> str | None:
    for _ in range(20_000):
        prompt = live.session.prompt
        if live.session.ended:
            return None
        if prompt is not None and not live.session.on_air and not live.muted:
            return prompt.model_call
        live.tick(1.0)  # nobody looks at the screen
    return None


async def one_call(
    live: LiveSession, app: FlightApp, sounds: TimedSound, said: Heard, options: argparse.Namespace
) -> Reply | None:
    """The trainee speaks; the tower's reply to him, if it comes soon."""
    own = live.plan.callsign
    to_own: list[str] = []
    took_place = app.took_place

    def watch(events: list[Event]) -> None:
        to_own.extend(
            event.words for event in events if isinstance(event, TowerSpoke) and event.to in (own, "")
        )
        took_place(events)

    judged: list[float] = []
    hear = live.hear

    def timed_hear(event):  # type: ignore[no-untyped-def]
        events = hear(event)
        judged.append(time.perf_counter())
        return events

    app.took_place, live.hear = watch, timed_hear  # type: ignore[method-assign]
    try:
        app.post_ears(TraineeKeyed())
        await asyncio.sleep(options.speaking)
        judged.clear()
        sounds.times.clear()
        began = time.perf_counter()
        samples = np.zeros(round(options.speaking * SAMPLE_RATE), np.int16)
        app.post_ears(TraineeSaid(said, samples, options.silent))
        while not to_own and time.perf_counter() < began + PATIENCE_S and not live.session.ended:
            await asyncio.sleep(0.005)
    finally:
        app.took_place, live.hear = took_place, hear  # type: ignore[method-assign]
    if not to_own:
        return None
    at = next(i for i, (who, words, *_) in enumerate(sounds.times) if who == TOWER and words == to_own[0])
    _, words, ready, times = sounds.times[at]
    return Reply(words, ready, at > 0, [moment - began for moment in (judged[0], *times)])


def account(replies: list[Reply]) -> Iterator[str]:
    totals = np.array([reply.parts[-1] for reply in replies]) * 1000
    yield f"{len(replies)} replies: median {np.median(totals):.0f} ms, p95 {np.percentile(totals, 95):.0f} ms,"
    yield f"longest {totals.max():.0f} ms; made ahead {sum(r.ready for r in replies)} of {len(replies)};"
    yield f"after another's transmission {sum(reply.waited for reply in replies)}"
    steps = np.diff(np.array([[0.0, *reply.parts] for reply in replies]), axis=1) * 1000
    for name, column in zip(PARTS, steps.T, strict=True):
        yield f"  {name:12} median {np.median(column):6.1f} ms, p95 {np.percentile(column, 95):6.1f} ms"
    for ready in (True, False):
        some = [reply.parts[-1] * 1000 for reply in replies if reply.ready is ready]
        if some:
            name = "made ahead" if ready else "not ready"
            yield f"  {name:12} median {np.median(some):6.1f} ms, p95 {np.percentile(some, 95):6.1f} ms"
    longest = max(replies, key=lambda reply: reply.parts[-1])
    at = ", ".join(f"{name} {1000 * s:.0f}" for name, s in zip(PARTS, longest.parts, strict=True))
    yield f"  the longest: {longest.words} (ms after the end: {at})"
    missed = Counter(reply.words for reply in replies if not reply.ready)
    yield from (f"    not ready {count} x {words}" for words, count in missed.most_common(8))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--replies", type=int, default=200)
    parser.add_argument("--speaking", type=float, default=1.0, help="seconds from key on to end of speech")
    parser.add_argument("--silent", type=float, default=0.35, help="seconds of silence that ended the call")
    options = parser.parse_args()
    replies: list[Reply] = []
    with tempfile.TemporaryDirectory() as folder, WorkerSpeaker() as speaker, suppress(KeyboardInterrupt):
        speaker.voices()
        for seed in itertools.count(1):
            if len(replies) >= options.replies:
                break
            asyncio.run(flight(DRILLS[seed % 3], seed, speaker, options, Path(folder), replies))
            print(f"after flight {seed}:", "\n".join(account(replies)), sep="\n", flush=True)


if __name__ == "__main__":
    main()
