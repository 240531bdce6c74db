"""`patternvoice serve`: the same application in a browser on this machine.

It listens on the loopback address alone, under a path that is a random token: who does not know the token
gets 403, and soon 429. The browser is a screen and a keyboard; microphone and loudspeaker stay those of this
machine, so one flies at a time. Nothing is fetched from outside: the page and its font come from here.
"""

import hmac
import importlib.util
import secrets
import shlex
import sys
import time
from collections import deque
from collections.abc import Callable

from trainer.errors import TrainerError

HOST = "127.0.0.1"
TOKEN_BYTES = 32
REFUSALS_A_MINUTE = 20
"""After so many wrong requests in a minute further wrong ones are not even answered in words."""
COMMAND = "from trainer.cli import main; main([])"


def serve(port: int) -> int:
    """Serve until Ctrl-C. TrainerError where textual-serve is not installed or the port is taken."""
    if importlib.util.find_spec("textual_serve") is None:
        raise TrainerError(
            "the browser needs textual-serve", "pip install '.[serve]' in the clone of patternvoice"
        )
    from trainer.commands.serving_app import LoopbackServer

    token = secrets.token_urlsafe(TOKEN_BYTES)
    command = f"exec {shlex.quote(sys.executable)} -c {shlex.quote(COMMAND)}"
    try:
        return LoopbackServer(command, port, token).run(print)
    except OSError as error:
        raise TrainerError(
            f"port {port} of {HOST} cannot be had ({error.strerror})", "choose another with --port"
        ) from error


class Doorkeeper:
    """Lets in whoever knows the token. `clock` gives seconds."""

    def __init__(self, token: str, port: int, clock: Callable[[], float] = time.monotonic) -> None:
        self._token = token.encode()
        self._host = f"{HOST}:{port}"
        self._clock = clock
        self._refused: deque[float] = deque()

    def status(self, path: str, host: str) -> int:
        """200, or what the request is refused with; another name bound to this address is refused."""
        given = path.split("/")[1] if "/" in path else ""
        if hmac.compare_digest(given.encode(), self._token) and host == self._host:
            return 200
        now = self._clock()
        while self._refused and now - self._refused[0] > 60.0:
            self._refused.popleft()
        if len(self._refused) >= REFUSALS_A_MINUTE:
            return 429
        self._refused.append(now)
        return 403
