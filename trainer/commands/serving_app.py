"""textual-serve's server, for this machine and whoever knows the token (`serving` says why)."""

import asyncio
import signal
from collections.abc import Awaitable, Callable
from contextlib import suppress
from pathlib import Path

from aiohttp import web
from textual_serve import server
from textual_serve.app_service import AppService

from trainer.commands.serve import HOST, Doorkeeper

PAGE = Path(__file__).parents[1] / "pages"
HAND_OVER_S = 8.0
"""A page that is loaded again waits so long for the flight of the one before to be put away."""
STOP_S = 10.0
"""So long a program may take to end, each time it is asked to."""
SAFE_HEADERS = {
    # Only from here, and in nobody's frame. The page's own script and style are written in it.
    "Content-Security-Policy": "default-src 'self'; script-src 'self' 'unsafe-inline'; style-src 'self'"
    " 'unsafe-inline'; img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self' ws://{host};"
    " frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "no-store",
}

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class Flight(AppService):
    """The program behind a page. One that does not end when it is asked to, because it has hardly begun, is
    ended by a signal, at which it keeps its session too."""

    async def stop(self) -> None:
        try:
            await asyncio.wait_for(super().stop(), STOP_S)
        except TimeoutError:
            assert self._process is not None  # or there was nothing to wait for
            for end in (self._process.terminate, self._process.kill):
                with suppress(ProcessLookupError, TimeoutError):
                    end()
                    await asyncio.wait_for(self._process.wait(), STOP_S)
                    return


server.AppService = Flight  # type: ignore[attr-defined]


class LoopbackServer(server.Server):
    """Everything is under /TOKEN/. `run` returns when it is told to stop."""

    def __init__(self, command: str, port: int, token: str) -> None:
        super().__init__(command, host=HOST, port=port, title="patternvoice", templates_path=PAGE)
        self._token = token
        self._door = Doorkeeper(token, port)
        self._flying = asyncio.Lock()

    @property
    def url(self) -> str:
        """The address to open."""
        return f"{self.public_url}/{self._token}/"

    async def on_startup(self, app: web.Application) -> None:
        """The base prints a sign of its own here."""

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """One flies at a time: there is one microphone."""
        try:
            await asyncio.wait_for(self._flying.acquire(), HAND_OVER_S)
        except TimeoutError:
            raise web.HTTPConflict(text="Somebody flies already: close the other page.") from None
        try:
            return await super().handle_websocket(request)
        finally:
            self._flying.release()

    async def whole(self) -> web.Application:
        """The application with its door."""

        @web.middleware
        async def door(request: web.Request, handler: Handler) -> web.StreamResponse:
            status = self._door.status(request.path, request.host)
            if status != 200:
                words = "Open the address that patternvoice serve printed." if status == 403 else ""
                return web.Response(status=status, text=words)
            return await handler(request)

        async def seal(request: web.Request, response: web.StreamResponse) -> None:
            for name, value in SAFE_HEADERS.items():
                response.headers[name] = value.replace("{host}", request.host)

        root = web.Application(middlewares=[door])
        root.on_response_prepare.append(seal)
        root.add_subapp(f"/{self._token}/", await self._make_app())
        return root

    async def _serve(self, say: Callable[[str], object]) -> None:
        runner = web.AppRunner(await self.whole(), access_log=None, shutdown_timeout=STOP_S)
        await runner.setup()
        try:
            await web.TCPSite(runner, HOST, self.port).start()
            stop = asyncio.Event()
            for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
                with suppress(NotImplementedError):
                    asyncio.get_running_loop().add_signal_handler(number, stop.set)
            say(f"Open in a browser on this machine: {self.url}")
            say("Microphone and loudspeaker are those of this machine, not the browser's. Ctrl-C ends it.")
            await stop.wait()
        finally:
            await runner.cleanup()

    def run(self, say: Callable[[str], object]) -> int:
        """Serve until SIGINT, SIGTERM or SIGHUP; OSError if the port cannot be had. The exit status."""
        asyncio.run(self._serve(say))
        return 0
