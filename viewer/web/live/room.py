"""The live page as the server serves it."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

from viewer.web.assemble import body, script, served_page, style
from viewer.web.live.desk import Hands, Writer
from viewer.web.live.guard import Guard
from viewer.web.live.session import Session

if TYPE_CHECKING:
    from starlette.websockets import WebSocket


@dataclass(frozen=True)
class LiveRoom:
    """A yard whose berm is shaped on the page."""

    session: Session

    def page(self, guard: Guard) -> tuple[str, str]:
        """The page as text, and its policy."""
        session = self.session
        name = str(session.yard["name"])
        falls = escape(str(session.yard["falls"]))
        html = body("live.html", {"name": escape(name), "file": escape(session.path.name), "falls": falls})
        look, code = style("base.css", "live.css"), script("live.js")
        return served_page(name, look, html, session.yard, code, guard.hosts)

    async def talk(self, socket: WebSocket, hands: Hands) -> None:
        """Talk with the one page until it goes away."""
        await Writer(self.session, socket, hands).run()
