"""A family laid on a bed, and the form that an amount of soil makes of it, judged on a coarse grid."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import shapely

from terrain.errors import InputError
from terrain.grid import Array
from terrain.ground import Ground
from terrain.limits import CREST_SHORT, HIGHEST_CREST
from terrain.look import Look, natural_look
from terrain.shape import (
    MOST,
    Prepared,
    Proposal,
    Spine,
    lay_out,
    limit_on_grid,
    loose_needed,
    prepare,
    raised_fill,
    scale_for,
    scale_for_soil,
    spine_of,
)
from terrain.site import CrestPoint, Site
from terrain.suggest.families import SAME_SOIL, SCREEN, WINDOW, Family, Point, crest_of
from terrain.suggest.roots import clear_of_roots, covered, nearest_tree
from terrain.suggest.sight import Sight, SightLines
from terrain.units import Units

HEIGHT_STEPS = 4  # steps by which a form comes to its height
# What is written of a wish that the limits hold back: as much more than they let stand as is not worth a word.
SPARE = 0.9 * CREST_SHORT.value
# What the search weighs: a made form counts by far the most, then a sign, then how near the nearest sign comes to its
# bound, then the soil that is missing, then what of the drawn form it repeats, then a sight that is not as wished. Our
# own choice.
MADE_COST, SIGN_COST, NEAR_COST, SOIL_COST, LIKE_COST, SIGHT_COST = 20.0, 2.0, 1.0, 3.0, 12.0, 8.0
# No form is farther from the bound of its nearest sign than this share of it, or by so little that it decides nothing.
NEAREST = 0.85
SHORT_COST = 5.0  # of the form that is there for its soil and does not come to it
# Two forms count as clearly different where their fills differ by this share of their sum, volume for volume.
CLEARLY_DIFFERENT = 0.25
BOLD = (
    3.0  # power added to a form's relief where the drawn one leaves all the room that the limits give; our own choice
)
SOIL_ROUNDS, WORTH_A_ROUND = 3, 0.85  # rounds by which a form comes to its soil, where it comes near it in the first
SOIL_ROUGH = 0.01  # share of the soil to which a form is brought while it is tried
SOIL_CLOSE = 0.03  # share of the drawn form's soil that a form may be off before it says so
SLACK = 0.015  # by which forms differ more on the coarse grid, for the full one to keep what is asked
# What a crew sets out by tape and level: steps of places, widths and heights, metres.
STEPS: dict[Units, tuple[float, float, float]] = {"ft": (0.03048, 0.0254, 0.00635), "m": (0.05, 0.01, 0.005)}


@dataclass(frozen=True)
class Wishes:
    """What is wished of every form beside what the site file says.

    `height` over existing grade in metres; None: as the soil asks for it. What is to be hidden, and what is to stay in
    sight.
    """

    height: float | None = None
    hide: tuple[Sight, ...] = ()
    see: tuple[Sight, ...] = ()


@dataclass(frozen=True)
class Yardstick:
    """What every trial is held against.

    Parameters
    ----------
    site
        Without its streams.
    ground
        On the coarse grid.
    drawn
        The designer's own form on it.
    fixed
        Fill that terraces and stones hold without any crest, metres: all forms have it in common.
    soil
        Loose soil that the drawn form takes there, m3.
    height
        Wished height, metres, or None.
    hide, see
        Lines of the sights that are to be cut, and of those that are not.
    """

    site: Site
    ground: Ground
    drawn: Proposal
    fixed: Array
    soil: float
    height: float | None
    hide: tuple[SightLines, ...]
    see: tuple[SightLines, ...]

    @property
    def room(self) -> Array:
        """(ny, nx) fill that the limits hold, metres."""
        return np.maximum(self.drawn.limit - self.ground.elevation, 0.0)

    @property
    def contrast(self) -> float:
        """Power by which a family's low places are lowered: the more room the limits leave, the bolder the form."""
        return 1.0 + BOLD * max(1.0 - float(self.drawn.fill.sum()) / max(float(self.room.sum()), 1e-9), 0.0)

    def off_sight(self, fill: Array) -> float:
        """How far a fill is from what is wished of the sights: shares that are seen and should not be, and the like."""
        grid = self.ground.grid
        seen = sum(1.0 - lines.hidden(grid, fill) for lines in self.hide)
        return seen + sum(lines.hidden(grid, fill) for lines in self.see)

    @property
    def gives_soil(self) -> bool:
        """Whether soil on hand or a height that is wished sets how much every form takes."""
        return self.site.berm.soil is not None or self.height is not None


@dataclass(frozen=True)
class LaidForm:
    """A family laid on the bed one way: what stays while its soil changes; `most` is what it can take, loose m3.

    `known` holds the loose soil, m3, that its heights took at every factor on them that was tried so far.
    """

    family: Family
    site: Site
    prepared: Prepared
    most: float
    known: dict[float, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Trial:
    """One form on the coarse grid: what it takes in loose m3 where `wanted` was asked for; judged when it is asked.

    `fill` is (ny, nx) metres.
    """

    yard: Yardstick
    laid: LaidForm
    site: Site
    fill: Array
    wanted: float
    takes: float

    @property
    def family(self) -> Family:
        """What it is a form of."""
        return self.laid.family

    @property
    def takes_all(self) -> bool:
        """Whether no soil on hand is left over, where some is stated."""
        soil = self.site.berm.soil
        return soil is None or soil - self.takes <= SOIL_ROUGH * soil

    @property
    def held(self) -> bool:
        """Whether the limits held it back from the soil that was wanted."""
        return self.takes < (1.0 - SOIL_CLOSE) * self.wanted

    @cached_property
    def look(self) -> Look:
        """Its signs."""
        ground = self.yard.ground
        outline, units = self.site.bed.outline, self.site.units
        return natural_look(ground.grid, ground.elevation, ground.elevation + self.fill, outline, units)

    @property
    def signs(self) -> int:
        """How many signs it shows; one that reads as made counts as very many."""
        return len(self.look.present) + 100 * (self.look.verdict == "made")

    @cached_property
    def cost(self) -> float:
        """What speaks against it."""
        look = self.look
        signs = MADE_COST * (look.verdict == "made") + SIGN_COST * len(look.present)
        return self.least_cost + signs + NEAR_COST * (max(sign.value / sign.bound for sign in look.signs) - NEAREST)

    @cached_property
    def least_cost(self) -> float:
        """What speaks against it before its look is judged, which takes far longer: no more than `cost`."""
        yard, cost = self.yard, NEAR_COST * NEAREST
        if not yard.gives_soil:
            short = abs(self.takes / max(yard.soil, 1e-9) - 1.0)
            cost += SOIL_COST * short
            cost += SHORT_COST * (self.family is SAME_SOIL and short > 0.8 * SOIL_CLOSE)
        cost += LIKE_COST * max(CLEARLY_DIFFERENT - self.unlike(yard.drawn.fill), 0.0)
        return cost + SIGHT_COST * yard.off_sight(self.fill)

    def unlike(self, fill: Array) -> float:
        """Share of it and of another fill, (ny, nx) in metres, that they do not have in common."""
        return difference(self.fill, fill, self.yard.fixed)

    @property
    def is_another(self) -> bool:
        """Whether it is clearly unlike the drawn form; asked of all but those that are there for something else."""
        free = self.yard.gives_soil or self.family in (SAME_SOIL, SCREEN, WINDOW)
        return free or self.unlike(self.yard.drawn.fill) >= CLEARLY_DIFFERENT + SLACK


def look_of_trial(trial: Trial) -> Look:
    """Its signs."""
    return trial.look


def laid_ways(yard: Yardstick, family: Family) -> Iterator[LaidForm]:
    """The family in each of its layouts; none where it cannot be laid."""
    for led in _led(yard, family):
        # A bed without room for any mound takes none.
        with suppress(InputError):
            spine = spine_of(lay_out(led, yard.ground).worked)
            for points in family.layouts(_goes_by(yard, spine)):
                bold = [(along, off, high**yard.contrast) for along, off, high in points]
                crest = crest_of(bold, spine, _away(led, spine))
                candidate = _with_crest(led, crest, family.toe * float(spine.clearance.max()))
                prepared = prepare(candidate, yard.ground)
                candidate = _at_the_limit(candidate, yard.ground, prepared)
                yield LaidForm(family, candidate, prepared, loose_needed(candidate, yard.ground, prepared, MOST))


def _led(yard: Yardstick, family: Family) -> list[Site]:
    """The site as the family wants it: its bed drawn back from the tree, in a few ways; its limit gentler."""
    site = yard.site
    if family.clear_of_roots:
        return clear_of_roots(site, covered(site, yard.ground.grid, yard.drawn.fill))
    slope = min(site.berm.max_slope, family.steepest or site.berm.max_slope)
    return [replace(site, berm=replace(site.berm, max_slope=slope))]


def _away(site: Site, spine: Spine) -> float:
    """The side of the spine that lies away from the nearest tree: 1.0 its left, -1.0 its right."""
    tree = nearest_tree(site)
    return -1.0 if tree is not None and spine.left_of(tree.at) else 1.0


def _goes_by(yard: Yardstick, spine: Spine) -> float:
    """Share of the spine's length that a form goes by: where the eye looks across, else where a walk is nearest."""
    crossed = [lines.best_places(yard.ground.grid, yard.room) for lines in (*yard.hide, *yard.see)]
    if crossed:
        nearest = [int(np.argmin(np.hypot(*(spine.points - place).T))) for place in np.concatenate(crossed)]
        return float(np.mean(nearest)) / max(len(spine.points) - 1, 1)
    if not yard.site.keep_clear:
        return 0.6
    walks = shapely.union_all([area.outline for area in yard.site.keep_clear])
    apart = shapely.distance(walks, shapely.points(spine.points))
    return float(np.argmin(apart)) / max(len(spine.points) - 1, 1)


def _at_the_limit(site: Site, ground: Ground, prepared: Prepared) -> Site:
    """The site with its heights, shares so far, times what the limits hold at each place."""
    limit = limit_on_grid(ground, prepared) - ground.elevation
    places = np.array([(point.x, point.y) for point in site.berm.crest])
    room = np.maximum(ground.grid.sample(limit, places), 0.0)
    crest = (replace(p, height=p.height * float(high)) for p, high in zip(site.berm.crest, room, strict=True))
    return replace(site, berm=replace(site.berm, crest=tuple(crest)))


def tried(yard: Yardstick, laid: LaidForm, wanted: float) -> Trial:
    """The form that comes to the wanted loose soil, m3, or to the height or the soil that is given."""
    site, ground, prepared = laid.site, yard.ground, laid.prepared
    if site.berm.soil is not None:
        scale = scale_for_soil(site, ground, prepared, site.berm.soil)
        written = _with_heights(site, [scale * point.height for point in site.berm.crest])
        fill, takes = raised_fill(site, ground, prepared, scale)
    elif yard.height is not None:
        scale = _scale_for_height(site, ground, prepared, yard.height)
        written = _as_written(site, ground, raised_fill(site, ground, prepared, scale)[0], scale)
        # Judged as the written site file builds it: heights beyond the limits' reach make another form than those met.
        fill, takes = raised_fill(written, ground, prepared, 1.0)
    else:
        written, fill, takes = brought_to(site, ground, prepared, wanted, SOIL_ROUGH, laid.known)
    return Trial(yard, laid, written, fill, wanted, takes)


def brought_to(
    site: Site,
    ground: Ground,
    prepared: Prepared,
    loose: float,
    close: float,
    known: dict[float, float] | None = None,
) -> tuple[Site, Array, float]:
    """The site with its heights all times one factor, so that the mound takes `loose` m3 to a share `close` of it.

    Heights that the limits hold back are written as they stand; what is missing then the other points take, as far as
    they can. `known` is what factors on the site's own heights took (`scale_for`).

    Returns
    -------
    site, fill, takes
        The site as it is written; (ny, nx) fill in metres and loose m3 as that site file builds them.
    """
    written, known = site, {} if known is None else known
    for _ in range(SOIL_ROUNDS):
        raised = _Raised(written, ground, prepared, known)
        scale = scale_for(raised.takes, loose, close, known)
        written = _as_written(written, ground, raised.fill(scale), scale)
        fill, takes = raised_fill(written, ground, prepared, 1.0)
        if not WORTH_A_ROUND * loose < takes < (1.0 - SOIL_CLOSE / 2.0) * loose:
            break
        known = {1.0: takes}
    return written, fill, takes


@dataclass
class _Raised:
    """A form at factors on its heights: `known` keeps what each took, `last` the fill of the last, asked for again."""

    site: Site
    ground: Ground
    prepared: Prepared
    known: dict[float, float]
    last: tuple[float, Array] | None = None

    def takes(self, scale: float) -> float:
        """Loose soil at a factor, m3."""
        fill, takes = raised_fill(self.site, self.ground, self.prepared, scale)
        self.last, self.known[scale] = (scale, fill), takes
        return takes

    def fill(self, scale: float) -> Array:
        """(ny, nx) fill at a factor, metres."""
        kept = self.last
        if kept is not None and kept[0] == scale:
            return kept[1]
        return raised_fill(self.site, self.ground, self.prepared, scale)[0]


def _as_written(site: Site, ground: Ground, fill: Array, scale: float) -> Site:
    """The site with the heights of a form, no higher over what the limits let stand than is not worth a word.

    `fill` is what they built, (ny, nx) metres.
    """
    places = np.array([(point.x, point.y) for point in site.berm.crest])
    built = ground.grid.sample(fill, places)
    wished = [scale * point.height for point in site.berm.crest]
    return _with_heights(site, [min(one, float(other) + SPARE) for one, other in zip(wished, built, strict=True)])


def _scale_for_height(site: Site, ground: Ground, prepared: Prepared, height: float) -> float:
    """Factor on the heights at which the top stands at a height, metres, or as near as the limits let it."""
    scale = 1.0
    for _ in range(HEIGHT_STEPS):
        top = float(raised_fill(site, ground, prepared, scale)[0].max())
        scale *= float(np.clip(height / max(top, 1e-9), 0.5, 1.6))
    return scale


def difference(one: Array, other: Array, fixed: Array) -> float:
    """Share of two fills, over the one that is fixed, that they do not have in common, 0 to 1."""
    own = np.maximum(one - fixed, 0.0) + np.maximum(other - fixed, 0.0)
    return float(np.abs(one - other).sum() / max(own.sum(), 1e-9))


def _with_heights(site: Site, heights: list[float]) -> Site:
    """The site with these crest heights, in steps that a crew can set out."""
    step = STEPS[site.units][2]
    crest = tuple(
        replace(point, height=min(max(_stepped(height, step), 4.0 * step), HIGHEST_CREST.value))
        for point, height in zip(site.berm.crest, heights, strict=True)
    )
    return replace(site, berm=replace(site.berm, crest=crest))


def _with_crest(site: Site, crest: list[Point], toe: float) -> Site:
    place, width, _ = STEPS[site.units]
    points = tuple(CrestPoint(_stepped(x, place), _stepped(y, place), height) for x, y, height in crest)
    return replace(site, berm=replace(site.berm, crest=points, toe=_stepped(toe, width)))


def _stepped(value: float, step: float) -> float:
    return round(value / step) * step
