"""Search for alternatives: draw variants of each family, judge them on a coarse grid, keep the best of each."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from terrain.errors import InputError
from terrain.grid import Grid
from terrain.ground import Ground, check_ground, on_grid
from terrain.limits import HIGHEST_CREST
from terrain.look import Look, natural_look
from terrain.shape import Prepared, Proposal, build, lay_out, prepare, scale_for_soil, shape_berm
from terrain.site import CrestPoint, Site
from terrain.suggest.families import FAMILIES, Family, crest_of
from terrain.suggest.spine import Spine, spine_of
from terrain.units import Units

# Variants drawn of each family, and nodes across the bed on which they are judged; measured: twice as many of either
# change no choice on the shipped examples.
VARIANTS = 24
NODES_ACROSS = 110
# Two forms count as clearly different where their fills differ by this share of their sum, volume for volume.
CLEARLY_DIFFERENT = 0.15
FEWEST, MOST = 3, 5
# Forms of one family that are shaped in full before it is given up: what differs on the coarse grid nearly always does
# on the full one too.
TRIES = 3
# Width of the eased toe as a share of the radius of the largest circle in the bed; one for all, so that one layout of
# the bed serves the whole search.
TOE_SHARE = 0.3
# What the search weighs: a sign that is present counts by far the most, then how near the nearest sign comes to its
# bound and the same soil, then the top that the family aims for. Our own choice.
SIGN_COST, NEAR_COST, TOP_COST, SOIL_COST = 10.0, 2.0, 0.5, 1.0
# What a crew sets out by tape and level: steps of places, widths and heights, metres.
STEPS: dict[Units, tuple[float, float, float]] = {"ft": (0.03048, 0.0254, 0.00635), "m": (0.05, 0.01, 0.005)}


@dataclass(frozen=True)
class Suggestion:
    """One alternative.

    Parameters
    ----------
    name, sentence
        Its family, in plain words.
    site
        The site with the alternative's crest and toe; everything else as the designer gave it.
    proposal
        Its shape on the full grid, under the same limits.
    look
        Its signs.
    """

    name: str
    sentence: str
    site: Site
    proposal: Proposal
    look: Look


@dataclass(frozen=True)
class _Trial:
    site: Site
    fill: np.ndarray
    cost: float


def suggest(site: Site, ground: Ground, progress: Callable[[str], None] = lambda words: None) -> tuple[Suggestion, ...]:
    """Three to five forms inside the same outline, limits and soil, clearly different from each other, best first.

    Where the site states the soil on hand every form takes it; else every form is scaled towards the soil that the
    designer's own form takes. The search is seeded: the same site gets the same suggestions. No limit is relaxed: every
    candidate is shaped by `shape_berm`.

    Parameters
    ----------
    site, ground
        The yard as `shape_berm` takes it.
    progress
        Called with a few words as the search goes on.

    Returns
    -------
    tuple
        Fewer than three where the bed has no room for more; empty where no form can be shaped at all.
    """
    check_ground("suggest", site, ground)
    coarse = judged_on(site, ground)
    spine = spine_of(lay_out(site, coarse).worked)
    wish = shape_berm(site, coarse)
    tried: list[list[tuple[Family, _Trial]]] = []
    for number, family in enumerate(FAMILIES):
        progress(f"trying forms: {family.name}")
        trials = _trials(site, coarse, spine, wish, family, np.random.default_rng(number))
        tried.append([(family, trial) for trial in sorted(trials, key=lambda trial: trial.cost)])
    progress("shaping the best of them in full")
    return _different(tried, ground, (_fixed(site, coarse), _fixed(site, ground)))


def _fixed(site: Site, ground: Ground) -> np.ndarray:
    """Fill that terraces and stones hold without any crest, metres: all forms have it in common."""
    return build(site, ground, prepare(site, ground), 0.0).fill


def judged_on(site: Site, ground: Ground) -> Ground:
    """The same ground on fewer nodes, enough to judge a form by."""
    west, south, east, north = site.bed.outline.bounds
    cell = max(ground.grid.cell, max(east - west, north - south) / NODES_ACROSS)
    margin = 2.0 * cell
    grid = Grid(
        west - margin,
        south - margin,
        cell,
        int((east - west + 2 * margin) / cell) + 2,
        int((north - south + 2 * margin) / cell) + 2,
    )
    return on_grid(ground, grid)


def _trials(
    site: Site, ground: Ground, spine: Spine, wish: Proposal, family: Family, rng: np.random.Generator
) -> Iterator[_Trial]:
    """Variants of one family, shaped and judged."""
    held = float(np.maximum(wish.limit - ground.elevation, 0.0).sum())
    wished_top, wished_soil = float(wish.fill.max()), float(wish.fill.sum())
    # Half of the variants go for all of the soil, half for as much as leaves the family its own shape.
    aims = wished_soil, min(wished_soil, family.fullness * held)
    for number in range(VARIANTS):
        points = family.points(rng)
        candidate = _with_crest(
            site, crest_of(points, spine, max(wished_top, 0.05)), TOE_SHARE * float(spine.clearance.max())
        )
        try:
            prepared = prepare(candidate, ground)
        except InputError:
            continue
        most = family.tallest * wished_top
        scale, proposal = _scaled(candidate, ground, prepared, aims[number % 2])
        top = float(proposal.fill.max())
        if site.berm.soil is None and top > most > 0.0:
            proposal = build(candidate, ground, prepared, scale * most / top)
        # Judged as the written site file builds it: heights beyond the limits' reach make another form than those met.
        written = _with_heights(candidate, [point.built for point in proposal.crest])
        if site.berm.soil is None:
            yield _judged(written, ground, build(written, ground, prepared, 1.0), most, wished_soil)
            continue
        scale, proposal = _scaled(written, ground, prepared, wished_soil)
        written = _with_heights(written, [scale * point.height for point in written.berm.crest])
        yield _judged(written, ground, proposal, most, wished_soil)


def _scaled(site: Site, ground: Ground, prepared: Prepared, wanted: float) -> tuple[float, Proposal]:
    """The factor on the heights, and the form at it: the soil on hand, or two steps towards the wanted volume."""
    if site.berm.soil is not None:
        scale = scale_for_soil(site, ground, prepared, site.berm.soil)
        return scale, build(site, ground, prepared, scale)
    scale, proposal = 1.0, build(site, ground, prepared, 1.0)
    for _ in range(2 if wanted > 0.0 else 0):
        # What the limits hold back stays missing.
        scale *= float(np.clip(wanted / max(proposal.fill.sum(), 1e-9), 0.6, 1.5))
        proposal = build(site, ground, prepared, scale)
    return scale, proposal


def _with_heights(site: Site, heights: list[float]) -> Site:
    """The site with these crest heights, in steps that a crew can set out."""
    step = STEPS[site.units][2]
    crest = tuple(
        replace(point, height=min(max(_stepped(height, step), 4.0 * step), HIGHEST_CREST.value))
        for point, height in zip(site.berm.crest, heights, strict=True)
    )
    return replace(site, berm=replace(site.berm, crest=crest))


def _with_crest(site: Site, crest: list[tuple[float, float, float]], toe: float) -> Site:
    place, width, _ = STEPS[site.units]
    points = tuple(CrestPoint(_stepped(x, place), _stepped(y, place), height) for x, y, height in crest)
    return replace(site, berm=replace(site.berm, crest=points, toe=_stepped(toe, width)))


def _stepped(value: float, step: float) -> float:
    return round(value / step) * step


def _judged(site: Site, ground: Ground, proposal: Proposal, top: float, soil: float) -> _Trial:
    look = natural_look(ground.grid, ground.elevation, proposal.mound, site.bed.outline)
    nearest = max(sign.value / sign.bound for sign in look.signs)
    cost = SIGN_COST * sum(sign.present for sign in look.signs) + NEAR_COST * nearest
    cost += TOP_COST * abs(float(proposal.fill.max()) - top) / max(top, 0.05)
    cost += SOIL_COST * abs(float(proposal.fill.sum()) - soil) / max(soil, 1e-9)
    return _Trial(site, proposal.fill, cost)


_Taken = tuple[Suggestion, _Trial]


def _next_unlike(
    pairs: list[tuple[Family, _Trial]],
    tries: int,
    taken: Sequence[_Taken],
    ground: Ground,
    fixed: tuple[np.ndarray, np.ndarray],
) -> list[_Taken]:
    """The first form that differs clearly from all that are taken, after so many tries at most; else nothing."""
    known = [trial.fill for _, trial in taken]
    for family, trial in islice((pair for pair in pairs if _unlike(pair[1].fill, known, fixed[0])), tries):
        one = _finished(family, trial.site, ground)
        if _unlike(one.proposal.fill, [other.proposal.fill for other, _ in taken], fixed[1]):
            return [(one, trial)]
    return []


def _different(
    tried: list[list[tuple[Family, _Trial]]], ground: Ground, fixed: tuple[np.ndarray, np.ndarray]
) -> tuple[Suggestion, ...]:
    """One of each family, the best that differs clearly from all taken before; then others while there are too few.

    Whether two forms differ is decided on the full grid, on the forms that are handed over. `fixed` is the fill that
    all have in common, on the coarse grid and on the full one.
    """
    taken: list[_Taken] = []
    for trials in sorted(filter(None, tried), key=lambda trials: trials[0][1].cost):
        # A form with one more sign than its family's best is no good stand-in for it.
        stand_ins = [pair for pair in trials if pair[1].cost < trials[0][1].cost + SIGN_COST / 2.0]
        taken += _next_unlike(stand_ins, TRIES, taken, ground, fixed)
    rest = sorted((pair for trials in tried for pair in trials), key=lambda pair: pair[1].cost)
    while len(taken) < FEWEST:
        more = _next_unlike(rest, TRIES * len(FAMILIES), taken, ground, fixed)
        if not more:
            break
        taken += more
    # Best first; on all its nodes a form may show a sign that it did not show on few.
    best = sorted(taken, key=lambda one: (sum(sign.present for sign in one[0].look.signs), one[1].cost))
    return tuple(one for one, _ in best[:MOST])


def _unlike(fill: np.ndarray, others: list[np.ndarray], fixed: np.ndarray) -> bool:
    """Whether a fill differs clearly from all others."""
    return all(_difference(fill, other, fixed) >= CLEARLY_DIFFERENT for other in others)


def _difference(one: np.ndarray, other: np.ndarray, fixed: np.ndarray) -> float:
    """Share of two fills, over the one that is fixed, that they do not have in common, 0 to 1."""
    own = np.maximum(one - fixed, 0.0) + np.maximum(other - fixed, 0.0)
    return float(np.abs(one - other).sum() / max(own.sum(), 1e-9))


def _finished(family: Family, site: Site, ground: Ground) -> Suggestion:
    proposal = shape_berm(site, ground)
    look = natural_look(ground.grid, ground.elevation, proposal.mound, site.bed.outline)
    return Suggestion(family.name, family.sentence, site, proposal, look)
