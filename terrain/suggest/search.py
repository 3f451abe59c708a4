"""Search for alternatives: lay each family on the bed in a few ways, judge them on a coarse grid, keep what goes well
together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
import shapely

from terrain.errors import InputError
from terrain.grid import Grid
from terrain.ground import Ground, check_ground, on_grid
from terrain.limits import HIGHEST_CREST
from terrain.look import Look, look_of
from terrain.shape import Prepared, Proposal, build, lay_out, prepare, scale_for_soil, shape_berm
from terrain.site import CrestPoint, Site, Stream
from terrain.suggest.choice import choose
from terrain.suggest.families import FAMILIES, Family, crest_of, flipped
from terrain.suggest.roots import clear_of_roots, nearest_tree
from terrain.suggest.spine import Spine, spine_of
from terrain.units import Units

# Nodes across the bed on which a form is judged.
NODES_ACROSS = 80
# Two forms count as clearly different where their fills differ by this share of their sum, volume for volume; where so
# few come together, by the lesser share. A little more is asked on the coarse grid, for the full one to keep.
CLEARLY_DIFFERENT, DIFFERENT = 0.25, 0.15
SLACK = 0.015
FEWEST, MOST = 3, 7
# Shares of the drawn form's soil, or of what the limits hold, that are tried, from all of it down: with all of it every
# form comes near the limit surface, and all are alike.
SOIL_SHARES = (1.0, 0.85, 0.7, 0.55, 0.42)
SOIL_STEPS = 4  # steps by which a form comes to its soil
# Width of the eased toe as a share of the radius of the largest circle in the bed; one for all, so that one layout of
# the bed serves a family.
TOE_SHARE = 0.3
# What the search weighs: a made form counts by far the most, then a sign, then how near the nearest sign comes to its
# bound, then the soil that is missing. Our own choice.
MADE_COST, SIGN_COST, NEAR_COST, SOIL_COST = 20.0, 2.0, 1.0, 3.0
# What a crew sets out by tape and level: steps of places, widths and heights, metres.
STEPS: dict[Units, tuple[float, float, float]] = {"ft": (0.03048, 0.0254, 0.00635), "m": (0.05, 0.01, 0.005)}


@dataclass(frozen=True)
class Suggestion:
    """One alternative.

    Parameters
    ----------
    name, sentence
        Its family, and what it does and takes, in plain words.
    site
        The site with the alternative's crest and toe, and where its family asks for it with a gentler limit or the bed
        drawn back from the tree; everything else as the designer gave it.
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
class Trial:
    """One way of laying a family on the bed, judged on the coarse grid."""

    family: Family
    site: Site
    fill: np.ndarray
    cost: float


def suggest(
    site: Site,
    ground: Ground,
    progress: Callable[[str], None] = lambda words: None,
    height: float | None = None,
) -> tuple[Suggestion, ...]:
    """Three to seven forms inside the same outline and limits, clearly different from each other, best first.

    Where the site states the soil on hand every form takes it; else every form takes as much of the soil of the
    designer's own form as it can and still be another form. The same site gets the same suggestions. No limit is
    relaxed: every candidate is shaped by `shape_berm`.

    Parameters
    ----------
    site, ground
        The yard as `shape_berm` takes it.
    progress
        Called with a few words as the search goes on.
    height
        Wished height of every form over existing grade, metres; what the limits do not allow stays missing. None: as
        the soil asks for it. Soil on hand goes before it.

    Returns
    -------
    tuple
        Fewer than three where the bed has no room for more; empty where no form can be shaped at all.
    """
    check_ground("suggest", site, ground)
    # A stream is cut into whatever form there is: the search knows none; a form that cannot carry it is not offered.
    found = _searched(replace(site, stream=()), ground, progress, height)
    return found if not site.stream else tuple(carrying_streams(site.stream, found, ground))


def carrying_streams(
    streams: tuple[Stream, ...], found: tuple[Suggestion, ...], ground: Ground
) -> Iterator[Suggestion]:
    """Those of the forms that can carry the streams of a site, with them cut in."""
    for one in found:
        with suppress(InputError):
            site = replace(one.site, stream=streams)
            yield replace(one, site=site, proposal=shape_berm(site, ground))


def _searched(
    site: Site, ground: Ground, progress: Callable[[str], None], height: float | None
) -> tuple[Suggestion, ...]:
    coarse = judged_on(site, ground)
    wish = shape_berm(site, coarse)
    tried: list[Trial] = []
    for family in FAMILIES:
        progress(f"trying forms: {family.name}")
        tried += _trials(site, coarse, wish, family, height)
    progress("shaping the best of them in full")
    apart = _all_apart(tried, _fixed(site, coarse))
    drawn, fixed = float(shape_berm(site, ground).fill.sum()), _fixed(site, ground)
    found: list[tuple[Suggestion, Trial]] = []
    for least in (CLEARLY_DIFFERENT, DIFFERENT):
        numbers = [FAMILIES.index(trial.family) for trial in tried]
        costs = np.array([trial.cost for trial in tried])
        chosen = choose(numbers, [family.left_out for family in FAMILIES], costs, apart >= least + SLACK)
        found = _finished([tried[k] for k in chosen], ground, drawn, fixed, least)
        if len(found) >= FEWEST:
            break
    best = sorted(found, key=lambda one: (one[0].look.verdict == "made", len(one[0].look.present), one[1].cost))
    return tuple(one for one, _ in best[:MOST])


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


def _led(site: Site, family: Family) -> Site | None:
    """The site as the family wants it, its bed drawn back from the tree, its limit gentler; None where it cannot be."""
    led = clear_of_roots(site) if family.clear_of_roots else site
    if led is None:
        return None
    slope = min(site.berm.max_slope, family.steepest or site.berm.max_slope)
    return replace(led, berm=replace(led.berm, max_slope=slope))


def _trials(site: Site, ground: Ground, wish: Proposal, family: Family, height: float | None = None) -> Iterator[Trial]:
    """The family from either end, with ever less soil, shaped and judged."""
    led = _led(site, family)
    if led is None:
        return
    try:
        spine = spine_of(lay_out(led, ground).worked)
    except InputError:
        return
    wished = float(wish.fill.sum())
    points = family.points(_nearest_walk(site, spine))
    for laid in (points, flipped(points)):
        crest = crest_of(laid, spine, max(float(wish.fill.max()), 0.05), _away(site, spine))
        candidate = _with_crest(led, crest, TOE_SHARE * float(spine.clearance.max()))
        try:
            prepared = prepare(candidate, ground)
        except InputError:
            continue
        if height is not None and site.berm.soil is None:
            yield _judged(family, *_at_height(candidate, ground, prepared, height), ground, wished)
            continue
        # A bed drawn back holds less than was wished for: shares of what it holds.
        limit = build(candidate, ground, prepared, 1.0).limit
        most = min(wished, float(np.maximum(limit - ground.elevation, 0.0).sum()))
        for share in SOIL_SHARES if site.berm.soil is None else SOIL_SHARES[:1]:
            yield _judged(family, *_built(candidate, ground, prepared, share * most), ground, wished)


def _away(site: Site, spine: Spine) -> float:
    """The side of the spine that lies away from the nearest tree: 1.0 or -1.0."""
    tree = nearest_tree(site)
    if tree is None:
        return 1.0
    return 1.0 if float((spine.points.mean(axis=0) - np.array(tree.at)) @ spine.across) >= 0.0 else -1.0


def _nearest_walk(site: Site, spine: Spine) -> float:
    """Share of the spine's length where other ground that is kept clear comes nearest; 0.6 where there is none."""
    if not site.keep_clear:
        return 0.6
    walks = shapely.union_all([area.outline for area in site.keep_clear])
    away = shapely.distance(walks, shapely.points(spine.points))
    return float(np.argmin(away)) / max(len(spine.points) - 1, 1)


def _built(candidate: Site, ground: Ground, prepared: Prepared, wanted: float) -> tuple[Site, Proposal]:
    """The site as it is written, and the form: with the soil on hand, or coming to the wanted volume in a few steps."""
    if candidate.berm.soil is not None:
        scale = scale_for_soil(candidate, ground, prepared, candidate.berm.soil)
        written = _with_heights(candidate, [scale * point.height for point in candidate.berm.crest])
        return written, build(candidate, ground, prepared, scale)
    scale, proposal = 1.0, build(candidate, ground, prepared, 1.0)
    for _ in range(SOIL_STEPS if wanted > 0.0 else 0):
        # What the limits hold back stays missing.
        scale *= float(np.clip(wanted / max(proposal.fill.sum(), 1e-9), 0.5, 1.6))
        proposal = build(candidate, ground, prepared, scale)
    # Judged as the written site file builds it: heights beyond the limits' reach make another form than those met.
    written = _with_heights(candidate, [point.built for point in proposal.crest])
    return written, build(written, ground, prepared, 1.0)


def _at_height(candidate: Site, ground: Ground, prepared: Prepared, height: float) -> tuple[Site, Proposal]:
    """The site as it is written, and the form, its top at the wished height or as near as the limits let it."""
    scale, proposal = 1.0, build(candidate, ground, prepared, 1.0)
    for _ in range(SOIL_STEPS):
        scale *= float(np.clip(height / max(float(proposal.fill.max()), 1e-9), 0.5, 1.6))
        proposal = build(candidate, ground, prepared, scale)
    written = _with_heights(candidate, [point.built for point in proposal.crest])
    return written, build(written, ground, prepared, 1.0)


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


def _judged(family: Family, site: Site, proposal: Proposal, ground: Ground, soil: float) -> Trial:
    look = look_of(site, ground, proposal)
    nearest = max(sign.value / sign.bound for sign in look.signs)
    cost = MADE_COST * (look.verdict == "made") + SIGN_COST * len(look.present) + NEAR_COST * nearest
    cost += SOIL_COST * abs(float(proposal.fill.sum()) - soil) / max(soil, 1e-9)
    return Trial(family, site, proposal.fill, cost)


def _all_apart(tried: Sequence[Trial], fixed: np.ndarray) -> np.ndarray:
    """(n, n) difference of every two trials."""
    apart = np.zeros((len(tried), len(tried)))
    for k, one in enumerate(tried):
        for j, other in enumerate(tried[:k]):
            apart[k, j] = apart[j, k] = difference(one.fill, other.fill, fixed)
    return apart


def difference(one: np.ndarray, other: np.ndarray, fixed: np.ndarray) -> float:
    """Share of two fills, over the one that is fixed, that they do not have in common, 0 to 1."""
    own = np.maximum(one - fixed, 0.0) + np.maximum(other - fixed, 0.0)
    return float(np.abs(one - other).sum() / max(own.sum(), 1e-9))


def _finished(
    chosen: Sequence[Trial], ground: Ground, drawn: float, fixed: np.ndarray, apart: float
) -> list[tuple[Suggestion, Trial]]:
    """The chosen forms on the full grid, where they are as clearly different there; `drawn` is the drawn one's fill."""
    found: list[tuple[Suggestion, Trial]] = []
    for trial in chosen:
        one = _suggestion(trial, ground, drawn)
        others = [other.proposal.fill for other, _ in found]
        if all(difference(one.proposal.fill, other, fixed) >= apart for other in others):
            found.append((one, trial))
    return found


def _suggestion(trial: Trial, ground: Ground, drawn: float) -> Suggestion:
    proposal = shape_berm(trial.site, ground)
    look = look_of(trial.site, ground, proposal)
    share = float(proposal.fill.sum()) / max(drawn, 1e-9)
    sentence = trial.family.sentence
    if trial.site.berm.soil is None and abs(share - 1.0) > 0.03:
        why = "its shape asks for more" if share > 1.0 else trial.family.why_less
        sentence += f" Takes {100.0 * share:.0f} % of the soil of the drawn form: {why}."
    return Suggestion(trial.family.name, sentence, trial.site, proposal, look)
