"""Session files as another machine may write them."""

import hashlib
import io
import json
import tempfile
import zipfile
from functools import cache
from pathlib import Path
from typing import Any

from tests.logbook.flown import fly_into
from trainer.logbook.store import Logbook
from trainer.school.session_file import MANIFEST, SESSION, write_session


def packed(session: bytes, **changed: Any) -> bytes:
    """A session file whose checksum is right; `changed` stands in its manifest."""
    sums = {SESSION: hashlib.sha256(session).hexdigest()}
    manifest = {"format": "patternvoice session", "version": 1, "sha256": sums, **changed}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as pack:
        pack.writestr(MANIFEST, json.dumps(manifest))
        pack.writestr(SESSION, session)
    return out.getvalue()


def exported_session(folder: Path) -> Path:
    """A session as `class hand-in` writes it into the folder, one call of it wrong."""
    with Logbook.open(folder) as logbook:
        number = fly_into(logbook, wrong=("gear_report",))
        (row,) = logbook.sessions("id = ?", (number,))
        return write_session(logbook, row, folder, "7")


def shortened(path: Path) -> dict[str, Any]:
    """What that file holds, cut to its first calls, so that it is spoilt where it matters."""
    with zipfile.ZipFile(path) as pack:
        whole = json.loads(pack.read(SESSION))
    spoken = [place for place, event in enumerate(whole["events"]) if event["event"] == "TraineeSpoke"]
    kept = [*whole["events"][: spoken[1] + 2], whole["events"][-1]]
    missed = {"event": "CallMissed", "at": kept[-1]["at"], "call": "initial", "consequence": ""}
    return {**whole, "events": [*kept[:-1], missed, kept[-1]], "track": whole["track"][:3]}


@cache
def short_session() -> dict[str, Any]:
    """A session flown now, cut to its first calls."""
    with tempfile.TemporaryDirectory() as name:
        return shortened(exported_session(Path(name)))
