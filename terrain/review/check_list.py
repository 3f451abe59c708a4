"""The list of every check that the review makes, in the order in which they are told: the one place to add one.

An entry says what is so where all is well, where the findings come from, what the site file must say for it, and who
has the last word. Terminal, sheet and summary follow from the list.
"""

from __future__ import annotations

from collections.abc import Callable

from terrain.review.buildings import building_findings
from terrain.review.cautions import (
    bench_findings,
    dust_findings,
    erosion_findings,
    estimate_findings,
    machine_findings,
    overhead_findings,
    permit_findings,
    service_findings,
)
from terrain.review.checking import ARBORIST, ENGINEER, PERMIT_OFFICE, UPRIGHT, Check, Verdict, Yard, judged
from terrain.review.dig_sides import side_findings
from terrain.review.drainage import pond_findings, turned_findings
from terrain.review.edges import height_findings, lift_findings, open_water_findings, stones_by_tree_findings
from terrain.review.exits import exit_findings
from terrain.review.ground import ground_findings, upside_down_findings
from terrain.review.heaps import heap_on_roots_findings, heap_place_findings
from terrain.review.look_findings import look_findings
from terrain.review.mulch import mulch_findings
from terrain.review.neighbours import neighbour_findings
from terrain.review.overlaps import overlap_findings
from terrain.review.pits import footing_findings, pit_findings
from terrain.review.root_water import root_water_findings
from terrain.review.setbacks import setback_findings
from terrain.review.slopes import already_steep_findings, finished_findings, level_top_findings, wish_findings
from terrain.review.species import kind_of
from terrain.review.stream_checks import STREAM_CHECKS
from terrain.review.swales import cut_crest_findings, swale_findings
from terrain.review.tree_findings import (
    beside_findings,
    crown_findings,
    dig_findings,
    flare_findings,
    keep_off_findings,
    kind_findings,
    root_zone_findings,
)
from terrain.review.trunks import trunk_findings
from terrain.review.walks import walk_findings
from terrain.review.water_checks import SEASON_CHECKS, THING_CHECKS, WATER_CHECKS
from terrain.review.words import listed


def listed_in(key: str, what: str) -> Callable[[Yard], str]:
    """What a check lacks where a list of the site (its field `key`) is empty, as `what`; "a tree"."""
    return lambda yard: "" if getattr(yard.site, key) else what


def _kind(yard: Yard) -> str:
    silent = [tree.name for tree in yard.trees if not kind_of(tree.kind).harmed]
    return f"a list that has {listed(silent)}" if silent else _TREE(yard)


def _crown(yard: Yard) -> str:
    measured = any(tree.dripline is not None for tree in yard.site.tree)
    return "" if measured else "the width of a crown" if yard.site.tree else "a tree"


def _heap(yard: Yard) -> str:
    """Soil that is bought is tipped somewhere."""
    return "the place of the soil heap" if yard.order.quantity > 0.0 and not yard.site.heap else ""


def _lot_line(yard: Yard) -> str:
    return "a lot line" if yard.site.boundary is None else ""


_TREE, _HOUSE, _WALK = listed_in("tree", "a tree"), listed_in("building", "a building"), listed_in("walk", "a walk")

CHECKS: tuple[Check, ...] = (
    Check(
        "keep-offs",
        "trees",
        "no soil, cut or mulch lies inside a keep-off",
        lambda yard: keep_off_findings(yard.site, yard.trees),
        _TREE,
        ARBORIST,
    ),
    Check(
        "digging in root protection zones",
        "trees",
        "nothing is dug in a root protection zone",
        lambda yard: dig_findings(yard.site, yard.trees),
        _TREE,
        ARBORIST,
    ),
    Check(
        "soil on root protection zones",
        "trees",
        "no root protection zone is filled, or an arborist who is named has allowed it",
        lambda yard: root_zone_findings(yard.site, yard.trees),
        _TREE,
        ARBORIST,
    ),
    Check(
        "crowns past root protection zones",
        "trees",
        "no grade changes under a crown that reaches past its root protection zone",
        lambda yard: crown_findings(yard.site, yard.trees),
        _crown,
        ARBORIST,
    ),
    Check(
        "work beside root protection zones",
        "trees",
        "work that ends beside a root protection zone is told",
        lambda yard: beside_findings(yard.site, yard.trees),
        _TREE,
    ),
    Check(
        "kinds of trees",
        "trees",
        "how the kinds of trees under soil take it is told",
        lambda yard: kind_findings(yard.site, yard.trees),
        _kind,
        ARBORIST,
    ),
    Check(
        "size of trunks",
        "trees",
        "no trunk is thicker than its kind grows",
        lambda yard: trunk_findings(yard.site, yard.ground),
        _TREE,
    ),
    Check(
        "mulch over roots",
        "trees",
        "mulch over roots is thin, and off every flare",
        lambda yard: mulch_findings(yard.site, yard.proposal, yard.trees),
        _TREE,
    ),
    Check(
        "water to roots",
        "trees",
        "no root protection zone gains or loses a third of its runoff",
        lambda yard: root_water_findings(yard.site, yard.drainage.waters, yard.trees),
        _TREE,
        ARBORIST,
    ),
    Check(
        "trees of neighbours",
        "trees",
        "the work reaches no root protection zone of a tree over the lot line",
        lambda yard: neighbour_findings(yard.site, yard.trees),
        lambda yard: _TREE(yard) or _lot_line(yard),
        "the owner of the tree",
    ),
    Check(
        "root flares",
        "trees",
        "every root flare is measured",
        lambda yard: flare_findings(yard.site, yard.trees),
        _TREE,
    ),
    Check(
        "finished slopes",
        "slopes",
        "the finished ground keeps the limit and can be mown or planted",
        lambda yard: finished_findings(yard.site, yard.proposal),
    ),
    Check(
        "ground steep already",
        "slopes",
        "the ground as it is keeps the limit",
        lambda yard: already_steep_findings(yard.site, yard.proposal),
    ),
    Check(
        "wishes held back",
        "shape",
        "heights, soil and toe are as wished",
        lambda yard: wish_findings(yard.site, yard.proposal),
    ),
    Check(
        "level tops",
        "slopes",
        "every terrace sheds rain",
        lambda yard: level_top_findings(yard.site, yard.proposal),
    ),
    Check(
        "walks",
        "slopes",
        "no walk becomes too steep, and no paving is buried",
        lambda yard: walk_findings(yard.site, yard.ground, yard.proposal),
        _WALK,
    ),
    Check(
        "ground beside buildings",
        "drainage",
        "the ground falls away from every wall, and soil stays below it",
        lambda yard: building_findings(yard.site, yard.ground, yard.proposal),
        _HOUSE,
        PERMIT_OFFICE,
    ),
    Check(
        "swales by buildings",
        "drainage",
        "every channel near a building falls enough",
        lambda yard: swale_findings(yard.site, yard.ground),
        decides=PERMIT_OFFICE,
    ),
    Check(
        "ponds",
        "drainage",
        "no water stands that did not",
        lambda yard: pond_findings(yard.site, yard.proposal.digs, yard.drainage.water.ponds),
    ),
    *WATER_CHECKS,
    Check(
        "water toward buildings",
        "drainage",
        "no more water comes to a building",
        lambda yard: turned_findings(yard.site, yard.drainage.waters),
        _HOUSE,
    ),
    Check(
        "water off the lot",
        "drainage",
        "no more water leaves over any side",
        lambda yard: exit_findings(yard.site.units, yard.drainage.water.exits),
        decides=PERMIT_OFFICE,
    ),
    Check(
        UPRIGHT,
        "ground",
        "heights are elevations and no rod readings",
        lambda yard: upside_down_findings(yard.site, yard.ground),
    ),
    Check(
        "survey",
        "ground",
        "the shots agree and the bed lies inside them",
        lambda yard: ground_findings(yard.site, yard.ground),
    ),
    Check(
        "natural look",
        "look",
        "no sign of an unnatural shape",
        lambda yard: look_findings(yard.site, yard.proposal, yard.look, yard.drainage.water),
    ),
    Check(
        "height of stones",
        "safety",
        "no stones hold soil",
        lambda yard: height_findings(yard.site),
        decides=f"{PERMIT_OFFICE} and {ENGINEER}",
    ),
    Check(
        "stones by trees",
        "trees",
        "no stones stand in a keep-off",
        lambda yard: stones_by_tree_findings(yard.site, yard.trees),
        _TREE,
        ARBORIST,
    ),
    Check(
        "weight of stones",
        "safety",
        "no stone is too heavy for one person",
        lambda yard: lift_findings(yard.site),
    ),
    Check(
        "open water",
        "safety",
        "no basin is deep enough for a fence rule",
        lambda yard: open_water_findings(yard.site),
        decides=PERMIT_OFFICE,
    ),
    Check(
        "overlaps",
        "shape",
        "nothing that is drawn lies on something else",
        lambda yard: overlap_findings(yard.site, yard.ground, yard.proposal.digs),
    ),
    Check(
        "sides of digs",
        "safety",
        "no side of a dig is left upright",
        lambda yard: side_findings(yard.site.units, yard.proposal.all_digs),
    ),
    Check(
        "channels through the mound",
        "shape",
        "no channel cuts a high point",
        lambda yard: cut_crest_findings(yard.site, yard.proposal),
    ),
    Check(
        "heaps on roots",
        "trees",
        "no heap stands on roots",
        lambda yard: heap_on_roots_findings(yard.site, yard.trees),
        _heap,
        ARBORIST,
    ),
    Check(
        "place of heaps",
        "safety",
        "heaps stand back from pits and from the lot line",
        lambda yard: heap_place_findings(yard.site, yard.proposal.digs),
        _heap,
    ),
    Check(
        "setbacks",
        "safety",
        "soil and digs stay off the lot line",
        lambda yard: setback_findings(yard.site, yard.proposal),
        _lot_line,
        PERMIT_OFFICE,
    ),
    Check(
        "buried lines",
        "safety",
        "the lines are located before any dig",
        lambda yard: service_findings(),
        decides="the owners of the lines",
    ),
    *SEASON_CHECKS,
    *THING_CHECKS,
    *STREAM_CHECKS,
    Check(
        "pits",
        "safety",
        "no pit is deep enough to need care",
        lambda yard: pit_findings(yard.site, yard.proposal),
        decides="a competent person",
    ),
    Check(
        "footings",
        "safety",
        "no dig comes under a footing",
        lambda yard: footing_findings(yard.site, yard.proposal.digs),
        _HOUSE,
        ENGINEER,
    ),
    Check(
        "machines on roots",
        "trees",
        "the work reaches no root protection zone",
        lambda yard: machine_findings(yard.site, yard.trees),
        _TREE,
        ARBORIST,
    ),
    Check(
        "overhead lines",
        "safety",
        "nothing is tipped or lifted",
        lambda yard: overhead_findings(yard.site, yard.order),
        decides="the owners of the lines",
    ),
    Check(
        "dust of stone",
        "safety",
        "no stone is cut",
        lambda yard: dust_findings(yard.site, yard.ground, yard.proposal),
    ),
    Check(
        "bare soil",
        "soil",
        "no new soil lies bare on a slope",
        lambda yard: erosion_findings(yard.site, yard.proposal),
        decides=PERMIT_OFFICE,
    ),
    Check(
        "permits",
        "safety",
        "whoever decides by law or licence is asked",
        lambda yard: permit_findings(yard.site, yard.proposal, yard.work),
        decides=f"{PERMIT_OFFICE} and the licensed people on site",
    ),
    Check(
        "benches",
        "safety",
        "no deep fill lies on steep ground",
        lambda yard: bench_findings(yard.site, yard.proposal),
        decides=ENGINEER,
    ),
    Check(
        "estimates",
        "soil",
        "no soil is ordered by estimate",
        lambda yard: estimate_findings(yard.order),
    ),
)


def verdicts(yard: Yard) -> tuple[Verdict, ...]:
    """The verdict of every check, in the order of the list."""
    return tuple(judged(check, yard) for check in CHECKS)
