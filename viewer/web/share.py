"""One file to send: the whole study in a page that needs no server, no network and nothing installed."""

from __future__ import annotations

from html import escape
from pathlib import Path

from terrain.flow import Study
from viewer.page import Subject
from viewer.pictures import PlacedPhoto
from viewer.web import words
from viewer.web.assemble import body, page, policy, script, style
from viewer.web.crew_values import crew_values
from viewer.web.owner_photo import photo_html
from viewer.web.packed import Packed, as_text, pack
from viewer.web.window import shown_window
from viewer.web.written import write_page
from viewer.web.yard import yard_of


def share_page(study: Study, photo: PlacedPhoto | None = None) -> str:
    """The page as text: both grades as 16-bit heights, everything that is to be read, and the mound in a photograph."""
    site, proposal = study.site, study.proposal
    shown = shown_window(site, study.ground.grid)
    yard = yard_of(Subject(site, study.ground, proposal, study.work), shown)
    origin = yard["origin"]
    assert isinstance(origin, list)
    existing, proposed = shown.of(study.ground.elevation), shown.of(proposal.elevation)
    yard["field"] = {
        "grid": {"x0": 0.0, "y0": 0.0, "cell": shown.grid.cell, "nx": shown.grid.nx, "ny": shown.grid.ny},
        "existing": _written(pack(existing - origin[2])),
        "change": _written(pack(proposed - existing)),
    }
    crew = crew_values(study, shown.corner)
    yard["crew"] = crew
    html = body(
        "share.html",
        {
            "crew": words.crew_choice() if crew else "",
            "benchmark": words.benchmark_html(crew, site.units),
            "name": escape(site.name),
            "falls": escape(str(yard["falls"])),
            "headline": escape(words.headline(site.units, study.order, proposal)),
            "order": words.order_html(site, study.work, study.order, proposal),
            "limits": words.limits_html(site, proposal, study.review.trees),
            "look": words.look_html(study.review.look, site, proposal, shown.corner),
            "photo": photo_html(study, photo) if photo else "",
            "findings": words.findings_html(study.review.findings, shown.corner),
        },
    )
    look, code = style("base.css", "share.css"), script("share.js")
    return page(site.name, look, html, yard, code, policy(look, code))


def _written(packed: Packed) -> dict[str, object]:
    return {"low": packed.low, "step": packed.step, "codes": as_text(packed)}


def write_share(study: Study, path: Path, photo: PlacedPhoto | None = None) -> Path:
    """Write the page whole or not at all; `OutputError` where the file cannot be written."""
    return write_page(share_page(study, photo), path, "--share")
