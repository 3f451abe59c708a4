"""The as-built check of one yard."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from terrain.errors import InputError
from terrain.expect import expect
from terrain.field.asbuilt.benchmark import slip_of, suspected_slip, without_slip
from terrain.field.asbuilt.cause_words import cause_finding
from terrain.field.asbuilt.causes import likely_cause
from terrain.field.asbuilt.findings import as_built_findings, coverage_finding, slip_finding, suspected_finding
from terrain.field.asbuilt.marks import marked
from terrain.field.asbuilt.missing import missing_soil
from terrain.field.asbuilt.model import AsBuilt, BuiltShot, BuiltShots, Cause, Stage
from terrain.field.asbuilt.slopes import built_slopes
from terrain.field.asbuilt.surface import BuiltSurface, built_surface, planned
from terrain.flow import Study
from terrain.grid import Array
from terrain.limits import BUILT_TOLERANCE
from terrain.look import Look, natural_look
from terrain.site import expect_measured
from terrain.units import Units, show_length

# Finest and coarsest tolerance, metres, and as a crew reads them.
ENDS: dict[Units, tuple[float, float, str]] = {
    "ft": (0.125 * 0.0254, 0.3048, "1/8 in to 1 ft"),
    "m": (0.003, 0.3, "3 mm to 30 cm"),
}
_ROUNDING = 1e-9  # metres


def check_as_built(
    study: Study, built: BuiltShots, stage: Stage = "day one", tolerance: float | None = None
) -> AsBuilt:
    """Hold shots on the built surface against the plan.

    Parameters
    ----------
    study
        The yard worked through: ground before, and plan.
    built
        Shots on the built surface, on soil before any mulch.
    stage
        The plan they are held against: as built, or once settled.
    tolerance
        How far a shot may stand off, metres; None: a tenth of a foot, or 3 cm.

    Raises
    ------
    InputError
        For a tolerance out of range, and where the shots do not show the mound.
    """
    expect("check_as_built", study=(study, Study), built=(built, BuiltShots))
    expect_measured(study.site.survey.measured, ("[survey] surface", "shots are held against the ground before"))
    units = study.site.units
    most = BUILT_TOLERANCE[units].value if tolerance is None else tolerance
    finest, coarsest, ends = ENDS[units]
    if not finest - _ROUNDING <= most <= coarsest + _ROUNDING:
        raise InputError("--tolerance", f"{show_length(most, units)} is out of range.", f"Accepted: {ends}.")
    slip = slip_of(marked(study, built, stage, most), most)
    # What follows from a slip is no fault of its own: everything else is read with it taken out.
    level = without_slip(built, slip)
    shots = marked(study, level, stage, most)
    surface = built_surface(study, shots, stage, built.label)
    missing = missing_soil(study, surface, stage, most)
    # The same for a slip that is only likely, and for any other cause, but what was shot and what that lacks are told.
    suspected = 0.0 if slip else suspected_slip(shots, stage, most)
    cause, explained = _cause(study, shots, (slip, suspected), stage, most)
    own = _own(study, level, explained, stage, most)
    left = surface if not explained.any() else built_surface(study, own, stage, built.label)
    slopes, look = built_slopes(study, left, stage, own), _look(study, built_on_grid(study, left, stage), stage)
    faults = missing if cause.kind in ("as planned", "local", "share") else missing_soil(study, left, stage, most)
    covered = surface.covered.area / max(study.proposal.worked.area, 1e-9)
    return AsBuilt(
        stage=stage,
        tolerance=most,
        shots=shots,
        method=surface.method,
        check_rms=surface.check_rms,
        difference=surface.difference,
        missing=missing,
        top=_top(study, surface, stage),
        planned_top=float((planned(study, stage)[0] - study.ground.elevation)[study.proposal.bed].max()),
        steepest=slopes.steepest,
        steep_area=slopes.area,
        covered=covered,
        known=surface.covered,
        look=look,
        slip=slip,
        suspected=suspected,
        apart=tuple(shot for shot, one in zip(shots, own, strict=True) if one.verdict not in ("within", "clear")),
        cause=cause,
        findings=(
            *coverage_finding(covered),
            *slip_finding(study, slip, most),
            *suspected_finding(study, suspected, most, missing),
            *cause_finding(study, cause, most, missing),
            *as_built_findings(study, own, (stage, most), faults, slopes, look),
        ),
    )


def _cause(
    study: Study, shots: tuple[BuiltShot, ...], slips: tuple[float, float], stage: Stage, tolerance: float
) -> tuple[Cause, Array]:
    """The first cause, and how far each shot stands off because of it once a sure slip is taken out; metres."""
    slip, suspected = slips
    if suspected:
        return Cause("benchmark", level=suspected, sure=False), np.full(len(shots), suspected)
    cause, explained = likely_cause(study, shots, stage, tolerance)
    return (Cause("benchmark", level=slip), explained) if slip else (cause, explained)


def _own(study: Study, built: BuiltShots, explained: Array, stage: Stage, tolerance: float) -> tuple[BuiltShot, ...]:
    """The shots without what a cause explains, so that what is left is their own."""
    bare = np.column_stack([np.zeros((len(explained), 2)), explained])
    return marked(study, replace(built, shots=built.shots - bare), stage, tolerance)


def _top(study: Study, surface: BuiltSurface, stage: Stage) -> float:
    """Greatest height over existing grade that was measured, metres."""
    over = planned(study, stage)[0] + surface.difference - study.ground.elevation
    known = np.isfinite(over)
    return float(over[known].max()) if known.any() else 0.0


def built_on_grid(study: Study, surface: BuiltSurface, stage: Stage) -> Array:
    """(ny, nx) elevation of the yard as built, metres; off the mound the plan stands in."""
    return np.asarray(planned(study, stage)[0] + np.nan_to_num(surface.difference))


def _look(study: Study, built: Array, stage: Stage) -> Look:
    """The signs on the built surface, its fill brought down to what it settles to."""
    existing = study.ground.elevation
    factor = study.work.day_one_factor if stage == "day one" else 1.0
    over = built - existing
    settled = existing + np.where(over > 0.0, over / factor, over)
    return natural_look(study.ground.grid, existing, settled, study.site.bed.outline, study.site.units)
