"""Who may speak to the page's server: this machine's own browser, by the link with its token, and nobody else.

The link's token is shown once: the browser gets a cookie for it, which no script can read, and goes on with that, so
that the token stays in no address bar and no history.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from urllib.parse import parse_qs

from viewer.web.live.strangers import Strangers

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

MOST_MESSAGE = 256 * 1024  # bytes of one message of the page
MOST_HEAD = 16 * 1024  # bytes of a request's head


def new_token() -> str:
    """A token that nobody guesses: 32 random bytes."""
    return secrets.token_urlsafe(32)


@dataclass(frozen=True)
class Guard:
    """The names under which the server answers, the token that a link must carry, and the cookie given for it."""

    port: int
    token: str = field(default_factory=new_token, repr=False)
    pass_: str = field(default_factory=new_token, repr=False)

    @property
    def hosts(self) -> tuple[str, ...]:
        """Host headers that are ours."""
        return f"127.0.0.1:{self.port}", f"localhost:{self.port}"

    @property
    def origins(self) -> tuple[str, ...]:
        """Origins that are ours."""
        return tuple(f"http://{host}" for host in self.hosts)

    @property
    def link(self) -> str:
        """The link to open."""
        return f"http://{self.hosts[0]}/?key={self.token}"

    @property
    def cookie_name(self) -> str:
        """The cookie's name: other servers of this machine share our host, and have a port of their own."""
        return f"hummock-{self.port}"

    @property
    def cookie(self) -> str:
        """What a browser that came by the link is told to keep until it is closed; no script can read it."""
        return f"{self.cookie_name}={self.pass_}; Path=/; HttpOnly; SameSite=Lax"

    def has_key(self, query: str) -> bool:
        """Whether a query string carries the link's token, once and alone."""
        given = parse_qs(query, keep_blank_values=True)
        return list(given) == ["key"] and len(given["key"]) == 1 and _same(given["key"][0], self.token)

    def _has_pass(self, headers: dict[str, str]) -> bool:
        pairs = (part.strip().partition("=") for part in headers.get("cookie", "").split(";"))
        given = [value for name, _, value in pairs if name == self.cookie_name]
        return len(given) == 1 and _same(given[0], self.pass_)

    def refuses(self, kind: str, headers: dict[str, str], query: str) -> tuple[int, str] | None:
        """Status and words for a request that is not let in; None for one that is.

        Parameters
        ----------
        kind
            "http" or "websocket": only a page of ours opens the second, so it must name its origin.
        headers
            By name in small letters.
        query
            The query string.
        """
        if headers.get("host") not in self.hosts:
            return 421, "This server answers only to this machine's own name."
        origin = headers.get("origin")
        if origin not in self.origins and (origin is not None or kind == "websocket"):
            return 403, "Another page may not speak to this one."
        if self.has_key(query) if query and kind == "http" else self._has_pass(headers):
            return None
        return 403, "This link is not complete. Open the whole link that the command printed."


def _same(one: str, other: str) -> bool:
    """Whether two words are the same; takes as long whatever they share."""
    return secrets.compare_digest(one.encode("utf-8", "replace"), other.encode())


class Gate:
    """Turns away what the guard refuses, before anything of the application runs."""

    def __init__(self, app: ASGIApp, guard: Guard, strangers: Strangers) -> None:
        self.app, self.guard, self.strangers = app, guard, strangers

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer it here."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = _headers(scope)
        refusal = _too_big(scope, headers) or self.guard.refuses(
            scope["type"], headers, scope["query_string"].decode("latin-1")
        )
        if refusal is None:
            self.strangers.known(scope.get("client"))
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008})
        else:
            status, words = refusal
            head = [(b"content-type", b"text/plain; charset=utf-8"), (b"cache-control", b"no-store")]
            head.append((b"connection", b"close"))
            await send({"type": "http.response.start", "status": status, "headers": head})
            await send({"type": "http.response.body", "body": words.encode()})


def _too_big(scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
    """Status and words for a request larger than any of the page's: they have short heads and no body."""
    head = sum(len(name) + len(value) for name, value in scope["headers"])
    if head + len(scope["path"]) + len(scope["query_string"]) > MOST_HEAD:
        return 431, "This request is too long."
    if headers.get("content-length", "0") != "0" or "transfer-encoding" in headers:
        return 413, "This server takes no files."
    return None


def _headers(scope: Scope) -> dict[str, str]:
    """Headers by name; one that comes twice counts as none of ours."""
    found: dict[str, str] = {}
    for name, value in scope["headers"]:
        key = name.decode("latin-1").lower()
        found[key] = "twice" if key in found else value.decode("latin-1")
    return found
