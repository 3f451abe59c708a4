"""A channel beside a house carries its water off: 2 % within 10 ft (IRC R401.3)."""

import dataclasses

import pytest
import review_yards as yards
from shapely.geometry import Polygon, box

from terrain.limits import FOOT
from terrain.review.swales import least_fall, swale_findings
from terrain.site.features import Channel
from terrain.site.model import Building

HOUSE = Building("house", box(6.0, 14.0, 14.0, 18.0), 1.5)


def told(slope, north=13.0, house=HOUSE):
    """A swale that runs east beside the house on ground that falls east."""
    ground = yards.make_ground(yards.make_grid(cell=0.25), lambda x, y: 3.0 - slope * x)
    site = yards.make_site(box(2, 2, 18, 12), "ft", building=(house,))
    swale = Channel("swale", ((4.0, north), (16.0, north)), 0.3, 0.2)
    site = dataclasses.replace(site, channel=(swale,))
    return swale, ground, list(swale_findings(site, ground))


@pytest.mark.parametrize(("slope", "levels"), [(0.0, ["caution"]), (0.019, ["caution"]), (0.021, []), (0.05, [])])
def test_swale_beside_a_house_falls_two_per_cent(slope, levels):
    swale, ground, found = told(slope)
    assert [f.level for f in found] == levels
    fall, at = least_fall(swale, HOUSE, ground, 10 * FOOT)
    # The bed falls with the ground, and at least 1 % where that is flatter (the channel's own least fall).
    assert fall == pytest.approx(max(slope, 0.01), abs=1e-6)
    assert HOUSE.outline.distance(box(*at, *at)) < 10 * FOOT
    assert all("swale falls only" in f.text and f.bound == 0.02 for f in found)


def test_swale_farther_than_ten_feet_is_left_to_its_own_rules():
    swale, ground, found = told(0.0, north=14.0 - 10 * FOOT - 0.05)
    assert found == []
    assert least_fall(swale, HOUSE, ground, 10 * FOOT) is None


@pytest.mark.parametrize(
    ("north", "numbers"),
    # Through the first high point and near the second, through the second alone, and clear of both.
    [(8.0, [1, 2]), (12.0, [2]), (2.5, [])],
)
def test_a_channel_through_the_mound_is_told_with_the_high_points_it_cuts(north, numbers):
    swale = Channel("swale", ((4.0, north), (16.0, north)), 0.3, 0.2)
    crest = ((8.0, 8.0, 0.5), (12.0, 11.0, 0.9))
    _, _, proposal, found = yards.reviewed(
        bed=box(4.0, 4.0, 16.0, 16.0), crest=crest, channel=(swale,), grid=yards.make_grid(cell=0.25)
    )
    cut = [f for f in found.findings if "cannot ride on fill" in f.text]
    assert sorted(int(f.text.split("high point ")[1].split()[0]) for f in cut) == numbers
    for finding, number in zip(sorted(cut, key=lambda f: f.text), numbers, strict=True):
        point = proposal.crest[number - 1]
        assert finding.at == pytest.approx(point.at)
        assert finding.value == pytest.approx(point.wished - point.built, abs=1e-12)
        assert finding.text.startswith("swale is dug into")
        assert "Lead it round the mound" in finding.text
        assert len(finding.text) <= 260


# A bed that bends, and three high points along it, in metres: an invented yard.
_FEET = [(8, 6), (30, 4), (52, 7), (62, 14), (63, 24), (56, 27), (50, 24), (44, 18), (30, 16), (16, 18), (8, 14)]
BENT = Polygon([(x * FOOT, y * FOOT) for x, y in _FEET])
RIDGE = ((6.1, 3.05, 0.457), (11.58, 3.35, 0.66), (17.07, 5.18, 0.508))


def test_whatever_a_channel_takes_off_a_high_point_is_told_and_nothing_else():
    """Across the mound it breaks the ridge, and lets down high points that it does not come near."""
    yard = {"bed": BENT, "crest": RIDGE, "grid": yards.make_grid(cell=0.2), "max_slope": 1 / 3.5}
    _, _, alone, _ = yards.reviewed(**yard, berm={"toe": 0.61})
    let_down = 0
    for east in (7.45, 9.25, 12.85, 13.5, 14.65):
        runnel = Channel("runnel", ((east, 0.6), (east + 0.6, 3.05), (east + 0.3, 6.7)), 0.2, 0.1, 1.0)
        _, _, proposal, found = yards.reviewed(**yard, berm={"toe": 0.61}, channel=(runnel,))
        told = {f.text.split("high point ")[1].split()[0] for f in found.findings if "cannot ride on fill" in f.text}
        for number, (before, after) in enumerate(zip(alone.crest, proposal.crest, strict=True), start=1):
            lost = before.built - after.built
            if lost > 0.4 * before.built:
                assert str(number) in told, (east, number, before.built, after)
                let_down += 1
            if lost < 0.03:
                assert str(number) not in told, (east, number, before.built, after)
    assert let_down > 1
