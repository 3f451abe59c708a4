"""The checks of streams: a part of the list of every check."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from terrain.findings import Finding
from terrain.review.checking import PERMIT_OFFICE, Check, Verdict, Yard
from terrain.review.running_water import (
    bank_findings,
    basin_of_stream_findings,
    people_findings,
    pump_findings,
    sill_findings,
    storm_findings,
)
from terrain.review.stream_banks import raised_findings
from terrain.review.stream_drops import drop_findings
from terrain.review.words import listed
from terrain.waterworks import StreamNeeds, lacks


def _each(find: Callable[[Yard, StreamNeeds], Iterable[Finding]]) -> Callable[[Yard], Iterator[Finding]]:
    return lambda yard: (finding for needs in yard.streams for finding in find(yard, needs))


def _each_basin(yard: Yard) -> Iterator[Finding]:
    """Every basin once, by the first of the streams that run out of it."""
    first = {needs.materials.basin: needs for needs in reversed(yard.streams)}
    return (finding for needs in first.values() for finding in basin_of_stream_findings(yard.site.units, needs))


def _unsaid(yard: Yard) -> str:
    """What a stream's needs cannot be worked without; a yard without a stream lacks nothing."""
    unsaid = [what for what, _ in lacks(yard.site)]
    return listed(unsaid) if yard.site.stream and unsaid else ""


STREAM_CHECKS: tuple[Check, ...] = (
    Check(
        "drops of a stream",
        "shape",
        "every stream's drops take the fall of its bed",
        lambda yard: drop_findings(yard.site, [bed.section for bed in yard.proposal.streams]),
    ),
    Check(
        "ground beside a stream",
        "shape",
        "no bank of a stream asks more of the mound than its form has",
        lambda yard: raised_findings(yard.site, yard.proposal),
    ),
    Check(
        "basin of a stream",
        "drainage",
        "every basin gives what its stream takes, and dries off in no week",
        _each_basin,
        _unsaid,
    ),
    Check(
        "banks of a stream",
        "drainage",
        "running water stays under its banks by the edge asked for",
        _each(lambda yard, needs: bank_findings(yard.site, needs)),
        _unsaid,
    ),
    Check(
        "sills of a stream",
        "shape",
        "no sill stands on soil that settles",
        _each(lambda yard, needs: sill_findings(yard.site, needs)),
        _unsaid,
    ),
    Check(
        "pump and pipe",
        "drainage",
        "the pipe is wide enough and the pump stated gives the flow asked for",
        _each(lambda yard, needs: pump_findings(yard.site.units, needs)),
        _unsaid,
    ),
    Check(
        "streams in a storm",
        "drainage",
        "no stream catches rain",
        _each(lambda yard, needs: storm_findings(yard.site.units, needs)),
        _unsaid,
        PERMIT_OFFICE,
    ),
    Check(
        "people beside a stream",
        "safety",
        "no stream runs",
        lambda yard: people_findings(yard.site, yard.streams),
        _unsaid,
        f"{PERMIT_OFFICE} and an electrician",
    ),
)


def stream_findings(verdicts: Sequence[Verdict]) -> tuple[Finding, ...]:
    """What the checks of streams found, in their order."""
    return tuple(finding for verdict in verdicts if verdict.check in STREAM_CHECKS for finding in verdict.findings)
