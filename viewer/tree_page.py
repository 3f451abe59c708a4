"""One page for each tree, for an arborist to read, mark and sign."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from terrain.findings import Finding, Level
from terrain.review.model import Review, TreeCheck
from terrain.review.tree_words import circle_rows, findings_on, ring_table, work_rows
from terrain.units import Units
from viewer import marks
from viewer.lettering import SMALL, Type, wrap
from viewer.order_blocks import TableBlock
from viewer.page import Page, new_page, save_book
from viewer.palette import SOFT_INK
from viewer.sheet import Bounds
from viewer.subject import Subject
from viewer.tree_blocks import CompactBlock, RemarksBlock
from viewer.tree_map import draw_ground, legend
from viewer.tree_sheet import TreeSheet, tree_sheet

MARKS: dict[Level, str] = {"stop": "stop", "caution": "!", "note": ""}
CAUTION = (
    "Planning sheet. A circle says where roots are to be expected, not where they are; a qualified arborist on the "
    "site decides. Locate buried services before any dig."
)


def draw_trees(subject: Subject, review: Review, path: Path) -> Path:
    """Write trees.pdf: a page for each tree of the review, in the order of the site file."""
    return save_book((tree_page(subject, check, review.findings) for check in review.trees), path)


def tree_page(subject: Subject, check: TreeCheck, findings: Sequence[Finding], rest_in: str = "trees.json") -> Page:
    """The page of one tree; findings that find no room on it are to be read in the file `rest_in`."""
    units = subject.site.units
    laid = tree_sheet(check, units)
    page = new_page(laid.sheet.width, laid.sheet.height)
    draw_ground(page, laid.sheet, subject, check)
    _beside(page, laid, subject, check)
    _tables(page, laid, check, units)
    own = findings_on(check, findings, [tree.name for tree in subject.site.tree])
    told = [(MARKS[found.level], found.text) for found in own]
    _stand(page, laid.told, marks.NotesBlock("For the arborist to decide", told, rest_in))
    _stand(page, laid.remarks, RemarksBlock())
    marks.caution_line(page, CAUTION)
    return page


def _stand(page: Page, room: Bounds, block: marks.Block) -> float:
    """Stand one block in a rectangle; the height it took, points."""
    left, bottom, right, top = room
    return block.draw(page, left, top, right - left, top - bottom)


def _beside(page: Page, laid: TreeSheet, subject: Subject, check: TreeCheck) -> None:
    """Title, scale and legend at the right of the drawing."""
    left, bottom, right, top = laid.beside
    title = marks.TitleBlock(f"{check.name}", "Soil over roots", f"{subject.site.name}.")
    for block in (title, marks.ScaleBlock(laid.sheet), marks.LegendBlock(legend(subject, check))):
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
