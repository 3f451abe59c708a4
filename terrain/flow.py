"""The whole flow for one yard, and the frozen bundle of what its stages answered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from types import NoneType

from terrain.errors import InputError
from terrain.expect import expect, expect_number
from terrain.fingerprint import Comparable, alike
from terrain.ground import Ground, coarser, grid_words, model_ground
from terrain.look import Look, look_of
from terrain.review import Review, TreeSoil, review, soil_on_trees
from terrain.shape import Prepared, Proposal, prepare, with_heights
from terrain.site import Berm, Site
from terrain.soil import (
    NOTHING_ASKED,
    Earthwork,
    HeightRow,
    Order,
    Trim,
    Volumes,
    WhatIf,
    height_rows,
    measure_earthwork,
    measured_of,
    order_soil,
    scales_beside,
    shaped_as_asked,
    site_as_asked,
    trim_of,
)
from terrain.waterworks import StreamNeeds, stream_needs

Progress = Callable[[str], None]
# Fields of a site that the ground does not follow from; any other may count, so what differs there is a new ground.
_NOT_GROUND = {"name", "berm", "soil", "stream", "water", "drawing"}
_FOR_GROUND = tuple(part for part in fields(Site) if part.name not in _NOT_GROUND)
_FOR_BED = tuple(part for part in fields(Berm) if part.name not in ("crest", "soil"))


@dataclass(frozen=True, eq=False, repr=False)
class Study(Comparable):
    """One yard worked through: what every output is drawn and written from.

    Parameters
    ----------
    site
        The yard as worked: with what the what-if asks for in it.
    ground, bed, proposal, work, order, review
        What the stages answered; `bed` is what stays the same while heights change, None where somebody else designed
        the proposal.
    asked
        The what-if.
    """

    site: Site
    ground: Ground
    bed: Prepared | None = field(compare=False)  # follows from the rest
    proposal: Proposal
    work: Earthwork
    order: Order
    review: Review
    asked: WhatIf = NOTHING_ASKED

    def __repr__(self) -> str:
        mound = f"{self.order.quantity:.1f} m3 loose to buy, {self.proposal.fill.max():.2f} m of fill at most"
        return f"<Study of {self.site.name}: {mound}, {len(self.review)} findings>"

    @cached_property
    def heights(self) -> tuple[HeightRow, ...]:
        """The same mound lower and higher, each with its order, lowest first; worked out when first asked for.

        () for a proposal that somebody else designed.
        """
        if self.bed is None:
            return ()
        return height_rows(self.site, self.ground, self.bed, scales_beside(self.proposal.height_scale))

    @cached_property
    def streams(self) -> tuple[StreamNeeds, ...]:
        """What every stream needs; () where there is none, or the site file does not say enough."""
        return stream_needs(self.site, self.proposal)

    @cached_property
    def trim(self) -> Trim | None:
        """How much lower the mound would have to be to save the last truck; None where that is no small change."""
        if self.bed is None:
            return None
        return trim_of(self.site, self.ground, self.bed, self.proposal, self.order)


@dataclass(frozen=True)
class Sketch:
    """One yard shaped and its soil ordered, before anything is checked; names as in `Study`.

    Trees and signs are worked out when they are first asked for.
    """

    site: Site
    ground: Ground
    bed: Prepared
    proposal: Proposal
    work: Volumes
    order: Order

    @cached_property
    def trees(self) -> tuple[TreeSoil, ...]:
        """The soil on every tree's ground."""
        return soil_on_trees(self.site, self.proposal)

    @cached_property
    def look(self) -> Look:
        """The signs of an unnatural shape."""
        return look_of(self.site, self.ground, self.proposal)


def quietly(step: str) -> None:
    """Tell nobody: the progress of a run that nobody watches."""


def run_site(
    site: Site,
    what_if: WhatIf | None = None,
    resolution: float | None = None,
    *,
    progress: Progress = quietly,
    ground: Ground | None = None,
    earlier: Study | None = None,
) -> Study:
    """Work one yard through every stage.

    Parameters
    ----------
    site
        The yard, validated, in SI units.
    what_if
        What shall be different from the site file.
    resolution
        Cell of the grid in metres, where a coarser one than the site's will do; None: the site's own.
    progress
        Called with a few words before each stage begins.
    ground
        Existing grade of this yard that is modelled already; None: it is modelled here.
    earlier
        A run of the same yard: its ground and its prepared bed are used again where nothing that they follow from is
        different. What is different is judged by the whole input.

    Raises
    ------
    InputError
        Where a stage cannot work with what the site says, the kind of soil is not in the table, or the resolution is no
        length.

    Examples
    --------
    >>> from terrain import read_site
    >>> study = run_site(read_site("cli/starter/feet/site.toml"), resolution=0.3)
    >>> lower = run_site(study.site, WhatIf(scale=0.7), resolution=0.3, earlier=study)
    >>> lower.order.quantity < study.order.quantity
    True
    """
    expect("run_site", site=(site, Site), what_if=(what_if, (WhatIf, NoneType)))
    _check_resolution(resolution)
    asked = what_if or NOTHING_ASKED
    site = site_as_asked(site, asked)
    if ground is None and resolution is None and earlier is not None:
        ground = earlier.ground if _same_ground(site, earlier.site) else None
    progress("modelling the ground" if ground else f"modelling the ground{grid_words(site)}")
    ground = ground or model_ground(site)
    ground = ground if resolution is None else coarser(ground, resolution)
    site = with_heights(site, ground)
    progress("shaping the berm")
    bed = _bed(site, ground, earlier)
    proposal = shaped_as_asked(site, ground, bed, asked)
    return replace(measured_study(site, ground, proposal, progress), bed=bed, asked=asked)


def measured_study(site: Site, ground: Ground, proposal: Proposal, progress: Progress = quietly) -> Study:
    """The stages behind a proposal, wherever it comes from: measured, ordered, reviewed."""
    progress("measuring the earthwork")
    work = measure_earthwork(site, ground, proposal)
    order = order_soil(site, work)
    progress("checking trees, slopes and look")
    return Study(site, ground, None, proposal, work, order, review(site, ground, proposal, work, order))


def _check_resolution(resolution: float | None) -> None:
    """Refuse what is no length of a cell."""
    if resolution is not None:
        expect_number("resolution", resolution)
        if resolution <= 0.0:
            raise InputError("resolution", f"{resolution:g} m is no cell size;", "a length above 0 in metres")


def sketch_site(site: Site, ground: Ground, earlier: Sketch | None = None) -> Sketch:
    """The same flow as far as a moving hand waits for: shaped, measured on the mesh alone, ordered.

    Parameters
    ----------
    site, ground
        The yard, and its existing grade on a coarser grid.
    earlier
        A sketch of the same yard: its bed is used again where nothing that it follows from is different.

    Raises
    ------
    InputError
        Where a stage cannot work with what the site says.
    """
    site = with_heights(site, ground)
    bed = _bed(site, ground, earlier)
    proposal = shaped_as_asked(site, ground, bed, NOTHING_ASKED)
    work = measured_of(site, ground, proposal)
    return Sketch(site, ground, bed, proposal, work, order_soil(site, work))


def _bed(site: Site, ground: Ground, earlier: Study | Sketch | None) -> Prepared:
    """The bed of an earlier run where it would come out the same, else a new one."""
    if earlier is not None and earlier.bed is not None and earlier.ground is ground and _same_bed(site, earlier.site):
        return earlier.bed
    return prepare(site, ground)


def _same_ground(one: Site, other: Site) -> bool:
    """Whether all is alike that existing grade may follow from: all but name, wish, soil and streams."""
    return all(alike(getattr(one, part.name), getattr(other, part.name)) for part in _FOR_GROUND)


def _same_bed(one: Site, other: Site) -> bool:
    """Whether all is alike that a prepared bed may follow from: the ground's, and the wish but for its heights."""
    wishes = [[getattr(site.berm, part.name) for part in _FOR_BED] for site in (one, other)]
    places = [[(point.x, point.y) for point in site.berm.crest] for site in (one, other)]
    return places[0] == places[1] and alike(*wishes) and _same_ground(one, other)
