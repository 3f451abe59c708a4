"""What the page says in words: order, trees, look and findings as small pieces of HTML, every text escaped."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from html import escape
from typing import Protocol

from terrain.findings import Finding
from terrain.in_one_piece import in_one_piece
from terrain.look import Look, Sign
from terrain.review import TreeCheck, limit_words
from terrain.shape import Proposal
from terrain.site import Site
from terrain.soil import Order, Volumes, buy_words, left_words, money
from terrain.units import Units, show_length, show_slope, show_span, show_volume
from viewer.page import section_at

Row = tuple[str, str]
# The class of a limit's line and the mark before it.
_VERDICTS = {True: ("kept", "✓ kept"), False: ("broken", "✗ broken"), None: ("care", "… judged at rest")}
LEVEL_WORDS = {"stop": "Stop", "caution": "Caution", "note": "Note"}
LEVEL_MARKS = {"stop": "■", "caution": "▲", "note": "●"}


class TreeFigures(Protocol):
    """What a tree's line is told from: a `TreeCheck`, or the live page's quick one."""

    @property
    def name(self) -> str:
        """The tree's name."""

    @property
    def keep_off(self) -> float:
        """Metres."""

    @property
    def fill_in_keep_off(self) -> float:
        """Soil in the keep-off, m3."""

    @property
    def deepest_fill_in_root_zone(self) -> float:
        """Metres."""

    @property
    def share_of_root_zone_covered(self) -> float:
        """Fraction."""


def headline(units: Units, order: Order, proposal: Proposal) -> str:
    """The result in one line."""
    height = show_length(float(proposal.fill.max()), units)
    return f"{buy_words(order, units)} to order; {height} at the top"


def order_rows(site: Site, work: Volumes, order: Order, proposal: Proposal) -> Iterator[Row]:
    """The soil order, line by line."""
    units, soil = site.units, site.soil
    yield "Soil to order", buy_words(order, units)
    yield "Expected", show_volume(order.expected, units, "loose")
    yield "90 % range", show_span(order.low, order.high, units)
    if order.on_hand > 0.0:
        yield "On hand", show_volume(order.on_hand, units, "loose")
        left = left_words(order, units)
        if left:
            yield "Left over", left
    if order.haul.trucks and soil.truck is not None:
        yield "Trucks", f"{order.haul.trucks} of {show_volume(soil.truck, units)}"
    if order.haul.barrows:
        yield "Barrows", f"{order.haul.barrows}"
    if order.cost is not None:
        yield "Cost", money(order.cost)
    yield "Mound in place", show_volume(work.fill_placed, units, "placed")
    if work.sod:
        yield "Sod to strip", show_volume(work.sod, units)
    if work.mulch:
        yield "Mulch", show_volume(work.mulch, units)
    height = float(proposal.fill.max())
    yield "Height at the top", show_length(height, units)
    if soil.settlement > 0.0:
        yield "Build on day one", show_length(height * (1.0 + soil.settlement), units)


def limit_rows(site: Site, proposal: Proposal, trees: Iterable[TreeFigures]) -> Iterator[tuple[bool | None, str]]:
    """Each limit: whether it is kept, None where that is not known yet, and in words.

    While a hand drags only the keep-off is looked at, so that no tree is called kept before its root zone was judged.
    """
    limit = site.berm.max_slope
    words = f"Steepest side {show_slope(proposal.steepest)}, limit {show_slope(limit)}"
    yield proposal.steepest <= limit + 1e-6, words
    for tree in trees:
        if isinstance(tree, TreeCheck):
            tree_kept, said = limit_words(tree, site.units)
            yield tree_kept, f"{tree.name}: {said}"
            continue
        clear = tree.fill_in_keep_off == 0.0
        soil = "no soil" if clear else show_volume(tree.fill_in_keep_off, site.units)
        radius = show_length(tree.keep_off, site.units, "distance")
        yield None if clear else False, f"{tree.name}: {soil} within {radius} of the trunk's centre"


def order_html(site: Site, work: Volumes, order: Order, proposal: Proposal) -> str:
    """The order as a table; the first line is the one to read."""
    rows = "".join(
        f'<tr{" class=first" if k == 0 else ""}><th scope="row">{escape(label)}</th><td>{escape(text)}</td></tr>'
        for k, (label, text) in enumerate(order_rows(site, work, order, proposal))
    )
    return f"<table><tbody>{rows}</tbody></table>"


def limits_html(site: Site, proposal: Proposal, trees: Sequence[TreeFigures]) -> str:
    """Limits, trees and crest points that were held, each with a word before it."""
    lines = [_line(*_VERDICTS[kept], words) for kept, words in limit_rows(site, proposal, trees)]
    for tree in trees:
        if tree.deepest_fill_in_root_zone > 0.0:
            depth = show_length(tree.deepest_fill_in_root_zone, site.units)
            share = f"{100 * tree.share_of_root_zone_covered:.0f} %"
            lines.append(
                _line("care", "▲ ask", f"{tree.name}: soil up to {depth} deep over {share} of its root protection zone")
            )
    for number, point in enumerate(proposal.crest, start=1):
        if point.held_by:
            wished, built = (show_length(v, site.units) for v in (point.wished, point.built))
            words = f"High point {number}: {wished} wished, {built} built, held by {point.held_by}"
            lines.append(_line("care", "▲ held", words))
    return f"<ul class=lines>{''.join(lines)}</ul>"


def look_html(look: Look, site: Site, proposal: Proposal, corner: tuple[float, float]) -> str:
    """Whether the mound reads natural, and each sign against it: how rare it is, what would help, and its place.

    A sign's line shows the place on the plan and the section through it; `corner` is the page's, metres.
    """
    verdict = {
        "natural": _line("kept", "✓ natural", "The mound reads natural."),
        "look here": _line("kept", "✓ natural", "The mound reads natural, but look here:"),
    }.get(look.verdict, _line("care", "▲ made", "The mound reads as made:"))
    lines = [verdict, *(_sign_line(sign, site, proposal, corner) for sign in look.present)]
    return f"<ul class=lines>{''.join(lines)}</ul>"


def findings_html(findings: Sequence[Finding], corner: tuple[float, float]) -> str:
    """All findings, worst first, each with its level in a word and a mark; `corner` is the page's, in metres."""
    if not findings:
        return "<p>Nothing to add.</p>"
    lines = []
    for finding in findings:
        mark = f"<b><span aria-hidden=true>{LEVEL_MARKS[finding.level]}</span> {LEVEL_WORDS[finding.level]}</b>"
        source = f" <span class=source>Source: {escape(finding.source)}.</span>" if finding.source else ""
        where = _where(finding, corner) if finding.at else ""
        lines.append(f"<li class={finding.level}>{mark} {_running(finding.text)}{source}{where}</li>")
    return f"<ul class=findings>{''.join(lines)}</ul>"


def _where(finding: Finding, corner: tuple[float, float]) -> str:
    """A button that marks the finding's place on the plan."""
    assert finding.at is not None
    x, y = finding.at[0] - corner[0], finding.at[1] - corner[1]
    return f' <button type=button class=where data-x="{x:.3f}" data-y="{y:.3f}">Show where</button>'


def _sign_line(sign: Sign, site: Site, proposal: Proposal, corner: tuple[float, float]) -> str:
    """A sign's line, which shows its place when it is touched; its button does so for a keyboard."""
    if sign.at is None:
        return _line("care", f"▲ {sign.name}", sign.explained)
    cut = section_at(site, proposal, sign.at)
    (x, y), start, end = ((at[0] - corner[0], at[1] - corner[1]) for at in (sign.at, cut.start, cut.end))
    return (
        f'<li class="care shows" data-x="{x:.3f}" data-y="{y:.3f}" data-cut="{start[0]:.3f} {start[1]:.3f} '
        f'{end[0]:.3f} {end[1]:.3f}"><b>▲ {escape(sign.name)}</b> {_running(sign.explained)} '
        f'<button type=button class=where aria-label="Show where: {escape(sign.name)}">Show where</button></li>'
    )


def _line(kind: str, mark: str, words: str) -> str:
    return f"<li class={kind}><b>{escape(mark)}</b> {_running(words)}</li>"


def _running(text: str) -> str:
    """Running text, escaped, with each of its measures held in one piece."""
    return re.sub(
        r"\S*\0\S*", lambda held: f"<span class=held>{held[0]}</span>", escape(in_one_piece(text, "\0"))
    ).replace("\0", " ")


def crew_choice() -> str:
    """The choice of the crew's view."""
    return '<label><input type="radio" name="state" value="2"><span>Crew: day one</span></label>'


def benchmark_html(crew: Mapping[str, object] | None, units: Units) -> str:
    """Where the crew sets its level, shown with its view; nothing where no shot serves."""
    level = crew and crew["benchmark"]
    if not isinstance(level, dict):
        return ""
    told = show_length(float(level["elevation"]), units, "elevation")
    return (
        f'<p id="benchmark" class="reading" hidden>Benchmark: {escape(str(level["name"]))} stands at {told}. '
        "Touch a stake to read what to build there.</p>"
    )
