"""A point of a stream is dragged on the live page: bed, drops and pools follow, and the site file holds it."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from live_yards import browsing, copied_yard, served
from scipy.spatial import cKDTree
from test_live_in_a_browser import dragged as dragged_by_hand, opened

from terrain.errors import InputError
from terrain.ground import model_ground
from terrain.site.model import Site
from terrain.site.read import read_site
from viewer.page.subject import subject_of
from viewer.pictures.laid import boulders
from viewer.web.live.draft import plain_wish
from viewer.web.live.engine import set_up, shape_quickly
from viewer.web.live.save import same_wish, with_wish_written
from viewer.web.live.wish import Wish, read_wish, wish_of_site, with_wish
from viewer.web.yard import water_of


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return copied_yard(tmp_path_factory.mktemp("yard"), "tansy-hollow")


@pytest.fixture(scope="module")
def site(path: Path) -> Site:
    return read_site(path)


def dragged(site: Site) -> Wish:
    """The stream's third point, half a foot to the west."""
    wish = wish_of_site(site)
    (first, second, third, *rest) = wish.streams[0]
    return replace(wish, streams=((first, second, (third[0] - 0.1524, third[1]), *rest),))


def test_bed_water_and_soil_follow_a_dragged_point(site: Site) -> None:
    bench = set_up(site, model_ground(site))
    before = shape_quickly(bench, wish_of_site(site), None)
    after = shape_quickly(bench, dragged(site), before)
    beds = [shaped.proposal.streams[0] for shaped in (before, after)]
    apart = np.abs(before.proposal.elevation - after.proposal.elevation)
    assert 0.02 < apart.max() < 0.5
    assert beds[0].wet.symmetric_difference(beds[1].wet).area > 0.02
    assert before.order.expected != after.order.expected
    corner = (1.0, 2.0)
    ring = np.array(water_of(after.proposal, corner)[0]["wet"]) + corner
    assert ring == pytest.approx(np.array(beds[1].wet.exterior.coords)[:-1], abs=1e-4)


def test_drops_and_pools_stay_on_their_legs(site: Site) -> None:
    stream, moved = site.stream[0], with_wish(site, dragged(site)).stream[0]
    assert stream.drops is not None
    assert moved.drops is not None
    assert [drop.height for drop in moved.drops] == [drop.height for drop in stream.drops]
    # The second drop lies on the second leg, at 0.7 of it: it goes 0.7 of the way that the leg's end went.
    (x0, _), (x1, _) = stream.line[1:3]
    share = (stream.drops[1].x - x0) / (x1 - x0)
    assert share == pytest.approx(0.7, abs=0.05)
    assert stream.drops[1].x - moved.drops[1].x == pytest.approx(share * 0.1524, abs=0.02)
    # A drop on the first leg stays; the pool at the point goes with it.
    assert moved.drops[0].x == pytest.approx(stream.drops[0].x, abs=0.02)
    assert stream.pools[0].at[0] - moved.pools[0].at[0] == pytest.approx(0.1524, abs=0.01)
    assert [pool.size for pool in moved.pools] == [pool.size for pool in stream.pools]


def test_the_site_file_holds_the_dragged_stream_and_nothing_else_changes(path: Path, site: Site) -> None:
    wish, text = dragged(site), path.read_text(encoding="utf-8")
    written = with_wish_written(text, wish_of_site(site), wish, site.units)
    changed = [pair for pair in zip(text.splitlines(), written.splitlines(), strict=True) if pair[0] != pair[1]]
    assert [pair[1].split()[0] for pair in changed] == ["line", "drops", "pools"]
    path.write_text(written, encoding="utf-8")
    try:
        assert same_wish(wish_of_site(read_site(path)), wish)
    finally:
        path.write_text(text, encoding="utf-8")


def test_a_draft_keeps_streams_and_another_number_of_points_is_refused(site: Site) -> None:
    wish = dragged(site)
    assert read_wish(json.loads(json.dumps(plain_wish(wish))), (0.0, 0.0)).streams == wish.streams
    with pytest.raises(InputError, match="are not those of the site"):
        with_wish(site, replace(wish, streams=(wish.streams[0][:-1],)))


@pytest.mark.slow
def test_a_hand_drags_a_point_of_a_stream_in_a_browser(path: Path) -> None:
    with served(path) as running, browsing() as page:
        opened(page, running.guard.link)
        before = page.locator("svg .water").get_attribute("d")
        dragged_by_hand(page, ".handle.stream", 1, (-22.0, 8.0))
        assert page.locator("svg .water").get_attribute("d") != before
        assert page.locator(".handle.stream.chosen").get_attribute("aria-label").startswith("Point 2 of the stream")
        # Its stones were drawn for where it ran; they come again for where it runs.
        page.wait_for_function("() => hummock.full === hummock.seq && hummock.desk.stage.laid.length > 0")
        told = page.evaluate("""() => {
          const [{ data }] = hummock.desk.stage.laid.filter(({ kind }) => kind === 'stone');
          return Array.from({ length: data.length / 9 }, (_, k) => [data[9 * k], data[9 * k + 1]]); }""")
        studies, corner = list(running.session.studies.values()), np.array(running.session.corner)
        before_it, after_it = (
            np.concatenate([stone.points[:, :2] for stone in boulders(subject_of(study))]) - corner
            for study in (studies[0], studies[-1])
        )
        assert cKDTree(after_it).query(told)[0].max() < 1e-3
        assert cKDTree(before_it).query(told)[0].max() > 0.02
