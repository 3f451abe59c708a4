"""The list of small changes cannot rot, and nineteen in twenty of them are caught."""

from __future__ import annotations

import ast
from functools import cache

import pytest
from listed import MUTANTS
from mutants import ROOT, Mutant, copied_tree, fails_with, survivors

FEWEST = 150


def test_the_list_is_long_enough_and_holds_nothing_twice() -> None:
    assert len(MUTANTS) >= FEWEST
    assert len({(mutant.file, mutant.old, mutant.new) for mutant in MUTANTS}) == len(MUTANTS)


@cache
def statements(file: str) -> tuple[str, list[ast.stmt]]:
    text = (ROOT / file).read_text(encoding="utf-8")
    return text, ast.parse(text).body


def test_what_a_change_replaces_stands_once_in_the_tree() -> None:
    """Where a listed line was rewritten, write its entry anew in `listed.py`, or take it out with the line."""
    faults = {str(mutant): fault for mutant in MUTANTS if (fault := fault_of(mutant))}
    assert not faults


def fault_of(mutant: Mutant) -> str:
    text, before = statements(mutant.file)
    if (times := text.count(mutant.old)) != 1:
        return f"stands {times} times"
    after = ast.parse(text.replace(mutant.old, mutant.new)).body
    if len(after) != len(before):
        return ""
    # Of a file of two hundred lines only the statement that the change stands in is written out.
    line = text[: text.index(mutant.old)].count("\n") + 1
    at = max(k for k, one in enumerate(before) if k == 0 or first_line(one) <= line)
    return "a change of words only" if ast.dump(after[at]) == ast.dump(before[at]) else ""


def first_line(one: ast.stmt) -> int:
    return min([one.lineno, *(mark.lineno for mark in getattr(one, "decorator_list", []))])


def test_the_tests_that_ought_to_notice_are_there() -> None:
    tests = sorted({test for mutant in MUTANTS for test in mutant.tests})
    assert not [test for test in tests if not (ROOT / test.partition("::")[0]).exists()]


@pytest.mark.mutation
def test_nineteen_in_twenty_are_caught() -> None:
    with copied_tree() as tree:
        assert not fails_with(tree, sorted({test for mutant in MUTANTS for test in mutant.tests})), "before any change"
    alive = survivors(MUTANTS)
    assert len(alive) <= 0.05 * len(MUTANTS), "\n".join(map(str, alive))
