"""What the existing grade leaves in doubt: shots that disagree, and bed past the surveyed ground."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from terrain.findings import Finding
from terrain.ground import TWENTY, DoubtfulShot, Ground, all_alike, lie_of
from terrain.limits import PRACTICE, ROD_LIKE
from terrain.site import Site
from terrain.units import show_area, show_length, show_place

MOST_SHOTS = 3
CHECK = "leave-one-out check of the shots: deviation to be expected"
LEAST_SHARE = 1e-6  # of the bed; less is rounding along a shared edge


def ground_findings(site: Site, ground: Ground) -> tuple[Finding, ...]:
    """Findings on the survey: doubtful shots, bed outside the hull of the shots, the model's notes."""
    shots = ground.check.doubtful
    return (*_doubtful(site, shots), *_unsurveyed(site, ground), *_notes(ground))


def upside_down_findings(site: Site, ground: Ground) -> Iterator[Finding]:
    """Elevations as small as rod readings, and no height beside them that says which they are; or none measured."""
    if not site.survey.measured:
        text = (
            f"{lie_of(site, ground).text} Neither falls nor water are checked, and no stake can be set by it. "
            f"Take {TWENTY} shots before the soil is ordered."
        )
        yield Finding("caution", "ground", text, source=PRACTICE)
        return
    if all_alike(site):
        level = show_length(float(site.survey.shots[0, 2]), site.units, "elevation")
        text = (
            f"All {len(site.survey.shots)} shots read {level}: no rod reads so. Where nobody measured, the range is as "
            f'wide as that of unseen ground: say surface = "flat" and give no shots, or take {TWENTY} shots.'
        )
        yield Finding("caution", "ground", text, 0.0, site.survey.accuracy, PRACTICE)
    levels, most = site.survey.shots[:, 2], ROD_LIKE[site.units]
    told = any(house.floor is not None for house in site.building) or any(one.elevation for one in site.terrace)
    if told or not site.survey.file or not 0.0 <= levels.min() <= levels.max() <= most.value:
        return
    low, high = (show_length(float(level), site.units, "elevation") for level in (levels.min(), levels.max()))
    text = (
        f"All elevations lie between {low} and {high}, as rod readings do, and no benchmark tells them apart. "
        f"{lie_of(site, ground).text} If it falls the other way they are rod readings: head their column rod."
    )
    yield Finding("caution", "ground", text, float(levels.max()), most.value, most.source)


def _doubtful(site: Site, shots: tuple[DoubtfulShot, ...]) -> Iterator[Finding]:
    """Each doubtful shot in its own words; more than a few in one finding."""
    for shot in sorted(shots, key=_rank)[:MOST_SHOTS]:
        yield Finding("caution", "ground", shot.text, shot.residual, shot.deviation, CHECK, shot.at)
    rest = sorted(shots, key=_rank)[MOST_SHOTS:]
    if rest:
        names = ", ".join(shot.name for shot in rest)
        worst = max(abs(shot.residual) for shot in rest)
        text = (
            f"{len(rest)} more shots are off from their neighbours by up to {show_length(worst, site.units)}: {names}."
        )
        yield Finding("caution", "ground", text, worst, None, CHECK, rest[0].at)


def _rank(shot: DoubtfulShot) -> float:
    """Most doubtful first."""
    return -abs(shot.residual) / max(shot.deviation, 1e-9)


def _unsurveyed(site: Site, ground: Ground) -> Iterator[Finding]:
    """Bed that lies outside the hull of the shots, by exact geometry."""
    outside = shapely.difference(site.bed.outline, ground.hull)
    share = outside.area / site.bed.outline.area
    if share <= LEAST_SHARE:
        return
    largest = max(shapely.get_parts(outside), key=lambda part: part.area)
    at = shapely.get_coordinates(shapely.point_on_surface(largest))[0]
    place = (float(at[0]), float(at[1]))
    percent = f"{100 * share:.0f} %" if share >= 0.01 else "less than 1 %"
    area = show_area(outside.area, site.units)
    text = (
        f"{area} of the bed, {percent}, lies outside the surveyed ground, most of it "
        f"near {show_place(*place, site.units)}. The ground there is a guess: take more shots."
    )
    yield Finding("caution", "ground", text, share, 0.0, "the hull of the shots", place)


def _notes(ground: Ground) -> Iterator[Finding]:
    """What the ground model had to say."""
    for note in ground.notes:
        yield Finding("note", "ground", note, source="ground model")
