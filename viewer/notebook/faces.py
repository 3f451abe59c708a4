"""What a notebook shows of a stage: a small plan beside its key figures. Every text of a site file is escaped."""

from __future__ import annotations

import html
from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from terrain.findings import Finding
from terrain.flow import Study
from terrain.grid import Array, Grid
from terrain.ground import Ground
from terrain.review import Review, count_words
from terrain.shape import Proposal
from terrain.site import Site
from terrain.soil import Order, buy_words, sure_words
from terrain.units import show_area, show_length, show_slope, show_volume
from viewer.notebook.small_plan import Stroke, plan_svg
from viewer.page import (
    BUILDING,
    EXISTING,
    FAINT,
    FILL_STEPS,
    KEEP_OFF,
    OUTLINE,
    PROPOSED,
    SOIL,
    TREE,
    WALK,
    contour_lines,
    footprint,
    levels_between,
    tree_circles,
)

Rows = Iterable[tuple[str, str]]
_CONTOURS = 8  # at most, on a plan as small as a stamp
_TOLD = 12  # findings at most


def site_html(site: Site) -> str:
    """The yard as it was measured, and what is wanted of it."""
    units = site.units
    rows = [
        ("shots", f"{len(site.survey.shots)}" if site.survey.measured else "nobody measured the ground"),
        ("bed", show_area(site.bed.outline.area, units)),
        ("trees", ", ".join(f"{tree.name} ({show_length(tree.trunk, units)})" for tree in site.tree) or "none"),
        ("steepest side", show_slope(site.berm.max_slope)),
        ("soil", site.soil.kind),
    ]
    shots = site.survey.shots if site.survey.measured else ()
    return _face(site.name, rows, plan_svg(_yard(site), [("", (float(x), float(y))) for x, y, *_ in shots]))


def ground_html(ground: Ground) -> str:
    """The existing grade by its contours, in metres: a ground knows no other unit."""
    low, high = float(ground.elevation.min()), float(ground.elevation.max())
    rows = [
        ("elevation", f"{low:.2f} to {high:.2f} m"),
        ("grid", f"{ground.grid.nx} x {ground.grid.ny} nodes, {ground.grid.cell:.3g} m apart"),
        ("surface", f"{ground.check.method}, {ground.check.shots} shots missed by {ground.check.rms:.3f} m rms"),
        ("bed's mean", f"sure to {1.645 * ground.mean_deviation:.3f} m in nine cases of ten"),
        ("doubtful shots", ", ".join(shot.name for shot in ground.check.doubtful) or "none"),
    ]
    strokes = [
        Stroke(ground.hull, FAINT, what="hull of the shots"),
        *_contours(ground.grid, ground.elevation, EXISTING),
    ]
    return _face("Existing grade", rows, plan_svg(strokes))


def proposal_html(proposal: Proposal) -> str:
    """The mound by the ground that it covers and its contours, in metres."""
    rows = [
        ("fill", f"{float(proposal.fill.max()):.2f} m at most"),
        ("steepest side", show_slope(proposal.steepest)),
        ("bed", f"{proposal.worked.area:.1f} m2"),
        ("crest", f"{sum(not point.short for point in proposal.crest)} of {len(proposal.crest)} points as wished"),
    ]
    return _face("Proposed grade", rows, plan_svg(_mound(proposal)))


def order_html(order: Order) -> str:
    """What is bought, in m3, with the range of what will be needed as a bar."""
    rows = [
        ("to buy", f"{order.quantity:.1f} m3 loose"),
        ("expected", f"{order.expected:.1f} m3; {order.low:.1f} to {order.high:.1f} m3 in nine cases of ten"),
        ("enough", f"in {100.0 * order.covered:.0f} of 100 jobs"),
        *((item.name, f"{item.haul.trucks} trucks") for item in order.soils if item.haul.trucks),
    ]
    if order.cost is not None:
        rows.append(("cost", f"{order.cost:,.2f}"))
    return _face("Soil to order", rows, _range_bar(order))


def review_html(review: Review) -> str:
    """What was found, the worst first, each with its number on the plan."""
    told = [finding for finding in review if finding.level != "note"][:_TOLD]
    rows = [("look", review.look.words), ("checks", count_words(review.checks)), *_findings(told)]
    grid = review.water.grid
    yard = Stroke(shapely.box(grid.x[0], grid.y[0], grid.x[-1], grid.y[-1]), FAINT, what="yard")
    trees = [Stroke(shapely.Point(tree.at).buffer(tree.keep_off), KEEP_OFF, what=tree.name) for tree in review.trees]
    return _face("Review", rows, plan_svg([yard, *trees], _numbers(told)))


def study_html(study: Study) -> str:
    """One yard worked through: the mound in it, the order, the worst findings, in the units of the site."""
    site, units = study.site, study.site.units
    rows = [
        ("order", buy_words(study.order, units)),
        ("sure", " ".join(sure_words(study.order, units))),
        ("mound", f"{show_volume(study.work.fill_placed, units, 'placed')}, {_tallest(study)} at the top"),
        ("steepest side", f"{show_slope(study.proposal.steepest)}, limit {show_slope(site.berm.max_slope)}"),
        ("look", study.review.look.words),
        ("checks", count_words(study.review.checks)),
    ]
    return _face(site.name, rows, plan_svg([*_yard(site), *_mound(study.proposal)]))


def _tallest(study: Study) -> str:
    return show_length(float(study.proposal.fill.max()), study.site.units)


def _face(title: str, rows: Rows, picture: str) -> str:
    """A heading over a picture and a table; a notebook lays them side by side where there is room."""
    cells = "".join(
        f'<tr><th style="text-align:left;vertical-align:top;white-space:nowrap">{html.escape(name)}</th>'
        f'<td style="text-align:left">{html.escape(text)}</td></tr>'
        for name, text in rows
    )
    beside = "display:flex;flex-wrap:wrap;gap:1em;align-items:flex-start"
    return (
        f'<div><strong>{html.escape(title)}</strong><div style="{beside}"><div>{picture}</div>'
        f'<table style="flex:1 1 20em">{cells}</table></div></div>'
    )


def _yard(site: Site) -> list[Stroke]:
    """What stands and lies in the yard, under the mound."""
    strokes = [Stroke(site.bed.outline, OUTLINE, SOIL, "bed", 1.4)]
    walks = [(walk, shapely.LineString(walk.line).buffer(0.5 * walk.width, cap_style="flat")) for walk in site.walk]
    strokes += [Stroke(laid, FAINT, WALK, walk.name) for walk, laid in walks]
    strokes += [Stroke(one.outline, FAINT, WALK, one.name) for one in site.keep_clear]
    strokes += [Stroke(one.outline, OUTLINE, BUILDING, one.name) for one in site.building]
    for tree in tree_circles(site):
        strokes += [Stroke(tree.circle(tree.keep_off), KEEP_OFF, what=f"keep-off of {tree.tree.name}")]
        strokes += [Stroke(tree.circle(tree.flare), TREE, TREE, tree.tree.name)]
    return strokes


def _mound(proposal: Proposal) -> list[Stroke]:
    covered = footprint(proposal)
    contours = _contours(proposal.grid, np.where(proposal.fill > 0.0, proposal.elevation, np.nan), PROPOSED)
    return [Stroke(proposal.worked, OUTLINE, what="bed"), Stroke(covered, "none", FILL_STEPS[0], "mound"), *contours]


def _contours(grid: Grid, elevation: Array, colour: str) -> list[Stroke]:
    low, high = float(np.nanmin(elevation)), float(np.nanmax(elevation))
    step = max((high - low) / _CONTOURS, 1e-6)
    levels = levels_between(low, high, step)
    lines = contour_lines(grid, elevation, levels)
    named = zip(lines, levels, strict=True)
    return [Stroke(line.simplify(0.05), colour, what=f"{level:.2f} m", width=0.7) for line, level in named]


def _findings(told: Sequence[Finding]) -> list[tuple[str, str]]:
    return [(f"{number} {finding.level}", finding.text) for number, finding in enumerate(told, start=1)]


def _numbers(told: Sequence[Finding]) -> list[tuple[str, tuple[float, float]]]:
    return [(str(number), finding.at) for number, finding in enumerate(told, start=1) if finding.at is not None]


def _range_bar(order: Order) -> str:
    """Nine cases of ten as a bar, what is expected as a line, what is bought as a mark."""
    most = 1.1 * max(order.high, order.quantity, 1e-9)

    def across(volume: float) -> float:
        return 10.0 + 300.0 * volume / most

    bought = across(order.quantity + order.on_hand)
    return (
        '<svg width="320" height="52" role="img" aria-label="range of the soil needed">'
        f'<path d="M10,26H310" stroke="{FAINT}"/>'
        f'<rect x="{across(order.low):.1f}" y="18" width="{across(order.high) - across(order.low):.1f}" height="16" '
        f'fill="{FILL_STEPS[1]}"><title>nine cases of ten</title></rect>'
        f'<path d="M{across(order.expected):.1f},14V38" stroke="{OUTLINE}" stroke-width="2"/>'
        f'<path d="M{bought:.1f},10l-5,-8h10z" fill="{KEEP_OFF}"><title>bought and on hand</title></path>'
        f'<text x="10" y="50" font-size="11">0</text><text x="310" y="50" font-size="11" text-anchor="end">'
        f"{most:.0f} m3 loose</text></svg>"
    )
