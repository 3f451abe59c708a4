"""Where to shoot next, as a crew needs it: each place by two tapes, and what the soil's range comes down to."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from terrain.errors import InputError
from terrain.expect import expect
from terrain.field.setout.known import known_points
from terrain.field.setout.model import Tapes
from terrain.field.setout.pairs import choose_pairs
from terrain.field.setout.set_out import obstacles
from terrain.flow import Study
from terrain.ground import NextShot, deviations_after, first_shots, next_controls, next_shots
from terrain.numerics import CENTRAL_90
from terrain.site import Site
from terrain.soil import ASK, CUT_PLUGS, GROUND, Share, central_range, order_range, surer

Range = tuple[float, float]
# What is advised before any shot.
REMEDIES = (CUT_PLUGS, ASK)
# How a shot is taken that shall set a scan.
ON_SOIL = "Set these out and read them by level, the rod on the soil under the grass: they set the scan"


@dataclass(frozen=True)
class NextPlace:
    """A place to shoot.

    Parameters
    ----------
    name
        "N1" is the first to take.
    at
        Easting and northing, metres.
    tapes
        From two known points; None where the site has none that place it, and for the shots of a first survey.
    mean_deviation
        What `Ground.mean_deviation` is expected to be once this and the places before it are shot, metres.
    ground
        Half the central 90 % range that the existing grade then gives the soil to order, loose m3.
    fill, order
        The central 90 % range of the placed fill and of the soil to order (loose) that is then expected, m3.
    """

    name: str
    at: tuple[float, float]
    tapes: Tapes | None
    mean_deviation: float
    ground: float
    fill: Range
    order: Range


@dataclass(frozen=True)
class FirstStep:
    """What narrows the order more than any shot does.

    `do` is the advice as a sentence, `part` the part of the order's variance that its causes make now, and `order` the
    central 90 % range of the soil to order (loose m3) that is then expected, the steps before it done too.
    """

    do: str
    part: float
    order: Range


def before_shooting(study: Study) -> tuple[FirstStep, ...]:
    """What to do before any shot where other causes than the existing grade make more of the doubt, the best first."""
    order = study.order
    variance = {share.cause: share.deviation**2 for share in order.shares}
    whole, ground = sum(variance.values()), variance.get(GROUND, 0.0)
    worth = [(sum(variance.get(cause, 0.0) for cause in one.bears_on), one) for one in REMEDIES]
    given, found = order.given, []
    for made, remedy in sorted(worth, key=lambda one: -one[0]):
        if made > ground:
            given = surer(given, remedy.bears_on, remedy.left)
            found.append(FirstStep(remedy.do, made / whole, order_range(given)))
    return tuple(found)


def where_next(study: Study) -> tuple[NextPlace, ...]:
    """The places whose shots would narrow the soil's range most, the best first; none where none is worth its walk.

    Where nobody measured yet: the twenty of a first survey, in the order of the walk.
    """
    expect("where_next", study=(study, Study))
    found = _sought(study)
    # The first shots stand about where they are drawn, and are taped as they are taken.
    tapes = _tapes(study.site, found) if study.site.survey.measured else (None,) * len(found)
    pairs = enumerate(zip(found, tapes, strict=True), start=1)
    return tuple(_wanted(study, number, shot, tape) for number, (shot, tape) in pairs)


def next_untaken(study: Study, taken: Sequence[tuple[float, float]]) -> NextPlace | None:
    """The first of `where_next`, or what comes first of a survey that is being taken; None where no shot is worth it.

    While there are fewer shots than a surface needs (`taken`: easting, northing, metres), it is that place of a first
    survey which spreads them most: far from the first, then far from the line through those there are.
    """
    places = where_next(study)
    if study.site.survey.measured or not places or not taken:
        return next(iter(places), None)
    shots, spots = np.array(taken), np.array([place.at for place in places])
    off = spots - shots.mean(axis=0)
    if len(shots) > 1:
        _, _, axes = np.linalg.svd(shots - shots.mean(axis=0))
        off = off @ axes[1:].T  # across the line that suits the shots best
    return places[int(np.argmax(np.linalg.norm(off, axis=1)))]


def _sought(study: Study) -> tuple[NextShot, ...]:
    """The places alone: those of a first survey where nobody measured yet, and of shots that set a scan where what its
    points share makes more of the doubt than all else.
    """
    site = study.site
    scan, deviation = site.survey.scan, study.ground.mean_deviation
    if scan is not None and 2.0 * scan.shared.mean**2 > deviation**2:
        return next_controls(site, math.sqrt(max(0.0, deviation**2 - scan.shared.mean**2)))
    if site.survey.measured:
        return next_shots(site, study.ground.check.method)
    pairs = zip(first_shots(site).tolist(), deviations_after(site).tolist(), strict=True)
    return tuple(NextShot((east, north), left) for (east, north), left in pairs)


def _wanted(study: Study, number: int, shot: NextShot, tapes: Tapes | None) -> NextPlace:
    work, order, before = study.work, study.order, study.ground.mean_deviation
    share = shot.mean_deviation / before if before > 0.0 else 1.0
    return NextPlace(
        f"N{number}",
        shot.at,
        tapes,
        shot.mean_deviation,
        share * ground_part(order.shares),
        central_range(work.fill_placed, surer_ground(work.fill_shares, share)),
        order_range(surer(order.given, (GROUND,), share)),
    )


def ground_part(shares: Sequence[Share]) -> float:
    """Half the central 90 % range that the existing grade alone gives a volume, m3."""
    return CENTRAL_90 * sum(share.deviation for share in shares if share.cause == GROUND)


def surer_ground(shares: Sequence[Share], factor: float) -> tuple[Share, ...]:
    """The causes of a range with that of the existing grade times a factor."""
    return tuple(
        replace(share, deviation=share.deviation * factor) if share.cause == GROUND else share for share in shares
    )


def _tapes(site: Site, found: Sequence[NextShot]) -> tuple[Tapes | None, ...]:
    """Two tapes to each place."""
    if not found:
        return ()
    try:
        return choose_pairs(known_points(site), np.array([shot.at for shot in found]), obstacles(site))
    except InputError:  # no two known points: the coordinates must do
        return (None,) * len(found)
