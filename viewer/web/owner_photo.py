"""An owner's photograph on a page: before and after side by side, with what is true of them and what is not."""

from __future__ import annotations

import base64
import io
from html import escape

import numpy as np
from numpy.typing import NDArray

from terrain.flow import Study
from viewer.page import subject_of
from viewer.pictures import BeforeAfter, PlacedPhoto, photo_before_after

SHARED_WIDE = 1200  # pixels of a picture of the page to send
_QUALITY = 82  # of 100: how little of a JPEG is thrown away


def photo_html(study: Study, photo: PlacedPhoto) -> str:
    """The part of the page to send."""
    shown = photo_before_after(subject_of(study), photo, SHARED_WIDE)
    figures = "".join(
        f'<figure><img src="{picture_link(pixels)}" alt="{told}"><figcaption>{word}</figcaption></figure>'
        for word, told, pixels in (
            ("before", "The photograph as it was taken", shown.before),
            (shown.after_word, "The same photograph with the mound drawn into it", shown.after),
        )
    )
    return (
        '<section class="photo" aria-labelledby="photo-title"><h2 id="photo-title">In your photograph</h2>'
        f'<div class="pair">{figures}</div>{worth_html(shown)}</section>'
    )


def worth_html(shown: BeforeAfter) -> str:
    """What the pictures are worth, as a table."""
    rows = "".join(
        f'<tr><th scope="row">{escape(label)}</th><td>{escape(told)}</td></tr>' for label, told in shown.told
    )
    return f'<table class="worth"><tbody>{rows}</tbody></table>'


def picture_link(pixels: NDArray[np.uint8]) -> str:
    """A picture as a link that holds it: a JPEG of its pixels alone, so nothing that its file told goes along."""
    from PIL import Image

    held = io.BytesIO()
    Image.fromarray(pixels).save(held, "JPEG", quality=_QUALITY, optimize=True)
    return "data:image/jpeg;base64," + base64.b64encode(held.getvalue()).decode("ascii")
