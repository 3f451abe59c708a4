"""What the as-built check says aloud."""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set

from terrain.field.asbuilt.benchmark import FEWEST_BESIDE, is_off, offset, untouched
from terrain.field.asbuilt.marks import KEEP_OFF, beside_names, keep_off_words
from terrain.field.asbuilt.model import BuiltShot, Missing, Stage
from terrain.field.asbuilt.slopes import BuiltSlopes
from terrain.findings import Finding
from terrain.flow import Study
from terrain.limits import PRACTICE
from terrain.look import Look
from terrain.review import listed
from terrain.site import Site
from terrain.units import show_area, show_length, show_slope, show_volume

SITE_FILE = "the site file"
LEAST_STEEP = 0.1  # m2, as in the review
_COVERED = 0.9
_MOST_NAMED = 6
_ORDER = {"stop": 0, "caution": 1, "note": 2}


def as_built_findings(
    study: Study,
    shots: tuple[BuiltShot, ...],
    state: tuple[Stage, float],
    missing: Missing,
    slopes: BuiltSlopes,
    look: Look,
) -> tuple[Finding, ...]:
    """Every finding but that of the cause, worst first; `state` is the stage and the tolerance (metres)."""
    stage, tolerance = state
    found = [
        *_keep_offs(study, shots),
        *_slope(study, slopes),
        *_benchmark(study, shots, tolerance),
        *_spill(study, shots),
        *_tolerance(study, shots, stage, tolerance),
        *_missing(study, shots, missing),
        *_look(study, look),
    ]
    return tuple(sorted(found, key=lambda finding: _ORDER[finding.level]))


def _names(shots: Sequence[BuiltShot]) -> str:
    names = [shot.name for shot in shots]
    more = len(names) - _MOST_NAMED
    return listed(names if more <= 0 else [*names[:_MOST_NAMED], f"{more} more"])


def _keep_offs(study: Study, shots: tuple[BuiltShot, ...]) -> Iterator[Finding]:
    """Soil on ground that takes none is a stop; ground nobody shot is not checked."""
    units = study.site.units
    for where in sorted(beside_names(study.site)):
        here = [shot for shot in shots if shot.where == where]
        soil = [shot for shot in here if shot.verdict == "soil"]
        if soil:
            deepest = max(soil, key=lambda shot: shot.elevation - shot.existing)
            depth = deepest.elevation - deepest.existing
            yield Finding(
                "stop",
                "trees" if where.startswith(KEEP_OFF) else "shape",
                f"Soil lies in the {where}: up to {show_length(depth, units)} over the ground surveyed before, at "
                f"shot {_names(soil)}. Take it off by hand, down to the old ground.",
                depth,
                deepest.bound,
                SITE_FILE,
                deepest.at,
            )
    yield from _not_shot(study.site, {shot.where for shot in shots})


def _not_shot(site: Site, shot_at: Set[str]) -> Iterator[Finding]:
    """Keep-offs in which nobody took a shot."""
    for tree in site.tree:
        if keep_off_words(tree.name) not in shot_at:
            yield Finding(
                "caution",
                "trees",
                f"No shot stands in the keep-off of {tree.name}, so that it is not checked. Take two or three "
                "beside the flare and at the edge.",
                source=PRACTICE,
                at=tree.at,
            )


def _slope(study: Study, slopes: BuiltSlopes) -> Iterator[Finding]:
    units, limit = study.site.units, study.site.berm.max_slope
    if slopes.area > LEAST_STEEP:
        yield Finding(
            "stop",
            "slopes",
            f"{show_area(slopes.area, units)} of the built surface is steeper than the limit of {show_slope(limit)}, "
            f"up to {show_slope(slopes.steepest)}. Rake it out, or cut it back.",
            slopes.steepest,
            limit,
            SITE_FILE,
            slopes.at,
        )
    else:
        yield Finding(
            "note",
            "slopes",
            f"The steepest of the built surface, settled, is {show_slope(slopes.steepest)}; the limit is "
            f"{show_slope(limit)}, and the shots tell slopes to {100 * slopes.allowance:.1f} %.",
            slopes.steepest,
            limit,
            SITE_FILE,
        )


def slip_finding(study: Study, slip: float, tolerance: float) -> Iterator[Finding]:
    """A slip that untouched ground agrees on, as the cause of all that it explains."""
    if slip == 0.0:
        return
    word = "over" if slip > 0.0 else "under"
    yield Finding(
        "caution",
        "ground",
        f"All shots, also those beside the mound, stand {show_length(abs(slip), study.site.units)} {word} the ground "
        "surveyed before. The benchmark or the height of instrument has slipped: check the benchmark and shoot it "
        "again before moving any soil. Every figure here has the slip taken out.",
        slip,
        tolerance,
        PRACTICE,
    )


def suspected_finding(study: Study, suspected: float, tolerance: float, missing: Missing) -> Iterator[Finding]:
    """What looks like a slip and cannot be told from a layer that is missing, or too much, over the whole mound."""
    if suspected == 0.0:
        return
    units, high = study.site.units, suspected > 0.0
    size = show_length(abs(suspected), units)
    volume = show_volume(missing.surplus if high else missing.missing, units, "placed")
    yield Finding(
        "caution",
        "ground",
        f"The shots on the mound stand {size} {'over' if high else 'under'} the plan, all alike. A slipped benchmark "
        "looks the same: before any soil is ordered or moved, take three shots on untouched ground beside the mound. "
        f"Only if they agree with the old survey {'does soil lie over the plan' if high else 'is soil missing'}: "
        f"{volume}.",
        suspected,
        tolerance,
        PRACTICE,
    )


def _benchmark(study: Study, shots: tuple[BuiltShot, ...], tolerance: float) -> Iterator[Finding]:
    """Too few shots to show a slip, or untouched ground that stands off and does not agree by how much."""
    beside = untouched(shots)
    if len(beside) < FEWEST_BESIDE:
        yield Finding(
            "note",
            "ground",
            f"Only {len(beside)} of the shots stand on ground that was not touched; three would show a slip in the "
            "benchmark.",
            float(len(beside)),
            float(FEWEST_BESIDE),
            PRACTICE,
        )
        return
    over = offset(beside)
    if is_off(beside, over, tolerance):
        word = "over" if over > 0.0 else "under"
        yield Finding(
            "caution",
            "ground",
            f"The shots beside the mound stand {show_length(abs(over), study.site.units)} {word} the ground surveyed "
            "before, half of them more: check the benchmark before moving any soil.",
            over,
            tolerance,
            PRACTICE,
        )


def _spill(study: Study, shots: tuple[BuiltShot, ...]) -> Iterator[Finding]:
    soil = [shot for shot in shots if shot.where == "outside the bed" and shot.verdict == "soil"]
    if soil:
        deepest = max(soil, key=lambda shot: shot.elevation - shot.existing)
        depth = deepest.elevation - deepest.existing
        yield Finding(
            "caution",
            "shape",
            f"Soil seems to lie outside the bed, up to {show_length(depth, study.site.units)} at shot {_names(soil)}.",
            depth,
            deepest.bound,
            SITE_FILE,
            deepest.at,
        )


def _tolerance(study: Study, shots: tuple[BuiltShot, ...], stage: Stage, tolerance: float) -> Iterator[Finding]:
    units = study.site.units
    work = [shot for shot in shots if shot.where in ("mound", "dig")]
    off = [shot for shot in work if shot.verdict != "within"]
    bound = show_length(tolerance, units)
    if not off:
        yield Finding(
            "note",
            "shape",
            f"All {len(work)} shots stand within {bound} of the {stage} grade.",
            0.0,
            tolerance,
            PRACTICE,
        )
        return
    worst = max(off, key=lambda shot: abs(shot.off(stage)))
    size = abs(worst.off(stage))
    yield Finding(
        "caution",
        "shape",
        f"{len(off)} of {len(work)} shots stand more than {bound} off the {stage} grade: "
        f"{sum(shot.verdict == 'low' for shot in off)} low, {sum(shot.verdict == 'high' for shot in off)} high, most "
        f"at shot {worst.name}, {show_length(size, units)} {worst.verdict}.",
        size,
        tolerance,
        PRACTICE,
        worst.at,
    )


def _missing(study: Study, shots: tuple[BuiltShot, ...], missing: Missing) -> Iterator[Finding]:
    units = study.site.units
    low = any(shot.verdict == "low" for shot in shots)
    text = (
        f"Still missing: {show_volume(missing.missing, units, 'placed')} ({show_volume(missing.low, units)} to "
        f"{show_volume(missing.high, units)}, 90 % range), {show_volume(missing.loose, units, 'loose')} to bring"
    )
    surplus = show_volume(missing.surplus, units)
    none = show_volume(0.0, units)
    text += "." if surplus == none else f"; {surplus} lies over the plan and could be raked there."
    yield Finding("caution" if low else "note", "soil", text, missing.missing, None, SITE_FILE)


def coverage_finding(covered: float) -> Iterator[Finding]:
    """How much of the mound the shots tell of, where that is not nearly all."""
    if covered < _COVERED:
        yield Finding(
            "caution",
            "ground",
            f"The shots tell of {100 * covered:.0f} % of the mound; every figure is of that part, and nothing is known "
            "of the rest. Shoot it too, along the bed line as well.",
            covered,
            _COVERED,
            PRACTICE,
        )


def _look(study: Study, look: Look) -> Iterator[Finding]:
    """Signs that the plan does not have."""
    planned = {sign.sign for sign in study.review.look.present}
    for sign in look.present:
        if sign.sign not in planned:
            text = f"As built it shows a sign that the plan has not: {sign.name}."
            yield Finding("note", "look", text, sign.value, sign.bound, "as in the review of the plan", sign.at)
