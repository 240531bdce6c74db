"""Fetch the publisher's usual small English model, for those who would rather hear with that."""

import errno
import hashlib
import shutil
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path, PurePosixPath

from trainer.ears.errors import FetchError, ModelError
from trainer.ears.model_files import check_model_files
from trainer.zips import NOT_WHOLE, plainly_packed

USUAL_MODEL = "https://alphacephei.com/vosk/models/vosk-model-small-en-us-0.15.zip"
MODEL_LIST = "https://alphacephei.com/vosk/models/model-list.json"
"""The publisher's own list of models, with an MD5 sum for each: the only checksum that he gives."""

_MAX_BYTES = 400_000_000  # unpacked; the usual one has about 70 million
_OF_THE_DISK = (errno.ENOSPC, errno.EIO, errno.EACCES, errno.EPERM, errno.EROFS)
"""Any other error of the system comes from a name in the archive, or from its packing."""
_TIMEOUT = (10.0, 60.0)  # seconds to connect, and between two pieces

Progress = Callable[[int, int], None]
"""Called with bytes so far and in all (0: unknown)."""


def fetch_usual_model(folder: Path, progress: Progress | None = None) -> Path:
    """Fetch it into a folder of its own in `folder`, which is returned; FetchError says what went wrong."""
    return fetch_model(folder, USUAL_MODEL, progress=progress)


def fetch_model(
    folder: Path,
    url: str,
    *,
    sha256: str | None = None,
    listing: str = MODEL_LIST,
    progress: Progress | None = None,
) -> Path:
    """Download a zipped model, check it, unpack it, put it in place in one step.

    Without `sha256` the MD5 sum is taken from the publisher's `listing`. A model that is already
    there is kept as it is.
    """
    target = folder / Path(url).stem
    if target.exists():
        _usable(target, f"delete {target} and fetch it again")
        return target
    algorithm, wanted = ("sha256", sha256) if sha256 else ("md5", _listed_md5(url, listing))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".fetch-", dir=folder) as name:
            archive = Path(name) / "model.zip"
            if _download(url, archive, algorithm, progress) != wanted.lower():
                raise FetchError(f"what came from {url} is not what was published", "try again later")
            unpacked = unpack(archive, Path(name) / "unpacked")
            _usable(unpacked, "try again later, or use the model that comes with patternvoice")
            unpacked.rename(target)
    except OSError as error:
        raise FetchError(f"{folder} cannot be written ({error.strerror})", "make room there") from error
    return target


def _usable(folder: Path, remedy: str) -> None:
    try:
        check_model_files(folder)
    except ModelError as error:
        raise FetchError(error.problem, remedy) from error


def _listed_md5(url: str, listing: str) -> str:
    import requests

    try:
        reply = requests.get(listing, timeout=_TIMEOUT)
        reply.raise_for_status()
        for model in reply.json():
            if model["url"] == url:
                return str(model["md5"])
    except requests.JSONDecodeError as error:
        raise FetchError(f"{listing} is not a list of models", "try again later") from error
    except requests.RequestException as error:
        raise _unreachable(listing) from error
    except (KeyError, RecursionError, TypeError) as error:
        raise FetchError(f"{listing} is not a list of models with checksums", "try again later") from error
    raise FetchError(f"{listing} has no checksum for {url}", "download it yourself and name its folder")


def _unreachable(url: str) -> FetchError:
    return FetchError(f"{url} cannot be reached", "check the connection; hearing works without this model")


def _download(url: str, archive: Path, algorithm: str, progress: Progress | None) -> str:
    """Write the archive; its checksum."""
    import requests

    digest = hashlib.new(algorithm)
    done = 0
    try:
        with requests.get(url, stream=True, timeout=_TIMEOUT) as reply, archive.open("wb") as file:
            reply.raise_for_status()
            total = int(reply.headers.get("Content-Length", 0))
            for piece in reply.iter_content(1 << 16):
                done += len(piece)
                if done > _MAX_BYTES:
                    raise FetchError(f"{url} is larger than any small model", "name another model")
                digest.update(piece)
                file.write(piece)
                if progress:
                    progress(done, total)
    except requests.RequestException as error:
        raise _unreachable(url) from error
    return digest.hexdigest()


def unpack(archive: Path, target: Path) -> Path:
    """Unpack it; the one folder that holds the model. Nothing may point outside, nothing may be huge."""
    bad = FetchError("the downloaded archive is not a model", "try again later")
    try:
        with zipfile.ZipFile(archive) as zipped:
            entries = [entry for entry in zipped.infolist() if not entry.filename.endswith("/")]
            if sum(entry.file_size for entry in entries) > _MAX_BYTES:
                raise bad
            if not all(plainly_packed(entry) for entry in entries):
                raise bad
            for entry in entries:
                parts = PurePosixPath(entry.filename.replace("\\", "/")).parts
                if not parts or parts[0] == "/" or ".." in parts or ":" in parts[0]:
                    raise bad
                path = target.joinpath(*parts)
                path.parent.mkdir(parents=True, exist_ok=True)
                with zipped.open(entry) as source, path.open("wb") as file:
                    shutil.copyfileobj(source, file)
    except NOT_WHOLE as error:
        raise bad from error
    except OSError as error:
        if error.errno in _OF_THE_DISK:
            raise
        raise bad from error
    folders = list(target.iterdir()) if target.is_dir() else []
    if len(folders) != 1 or not folders[0].is_dir():
        raise bad
    return folders[0]
