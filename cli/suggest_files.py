"""Every file that `suggest` writes: the contact sheet, a site file for each form, the summary."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from terrain.files import as_json, summary_of
from terrain.flow import Study, run_site
from terrain.site import Site, workbook_as_text
from terrain.soil import round_offset
from terrain.suggest import Sight, Suggestion, WindingLine, Wishes, bare_words, hidden_share, suggest, winding_lines
from terrain.survey import WORKBOOKS
from viewer.beside import on_both_cores
from viewer.pictures import Frame, draw_contact_sheet
from viewer.web import read_exactly, wish_of_site, with_wish_written

# Keys whose value may be the path of a file beside the site file.
FILE_KEYS = {"shots", "breaklines", "ties", "offsets", "level_book", "outline", "line", "boundary"}
AS_DRAWN = "as drawn"
# The keys of the summary that are told of each suggestion.
TOLD = ("berm", "earthwork", "soil", "order", "trees", "look", "findings")


@dataclass(frozen=True)
class Suggested:
    """The yard as drawn, the suggestions, and lines for straight streams to wind."""

    drawn: Study
    suggestions: tuple[Suggestion, ...]
    wishes: Wishes
    winding: tuple[WindingLine, ...] = ()

    @property
    def studies(self) -> tuple[Study, ...]:
        """The yard worked through with each suggestion."""
        return tuple(one.study for one in self.suggestions)

    @property
    def sights(self) -> tuple[Sight, ...]:
        """What is to be hidden, and what is to stay in sight."""
        return (*self.wishes.hide, *self.wishes.see)

    def hidden(self, sight: Sight) -> tuple[float, ...]:
        """Share of what is looked at that each frame's form hides, in the order of `frames`."""
        return tuple(
            hidden_share(sight, study.ground, study.proposal.elevation) for study in (self.drawn, *self.studies)
        )

    @property
    def frames(self) -> tuple[Frame, ...]:
        """What the contact sheet shows: the form as drawn, then the others by their numbers."""
        hidden = [self.hidden(sight) for sight in self.sights]
        told = [
            tuple(
                (f"hides {sight.words}", hidden_words(shares[k]))
                for sight, shares in zip(self.sights, hidden, strict=True)
            )
            for k in range(1 + len(self.studies))
        ]
        named = (
            Frame(f"{number}  {one.name}", study, one.sentence, (("unlike drawn", _share(one.unlike)), *told[number]))
            for number, (one, study) in enumerate(zip(self.suggestions, self.studies, strict=True), 1)
        )
        # The form as drawn may leave an arm bare as well, and says so too.
        bare = bare_words(self.drawn.proposal, self.drawn.proposal).strip()
        return (Frame(AS_DRAWN, self.drawn, bare, told[0]), *named)


def hidden_words(share: float) -> str:
    """ "34 %"; "none" and "all" only where it is."""
    if share in (0.0, 1.0):
        return "all" if share else "none"
    return f"{min(max(round(100.0 * share), 1), 99)} %"


def _share(part: float) -> str:
    return f"{100.0 * part:.0f} %"


def suggest_forms(site: Site, progress: Callable[[str], None], wishes: Wishes) -> Suggested:
    """Work the yard through as drawn, and search for other forms."""
    drawn = run_site(site, progress=progress)
    found = suggest(site, drawn.ground, progress, wishes, on_both_cores)
    winding = tuple(winding_lines(site, drawn.ground, drawn.proposal))
    return Suggested(drawn, found, wishes, winding)


def summary_with_suggestions(worked: Suggested) -> dict[str, object]:
    """The keys of the summary for the yard as drawn, and the others under "suggestions"."""
    listed = []
    for number, (one, study) in enumerate(zip(worked.suggestions, worked.studies, strict=True), 1):
        whole = _summary(study)
        told: dict[str, object] = {"number": number, "name": one.name, "sentence": one.sentence, "file": _file(number)}
        told["not_in_common"] = one.unlike
        told["soil_of_drawn"] = one.takes
        told["hidden"] = {sight.words: worked.hidden(sight)[number] for sight in worked.sights}
        listed.append(told | {key: whole[key] for key in TOLD})
    winding = [
        {"stream": one.name, "line_m": one.line, "length_m": one.section.length, "fall_m": one.section.fall}
        for one in worked.winding
    ]
    return {**_summary(worked.drawn), "suggestions": listed, "winding_lines": winding}


def _summary(study: Study) -> dict[str, object]:
    return summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod))


def _file(number: int) -> str:
    return f"suggest-{number}.toml"


def write_suggestions(
    worked: Suggested,
    site_file: Path,
    summary: dict[str, object],
    folder: Path,
    final: Path,
    progress: Callable[[str], None],
) -> tuple[str, ...]:
    """Write suggest.png, suggest.pdf, suggest.svg, suggest-1.toml and so on, and summary.json; answers their names.

    What was measured comes along as suggest-shots.csv and the like: a site file reads what lies in its own folder.

    Parameters
    ----------
    folder
        An existing folder to write into.
    final
        The folder that the files end up in: the paths inside the site files start there.
    """
    progress("drawing the contact sheet")
    draw_contact_sheet(worked.frames, folder)
    progress("writing the site files")
    text = workbook_as_text(site_file) if site_file.suffix.lower() in WORKBOOKS else read_exactly(site_file)
    files = Measurements(site_file.parent, folder, final)
    for number, one in enumerate(worked.suggestions, 1):
        written = suggestion_text(text, worked.drawn.site, one, number, files)
        (folder / _file(number)).write_bytes(written.encode("utf-8"))
    (folder / "summary.json").write_text(as_json(summary), encoding="utf-8")
    return tuple(sorted(path.name for path in folder.iterdir()))


@dataclass(frozen=True)
class Measurements:
    """The files that a site file names, and where the suggestions find them.

    Parameters
    ----------
    home
        The folder of the site file.
    folder
        Where the files of this run are written.
    final
        The folder that they end up in.
    """

    home: Path
    folder: Path
    final: Path

    def name(self, named: str) -> str:
        """The name under which a suggestion reads a file: its path from the new folder, or that of a copy there."""
        path = (self.home / named).resolve()
        if path.is_relative_to(self.final.resolve()):
            return path.relative_to(self.final.resolve()).as_posix()
        copy = "-".join(("suggest", *(part for part in Path(named).parts if part not in ("..", path.anchor))))
        if not (self.folder / copy).exists():
            shutil.copyfile(path, self.folder / copy)
        return copy


def suggestion_text(text: str, site: Site, one: Suggestion, number: int, files: Measurements) -> str:
    """The site file's text with a suggestion's crest and toe: comments stay, files are found from the new folder."""
    import tomlkit

    text = with_wish_written(text.lstrip("\ufeff"), wish_of_site(site), wish_of_site(one.site), site.units)
    document = tomlkit.parse(text)
    document["name"] = f"{site.name}: {one.name}"
    _find_files(document, files)
    head = f"# Suggestion {number} by `hummock suggest`: {one.name}. {one.sentence}\n"
    return head + tomlkit.dumps(document)


def _find_files(table: Any, files: Measurements) -> None:
    """Rewrite every path of a file beside the old site file so that the suggestion finds it in its own folder."""
    for key, value in list(table.items()):
        if key in FILE_KEYS and isinstance(value, str) and (files.home / value).is_file():
            table[key] = files.name(value)
        elif hasattr(value, "items"):
            _find_files(value, files)
        elif isinstance(value, list):
            for item in value:
                if hasattr(item, "items"):
                    _find_files(item, files)
