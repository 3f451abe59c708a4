"""What the tests of the live page share: a copy of the shipped yard, its server in this process, and a browser."""

from __future__ import annotations

import asyncio
import atexit
import http.client
import json
import os
import shutil
import socket
import struct
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from terrain.site.model import Site
from viewer.web.live.guard import Guard
from viewer.web.live.room import LiveRoom
from viewer.web.live.server import Room, own_socket, serve
from viewer.web.live.session import Session

ROOT = Path(__file__).resolve().parent.parent.parent
FLAGS = [
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
    "--disable-quic",
]
FLAT = [*(flag for flag in FLAGS if "swiftshader" not in flag), "--disable-gpu", "--disable-3d-apis"]
PHONE, DESK = (390, 844), (1440, 900)


def copied_yard(folder: Path, name: str = "alder-bend") -> Path:
    """A copy of a shipped example; answers its site file."""
    source = ROOT / "examples" / name
    for item in source.iterdir():
        if item.is_file():
            shutil.copy(item, folder / item.name)
    return folder / "site.toml"


@dataclass
class Served:
    """A running page: its session, its guard, and the sites whose plan set was asked for."""

    session: Session
    guard: Guard
    planned: list[Site]

    def get(self, path: str, host: str | None = None, method: str = "GET", **headers: str) -> http.client.HTTPResponse:
        """A plain request, with any Host header."""
        connection = http.client.HTTPConnection("127.0.0.1", self.guard.port, timeout=20)
        connection.putrequest(method, path, skip_host=True)
        connection.putheader("Host", self.guard.hosts[0] if host is None else host)
        for name, value in headers.items():
            connection.putheader(name.replace("_", "-"), value)
        connection.endheaders()
        return connection.getresponse()

    @property
    def socket_address(self) -> str:
        """Where the page's own socket is."""
        return f"ws://{self.guard.hosts[0]}/live"

    def came_in(self) -> str:
        """The cookie that a browser is given for the link, as it sends it back."""
        answer = self.get(f"/?key={self.guard.token}")
        assert answer.status == 303
        return str(answer.getheader("Set-Cookie")).partition(";")[0]


@contextmanager
def served(site_file: Path) -> Iterator[Served]:
    """Serve a yard from a thread of this process until the block ends."""
    planned: list[Site] = []

    def write_plan(site: Site) -> Sequence[str]:
        planned.append(site)
        (site_file.parent / "out").mkdir(exist_ok=True)
        (site_file.parent / "out" / "plan.pdf").write_text(site.name)
        return ["plan.pdf"]

    session = Session(site_file, write_plan)
    with running(LiveRoom(session)) as guard:
        yield Served(session, guard, planned)


@contextmanager
def running(room: Room) -> Iterator[Guard]:
    """Serve a page from a thread of this process until the block ends."""
    listener = own_socket()
    guard = Guard(listener.getsockname()[1])
    opened = threading.Event()
    stop: list[Any] = []
    thread = threading.Thread(target=_serve, args=(room, guard, listener, opened, stop), daemon=True)
    thread.start()
    assert opened.wait(30)
    try:
        yield guard
    finally:
        stop[0]()
        thread.join(15)
        listener.close()


def _serve(room: Room, guard: Guard, listener: socket.socket, opened: threading.Event, stop: list[Any]) -> None:
    import uvicorn

    original = uvicorn.Server.serve

    async def remembered(self: Any, sockets: Any = None) -> None:
        loop = asyncio.get_running_loop()

        def end() -> None:
            self.should_exit = True

        stop.append(lambda: loop.call_soon_threadsafe(end))
        self.install_signal_handlers = lambda: None
        await original(self, sockets=sockets)

    uvicorn.Server.serve = remembered  # type: ignore[method-assign]
    try:
        serve(room, guard, listener, opened.set)
    finally:
        uvicorn.Server.serve = original  # type: ignore[method-assign]


class Talk:
    """A page without a browser: the socket as the page uses it."""

    def __init__(self, address: str, origin: str | None, cookie: str = "") -> None:
        from websockets.sync.client import connect

        headers = {"Cookie": cookie} if cookie else None
        self.line = connect(address, origin=origin, additional_headers=headers, max_size=None, open_timeout=20)  # type: ignore[arg-type]
        self.socket = self.line.__enter__()

    def say(self, **message: object) -> None:
        """Send one message."""
        self.socket.send(json.dumps(message))

    def hear(self, *kinds: str, timeout: float = 60.0, **wanted: object) -> dict[str, Any]:
        """The next message of one of the kinds with the wanted values; heights come as (ny, nx) metres."""
        while True:
            data = self.socket.recv(timeout=timeout)
            message = opened_frame(data) if isinstance(data, bytes) else json.loads(data)
            if message["say"] in kinds and all(message.get(key) == value for key, value in wanted.items()):
                return message

    def close(self) -> None:
        """Go away."""
        self.line.__exit__(None, None, None)


def opened_frame(data: bytes) -> dict[str, Any]:
    """A binary message as the page reads it."""
    (size,) = struct.unpack("<I", data[:4])
    head: dict[str, Any] = json.loads(data[4 : 4 + size])
    codes = np.frombuffer(data, dtype="<u2", offset=4 + size).reshape(head["ny"], head["nx"])
    head["values"] = head["low"] + head["step"] * codes.astype(float)
    return head


@contextmanager
def talking(page: Served) -> Iterator[Talk]:
    """A page's socket, open while the block runs."""
    talk = Talk(page.socket_address, page.guard.origins[0], page.came_in())
    try:
        yield talk
    finally:
        talk.close()


def browser_path() -> str:
    """Where a chromium is; skips the test where there is none, or no playwright."""
    pytest.importorskip("playwright")
    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("no chromium on this machine (Debian: apt-get install chromium)")
    return found


@contextmanager
def browsing(size: tuple[int, int] = DESK, *, touch: bool = False, flat: bool = False) -> Iterator[Any]:
    """An empty page of a real browser without network; any error of a page's script fails the test.

    `flat` is a browser without 3D, which takes half of the time: for what does not hang on the picture.
    """
    troubles: list[str] = []
    context = browser(flat).new_context(
        viewport={"width": size[0], "height": size[1]}, has_touch=touch, reduced_motion="reduce"
    )
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("console", lambda message: troubles.append(message.text) if message.type == "error" else None)
    try:
        yield page
    finally:
        context.close()
    assert not troubles, troubles


@cache
def browser(flat: bool) -> Any:
    """The one browser of this process, with or without 3D; each page has a context of its own, which shares nothing."""
    started = playwright().chromium.launch(executable_path=browser_path(), args=FLAT if flat else FLAGS)
    atexit.register(started.close)
    return started


@cache
def playwright() -> Any:
    """The one driver of browsers in this process; it cannot be started twice."""
    from playwright.sync_api import sync_playwright

    started = sync_playwright().start()
    atexit.register(started.stop)
    return started


def ready(page: Any) -> None:
    """Wait until the page has drawn its first picture."""
    page.wait_for_selector("html[data-ready=yes]", state="attached")
