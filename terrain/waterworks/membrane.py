"""The sheet under a stream, laid out flat: developed length and width with slack, and the cloth under it."""

from __future__ import annotations

import math

from terrain.limits import SHEET_SLACK


def developed_width(width: float, depth: float, run: float) -> float:
    """Across a bed and up both its sides, metres: b + 2 d sqrt(1 + z^2)."""
    return width + 2.0 * depth * math.hypot(1.0, run)


def with_edges(body: float, edge: float) -> float:
    """Length of sheet for a body of so many metres: with slack, and an edge at both ends that has none."""
    return body * (1.0 + SHEET_SLACK.value) + 2.0 * edge


def box_sheet(length: float, width: float, depth: float, edge: float) -> tuple[float, float]:
    """Length and width of a sheet for a basin with upright sides, metres."""
    return with_edges(length + 2.0 * depth, edge), with_edges(width + 2.0 * depth, edge)
