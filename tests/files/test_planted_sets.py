"""What somebody planted in a folder of results leads nowhere: no manifest, record, stage or link is followed out."""

from __future__ import annotations

import os
import shutil
import time
from pathlib import Path

import pytest
from sets_on_disk import NEW, SITE_B, old_folder, results, write

from terrain.errors import OutputError
from terrain.files.manifest import MANIFEST, inputs_of, listed
from terrain.files.set_check import check_set


@pytest.mark.parametrize("name", ["../site.toml", "/etc/passwd", "..", "a\\b", "C:x", "", "a\0b"])
def test_no_planted_manifest_or_record_reaches_outside_its_folder(tmp_path: Path, name: str) -> None:
    import json

    out = old_folder(tmp_path / "out")
    (tmp_path / "site.toml").write_text("x", encoding="utf-8")
    planted = json.loads((out / MANIFEST).read_text(encoding="utf-8"))
    planted["runs"][0]["files"][0]["name"] = name
    (out / MANIFEST).write_text(json.dumps(planted), encoding="utf-8")
    stage = out / ".hummock-planted"
    (stage / "new").mkdir(parents=True)
    (stage / "old").mkdir()
    leaving = [{"name": name, "size": 1, "sha256": listed(tmp_path / "site.toml").sha256}]
    (stage / "record.json").write_text(json.dumps({"names": [name], "leaving": leaving, "listed": True}))
    write(out, "shape", SITE_B, NEW)
    assert (tmp_path / "site.toml").read_text(encoding="utf-8") == "x"
    assert not stage.exists()
    assert results(out)["plan.pdf"] == "new plan"


@pytest.mark.parametrize("part", ["new", "old", "record.json", "lock"])
@pytest.mark.parametrize("kind", ["link", "pipe"])
def test_a_planted_stage_moves_nothing_out_of_its_folder(tmp_path: Path, part: str, kind: str) -> None:
    """A stage whose `old` led to a user's home would have put a planted file in the place of one of the user's."""
    out, home = old_folder(tmp_path / "out"), tmp_path / "home"
    home.mkdir()
    (home / ".profile").write_text("mine", encoding="utf-8")
    (out / ".profile").write_text("planted", encoding="utf-8")
    stage = out / ".hummock-planted"
    for name in ("new", "old"):
        (stage / name).mkdir(parents=True)
    (stage / "new" / ".profile").write_text("planted", encoding="utf-8")
    record = '{"names": [".profile"], "leaving": [], "listed": false}'
    (stage / "record.json").write_text(record, encoding="utf-8")
    (home / "record.json").write_text(record, encoding="utf-8")
    if (stage / part).is_dir():
        shutil.rmtree(stage / part)
    (stage / part).unlink(missing_ok=True)
    if kind == "pipe":
        os.mkfifo(stage / part)
    else:
        (stage / part).symlink_to(home / part if part == "record.json" else home)
    write(out, "shape", SITE_B, NEW)
    assert {path.name: path.read_text(encoding="utf-8") for path in home.iterdir()} == {
        ".profile": "mine",
        "record.json": record,
    }
    assert not stage.exists()
    assert results(out)["plan.pdf"] == "new plan"


def test_results_may_be_kept_where_a_link_leads(tmp_path: Path) -> None:
    out = old_folder(tmp_path / "elsewhere")
    (tmp_path / "out").symlink_to(out)
    write(tmp_path / "out", "shape", SITE_B, NEW)
    assert results(out)["plan.pdf"] == "new plan"
    assert (tmp_path / "out").is_symlink()


def test_a_result_that_became_a_link_is_missing(tmp_path: Path) -> None:
    out = old_folder(tmp_path / "out")
    (out / "plan.pdf").rename(tmp_path / "plan.pdf")
    (out / "plan.pdf").symlink_to(tmp_path / "plan.pdf")
    assert check_set(out).missing == ("plan.pdf",)


def test_a_text_that_names_a_huge_file_costs_no_time(tmp_path: Path) -> None:
    site = tmp_path / "site.toml"
    site.write_text('name = "a.bin"\nother = ["b.bin", "c.bin", "shots.csv"]', encoding="utf-8")
    (tmp_path / "shots.csv").write_text("x", encoding="utf-8")
    for name, size in (("a.bin", 2**38), ("b.bin", 2**31), ("c.bin", 2**31)):
        with (tmp_path / name).open("wb") as file:
            try:
                file.truncate(size)
            except OSError:
                pytest.skip("this disk has no files with holes")
    begun_at = time.monotonic()
    assert [one.name for one in inputs_of(site)] == ["site.toml", "shots.csv"]
    assert time.monotonic() - begun_at < 5.0


def test_planted_links_are_never_followed(tmp_path: Path) -> None:
    out = old_folder(tmp_path / "out")
    mine = tmp_path / "mine.txt"
    mine.write_text("mine", encoding="utf-8")
    (out / "view.png").symlink_to(mine)
    write(out, "shape", SITE_B, NEW)
    assert mine.read_text(encoding="utf-8") == "mine"
    assert not (out / "view.png").is_symlink()
    (out / ".hummock-lock").symlink_to(mine)
    with pytest.raises(OutputError, match="stands where a lock file belongs"):
        write(out, "shape", SITE_B, NEW)
    assert mine.read_text(encoding="utf-8") == "mine"
