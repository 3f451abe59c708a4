"""The existing grade on the terminal: how it was made, what is doubtful, how sure the soil is, where to shoot next."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cli.report import STYLES, ground_lines, shown_names, shown_path
from cli.terminal import Line, labelled, on_terminal
from terrain.field import ON_SOIL, NextPlace, before_shooting, ground_part, show_tape, side_words
from terrain.files import TREES_FILE, offered_trunks, trunk_words
from terrain.flow import Study
from terrain.ground import DoubtfulShot, again_words, count_words, gap_words, left_out_words, method_words
from terrain.numerics import CENTRAL_90
from terrain.site import Survey
from terrain.soil import Share, buy_words
from terrain.survey import point_key
from terrain.units import Units, show_length, show_place, show_volume, unit_length, unit_volume


def print_ground(study: Study, wanted: Sequence[NextPlace], names: Sequence[str], folder: Path) -> None:
    """Print the existing grade on standard output, in the site's own units, as wide as the terminal is."""
    with on_terminal() as console:
        for part in _parts(study, wanted, names, folder):
            console.print(part)


def _parts(study: Study, wanted: Sequence[NextPlace], names: Sequence[str], folder: Path) -> Iterator[RenderableType]:
    yield Text(study.site.name, style="bold")
    yield labelled([*ground_lines(study), *_ground_lines(study)])
    unit = "cu yd" if study.site.units == "ft" else "m3"
    yield Text(f"\nWhat makes the soil unsure, {unit}", style="bold")
    yield _shares(study)
    first = list(_first(study))
    if first:
        yield Text(f"\nWhat would narrow the order most, {unit} loose", style="bold")
        yield labelled(first)
    if wanted:
        yield Text(f"\nWhere to shoot next, soil in {unit} loose", style="bold")
        yield _next(study, wanted)
    yield Text("")
    yield labelled(_closing_lines(study, wanted, names, folder))


def _surface_lines(study: Study) -> Iterator[Line]:
    """The surface that was taken, and what each one misses left-out shots by, where any can be left out."""
    check = study.ground.check
    told = {name: error for name, error in check.errors.items() if not math.isnan(error)}
    if not check.shots:
        yield "Surface", Text(method_words(check.method), "bold")
        return
    says = "each shot left out in turn is missed by" if told else "too few shots to tell how near it comes"
    yield "Surface", Text.assemble((method_words(check.method), "bold"), f"; {says}")
    if told:
        units = study.site.units
        errors = [f"{left_out_words(error, units)} ({method_words(name)})" for name, error in told.items()]
        yield "", f"{', '.join(errors)}, root mean square"


def _ground_lines(study: Study) -> Iterator[Line]:
    """Shots, method, errors, doubtful shots and the ranges."""
    check, units, work, survey = study.ground.check, study.site.units, study.work, study.site.survey
    gone = [shot.name for shot in survey.left_out]
    yield "Shots", count_words(study.site, check.shots) + (f", and left out: {', '.join(gone)}" if gone else "")
    yield from _surface_lines(study)
    for number, shot in enumerate(check.doubtful):
        advice = f'Check it; to leave it out: leave_out = ["{name_for_leaving_out(shot, survey)}"] under [survey].'
        yield "" if number else "Doubtful", Text(f"{shot.text} {advice}", STYLES["caution"])
    if check.shots and not check.doubtful:
        yield "Doubtful", "no shot disagrees with its neighbours"
    yield from _open_lines(study)
    yield from _trunk_lines(study)
    half = CENTRAL_90 * study.ground.mean_deviation
    yield "How sure", f"the bed's mean elevation, {plus_minus(half, units)} (90 %)"
    fill = _range(work.fill_placed_low, work.fill_placed_high, units)
    yield "", f"mound {show_volume(work.fill_placed, units, 'placed')}, 90 % range {fill}"
    if work.cut_bank:
        cut = _range(work.cut_bank_low, work.cut_bank_high, units)
        yield "", f"cut {show_volume(work.cut_bank, units, 'bank')}, 90 % range {cut}"
    order = study.order
    expected = _range(order.low, order.high, units)
    yield "", f"soil to order {buy_words(order, units)}"
    yield "", f"expected {show_volume(order.expected, units, 'loose')}, 90 % range {expected}"


def _open_lines(study: Study) -> Iterator[Line]:
    """Shots to read again first, and where no shot stands."""
    ground, area, units = study.ground, study.site.bed.outline.area, study.site.units
    for number, again in enumerate(ground.check.again):
        yield "" if number else "Again", f"{again.name}: {again_words(again, area, units)}"
    if ground.gap is not None:
        yield "Unseen", gap_words(ground.gap, units)


def _trunk_lines(study: Study) -> Iterator[Line]:
    """The trunks that a scan shows and the site file does not have."""
    for number, one in enumerate(offered_trunks(study.site)):
        text = " ".join([f"{one.name}: {trunk_words(one.trunk, study.site.units)}.", *one.check])
        yield "" if number else "Trunks", text
    if offered_trunks(study.site):
        yield "", f"as [[tree]] entries in {TREES_FILE}; posts and poles may be among them"


def name_for_leaving_out(shot: DoubtfulShot, survey: Survey) -> str:
    """The shot's name, or the row of its file where another shot has that name too."""
    alike = [i for i, name in enumerate(survey.names) if point_key(name) == point_key(shot.name)]
    row = next((i for i in alike if tuple(survey.shots[i, :2]) == shot.at), None)
    return shot.name if len(alike) == 1 or row is None or not survey.rows else f"row {survey.rows[row]}"


def plus_minus(half: float, units: Units) -> str:
    """Half a range of elevation: "± 1/4 in", or "within 1/4 in" where it is too small to be shown."""
    least = unit_length("ft") / 48.0 if units == "ft" else 0.005
    return f"± {show_length(half, units)}" if half >= least / 2.0 else f"within {show_length(least, units)}"


def _range(low: float, high: float, units: str) -> str:
    """Two volumes in m3 as "25.6 to 34.1", in the site's unit."""
    size = unit_volume("ft" if units == "ft" else "m")
    return f"{low / size:.1f} to {high / size:.1f}"


def _shares(study: Study) -> Table:
    """Each cause of the two ranges: half of what it alone would make, and its part of the order's variance."""
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("")
    for head in ("mound ±", "order ±", "part"):
        table.add_column(head, justify="right")
    work, size = study.work, unit_volume(study.site.units)
    fill = {share.cause: share.deviation for share in work.fill_shares}
    shares = study.order.shares
    whole = sum(share.deviation**2 for share in shares)

    def row(share: Share) -> tuple[str, str, str, str]:
        own = fill.get(share.cause)
        half = "-" if own is None else f"{CENTRAL_90 * own / size:.2f}"
        part = 100.0 * share.deviation**2 / whole if whole else 0.0
        return share.cause, half, f"{CENTRAL_90 * share.deviation / size:.2f}", f"{part:.0f} %"

    for share in sorted(shares, key=lambda share: -share.deviation):
        table.add_row(*row(share))
    return table


def _next(study: Study, wanted: Sequence[NextPlace]) -> Table:
    """The places, their tapes, and what the ranges come down to."""
    units, order = study.site.units, study.order
    size = unit_volume(units)
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("")
    table.add_column("by tape" if any(one.tapes for one in wanted) else "place", overflow="fold")
    table.add_column("ground ±", justify="right")
    table.add_column("order", justify="right", no_wrap=True)
    now = _range(order.low, order.high, units)
    table.add_row("now", "", f"{ground_part(order.shares) / size:.2f}", now)
    for one in wanted:
        table.add_row(one.name, tape_words(one, study), f"{one.ground / size:.2f}", _range(*one.order, units))
    return table


def _first(study: Study) -> Iterator[Line]:
    """What narrows the order more than any shot, with the range that is expected after it."""
    for number, one in enumerate(before_shooting(study)):
        span = _range(*one.order, study.site.units)
        text = f"{one.do} It makes {100 * one.part:.0f} % of the doubt; the order is then {span}, at best."
        yield "" if number else "First", text


def tape_words(one: NextPlace, study: Study) -> str:
    """A place by its two tapes, or by its coordinates where nothing else places it."""
    units, tapes = study.site.units, one.tapes
    if tapes is None:
        return show_place(*one.at, units)
    first = f"{show_tape(tapes.from_start, units)} from {tapes.start.name}"
    return f"{first}, {show_tape(tapes.from_end, units)} from {tapes.end.name}, {side_words(tapes)}"


def _closing_lines(study: Study, wanted: Sequence[NextPlace], names: Sequence[str], folder: Path) -> Iterator[Line]:
    if wanted and study.site.survey.scan is not None:
        yield "Next", ON_SOIL
    if not wanted:
        yield "Next", "no single shot would narrow the bed's mean elevation by 3 % or more"
    for number, note in enumerate(study.ground.notes):
        yield "" if number else "Note", note
    for finding in study.review.findings:
        if finding.level == "stop":
            yield "Stop", Text(finding.text, STYLES["stop"])
    yield "Files", f"in {shown_path(folder)}: {shown_names(tuple(names))}"
