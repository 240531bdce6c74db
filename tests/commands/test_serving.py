"""`patternvoice serve`: who has the token flies in a browser, who has not is refused, nothing comes from outside."""

import asyncio
import base64
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import Any

import pytest

from trainer.commands.serve import HOST, REFUSALS_A_MINUTE, Doorkeeper
from trainer.judging import Question, expected_of
from trainer.logbook.store import Logbook
from trainer.settings import Choice, Settings

aiohttp = pytest.importorskip("aiohttp")
pytest.importorskip("textual_serve")

NEAR = Path(__file__).parents[1] / "screens" / "near"
PATIENCE_S = 60.0
CHROMIUM = shutil.which("chromium")


def test_the_door() -> None:
    now = [0.0]
    door = Doorkeeper("right", 8765, lambda: now[0])
    here = f"{HOST}:8765"
    assert door.status("/right/", here) == 200
    assert door.status("/right/ws", "somewhere.example:8765") == 403  # a name bound to this address
    wrong = ["/", "/ws", "", "/righ/", "/right.", "//right/", "/x/right/"]
    for number in range(REFUSALS_A_MINUTE - 1):
        assert door.status(wrong[number % len(wrong)], here) == 403
    assert door.status("/", here) == 429
    assert door.status("/right/", here) == 200  # who knows it is never shut out
    now[0] = 61.0
    assert door.status("/", here) == 403


@pytest.fixture
def address(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """The address that `serve` prints, and its data folder; the choice kept there is one circuit, typed."""
    data = tmp_path / "data"
    data.mkdir(mode=0o700)
    last = Choice(drill=str(NEAR / "one_circuit.yaml"), ears="silent")
    (data / "settings.json").write_text(Settings(last=last).model_dump_json(), encoding="utf-8")
    with socket.socket() as free:
        free.bind((HOST, 0))
        port = free.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-u", "-c", "from trainer.cli import main; main()", "serve", "--port", str(port)],
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PATTERNVOICE_DATA": str(data), "PYTHONPATH": os.getcwd()},
    )
    assert server.stdout is not None
    try:
        first, second = server.stdout.readline(), server.stdout.readline()
        assert "Microphone and loudspeaker are those of this machine" in second
        found = re.search(rf"http://{HOST}:{port}/[\w-]{{43}}/$", first)
        assert found is not None, first
        yield found[0].strip(), data
    finally:
        server.send_signal(signal.SIGINT)
        assert server.wait(PATIENCE_S) == 0
        assert server.stdout.read() == ""


async def test_without_the_token_there_is_nothing(address: tuple[str, Path]) -> None:
    url, _ = address
    root = url.rsplit("/", 2)[0]
    async with aiohttp.ClientSession() as client:
        for path in ("/", "/ws", "/static/js/textual.js", "/download/x", f"{url.rsplit('/', 2)[1][:-1]}/"):
            async with client.get(root + "/" + path.lstrip("/")) as answer:
                assert answer.status == 403, path
        with pytest.raises(aiohttp.WSServerHandshakeError) as refused:
            await client.ws_connect(f"{root}/ws?width=80&height=24")
        assert refused.value.status == 403
        async with client.get(url, headers={"Host": "somewhere.example"}) as answer:
            assert answer.status == 403
        async with client.get(url) as answer:
            page = await answer.text()
            assert answer.status == 200
            assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert {link.split("/")[2] for link in re.findall(r"(?:https?|wss?)://[^\"' )]+", page)} == {
            url.split("/")[2]
        }


async def test_it_listens_on_this_machine_alone_and_tires_of_guesses(address: tuple[str, Path]) -> None:
    """The kernel's list (proc(5): state 0A listens, the address in hexadecimal, last byte first)."""
    url, _ = address
    port = int(url.split(":")[2].split("/")[0])
    listening = [
        line.split()[1]
        for table in ("tcp", "tcp6")
        if (path := Path("/proc/net", table)).exists()
        for line in path.read_text().splitlines()[1:]
        if line.split()[3] == "0A" and line.split()[1].endswith(f":{port:04X}")
    ]
    assert listening == [f"0100007F:{port:04X}"]
    async with aiohttp.ClientSession() as client:
        statuses = []
        for _ in range(REFUSALS_A_MINUTE + 1):
            async with client.get(f"{url.rsplit('/', 2)[0]}/guess/") as answer:
                statuses.append(answer.status)
        assert set(statuses[:-2]) == {403}
        assert statuses[-1] == 429
        async with client.get(url) as answer:
            assert answer.status == 200


async def test_one_flies_at_a_time_and_the_session_is_kept(address: tuple[str, Path]) -> None:
    url, data = address
    async with aiohttp.ClientSession() as client:
        async with client.ws_connect(f"{url}ws?width=80&height=24") as page:
            await page.send_json(["stdin", "\r"])
            await until(lambda: sessions(data), "a session")
            with pytest.raises(aiohttp.WSServerHandshakeError) as refused:
                await client.ws_connect(f"{url}ws?width=80&height=24")
            assert refused.value.status == 409
        await until(lambda: sessions(data)[0].summary, "the end of it")  # the page was closed
        assert sessions(data)[0].summary["reason"] == "the trainee left"
        async with client.ws_connect(f"{url}ws?width=80&height=24"):
            pass


def sessions(data: Path) -> list[Any]:
    with Logbook.open(data) as logbook:
        return logbook.sessions()


def events(data: Path) -> list[dict[str, Any]]:
    with Logbook.open(data) as logbook:
        return logbook.events(1) if logbook.sessions() else []


async def until(there: Callable[[], Any], what: str, patience_s: float = PATIENCE_S) -> Any:
    end = time.monotonic() + patience_s
    while time.monotonic() < end:
        if found := there():
            return found
        await asyncio.sleep(0.2)
    raise AssertionError(f"{what} did not come in {patience_s:g} s")


class Browser:
    """A page of a headless Chromium, by the DevTools protocol."""

    def __init__(self, socket_: Any) -> None:
        self._socket = socket_
        self._number = 0
        self.asked: list[str] = []

    async def do(self, method: str, **params: Any) -> dict[str, Any]:
        self._number += 1
        await self._socket.send_json({"id": self._number, "method": method, "params": params})
        while True:
            said = json.loads((await self._socket.receive(timeout=PATIENCE_S)).data)
            if said.get("method") == "Network.requestWillBeSent":
                self.asked.append(said["params"]["request"]["url"])
            if said.get("method") == "Network.webSocketCreated":
                self.asked.append(said["params"]["url"])
            if said.get("id") == self._number:
                assert "error" not in said, said
                return dict(said["result"])

    async def type(self, words: str) -> None:
        """Key by key, then Enter."""
        for key in words:
            await self.do("Input.dispatchKeyEvent", type="keyDown", text=key, key=key)
            await self.do("Input.dispatchKeyEvent", type="keyUp", key=key)
        enter = {"key": "Enter", "code": "Enter", "windowsVirtualKeyCode": 13}
        await self.do("Input.dispatchKeyEvent", type="keyDown", text="\r", **enter)
        await self.do("Input.dispatchKeyEvent", type="keyUp", **enter)

    async def click(self, x: int, y: int) -> None:
        for what in ("mousePressed", "mouseReleased"):
            await self.do("Input.dispatchMouseEvent", type=what, x=x, y=y, button="left", clickCount=1)

    async def picture(self, path: Path) -> None:
        got = await self.do("Page.captureScreenshot", format="png")
        path.write_bytes(base64.b64decode(got["data"]))


@asynccontextmanager
async def browsing(folder: Path) -> AsyncIterator[Browser]:
    assert CHROMIUM is not None
    browser = subprocess.Popen(
        [
            CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-quic",
            "--disable-background-networking", "--disable-component-update", "--window-size=1200,800",
            f"--user-data-dir={folder}", "--remote-debugging-port=0", "about:blank",
        ],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        port = await until(
            lambda: (
                (folder / "DevToolsActivePort").exists()
                and (folder / "DevToolsActivePort").read_text().split()[:1]
            ),
            "the browser",
        )
        async with aiohttp.ClientSession() as client:
            async with client.get(f"http://127.0.0.1:{port[0]}/json/list") as answer:
                page = next(each for each in await answer.json() if each["type"] == "page")
            async with client.ws_connect(page["webSocketDebuggerUrl"], max_msg_size=0) as socket_:
                yield Browser(socket_)
    finally:
        browser.terminate()
        with suppress(subprocess.TimeoutExpired):
            browser.wait(20)


@pytest.mark.skipif("PATTERNVOICE_LONG" not in os.environ, reason="two minutes: PATTERNVOICE_LONG=1 runs it")
@pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
async def test_a_circuit_in_a_browser_by_typed_line(address: tuple[str, Path], tmp_path: Path) -> None:
    url, data = address
    pictures = Path(os.environ.get("PATTERNVOICE_PICTURES", tmp_path))
    async with browsing(tmp_path / "chromium") as browser:
        await browser.do("Network.enable")
        await browser.do("Page.enable")
        await browser.do("Page.navigate", url=url)
        first_byte = "document.body && document.body.classList.contains('-first-byte')"
        for _ in range(100):
            got = await browser.do("Runtime.evaluate", expression=first_byte)
            if got["result"].get("value"):
                break
            await asyncio.sleep(0.3)
        await asyncio.sleep(2.0)
        await browser.picture(pictures / "serve_start.png")
        await browser.click(900, 500)  # where there is nothing: the page has the keyboard
        await browser.type("")
        await until(lambda: sessions(data), "a session")
        answered: set[int] = set()
        while not any(event["event"] == "SessionEnded" for event in events(data)):
            number, words = await until(lambda: due(data, answered), "a call or the end", 120.0)
            if not words:
                break
            answered.add(number)
            await browser.type(words)
        await asyncio.sleep(2.0)
        await browser.picture(pictures / "serve_debrief.png")
        calls = [event for event in events(data) if event["event"] == "TraineeSpoke"]
        assert [call["accepted"] for call in calls] == [True] * 6
        assert sessions(data)[0].summary["reason"] == "the last approach is flown"
        assert browser.asked
        assert {link.split("/")[2] for link in browser.asked if not link.startswith("data:")} == {
            url.split("/")[2]
        }
        await browser.do("Page.navigate", url=url.rsplit("/", 2)[0] + "/")
        refused = "Open the address that patternvoice serve printed."
        for _ in range(100):
            got = await browser.do("Runtime.evaluate", expression="document.body && document.body.innerText")
            if got["result"].get("value") == refused:
                break
            await asyncio.sleep(0.1)
        assert got["result"]["value"] == refused


def due(data: Path, answered: set[int]) -> tuple[int, str] | None:
    """The next call or answer that is due and not made: its place among the events and its words; at the end none."""
    for number, event in enumerate(events(data)):
        if event["event"] == "SessionEnded":
            return number, ""
        if number in answered:
            continue
        if event["event"] == "CallDue":
            return number, event["model_call"]
        if event["event"] == "TowerSpoke" and event["to"] == "SABLE 21":
            question = Question(field=str(NEAR / "near.yaml"), after=event["words"])
            return number, expected_of(question).model_call
    return None
