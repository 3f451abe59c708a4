"""What the title block of a sheet says that no measurement tells: who drew and checked it, datum, revisions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from terrain.site.ranges import Checked
from terrain.site.written import Text, WrittenAs


@dataclass(frozen=True)
class Revision(Checked):
    """One revision of the drawings: its mark ("B"), when ("2026-05-04"), and what changed."""

    mark: Text
    date: Annotated[str, WrittenAs("date")]
    what: Text


@dataclass(frozen=True)
class Drafting(Checked):
    """Who stands for the drawings.

    Parameters
    ----------
    drawn, checked
        Names; "" leaves a line to sign on.
    datum
        The datum of the elevations and its benchmark in words; "": that of the shots.
    revision
        Every revision, the latest last.
    """

    drawn: Text = ""
    checked: Text = ""
    datum: Text = ""
    revision: tuple[Revision, ...] = ()
