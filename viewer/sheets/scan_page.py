"""What a scan was taken for: its ground, what stands on it, and the trunks that were measured, by cells of a hand."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Point

from terrain.files import TREES_FILE, offered_trunks, trunk_size
from terrain.grid import Array
from terrain.site import north_of
from terrain.units import show_length
from viewer.page import (
    BODY,
    INK,
    PAPER,
    SOFT_INK,
    SOIL,
    TREE,
    Label,
    Page,
    Pen,
    Sheet,
    Type,
    channels,
    marks,
    new_page,
    outline_entry,
    place,
    seats_ring,
    seats_round,
    stamp_sheet,
)
from viewer.sheets import layers
from viewer.sheets.ground_subject import GroundSubject, ground_sheet
from viewer.sheets.plan_words import shot_swatch

_PIXELS = 150 / 72  # to a point of paper
_GROUND, _ELSE = SOIL, "#4c463d"  # far apart on a grey print too
_HALF = 0.5  # of a cell's points
_TRUNK_PEN = Pen(TREE, 1.8)

TITLE = "What the scan was taken for"


def scan_page(subject: GroundSubject) -> Page:
    """The scan from above with words beside it; the survey has one."""
    sheet = ground_sheet(subject)
    page = new_page(sheet.width, sheet.height)
    _draw_seen(page, sheet, subject)
    marks.flow(page, sheet.panels, _columns(subject, sheet))
    stamp_sheet(page, subject.study.site, TITLE, sheet)
    return page


def scan_map(subject: GroundSubject) -> Page:
    """The scan from above by itself; the survey has one."""
    sheet = ground_sheet(subject).alone
    page = new_page(sheet.width, sheet.height)
    _draw_seen(page, sheet, subject)
    return page


def _draw_seen(page: Page, sheet: Sheet, subject: GroundSubject) -> None:
    """Everything inside the frame."""
    site = subject.study.site
    scan = site.survey.scan
    assert scan is not None
    page.picture(_seen(scan.seen, sheet), sheet.frame)
    layers.draw_outline(page, sheet, site.bed.outline)
    page.lines(layers.crosses(_own_shots(sheet, subject), 3.0), Pen(INK, 1.0))
    trunks = [(one, sheet.shape(Point(one.trunk.at))) for one in offered_trunks(site)]
    for one, spot in trunks:
        page.lines(spot.buffer(one.trunk.diameter / 2.0 * sheet.scale.points + 2.0).exterior, _TRUNK_PEN)
    kind = Type(BODY, TREE, bold=True)
    labels = [
        Label(
            one.name,
            seats_round(spot.x, spot.y, one.name, kind, 9.0) + seats_ring(spot.x, spot.y, one.name, kind, (20.0, 34.0)),
            kind,
            0,
            "tree",
        )
        for one, spot in trunks
        if sheet.room.contains(spot)
    ]
    placed = place(labels, sheet.room.buffer(-3.0), [spot.buffer(6.0) for _, spot in trunks], [])
    for item in placed:
        page.area(item.box.buffer(1.2), PAPER)
    layers.write_labels(page, placed)
    marks.frame_line(page, sheet)


def _own_shots(sheet: Sheet, subject: GroundSubject) -> Array:
    """The shots in the frame that are not the scan's, (n, 2)."""
    survey = subject.study.site.survey
    spots = sheet.points(survey.shots[~survey.scanned, :2])
    left, low, right, high = sheet.frame
    inside = (spots > (left, low)) & (spots < (right, high))
    shown: Array = spots[inside.all(axis=1)]
    return shown


def _seen(seen: Array, sheet: Sheet) -> NDArray[np.uint8]:
    """(height, width, 3): each cell by what most of it is, rows from the top; paper where nothing was seen."""
    left, bottom, right, top = sheet.frame
    wide, high = round((right - left) * _PIXELS), round((top - bottom) * _PIXELS)
    west, south, east, north = sheet.window
    x = west + (np.arange(wide) + 0.5) * (east - west) / wide
    y = north - (np.arange(high) + 0.5) * (north - south) / high
    side = float(seen[0, 2])
    across = np.round(seen[:, :2] / side - 0.5).astype(np.int64)
    first, size = across.min(axis=0), np.ptp(across, axis=0) + 1
    kinds = np.zeros((size[1] + 2, size[0] + 2), dtype=np.int64)  # a rim of cells in which nothing was seen
    kinds[across[:, 1] - first[1] + 1, across[:, 0] - first[0] + 1] = np.where(seen[:, 3] > _HALF, 1, 2)
    columns = np.clip(np.floor(x / side).astype(np.int64) - first[0] + 1, 0, size[0] + 1)
    rows = np.clip(np.floor(y / side).astype(np.int64) - first[1] + 1, 0, size[1] + 1)
    tints = np.array([channels(colour) for colour in (PAPER, _GROUND, _ELSE)]) * 255.0
    return np.round(tints[kinds[np.ix_(rows, columns)]]).astype(np.uint8)


def _columns(subject: GroundSubject, sheet: Sheet) -> list[list[marks.Block]]:
    """The words beside the picture, by columns."""
    site = subject.study.site
    scan, units = site.survey.scan, site.units
    assert scan is not None
    facts = [
        ("Points", f"{scan.points:,}"),
        ("of them ground", f"{100.0 * scan.share:.0f} %"),
        ("Shots made of it", f"{scan.cells:,}"),
        ("In common, one deviation", show_length(scan.shared.mean, units, "elevation")),
    ]
    remark = f"{scan.file} from above, by cells of {show_length(float(scan.seen[0, 2]), units, 'depth')}."
    trunks = offered_trunks(site)
    sizes = [(one.name, trunk_size(one.trunk, units)) for one in trunks]
    checks = [(one.name.split()[-1], " ".join(one.check)) for one in trunks if one.check]
    return [
        [marks.TitleBlock(TITLE, remark), marks.ScaleBlock(sheet, north_of(site))],
        [marks.FactsBlock("The scan", facts), marks.LegendBlock(_legend(bool(trunks)))],
        [
            *([marks.FactsBlock("Trunks, at breast height", sizes)] if sizes else []),
            *([marks.NotesBlock("Check these trunks", checks, TREES_FILE)] if checks else []),
        ],
    ]


def _legend(trunks: bool) -> list[tuple[marks.Swatch, str]]:
    edge = Pen(SOFT_INK, 0.5)
    entries = [
        (marks.area_swatch(_GROUND, edge), "taken for ground"),
        (marks.area_swatch(_ELSE, edge), "taken for plants and things, left out of the ground"),
        (marks.area_swatch(PAPER, edge), "nothing seen"),
        (shot_swatch, "shot of the survey"),
        outline_entry(),
    ]
    return [*entries, (marks.line_swatch(_TRUNK_PEN), "trunk that was measured")] if trunks else entries
