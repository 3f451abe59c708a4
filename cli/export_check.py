"""`hummock export --check`: whether the results in a folder are whole sets that belong together, and tell the same."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from cli.ending import end
from cli.options import out_folder
from terrain.files import MANIFEST, ReadBack, Run, SetCheck, check_set, read_all_back
from terrain.units import show_volume


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
    """Say what was found and leave with status 0 for whole sets whose files all tell the same, else 1.

    Raises `InputError` where the folder holds no set.
    """
    found = check_set(folder)
    listed = [file.name for run in found.runs for file in run.files if file.name not in found.missing]
    back = read_all_back(folder, listed)
    end(
        _plain(found, back),
        as_json=as_json,
        report=lambda: click.echo("\n".join([*_lines(folder, found), *_told(folder, back)])),
        stopped=not (found.whole and back.agrees),
    )


def _plain(found: SetCheck, back: ReadBack) -> dict[str, object]:
    plain = {"format": "hummock-check/1", "whole": found.whole, "from_one_site": not found.apart}
    runs = [asdict(run) for run in found.runs]
    told = [{"what": one.what, "agree": one.agree, "apart": one.apart, "files": dict(one.values)} for one in back.told]
    sets = {"missing": found.missing, "changed": found.changed, "others": found.others, "runs": runs}
    return {**plain, **sets, "read": back.read, "broken": back.broken, "told": told, "agrees": back.agrees}


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


def _told(folder: Path, back: ReadBack) -> list[str]:
    """What the files tell, read back."""
    lines = [f"Cannot be read: {fault}" for fault in back.broken]
    for one in back.told:
        if one.agree:
            near = f" within {100.0 * one.apart:.2f} %" if one.apart else ""
            lines.append(f"{one.what.capitalize()}: {_shown(one.values[0][1])} in {len(one.values)} files{near}.")
        else:
            values = "; ".join(f"{name} {_shown(value)}" for name, value in one.values)
            lines.append(f"{one.what.capitalize()} differs: {values}.")
    agree = "they agree" if back.agrees else "they do not agree"
    return [*lines, f"{folder}: {len(back.read)} files read back, {agree}."]


def _shown(value: object) -> str:
    """A volume in both units, for a folder does not say which its yard is in; other values as they are."""
    if not isinstance(value, float):
        return str(value)
    return f"{show_volume(value, 'ft')} ({show_volume(value, 'm')})"


def _wording(run: Run) -> str:
    inputs = "".join(f", {one.name} {one.sha256[:8]}" for one in run.inputs[:1])
    return f"{run.command} at {run.time}, run {run.run}{inputs}: {len(run.files)} files"
