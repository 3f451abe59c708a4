"""What the review answers: findings in a fixed order, every check with its verdict, trees, water, look."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import overload

from terrain.findings import Finding
from terrain.fingerprint import Comparable
from terrain.look import Look
from terrain.review.checking import UPRIGHT, Verdict
from terrain.review.model import TreeCheck
from terrain.review.water import Water


@dataclass(frozen=True, eq=False, repr=False)
class Review(Comparable, Sequence[Finding]):
    """The findings of one proposal, worst first, and what they rest on; reads as a sequence of findings.

    `checks` has the verdict of every check that was made, or that lacked something, in the order of the list.
    """

    findings: tuple[Finding, ...]
    trees: tuple[TreeCheck, ...]
    look: Look
    water: Water
    checks: tuple[Verdict, ...]

    def __repr__(self) -> str:
        counts = [f"{sum(one.level == level for one in self)} {level}s" for level in ("stop", "caution", "note")]
        return f"<Review: {', '.join(counts)}; {self.look.words}>"

    def __len__(self) -> int:
        return len(self.findings)

    @overload
    def __getitem__(self, index: int) -> Finding: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[Finding, ...]: ...
    def __getitem__(self, index: int | slice) -> Finding | tuple[Finding, ...]:
        return self.findings[index]

    @property
    def first(self) -> tuple[Finding, ...]:
        """What is told before all else: that the ground may be upside down."""
        return next((one.findings for one in self.checks if one.check.name == UPRIGHT), ())

    @property
    def stopped(self) -> bool:
        """Whether a limit is broken."""
        return any(finding.level == "stop" for finding in self.findings)
