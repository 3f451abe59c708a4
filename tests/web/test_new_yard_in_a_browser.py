"""A new yard in a real browser, on a phone's screen: typed, tapped and traced from nothing to the saved folder."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import matplotlib.image
import numpy as np
import pytest
from live_yards import DESK, PHONE, ROOT, browsing, ready, running

from terrain.interview import files_of, heard, talk_begun
from viewer.web.new.room import NewRoom
from viewer.web.new.session import NewYard

pytestmark = pytest.mark.slow
SETTLED = "() => hummock.pending.size === 0 && hummock.accepted === hummock.seq && hummock.worked === hummock.accepted"

READS = "words => document.querySelector('#rows-shots li').textContent.includes(words)"


def new_room(folder: Path) -> NewRoom:
    folder.mkdir(exist_ok=True)

    def write(files: Mapping[str, bytes]) -> None:
        for name, text in files.items():
            (folder / name).write_bytes(text)

    return NewRoom(NewYard(folder, "ft", write))


class Hands:
    """Somebody's hands on the page; every tap, press and line that is typed is counted."""

    def __init__(self, page: Any, link: str) -> None:
        self.page, self.done, self.lines = page, 0, dict[str, list[str]]()
        page.goto(link)
        ready(page)
        self.rest()

    def rest(self) -> None:
        self.page.wait_for_function(SETTLED)

    def press(self, where: str) -> None:
        self.done += 1
        self.page.click(where)

    def type(self, where: str, text: str, end: str = "") -> None:
        """A line typed where the cursor is or after a tap there; Enter or Tab at its end is part of it."""
        self.done += 1 + (
            not self.page.evaluate("where => document.querySelector(where) === document.activeElement", where)
        )
        self.page.fill(where, text)
        if end:
            self.page.press(where, end)

    def choose(self, where: str, value: str) -> None:
        self.done += 2
        self.page.select_option(where, value)

    def go_by_keys_to_a_shot(self) -> None:
        """Say that a rod is read, and walk to a place on the plan; its reading is asked then."""
        keys = self.page.keyboard
        self.page.focus("#measured input[value=rod]")
        keys.press("Space")
        self.rest()
        self.page.focus("#plan")
        for key in ("Home", "ArrowLeft", "ArrowUp", "Shift+ArrowLeft", "Enter"):
            keys.press(key)

    def tap(self, place: tuple[float, float]) -> None:
        """A finger on the plan."""
        self.done += 1
        self.page.touchscreen.tap(*self.pixel(place))

    def pixel(self, place: tuple[float, float]) -> tuple[float, float]:
        x, y = self.page.evaluate(
            """(place) => {
              const sheet = document.getElementById("plan");
              sheet.scrollIntoView({ block: "center" });
              const [frame, at] = [sheet.getBoundingClientRect(), hummock.plan.at(place)];
              return [frame.x + at[0], frame.y + at[1]];
            }""",
            list(place),
        )
        return x, y

    def said(self, key: str) -> str:
        return str(self.page.inner_text(f"#said-{key}"))


def by_talk(lines: list[str]) -> dict[str, bytes]:
    """The folder of a talk in which these lines are typed, and then nothing more is known."""
    talk = talk_begun("ft")
    for line in [*lines, *[""] * 20]:
        if not talk.done:
            talk, _ = heard(talk, line)
    assert talk.done
    return {name: text.encode() for name, text in files_of(talk.answers).items()}


def test_a_homeowner_with_a_tape_has_an_order_in_sixty_actions(tmp_path: Path) -> None:
    """A string and a ruler, sixteen shots where the page asks for them or the finger points: counted are actions."""
    room = new_room(tmp_path / "yard")
    with running(room) as guard, browsing(PHONE, touch=True, flat=True) as page:
        hands = Hands(page, guard.link)
        ranges = [page.inner_text("#order tr:has-text('90 % range') td")]
        hands.type("#bed-size", "24 by 10", "Enter")
        hands.press("#measured label:has(input[value=string])")
        hands.rest()
        shots = []
        for number in range(16):
            if number % 4 == 3:  # where the finger points: a place that a tape shows comes of it
                hands.tap(_free(page))
            else:
                page.wait_for_selector("#next:not([hidden])")
                hands.press("#stand")
            along, out = (page.input_value(f"#shots-{name}") for name in ("along", "out"))
            assert abs(20 * float(along) - round(20 * float(along))) < 1e-6  # 0.05 ft
            reads = f"{12 + 0.36 * float(out) + 0.1 * (number % 3):.2f}"  # the ground falls 3 % to the far side
            hands.type("#shots-reading", reads, "Enter")
            hands.rest()
            shots.append(f"{along}, {out}, {reads}")
            assert page.locator("#rows-shots li").count() == number + 1
            assert page.input_value("#shots-reading") == ""
            ranges.append(page.inner_text("#order tr:has-text('90 % range') td"))
            if number == 8:
                assert page.locator("#plan path.existing").count() > 0
        first = shots[0].split(", ")[2]
        hands.type("#again", first, "Enter")
        hands.press("#high label:has(input[value=near])")
        hands.choose("#house-side", "far")
        hands.type("#house-away", "12", "Enter")
        for name, text in (("name", "oak"), ("girth", "57"), ("one", "18"), ("two", "21")):
            hands.type(f"#trees-{name}", text, "Enter" if name == "two" else "Tab")
        hands.rest()
        assert "agrees" in hands.said("again")
        assert "falls toward it by 3 %" in hands.said("house")
        hands.press("#save")
        page.wait_for_selector("#saved:not([hidden])")
        assert page.inner_text("#saved code") == f"hummock shape {tmp_path / 'yard' / 'site.toml'}"
        assert hands.done <= 60
        low, high = (_ends(one) for one in (ranges[0], ranges[-1]))
        assert high[1] - high[0] < 0.6 * (low[1] - low[0])  # what the shots are worth
        assert len(set(ranges)) > 6
        wide, room_there = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide <= room_there
    lines = ["ft", "24 by 10", "string", *shots, "", first, "near", "far 12", "oak, 57, 18, 21", ""]
    written = {path.name: path.read_bytes() for path in (tmp_path / "yard").iterdir()}
    assert written == by_talk(lines)


def _free(page: Any) -> tuple[float, float]:
    """A place of the bed that is far from every shot, metres."""
    shots = np.array(page.evaluate("hummock.state.plan.shots.map(({ at }) => at)"))
    places = np.stack(np.meshgrid(np.arange(0.63, 7.0, 0.41), np.arange(0.47, 2.9, 0.37)), axis=-1).reshape(-1, 2)
    away = np.hypot(*(places[:, None] - shots[None]).T).min(axis=0)
    x, y = places[np.argmax(away)]
    return float(x), float(y)


def _ends(text: str) -> tuple[float, float]:
    low, high = re.findall(r"[\d.]+", text)
    return float(low), float(high)


PIXELS = (1200, 900)
LEFT, RIGHT = np.array([200.0, 700.0]), np.array([900.0, 600.0])


def drawn_bed(path: Path) -> Path:
    """A picture of a bed from above, askew, its front from LEFT to RIGHT and two fifths of that wide: invented."""
    along = (RIGHT - LEFT) / np.hypot(*(RIGHT - LEFT))
    up, across = np.mgrid[0 : PIXELS[1], 0 : PIXELS[0]]
    off = np.stack([across - LEFT[0], up - LEFT[1]], axis=-1)
    ahead, out = off @ along, off @ np.array([along[1], -along[0]])
    front = np.hypot(*(RIGHT - LEFT))
    bed = (ahead >= 0) & (ahead <= front) & (out >= 0) & (out <= 0.4 * front)
    matplotlib.image.imsave(path, np.where(bed[..., None], [0.5, 0.35, 0.2], [0.6, 0.75, 0.5]))
    return path


def laid(page: Any, pixel: np.ndarray) -> tuple[float, float]:
    """Where a pixel of the picture lies on the plan, metres."""
    a, b, e, f = page.evaluate("hummock.plan.picture.lay")
    u, v = pixel[0], -pixel[1]
    return a * u - b * v + e, b * u + a * v + f


def test_a_bed_is_traced_over_a_picture_scaled_by_one_tape(tmp_path: Path) -> None:
    """The picture's bed is 26 ft long by 10.4 ft wide once its front is taped: corners to a pixel of the screen."""
    room = new_room(tmp_path / "yard")
    with running(room) as guard, browsing(PHONE, touch=True, flat=True) as page:
        sent: list[str] = []
        page.on("request", lambda one: sent.append(one.url))
        hands = Hands(page, guard.link)
        hands.type("#bed-size", "20 by 9", "Enter")  # makes room for the corners that are traced
        hands.press("#corners-more summary")
        giant = tmp_path / "giant.png"
        head = b"\x89PNG\r\n\x1a\n" + b"\x00\x00\x00\rIHDR" + (30_000).to_bytes(4, "big") * 2
        giant.write_bytes(head + b"\x08\x02\x00\x00\x00" * 20)
        for bad, words in (
            (giant, "900 megapixels. Accepted: 50"),
            (ROOT / "README.md", "no picture that can be read"),
        ):
            page.set_input_files("#picture-file", bad)
            page.wait_for_function(
                "words => document.getElementById('said-picture').textContent.includes(words)", arg=words
            )
        page.set_input_files("#picture-file", drawn_bed(tmp_path / "bed.png"))
        page.wait_for_function("() => hummock.plan.picture")
        for end in (LEFT, RIGHT):
            hands.tap(laid(page, end))
        page.fill("#tape-length", "long")
        page.press("#tape-length", "Enter")
        page.wait_for_function("() => document.getElementById('said-picture').className.includes('trouble')")
        page.fill("#tape-length", "26")
        page.press("#tape-length", "Enter")
        page.wait_for_function("() => document.getElementById('said-picture').textContent.startsWith('To scale')")
        assert np.allclose([laid(page, LEFT), laid(page, RIGHT)], [(0, 0), (26 * 0.3048, 0)], atol=0.15)
        along = RIGHT - LEFT
        out = 0.4 * np.array([along[1], -along[0]])
        for corner in (LEFT, RIGHT, RIGHT + out, LEFT + out):
            hands.tap(laid(page, corner))
        hands.rest()
        assert np.allclose(_corners(page), [(0, 0), (26, 0), (26, 10.4), (0, 10.4)], atol=0.6)
        before = _corners(page)[2]
        x, y = hands.pixel(tuple(0.3048 * before))
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x - 30, y + 18, steps=5)
        page.mouse.up()
        hands.rest()
        moved = _corners(page)[2]
        size = page.evaluate("hummock.plan.view.size") * 0.3048
        assert np.allclose(moved, before + np.array([-30, -18]) / size, atol=0.06)
        page.click("#undo")
        hands.rest()
        assert np.allclose(_corners(page)[2], before)
        page.click("#rows-bed li:nth-child(4) button:has-text('✕')")
        hands.rest()
        assert len(_corners(page)) == 3
        # Closed and opened again: what was traced is there, and is said to be.
        page.reload()
        ready(page)
        assert len(_corners(page)) == 3
        assert all(url.startswith((f"http://{guard.hosts[0]}", f"ws://{guard.hosts[0]}")) for url in sent)
    with running(new_room(tmp_path / "yard")) as guard, browsing(DESK, flat=True) as page:
        hands = Hands(page, guard.link)
        assert "were found and brought back" in page.inner_text("#news")
        assert len(_corners(page)) == 3
    assert [path.name for path in (tmp_path / "yard").iterdir()] == ["site.unsaved.json"]


def _corners(page: Any) -> np.ndarray:
    """Corners of the bed as typed, feet."""
    found = page.evaluate("hummock.state.plan.corners.map(({ at }) => at)")
    return np.array(found) / 0.3048


def test_all_of_it_goes_by_the_keys_and_fits_a_narrow_screen(tmp_path: Path) -> None:
    room = new_room(tmp_path / "yard")
    with running(room) as guard, browsing((320, 640), flat=True) as page:
        hands = Hands(page, guard.link)
        page.focus("#bed-size")
        page.keyboard.type("24 by 10")
        page.keyboard.press("Enter")
        hands.go_by_keys_to_a_shot()
        assert page.evaluate("document.activeElement.id") == "shots-reading"
        page.keyboard.type("4.32")
        page.keyboard.press("Enter")
        page.wait_for_function("() => document.querySelectorAll('#rows-shots li').length === 1")
        assert "reads 4.32 ft" in page.inner_text("#rows-shots li")
        page.focus("#rows-shots li button:first-of-type")
        page.keyboard.press("Enter")
        assert page.inner_text("#shots-take") == "Change shot 1"
        page.fill("#shots-reading", "4.5")
        page.keyboard.press("Enter")
        page.wait_for_function(READS, arg="4.50 ft")
        page.fill("#shots-reading", "much")
        page.keyboard.press("Enter")
        page.wait_for_function("() => document.getElementById('said-shots').className.includes('trouble')")
        assert "Accepted" in hands.said("shots")
        # A line that somebody has begun to type is theirs, whatever is taken meanwhile, and so are words of a refusal.
        page.fill("#house-away", "7")
        page.fill("#slope", "steep")
        page.keyboard.press("Tab")
        page.wait_for_function("() => document.getElementById('said-slope').className.includes('trouble')")
        page.fill("#top", "15")
        page.keyboard.press("Tab")
        page.wait_for_function("() => document.getElementById('said-top').textContent === '15 in'")
        assert [page.input_value(line) for line in ("#house-away", "#slope", "#shots-reading")] == [
            "7",
            "steep",
            "much",
        ]
        assert "Accepted" in hands.said("slope")
        page.focus("#units input[value=ft]")
        page.keyboard.press("Control+z")
        page.wait_for_function("() => document.getElementById('top').value === ''")
        page.keyboard.press("Control+z")
        page.wait_for_function(READS, arg="4.32 ft")
        small = page.evaluate(
            """() => [...document.querySelectorAll("button, summary, select, .entry input, .choice span")]
              .filter((one) => one.getClientRects().length && (one.offsetHeight < 44 || one.offsetWidth < 44))
              .map((one) => one.id || one.textContent)"""
        )
        assert small == []
        unnamed = page.evaluate(
            """() => [...document.querySelectorAll("input, select")]
              .filter((one) => !one.labels.length && !one.getAttribute("aria-label")).map((one) => one.id)"""
        )
        assert unnamed == []
        wide, room_there = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide <= room_there


def test_the_real_command_from_link_to_saved_folder(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "cli.main", "new", str(tmp_path / "a" / "yard"), "--page", "--no-browser"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}

    def stopped(act: Any) -> tuple[str, str, int]:
        command = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment)
        try:
            assert command.stdout is not None
            link = command.stdout.readline().strip()
            assert re.fullmatch(r"http://127\.0\.0\.1:\d+/\?key=[\w-]{43,}", link), command.communicate(timeout=30)
            act(link)
        finally:
            command.send_signal(signal.SIGINT)
            told, complaints = command.communicate(timeout=30)
        return told, complaints, command.returncode

    def typed(link: str) -> None:
        with browsing(flat=True) as page:
            hands = Hands(page, link)
            hands.type("#bed-size", "24 by 10", "Enter")
            hands.rest()

    def saved(link: str) -> None:
        with browsing(flat=True) as page:
            Hands(page, link)
            page.click("#save")
            page.wait_for_selector("#saved:not([hidden])")

    assert stopped(lambda link: None)[2] == 0
    assert not (tmp_path / "a").exists()
    told, complaints, status = stopped(typed)
    assert (status, complaints) == (0, "")
    assert "is not saved: it is kept there, and the same command brings it back." in told
    told, complaints, status = stopped(saved)
    assert (status, complaints) == (0, "")
    assert "Wrote site.toml, bed.csv in" in told
    assert f"Next: hummock shape {tmp_path / 'a' / 'yard' / 'site.toml'}" in told
    files = {path.name: path.read_bytes() for path in (tmp_path / "a" / "yard").iterdir()}
    assert files == by_talk(["ft", "24 by 10"])
    refused = subprocess.run(words, capture_output=True, text=True, env=environment, timeout=120, check=False)
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "site.toml, bed.csv already there, nothing was written" in refused.stderr
