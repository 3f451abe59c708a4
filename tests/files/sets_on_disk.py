"""A folder with sets of results in it, for the tests of sets."""

from __future__ import annotations

from pathlib import Path

from terrain.files.manifest import MANIFEST, Listed, begun
from terrain.files.sets import staged

SITE_A, SITE_B = (Listed("site.toml", 1, mark * 64) for mark in "ab")
OLD = {"plan.pdf": "old plan", "summary.json": "old summary", "plan-set.pdf": "old set"}
NEW = {"plan.pdf": "new plan", "summary.json": "new summary", "view.png": "new view"}


def write(out: Path, command: str, site: Listed, files: dict[str, str]) -> None:
    with staged(out, begun(command, (site,))) as stage:
        for name, text in files.items():
            (stage / name).write_text(text, encoding="utf-8")


def old_folder(out: Path, *, manifest: bool = True) -> Path:
    out.mkdir()
    (out / "notes.txt").write_text("a stranger's", encoding="utf-8")
    write(out, "shape", SITE_A, OLD)
    write(out, "order", SITE_A, {"order.pdf": "old order"})
    if not manifest:
        (out / MANIFEST).unlink()
    return out


def visible(out: Path) -> dict[str, str]:
    return {p.name: p.read_text(encoding="utf-8") for p in out.iterdir() if p.is_file() and not p.name.startswith(".")}


def results(out: Path) -> dict[str, str]:
    return {name: text for name, text in visible(out).items() if name in {*OLD, *NEW}}
