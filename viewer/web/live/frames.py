"""Messages with heights: a length, a JSON head, then 16-bit codes; and what the page says in words."""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping

import numpy as np

from terrain.flow import Sketch, Study
from terrain.grid import Array, Grid
from viewer.web import words
from viewer.web.packed import pack

Plain = dict[str, object]


def plain_text(message: Mapping[str, object]) -> str:
    """A message as JSON; what is no text to UTF-8, half of a pair of surrogates, goes as a question mark."""
    text = json.dumps(message, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.encode("utf-8", "replace").decode("utf-8")


def frame(head: Plain, values: Array) -> bytes:
    """One binary message: 4 bytes length (little end first), the head, padding to even, the codes of the values."""
    packed = pack(values)
    told = {**head, "low": packed.low, "step": packed.step, "ny": values.shape[0], "nx": values.shape[1]}
    text = plain_text(told).encode("utf-8")
    text += b" " * (len(text) % 2)
    return struct.pack("<I", len(text)) + text + packed.codes.astype(np.dtype("<u2")).tobytes()


def ground_frame(name: str, grid: Grid, existing: Array, base: float) -> bytes:
    """The existing grade on one of the page's grids, metres over the page's base."""
    return frame({"say": "ground", "on": name, "cell": grid.cell}, existing - base)


def quick_panels(quick: Sketch) -> Plain:
    """What is said of a quick shape at once."""
    site = quick.site
    return {
        "headline": words.headline(site.units, quick.order, quick.proposal),
        "order": words.order_html(site, quick.work, quick.order, quick.proposal),
    }


def later_panels(quick: Sketch, corner: tuple[float, float]) -> Plain:
    """What is said of a quick shape once it is on its way; `corner` is the page's, survey metres."""
    return {
        "limits": words.limits_html(quick.site, quick.proposal, quick.trees),
        "look": words.look_html(quick.look, quick.site, quick.proposal, corner),
    }


def full_panels(study: Study, corner: tuple[float, float]) -> Plain:
    """What is said of a whole study; `corner` is the page's, survey metres."""
    site = study.site
    return {
        "headline": words.headline(site.units, study.order, study.proposal),
        "order": words.order_html(site, study.work, study.order, study.proposal),
        "limits": words.limits_html(site, study.proposal, study.review.trees),
        "look": words.look_html(study.review.look, site, study.proposal, corner),
        "findings": words.findings_html(study.review.findings, corner),
    }
