"""A surface through scattered shots, for points that come from anywhere."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from terrain.errors import InputError
from terrain.expect import as_floats
from terrain.grid import Array
from terrain.ground.choose import check_method, elevation_and_deviation, fit_ground
from terrain.ground.creases import with_breaklines
from terrain.ground.shots import check_points, local_shots
from terrain.limits import FOOT
from terrain.numerics import one_thread


def interpolate(
    points: Array,
    targets: Array,
    method: str = "auto",
    *,
    accuracy: float = 0.0,
    breaklines: Sequence[Array] = (),
) -> tuple[Array, Array]:
    """Elevation and its standard deviation at targets, from spot elevations.

    Parameters
    ----------
    points
        (n, 3) easting, northing, elevation of the shots in metres; three or more, not all in one line.
    targets
        (m, 2) easting, northing in metres; beyond the hull of the shots the surface is carried on.
    method
        "triangulation", "thin_plate", "kriging", or "auto": kriging, and the triangulation where there are breaklines.
    accuracy
        Standard deviation of one shot in metres; with 0 every method passes through every shot.
    breaklines
        (k, 3) arrays in metres, one a line: the triangulation creases along them, the smooth methods pass through them.

    Returns
    -------
    elevation, deviation
        (m,) each, metres. The deviation comes from kriging, whichever method gives the elevation, and takes
        in how far the two lie apart and that the fitted covariance is uncertain.

    Raises
    ------
    InputError
        For an unknown method, shots that fix no surface, or arrays of another shape.

    Examples
    --------
    A plane is carried on as it is, whatever the method:

    >>> shots = np.array([(0.0, 0.0, 5.0), (4.0, 0.0, 5.4), (0.0, 4.0, 5.0), (4.0, 4.0, 5.4), (2.0, 3.0, 5.2)])
    >>> elevation, deviation = interpolate(shots, np.array([(1.0, 1.0)]), "triangulation")
    >>> elevation.round(6).tolist()
    [5.1]
    """
    check_method(method)
    accepted = "Accepted: (m, 2) finite coordinates in metres."
    places = as_floats("targets", targets, accepted)
    if places.ndim != 2 or places.shape[1] != 2 or not np.isfinite(places).all():
        raise InputError(
            "targets",
            f"an array of shape {places.shape} arrived.",
            accepted,
        )
    if not len(places):
        return np.empty(0), np.empty(0)
    _refuse_other_unit(check_points(points), places)
    with one_thread():
        shots = with_breaklines(local_shots(points, accuracy), breaklines)
        return elevation_and_deviation(fit_ground(shots, method), places)


def _refuse_other_unit(points: Array, places: Array) -> None:
    """Refuse targets that all lie off the shots, and among them once feet are turned into metres or back."""
    low, high = points[:, :2].min(axis=0), points[:, :2].max(axis=0)

    def among(spots: Array) -> bool:
        return bool(((spots >= low) & (spots <= high)).all(axis=1).any())

    for factor in () if among(places) else (FOOT, 1.0 / FOOT):
        if ((factor * places >= low) & (factor * places <= high)).all():
            raise InputError(
                "targets",
                f"all lie off the shots, and times {factor:.4g} all lie among them: feet and metres look mixed.",
                "Accepted: shots and targets in metres.",
            )
