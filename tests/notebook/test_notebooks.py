"""The notebooks of the examples run from the first cell to the last, and are committed without what they print."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BOOKS = sorted((ROOT / "examples" / "notebooks").glob("*.ipynb"))


def test_three_are_there_and_hold_no_outputs() -> None:
    nbformat = pytest.importorskip("nbformat")
    assert [path.stem for path in BOOKS] == ["a-first-mound", "how-sure-is-the-ground", "ten-forms-compared"]
    for path in BOOKS:
        book = nbformat.read(path, 4)
        nbformat.validate(book)
        assert not [cell for cell in book.cells if cell.get("outputs") or cell.get("execution_count")], path.name
        assert path.stat().st_size < 20_000


@pytest.mark.slow
@pytest.mark.parametrize("path", BOOKS, ids=lambda path: path.stem)
def test_a_notebook_runs_to_its_end(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    nbformat = pytest.importorskip("nbformat")
    nbclient = pytest.importorskip("nbclient")
    pytest.importorskip("ipykernel")
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join((str(ROOT), str(ROOT / "cli" / "door"))))
    monkeypatch.delenv("MPLBACKEND", raising=False)
    book = nbformat.read(path, 4)
    where = {"metadata": {"path": str(path.parent)}}
    nbclient.NotebookClient(book, timeout=400, kernel_name="python3", resources=where).execute()
    shown = [output for cell in book.cells for output in cell.get("outputs", [])]
    kinds = {kind for output in shown for kind in output.get("data", {})}
    assert {"text/html", "image/png"} <= kinds, "stages and drawings are shown"
    assert any("<svg" in output.data["text/html"] for output in shown if "text/html" in output.get("data", {}))
