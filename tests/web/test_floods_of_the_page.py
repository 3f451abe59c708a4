"""Floods of connections and wishes, and planted drafts, neither keep the owner out nor stop the server."""

from __future__ import annotations

import json
import os
import socket
import stat
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from live_yards import Served, copied_yard, served, talking

from terrain.site.read import read_site
from viewer.web.live.draft import draft_path, plain_wish, read_draft, write_draft
from viewer.web.live.strangers import MOST, PATIENCE
from viewer.web.live.way import Way
from viewer.web.live.wish import wish_of_site


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(copied_yard(tmp_path_factory.mktemp("yard"))) as running:
        yield running


def connected(page: Served, said: bytes) -> socket.socket:
    one = socket.create_connection(("127.0.0.1", page.guard.port), timeout=20)
    one.sendall(said)
    return one


def is_cut(one: socket.socket, seconds: float) -> bool:
    """Whether the other side closes a connection within some seconds."""
    one.settimeout(seconds)
    try:
        while one.recv(65536):
            pass
    except TimeoutError:
        return False
    except ConnectionError:
        pass
    return True


@pytest.mark.parametrize("said", [b"", b"GET / HTTP/1.1\r\nHost: ", b"\x16\x03\x01\x02\x00"])
def test_a_connection_that_never_shows_the_key_is_cut_early(page: Served, said: bytes) -> None:
    with connected(page, said) as one:
        assert is_cut(one, PATIENCE + 5.0)


def test_a_wrong_key_is_answered_and_cut_at_once(page: Served) -> None:
    host = page.guard.hosts[0]
    with connected(page, f"GET /?key=wrong HTTP/1.1\r\nHost: {host}\r\n\r\n".encode()) as one:
        began = time.monotonic()
        assert is_cut(one, 2.5)
        assert time.monotonic() - began < PATIENCE


def test_connections_without_the_key_do_not_keep_the_owner_out(page: Served) -> None:
    idle = [connected(page, b"GET / HTTP/1.1\r\n") for _ in range(MOST + 120)]
    try:
        assert page.get("/", Cookie=page.came_in()).status == 200
        with talking(page) as talk:
            talk.hear("hello")
            talk.say(do="undo", seq=1)
            talk.hear("state", seq=1)
            more = [connected(page, b"") for _ in range(120)]
            talk.say(do="undo", seq=2)
            talk.hear("state", seq=2)
            # Whoever is let in is cut no more.
            time.sleep(PATIENCE + 0.5)
            talk.say(do="undo", seq=3)
            talk.hear("state", seq=3)
        idle += more
        assert all(is_cut(one, 5.0) for one in idle)
    finally:
        for one in idle:
            one.close()


def test_a_flood_of_wishes_is_thinned_to_the_newest(page: Served) -> None:
    with talking(page) as talk:
        wish = talk.hear("hello")["wish"]
        talk.hear("shape", on="full")
        for seq in range(1, 1501):
            talk.say(do="shape", seq=seq, wish={**wish, "max_slope": 0.25 - 1e-5 * seq})
        talk.say(do="settle", seq=1501, wish={**wish, "max_slope": 0.2})
        shapes, state = 0, None
        while state is None:
            told = talk.hear("shape", "state", "refused")
            shapes += told["say"] == "shape"
            state = told if told["say"] == "state" else None
        assert shapes < 750
        assert page.session.history.now.max_slope == pytest.approx(0.2, abs=1e-12)
        talk.say(do="undo", seq=1502)
        talk.hear("state", seq=1502)


def test_a_flood_of_deeds_is_refused_in_words_and_the_page_goes_on(page: Served) -> None:
    with talking(page) as talk:
        talk.hear("hello")
        for _ in range(300):
            talk.say(do="keep", seq=1)
            talk.say(do="plan", seq=1)
        assert "at once" in talk.hear("refused")["text"]
        time.sleep(1.0)
        talk.say(do="forget", seq=2)
        assert talk.hear("state", seq=2)["kept"] is None
    assert len(page.planned) < 60


HOSTILE = {
    "deep": "[" * 100_000,
    "long number": '{"format": "hummock-unsaved/1", "now": 1' + "0" * 6000 + ', "kept": null}',
    "huge number": '{"format": "hummock-unsaved/1", "now": {"outline": [[[1' + "0" * 400 + "]]]}}",
    "another format": '{"format": "x", "now": {}, "kept": null}',
    "a list": "[1, 2]",
    "a text": '"now"',
    "no text": "\udc80",
    "surrogates": '{"format": "hummock-unsaved/1", "now": {"gentle_side": "\\ud800"}, "kept": "\\udfff"}',
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_draft_is_not_offered_and_stays(tmp_path: Path, name: str) -> None:
    path = copied_yard(tmp_path)
    text = HOSTILE[name].encode("utf-8", "surrogateescape")
    draft_path(path).write_bytes(text)
    assert read_draft(path, read_site(path)) is None
    assert draft_path(path).read_bytes() == text


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system knows no named pipes")
def test_a_draft_that_is_no_regular_file_is_not_opened(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    os.mkfifo(draft_path(path))
    assert read_draft(path, read_site(path)) is None


def test_a_draft_that_is_a_link_is_not_followed(tmp_path: Path) -> None:
    """It would show a stranger's folder another file, or a yard that nobody drew here."""
    path = copied_yard(tmp_path)
    site = read_site(path)
    wish = wish_of_site(site)
    write_draft(path, wish, None)
    assert read_draft(path, site) is not None
    elsewhere = draft_path(path).rename(tmp_path / "elsewhere.json")
    draft_path(path).symlink_to(elsewhere)
    assert read_draft(path, site) is None


def test_a_draft_that_cannot_be_built_is_not_offered(tmp_path: Path) -> None:
    """A bed all inside the keep-off of a tree passes the checks of a wish, and no mound finds room in it."""
    path = copied_yard(tmp_path)
    site = read_site(path)
    (x, y), wish = site.tree[0].at, plain_wish(wish_of_site(site))
    ring = [[x - 0.2, y - 0.2], [x + 0.2, y - 0.2], [x + 0.2, y + 0.2], [x - 0.2, y + 0.2]]
    full = {**wish, "outline": [ring], "crest": [[x, y, 0.3]]}
    draft_path(path).write_text(json.dumps({"format": "hummock-unsaved/1", "now": full, "kept": full}))
    with served(path) as running, talking(running) as talk:
        hello = talk.hear("hello")
        assert (hello["text"], hello["unsaved"], hello["kept"]) == ("", False, None)
        assert talk.hear("shape", on="full")["say"] == "shape"


@pytest.mark.skipif(os.name == "nt", reason="other systems keep no such modes")
def test_the_way_to_the_browser_tells_nobody_else_the_key() -> None:
    way = Way("http://127.0.0.1:1/?key=secret")
    assert "secret" not in str(way.path)
    assert stat.S_IMODE(way.path.stat().st_mode) == 0o600
    assert stat.S_IMODE(way.path.parent.stat().st_mode) == 0o700
    assert "url=http://127.0.0.1:1/?key=secret" in way.path.read_text()
    way.close()
    assert not way.path.parent.exists()
