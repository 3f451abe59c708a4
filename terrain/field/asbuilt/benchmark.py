"""A slip in the benchmark or the height of instrument: it shows on untouched ground and explains the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from terrain.field.asbuilt.marks import KEEP_OFF
from terrain.field.asbuilt.model import BuiltShot, BuiltShots, Stage

FEWEST_BESIDE = 3
AGREEING = 2.0 / 3.0  # share of the untouched shots that must show the same slip: common practice, no published source


def untouched(shots: Sequence[BuiltShot]) -> list[BuiltShot]:
    """The shots on ground that nobody touched; soil heaped round a tree is no slip, so that keep-offs do not count."""
    return [s for s in shots if s.where not in ("mound", "dig") and not s.where.startswith(KEEP_OFF)]


def offset(shots: Sequence[BuiltShot]) -> float:
    """How far the untouched ground stands over the ground surveyed before, metres: the middle value; needs a shot."""
    return float(np.median([shot.elevation - shot.existing for shot in shots]))


def is_off(beside: Sequence[BuiltShot], over: float, tolerance: float) -> bool:
    """Whether untouched ground stands off by more than the tolerance and the survey's own doubt; metres."""
    return abs(over) > max(tolerance, float(np.median([shot.bound for shot in beside])))


def slip_of(shots: Sequence[BuiltShot], tolerance: float) -> float:
    """The slip in metres that most of the untouched shots agree on; 0.0 where they show none, or are too few to say."""
    beside = untouched(shots)
    if len(beside) < FEWEST_BESIDE:
        return 0.0
    over = offset(beside)
    agree = np.mean([abs(shot.elevation - shot.existing - over) <= shot.bound for shot in beside])
    return over if is_off(beside, over, tolerance) and agree >= AGREEING else 0.0


def suspected_slip(shots: Sequence[BuiltShot], stage: Stage, tolerance: float) -> float:
    """How far off the whole mound stands alike, metres, where too few shots beside it tell a slip; 0.0 elsewhere.

    Shots in a keep-off that meet the old ground speak against a slip: soil just as deep would have to lie on each.
    """
    if len(untouched(shots)) + len(_on_old_ground(shots)) >= FEWEST_BESIDE:
        return 0.0
    return alike([shot.off(stage) for shot in shots if shot.where == "mound"], tolerance)


def _on_old_ground(shots: Sequence[BuiltShot]) -> list[BuiltShot]:
    kept = [shot for shot in shots if shot.where.startswith(KEEP_OFF)]
    return [shot for shot in kept if abs(shot.elevation - shot.existing) <= shot.bound]


def alike(offs: Sequence[float], tolerance: float) -> float:
    """How far off shots on the mound stand that all stand off alike, metres; 0.0 where they do not, or none are there.

    A slip and a layer missing everywhere look the same there: only untouched ground tells them apart.
    """
    if len(offs) < FEWEST_BESIDE:
        return 0.0
    middle = float(np.median(offs))
    agree = np.mean(np.abs(np.asarray(offs) - middle) <= tolerance)
    return middle if abs(middle) > tolerance and agree >= AGREEING else 0.0


def without_slip(built: BuiltShots, slip: float) -> BuiltShots:
    """The shots with a slip taken out of every elevation."""
    return replace(built, shots=built.shots - np.array([0.0, 0.0, slip]))
