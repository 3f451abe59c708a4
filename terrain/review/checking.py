"""A check of a proposal: what it asks, what it needs to know, who has the last word, and the verdict that it comes to.

Every check has one entry in `terrain.review.check_list`: findings, terminal, sheet and summary follow from it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal, get_args

from terrain.findings import Finding
from terrain.ground import Ground
from terrain.look import Look
from terrain.review.drainage import Drainage
from terrain.review.model import TreeCheck
from terrain.review.words import listed
from terrain.shape import Proposal
from terrain.site import Site
from terrain.soil import Earthwork, Order
from terrain.waterworks import StreamNeeds

Word = Literal["stop", "look", "fine", "not checked"]
WORDS: tuple[Word, ...] = get_args(Word)
ARBORIST = "an arborist"
PERMIT_OFFICE = "the permit office"
ENGINEER = "an engineer"
UPRIGHT = "which way is up"  # the check that is told before all else


@dataclass(frozen=True)
class Yard:
    """All that a check may look at: the stages of one proposal, and what several checks share, worked out once."""

    site: Site
    ground: Ground
    proposal: Proposal
    work: Earthwork
    order: Order
    trees: tuple[TreeCheck, ...]
    look: Look
    drainage: Drainage
    streams: tuple[StreamNeeds, ...] = ()


def nothing(yard: Yard) -> str:
    """What a check lacks that needs nothing from the site file."""
    return ""


@dataclass(frozen=True)
class Check:
    """One check.

    Parameters
    ----------
    name
        Two or three words that stand on every list; no two checks share one.
    topic
        As a finding's.
    holds
        What is so where the check finds nothing, as a clause: "no soil comes near a trunk".
    find
        The findings; none where all is well.
    lacks
        What the site file does not say and the check cannot do without, as words after "for lack of"; "" where it says
        all. What a design may leave out (a basin, a wall) lacks nothing: where there is none, all is well with it.
    decides
        Who has the last word by law or licence; "" where that is nobody but the people on site.
    """

    name: str
    topic: str
    holds: str
    find: Callable[[Yard], Iterable[Finding]] = field(compare=False)  # the name tells one check from another
    lacks: Callable[[Yard], str] = field(default=nothing, compare=False)
    decides: str = ""


@dataclass(frozen=True)
class Verdict:
    """What a check came to: its word, what it lacked ("" for nothing), and its findings."""

    check: Check
    word: Word
    lack: str
    findings: tuple[Finding, ...]


def judged(check: Check, yard: Yard) -> Verdict:
    """Make a check: its worst finding speaks (a caution is a "look"), then what it lacked; a note is fine.

    Nothing is said of how water runs, or of shots, where the ground is a guess.
    """
    if check.topic in ("drainage", "ground") and check.name != UPRIGHT and not yard.site.survey.measured:
        return Verdict(check, "not checked", "a survey of the ground", ())
    lack, found = check.lacks(yard), tuple(check.find(yard))
    levels = {finding.level for finding in found}
    word: Word = "stop" if "stop" in levels else "look" if "caution" in levels else "not checked" if lack else "fine"
    return Verdict(check, word, lack, found)


def count_words(verdicts: Sequence[Verdict]) -> str:
    """ "2 stop, 7 look, 21 fine, 3 not checked for lack of a lot line and a walk": every verdict in one line."""
    words = [verdict.word for verdict in verdicts]
    told = ", ".join(f"{words.count(word)} {word}" for word in WORDS if word in words)
    lacks = dict.fromkeys(verdict.lack for verdict in verdicts if verdict.word == "not checked")
    return f"{told} for lack of {listed(list(lacks))}" if lacks else told
