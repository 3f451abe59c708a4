"""Every finding of the review on yards that the real stages shaped: one that calls for it, and one that does not.

What a shaped yard cannot hold is left to hand-made stages: soil, a cut or mulch inside a keep-off, a slope over its
limit, ground made steeper still, soil that takes the clearance at a wall (test_tree_checks, test_slope_findings,
test_wall_soil).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
import review_yards as yards
from finding_yards import (
    FAR,
    FINE,
    HOUSE,
    LEAVE,
    LOT,
    MANY,
    OAK,
    PATH,
    POOL,
    RILL,
    SLIGHT,
    SQUARE,
    STONES,
    TAPED,
    TOP,
    Case,
    falling,
)
from shapely.geometry import box

from terrain.findings import Finding
from terrain.grid import Grid
from terrain.site.model import Heap, KeepClear, Soil

Yard = Mapping[str, object]


CASES = (
    # Trees.
    Case("protection zone. Get an arborist's written advice", "caution", "trees", {"tree": (OAK,)}, {"tree": (FAR,)}),
    Case(
        "make the bed smaller, draw the bed back, or state",
        "stop",
        "trees",
        {"tree": (replace(OAK, at=(10.0, 11.5), keep_off=1.2),)},
        {"tree": (OAK,)},
    ),
    Case(
        "past the 10 cm that the site file allows",
        "stop",
        "trees",
        {"tree": (replace(OAK, allowed=replace(LEAVE, fill=0.10)),)},
        {"tree": (replace(OAK, allowed=LEAVE),)},
    ),
    Case(
        "past the 5 % that the site file allows",
        "stop",
        "trees",
        {"tree": (replace(OAK, allowed=replace(LEAVE, share=0.05)),)},
        {"tree": (replace(OAK, allowed=LEAVE),)},
    ),
    Case(
        "ask an arborist before soil arrives",
        "caution",
        "trees",
        {"tree": (replace(OAK, allowed=replace(LEAVE, share=None)),)},
        {"tree": (replace(OAK, allowed=LEAVE),)},
    ),
    Case(
        "Allowed: 60 cm of soil, 30 % of the zone; A. Person, licence 12-3, 2026-05-04",
        "caution",
        "trees",
        {"tree": (replace(OAK, allowed=LEAVE),)},
        {"tree": (OAK,)},
    ),
    Case(
        "Nobody measured the root flare",
        "caution",
        "trees",
        {"tree": (replace(OAK, flare_assumed=True),)},
        {"tree": (OAK,)},
    ),
    Case("also lies over the root protection zones of", "caution", "trees", {"tree": MANY}, {"tree": MANY[:3]}),
    Case(
        "pool meets its root protection zone 3.",
        "caution",
        "trees",
        {"tree": (OAK,), "basin": (replace(POOL, center=(14.0, 15.5)),)},
        {"tree": (OAK,), "basin": (POOL,)},
    ),
    Case(
        "among the roots that hold the tree up. It may fall",
        "stop",
        "trees",
        {"tree": (replace(OAK, keep_off=0.6),), "basin": (replace(POOL, center=(10.0, 17.1), size=(0.6, 0.0)),)},
        {"tree": (OAK,), "basin": (replace(POOL, center=(14.0, 15.5)),)},
    ),
    Case(
        "reaches past the root protection zone, and the grade changes",
        "caution",
        "trees",
        {"tree": (replace(SLIGHT, dripline=6.0),)},
        {"tree": (replace(SLIGHT, dripline=3.0),)},
    ),
    Case("Roots often run past that circle", "note", "trees", {"tree": (SLIGHT,)}, {"tree": (FAR,)}),
    Case("By one list raised grade harms bur oak most", "note", "trees", {"tree": (OAK,)}, {"tree": (FAR,)}),
    Case("harms ginkgo is not known", "note", "trees", {"tree": (replace(OAK, name="ginkgo"),)}, {"tree": (OAK,)}),
    Case("write girth in place", "caution", "trees", {"tree": (TAPED,)}, {"tree": (OAK,)}),
    Case(
        "No soil, no heap and no mulch lies inside any keep-off",
        "note",
        "trees",
        {"tree": (OAK, FAR)},
        {"tree": (OAK,), "heap": (Heap("spoil", box(8.0, 15.0, 10.0, 16.0)),)},
    ),
    Case(
        "spoil stands inside the keep-off of bur oak",
        "stop",
        "trees",
        {"tree": (OAK,), "heap": (Heap("spoil", box(8.0, 15.0, 10.0, 16.0)),)},
        {"tree": (OAK,), "heap": (Heap("spoil", box(1.0, 1.0, 2.0, 2.0)),)},
    ),
    Case(
        "of the root protection zone of bur oak. Move it off the roots",
        "caution",
        "trees",
        {"tree": (OAK,), "heap": (Heap("spoil", box(14.0, 14.0, 15.0, 15.0)),)},
        {"tree": (OAK,), "heap": (Heap("spoil", box(1.0, 1.0, 2.0, 2.0)),)},
    ),
    Case(
        "front stones stand inside its keep-off",
        "stop",
        "trees",
        {"bed": SQUARE, "tree": (replace(OAK, at=(10.0, 4.5), keep_off=1.8),), "retained_edge": (STONES,)},
        {"bed": SQUARE, "tree": (replace(OAK, at=(10.0, 4.0), keep_off=1.2),), "retained_edge": (STONES,)},
    ),
    Case(
        "the trench of front stones comes to",
        "stop",
        "trees",
        {"bed": SQUARE, "tree": (replace(OAK, at=(10.0, 4.0), keep_off=1.2),), "retained_edge": (STONES,)},
        {"bed": SQUARE, "tree": (FAR,), "retained_edge": (STONES,)},
    ),
    Case("fence it first", "caution", "trees", {"tree": (OAK,)}, {"tree": (FAR,)}),
    # Slopes.
    Case("; the limit is", "note", "slopes", {"max_slope": 0.19}),
    Case("steeper than 5:1, to which one design manual", "note", "slopes", {}, {"max_slope": 0.19}),
    Case("steeper than 4:1, too steep for a mower", "note", "slopes", {"max_slope": 0.3, "crest": ((10, 9, 0.7),)}),
    Case("steeper than 3:1, which cannot be mown", "caution", "slopes", {"max_slope": 0.4, "crest": ((10, 9, 1.0),)}),
    Case("steeper than 2:1, which needs an engineer", "stop", "slopes", {"max_slope": 0.6, "crest": ((10, 9, 1.6),)}),
    Case("The ground itself is 3.3:1", "caution", "slopes", {"existing": falling(0.3)}, {"existing": falling(0.2)}),
    Case(
        "The top of seat is as good as level",
        "note",
        "slopes",
        {"existing": falling(0.0), "terrace": (TOP,), "berm": {"toe": 0.3}, "grid": FINE},
        {"terrace": (TOP,)},
    ),
    Case(
        "path becomes as steep as",
        "caution",
        "slopes",
        {"walk": (PATH,)},
        {"walk": (replace(PATH, line=((2, 3), (2, 15))),)},
    ),
    Case(
        "The work changes the level of path, which is paved",
        "caution",
        "slopes",
        {"walk": (replace(PATH, paved=True),)},
        {"walk": (replace(PATH, line=((2, 3), (2, 15)), paved=True),)},
    ),
    # Water.
    Case(
        "m3, over the roots of bur oak. Open a way out",
        "caution",
        "drainage",
        {"tree": (replace(OAK, at=(10.0, 11.5), keep_off=1.2),)},
    ),
    Case(
        "rill has no way out",
        "caution",
        "drainage",
        {"channel": (RILL,)},
        {"channel": (replace(RILL, line=((8.0, 4.0), (3.0, 3.2))),), "basin": (POOL,)},
    ),
    Case(
        "the ground falls",
        "stop",
        "drainage",
        {"building": (HOUSE,), "bed": box(6.0, 6.0, 14.0, 13.0)},
        {"building": (HOUSE,), "bed": box(6.0, 3.0, 14.0, 10.0), "crest": ((10.0, 6.0, 0.5),)},
    ),
    Case(
        "no longer falls away within",
        "stop",
        "drainage",
        {"building": (HOUSE,), "bed": box(4.0, 6.0, 16.0, 13.4), "crest": ((10.0, 11.0, 0.6),)},
        {"building": (HOUSE,), "bed": box(6.0, 3.0, 14.0, 10.0), "crest": ((10.0, 6.0, 0.5),)},
    ),
    Case(
        "the ground does not fall away from the wall as it is",
        "stop",
        "drainage",
        {"existing": falling(-0.01), "building": (HOUSE,)},
        {"existing": falling(-0.01), "building": (HOUSE,), "bed": box(4.0, 1.0, 16.0, 8.0), "crest": ((10, 4.5, 0.4),)},
    ),
    Case(
        "Mulch 7 cm deep lies against house",
        "caution",
        "drainage",
        {"building": (HOUSE,), "bed": box(6.0, 7.0, 14.0, 13.5)},
        {"building": (HOUSE,), "bed": box(6.0, 7.0, 14.0, 13.0)},
    ),
    Case(
        "more ground toward house",
        "caution",
        "drainage",
        {"existing": falling(0.0), "building": (HOUSE,), "bed": box(6.0, 7.0, 14.0, 13.4), "crest": ((10, 11, 0.4),)},
        {"building": (HOUSE,)},
    ),
    Case(
        "over the lot line on the east side",
        "caution",
        "drainage",
        {"boundary": box(0, 0, 13.0, 20)},
        {"boundary": LOT},
    ),
    Case(
        "rill falls only 1.0 %",
        "caution",
        "drainage",
        {
            "building": (HOUSE,),
            "channel": (replace(RILL, line=((5.0, 13.0), (16.0, 13.0)), depth=0.08, side_slope=2.0),),
        },
        {"building": (HOUSE,), "channel": (replace(RILL, line=((17.0, 13.0), (17.0, 3.0))),)},
    ),
    # Shape, soil, ground, look.
    Case("was wished. It is held by", "note", "shape", {"crest": ((10, 9, 1.5),)}),
    Case(
        "of it is left over. Make the bed about", "caution", "shape", {"berm": {"soil": 60.0}}, {"berm": {"soil": 12.0}}
    ),
    Case("more is needed. Even without a mound", "caution", "shape", {"berm": {"soil": 2.0}}, {"berm": {"soil": 12.0}}),
    Case("every wished height was taken at", "note", "shape", {"berm": {"soil": 8.0}}),
    Case("The toe eases over", "note", "shape", {"berm": {"toe": 3.9}}, {"berm": {"toe": 1.2}}),
    Case(
        "pool has 2 cm of room round it",
        "note",
        "shape",
        {"basin": (replace(POOL, clearance=0.02),)},
        {"basin": (POOL,)},
    ),
    Case(
        "hold 56 cm at most where 80 cm was asked",
        "caution",
        "shape",
        {"bed": SQUARE, "retained_edge": (replace(STONES, height=0.8),), "crest": ((10.0, 9.0, 0.9),)},
        {"bed": SQUARE, "retained_edge": (STONES,)},
    ),
    Case("bare until it is planted", "caution", "soil", {"mulch": 0.0}, {}),
    Case("the mulch covers it", "note", "soil", {}, {"mulch": 0.0}),
    Case("Swell, shrink and settlement are estimates", "note", "soil", {}, {"crest": ((10, 9, 0.0),), "sod": 0.0}),
    # Safety.
    Case("have buried lines located", "caution", "safety", {}),
    Case("bounds here are planning figures", "caution", "safety", {}),
    Case("Look up before a truck tips", "caution", "safety", {}, {"soil": Soil(bag=0.03)}),
    Case(
        "its dust harms the lungs", "caution", "safety", {"bed": SQUARE, "retained_edge": (STONES,)}, {"walk": (PATH,)}
    ),
    Case(
        "may lift: use a machine or a team",
        "caution",
        "safety",
        {"bed": SQUARE, "retained_edge": (replace(STONES, height=0.5),)},
        {"bed": SQUARE, "retained_edge": (STONES,)},
    ),
    Case(
        "ask whether it needs a permit. Lean its face back",
        "caution",
        "safety",
        {"bed": SQUARE, "retained_edge": (STONES,)},
        {"bed": SQUARE},
    ),
    Case(
        "codes ask for a design: ask an engineer",
        "caution",
        "safety",
        {"bed": SQUARE, "retained_edge": (replace(STONES, height=0.8),)},
        {"bed": SQUARE, "retained_edge": (STONES,)},
    ),
    Case(
        "from which codes ask for a permit and an engineer",
        "stop",
        "safety",
        {"bed": SQUARE, "retained_edge": (replace(STONES, height=1.0),)},
        {"bed": SQUARE, "retained_edge": (replace(STONES, height=0.8),)},
    ),
    Case(
        "before it meets the ground",
        "caution",
        "safety",
        {"channel": (RILL,), "keep_clear": (KeepClear("lid", box(11.0, 3.0, 12.0, 3.7)),)},
        {"channel": (RILL,), "keep_clear": (KeepClear("lid", box(11.0, 2.0, 12.0, 3.3)),)},
    ),
    Case("competent person look at the sides", "caution", "safety", {"basin": (POOL,)}, {"channel": (RILL,)}),
    Case(
        "needs a way out within",
        "caution",
        "safety",
        {"basin": (replace(POOL, depth=1.3, side_slope=4.0),)},
        {"basin": (POOL,)},
    ),
    Case(
        "shored or laid back",
        "caution",
        "safety",
        {"basin": (replace(POOL, depth=1.6, side_slope=4.0),)},
        {"basin": (POOL,)},
    ),
    Case(
        "pool is dug 40 cm deep, 0.35 m from house: that may take the ground",
        "caution",
        "safety",
        {"building": (HOUSE,), "basin": (replace(POOL, center=(4.05, 15.0)),)},
        {"building": (HOUSE,), "basin": (replace(POOL, center=(3.95, 15.0)),)},
    ),
    Case("may ask for a fence", "caution", "safety", {"basin": (replace(POOL, depth=0.5),)}, {"basin": (POOL,)}),
    Case(
        "the edge of pool. Keep it 0.61 m back",
        "caution",
        "safety",
        {"basin": (POOL,), "heap": (Heap("spoil", box(2.0, 4.0, 3.0, 5.0)),)},
        {"basin": (POOL,), "heap": (Heap("spoil", box(2.0, 4.6, 3.0, 5.0)),)},
    ),
    Case(
        "the lot line. Keep it 0.61 m back",
        "caution",
        "safety",
        {"boundary": LOT, "heap": (Heap("spoil", box(0.3, 4.0, 2.0, 5.0)),)},
        {"boundary": LOT, "heap": (Heap("spoil", box(0.7, 4.0, 2.0, 5.0)),)},
    ),
    Case("past the lot line near", "stop", "safety", {"boundary": box(0, 0, 13.0, 20)}, {"boundary": LOT}),
    Case(
        "The toe of the mound comes within", "caution", "safety", {"boundary": box(0, 0, 14.2, 20)}, {"boundary": LOT}
    ),
    Case(
        "The edge of the digging comes within",
        "caution",
        "safety",
        {"boundary": LOT, "basin": (replace(POOL, center=(1.0, 3.0)),)},
        {"boundary": LOT, "basin": (POOL,)},
    ),
    Case("Ask the permit office whether", "caution", "safety", {}, {"max_slope": 0.4, "crest": ((10, 9, 1.0),)}),
    Case("often needs a grading permit", "caution", "safety", {"max_slope": 0.4, "crest": ((10, 9, 1.0),)}),
    Case(
        "An acre or more of disturbed ground",
        "caution",
        "safety",
        {"bed": box(1.0, 1.0, 65.0, 65.0), "grid": Grid(0.0, 0.0, 1.5, 45, 45), "crest": ((35.0, 35.0, 0.8),)},
    ),
    Case(
        "is benched into it",
        "caution",
        "safety",
        {
            "existing": falling(0.21),
            "bed": box(1.0, 1.0, 39.0, 39.0),
            "grid": Grid(0.0, 0.0, 0.5, 81, 81),
            "crest": ((20.0, 20.0, 1.8),),
            "max_slope": 0.4,
        },
    ),
)


REVIEWED: dict[str, tuple[Finding, ...]] = {}


def findings(yard: Yard) -> tuple[Finding, ...]:
    """The findings on a yard; one that several cases share is worked once."""
    key = repr(yard)
    if key not in REVIEWED:
        REVIEWED[key] = yards.reviewed(**{"grid": yards.make_grid(cell=0.4), **yard})[3].findings
    return REVIEWED[key]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.words)
def test_each_finding_comes_once_where_it_is_called_for_and_nowhere_else(case: Case) -> None:
    found = [one for one in findings(case.fires) if case.words in one.text]
    assert [(one.level, one.topic) for one in found] == [(case.level, case.topic)]
    assert found[0].source
    assert len(found[0].text) <= 260
    if case.quiet or case.fires:
        assert not [one.text for one in findings(case.quiet) if case.words in one.text]
