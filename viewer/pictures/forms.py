"""Forms beside each other: the yard worked through with each, how it looks from one eye, its words and figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil, sqrt

from terrain.errors import InputError
from terrain.flow import Study
from terrain.ground import Ground, coarser
from terrain.review import TreeCheck
from terrain.shape import shape_berm
from terrain.soil import buy_words, money
from terrain.units import show_length, show_slope, show_volume
from viewer.beside import on_both_cores
from viewer.page import Subject, subject_of
from viewer.pictures.eye_camera import EyeView, eye_view
from viewer.pictures.eye_picture import eye_picture
from viewer.pictures.standpoints import Standpoint, standpoints
from viewer.still import Still

# Nodes of the ground that the pictures are made of: a cell is then a few pixels wide. Every edge is followed anyway.
SEEN_NODES = 20_000


@dataclass(frozen=True)
class Frame:
    """One form on the sheet: its name, the yard worked through with it, what it does in a sentence, and more words.

    `told` are pairs of a heading and a figure: what it has not in common with the drawn form, what it hides.
    """

    name: str
    study: Study
    sentence: str = ""
    told: tuple[tuple[str, str], ...] = ()

    @cached_property
    def subject(self) -> Subject:
        """The stage values that the drawings read."""
        return subject_of(self.study)


@dataclass(frozen=True)
class SeenForm:
    """A picture of the yard from the one eye, and what it was made of."""

    subject: Subject
    picture: Still
    built: bool


def look_from(subject: Subject) -> Standpoint:
    """The first place that the site file names, else the invented street."""
    stands = standpoints(subject.site, subject.ground)
    return next((stand for stand in stands if stand.invented and stand.name == "street"), stands[0])


def tallest_of(frames: Sequence[Frame]) -> Frame:
    """The form with the deepest fill, which every picture must have room for."""
    return max(frames, key=lambda frame: float(frame.study.proposal.fill.max()))


def seen_forms(frames: Sequence[Frame], stand: Standpoint, wide: int) -> tuple[EyeView, tuple[SeenForm, ...]]:
    """One frame of `wide` pixels for all, and the pictures in it: the yard as it is, then with each form."""
    ground = frames[0].study.ground
    wider = coarser(ground, ground.grid.cell * ceil(sqrt(ground.grid.nx * ground.grid.ny / SEEN_NODES)))
    subjects = [_on_wider_cells(frame.subject, wider) for frame in frames]
    view = eye_view(tallest_of(frames).subject, stand, wide)
    # The first is drawn before the others are shared out: what it loads both cores then have.
    before = SeenForm(subjects[0], eye_picture(subjects[0], view, False), False)
    after = on_both_cores(lambda one: SeenForm(one, eye_picture(one, view, True), True), subjects)
    return view, (before, *after)


def _on_wider_cells(subject: Subject, ground: Ground) -> Subject:
    """The same form shaped on wider cells; on its own where those have no room for something in it."""
    with suppress(InputError):
        return replace(subject, ground=ground, proposal=shape_berm(subject.site, ground))
    return subject


def facts_of(frame: Frame) -> Iterator[tuple[str, str]]:
    """The figures that forms are told apart by, each under its heading; none where the site has no such thing."""
    study, units = frame.study, frame.study.site.units
    yield "height", show_length(float(study.proposal.fill.max()), units)
    yield "soil", show_volume(study.order.quantity, units)
    if study.order.cost is not None:
        yield "price", money(study.order.cost)
    yield "steepest", show_slope(study.proposal.steepest).split(" ")[0]
    if study.review.trees:
        share = max(tree.share_of_root_zone_covered for tree in study.review.trees)
        yield "roots covered", f"{100.0 * share:.0f} %"
    yield from frame.told


def side_by_side(frames: Sequence[Frame]) -> tuple[list[str], list[list[str]]]:
    """Headings, and a row of figures for each form, the name first; "-" where a form has no such figure."""
    facts = [dict(facts_of(frame)) for frame in frames]
    heads = list(dict.fromkeys(head for one in facts for head in one))
    rows = [[frame.name, *(one.get(head, "-") for head in heads)] for frame, one in zip(frames, facts, strict=True)]
    return ["form", *heads], rows


def verdict_words(study: Study) -> str:
    """What the form reads as, and what its signs say."""
    look = study.review.look
    return " ".join([f"{look.words[0].upper()}{look.words[1:]}.", *(sign.sentence for sign in look.present)])


def figure_words(frame: Frame) -> list[str]:
    """Height, soil, slope and trees of a form, and what is not met."""
    study, units = frame.study, frame.study.site.units
    height = float(study.proposal.fill.max())
    cost = "" if study.order.cost is None else f", cost {money(study.order.cost)}"
    return [
        f"{show_length(height, units)} high, {buy_words(study.order, units)} to order{cost}",
        f"steepest {show_slope(study.proposal.steepest)} (run:rise)",
        *(f"{head}: {figure}" for head, figure in frame.told),
        *further_words(frame),
    ]


def further_words(frame: Frame) -> list[str]:
    """What no table of figures has: the soil on every tree's roots and how deep, and what is not met."""
    study = frame.study
    return [*(tree_words(tree, study) for tree in study.review.trees), *unmet(study)]


def tree_words(tree: TreeCheck, study: Study) -> str:
    """How much of a root zone the soil covers, and how deep."""
    deepest = show_length(tree.deepest_fill_in_root_zone, study.site.units)
    share = tree.share_of_root_zone_covered
    if share < 0.005:
        return f"{tree.name}: {'hardly any' if share > 0.0 else 'no'} soil on its roots"
    return f"{tree.name}: {100.0 * share:.0f} % of root protection zone, up to {deepest}"


def unmet(study: Study) -> list[str]:
    """Soil on hand that the limits leave over."""
    soil, left = study.site.berm.soil, study.proposal.soil_left
    if soil is None or abs(left) <= 0.005 * soil:
        return []
    what = "of the soil on hand left over" if left > 0.0 else "of soil short"
    return [f"{show_volume(abs(left), study.site.units)} {what}"]
