"""What every format is written from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from terrain.field import SetOut
from terrain.files.bodies import Tint
from terrain.files.stage_grades import Grade
from terrain.files.standing_bodies import Colours
from terrain.files.thinning import ThinnedMesh
from terrain.findings import Finding
from terrain.grid import Array
from terrain.ground import Ground
from terrain.shape import Proposal
from terrain.site import Site
from terrain.units import unit_length


@dataclass(frozen=True)
class Job:
    """One yard to be written in other formats.

    Parameters
    ----------
    site, ground, proposal, findings
        The stages.
    thin
        The mesh to deliver.
    interval
        Contour interval, metres.
    tint, colours
        Colours by depth, and those of what stands there, for the formats that have a place for them.
    scale
        Metres of yard in one metre of table model.
    base
        Thickness of the table model's plate, metres of model.
    stakes
        The set-out, for the formats that show it; None leaves it out.
    grade
        What the proposal is: as built on day one, or finished, once the soil has settled.
    """

    site: Site
    ground: Ground
    proposal: Proposal
    findings: tuple[Finding, ...]
    thin: ThinnedMesh
    interval: float
    tint: Tint | None = None
    colours: Colours | None = None
    scale: float = 100.0
    base: float = 0.005
    grade: Grade = "finished"
    stakes: SetOut | None = None

    @property
    def unit(self) -> float:
        """Metres in one unit of the survey, in which drawings, surfaces, grids and tables are written."""
        return unit_length(self.site.units)

    @property
    def ground_at(self) -> Callable[[Array], Array]:
        """Existing grade (m,) in metres at (m, 2) places."""
        return lambda places: self.ground.grid.sample(self.ground.elevation, places)
