"""The Ground stage: from a validated site to the existing grade on a grid."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon

from terrain.expect import expect
from terrain.grid import Grid, Mask, frozen
from terrain.ground.choose import (
    check_method,
    elevation_and_deviation,
    fit_ground,
    heights_at,
)
from terrain.ground.creases import with_breaklines
from terrain.ground.doubtful import doubtful_shots
from terrain.ground.gaps import widest_gap
from terrain.ground.model import Ground, GroundCheck
from terrain.ground.model_averaging import mean_deviation_over
from terrain.ground.near_pairs import paired_doubts
from terrain.ground.notes import ground_notes
from terrain.ground.read_again import read_again
from terrain.ground.scanned import with_shared, without_scanned
from terrain.ground.shots import local_shots
from terrain.ground.spots import BED_POINTS, points_over
from terrain.ground.unmeasured import all_alike, as_unsure_as_unseen, flat_ground
from terrain.ground.yard import yard_grid
from terrain.numerics import one_thread
from terrain.site import FLAT, Site, check_bed


def model_ground(site: Site, method: str | None = None) -> Ground:
    """Existing grade over the yard, how sure it is, and which shots are doubtful.

    Parameters
    ----------
    site
        A validated site; lengths in metres.
    method
        "triangulation", "thin_plate", "kriging", or "auto": kriging, and the triangulation where there are breaklines.
        None: the one that the site asks for, "auto" where it says nothing. Ground that nobody measured is flat.

    Raises
    ------
    InputError
        Where the shots fix no surface, the grid's cell does not suit the yard, or the method is unknown.
    """
    expect("model_ground", site=(site, Site))
    check_bed(site, "site")
    method = site.survey.surface if method is None else method
    if method == FLAT and not site.survey.measured:
        return flat_ground(site)
    check_method(method)
    grid = yard_grid(site)
    with one_thread():
        shots = local_shots(site.survey.shots, site.survey.accuracy)
        fitted = fit_ground(with_breaklines(shots, site.survey.breaklines), method)
        elevation, deviation = elevation_and_deviation(fitted, grid.nodes)
        doubtful = doubtful_shots(site.survey, site.units, fitted.shots, fitted.likely)
        doubtful += paired_doubts(site.survey, site.units, fitted.shots, {shot.name for shot in doubtful})
        bed = fitted.shots.local(points_over(site.bed.outline, BED_POINTS))
        mean_deviation = mean_deviation_over(fitted.likely, bed, float(heights_at(fitted, bed).mean()))
        again = read_again(site.survey, fitted, bed)
    doubtful, again = without_scanned(site, doubtful), without_scanned(site, again)
    known = np.vstack([site.survey.shots, *site.survey.breaklines])
    hull = MultiPoint(known[:, :2]).convex_hull
    ground = Ground(
        grid=grid,
        elevation=frozen(elevation.reshape(grid.shape)),
        deviation=frozen(deviation.reshape(grid.shape)),
        surveyed=_surveyed(grid, hull),
        hull=hull,
        check=GroundCheck(
            method=fitted.method,
            errors=fitted.errors,
            rms=fitted.errors[fitted.method],
            shots=len(site.survey.shots),
            doubtful=doubtful,
            again=again,
        ),
        mean_deviation=mean_deviation,
        notes=ground_notes(site, fitted),
        made_for=site.survey_print,
        gap=widest_gap(points_over(site.bed.outline, BED_POINTS), known),
    )
    ground = with_shared(site, ground)
    return as_unsure_as_unseen(site, ground) if all_alike(site) else ground


def _surveyed(grid: Grid, hull: Polygon) -> Mask:
    """True at nodes inside the hull of the shots, its edge included."""
    nodes = grid.nodes
    inside = shapely.intersects_xy(hull.buffer(1e-9 * grid.cell), nodes[:, 0], nodes[:, 1])
    return frozen(np.asarray(inside).reshape(grid.shape))
