"""The list of small changes cannot rot, and nineteen in twenty of them are caught."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from listed import MUTANTS
from mutants import ROOT, Mutant, copied_tree, fails_with, survivors

FEWEST = 150


def test_the_list_is_long_enough_and_holds_nothing_twice() -> None:
    assert len(MUTANTS) >= FEWEST
    assert len({(mutant.file, mutant.old, mutant.new) for mutant in MUTANTS}) == len(MUTANTS)


@pytest.mark.parametrize("mutant", MUTANTS, ids=str)
def test_what_a_change_replaces_stands_once_in_the_tree(mutant: Mutant) -> None:
    """Where a listed line was rewritten, write its entry anew in `listed.py`, or take it out with the line."""
    text = (ROOT / mutant.file).read_text(encoding="utf-8")
    assert text.count(mutant.old) == 1
    assert mutant.new != mutant.old
    changed = text.replace(mutant.old, mutant.new)
    assert ast.dump(ast.parse(changed)) != ast.dump(ast.parse(text)), "a change of words only"


@pytest.mark.parametrize("test", sorted({test for mutant in MUTANTS for test in mutant.tests}))
def test_the_tests_that_ought_to_notice_are_there(test: str) -> None:
    assert (ROOT / Path(test.partition("::")[0])).exists()


@pytest.mark.mutation
def test_nineteen_in_twenty_are_caught() -> None:
    with copied_tree() as tree:
        assert not fails_with(tree, sorted({test for mutant in MUTANTS for test in mutant.tests})), "before any change"
    alive = survivors(MUTANTS)
    assert len(alive) <= 0.05 * len(MUTANTS), "\n".join(map(str, alive))
