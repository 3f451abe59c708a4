"""`hummock export --check`: whether the results in a folder are whole sets that belong together."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from cli.ending import end
from cli.options import out_folder
from terrain.files import MANIFEST, Run, SetCheck, check_set


def results_meant(checked: str, site_file: Path | None, out: Path | None) -> Path:
    """The folder to check: the one named, or the one that the results of a site file go to."""
    named = Path(checked) if checked else out
    if named is not None and named.is_file():
        return out_folder(named, None)
    if named is not None:
        return named
    if site_file is not None:
        return out_folder(site_file, None)
    return Path() if Path(MANIFEST).exists() else Path("out")


def check_results(folder: Path, as_json: bool) -> None:
    """Say what was found and leave with status 0 for whole sets, else 1.

    Raises `InputError` where the folder holds no set.
    """
    found = check_set(folder)
    end(
        _plain(found),
        as_json=as_json,
        report=lambda: click.echo("\n".join(_lines(folder, found))),
        stopped=not found.whole,
    )


def _plain(found: SetCheck) -> dict[str, object]:
    plain = {"format": "hummock-check/1", "whole": found.whole, "from_one_site": not found.apart}
    runs = [asdict(run) for run in found.runs]
    return {**plain, "missing": found.missing, "changed": found.changed, "others": found.others, "runs": runs}


def _lines(folder: Path, found: SetCheck) -> list[str]:
    lines = [_wording(run) for run in found.runs]
    if found.missing:
        lines.append(f"Missing: {', '.join(found.missing)}. Run the command again.")
    if found.changed:
        lines.append(
            f"Not as their run wrote them: {', '.join(found.changed)}. Run the command again, or keep them apart."
        )
    if found.apart:
        lines.append("These runs did not read the same site: the site file or a file beside it was changed in between.")
        lines.append("Run those commands again that were run before the change.")
    if found.others:
        lines.append(f"Of no run: {', '.join(found.others)}.")
    lines.append(f"{folder}: every set is whole." if found.whole else f"{folder}: not a whole set.")
    return lines


def _wording(run: Run) -> str:
    inputs = "".join(f", {one.name} {one.sha256[:8]}" for one in run.inputs[:1])
    return f"{run.command} at {run.time}, run {run.run}{inputs}: {len(run.files)} files"
