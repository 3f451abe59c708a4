"""The ledger as a table that a person can add up: printed figures whose two sums are equal to the last digit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from terrain.soil.ledger import sums
from terrain.soil.model import LedgerLine
from terrain.units import Units, unit_volume

Row = tuple[str, str, str, str]
_SMALL = 10.0  # units of volume under which hundredths are printed


def ledger_rows(ledger: Sequence[LedgerLine], units: Units) -> list[Row]:
    """What, bank, loose and placed of every line in the site's unit; last the two sides, each as a sum.

    The placed figures are rounded together, so that they add up to the rounded whole on either side.
    """
    size = unit_volume(units)
    whole = sum(line.placed for line in ledger) / size
    digits = 1 if whole >= _SMALL else 2
    placed = rounded_together([line.placed / size for line in ledger], digits)
    rows = [
        (
            f"{line.name}: {line.comes} to {line.goes}",
            f"{line.bank / size:.{digits}f}",
            f"{line.loose / size:.{digits}f}",
            f"{volume:.{digits}f}",
        )
        for line, volume in zip(ledger, placed, strict=True)
    ]
    printed = [
        LedgerLine(line.name, line.comes, line.goes, 0.0, 0.0, volume)
        for line, volume in zip(ledger, placed, strict=True)
    ]
    for word, side in zip(("comes", "goes"), sums(printed), strict=True):
        told = " + ".join(f"{where} {volume:.{digits}f}" for where, volume in side.items())
        rows.append((f"{word}: {told}", "", "", f"{sum(side.values()):.{digits}f}"))
    return rows


def rounded_together(volumes: Sequence[float], digits: int) -> list[float]:
    """Volumes rounded so that they add up to their rounded sum: the largest remainders are rounded up."""
    steps = np.asarray(volumes, dtype=float) * 10.0**digits
    down = np.floor(steps)
    missing = round(float(steps.sum())) - int(down.sum())
    down[np.argsort(down - steps, kind="stable")[:missing]] += 1.0
    return [float(one) / 10.0**digits for one in down]
