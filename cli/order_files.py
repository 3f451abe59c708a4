"""Every file that `order` writes into a folder."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from cli.outputs import as_json
from terrain.files.order_plain import order_plain
from terrain.files.order_table import order_csv
from terrain.files.summary import summary_of
from terrain.files.workbook.book import write_book
from terrain.soil.estimate import Estimate
from terrain.soil.solid import round_offset
from viewer.sheets.order_page import draw_order


def summary_with_order(estimate: Estimate) -> dict[str, object]:
    """The keys of the summary, and the order under "order"."""
    study = estimate.study
    summary = summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod))
    return {**summary, "order": order_plain(estimate)}


def write_order(
    estimate: Estimate, summary: dict[str, object], folder: Path, progress: Callable[[str], None]
) -> tuple[str, ...]:
    """Write order.pdf, order.xlsx, order.csv and order.json into an existing folder; answers their names."""
    progress("drawing the order sheet")
    draw_order(estimate, folder / "order.pdf")
    progress("writing tables")
    write_book(estimate, folder / "order.xlsx")
    (folder / "order.csv").write_text(order_csv(estimate), encoding="utf-8", newline="")
    (folder / "order.json").write_text(as_json(summary), encoding="utf-8")
    return tuple(sorted(path.name for path in folder.iterdir()))
