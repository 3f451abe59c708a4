"""Spot elevations as a site holds them."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated

import numpy as np

from terrain.earth import Located
from terrain.errors import InputError
from terrain.expect import expect_array
from terrain.fingerprint import Comparable
from terrain.grid import Array, Mask
from terrain.numerics import Controls
from terrain.site.ranges import Checked
from terrain.site.written import NOT_WRITTEN, WrittenAs

SCANNED = "of the scan"  # the code of its shots
FLAT = "flat"  # ground that nobody measured
# "auto" is kriging, and the triangulation where there are breaklines.
SURFACES = ("auto", "kriging", "thin_plate", "triangulation", FLAT)


@dataclass(frozen=True)
class LeftOut:
    """A shot that the surface does not use: its name, place and elevation in metres."""

    name: str
    at: tuple[float, float]
    elevation: float


@dataclass(frozen=True)
class PictureFile:
    """A picture of the ground from above: its file and the name of that, and the table of marks where it needs one."""

    path: Path
    name: str
    marks: tuple[Path, str] | None = None


@dataclass(frozen=True)
class SharedError:
    """What all points of a scan share: standard deviations, metres.

    `mean` of their mean over the bed, and `place` of one place; `left` the part of `mean` that no shot makes smaller;
    `controls` the shots that set the scan's height.
    """

    mean: float
    place: float
    left: float
    controls: Controls


@dataclass(frozen=True)
class ScanTrunk:
    """A trunk of a scan: place, diameter at breast height and its deviation, radius of the flare, metres.

    `arc` is the part of the circle that was seen, radians; `lean` rise/run; `flare` None where it is hidden.
    """

    at: tuple[float, float]
    diameter: float
    deviation: float
    arc: float
    lean: float
    flare: float | None


@dataclass(frozen=True)
class ScanTaken:
    """What a survey has of a scan.

    Parameters
    ----------
    file
        Its name as the site file writes it.
    points, share, cells
        Its points, the share of them that is ground, and how many shots that gave: the last of the survey's.
    seen
        (m, 4) middle and size (metres) of cells with points, and the share of these that is ground.
    trunks
        The round things that stand higher than a person.
    shared
        What its points share.
    stretch
        Its size beside the survey by its marks; None without marks.
    misses
        Metres by which each mark misses its point.
    """

    file: str
    points: int
    share: float
    cells: int
    seen: Array
    trunks: tuple[ScanTrunk, ...]
    shared: SharedError
    stretch: float | None = None
    misses: tuple[float, ...] = ()


@dataclass(frozen=True, eq=False)
class Survey(Comparable, Checked):
    """Spot elevations.

    Parameters
    ----------
    shots
        (n, 3) easting, northing, elevation in metres.
    names, codes
        One for each row of `shots`.
    accuracy
        One standard deviation of the elevation of a single shot, metres.
    breaklines
        (n, 3) arrays in metres, one a line along which the ground may crease: top and foot of a wall, a kerb, an edge
        of a patio. Their points need not be among `shots`.
    leave_out
        Names of shots that the surface shall not use: busts, by the user's choice.
    left_out
        The shots that were left out for it, as (name, place in metres, elevation in metres).
    surface
        Which surface the ground is: one of `SURFACES`.
    scan
        What it has of a scan; None for none.
    known
        Points that were measured from and that are no shots: name, and place in metres.
    picture
        The picture from above that lies under the plan; None for none.
    located
        Where on earth the survey's plane lies; None where nobody said.
    rows, file
        Line of each shot in its file, and the file as the site file names it; empty where there is no file.
    notes
        What was set right while reading, in sentences (repeated shots that were left out).
    """

    shots: Annotated[Array, WrittenAs("shots")]
    names: tuple[str, ...] = field(metadata=NOT_WRITTEN)
    codes: tuple[str, ...] = field(metadata=NOT_WRITTEN)
    accuracy: Annotated[float, WrittenAs("accuracy")] = 0.006
    rows: tuple[int, ...] = field(default=(), metadata=NOT_WRITTEN)
    file: str = field(default="", metadata=NOT_WRITTEN)
    notes: tuple[str, ...] = field(default=(), metadata=NOT_WRITTEN)
    breaklines: Annotated[tuple[Array, ...], WrittenAs("breaklines")] = ()
    leave_out: Annotated[tuple[str, ...], WrittenAs("names")] = ()
    surface: Annotated[str, WrittenAs("surface")] = SURFACES[0]
    left_out: tuple[LeftOut, ...] = field(default=(), metadata=NOT_WRITTEN)
    known: tuple[tuple[str, tuple[float, float]], ...] = field(default=(), metadata=NOT_WRITTEN)
    located: Located | None = field(default=None, metadata=NOT_WRITTEN)
    picture: PictureFile | None = field(default=None, metadata=NOT_WRITTEN)
    scan: Annotated[ScanTaken | None, WrittenAs("as it is")] = field(default=None, metadata=NOT_WRITTEN)

    @property
    def scanned(self) -> Mask:
        """(n,) True for the shots that are a scan's."""
        return np.array([code == SCANNED for code in self.codes], dtype=bool)

    @property
    def shared(self) -> tuple[SharedError, ...]:
        """What shots have in common in error: of a scan, where there is one."""
        return () if self.scan is None else (self.scan.shared,)

    @property
    def measured(self) -> bool:
        """Whether anybody measured the ground; else it is taken as flat, and the shots are corners about the bed."""
        return self.surface != FLAT

    def __post_init__(self) -> None:
        super().__post_init__()
        expect_array("survey shots", self.shots, (None, 3), finite=False)
        for i, line in enumerate(self.breaklines, start=1):
            expect_array(f"survey breaklines {i}", line, (None, 3))
        for name in ("names", "codes"):
            if len(getattr(self, name)) != len(self.shots):
                raise InputError(
                    f"survey {name}",
                    f"there are {len(getattr(self, name))} for {len(self.shots)} shots.",
                    "Accepted: one for each shot.",
                )


def as_points(rows: list[tuple[float, float, float]]) -> Array:
    """Rows of easting, northing, elevation as an (n, 3) array."""
    return np.asarray(rows, dtype=float).reshape(-1, 3)
