"""A picture on a page that is copied as it is where a pixel of it is a pixel of the page."""

from __future__ import annotations

from typing import Any

import numpy as np

_OFF = 0.02  # pixels: what rounding leaves of two edges that meet


def pixel_image(axes: Any, image: np.ndarray, extent: tuple[float, float, float, float]) -> Any:
    """The picture (rows from the top) in left, right, bottom, top of the axes, not yet added to them.

    The library samples every picture anew, in numbers of eight bytes: a page-sized one takes a hundred megabytes for it
    and comes out the same.
    """
    from matplotlib.image import AxesImage

    base: Any = AxesImage  # its own types are looser than what it takes

    class PixelImage(base):  # type: ignore[misc]
        def draw(self, renderer: Any) -> None:
            spot = _whole_pixels(self, renderer)
            if spot is None:
                super().draw(renderer)
                return
            gc = renderer.new_gc()
            self._set_gc_clip(gc)
            opaque = np.full((*self.get_array().shape[:2], 1), 255, dtype=np.uint8)
            renderer.draw_image(gc, *spot, np.concatenate([self.get_array(), opaque], axis=2)[::-1])
            gc.restore()
            self.stale = False

    picture = PixelImage(axes, interpolation="antialiased", origin="upper", extent=extent)
    picture.set_data(image)
    picture.set_clip_path(axes.patch)
    return picture


def _whole_pixels(picture: Any, renderer: Any) -> tuple[int, int] | None:
    """Where the picture's lower left corner lies, if it covers as many pixels of a raster as it has; else None."""
    image = picture.get_array()
    if not hasattr(renderer, "buffer_rgba") or image.dtype != np.uint8 or image.ndim != 3:
        return None
    left, right, bottom, top = picture.get_extent()
    (x0, y0), (x1, y1) = picture.axes.transData.transform([(left, bottom), (right, top)])
    wanted = np.array([x0, y0, x1 - x0 - image.shape[1], y1 - y0 - image.shape[0]])
    if np.abs(wanted[2:]).max() > _OFF or np.abs(wanted[:2] - np.round(wanted[:2])).max() > _OFF:
        return None
    return round(x0), round(y0)
