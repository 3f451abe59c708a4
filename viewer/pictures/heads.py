"""Headings of pictures that hold a name: in one line, smaller where it must be, else in several from the first down."""

from __future__ import annotations

from viewer.page import Page, Type, heading_lines

LEAST_HEAD, LEAST_NAME = 12.0, 9.0  # points: sizes at which a heading, and the name of a yard, take a second line
STEP = 1.25  # of the size, from line to line


def beyond_one(text: str, kind: Type, width: float, least: float) -> float:
    """Points of height that a heading takes beyond one line."""
    lines, fitting = heading_lines(text, kind, width, least)
    return STEP * fitting.size * (len(lines) - 1)


def set_heading(page: Page, at: tuple[float, float], text: str, kind: Type, width: float, least: float) -> float:
    """Set a heading whose first line stands at a place (left, baseline); answer its points beyond one line."""
    lines, fitting = heading_lines(text, kind, width, least)
    for number, line in enumerate(lines):
        page.text(at[0], at[1] - STEP * fitting.size * number, line, fitting)
    return STEP * fitting.size * (len(lines) - 1)
