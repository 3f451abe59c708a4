"""The picture of the ground under a plan: turned onto the paper, and pale, so that lines and figures stay readable."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array
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
    across = left + (np.arange(wide) + 0.5) * (right - left) / wide
    up = top - (np.arange(high) + 0.5) * (top - bottom) / high
    return _picture_at(picture, sheet.ground(np.stack(np.meshgrid(across, up), axis=-1)))


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
    return _picture_at(picture, np.stack(np.meshgrid(x, y), axis=-1))


def _picture_at(picture: PictureAbove, places: Array) -> NDArray[np.uint8]:
    """(height, width, 3): the picture, pale, at places (height, width, 2) in metres."""
    u, v = np.moveaxis((places - picture.lies[:, 2]) @ np.linalg.inv(picture.lies[:, :2]).T, -1, 0)
    rows, columns = np.floor(v).astype(np.int64), np.floor(u).astype(np.int64)
    inside = (rows >= 0) & (rows < picture.pixels.shape[0]) & (columns >= 0) & (columns < picture.pixels.shape[1])
    paper = np.array(channels(PAPER)) * 255.0
    shown = np.tile(paper, (*inside.shape, 1))
    shown[inside] = _PALE * paper + (1.0 - _PALE) * picture.pixels[rows[inside], columns[inside]]
    return np.round(shown).astype(np.uint8)
