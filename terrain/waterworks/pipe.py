"""Friction in a pipe by Darcy and Weisbach, smooth or corrugated, with its fittings."""

from __future__ import annotations

import math
from dataclasses import dataclass

from terrain.limits import FOOT, INCH
from terrain.site import PipeKind
from terrain.waterworks.lip import GRAVITY

VISCOSITY = 1.08e-5 * FOOT**2  # m2/s, of water at 68 F
SMOOTH = 1.5e-6  # metres: roughness of new plastic pipe
CORRUGATED = 0.015  # Manning's n of corrugated drain tubing; of a small hose only the maker knows
LAMINAR = 2300.0  # Reynolds number under which a flow is laminar
# Inner diameter of plastic pipe by its nominal size in inches (schedule 40 of ASTM D1785), inches.
SCHEDULE_40 = {0.75: 0.824, 1.0: 1.049, 1.25: 1.380, 1.5: 1.610, 2.0: 2.067, 2.5: 2.469, 3.0: 3.068, 4.0: 4.026}
_SAME_SIZE = 1e-4  # metres: a size that is written in millimetres may be a tenth off


@dataclass(frozen=True)
class PipeRun:
    """A pipe as it is laid: true length and bore in metres, kind, and the sum of the fittings' loss coefficients."""

    length: float
    bore: float
    kind: PipeKind
    fittings: float

    @property
    def area(self) -> float:
        """Of the bore, m2."""
        return math.pi / 4.0 * self.bore**2

    @property
    def volume(self) -> float:
        """Water in the full pipe, m3."""
        return self.area * self.length

    def speed(self, flow: float) -> float:
        """Mean speed in m/s of a flow in m3/s."""
        return flow / self.area

    def loss(self, flow: float) -> float:
        """Head lost to friction and fittings, metres, at a flow in m3/s: (f L / D + K) V^2 / 2g."""
        speed = self.speed(flow)
        if speed <= 0.0:
            return 0.0
        factor = corrugated_factor(self.bore) if self.kind == "corrugated" else smooth_factor(speed, self.bore)
        return (factor * self.length / self.bore + self.fittings) * speed**2 / (2.0 * GRAVITY)


def bore_of(size: float, kind: PipeKind) -> float:
    """Inner diameter in metres of a pipe of a nominal size in metres.

    Smooth pipe of a size of the table has the table's bore. Any other size, and that of a hose, is taken as its bore.
    """
    for nominal, bore in SCHEDULE_40.items():
        if kind == "smooth" and abs(size - nominal * INCH) <= _SAME_SIZE:
            return bore * INCH
    return size


def friction_factor(reynolds: float, relative: float) -> float:
    """Darcy's friction factor by Swamee and Jain (1976); 64 / Re in laminar flow.

    `relative` is roughness over diameter.
    """
    if reynolds < LAMINAR:
        return 64.0 / reynolds
    return 0.25 / math.log10(relative / 3.7 + 5.74 / reynolds**0.9) ** 2


def smooth_factor(speed: float, bore: float) -> float:
    """Darcy's friction factor of plastic pipe; m/s and metres."""
    return friction_factor(speed * bore / VISCOSITY, SMOOTH / bore)


def corrugated_factor(bore: float) -> float:
    """Darcy's friction factor of a corrugated bore in metres: 8 g n^2 / R^(1/3) from Manning's formula, R = D / 4."""
    return 8.0 * GRAVITY * CORRUGATED**2 / math.cbrt(bore / 4.0)
