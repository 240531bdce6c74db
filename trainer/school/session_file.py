"""A session in one file: written on a student's machine to be handed in, read here and never trusted.

A ZIP with `session.json`, its manifest with a version and a checksum of each member, and perhaps a recording.
Nothing is unpacked by the names in it: the members are known, any other is refused.
"""

import hashlib
import json
import zipfile
from pathlib import Path
from typing import Annotated, Any, BinaryIO, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from trainer.debrief.kept_session import check_session
from trainer.errors import TrainerError
from trainer.logbook.locations import for_this_user
from trainer.logbook.store import Logbook, SessionRow
from trainer.zips import NOT_WHOLE, plainly_packed

ENDING = ".pvsession"
FORMAT: Literal["patternvoice session"] = "patternvoice session"
VERSION = 1
MANIFEST, SESSION = "manifest.json", "session.json"
RECORDINGS = ("recording.wav", "recording.flac")
MOST_BYTES = {MANIFEST: 100_000, SESSION: 64_000_000, **dict.fromkeys(RECORDINGS, 1_400_000_000)}
"""What a member may unpack to: an hour's session is a few hundred kB, twelve hours of sound 1.4 GB."""
_EXPORT_AGAIN = "hand the session in again (patternvoice class hand-in)"
_CALL_EVENTS = ("TraineeSpoke", "CallMissed")

_Seconds = Annotated[float, Field(ge=0, le=1e7)]


class SessionFile(BaseModel):
    """What `session.json` holds. `track` are second, NM east and north, feet, leg; `clips` second, station,
    start and seconds in the recording."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)

    started: str = Field(max_length=40)
    trainee: str = Field(default="", max_length=80)
    meta: dict[str, Any]
    summary: dict[str, Any] | None
    events: list[dict[str, Any]] = Field(max_length=200_000)
    track: list[tuple[_Seconds, float, float, float, str]] = []
    clips: list[tuple[_Seconds, str, _Seconds, _Seconds]] = []

    @model_validator(mode="after")
    def _calls_are_calls(self) -> "SessionFile":
        check_session(self.meta, self.summary, self.events)
        return self

    @property
    def calls(self) -> int:
        return sum(event["event"] in _CALL_EVENTS for event in self.events)

    @property
    def digest(self) -> str:
        """The same for the same session, however often and under whatever name it was exported."""
        what = json.dumps([self.started, self.meta, self.events], sort_keys=True).encode()
        return hashlib.sha256(what).hexdigest()


class _Manifest(BaseModel):
    format: Literal["patternvoice session"]
    version: int
    sha256: dict[str, str]


def read_session(path: Path) -> SessionFile:
    """The session, its version and checksums verified; TrainerError says what is wrong with the file."""
    try:
        with zipfile.ZipFile(path) as pack:
            manifest = _manifest(path, pack)
            for name in pack.namelist():
                if name != MANIFEST:
                    _verify(path, pack, name, manifest)
            return SessionFile.model_validate_json(_whole(path, pack, SESSION))
    except FileNotFoundError:
        raise TrainerError(f"there is no file {path}", "check the name and the folder") from None
    except ValidationError as error:  # a ValueError, so before those of the archive
        first = error.errors()[0]
        where = ".".join(map(str, first["loc"])) or "the session"
        raise _refused(
            path, f"holds no session as patternvoice writes it ({where}: {first['msg']})"
        ) from None
    except (OSError, *NOT_WHOLE) as error:
        raise _refused(path, f"is no whole export ({error})") from None


def copy_recording(path: Path, stem: Path) -> Path | None:
    """The recording of a file that `read_session` has read, as stem.wav or stem.flac; None if it has none."""
    with zipfile.ZipFile(path) as pack:
        name = next((name for name in RECORDINGS if name in pack.namelist()), None)
        if name is None:
            return None
        out = stem.with_suffix(Path(name).suffix)
        part = out.with_name(f"{out.name}.part")
        with pack.open(name) as source, open(part, "wb", opener=for_this_user) as sink:
            while block := source.read(1 << 20):
                sink.write(block)
        part.replace(out)
        return out


def write_session(logbook: Logbook, row: SessionRow, folder: Path, trainee: str) -> Path:
    """The session as a file of the folder, with its recording if there is one; `trainee` as on the roster.

    Returns its path; TrainerError for a file that is there or cannot be written, LogbookError.
    """
    session = SessionFile(
        started=row.started,
        trainee=trainee,
        meta=row.meta,
        summary=row.summary,
        events=logbook.events(row.id),
        track=[(p.at, p.east, p.north, p.feet, p.leg) for p in logbook.track(row.id)],
        clips=[(c.at, c.station, c.start, c.seconds) for c in logbook.clips(row.id)],
    )
    text = session.model_dump_json().encode()
    recording = logbook.recording_path(row)
    sums = {SESSION: hashlib.sha256(text).hexdigest()}
    name = f"recording{recording.suffix.lower()}" if recording else ""
    try:
        if recording is not None:
            with recording.open("rb") as sound:
                sums[name] = hashlib.file_digest(sound, "sha256").hexdigest()
        manifest = _Manifest(format=FORMAT, version=VERSION, sha256=sums)
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"session-{row.started[:10]}-{session.digest[:10]}{ENDING}"
        with path.open("xb") as file, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as pack:
            pack.writestr(MANIFEST, manifest.model_dump_json())
            pack.writestr(SESSION, text)
            if recording is not None:
                pack.write(recording, name, zipfile.ZIP_STORED)
    except FileExistsError:
        raise TrainerError(f"{path} is there already", "it is this session; hand that file in") from None
    except OSError as error:
        raise TrainerError(
            f"{folder} cannot be written ({error.strerror})", "name a folder that has room"
        ) from error
    return path


def _manifest(path: Path, pack: zipfile.ZipFile) -> _Manifest:
    names = pack.namelist()
    for name in names:
        if name not in MOST_BYTES:
            raise _refused(path, f'holds "{name[:80]}", which does not belong in a session')
    for info in pack.infolist():
        if info.file_size > MOST_BYTES[info.filename]:
            raise _refused(path, f"holds {info.file_size:,} bytes of {info.filename}, too much")
        if not plainly_packed(info):
            raise _refused(path, f"has {info.filename} packed as no export is")
    if len(set(names)) != len(names) or sum(name in RECORDINGS for name in names) > 1:
        raise _refused(path, "holds something twice")
    for needed in (MANIFEST, SESSION):
        if needed not in names:
            raise _refused(path, f"has no {needed}")
    manifest = _Manifest.model_validate_json(_whole(path, pack, MANIFEST))
    if manifest.version > VERSION:
        raise TrainerError(
            f"{path} is of version {manifest.version}, this reads {VERSION}", "update patternvoice"
        )
    if manifest.version < 1 or set(manifest.sha256) != set(names) - {MANIFEST}:
        raise _refused(path, "has a manifest that does not fit it")
    return manifest


def _verify(path: Path, pack: zipfile.ZipFile, name: str, manifest: _Manifest) -> None:
    digest = hashlib.sha256()
    with pack.open(name) as member:
        for block in _blocks(path, member, name):
            digest.update(block)
    if digest.hexdigest() != manifest.sha256[name]:
        raise _refused(path, f"was changed or damaged: the checksum of {name} is another")


def _whole(path: Path, pack: zipfile.ZipFile, name: str) -> bytes:
    with pack.open(name) as member:
        return b"".join(_blocks(path, member, name))


def _blocks(path: Path, member: Any, name: str) -> Any:
    """What is unpacked, up to what may be: the header's own figure is not believed."""
    left = MOST_BYTES[name]
    source: BinaryIO = member
    while block := source.read(1 << 20):
        left -= len(block)
        if left < 0:
            raise _refused(path, f"unpacks to too much of {name}")
        yield block


def _refused(path: Path, why: str) -> TrainerError:
    return TrainerError(f"{path} {why}", _EXPORT_AGAIN)
