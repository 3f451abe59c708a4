"""Nobody but this machine's own browser, with the whole link, may speak to the page; and only one may write."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from live_yards import Served, Talk, copied_yard, served, talking

from terrain.errors import InputError
from terrain.site.read import read_site
from viewer.web.live.draft import draft_path
from viewer.web.live.guard import MOST_MESSAGE, Guard, new_token
from viewer.web.live.server import BUSY, own_socket


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(copied_yard(tmp_path_factory.mktemp("yard"))) as running:
        yield running


def refused(address: str, origin: str | None, cookie: str = "") -> str:
    from websockets.exceptions import InvalidStatus

    with pytest.raises(InvalidStatus) as told:
        Talk(address, origin, cookie)
    return str(told.value)


def test_the_whole_link_gives_the_page(page: Served) -> None:
    """By way of a cookie that no script can read: the token leaves the address bar, and is nowhere in the page."""
    first = page.get(f"/?key={page.guard.token}")
    assert (first.status, first.getheader("Location")) == (303, "/")
    assert "Alder" not in first.read().decode()
    cookie, *rules = str(first.getheader("Set-Cookie")).split("; ")
    assert {"HttpOnly", "SameSite=Lax", "Path=/"} == set(rules)
    assert page.guard.token not in cookie
    answer = page.get("/", Cookie=cookie)
    assert answer.status == 200
    for one in (first, answer):
        assert one.getheader("X-Frame-Options") == "DENY"
        assert one.getheader("Cache-Control") == "no-store"
        assert one.getheader("Referrer-Policy") == "no-referrer"
    policy = str(answer.getheader("Content-Security-Policy"))
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    text = answer.read().decode()
    assert "Alder Bend" in text
    assert page.guard.token not in text
    assert page.guard.pass_ not in text


@pytest.mark.parametrize(
    "cookie", ["", "{name}=", "{name}=wrong", "other={pass_}", "{name}={pass_}; {name}=x", "{name}={token}"]
)
def test_a_wrong_cookie_gives_nothing(page: Served, cookie: str) -> None:
    guard = page.guard
    told = cookie.format(name=guard.cookie_name, pass_=guard.pass_, token=guard.token)
    answer = page.get("/", Cookie=told)
    assert answer.status == 403
    assert "Alder" not in answer.read().decode()
    assert "403" in refused(page.socket_address, guard.origins[0], told)


@pytest.mark.parametrize(
    "query", ["", "?key=", "?key=wrong", "?key=wrong&key={token}", "?other={token}", "?key={token}x"]
)
def test_a_wrong_token_gives_nothing(page: Served, query: str) -> None:
    answer = page.get("/" + query.format(token=page.guard.token))
    assert answer.status == 403
    told = answer.read().decode()
    assert "link" in told
    assert "Alder" not in told


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:{port}", "127.0.0.1", "127.0.0.1:{port}.evil.example", ""]
)
def test_another_host_name_gives_nothing(page: Served, host: str) -> None:
    answer = page.get(f"/?key={page.guard.token}", host=host.format(port=page.guard.port))
    assert answer.status in (400, 421)
    assert "Alder" not in answer.read().decode()


@pytest.mark.parametrize("origin", ["http://evil.example", "https://127.0.0.1:{port}", "null", "http://127.0.0.1:1"])
def test_another_origin_gives_nothing(page: Served, origin: str) -> None:
    origin = origin.format(port=page.guard.port)
    assert page.get(f"/?key={page.guard.token}", Origin=origin).status == 403
    assert "403" in refused(page.socket_address, origin, page.came_in())


def test_a_socket_needs_origin_and_token(page: Served) -> None:
    assert "403" in refused(page.socket_address, None, page.came_in())
    assert "403" in refused(page.socket_address, page.guard.origins[0])
    assert "403" in refused(f"{page.socket_address}?key={page.guard.token}", page.guard.origins[0])


@pytest.mark.parametrize(
    "path",
    [
        "/../../etc/passwd",
        "/..%2f..%2fetc%2fpasswd",
        "/site.toml",
        "/out/plan.pdf",
        "//etc/passwd",
        "/%2e%2e/site.toml",
        "/assets/live.js",
        "/live/../site.toml",
    ],
)
def test_no_path_reaches_a_file(page: Served, path: str) -> None:
    answer = page.get(f"{path}?key={page.guard.token}")
    assert answer.status == 404
    assert b"root:" not in answer.read()


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
def test_the_page_takes_no_other_method(page: Served, method: str) -> None:
    assert page.get(f"/?key={page.guard.token}", method=method).status == 405


def test_the_head_of_a_request_is_bounded(page: Served) -> None:
    assert page.get(f"/?key={page.guard.token}", X_Long="x" * 100_000).status in (400, 431)
    assert page.get(f"/?key={page.guard.token}", X_Long="x" * 17_000).status in (400, 431)
    assert page.get("/", Cookie=page.came_in()).status == 200


def test_a_body_is_not_taken(page: Served) -> None:
    assert page.get(f"/?key={page.guard.token}", Content_Length="1000000000000").status == 413
    assert page.get(f"/?key={page.guard.token}", Transfer_Encoding="chunked").status == 413


def test_the_server_listens_on_this_machine_only() -> None:
    listener = own_socket()
    address, port = listener.getsockname()
    with pytest.raises(InputError, match=f"{port} cannot be used"):
        own_socket(port)
    listener.close()
    assert address == "127.0.0.1"


def test_tokens_differ_and_are_long() -> None:
    tokens = {new_token() for _ in range(50)}
    assert len(tokens) == 50
    assert min(map(len, tokens)) >= 43
    assert "token" not in repr(Guard(1))


def test_a_second_page_gets_a_plain_word_and_the_first_goes_on(page: Served) -> None:
    from websockets.exceptions import ConnectionClosed

    with talking(page) as first:
        first.hear("hello")
        second = Talk(page.socket_address, page.guard.origins[0], page.came_in())
        told = second.hear("busy")
        assert "another window" in told["text"]
        with pytest.raises(ConnectionClosed) as closed:
            second.socket.recv(timeout=10)
        assert closed.value.rcvd is not None
        assert closed.value.rcvd.code == BUSY
        first.hear("shape", on="full")
    with talking(page) as third:
        third.hear("hello")


def test_an_oversized_message_closes_the_line_and_nothing_else(page: Served) -> None:
    from websockets.exceptions import ConnectionClosed

    with talking(page) as talk:
        talk.hear("hello")
        talk.socket.send(json.dumps({"do": "shape", "wish": "x" * (MOST_MESSAGE + 1)}))
        with pytest.raises(ConnectionClosed) as closed:
            talk.hear("nothing that is ever said", timeout=20)
        assert closed.value.rcvd is not None
        assert closed.value.rcvd.code == 1009
    with talking(page) as again:
        again.hear("hello")


@pytest.mark.parametrize(
    "message",
    [
        "",
        "{",
        "[]",
        "null",
        "[" * 5000,
        '{"do": "shape"}',
        '{"do": "shape", "wish": {"crest": [[NaN, 0, 1]]}}',
        '{"do": "open", "path": "../../etc/passwd"}',
        '{"do": ["save"]}',
        '{"do": "shape", "wish": null, "seq": {"a": 1}}',
        '{"do": "settle", "seq": 1' + "0" * 400 + "}",
        '{"do": "settle", "seq": -1, "wish": 1' + "0" * 4000 + "}",
        '{"do": "settle", "wish": 1' + "0" * 6000 + "}",
        '{"do": "settle", "wish": {"outline": [[[1' + "0" * 400 + ", 0], [1, 0], [1, 1]]]}}",
        '{"do": "settle", "wish": {"outline": [[[1e999, 0], [1, 0], [1, 1]]]}}',
        '{"do": "settle", "wish": {"gentle_side": "\\ud800"}}',
        '{"do": "\\udfff"}',
        '{"do": "settle", "wish": "\\u0000\\u001b[31m\\u202e"}',
        '{"do": "settle", "wish": ' + '{"crest":' * 400 + "1" + "}" * 400 + "}",
    ],
)
def test_a_message_that_makes_no_sense_is_answered_and_changes_nothing(page: Served, message: str) -> None:
    before = page.session.history
    with talking(page) as talk:
        talk.hear("hello")
        talk.socket.send(message)
        told = talk.hear("refused")["text"]
        assert 0 < len(told) < 400
        assert told.isprintable()
        talk.say(do="undo", seq=7)
        assert talk.hear("state", seq=7)["say"] == "state"
    assert page.session.history == before


def test_a_binary_message_is_answered_in_words(page: Served) -> None:
    with talking(page) as talk:
        talk.hear("hello")
        talk.socket.send(b"\x00\x01")
        assert "cannot be read" in talk.hear("refused")["text"]


def test_a_path_in_a_message_never_names_a_file(page: Served) -> None:
    folder = page.session.path.parent
    before = sorted(item.name for item in folder.parent.rglob("*"))
    with talking(page) as talk:
        wish = talk.hear("hello")["wish"]
        talk.say(do="settle", seq=1, wish={**wish, "file": "../evil.toml", "path": "/tmp/evil", "soil": None})
        talk.hear("state")
        talk.say(do="undo", seq=2)
        talk.hear("state")
    after = sorted(item.name for item in folder.parent.rglob("*"))
    assert set(after) - set(before) <= {draft_path(page.session.path).name}


def test_from_a_drag_to_a_saved_file_and_a_plan(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    with served(path) as page, talking(page) as talk:
        wish = talk.hear("hello")["wish"]
        start = talk.hear("shape", on="full", seq=0)
        wish["crest"][1][2] = 0.4572
        talk.say(do="shape", seq=1, wish=wish)
        talk.say(do="settle", seq=2, wish=wish)
        quick = talk.hear("shape", on="quick", seq=2)
        assert "cu yd loose" in quick["panels"]["headline"]
        assert talk.hear("look", seq=2)["panels"]["look"]
        full = talk.hear("shape", on="full", seq=2)
        assert full["values"].shape == start["values"].shape
        assert full["values"].max() < start["values"].max() - 0.05
        assert "Caution" in full["panels"]["findings"]
        assert draft_path(path).exists()
        talk.say(do="save")
        assert talk.hear("done")["text"] == "Saved in site.toml."
        assert talk.hear("state", unsaved=False)
        talk.say(do="plan")
        assert "plan.pdf" in talk.hear("done")["text"]
        planned = page.planned[0]
    assert not draft_path(path).exists()
    assert read_site(path).berm.crest[1].height == pytest.approx(0.4572, abs=1e-6)
    assert planned.berm.crest[1].height == pytest.approx(0.4572, abs=1e-9)


@pytest.mark.slow
def test_undo_redo_and_a_kept_version(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    with served(path) as page:
        with talking(page) as talk:
            first = talk.hear("hello")["wish"]
            second = {**first, "max_slope": 0.2}
            talk.say(do="settle", seq=1, wish=second)
            assert talk.hear("state")["undo"] is True
            talk.say(do="keep")
            assert talk.hear("state")["kept"]["max_slope"] == 0.2
            talk.say(do="undo", seq=2)
            assert talk.hear("state")["wish"]["max_slope"] == pytest.approx(0.25, abs=1e-12)
            assert talk.hear("shape", on="quick", seq=2)["panels"]
            talk.say(do="redo", seq=3)
            assert talk.hear("state")["wish"]["max_slope"] == pytest.approx(0.2, abs=1e-12)
        with talking(page) as again:
            hello = again.hear("hello")
            assert hello["wish"]["max_slope"] == pytest.approx(0.2, abs=1e-12)
            assert np.abs(again.hear("kept")["values"]).max() > 0.1


def test_a_stopped_command_loses_nothing(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    with served(path) as page, talking(page) as talk:
        wish = talk.hear("hello")["wish"]
        talk.say(do="settle", seq=1, wish={**wish, "max_slope": 0.18})
        talk.hear("state")
    assert read_site(path).berm.max_slope == 0.25
    with served(path) as page, talking(page) as talk:
        hello = talk.hear("hello")
        assert "brought back" in hello["text"]
        assert hello["unsaved"] is True
        assert hello["wish"]["max_slope"] == pytest.approx(0.18, abs=1e-12)
        talk.say(do="undo", seq=1)
        assert talk.hear("state")["unsaved"] is False
        time.sleep(0.1)
    assert not draft_path(path).exists()


def test_a_wish_that_fits_no_bed_is_refused_and_the_last_one_stands(page: Served) -> None:
    with talking(page) as talk:
        wish = talk.hear("hello")["wish"]
        talk.say(do="settle", seq=5, wish={**wish, "crest": [[-3.0, -3.0, 0.4]]})
        assert "outside the bed" in talk.hear("refused")["text"]
    assert replace(page.session.history.now) == page.session.saved
