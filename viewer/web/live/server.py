"""The server of a page of this machine: one page, one socket, one writer at a time."""

from __future__ import annotations

import asyncio
import json
import socket
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Protocol

from terrain.errors import HummockError, InputError
from terrain.extras import how_to_install
from viewer.web.live.desk import Hands
from viewer.web.live.guard import MOST_HEAD, MOST_MESSAGE, Gate, Guard
from viewer.web.live.strangers import AT_ONCE, Strangers, watched

if TYPE_CHECKING:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.types import ASGIApp
    from starlette.websockets import WebSocket

BUSY = 4409  # close code for the second page
BUSY_WORDS = "This yard is open in another window. Close that one, then try again here."


class Room(Protocol):
    """What is served: a page, and the talk with it over its socket."""

    def page(self, guard: Guard) -> tuple[str, str]:
        """The page as text, and its policy."""

    async def talk(self, socket: WebSocket, hands: Hands) -> None:
        """Talk with the one page until it goes away."""


def need_extra(option: str = "--live") -> None:
    """Raise InputError, which names the option that was asked for, where the libraries of the extra are missing."""
    try:
        import starlette
        import tomlkit
        import uvicorn
        import websockets
    except ImportError as error:
        raise InputError(option, f"the local page needs the library {error.name}.", how_to_install("live")) from None
    del starlette, tomlkit, uvicorn, websockets


def own_socket(port: int = 0) -> socket.socket:
    """A socket on this machine alone, on a port or on any free one.

    Raises
    ------
    InputError
        Where the port is taken.
    """
    try:
        return socket.create_server(("127.0.0.1", port), backlog=16)
    except OSError as error:
        raise InputError(
            "--port", f"{port} cannot be used ({error.strerror}).", "Leave it out for a free one."
        ) from None


def live_app(room: Room, guard: Guard, strangers: Strangers) -> ASGIApp:
    """The application: GET / gives the page, /live is its socket; there is nothing else."""
    from starlette.applications import Starlette
    from starlette.routing import Route, WebSocketRoute

    desk = _Desk(room, guard)
    routes = [Route("/", desk.page, methods=["GET"]), WebSocketRoute("/live", desk.live)]
    app: Starlette = Starlette(routes=routes)
    return Gate(app, guard, strangers)


class _Desk:
    """Answers the page and its socket."""

    def __init__(self, room: Room, guard: Guard) -> None:
        self.room, self.guard = room, guard
        self.taken = False
        self.hands = Hands(*(ThreadPoolExecutor(1, name) for name in ("quick", "slow", "files")))

    async def page(self, request: Request) -> Response:
        """The page with the yard in it; to the link with its token, the cookie and the way there."""
        from starlette.responses import HTMLResponse, Response

        text, policy_text = self.room.page(self.guard)
        headers = {
            "Content-Security-Policy": policy_text,
            "Cache-Control": "no-store",
            "X-Frame-Options": "DENY",
            "X-Content-Type-Options": "nosniff",
            "Referrer-Policy": "no-referrer",
            "Cross-Origin-Opener-Policy": "same-origin",
            "Cross-Origin-Resource-Policy": "same-origin",
        }
        if self.guard.has_key(request.url.query):
            return Response(status_code=303, headers={**headers, "Location": "/", "Set-Cookie": self.guard.cookie})
        return HTMLResponse(text, headers=headers)

    async def live(self, socket: WebSocket) -> None:
        """Talk with the page that came first; tell a second one that it must wait."""
        await socket.accept()
        if self.taken:
            await socket.send_text(json.dumps({"say": "busy", "text": BUSY_WORDS}))
            await socket.close(BUSY)
            return
        self.taken = True
        try:
            await self.room.talk(socket, self.hands)
        finally:
            self.taken = False


def serve(room: Room, guard: Guard, listener: socket.socket, opened: Callable[[], None]) -> None:
    """Serve until stopped; `opened` is called once the page answers.

    Raises
    ------
    HummockError
        Where the server cannot start.
    """
    import uvicorn

    strangers = Strangers()
    config = uvicorn.Config(
        live_app(room, guard, strangers),
        log_level="critical",
        access_log=False,
        ws_max_size=MOST_MESSAGE,
        h11_max_incomplete_event_size=MOST_HEAD,
        http=watched(strangers),
        backlog=AT_ONCE,
        ws="websockets-sansio",
        timeout_graceful_shutdown=2,
        server_header=False,
    )
    server = uvicorn.Server(config)

    async def run() -> None:
        running = asyncio.ensure_future(server.serve(sockets=[listener]))
        while not server.started and not running.done():
            await asyncio.sleep(0.02)
        if server.started:
            opened()
        await running

    asyncio.run(run())
    if not server.started:
        raise HummockError("the local page could not be served.")
