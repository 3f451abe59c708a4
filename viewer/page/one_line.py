"""A line of text that is drawn where its place says: its width is known, so the library need not measure it anew."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

from viewer.page.lettering import Type, font_of, width_of

_BEFORE = {"left": 0.0, "center": 0.5, "right": 1.0}  # share of a line's width that lies before its place


def line_of_text(place: tuple[float, float], text: str, kind: Type, align: str, angle: float) -> Any:
    """One line on its baseline, not yet added to any axes.

    Parameters
    ----------
    place
        Across and up in the units of the axes.
    text
        As it is set: of signs that print, in the language of the page.
    align
        What of the line stands at its place: "left", "center" or "right".
    angle
        Degrees that it is turned about its place, from the right to the top.
    """
    line = _line_class()(
        *place,
        text,
        color=kind.colour,
        fontproperties=font_of(kind),
        rotation=angle,
        rotation_mode="anchor",
        horizontalalignment=align,
        verticalalignment="baseline",
        parse_math=False,
        clip_on=False,
    )
    line.kind = kind
    return line


@cache
def _line_class() -> Any:
    """The library's text, drawn without working out its box first, which would set every word a second time."""
    from matplotlib.text import Text

    base: Any = Text  # its own types are looser than what it takes

    class LineOfText(base):  # type: ignore[misc]
        kind: Type

        def draw(self, renderer: Any) -> None:
            text, align, angle = self.get_text(), self.get_horizontalalignment(), self.get_rotation()
            if not self.get_visible() or not text:
                return
            across, up = self.get_transform().transform(self.get_position())
            if align != "left":
                back = _BEFORE[align] * renderer.points_to_pixels(width_of(text, self.kind))
                across -= back * math.cos(math.radians(angle))
                up -= back * math.sin(math.radians(angle))
            if renderer.flipy():
                up = renderer.get_canvas_width_height()[1] - up
            renderer.open_group("text", self.get_gid())
            gc = renderer.new_gc()
            gc.set_foreground(self.get_color())
            self._set_gc_clip(gc)
            renderer.draw_text(gc, across, up, text, self.get_fontproperties(), angle, mtext=self)
            gc.restore()
            renderer.close_group("text")
            self.stale = False

    return LineOfText
