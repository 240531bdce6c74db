"""Filters, deletion for good, the backup, and old logbooks brought up to date."""

import io
import json
import sqlite3
import stat
import zipfile
from pathlib import Path

import numpy as np
import pytest

from trainer.logbook import schema
from trainer.logbook.errors import LogbookError
from trainer.logbook.keeping import Which, back_up, delete, find, rows_of
from trainer.logbook.recording import SessionRecording
from trainer.logbook.recordings import as_flac, bytes_taken, piece
from trainer.logbook.store import FILE_NAME, Logbook

SECRET = "zanzibar quartet"


def test_what_is_listed_is_what_was_flown(flown: Path) -> None:
    with Logbook.open(flown) as logbook:
        second, first = find(logbook, Which())
        assert (first.id, second.id) == (1, 2)
        assert second.accepted == second.calls > 10
        assert second.score == 100.0
        assert first.accepted < first.calls
        assert first.ended
        assert not first.recorded
        events = logbook.events(1)
    made = [event for event in events if event["event"] in ("TraineeSpoke", "CallMissed")]
    assert first.calls == len(made)
    assert first.accepted == sum(event.get("accepted", False) for event in made)


@pytest.mark.parametrize(
    ("which", "found"),
    [
        (Which(sessions=(2,)), [2]),
        (Which(since="2026-02-01"), [2]),
        (Which(until="2026-01-31"), [1]),
        (Which(drill="FIRST"), [2, 1]),
        (Which(drill="%"), []),
        (Which(call="gear_report"), [2, 1]),
        (Which(call="closed_denied_breakout"), [2, 1]),
        (Which(call="emergency"), []),
        (Which(since="2026-01-01", until="2026-01-31", call="initial"), [1]),
    ],
)
def test_filters(flown: Path, which: Which, found: list[int]) -> None:
    with Logbook.open(flown) as logbook:
        assert [line.id for line in find(logbook, which)] == found
        assert [row.id for row in rows_of(logbook, which)] == found[::-1]


def with_a_recording(logbook: Logbook, folder: Path) -> Path:
    path = folder / "recordings" / "a.wav"
    path.parent.mkdir(mode=0o700)
    recording = SessionRecording(path)
    recording.append(np.arange(16_000, dtype=np.int16), 0.0)
    recording.close()
    logbook.recording_is(1, path)
    return path


def test_deleted_is_gone_with_its_recording_and_from_the_bytes_of_the_file(flown: Path) -> None:
    with Logbook.open(flown) as logbook:
        path = with_a_recording(logbook, flown)
        logbook.write(1, {"event": "A", "at": 1.0, "words": SECRET})
        assert any(SECRET.encode() in each.read_bytes() for each in flown.glob(f"{FILE_NAME}*"))
        assert delete(logbook, rows_of(logbook, Which(sessions=(1,)))) == 1
        assert not path.exists()
        assert [line.id for line in find(logbook, Which())] == [2]
        for table in ("events", "calls", "track", "tallies"):
            assert {number for (number,) in logbook.rows(f"SELECT session FROM {table}")} == {2}
        assert logbook.rows("SELECT count(*) FROM marks WHERE call_id NOT IN (SELECT id FROM calls)") == [
            (0,)
        ]
        assert not any(SECRET.encode() in each.read_bytes() for each in flown.glob(f"{FILE_NAME}*"))


def test_a_recording_alone_can_be_deleted(flown: Path) -> None:
    with Logbook.open(flown) as logbook:
        path = with_a_recording(logbook, flown)
        assert delete(logbook, rows_of(logbook, Which(sessions=(1,))), only_recordings=True) == 1
        assert not path.exists()
        assert [(line.id, line.recorded) for line in find(logbook, Which())] == [(2, False), (1, False)]


def test_a_recording_that_cannot_be_deleted_keeps_its_session(flown: Path) -> None:
    with Logbook.open(flown) as logbook:
        path = with_a_recording(logbook, flown)
        rows = rows_of(logbook, Which(sessions=(1,)))
        moved = path.rename(path.with_name("b.wav"))
        path.mkdir()
        assert delete(logbook, rows, only_recordings=True) == 0, "a folder is no recording"
        assert moved.exists()


def test_the_backup_unpacks_into_a_logbook(flown: Path, tmp_path: Path) -> None:
    out = tmp_path / "backup.zip"
    with Logbook.open(flown) as logbook:
        with_a_recording(logbook, flown)
        assert back_up(logbook, out) == 1
        lines = find(logbook, Which())
        with pytest.raises(LogbookError, match="already; name another"):
            back_up(logbook, out)
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    assert not list(tmp_path.glob("backup.zip.*"))
    with zipfile.ZipFile(out) as pack:
        pack.extractall(tmp_path / "restored")
    with Logbook.open(tmp_path / "restored") as logbook:
        assert find(logbook, Which()) == lines
        (row,) = logbook.sessions("id = 1")
        assert logbook.recording_path(row) == tmp_path / "restored" / "recordings" / "a.wav"


def test_a_logbook_of_the_first_version_is_brought_up_to_date(flown: Path, tmp_path: Path) -> None:
    """Its calls are counted as if they had been written today."""
    old = tmp_path / "old"
    old.mkdir()
    with Logbook.open(flown) as logbook, sqlite3.connect(old / FILE_NAME) as first:
        for step in schema.MIGRATIONS[0]:
            assert isinstance(step, str)
            first.execute(step)
        first.executemany(
            "INSERT INTO sessions VALUES (?, ?, ?, ?, ?)",
            logbook.rows("SELECT id, started, meta, summary, recording FROM sessions"),
        )
        first.executemany("INSERT INTO events VALUES (?, ?, ?, ?, ?)", logbook.rows("SELECT * FROM events"))
        first.execute("PRAGMA user_version = 1")
    first.close()
    with Logbook.open(old) as new, Logbook.open(flown) as logbook:
        for table in ("calls", "marks", "items", "tallies"):
            assert new.rows(f"SELECT * FROM {table}") == logbook.rows(f"SELECT * FROM {table}"), table
        assert new.rows("SELECT count(*) FROM calls")[0][0] > 20


def test_a_session_that_another_program_began_is_counted_alike(flown: Path) -> None:
    with Logbook.open(flown) as logbook:
        again = logbook.start_session(
            json.loads(logbook.rows("SELECT meta FROM sessions")[0][0]), "2026-03-01"
        )
        events = logbook.events(1)
        for event in events[: len(events) // 2]:
            logbook.write(again, event)
    with Logbook.open(flown) as logbook:
        for event in events[len(events) // 2 :]:
            logbook.write(again, event)
        one, other = (
            logbook.rows("SELECT at, call, reply, score FROM calls WHERE session = ? ORDER BY id", (number,))
            for number in (1, again)
        )
        assert one == other


def test_flac_holds_the_same_samples_in_less_room(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    samples = (3000 * np.sin(np.arange(80_000) / 9.0) + rng.normal(0, 30, 80_000)).astype(np.int16)
    recording = SessionRecording(tmp_path / "a.wav")
    recording.append(samples, 0.0)
    recording.close()
    wav_size = bytes_taken(tmp_path)
    small = as_flac(tmp_path / "a.wav")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.flac", "a.wav"]
    (tmp_path / "a.wav").unlink()
    assert stat.S_IMODE(small.stat().st_mode) == 0o600
    assert bytes_taken(tmp_path) < 0.7 * wav_size
    found, rate = piece(small, 1.0, 0.5)
    assert rate == 16_000
    np.testing.assert_array_equal(found, samples[16_000:24_000])


def test_a_recording_stops_at_the_limit_and_says_so_once(tmp_path: Path) -> None:
    recording = SessionRecording(tmp_path / "a.wav", most_bytes=5000)
    assert recording.append(np.ones(1600, np.int16), 0.0) == 0.0
    with pytest.raises(LogbookError, match="have come to their limit"):
        recording.append(np.ones(1600, np.int16), 0.1)
    assert recording.append(np.ones(10, np.int16), 0.1) is None


def test_what_is_no_recording_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "a.wav").write_bytes(io.BytesIO(b"nothing").getvalue())
    with pytest.raises(LogbookError, match="cannot be made a FLAC file"):
        as_flac(tmp_path / "a.wav")
    with pytest.raises(LogbookError, match="cannot be read"):
        piece(tmp_path / "a.wav", 0.0, 1.0)
    assert [path.name for path in tmp_path.iterdir()] == ["a.wav"]
