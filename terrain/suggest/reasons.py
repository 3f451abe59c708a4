"""What a form says beside its kind: how much soil it takes and why, and which part of the bed it leaves bare."""

from __future__ import annotations

from collections.abc import Iterator

from scipy import ndimage

from terrain.numerics import distance_inside
from terrain.shape import Proposal
from terrain.suggest.families import SCREEN, Family
from terrain.suggest.laying import CLEARLY_DIFFERENT, SOIL_CLOSE, Trial, Yardstick
from terrain.units import show_side

DRAWN = "the drawn form"
# Ground counts as bare under this share of the form's height, or under so many metres, and an arm as a part of the bed
# where a circle of this share of the bed's breadth fits, and it makes up this share of the bed's area. Our own choice.
BARE, THIN, ARM_WIDE, ARM = 0.04, 0.01, 0.25, 0.08


def soil_words(share: float, why: str) -> str:
    """ " Takes 84 % of the soil of the drawn form: ...", or nothing where it comes near enough."""
    if abs(share - 1.0) <= SOIL_CLOSE:
        return ""
    return f" Takes {100.0 * share:.0f} % of the soil of the drawn form: {why}."


def why_no_more(yard: Yardstick, fuller: Trial, kept: Trial, like: str) -> str:
    """Why a form keeps to its soil: what was wrong with the fuller one; `like` is what that is too near to, or ""."""
    family = kept.family
    if like:
        fills = _filled(yard)
        drawn = f", which fills {fills}" if like == DRAWN else f" (the drawn form fills {fills})"
        return f"with more it is too much like {like}{drawn}"
    if fuller.signs > kept.signs:
        new = [sign.name for sign in fuller.look.present if sign.sign not in {one.sign for one in kept.look.present}]
        return f"with more it reads as made: {new[0]}" if new else "with more it reads as made"
    if family.clear_of_roots:
        return "its part of the bed holds no more"
    if kept.site.berm.max_slope < yard.site.berm.max_slope:
        return "at its gentler slope the bed holds no more"
    return "its high points stand as high as the limits let them"


def alike_words(yard: Yardstick, unlike: float) -> str:
    """What a form says that shares more of its fill with the drawn one than others may: else nothing."""
    if unlike >= CLEARLY_DIFFERENT:
        return ""
    return f" Only {100.0 * unlike:.0f} % of the fill is not in common with {DRAWN}, which fills {_filled(yard)}."


def _filled(yard: Yardstick) -> str:
    full = 100.0 * min(float(yard.drawn.fill.sum()) / max(float(yard.room.sum()), 1e-9), 1.0)
    return f"{full:.0f} % of what the limits hold"


def sight_words(family: Family, yard: Yardstick) -> str:
    """ " Soil can hide 40 % of it within the limits.", of a form that is there to hide something; else nothing."""
    if family is not SCREEN:
        return ""
    most = [lines.hidden(yard.ground.grid, yard.room) for lines in yard.hide]
    return f" Within the limits no soil hides more than {' and '.join(f'{100.0 * share:.0f} %' for share in most)}."


def bare_words(drawn: Proposal, proposal: Proposal) -> str:
    """ " Leaves the ... at existing grade ...", for every arm or end of the bed that gets no soil; else nothing.

    `drawn` is the designer's own form, whose whole bed counts.
    """
    arms = [f"{side} ({100.0 * share:.0f} % of the bed)" for side, share in bare_arms(drawn, proposal)]
    return f" Leaves the {' and the '.join(arms)} at existing grade, for plants alone." if arms else ""


def bare_arms(drawn: Proposal, proposal: Proposal) -> Iterator[tuple[str, float]]:
    """The parts of a bed that a form leaves bare: the side of the bed they lie on, and their share of its ground."""
    grid, bed = proposal.grid, drawn.bed
    bare = bed & (proposal.fill < max(BARE * float(proposal.fill.max()), THIN))
    reach = ARM_WIDE * float(distance_inside(bed).max())
    core = distance_inside(bare) > reach
    parts, count = ndimage.label(bare & (ndimage.distance_transform_edt(~core) <= reach + 1.0))
    middle = grid.nodes[bed.ravel()].mean(axis=0)
    for number in range(1, count + 1):
        part = (parts == number).ravel()
        share = float(part.sum() / bed.sum())
        if share >= ARM:
            yield show_side(*(grid.nodes[part].mean(axis=0) - middle)), share
