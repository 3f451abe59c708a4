"""A yard's plane on the earth: the system in which the survey's own numbers are coordinates, and what is made of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from terrain.earth.proj import EARTH, between, proj, system_of, unit_of
from terrain.grid import Array
from terrain.units import unit_length

SURVEY_FOOT = 1200.0 / 3937.0  # metres, exact (Federal Register 85 FR 62698)
_SKEW = 60.0  # degrees: the azimuth of the projection's line, which only has to be neither along nor across


@dataclass(frozen=True)
class Located:
    """Where on earth the plane of a yard lies.

    Parameters
    ----------
    system
        A registered number, or the well-known text of a plane of the yard's own: its coordinates, in `unit`, are the
        survey's x and y.
    unit
        Metres, as the tool counts, in one unit of `system`. Where that unit is the US survey foot the tool counts feet
        all the same, number for number: lengths then differ by two parts in a million.
    notes
        What was found while the plane was laid on the map, in sentences.
    """

    system: str
    unit: float
    notes: tuple[str, ...] = ()

    @property
    def registered(self) -> bool:
        """Whether `system` is one of the register."""
        return not self.system.startswith(("PROJCRS", "BOUNDCRS"))

    @property
    def metres(self) -> float:
        """Metres in one unit of the system, by the system itself."""
        return unit_of(self.system)

    @property
    def in_survey_feet(self) -> bool:
        """Whether the numbers are US survey feet."""
        return abs(self.metres - SURVEY_FOOT) < 1e-12

    @property
    def name(self) -> str:
        """The system in words."""
        found = system_of(self.system)
        return f"{self.system} ({found.name})" if self.registered else f"a {found.name}"

    @property
    def well_known_text(self) -> str:
        """The system as well-known text of 2019 (ISO 19162)."""
        return str(system_of(self.system).to_wkt())

    def to_earth(self, places: Array) -> Array:
        """(n, 2) longitude and latitude (WGS 84, degrees) of (n, 2) places in metres."""
        return between(self.system, EARTH, places / self.unit)

    def north_at(self, place: tuple[float, float]) -> float:
        """Where true north lies at a place (metres): radians clockwise from the survey's y, which is up on sheets."""
        here = np.array([place, (place[0], place[1] + 1.0)])
        (lon, lat), (on, up) = self.to_earth(here).tolist()
        azimuth, _, _ = proj().Geod(ellps="WGS84").inv(lon, lat, on, up)
        return -math.radians(azimuth)


def own_plane(base: str, centre: tuple[Array, Array], turn: float, scale: float, units: str) -> Located:
    """A plane of the yard's own: a map whose scale is true about the yard.

    The oblique Mercator projection about one point (EPSG method 9815), turned so that its y is the survey's.

    Parameters
    ----------
    base
        The system of longitude and latitude that the centre is in.
    centre
        (2,) longitude and latitude in degrees, and the same place (2,) in the survey, metres.
    turn
        Azimuth of the survey's y: radians clockwise from true north.
    scale
        Survey metres in one metre on the ellipsoid.
    units
        "ft" or "m": of the survey's numbers.
    """
    conversions = proj().crs.coordinate_operation
    (lon, lat), (x, y) = (part.tolist() for part in centre)
    conversion = conversions.HotineObliqueMercatorBConversion(
        latitude_projection_centre=lat,
        longitude_projection_centre=lon,
        azimuth_projection_centre=_SKEW,
        angle_from_rectified_to_skew_grid=_SKEW - math.degrees(turn),
        scale_factor_projection_centre=scale,
        easting_projection_centre=x,
        northing_projection_centre=y,
    )
    systems = proj().crs
    axes = systems.enums.Cartesian2DCSAxis
    plane = systems.ProjectedCRS(
        conversion=conversion,
        name=f"plane of the survey about {lat:.5f}, {lon:.5f}",
        cartesian_cs=systems.coordinate_system.Cartesian2DCS(
            axis=axes.EASTING_NORTHING_FT if units == "ft" else axes.EASTING_NORTHING
        ),
        geodetic_crs=system_of(base),
    )
    return Located(str(plane.to_wkt()), unit_length("ft" if units == "ft" else "m"))
