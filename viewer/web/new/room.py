"""The page of a new yard as the server serves it."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

from viewer.web.assemble import body, script, served_page, style
from viewer.web.live.desk import Hands
from viewer.web.live.guard import Guard
from viewer.web.new.desk import YardTalk
from viewer.web.new.session import NewYard

if TYPE_CHECKING:
    from starlette.websockets import WebSocket


@dataclass(frozen=True)
class NewRoom:
    """A yard that is typed and tapped on the page."""

    yard: NewYard

    def page(self, guard: Guard) -> tuple[str, str]:
        """The page as text, and its policy."""
        folder = self.yard.folder
        html = body("newyard.html", {"folder": escape(str(folder), quote=True), "name": escape(folder.resolve().name)})
        look, code = style("base.css", "live.css", "newyard.css"), script("newyard.js")
        return served_page("A new yard", look, html, {}, code, guard.hosts)

    async def talk(self, socket: WebSocket, hands: Hands) -> None:
        """Talk with the one page until it goes away."""
        await YardTalk(self.yard, socket, hands).run()
