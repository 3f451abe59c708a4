"""One page for each tree, for an arborist to read, mark and sign."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from terrain.findings import Finding, Level
from terrain.review import Review, TreeCheck, circle_rows, findings_on, ring_table, work_rows
from terrain.site import north_of
from terrain.units import Units
from viewer.page import (
    SMALL,
    SOFT_INK,
    Bounds,
    Page,
    Subject,
    Type,
    marks,
    new_page,
    numbered,
    save_book,
    stamp_sheet,
    titled,
    wrap,
)
from viewer.sheets.order_blocks import TableBlock
from viewer.sheets.tree_blocks import CompactBlock, RemarksBlock
from viewer.sheets.tree_map import draw_ground, legend
from viewer.sheets.tree_sheet import TreeSheet, tree_sheet

Note = tuple[str, str]  # the mark of a finding, and its words
GIVEN = (0.0, 10.0, 20.0, 30.0, 40.0, 60.0)  # points that the drawing may give to the findings
DECIDES = "For the arborist to decide"
SUMMARY = "trees.json"  # every finding on every tree
MARKS: dict[Level, str] = {"stop": "stop", "caution": "!", "note": ""}
CAUTION = (
    "Planning sheet. A circle says where roots are to be expected, not where they are; a qualified arborist on the "
    "site decides. Locate buried services before any dig."
)


def draw_trees(subject: Subject, review: Review, path: Path) -> Path:
    """Write trees.pdf: a page for each tree in the order of the site file, two where its findings need them."""
    pages = (page for check in review.trees for page in tree_pages(subject, check, review.findings))
    return save_book(numbered(list(pages)), path, titled(subject.site, "Soil over roots"))


def tree_pages(subject: Subject, check: TreeCheck, findings: Sequence[Finding]) -> Iterator[Page]:
    """The page of one tree, and a second one for findings that find no room on it."""
    told = _wording(subject, check, findings)
    laid, here = _laid(check, subject.site.units, told)
    if here == len(told):
        yield _page(subject, check, laid, told)
        return
    yield _page(subject, check, laid, [*told[:here], ("", f"and {len(told) - here} more on the next page")])
    yield _second_page(subject, check, laid, told[here:])


def tree_page(subject: Subject, check: TreeCheck, findings: Sequence[Finding], rest_in: str = SUMMARY) -> Page:
    """The page of one tree; findings that find no room on it are to be read in `rest_in`."""
    told = _wording(subject, check, findings)
    return _page(subject, check, _laid(check, subject.site.units, told)[0], told, rest_in)


def _laid(check: TreeCheck, units: Units, told: Sequence[Note]) -> tuple[TreeSheet, int]:
    """The sheet, its drawing smaller where all findings find room beside it then, and how many of them do."""
    tried = [(laid, notes_with_room(told, *_size(laid.told))) for laid in (tree_sheet(check, units, k) for k in GIVEN)]
    return next((one for one in tried if one[1] == len(told)), tried[0])


def _size(room: Bounds) -> tuple[float, float]:
    left, bottom, right, top = room
    return right - left, top - bottom


def roots_map(subject: Subject, check: TreeCheck) -> Page:
    """The map of that page by itself."""
    sheet = tree_sheet(check, subject.site.units).sheet.alone
    page = new_page(sheet.width, sheet.height)
    draw_ground(page, sheet, subject, check)
    return page


def notes_with_room(notes: Sequence[Note], width: float, room: float) -> int:
    """How many notes stand whole in a block of a width and a height (points), with a line to spare for the rest."""
    return marks.NotesBlock(DECIDES, notes, SUMMARY).told_in((0.0, 0.0, width, room))


def _wording(subject: Subject, check: TreeCheck, findings: Sequence[Finding]) -> list[Note]:
    """The findings that name the tree, each with its mark."""
    own = findings_on(check, findings, [tree.name for tree in subject.site.tree])
    return [(MARKS[found.level], found.text) for found in own]


def _page(subject: Subject, check: TreeCheck, laid: TreeSheet, told: Sequence[Note], rest_in: str = SUMMARY) -> Page:
    """The map, what stands beside it and under it, the findings told here, and room for the arborist's own words."""
    page = new_page(laid.sheet.width, laid.sheet.height)
    draw_ground(page, laid.sheet, subject, check)
    _beside(page, laid, subject, check)
    _tables(page, laid, check, subject.site.units)
    _stand(page, laid.told, marks.NotesBlock(DECIDES, told, rest_in))
    _stand(page, laid.remarks, RemarksBlock())
    stamp_sheet(page, subject.site, f"Soil over roots: {check.name}", laid.sheet, CAUTION)
    return page


def _second_page(subject: Subject, check: TreeCheck, laid: TreeSheet, told: Sequence[Note]) -> Page:
    """The findings that the first page has no room for, and more lines to write on."""
    page = new_page(laid.sheet.width, laid.sheet.height)
    left, bottom, right, top = laid.remarks[0], laid.remarks[1], laid.remarks[2], laid.sheet.frame[3]
    title = marks.TitleBlock(check.name, "", "Soil over roots, second page")
    top -= _stand(page, (left, bottom, right, top), title) + 14.0
    _stand(page, (left, laid.remarks[3] + 4.0, right, top), marks.NotesBlock(DECIDES, told, SUMMARY))
    _stand(page, laid.remarks, RemarksBlock())
    stamp_sheet(page, subject.site, f"Soil over roots: {check.name}", laid.sheet, CAUTION)
    return page


def _stand(page: Page, room: Bounds, block: marks.Block) -> float:
    """Stand one block in a rectangle; the height it took, points."""
    left, bottom, right, top = room
    return block.draw(page, left, top, right - left, top - bottom)


def _beside(page: Page, laid: TreeSheet, subject: Subject, check: TreeCheck) -> None:
    """Title, scale and legend at the right of the drawing."""
    left, bottom, right, top = laid.beside
    title = marks.TitleBlock(check.name, "", "Soil over roots")
    for block in (
        title,
        marks.ScaleBlock(laid.sheet, north_of(subject.site)),
        marks.LegendBlock(legend(subject, check)),
    ):
        top -= _stand(page, (left, bottom, right, top), block) + 10.0


def _tables(page: Page, laid: TreeSheet, check: TreeCheck, units: Units) -> None:
    """Circles, work and rings under the drawing."""
    _stand(page, laid.tables[0], CompactBlock("From the centre", circle_rows(check, units)))
    _stand(page, laid.tables[1], CompactBlock("What the work does", work_rows(check, units)))
    rings = ring_table(check, units)
    left, bottom, right, top = laid.tables[2]
    used = _stand(page, laid.tables[2], TableBlock("Soil by ring", rings.heads, rings.rows))
    for line in wrap(rings.remark, Type(SMALL, SOFT_INK), right - left):
        used += 10.0
        if top - used > bottom:
            page.text(left, top - used, line, Type(SMALL, SOFT_INK))
