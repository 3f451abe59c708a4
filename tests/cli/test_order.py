"""`hummock order` as an estimator runs it."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from yards import results

SITE = "examples/alder-bend/site.toml"
FILES = {"order.csv", "order.json", "order.pdf", "order.xlsx"}


@pytest.fixture(scope="module")
def ordered(coarse: Path, hummock: Callable, tmp_path_factory: pytest.TempPathFactory) -> tuple:
    folder = tmp_path_factory.mktemp("order") / "out"
    return hummock("order", coarse / SITE, "--out", folder), folder


def test_it_writes_a_table_a_page_a_workbook_and_json(ordered: tuple) -> None:
    ended, folder = ordered
    assert ended.returncode == 0, ended.stderr
    assert results(folder) == FILES
    assert (folder / "order.pdf").read_bytes().startswith(b"%PDF")


def test_the_terminal_says_what_to_order_how_sure_and_at_what_cost(ordered: tuple) -> None:
    ended, _ = ordered
    for words in ("Order", "cu yd loose expected", "you will be short", "Trucks", "Barrows", "Cost", "Ledger", "held"):
        assert words in ended.stdout
    assert max(map(len, ended.stdout.splitlines())) <= 80
    assert "\x1b[" not in ended.stdout


def test_the_table_and_the_summary_tell_the_same(ordered: tuple) -> None:
    _, folder = ordered
    summary = json.loads((folder / "order.json").read_text())
    assert summary["format"] == "hummock-summary/2"
    rows = list(csv.DictReader((folder / "order.csv").read_text().splitlines()))
    (expected,) = [r for r in rows if r["part"] == "order" and r["item"] == "soil" and r["figure"] == "expected"]
    assert float(expected["value"]) * 0.764554857984 == pytest.approx(summary["order"]["expected_loose_m3"], rel=1e-4)
    (bought,) = [r for r in rows if r["part"] == "order" and r["item"] == "soil" and r["figure"] == "to order"]
    assert float(bought["value"]) * 0.764554857984 == pytest.approx(summary["order"]["quantity_loose_m3"], rel=1e-4)


@pytest.mark.slow
def test_json_stands_alone_on_standard_output(coarse: Path, hummock: Callable, tmp_path: Path) -> None:
    ended = hummock("order", coarse / SITE, "--json", "--out", tmp_path / "out", "--kind", "clay")
    assert ended.returncode == 0, ended.stderr
    order = json.loads(ended.stdout)["order"]
    # Clay swells by 30 to 60 % (Peurifoy, Table 4-1); by hand none to 1 - 0.80 x 0.95 / 0.85 of its bank volume is lost
    # (Moving the Earth, p. 2.51: 80 % is left by machine).
    assert order["soils"][0]["swell"] == pytest.approx((0.30 + 0.60) / 2)
    assert order["soils"][0]["shrink"] == pytest.approx((1 - 0.80 * 0.95 / 0.85) / 2)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--kind", "mud"), '"mud" is not a soil of the table'),
        (("--height=-1",), '"-1" is out of range'),
        (("--soil", "much"), "--soil"),
        (("--height", "1.2", "--soil", "20 cu yd"), "--soil"),
    ],
)
def test_a_slip_gets_one_message_and_no_file(
    words: tuple[str, ...], said: str, root: Path, hummock: Callable, tmp_path: Path
) -> None:
    ended = hummock("order", root / SITE, "--out", tmp_path / "out", *words)
    assert ended.returncode == 2
    assert said in ended.stderr
    assert "Traceback" not in ended.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.slow
@pytest.mark.parametrize("command", ["order", "trees"])
def test_the_figures_load_nothing_but_what_works_them_out(command: str, root: Path, tmp_path: Path) -> None:
    import subprocess
    import sys

    heavy = ("matplotlib", "fontTools", "trimesh", "networkx", "openpyxl", "pyproj", "ezdxf", "rasterio", "pint")
    heavy += ("scipy.stats", "scipy.integrate", "pandas", "pyvista", "vtkmodules", "terrain.files.thinning")
    # The command in one process of its own, which then says what of these it has loaded; another process draws.
    code = (
        "import sys\nfrom cli.main import hummock\n"
        f"words = [{command!r}, {str(root / SITE)!r}, '--json', '--out', {str(tmp_path / 'out')!r}]\n"
        "try:\n    hummock(words)\nexcept SystemExit:\n    pass\n"
        f"print([name for name in {heavy!r} if name in sys.modules], file=sys.stderr)\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, timeout=120, check=False
    )
    assert ended.stderr.strip().splitlines()[-1] == "[]", ended.stderr
    summary = json.loads(ended.stdout)
    assert summary["order"]["quantity_loose_m3" if command == "order" else "expected_loose_m3"] > 0.0
    assert f"{command}.pdf" in results(tmp_path / "out")


@pytest.mark.slow
def test_a_sheet_that_cannot_be_drawn_is_said_and_leaves_no_half(root: Path, tmp_path: Path) -> None:
    from terrain.flow import run_site
    from terrain.site.read import read_site
    from viewer.desk import NOBODY
    from viewer.sheets.order_page import draw_order
    from viewer.sheets.order_sheet import order_sheet

    study = run_site(read_site(root / SITE), resolution=0.5)
    sheet, path = order_sheet(study), tmp_path / "nowhere" / "order.pdf"
    with pytest.raises(FileNotFoundError), NOBODY.doing(draw_order, sheet, path):
        pass
