"""The live page's speed for the shipped example: from the end of a drag to the changed picture, in a real browser.

The figures are printed (`pytest -m benchmark -s`). The browser draws by the processor alone, as on a machine without
graphics hardware: the hardest case.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Polygon
from sizes import Size

from terrain.ground.existing import model_ground
from terrain.site.read import read_site
from viewer.web.live.engine import Bench, set_up, shape_fully, shape_quickly
from viewer.web.live.frames import later_panels
from viewer.web.live.wish import Wish, wish_of_site

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "web"))
from live_yards import DESK, PHONE, browsing, copied_yard, ready, served

pytestmark = pytest.mark.benchmark
ROUNDS = 15, 2  # in full, small
PICTURE, SERVER = 100.0, 40.0  # milliseconds asked for
CORNER = (0.0, 0.0)  # of the page, from which it counts its places


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    site = read_site(copied_yard(tmp_path_factory.mktemp("yard")))
    made = set_up(site, model_ground(site))
    shape_quickly(made, wish_of_site(site))
    return made


def wishes(bench: Bench, kind: str, rounds: int) -> list[Wish]:
    """As a hand would send them: each a little further than the one before."""
    wish = wish_of_site(bench.site)
    first, *rest = wish.crest
    corners = np.array(wish.outline.exterior.coords)[:-1]

    def moved(k: int) -> Polygon:
        shifted = corners.copy()
        shifted[3] += 0.01 * k
        return Polygon(shifted)

    made = {
        "height": lambda k: replace(wish, crest=(replace(first, height=first.height + 0.002 * k), *rest)),
        "crest": lambda k: replace(wish, crest=(replace(first, x=first.x + 0.01 * k), *rest)),
        "slope": lambda k: replace(wish, max_slope=0.25 - 0.002 * k),
        "soil": lambda k: replace(wish, soil=12.0 + 0.2 * k),
        "outline": lambda k: replace(wish, outline=moved(k)),
        "toe": lambda k: replace(wish, toe=0.5 + 0.01 * k),
    }
    return [made[kind](k) for k in range(1, rounds + 1)]


@pytest.mark.parametrize("kind", ["height", "crest", "slope", "soil", "outline", "toe"])
def test_shaping_while_a_hand_moves(bench: Bench, kind: str, size: Size) -> None:
    """Processor time, so that a busy machine does not count; the wall time is printed beside it."""
    shape, look, wall = [], [], []
    earlier = None
    for wish in wishes(bench, kind, size.of(*ROUNDS)):
        began, clock = time.process_time(), time.perf_counter()
        quick = earlier = shape_quickly(bench, wish, earlier)
        shaped = time.process_time()
        later_panels(quick, CORNER)
        shape.append(1e3 * (shaped - began))
        look.append(1e3 * (time.process_time() - shaped))
        wall.append(1e3 * (time.perf_counter() - clock))
    print(
        f"\n{kind}: shape, order {median(shape):.1f} ms; trees, signs {median(look):.1f} ms; wall {median(wall):.1f} ms"
    )
    assert median(shape) < size.most(SERVER)


def test_the_whole_study_when_the_hand_rests(bench: Bench) -> None:
    began = time.perf_counter()
    shape_fully(bench, wishes(bench, "crest", 1)[0])
    print(f"\nwhole study at full resolution: {1e3 * (time.perf_counter() - began):.0f} ms")


def drag(page: Any, handle: str, number: int, by: tuple[float, float]) -> None:
    """Drag a point at the speed of a hand, and let go."""
    x, y = page.evaluate(
        """([handle, number]) => {
          const { e, f } = document.querySelectorAll(handle)[number].transform.baseVal[0].matrix;
          const frame = document.getElementById('plan').getBoundingClientRect();
          return [frame.x + e, frame.y + f];
        }""",
        [handle, number],
    )
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 7):
        page.mouse.move(x + by[0] * step / 6, y + by[1] * step / 6)
        page.wait_for_timeout(30)
    page.wait_for_timeout(120)  # a hand stops before it lets go
    page.mouse.up()
    page.wait_for_function("() => hummock.full === hummock.seq")


@pytest.mark.parametrize("screen", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize(("handle", "number"), [(".handle.crest", 1), (".handle.corner", 10)], ids=["crest", "corner"])
def test_from_the_end_of_a_drag_to_the_changed_picture(
    tmp_path: Path, size: Size, screen: tuple[int, int], handle: str, number: int
) -> None:
    if size.small and screen == DESK:
        pytest.skip("in full only")
    with served(copied_yard(tmp_path)) as yard, browsing(screen) as page:
        page.goto(yard.guard.link)
        ready(page)
        page.wait_for_function("() => hummock.full === hummock.seq")
        page.evaluate("document.getElementById('plan').scrollIntoView({ block: 'end' })")
        for k in range(size.of(*ROUNDS)):
            drag(page, handle, number, (4.0 if k % 2 else -4.0, 3.0 if k % 2 else -3.0))
        timings = page.evaluate("hummock.timings")
    picture, shown, server, look = (
        median(one[key] for one in timings if one.get(key)) for key in ("picture", "shown", "server", "look")
    )
    told = f"picture and numbers drawn {picture:.0f} ms, on the screen {shown:.0f} ms, server {server:.0f} ms"
    print(f"\n{handle} at {screen}: {told}, signs {look:.0f} ms")
    assert len(timings) == size.of(*ROUNDS)
    # By the clock on the wall: a small size holds none of it.
    assert size.small or (picture < PICTURE and server < SERVER)
