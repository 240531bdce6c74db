"""Recordings judged again in parallel, here and on a cluster: nothing lost, nothing twice, whoever dies."""

import csv
import json
import os
import signal
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from tests.school.deadly import judge_and_sign, judge_or_die
from trainer.cli import main
from trainer.commands.question import Question
from trainer.ears.recogniser import SAMPLE_RATE
from trainer.errors import TrainerError
from trainer.logbook.recording import SessionRecording
from trainer.logbook.store import Clip, Logbook
from trainer.school.grading import LEDGER, TABLE, grade
from trainer.school.regrading import Graded, Work, judge
from trainer.school.session_file import write_session
from trainer.school.workers import judge_here, judge_on_cluster
from voices.mixing import resample
from voices.sound import Sound, Voice
from voices.speaker import WorkerSpeaker
from voices.wav import write_wav

ROOT = Path(__file__).parents[2]
SAID = {
    "gear.wav": "sable two one, gear down, touch and go",
    "closed/request.wav": "sable two one, request closed",
    "closed/bare.wav": "sable two one, touch and go",
    "readback.wav": "sable two one, runway three one, cleared touch and go",
}
QUESTIONS = (
    "file,call,after,intention\n"
    "gear.wav,gear_report,,touch_and_go\n"
    "closed/request.wav,request_closed,,\n"
    "closed/bare.wav,gear_report,,touch_and_go\n"
    'readback.wav,,"SABLE 21, runway 31, cleared touch and go",\n'
)


def run(*words: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    return int(ended.value.code or 0)


@pytest.fixture(scope="module")
def spoken() -> dict[str, Sound]:
    """Each of the calls in a synthetic voice with half a second of faint noise around it."""
    sounds = {}
    with WorkerSpeaker() as worker:
        for name, words in SAID.items():
            sound = worker.speak(words, Voice("en-us+f3", 155))
            quiet = np.zeros(sound.rate // 2, np.float32)
            samples = np.concatenate([quiet, 0.5 * sound.samples, quiet])
            hiss = np.random.default_rng(1).normal(0, 1e-3, len(samples))
            sounds[name] = Sound((samples + hiss).astype(np.float32), sound.rate)
    return sounds


@pytest.fixture
def folder(spoken: dict[str, Sound], tmp_path: Path) -> Path:
    (tmp_path / "closed").mkdir()
    for name, sound in spoken.items():
        write_wav(tmp_path / name, sound)
    (tmp_path / "questions.csv").write_text(QUESTIONS)
    return tmp_path


def in_this_process(works: Iterable[Work]) -> Iterator[Graded]:
    return map(judge, works)


def rows(folder: Path) -> dict[str, dict]:
    lines = [json.loads(line) for line in (folder / LEDGER).read_text(encoding="utf-8").splitlines()]
    assert len({line["key"] for line in lines}) == len(lines)
    return {line["file"]: line for line in lines}


def test_a_folder_is_judged_in_processes_here_and_a_second_time_nothing_is(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "broken.wav").write_bytes(b"RIFF no more")
    assert run("grade", str(folder), "--workers", "2") == 2
    said = capsys.readouterr()
    assert "broken.wav" in said.err
    assert "4 judged now, 0 before, 1 not; 3 accepted" in said.out
    found = rows(folder)
    assert {name: row["assessment"]["accepted"] for name, row in found.items()} == {
        "gear.wav": True, "closed/request.wav": True, "closed/bare.wav": False, "readback.wav": True,
    }  # fmt: skip
    assert found["closed/bare.wav"]["assessment"]["critical"] == ["gear"]
    with (folder / TABLE).open(encoding="utf-8", newline="") as file:
        table = {row["file"]: row for row in csv.DictReader(file)}
    assert (table["gear.wav"]["accepted"], table["closed/bare.wav"]["accepted"]) == ("yes", "no")
    assert table["broken.wav"]["problem"]
    (folder / "broken.wav").unlink()
    before = (folder / LEDGER).read_bytes()
    assert run("grade", str(folder)) == 0
    assert "0 judged now, 4 before, 0 not; 3 accepted" in capsys.readouterr().out
    assert (folder / LEDGER).read_bytes() == before


def test_who_was_broken_off_in_the_middle_of_a_line_goes_on_where_he_was(folder: Path) -> None:
    def two_then_broken_off(works: Iterator[Work]) -> Iterator:
        for number, graded in enumerate(in_this_process(works), 1):
            yield graded
            if number == 2:
                raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        grade(folder, Question(), two_then_broken_off, None, print)
    assert len(rows(folder)) == 2
    with (folder / LEDGER).open("a") as ledger:
        ledger.write('{"key": "half a li')
    found = grade(folder, Question(), in_this_process, None, print)
    assert (found.judged, found.before, found.failed) == (2, 2, 0)
    assert set(rows(folder)) == set(SAID)


def test_what_was_due_now_differs_so_it_is_judged_anew_and_the_old_one_is_not_counted(folder: Path) -> None:
    grade(folder, Question(), in_this_process, None, print)
    (folder / "questions.csv").write_text(QUESTIONS.replace("gear.wav,gear_report", "gear.wav,initial"))
    found = grade(folder, Question(), in_this_process, None, print)
    assert (found.judged, found.before, found.accepted) == (1, 3, 2)


def test_a_recording_that_kills_its_process_costs_no_other_one(tmp_path: Path) -> None:
    names = [
        *(f"call {number}" for number in range(6)),
        "deadly",
        *(f"call {number}" for number in range(6, 9)),
    ]
    found = list(judge_here([Work(name, b"", Question()) for name in names], 2, judge_or_die))
    assert Counter(graded.result["file"] for graded in found) == Counter(names)
    assert [graded.result["file"] for graded in found if graded.problem] == ["deadly"]


def test_the_calls_of_a_handed_in_session_are_judged_again_beside_their_verdict_then(
    spoken: dict[str, Sound], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A session of two calls whose ears had heard the first wrongly; its recording says otherwise."""
    with Logbook.open(tmp_path / "own") as logbook:
        meta = {
            "callsign": "SABLE 21",
            "runway": "31",
            "field": "Corbel Field",
            "title": "Two",
            "pace": "real",
        }
        number = logbook.start_session(meta, "2026-11-25T10:00:00+00:00")
        (tmp_path / "own" / "recordings").mkdir()
        tape = SessionRecording(tmp_path / "own" / "recordings" / "two.wav", SAMPLE_RATE)
        tower = {
            "event": "TowerSpoke",
            "at": 20.0,
            "to": "SABLE 21",
            "reply": "cleared",
            "reasons": [],
            "blocked": False,
        }
        logbook.write(number, event(10.0, "gear_report", "gear", "down", "missing", "critical", 50, False))
        logbook.write(number, {**tower, "words": "sable two one, runway three one, cleared touch and go"})
        logbook.write(number, event(25.0, "answer_to_cleared", "runway", "31", "right", "none", 100, True))
        for at, name in ((10.0, "gear.wav"), (25.0, "readback.wav")):
            sound = resample(spoken[name], SAMPLE_RATE)
            start = tape.append((sound.samples * 32767).astype(np.int16), at)
            assert start is not None
            logbook.recorded(number, Clip(at, "SABLE 21", start, len(sound.samples) / SAMPLE_RATE))
        tape.close()
        logbook.finish(number, {"reason": "full stop", "at": 40.0}, tape.path)
        write_session(logbook, logbook.sessions()[0], tmp_path / "in", "7")
    assert run("grade", str(tmp_path / "in"), "--workers", "1") == 0
    assert "1 of 2 calls have another verdict" in capsys.readouterr().out
    gear, readback = (row for _, row in sorted(rows(tmp_path / "in").items()))
    assert (gear["was"], gear["assessment"]["score"]) == ({"accepted": False, "score": 50}, 100)
    assert (readback["was"], readback["assessment"]["score"]) == ({"accepted": True, "score": 100}, 100)


def test_sessions_that_were_handed_in_without_sound_are_said_to_be_so(tmp_path: Path, capsys) -> None:
    with Logbook.open(tmp_path / "own") as logbook:
        number = logbook.start_session({"callsign": "SABLE 21"}, "2026-11-25T10:00:00+00:00")
        logbook.write(number, event(10.0, "gear_report", "gear", "down", "missing", "critical", 50, False))
        logbook.finish(number, {"reason": "full stop", "at": 40.0}, None)
        write_session(logbook, logbook.sessions()[0], tmp_path / "in", "7")
    assert run("grade", str(tmp_path / "in")) == 2
    assert "has a recording of its calls" in capsys.readouterr().err
    assert not (tmp_path / "in" / "grades.csv").exists()


def event(
    at: float, call: str, element: str, expected: str, verdict: str, severity: str, score: int, accepted: bool
) -> dict:
    judged = {"element": element, "expected": expected, "heard": "", "verdict": verdict, "severity": severity}
    return {
        "event": "TraineeSpoke", "at": at, "call": call, "heard_by": "situation", "words": [], "score": score,
        "accepted": accepted, "critical": [], "heard": "", "model_call": "", "elements": [{**judged, "rule": ""}],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("nowhere",), "there is no folder nowhere"),
        ((".",), "no recording in ."),
        ((".", "--workers", "0"), "0 workers: write 1 to 256"),
        ((".", "--workers", "2", "--scheduler", "tcp://x:1"), "leave one out"),
        ((".", "--call", "gear_reprot"), "gear_reprot"),
    ],
)
def test_bad_input_is_one_sentence(words, sentence, tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("grade", *words) == 2
    said = capsys.readouterr().err
    assert sentence in said
    assert said.count("\n") == 1


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("file,cal\n", 'no column "cal"'),
        ("call\ngear_report\n", "no column file"),
        ("file,altitude_ft\ngear.wav,high\n", "line 2: a value that cannot stand there"),
        ("file,call\ngear.wav,gear_report,too,many\n", "line 2: a value that cannot stand there"),
    ],
)
def test_a_bad_list_of_questions_is_one_sentence_with_its_line(text, sentence, folder: Path, capsys) -> None:
    (folder / "questions.csv").write_text(text)
    assert run("grade", str(folder)) == 2
    assert sentence in capsys.readouterr().err


# -- on a cluster --------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def cluster() -> Iterator:
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        dashboard_address=None,
        silence_logs=50,
        env={"PYTHONPATH": str(ROOT)},
    ) as local:
        yield local


def test_on_a_cluster_a_worker_is_killed_in_the_middle_and_nothing_is_lost_or_judged_twice(
    cluster, tmp_path: Path
) -> None:
    works = [Work(f"call {number}", b"", Question()) for number in range(30)]
    handed_back: list[str] = []
    early: set[str] = set()
    killed = None
    for graded in judge_on_cluster(works, cluster.scheduler_address, partial(judge_and_sign, str(tmp_path))):
        assert graded.problem is None
        handed_back.append(graded.result["file"])
        if len(handed_back) == 5:
            early = set(handed_back)
            busy = [state for state in cluster.scheduler.workers.values() if state.processing]
            victim = next(each for each in cluster.workers.values() if each.worker_address == busy[0].address)
            killed = victim.pid
            os.kill(killed, signal.SIGKILL)
    assert killed is not None
    assert Counter(handed_back) == Counter(work.name for work in works)
    signed = Counter(path.name.split(".")[0] for path in tmp_path.iterdir())
    assert set(signed) == set(handed_back)
    assert {name: signed[name] for name in early} == dict.fromkeys(early, 1)
    assert sum(signed.values()) <= len(works) + 1  # one may have been done, and not yet fetched, when it died


def test_on_a_cluster_the_grades_are_those_of_this_machine(cluster, folder: Path, capsys) -> None:
    assert run("grade", str(folder), "--scheduler", cluster.scheduler_address) == 0
    there = rows(folder)
    (folder / LEDGER).unlink()
    assert run("grade", str(folder), "--workers", "1") == 0
    here = rows(folder)
    assert {name: {**row, "took_s": 0} for name, row in there.items()} == {
        name: {**row, "took_s": 0} for name, row in here.items()
    }


def test_a_scheduler_that_does_not_answer_is_one_sentence(folder: Path, monkeypatch, capsys) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("trainer.school.workers.CONNECT_S", 1)
    began = time.monotonic()
    assert run("grade", str(folder), "--scheduler", "tcp://127.0.0.1:9") == 2
    assert "no Dask scheduler answers at tcp://127.0.0.1:9" in capsys.readouterr().err
    assert time.monotonic() - began < 60  # it gives up


def test_without_dask_the_way_to_get_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(TrainerError, match="cluster"):
        next(judge_on_cluster([], "tcp://x:1"))


@pytest.mark.parametrize("address", ["localhost", "tcp://localhost", "tcp://:", "a b:8786", ""])
def test_what_is_no_address_of_a_scheduler_is_refused_before_anything_is_opened(address: str) -> None:
    pytest.importorskip("distributed")
    with pytest.raises(TrainerError, match="is no address of a scheduler"):
        next(judge_on_cluster([], address))
