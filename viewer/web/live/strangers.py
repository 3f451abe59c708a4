"""Connections that have not shown the key yet: few, and for a short while, so that the owner always gets in."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from uvicorn.protocols.http.h11_impl import H11Protocol

Client = tuple[str, int]
PATIENCE = 3.0  # seconds; a browser sends its request at once
MOST = 200  # connections; with more, the one that has waited longest goes, so that the owner's always finds room
AT_ONCE = 64  # connections taken before the first of them is heard: under a third of MOST


class Strangers:
    """Connections by their address, oldest first, from when they come until they are known or cut."""

    def __init__(self) -> None:
        self.waiting: dict[Client, asyncio.Transport] = {}

    def came(self, client: Client, transport: asyncio.Transport) -> None:
        """Somebody connects; who has said nothing that lets them in by the end of `PATIENCE` is cut off."""
        while len(self.waiting) >= MOST:
            self.waiting.pop(next(iter(self.waiting))).abort()
        self.waiting[client] = transport
        asyncio.get_running_loop().call_later(PATIENCE, self._late, client, transport)

    def known(self, client: Client | None) -> None:
        """The guard has let somebody in."""
        if client is not None:
            self.waiting.pop((client[0], client[1]), None)

    def left(self, client: Client) -> None:
        """A connection is closed."""
        self.waiting.pop(client, None)

    def _late(self, client: Client, transport: asyncio.Transport) -> None:
        if self.waiting.get(client) is transport:
            del self.waiting[client]
            transport.abort()


def watched(strangers: Strangers) -> type[H11Protocol]:
    """The server's protocol, with every connection a stranger at first."""
    from uvicorn.protocols.http.h11_impl import H11Protocol

    class Watched(H11Protocol):
        def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
            super().connection_made(transport)
            if self.client is not None:
                strangers.came(self.client, transport)

        def connection_lost(self, exc: Exception | None) -> None:
            if self.client is not None:
                strangers.left(self.client)
            super().connection_lost(exc)

    return Watched
