"""The picture of the ground under a plan: turned onto the paper, and pale, so that lines and figures stay readable."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from terrain.photograph import PictureAbove, picture_above
from viewer.page import PAPER, Page, Sheet, Subject, channels

_PIXELS = 150 / 72  # to a point of paper
_PALE = 0.45  # of the paper's own colour over it


def draw_air(page: Page, sheet: Sheet, subject: Subject) -> str:
    """Lay the site's picture from above into the frame; answer what there is to say of it, "" where there is none."""
    picture = picture_above(subject.site, subject.ground)
    if picture is None:
        return ""
    page.begin("picture from above")
    page.picture(on_sheet(picture, sheet), sheet.frame)
    return picture.said


def on_sheet(picture: PictureAbove, sheet: Sheet) -> NDArray[np.uint8]:
    """(height, width, 3): the picture as it lies in the frame, rows from the top; paper where it does not reach."""
    left, bottom, right, top = sheet.frame
    wide, high = round((right - left) * _PIXELS), round((top - bottom) * _PIXELS)
    if sheet.aside:  # north to the right
        return np.rot90(picture_in(picture, sheet.window, (high, wide)), -1)
    return picture_in(picture, sheet.window, (wide, high))


def picture_in(
    picture: PictureAbove, window: tuple[float, float, float, float], size: tuple[int, int]
) -> NDArray[np.uint8]:
    """(height, width, 3): the picture, pale, as it lies in west, south, east, north (metres), rows from the north.

    `size` is width and height in pixels; where the picture does not reach there is paper.
    """
    wide, high = size
    west, south, east, north = window
    x = west + (np.arange(wide) + 0.5) * (east - west) / wide
    y = north - (np.arange(high) + 0.5) * (north - south) / high
    back = np.linalg.inv(picture.lies[:, :2])
    offset = picture.lies[:, 2]
    u = back[0, 0] * (x - offset[0])[None, :] + back[0, 1] * (y - offset[1])[:, None]
    v = back[1, 0] * (x - offset[0])[None, :] + back[1, 1] * (y - offset[1])[:, None]
    rows, columns = np.floor(v).astype(np.int64), np.floor(u).astype(np.int64)
    inside = (rows >= 0) & (rows < picture.pixels.shape[0]) & (columns >= 0) & (columns < picture.pixels.shape[1])
    paper = np.array(channels(PAPER)) * 255.0
    shown = np.tile(paper, (high, wide, 1))
    shown[inside] = _PALE * paper + (1.0 - _PALE) * picture.pixels[rows[inside], columns[inside]]
    return np.round(shown).astype(np.uint8)
