"""Judges many recordings at once: in processes on this machine, or on a Dask cluster that is there.

Either gives each piece of work back exactly once, in the order in which it is done. A process that dies takes
nothing with it: what it had in hand is given to another, and what has killed several is given back with a
sentence.
"""

import os
import re
from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from importlib import import_module
from itertools import islice
from multiprocessing import get_context
from typing import Any

from trainer.errors import TrainerError
from trainer.school.regrading import Graded, Judge, Work, judge

AHEAD = 3
"""So much work a worker is handed out at once: enough to keep it busy, little to hold in memory."""
MOST_DEATHS = 3
"""What was in hand when so many workers died is not tried again."""
CONNECT_S = 15
_ADDRESS = re.compile(r"inproc://\S+|(\w+://)?[^\s/]+:\d+")
_DIED = "the worker died each time this was judged: look at the recording"


def judge_here(works: Iterable[Work], workers: int | None = None, how: Judge = judge) -> Iterator[Graded]:
    """In processes on this machine, as many as there are cores unless said."""
    count = workers or os.cpu_count() or 1
    waiting = iter(works)
    deaths: dict[str, int] = {}
    again: list[Work] = []
    while True:
        in_hand: dict[Future[Graded], Work] = {}
        # spawned, not forked: the sound and recogniser libraries have threads
        with ProcessPoolExecutor(count, mp_context=get_context("spawn")) as pool:
            try:
                while True:
                    # who has seen a worker die is tried alone: then it is known whose doing it was
                    room = 1 if again else AHEAD * count
                    while len(in_hand) < room and (work := _next(again, waiting)) is not None:
                        in_hand[pool.submit(how, work)] = work
                    if not in_hand:
                        return
                    for done in wait(in_hand, return_when=FIRST_COMPLETED).done:
                        graded = done.result()
                        del in_hand[done]
                        yield graded
            except BrokenProcessPool:
                for done, work in in_hand.items():
                    if done.done() and done.exception() is None:
                        yield done.result()
                        continue
                    deaths[work.key] = deaths.get(work.key, 0) + 1
                    if deaths[work.key] >= MOST_DEATHS:
                        yield Graded.failed(work, _DIED)
                    else:
                        again.append(work)


def _next(again: list[Work], waiting: Iterator[Work]) -> Work | None:
    """What is to be tried again first, then the rest."""
    return again.pop(0) if again else next(waiting, None)


def judge_on_cluster(works: Iterable[Work], scheduler: str, how: Judge = judge) -> Iterator[Graded]:
    """On the Dask cluster whose scheduler is at this address; its workers need patternvoice too.

    TrainerError where Dask is not installed, the scheduler is not to be reached or lost, or it has no worker.
    """
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        raise TrainerError(
            "a cluster needs Dask, which is not installed",
            "pip install '.[cluster]' in the clone of patternvoice",
        ) from None
    if not _ADDRESS.fullmatch(scheduler):  # Dask itself would leave a half-open client behind
        raise TrainerError(f'"{scheduler}" is no address of a scheduler', "write it as tcp://HOST:8786")
    try:
        client = distributed.Client(scheduler, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise TrainerError(
            f"no Dask scheduler answers at {scheduler} ({_first_line(error)})",
            "start one (dask scheduler), or give its address as tcp://HOST:8786",
        ) from None
    try:
        yield from _on(distributed, client, iter(works), how)
    finally:
        client.close()


def _on(distributed: Any, client: Any, waiting: Iterator[Work], how: Judge) -> Iterator[Graded]:
    threads = sum(client.nthreads().values())
    if not threads:
        raise TrainerError("the cluster has no worker", "start some (dask worker ADDRESS)")
    in_hand: dict[str, Work] = {}
    done = distributed.as_completed(loop=client.loop)

    def hand_out(count: int) -> None:
        for work in islice(waiting, count):
            in_hand[work.key] = work
            done.add(client.submit(how, work, key=work.key, pure=True))

    hand_out(AHEAD * threads)
    for future in done:
        work = in_hand.pop(future.key)
        try:
            graded = future.result()
        except distributed.KilledWorker:
            graded = Graded.failed(work, _DIED)
        except distributed.CancelledError:
            raise TrainerError(
                "the scheduler was lost", "start it and grade again: what was judged is kept"
            ) from None
        except ImportError as error:
            raise TrainerError(
                f"a worker cannot judge ({_first_line(error)})", "install this patternvoice on every worker"
            ) from None
        yield graded
        future.release()
        hand_out(1)


def _first_line(error: BaseException) -> str:
    return (str(error) or type(error).__name__).splitlines()[0]
