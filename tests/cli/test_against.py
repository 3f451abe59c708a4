"""Two site files side by side: the parts of the difference add up to it, and each change is told by its own cause."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console
from shipped import study_of

from cli.against_report import _parts
from cli.what_if import asked_for
from terrain.against import FACTORS, MOUND, ON_HAND, Against, compared
from terrain.errors import InputError
from terrain.flow import Study, run_site
from terrain.soil.what_if import WhatIf

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def study() -> Study:
    return study_of("alder-bend", 0.3)


def again(study: Study, asked: WhatIf | None = None, **soil: object) -> Study:
    site = replace(study.site, soil=replace(study.site.soil, **soil))
    return run_site(site, asked or WhatIf(), 0.3, ground=study.ground, earlier=study)


def told(against: Against) -> str:
    console = Console(width=160, record=True, file=io.StringIO())
    for part in _parts(against, "ft", "old.toml"):
        console.print(part)
    return console.export_text()


def test_nothing_differs_from_itself(study: Study) -> None:
    same = compared(study, study)
    assert (same.reasons, same.prices) == ((), ())
    assert same.soil.this == same.soil.other
    assert all(pair.this == pair.other for pair in (*same.trees, *same.money))


def test_a_lower_mound_of_another_soil_beside_a_heap_is_told_part_by_part(study: Study) -> None:
    here = again(study, WhatIf(scale=0.7, kind="clay"))
    here = replace(here, order=run_site(_with_heap(here), resolution=0.3, ground=study.ground).order)
    against = compared(here, study)
    assert [one.why for one in against.reasons][:2] == [MOUND, FACTORS]
    assert ON_HAND in [one.why for one in against.reasons]
    whole = here.order.quantity - study.order.quantity
    assert sum(one.soil for one in against.reasons) == pytest.approx(whole, abs=1e-9)


def _with_heap(study: Study) -> object:
    return replace(study.site, berm=replace(study.site.berm, soil=3.0))


def test_each_change_has_its_own_cause(study: Study) -> None:
    lower = compared(again(study, WhatIf(scale=0.7)), study)
    assert [one.why for one in lower.reasons] == [MOUND]
    assert lower.reasons[0].soil < 0.0
    assert lower.height.this < lower.height.other
    assert any(pair.this < pair.other for pair in lower.trees if "deepest" in pair.what)
    clay = compared(again(study, WhatIf(kind="clay")), study)
    assert [one.why for one in clay.reasons] == [FACTORS]
    assert clay.height.this == clay.height.other


def test_a_dearer_soil_is_a_price_and_no_soil(study: Study) -> None:
    price = study.site.soil.price
    assert price is not None
    dear = compared(again(study, price=1.1 * price), study)
    assert dear.reasons == ()
    assert [pair.what for pair in dear.prices] == ["soil"]
    total = next(pair for pair in dear.money if pair.what == "total")
    assert total.this == pytest.approx(1.1 * total.other, rel=1e-12)
    text = told(dear)
    assert "the price of soil is 10.0 % higher" in text
    assert f"{total.this:,.2f}" in text


def test_the_terminal_tells_soil_height_trees_and_money(study: Study) -> None:
    text = told(compared(again(study, WhatIf(scale=0.7)), study))
    for word in ("Against old.toml", "soil to order", "top", "bur oak: deepest fill", "total", "by the mound"):
        assert word in text


def test_another_chance_is_asked_on_the_command_line(study: Study) -> None:
    asked = asked_for("ft", None, None, None, "95 %")
    assert asked.chance == pytest.approx(0.95)
    assert again(study, asked).order.needed > study.order.needed
    for text in ("0", "120 %", "often"):
        with pytest.raises(InputError, match=r"--chance"):
            asked_for("ft", None, None, None, text)
