"""Fetching a model, from a server on this machine."""

import hashlib
import io
import json
import threading
import zipfile
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from trainer.ears.errors import FetchError
from trainer.ears.fetch import fetch_model

NETWORK = b"\0B<Nnet3> </Nnet3> <Priors> FV \x04\x02\0\0\0" + bytes(8)
FILES = {"am/final.mdl": NETWORK, "conf/mfcc.conf": b"x", "graph/HCLr.fst": b"x", "graph/Gr.fst": b"x"}


def zipped(files: dict[str, bytes], root: str = "tiny-model/") -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(root + name, content)
    return buffer.getvalue()


class Server:
    """Serves `pages`, by path."""

    def __init__(self) -> None:
        self.pages: dict[str, bytes] = {}
        pages = self.pages

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                page = pages.get(self.path)
                self.send_response(200 if page is not None else 404)
                self.send_header("Content-Length", str(len(page or b"")))
                self.end_headers()
                self.wfile.write(page or b"")

            def log_message(self, format: str, *args: object) -> None:
                pass

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self._server.server_address[1]}"
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.02,))
        self._thread.start()

    def publish(self, archive: bytes, md5: str | None = None) -> str:
        url = f"{self.url}/tiny-model.zip"
        self.pages["/tiny-model.zip"] = archive
        entry = {"name": "tiny-model", "url": url, "md5": md5 or hashlib.md5(archive).hexdigest()}
        self.pages["/list.json"] = json.dumps(
            [{"name": "other", "url": "elsewhere", "md5": "0"}, entry]
        ).encode()
        return url

    def fetch(self, folder: Path, url: str, sha256: str | None = None) -> Path:
        return fetch_model(folder, url, sha256=sha256, listing=f"{self.url}/list.json")

    def close(self) -> None:
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Iterator[Server]:
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    serving = Server()
    yield serving
    serving.close()


def test_a_model_is_fetched_checked_and_unpacked(server: Server, tmp_path: Path) -> None:
    url = server.publish(zipped(FILES))
    seen: list[tuple[int, int]] = []
    target = fetch_model(
        tmp_path / "models", url, listing=f"{server.url}/list.json", progress=lambda *now: seen.append(now)
    )
    assert target == tmp_path / "models" / "tiny-model"
    assert (target / "am" / "final.mdl").read_bytes() == NETWORK
    assert seen[-1][0] == seen[-1][1] == len(server.pages["/tiny-model.zip"])
    assert [path.name for path in target.parent.iterdir()] == ["tiny-model"]
    server.pages.clear()
    assert server.fetch(tmp_path / "models", url) == target, "what is there is not fetched again"
    (target / "graph" / "Gr.fst").unlink()
    with pytest.raises(FetchError, match=r"Gr\.fst is missing: delete .*tiny-model"):
        server.fetch(tmp_path / "models", url)


def test_a_checksum_that_is_given_goes_before_the_list(server: Server, tmp_path: Path) -> None:
    archive = zipped(FILES)
    url = server.publish(archive)
    del server.pages["/list.json"]
    assert server.fetch(tmp_path, url, sha256=hashlib.sha256(archive).hexdigest().upper()).is_dir()


@pytest.mark.parametrize("given", [None, "0" * 64])
def test_a_wrong_checksum(server: Server, tmp_path: Path, given: str | None) -> None:
    url = server.publish(zipped(FILES), md5="0" * 32)
    with pytest.raises(FetchError, match="is not what was published: try again"):
        server.fetch(tmp_path, url, given)
    assert list(tmp_path.iterdir()) == []


ARCHIVES = {
    "outside": zipped(FILES | {"../../stolen": b"x"}),
    "absolute": zipped(FILES, "/tiny-model/"),
    "drive": zipped(FILES, "C:/tiny-model/"),
    "backslashes": zipped(FILES | {"..\\..\\stolen": b"x"}),
    "two folders": zipped({"a/x": b"x", "b/x": b"x"}, ""),
    "no folder": zipped({"x": b"x"}, ""),
    "empty": zipped({}, ""),
    "no zip": b"<html>",
    "cut": zipped(FILES)[:-40],
    "no model": zipped({"readme": b"x"}),
    "cut model": zipped(FILES | {"am/final.mdl": NETWORK[:-1]}),
    "huge": zipped(FILES | {"zeros": bytes(401_000_000)}),
}


@pytest.mark.parametrize("name", ARCHIVES)
def test_archives_that_are_no_models_leave_nothing_behind(server: Server, tmp_path: Path, name: str) -> None:
    url = server.publish(ARCHIVES[name])
    with pytest.raises(FetchError, match=": try again later"):
        server.fetch(tmp_path / "models", url)
    assert list(tmp_path.rglob("*")) == [tmp_path / "models"]


@pytest.mark.parametrize(
    ("listing", "said"),
    [
        (b"<html>", "is not a list of models"),
        (b"[1]", "is not a list of models with checksums"),
        (b"[]", "has no checksum for .*: download it yourself"),
        (None, r"list\.json cannot be reached: check the connection"),
    ],
)
def test_a_list_that_does_not_help(server: Server, tmp_path: Path, listing: bytes | None, said: str) -> None:
    url = server.publish(zipped(FILES))
    del server.pages["/list.json"]
    if listing is not None:
        server.pages["/list.json"] = listing
    with pytest.raises(FetchError, match=said):
        server.fetch(tmp_path, url)


def test_no_network(server: Server, tmp_path: Path) -> None:
    url = server.publish(zipped(FILES))
    del server.pages["/tiny-model.zip"]
    with pytest.raises(FetchError, match=r"tiny-model\.zip cannot be reached: check the connection"):
        server.fetch(tmp_path, url)
