"""The checks of rain, of what lies beside water's way, and of what is near: a part of the list of every check."""

from __future__ import annotations

from terrain.review.checking import PERMIT_OFFICE, Check
from terrain.review.gathering import gathering_findings
from terrain.review.rain_findings import basin_findings, storm_finding

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
