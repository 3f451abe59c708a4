"""Every file that `order` writes into a folder."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from terrain.files import as_json, order_csv, order_in_full, summary_of, write_book
from terrain.flow import Study
from terrain.soil import round_offset
from viewer.desk import Desk
from viewer.sheets import draw_order, order_sheet

if TYPE_CHECKING:
    from viewer.pictures import PlacedPhoto


def summary_with_order(study: Study) -> dict[str, object]:
    """The keys of the summary, and the order under "order"."""
    summary = summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod))
    return {**summary, "order": order_in_full(study)}


def write_order(
    study: Study,
    summary: dict[str, object],
    folder: Path,
    progress: Callable[[str], None],
    desk: Desk,
    client: bool = False,
    photo: PlacedPhoto | None = None,
) -> tuple[str, ...]:
    """Write order.pdf, order.xlsx, order.csv and order.json into an existing folder; answers their names.

    `client`: client.pdf beside them, the pages for the client, with the mound in a photograph where there is one.
    """
    progress("drawing the order sheet and writing tables")
    with desk.doing(draw_order, order_sheet(study), folder / "order.pdf"):
        write_book(study, folder / "order.xlsx")
        (folder / "order.csv").write_text(order_csv(study), encoding="utf-8", newline="")
        (folder / "order.json").write_text(as_json(summary), encoding="utf-8")
    if client:
        progress("drawing the pages for the client")
        from viewer.pictures import draw_client

        draw_client(study, folder / "client.pdf", photo)
    return tuple(sorted(path.name for path in folder.iterdir()))
