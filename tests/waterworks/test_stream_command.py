"""`hummock stream` from the site file to its files: keys, figures, faces that agree, feet and metres, refusals."""

from __future__ import annotations

import json
import re
from pathlib import Path

import openpyxl
import pytest
from pypdf import PdfReader
from stream_yard import write_yard

from cli.stream_files import summary_with_stream, write_stream
from terrain.files.workbook.book import write_book
from terrain.flow import Study, run_site
from terrain.review.stream_checks import STREAM_CHECKS, stream_findings
from terrain.site.read import read_site
from terrain.waterworks.words import laid_rows, water_rows

# What stands under "stream", by name; those with a range have its ends beside them.
PLAIN = ("flow_m3_s", "basin_usable_m3", "friction_m", "head_m", "gravel_m3")
RANGED = ("head_over_lip_m", "transit_m3", "level_drop_m", "static_lift_m", "power_w", "stone_kg")


@pytest.fixture(scope="module")
def site_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_yard(tmp_path_factory.mktemp("feet"))


@pytest.fixture(scope="module")
def study(site_file: Path) -> Study:
    return run_site(read_site(site_file))


@pytest.fixture(scope="module")
def written(study: Study, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("out")
    assert write_stream(study, summary_with_stream(study), folder) == ("stream.json", "stream.pdf")
    return folder


def test_stream_json_has_every_key_in_si(written: Path) -> None:
    told = json.loads((written / "stream.json").read_text(encoding="utf-8"))
    stream = told["stream"]
    assert told["format"] == "hummock-summary/2"
    for key in PLAIN:
        assert stream[key] > 0.0, key
    for key in RANGED:
        assert stream[f"{key}_low"] <= stream[key] <= stream[f"{key}_high"], key
    long, wide = stream["sheet_m"]
    assert long > wide > 1.0
    assert stream["head_m"] == pytest.approx(stream["static_lift_m"] + stream["friction_m"], rel=1e-9)
    assert stream["flow_m3_s"] == pytest.approx(40.0 * 6.30902e-5, rel=1e-5)
    sills = stream["sills"]
    assert all(len(sill["at"]) == 2 for sill in sills)
    levels = [sill["elevation_m"] for sill in sills]
    assert levels == sorted(levels, reverse=True)
    assert [sill["drop_m"] for sill in sills if sill["drop_m"]] == pytest.approx([0.2032, 0.2032, 0.1524], abs=1e-6)


def test_no_figure_on_terminal_or_sheet_is_finer_than_two(study: Study) -> None:
    for units in ("ft", "m"):
        assert units in ("ft", "m")
        system = "ft" if units == "ft" else "m"
        for needs in study.streams:
            for _, text in (*water_rows(needs, system), *laid_rows(needs, system)):
                for number in re.findall(r"\d[\d,]*\.?\d*", text):
                    digits = re.sub(r"[.,]", "", number).lstrip("0").rstrip("0")
                    assert len(digits) <= 2, text


def test_the_sheets_say_what_the_terminal_says(study: Study, written: Path) -> None:
    pages = [page.extract_text() for page in PdfReader(written / "stream.pdf").pages]
    assert len(pages) == 2
    for label, text in (*water_rows(study.streams[0], "ft"), *laid_rows(study.streams[0], "ft")):
        assert " ".join(text.split()) in " ".join(pages[1].split()), (label, text)
    for sill in study.streams[0].materials.parts.sills:
        assert sill.name in pages[0]
        # To half a hundredth of a foot, 1/16 in, as it is to be set.
        assert f"{round(200.0 * sill.day_one / 0.3048) / 200.0:.3f} ft" in pages[0]
    for finding in stream_findings(study.review.checks):
        assert finding.text[:40] in pages[1]


def test_the_bill_holds_sheet_cloth_stone_and_gravel_once(study: Study, tmp_path: Path) -> None:
    needs = study.streams[0].materials
    lines = {line.what: line for line in study.order.costs}
    assert lines["sheet"].amount == pytest.approx(1.2 * needs.lining.area / 0.3048**2, rel=1e-9)
    assert lines["underlay"].amount == pytest.approx(0.4 * needs.lining.underlay / 0.3048**2, rel=1e-9)
    assert lines["stone of streams"].amount == pytest.approx(300.0 * needs.rocks.stone_mass / 907.18474, rel=1e-9)
    assert lines["gravel of streams"].quantity >= needs.rocks.gravel_volume
    assert {"stone", "crushed stone", "gravel"} & set(lines) == set()
    write_book(study, tmp_path / "order.xlsx")
    book = openpyxl.load_workbook(tmp_path / "order.xlsx", data_only=True)
    cells = {
        row[0].value: row[4].value
        for page in book
        for row in page.iter_rows()
        if len(row) > 4 and row[0].value in lines
    }
    for what in ("sheet", "underlay", "stone of streams", "gravel of streams"):
        assert cells[what] == pytest.approx(lines[what].amount, rel=1e-6), what


def test_feet_and_metres_say_the_same(study: Study, tmp_path: Path) -> None:
    other = run_site(read_site(write_yard(tmp_path, "m")))
    one, same = (summary_with_stream(each)["stream"] for each in (study, other))
    assert isinstance(one, dict)
    assert isinstance(same, dict)
    for key in (*PLAIN, *RANGED, *(f"{key}_{end}" for key in RANGED for end in ("low", "high"))):
        assert same[key] == pytest.approx(one[key], rel=1e-3), key
    assert same["sheet_m"] == pytest.approx(one["sheet_m"], rel=1e-3)
    assert [s["elevation_m"] for s in same["sills"]] == pytest.approx(
        [s["elevation_m"] for s in one["sills"]], abs=2e-3
    )


def test_every_check_of_a_stream_has_spoken(study: Study) -> None:
    words = {verdict.check.name: verdict.word for verdict in study.review.checks}
    assert {words[check.name] for check in STREAM_CHECKS} <= {"fine", "look"}
    topics = " ".join(finding.text for finding in stream_findings(study.review.checks))
    for word in ("licensed electrician", "buried lines and tanks", "Small children", "frost", "mosquitoes", "trunks"):
        assert word in topics


def test_the_command_ends_with_its_json_alone(hummock, site_file: Path, tmp_path: Path) -> None:
    ran = hummock("stream", site_file, "--out", tmp_path / "out", "--json")
    told = json.loads(ran.stdout)
    assert ran.returncode == int(any(finding["level"] == "stop" for finding in told["findings"]))
    assert told == json.loads((tmp_path / "out" / "stream.json").read_text(encoding="utf-8"))
    assert ran.stderr == ""


@pytest.mark.parametrize(
    ("drop", "says"),
    [
        (r"\[\[stream\]\].*?(?=\[water\])", "a stream. Add [[stream]]"),
        (r"flow = [^\n]*\n", "the flow of a stream. Add [water] flow"),
        (r"pipe = [^\n]*\n", "the pipe of a stream. Add [water] pipe"),
        (r'basin = "vault"\n', "the basin of a stream. Add basin"),
    ],
)
def test_what_is_missing_is_named_with_what_to_add(
    hummock, site_file: Path, tmp_path: Path, drop: str, says: str
) -> None:
    text = re.sub(drop, "", site_file.read_text(encoding="utf-8"), flags=re.DOTALL)
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    (tmp_path / "shots.csv").write_bytes((site_file.parent / "shots.csv").read_bytes())
    ran = hummock("stream", tmp_path / "site.toml")
    assert ran.returncode == 2
    assert says in " ".join(ran.stderr.split())
    assert not (tmp_path / "out").exists()
