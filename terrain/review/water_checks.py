"""The checks of rain, of what lies beside water's way, and of what is near: a part of the list of every check."""

from __future__ import annotations

from terrain.review.checking import ENGINEER, PERMIT_OFFICE, Check, Yard
from terrain.review.first_season import clay_findings, day_one_findings, washing_findings
from terrain.review.gathering import gathering_findings
from terrain.review.near_things import thing_findings
from terrain.review.rain_findings import basin_findings, storm_finding
from terrain.review.swales import lining_findings
from terrain.review.tiers import guard_findings, tier_findings
from terrain.site import KINDS, Kind

OWNERS = {
    "street": PERMIT_OFFICE,
    "corner": PERMIT_OFFICE,
    "hydrant": "the fire department",
    "septic": "the health office",
    "window well": PERMIT_OFFICE,
}


def _article(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def _kinds(yard: Yard) -> set[Kind]:
    return {thing.kind for thing in yard.site.thing}


def thing_check(kind: Kind) -> Check:
    """The check of one kind of thing; a site file that has none of it says that there is none, or has not said."""
    return Check(
        f"near {kind}s" if not kind.endswith("c") else f"near {kind}",
        "safety",
        f"no {kind} comes too near the work",
        lambda yard: thing_findings(yard.site, yard.proposal, kind),
        lambda yard: "" if kind in yard.site.none_here or kind in _kinds(yard) else _article(kind),
        OWNERS.get(kind, "its owner"),
    )


SEASON_CHECKS: tuple[Check, ...] = (
    Check(
        "slopes on day one",
        "slopes",
        "no face passes 3:1 or 2:1 until it settles",
        lambda yard: day_one_findings(yard.site, yard.proposal, yard.work.day_one_factor),
        decides=ENGINEER,
    ),
    Check(
        "slopes of clay",
        "slopes",
        "no clay stands steeper than wet clay does",
        lambda yard: clay_findings(yard.site, yard.proposal),
        decides=ENGINEER,
    ),
    Check(
        "bare soil by paving",
        "soil",
        "no bare face washes onto paving",
        lambda yard: washing_findings(yard.site, yard.proposal),
    ),
    Check(
        "lining of channels",
        "drainage",
        "no channel falls so steeply that it washes out",
        lambda yard: lining_findings(yard.site, yard.ground),
    ),
    Check(
        "tiers of stones",
        "safety",
        "no two walls count as one",
        lambda yard: tier_findings(yard.site, yard.ground),
        decides=f"{PERMIT_OFFICE} and {ENGINEER}",
    ),
    Check(
        "guards",
        "safety",
        "no drop over stones stands beside a seat or a walk",
        lambda yard: guard_findings(yard.site),
        decides=PERMIT_OFFICE,
    ),
)

THING_CHECKS = tuple(thing_check(kind) for kind in KINDS)

WATER_CHECKS: tuple[Check, ...] = (
    Check(
        "one storm",
        "drainage",
        "the storm is run over the ground before and after",
        lambda yard: [storm_finding(yard.site.units, yard.drainage.water.storm)],
    ),
    Check(
        "water in one stream",
        "drainage",
        "no water comes in one stream where it came spread out",
        lambda yard: gathering_findings(yard.site, yard.drainage.waters, yard.drainage.water),
        lambda yard: "a lot line" if yard.site.boundary is None else "",
        PERMIT_OFFICE,
    ),
    Check(
        "basins in rain",
        "drainage",
        "every basin holds what the storm brings and dries in time",
        lambda yard: basin_findings(yard.site, yard.drainage.rain),
        decides=PERMIT_OFFICE,
    ),
)
