"""One new yard on the page: what was typed, what the flow makes of it, what is saved; knows no network."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from terrain.errors import InputError, OutputError
from terrain.flow import Study, run_site
from terrain.interview import (
    Answers,
    Entries,
    Filled,
    files_of,
    read_entries,
    site_of_answers,
    taped_length,
    with_row,
    with_text,
    without_row,
)
from terrain.units import Units
from viewer.web.live.frames import Plain
from viewer.web.live.history import History
from viewer.web.new.asked import ADD, CHANGE, DROP, SET, Edit
from viewer.web.new.draft import NAMES, YardDraft, read_yard_draft, write_yard_draft, yard_draft_path
from viewer.web.new.shown import figures_of, frames_of, state_of

WriteFiles = Callable[[Mapping[str, bytes]], None]
BED, TREES = "bed", "trees"


class NewYard:
    """The state of the page of a new yard.

    Parameters
    ----------
    folder
        The site folder, which holds none of its files yet, or those that an earlier page of it saved.
    units
        Taken where nobody says.
    write
        Writes the files of the folder, all or none.

    Raises
    ------
    OutputError
        Where the folder holds files of somebody else, or a draft that cannot be read.
    """

    def __init__(self, folder: Path, units: Units, write: WriteFiles) -> None:
        self.folder, self.units, self.write = folder, units, write
        draft = read_yard_draft(folder, units)
        self.saved = dict(draft.saved)
        self._refuse_foreign()
        self.history: History[Entries] = History(draft.entries)
        self.found_again = sum(map(len, draft.entries.values()))
        self.filled = read_entries(draft.entries, units)
        self.last: tuple[Mapping[str, str], Study] | None = None

    def _refuse_foreign(self) -> None:
        """Raise OutputError where a file of the folder is not as this page saved it: nothing is ever overwritten."""
        there = [name for name in NAMES if (self.folder / name).exists() or (self.folder / name).is_symlink()]
        foreign = [name for name in there if not self._is_ours(name)]
        if foreign:
            said = f"{self.folder}: {', '.join(foreign)} already there, nothing was written. Give a new folder's name."
            kept = yard_draft_path(self.folder)
            more = f" What was typed on a page before is kept in {kept.name}." if kept.exists() else ""
            raise OutputError(said + more)

    def _is_ours(self, name: str) -> bool:
        path = self.folder / name
        if name not in self.saved or path.is_symlink():
            return False
        try:
            return path.read_bytes() == self.saved[name].encode()
        except OSError:
            return False

    @property
    def files(self) -> Mapping[str, str]:
        """The files that the answers make."""
        return files_of(self.filled.answers)

    @property
    def unsaved(self) -> bool:
        """Whether anything was typed that the saved files do not hold."""
        return bool(self.history.now) and (bool(self.filled.waits) or self.files != self.saved)

    def edit(self, edit: Edit) -> None:
        """Take one thing typed, tapped, moved or taken out; one that is refused changes nothing.

        Raises
        ------
        InputError
            With what would be accepted; an `EntryError` names the question and the row.
        """
        now, key, row = self.history.now, edit.key, edit.row
        if edit.what == SET:
            entries = with_text(now, key, edit.text)
        elif edit.what == DROP:
            entries = without_row(now, key, row, self.units)
        else:
            entries = with_row(now, key, row if edit.what == CHANGE else 0, edit.text, self.units)
        filled = read_entries(entries, self.units)
        if key == TREES and edit.what in (ADD, CHANGE) and filled.waits and not self.filled.waits:
            raise InputError("", filled.waits[0][1])
        self._stand(self.history.changed(entries), filled)

    def go(self, history: History[Entries]) -> None:
        """Stand at another step."""
        self._stand(history, read_entries(history.now, self.units))

    def _stand(self, history: History[Entries], filled: Filled) -> None:
        self.history, self.filled = history, filled

    def keep_draft(self) -> None:
        """Keep what is not saved in the folder. `OSError` or `OutputError` where it cannot be written."""
        if self.unsaved:
            write_yard_draft(self.folder, YardDraft(self.history.now, self.saved))
        else:
            yard_draft_path(self.folder).unlink(missing_ok=True)

    def state(self) -> Plain:
        """Everything that was typed, how it was understood, and the places of it."""
        steps = {"undo": bool(self.history.past), "redo": bool(self.history.future)}
        return {**state_of(self.filled), **steps, "unsaved": self.unsaved, "saved": bool(self.saved)}

    @property
    def worked(self) -> Answers | None:
        """The answers that the flow can work: while shots cannot carry a surface, those without them."""
        answers, waits = self.filled.answers, [key for key, _ in self.filled.waits]
        if not waits:
            return answers
        return replace(answers, shots=(), again=None, measured="no") if set(waits) == {"shots"} else None

    def study(self, answers: Answers) -> Study:
        """Answers worked through, by the same flow as every command. `InputError` where the yard cannot be."""
        files = files_of(answers)
        if self.last is None or self.last[0] != files:
            earlier = self.last and self.last[1]
            self.last = files, run_site(site_of_answers(answers), earlier=earlier or None)
        return self.last[1]

    def figures(self, answers: Answers, seq: int) -> tuple[bytes, bytes]:
        """The ground, and the mound with all that is said of it, as messages. `InputError` as for `study`."""
        study = self.study(answers)
        shots = [(x, y) for x, y, _ in self.filled.answers.shots]
        return frames_of(study, {"seq": seq, **figures_of(study, shots)})

    def taped(self, text: str) -> float:
        """A length taped in the picture, metres. `InputError` where it is none."""
        return taped_length(text, self.filled.answers.units)

    def save(self) -> str:
        """Write the folder and say what to type next.

        Raises
        ------
        InputError
            Where something has to be settled first.
        OutputError
            Where a file was changed by somebody else, or cannot be written.
        """
        if self.filled.waits:
            raise InputError("", self.filled.waits[0][1], "Settle this, then save.")
        self._refuse_foreign()
        files = self.files
        self.write({name: text.encode() for name, text in files.items()})
        for name in set(self.saved) - set(files):
            (self.folder / name).unlink(missing_ok=True)
        self.saved = dict(files)
        self.keep_draft()
        return f"Saved {', '.join(sorted(files, reverse=True))} in {self.folder}."

    @property
    def next_command(self) -> str:
        """What to type once the yard is saved."""
        return f"hummock shape {self.folder / NAMES[0]}"

    def opening_words(self) -> str:
        """What the page says when it opens."""
        if not self.found_again:
            return ""
        count = f"{self.found_again} entr{'y' if self.found_again == 1 else 'ies'}"
        return f"{count} of an earlier time were found and brought back. They are not saved in site.toml yet."
