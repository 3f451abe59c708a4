"""`hummock crew` from the terminal: the sheet, its figures in JSON, a language that there is not."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from small_yard import small_yard

from cli.main import main


def ended(words: list[str]) -> int:
    with pytest.raises(SystemExit) as leaving:
        main(words)
    return int(leaving.value.code or 0)


def test_the_sheet_and_its_figures(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    site, out = small_yard(tmp_path / "yard"), tmp_path / "out"
    with site.open("a", encoding="utf-8") as file:
        file.write('[soil]\nbarrow = "80 L"\n[crew]\npeople = 3\nmove = "0.5 m3/h"\n')
    assert ended(["crew", str(site), "--language", "fr", "--out", str(out), "--json"]) in (0, 1)
    told = json.loads(capsys.readouterr().out)
    crew = told["crew"]
    assert {path.name for path in out.iterdir()} >= {"crew.pdf", "crew.json"}
    assert crew["grade"] == "day one"
    assert crew["people"] == 3
    counted = sum(sum(map(sum, lift["barrows"])) for lift in crew["squares"]["lifts"] if lift["comes"] == "bought")
    assert counted == crew["squares"]["barrows_bought"] == -(-told["order"]["quantity_loose_m3"] // 0.08)
    build = next(step for step in crew["steps"] if step["step"] == "build")
    assert build["source"] == "the site file"
    assert build["hours"][1] == pytest.approx(build["amount"] / 0.5, rel=1e-9)


def test_a_language_that_there_is_not_is_refused_before_any_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    site = small_yard(tmp_path / "yard")
    assert ended(["crew", str(site), "--language", "it"]) == 2
    assert "Accepted: en, es, fr." in capsys.readouterr().err
    assert not (tmp_path / "yard" / "out").exists()
