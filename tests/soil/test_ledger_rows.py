"""The ledger as it is printed adds up with a pencil: every figure as printed, both sides to the last digit."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given, strategies as st

from terrain.soil.ledger_table import ledger_rows, rounded_together
from terrain.soil.model import LedgerLine

COMES, GOES = ("bought", "on hand", "dug", "stripped"), ("mound", "planting", "topsoil", "left over", "lost", "leaves")
LINES = st.lists(
    st.tuples(st.sampled_from(COMES), st.sampled_from(GOES), st.floats(1e-6, 60.0)), min_size=1, max_size=12
)


@given(LINES, st.sampled_from(["ft", "m"]))
def test_the_printed_ledger_checks_with_a_pencil(lines: list[tuple[str, str, float]], units: str) -> None:
    ledger = [LedgerLine("soil", comes, goes, v, 1.2 * v, 0.9 * v) for comes, goes, v in lines]  # type: ignore[arg-type]
    *rows, comes, goes = ledger_rows(ledger, units)  # type: ignore[arg-type]
    column = sum(Decimal(row[3]) for row in rows)
    for side in (comes, goes):
        terms = [Decimal(one) for one in re.findall(r"[a-z] (\d+\.\d+)", side[0])]
        assert sum(terms) == Decimal(side[3]) == column
    by_goal: dict[str, Decimal] = {}
    for row, (_, goal, _) in zip(rows, lines, strict=True):
        by_goal[goal] = by_goal.get(goal, Decimal(0)) + Decimal(row[3])
    assert all(f"{goal} {total}" in goes[0] for goal, total in by_goal.items())


@given(st.lists(st.floats(0.0, 500.0), min_size=1, max_size=20))
def test_no_figure_is_moved_by_a_whole_step(volumes: list[float]) -> None:
    printed = rounded_together(volumes, 1)
    assert all(abs(a - b) < 0.1 + 1e-9 for a, b in zip(volumes, printed, strict=True))
    assert sum(printed) == pytest.approx(sum(volumes), abs=0.051)
