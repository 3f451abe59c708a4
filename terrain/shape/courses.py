"""How the stones of a retained edge are laid: courses, what stands in the ground, the lean, what drains behind."""

from __future__ import annotations

from dataclasses import dataclass

from terrain.limits import INCH

# The strip of the stones is never narrower than this: common practice, no published source.
LEAST_STONE = 0.3  # metres
# How deep the base stones stand in the ground, and the crushed stone under them. Under 18 in a third of the stone:
# common practice, no published source (one how-to page digs 4 in). From 18 in on: a municipal drawing of a rockery.
LOW_WALL = 18.0 * INCH
LOW_BURY, LOW_BEDDING = 4.0 * INCH, 2.0 * INCH
BURY, BEDDING = 12.0 * INCH, 4.0 * INCH
# The least crushed stone behind them, through which water comes down: common practice, no published source. That
# drawing has a pipe of 4 in at its foot, for which it is twice as thick.
LOW_DRAIN, DRAIN = 4.0 * INCH, 8.0 * INCH
# One course where its stones are no wider than the least strip, else two, so that the base is half as wide as the wall
# is high over all; the face leans back. Common practice, no published source.
MOST_COURSES = 2
BATTER = 1.0 / 6.0


@dataclass(frozen=True)
class WallBuild:
    """A wall that holds soil of a stated height over the ground in front; lengths in metres.

    Parameters
    ----------
    bury, bedding
        How deep the base stones stand in the ground, and the crushed stone under them.
    courses
        Their number.
    size
        Mean diameter of a stone: all courses are of one size, and their tops add up to the height.
    strip
        From the face of the base course back to the soil that is held.
    """

    bury: float
    bedding: float
    courses: int
    size: float
    strip: float

    @property
    def drain(self) -> float:
        """Thickness of the crushed stone between the stones and the soil, at the foot, metres.

        The upper courses lean back by their batter; what they take there is left out.
        """
        return self.strip - _depth(self.size, self.courses)


def wall_build(height: float) -> WallBuild:
    """How a wall is built that holds `height` metres of soil."""
    low = height < LOW_WALL - 1e-9
    bury, bedding, drain = (LOW_BURY, LOW_BEDDING, LOW_DRAIN) if low else (BURY, BEDDING, DRAIN)
    courses = 1 if height + bury <= LEAST_STONE + 1e-9 else MOST_COURSES
    size = (height + bury) / courses
    # A single row needs no more behind it than what the strip leaves.
    least = _depth(size, courses) + (drain if courses > 1 else 0.0)
    return WallBuild(bury, bedding, courses, size, max(LEAST_STONE, height, least))


def _depth(size: float, courses: int) -> float:
    """From the face of the base course to the back of the topmost, metres."""
    return size * (1.0 + (courses - 1) * BATTER)
