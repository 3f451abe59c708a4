"""What the look of a mound comes to: its signs, and whether it reads natural."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Measure:
    """One measured mark: its value (no unit) and where on the plan it is strongest, metres, or None."""

    value: float
    at: tuple[float, float] | None


@dataclass(frozen=True)
class Sign:
    """One measured mark of an unnatural shape.

    Parameters
    ----------
    sign
        Its name, one of `terrain.look.bounds.BOUNDS`.
    value, bound
        The measured figure and the most that still reads natural; neither has a unit, both are free of scale.
    present
        True where the value is above the bound.
    at
        Place (x, y) in metres, survey coordinates, where the mark is strongest; None where there is no mound.
    sentence
        What is measured, in one plain sentence.
    suggestion
        What would help, in one line.
    """

    sign: str
    value: float
    bound: float
    present: bool
    at: tuple[float, float] | None
    sentence: str
    suggestion: str


@dataclass(frozen=True)
class Look:
    """All signs in a fixed order. The rule: the mound reads natural where no sign is present."""

    reads_natural: bool
    signs: tuple[Sign, ...]

    @classmethod
    def of(cls, signs: tuple[Sign, ...]) -> Look:
        """The look that follows from the signs by the rule."""
        return cls(reads_natural=not any(sign.present for sign in signs), signs=signs)

    @property
    def width_to_height(self) -> float | None:
        """Width across the whole mound over its height, as `too_tall` measures them; None where there is no mound.

        Not to be taken for a side slope, which is run to rise of one face.
        """
        over = self["too_tall"].value
        return 1.0 / over if over > 0.0 else None

    def __getitem__(self, name: str) -> Sign:
        """The sign of that name; KeyError where there is none."""
        return {sign.sign: sign for sign in self.signs}[name]
