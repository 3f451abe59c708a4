"""`hummock field` as a crew lead runs it before a day in a yard that has no site file yet."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli.main import main


def ended(words: list[str]) -> int:
    with pytest.raises(SystemExit) as leaving:
        main(words)
    return int(leaving.value.code or 0)


def test_a_page_without_a_site_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "field.html"
    assert ended(["field", "--units", "m", "--language", "es-MX", "--out", str(page), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["field"]
    assert told == {"file": str(page), "bytes": page.stat().st_size, "grade": "day one"}
    text = page.read_text(encoding="utf-8")
    assert "Página de campo" in text
    assert "http://" not in text.replace("http://www.w3.org/2000/svg", "")
    assert "https://" not in text


def test_a_language_that_there_is_not_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "field.html"
    assert ended(["field", "--language", "de", "--out", str(page)]) == 2
    assert "Accepted: en, es, fr." in capsys.readouterr().err
    assert not page.exists()
