"""The set-out on paper: a plan with every stake and known point, and tables that a crew reads at the tape."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from shapely.geometry import LineString, MultiPoint, Point, box
from shapely.geometry.base import BaseGeometry

from terrain.field import SetOut, reached_words
from terrain.flow import Study
from terrain.site import north_of
from terrain.units import Units, show_length
from viewer.page import (
    BODY,
    CHOSEN,
    FOOT_PANEL,
    INK,
    PAPER,
    SMALL,
    SOIL,
    Bounds,
    DrawingOptions,
    Label,
    Page,
    PartKey,
    Pen,
    PlacedLabel,
    Sheet,
    Stamp,
    Subject,
    Type,
    bed_sides,
    cut_gaps,
    draw_matches,
    in_parts,
    lay_out,
    marks,
    match_ground,
    needed_ground,
    new_page,
    numbered,
    outline_entry,
    place,
    save_book,
    seats_led,
    seats_ring,
    seats_round,
    stamp_sheet,
    subject_of,
    tree_circles,
)
from viewer.sheets import features, layers
from viewer.sheets.order_blocks import WordsBlock
from viewer.sheets.stake_table import stake_tables
from viewer.sheets.tree_sheet import BETWEEN
from viewer.sheets.words_on_sheets import pages_on, pages_to_a_sheet

BASELINE_PEN = Pen(INK, 1.1, (16.0, 4.0))
STAKE = 2.6  # points: radius of a stake's mark
NAME = Type(BODY, INK, bold=True)
CROWD = 34.0  # points: stakes nearer than this contend for the paper round them
ROOM = 0.6  # metres of ground beyond the outermost stake


def draw_set_out(study: Study, stakes: SetOut, path: Path) -> Path:
    """Write the set-out as pages of one PDF."""
    pages = set_out_pages(study, stakes)
    return save_book(numbered(pages), path)


def set_out_pages(study: Study, stakes: SetOut, asked: DrawingOptions = CHOSEN) -> list[Page]:
    """The plan of stakes, then their table on the same paper."""
    plans = _named(study, stakes, asked)
    paper, title = plans[0].sheet.paper, f"Set-out to the {stakes.stage} grade: stakes in the order of walking"
    beside = pages_to_a_sheet(paper, study.site)
    tables = pages_on(paper, Stamp(study.site, title), lambda: stake_tables(study, stakes, asked, beside))
    return [*(_stake_plan(study, stakes, plan) for plan in plans), *tables]


def names_every_stake(study: Study, stakes: SetOut, asked: DrawingOptions) -> bool:
    """Whether every stake's name finds room on the plan of stakes, drawn as it is asked for."""
    placed = {item.label.text for plan in _named(study, stakes, asked) for item in plan.placed}
    return all(stake.name in placed for stake in stakes.stakes)


@dataclass(frozen=True)
class NamedStakes:
    """A plan of stakes before it is drawn: what it reads, its sheet, and where every name stands on it."""

    subject: Subject
    sheet: Sheet
    placed: list[PlacedLabel]


def stakes_map(study: Study, stakes: SetOut) -> Page:
    """The plan of stakes by itself, in one piece."""
    subject = subject_of(study)
    sheet = _sheet(subject, stakes).alone
    page = new_page(sheet.width, sheet.height)
    _draw_stakes(page, study, stakes, NamedStakes(subject, sheet, stake_labels(subject, stakes, sheet)))
    return page


def _named(study: Study, stakes: SetOut, asked: DrawingOptions) -> list[NamedStakes]:
    """The plan of stakes, or its parts where the bed is long."""
    subject = subject_of(study, asked)
    sheets = in_parts(_sheet(subject, stakes), study.site.bed.outline, asked.paper, FOOT_PANEL)
    return [NamedStakes(subject, sheet, stake_labels(subject, stakes, sheet)) for sheet in sheets]


def _sheet(subject: Subject, stakes: SetOut) -> Sheet:
    """A sheet that shows every stake and every known point."""
    site = subject.site
    places = [stake.at for stake in stakes.stakes] + [known.at for known in stakes.known]
    shown = box(*needed_ground(site, subject.ground.grid)).union(MultiPoint(places).envelope.buffer(ROOM))
    west, south, east, north = shown.bounds
    need = west, south, east, north
    return lay_out(need, bed_sides(site.bed.outline), site.units, subject.asked.paper, BETWEEN[site.units])


def _stake_plan(study: Study, stakes: SetOut, plan: NamedStakes) -> Page:
    """Where every stake stands and where the tapes start, with words beside it."""
    sheet = plan.sheet
    page = new_page(sheet.width, sheet.height)
    _draw_stakes(page, study, stakes, plan)
    marks.flow(page, sheet.panels, _columns(study, stakes, sheet))
    stamp_sheet(page, study.site, f"Set-out to the {stakes.stage} grade", sheet)
    return page


def _draw_stakes(page: Page, study: Study, stakes: SetOut, plan: NamedStakes) -> None:
    """Everything inside the frame, from the ground up to the names."""
    site, sheet, placed = study.site, plan.sheet, plan.placed
    gaps = [item.box for item in placed]
    page.area(sheet.clipped(site.bed.outline), SOIL, 0.55)
    features.draw_digs(page, sheet, site, study.proposal, gaps)
    layers.draw_structures(page, sheet, site, gaps)
    layers.draw_trees(page, sheet, tree_circles(site), gaps)
    layers.draw_outline(page, sheet, site.bed.outline)
    features.draw_built(page, sheet, site)
    start, end = stakes.baseline
    # On paper of its own, so that it shows where it runs along a wall.
    string = cut_gaps([sheet.clipped(LineString([start.at, end.at]))], gaps)
    page.lines(string, Pen(PAPER, 2.6))
    page.lines(string, BASELINE_PEN)
    for draw, stood in ((_draw_known, stakes.known), (_draw_stake, stakes.stakes)):
        for across, up in sheet.points(np.array([one.at for one in stood])).tolist():
            if sheet.room.covers(Point(across, up)):
                draw(page, (across, up))
    layers.write_labels(page, placed)
    draw_matches(page, sheet)
    marks.frame_line(page, sheet)


def _draw_stake(page: Page, spot: tuple[float, float]) -> None:
    page.area(Point(spot).buffer(STAKE), PAPER)
    page.lines(Point(spot).buffer(STAKE).exterior, Pen(INK, 1.0))
    page.area(Point(spot).buffer(0.8), INK)


def _draw_known(page: Page, spot: tuple[float, float]) -> None:
    square = box(spot[0] - 4.0, spot[1] - 4.0, spot[0] + 4.0, spot[1] + 4.0)
    page.area(square, INK)
    page.area(Point(spot).buffer(1.4), PAPER)


def stake_labels(subject: Subject, stakes: SetOut, sheet: Sheet) -> list[PlacedLabel]:
    """The names of stakes and known points, and of what stands there, each in a place of its own."""
    site = subject.site
    labels: list[Label] = []
    blocked: list[BaseGeometry] = [sheet.shape(tree.circle(tree.flare)) for tree in tree_circles(site)]
    strong = Type(BODY, INK, bold=True, title=True)
    for known in stakes.known:
        spot = sheet.points(np.array([known.at]))[0]
        radii = (7.0, 14.0, 24.0)
        seats = seats_ring(float(spot[0]), float(spot[1]), known.name, strong, radii)
        labels.append(Label(known.name, seats, strong, 0, "known"))
        blocked.append(Point(spot).buffer(5.5))
    spots = sheet.points(np.array([stake.at for stake in stakes.stakes]))
    near = (np.hypot(*(spots[:, None] - spots[None]).transpose(2, 0, 1)) < CROWD).sum(axis=1)
    for stake, (across, up), others in zip(stakes.stakes, spots.tolist(), near, strict=True):
        seats = seats_round(across, up, stake.name, NAME, 4.0) + seats_led(across, up, stake.name, NAME, STAKE)
        small = Type(SMALL, INK, bold=True)
        # The most crowded choose first: elsewhere there is room enough left.
        rank = max(1, 10 - int(others))
        tight = Label(stake.name, seats_led(across, up, stake.name, small, STAKE), small, rank, "stake")
        labels.append(Label(stake.name, seats, NAME, rank, "stake", instead=tight))
        blocked.append(Point(across, up).buffer(STAKE + 0.6))
    labels += [label for label in layers.tree_labels(sheet, site, tree_circles(site)) if label.tag == "tree"]
    labels += layers.structure_labels(sheet, site)
    start, end = stakes.baseline
    soft = layers.soft_ground(sheet, site) + features.soft_features(sheet, site, subject.proposal)
    soft.append(sheet.clipped(LineString([start.at, end.at])))
    return place(labels, sheet.room.buffer(-3.0), blocked + match_ground(sheet), soft)


def _columns(study: Study, stakes: SetOut, sheet: Sheet) -> list[list[marks.Block]]:
    units = sheet.units
    rows = [(known.name, _place(known.at, units)) for known in stakes.known]
    placed = f"by station and offset from {stakes.baseline[0].name}" if stakes.step else "by two tapes"
    remark = f"Every stake {placed}; the table follows."
    return [
        [
            marks.TitleBlock(f"Set-out to the {stakes.stage} grade", remark),
            marks.ScaleBlock(sheet, north_of(study.site)),
            PartKey(sheet, north_of(study.site)),
        ],
        [marks.FactsBlock(f"Known points, x and y in {units}", rows), WordsBlock("", [reached_words(stakes, units)])],
        [marks.LegendBlock(_legend(study))],
    ]


def _place(at: tuple[float, float], units: Units) -> str:
    return ", ".join(show_length(value, units, "elevation").split(" ")[0] for value in at)


def _legend(study: Study) -> list[tuple[marks.Swatch, str]]:
    site = study.site
    entries: list[tuple[marks.Swatch, str]] = [
        (_known_swatch, "known point, where tapes start"),
        (_stake_swatch, "stake, in the order of walking"),
        (marks.line_swatch(BASELINE_PEN), "baseline of stations and offsets"),
        outline_entry(),
    ]
    entries += layers.standing_legend(site, "fence it, no stake inside")
    return [*entries, *features.feature_legend(site, "dig: no stake inside")]


def _stake_swatch(page: Page, bounds: Bounds) -> None:
    _draw_stake(page, ((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2))


def _known_swatch(page: Page, bounds: Bounds) -> None:
    _draw_known(page, ((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2))
