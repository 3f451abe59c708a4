"""What the look of a mound comes to: its signs, and a verdict in three steps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["natural", "look here", "made"]


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
    value, bound, far
        The measured figure, the most that still reads natural, and the figure from which this sign alone makes the
        mound read as made; none has a unit, all are free of scale.
    present
        True where the value is above the bound.
    rarity
        Share of real hills that show less of this mark, 0 to 1; see `terrain.look.rarity`.
    at
        Place (x, y) in metres, survey coordinates, where the mark is strongest; None where there is no mound.
    sentence
        What is measured, in one plain sentence.
    suggestion
        What would help, in one line, lengths in the yard's own unit.
    """

    sign: str
    value: float
    bound: float
    far: float
    present: bool
    rarity: float
    at: tuple[float, float] | None
    sentence: str
    suggestion: str

    @property
    def name(self) -> str:
        """The sign's name as people read it."""
        return self.sign.replace("_", " ")

    @property
    def explained(self) -> str:
        """What is measured, how rare that is, and what would help."""
        rare = f", rarer than {min(int(100.0 * self.rarity), 99)} % of real hills" if self.rarity > 0.5 else ""
        return f"{self.sentence.removesuffix('.')}{rare}. {self.suggestion}"

    @property
    def past_all_doubt(self) -> bool:
        """True where the value is so far above the bound that the sign needs no second."""
        return self.value > self.far


@dataclass(frozen=True)
class Look:
    """All signs in a fixed order, and the verdict.

    No sign: natural. One sign: look here. Two signs, or one past all doubt: made. The mound reads natural unless it
    is made.
    """

    verdict: Verdict
    signs: tuple[Sign, ...]

    @classmethod
    def of(cls, signs: tuple[Sign, ...]) -> Look:
        """The look that follows from the signs by the rule."""
        present = [sign for sign in signs if sign.present]
        made = len(present) > 1 or any(sign.past_all_doubt for sign in present)
        return cls(verdict="made" if made else "look here" if present else "natural", signs=signs)

    @property
    def reads_natural(self) -> bool:
        """False only where the verdict is that the mound is made."""
        return self.verdict != "made"

    @property
    def words(self) -> str:
        """The verdict and the signs it rests on, in words."""
        names = ", ".join(sign.name for sign in self.present)
        return {"natural": "reads natural", "look here": f"reads natural; look at: {names}"}.get(
            self.verdict, f"reads as made: {names}"
        )

    @property
    def present(self) -> tuple[Sign, ...]:
        """The signs above their bounds, in order."""
        return tuple(sign for sign in self.signs if sign.present)

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
