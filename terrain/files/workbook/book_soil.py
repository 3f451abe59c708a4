"""The workbook's page on soil: what was measured, the factors, every layer in each measure, and how sure it all is."""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce
from operator import add

from terrain.files.workbook.cells import Cell, Row, Style, Worksheet, figure, given, head, live, text
from terrain.flow import Study
from terrain.numerics import CENTRAL_90, Formula, share_below
from terrain.site import Soil, ground_factors, soil_factors
from terrain.soil import (
    CONVENTION,
    DOUBTS,
    ENDS,
    ENTRIES,
    JOBS,
    LINES,
    MANY,
    MOUND,
    OWN_SOIL,
    SCORES,
    SETTLEMENT_LAW,
    Entry,
    Order,
    given_in_units,
    per_placed,
    soils_on_the_job,
)
from terrain.units import Units, unit_length


def soil_page(study: Study) -> Worksheet:
    """The page "Soil"."""
    rows = (
        (text("What was measured, the soil's factors, and every layer of the job", "title"),),
        (text("Change the framed figures; everything else follows, on all pages.", "note"),),
        (),
        *_measured(study),
        (),
        *_factors(study.site.soil),
        (),
        *_mound(volume_unit(study.site.units)),
        (),
        *_ledger(volume_unit(study.site.units)),
        (),
        *_doubts(study.order),
        (),
        *_drawn_jobs(study.order),
    )
    return Worksheet("Soil", (36, 12, 16, 12, 22, 12), rows)


def volume_unit(units: Units) -> str:
    """The site's unit of volume by name."""
    return "cu yd" if units == "ft" else "m3"


def thin_unit(units: Units) -> tuple[str, float, float]:
    """Unit of a layer's depth, its length in metres, and the unit squares that a unit of volume covers one deep."""
    return ("in", 0.0254, 324.0) if units == "ft" else ("cm", 0.01, 100.0)


def _measured(study: Study) -> Iterator[Row]:
    site, work, units = study.site, study.work, study.site.units
    square = unit_length(units) ** 2
    volume, (thin, depth, cover) = volume_unit(units), thin_unit(units)
    area = "sq ft" if units == "ft" else "m2"
    bed = site.bed
    yield head("Measured on the surfaces", "figure", "unit", "", "", "")
    given_here = given_in_units(study.order.given, units)
    note = "what stakes mark over the ground as it is; settlement is allowed for this"
    yield figure("Mound over existing grade", given("rise", given_here["rise"], "fine"), f"{volume} placed", note)
    lowered = given_here["fill_placed"] - given_here["sod_in_bed"] - given_here["rise"]
    note = "less, where finished grade lies under existing grade"
    yield figure("Stripped ground left open", given("left_open", lowered, "fine"), f"{volume} placed", note)
    note = "bed less keep-offs and other ground kept clear: the sod strip"
    yield figure("Worked area", given("worked_area", work.worked_area / square, "volume"), area, note)
    note = "the same less every flare and a rim round it"
    yield figure("Area under mulch", given("mulch_area", work.mulch_area / square, "volume"), area, note)
    yield figure("Sod stripped", given("sod_depth", bed.sod / depth, "fine"), thin)
    note = "stripped under the sod, kept, laid again"
    yield figure("Topsoil kept", given("topsoil_depth", bed.topsoil / depth, "fine"), thin, note)
    note = "finished, at the depth in the site file; 0 with one soil throughout"
    layer = given("planting_layer", given_here["planting_layer"], "fine")
    yield figure("Planting soil on top", layer, f"{volume} placed", note)
    note = "basins, channels and trenches for stones, under their sod"
    yield figure("Cut", given("cut_under_sod", given_here["cut_under_sod"], "fine"), f"{volume} bank", note)
    yield figure("Sod on these digs", given("sod_on_digs", given_here["sod_on_digs"], "fine"), f"{volume} bank")
    yield figure("Mulch laid", given("mulch_depth", bed.mulch / depth, "fine"), thin)
    gravel = given("gravel_laid", given_here["gravel_laid"], "fine")
    yield figure("Gravel under basins", gravel, f"{volume} placed")
    note = "one standard deviation of the fill, from the ground model"
    ground = given("ground_deviation", given_here["ground_deviation"], "fine")
    yield figure("Doubt of the ground", ground, f"{volume} placed", note)
    note = "more fill, where the true ground stands over finished grade and is left; one standard deviation"
    toe = given("toe_deviation", given_here["toe_deviation"], "fine")
    yield figure("Toe that is not cut", toe, f"{volume} placed", note)
    yield figure(
        "Mulch ordered above that", given("mulch_extra", bed.mulch_allowance, "share"), "", "because it settles"
    )
    note = "area that one unit of volume covers at one unit of depth"
    yield figure("Cover", Cell(cover, "volume", name="cover"), f"{area} {thin} / {volume}", note)


def _factors(soil: Soil) -> Iterator[Row]:
    bought, *others = soils_on_the_job(soil)
    kind, own_source = (others[0][0], others[0][2]) if others else ("the same soil", bought[2])
    gravel = soil_factors("gravel")
    yield head("Factors", "figure", "", "", "", "")
    note = f"loose / bank - 1; {bought[2]}"
    yield figure(f"Swell of {bought[0]}", given("swell", soil.swell, "share"), "", note)
    note = f"1 - placed / bank, a share of the bank volume; {bought[2]}"
    yield figure(f"Shrink of {bought[0]}", given("shrink", soil.shrink, "share"), "", note)
    if others:
        factors = ground_factors(soil)
        swell, shrink = given("ground_swell", factors.swell, "share"), given("ground_shrink", factors.shrink, "share")
    else:
        swell = live(lambda v: v.swell + 0, "share", "ground_swell")
        shrink = live(lambda v: v.shrink + 0, "share", "ground_shrink")
    yield figure("Swell of the site's own soil", swell, "", f"{kind}; {own_source}")
    yield figure("Shrink of the site's own soil", shrink, "", f"{kind}; {own_source}")
    note = f"{SETTLEMENT_LAW}; USDA-NRCS, Agriculture Handbook 590"
    yield figure("Settlement", given("settlement", soil.settlement, "share"), "", note)
    note = "the user's word, not a measurement"
    yield figure("Part of the cut fit to use", given("reuse", soil.reuse, "share"), "", note)
    note = "of the soil from outside: spilt, and left where the heap stood"
    yield figure("Soil lost on the way", given("lost", soil.lost, "share"), "", note)
    yield figure("Loose for one placed", own("loose_per_placed", "factor"), "", CONVENTION)
    yield figure("Loose brought for one placed", own("brought_per_placed", "factor"), "", "with what is lost")
    for label, formula in (
        ("Bank for one placed", lambda v: 1 / (1 - v.shrink)),
        ("Placed for one loose", lambda v: 1 / v.loose_per_placed),
        ("Placed for one bank", lambda v: 1 - v.shrink),
        ("Loose for one bank", lambda v: 1 + v.swell),
        ("Bank for one loose", lambda v: 1 / (1 + v.swell)),
    ):
        yield figure(label, live(formula, "factor"), "")
    note = "gravel, FM 5-434 Table 1-1"
    per_laid = gravel.loose_per_bank / gravel.compacted_per_bank
    yield figure("Gravel loose for one laid", given("gravel_per_laid", per_laid, "factor"), "", note)
    yield figure("Same soil bought as on the site", given("one_soil", 0.0 if others else 1.0, "count"), "1 yes, 0 no")


def own(name: str, style: Style = "fine", strong: bool = False) -> Cell:
    """The cell of a line of the chain, under the line's own name."""
    return live(LINES[name].formula, style, name, strong)


def _step(name: str) -> Row:
    line = LINES[name]
    return figure(line.label, own(name), line.measure, line.source)


def _mound(unit: str) -> Iterator[Row]:
    yield head(f"The mound, {unit}", "volume", "measure", "", "", "")
    strip = live(lambda v: v.worked_area * v.sod_depth / v.cover, "fine", "sod_in_bed")
    yield figure("Sod stripped in the bed", strip, "bank")
    fill = live(lambda v: v.rise + v.sod_in_bed + v.left_open, "fine", "fill_placed")
    yield figure("Fill", fill, "placed", "between stripped ground and finished grade")
    topsoil = live(lambda v: v.worked_area * v.topsoil_depth / v.cover, "fine", "topsoil_stripped")
    yield figure("Topsoil stripped", topsoil, "bank")
    mulch = live(lambda v: v.mulch_area * v.mulch_depth / v.cover, "fine", "mulch_laid")
    yield figure("Mulch laid", mulch, "")
    yield from (_step(line.name) for line in (*OWN_SOIL, *MOUND) if line.name != "expected")
    yield from (_step(name) for name in ("fill_short", "planting_short", "sod_away", "cut_unfit"))


def _ledger(unit: str) -> Iterator[Row]:
    """Every soil from where to where, and the two sums."""
    yield head(f"Ledger of soil, {unit}", "bank", "loose", "placed", "from", "to")
    yield from (_entry(entry) for entry in ENTRIES)
    for label, word in (("All that comes", "in"), ("All that goes", "out")):
        yield text(label, strong=True), text(""), text(""), live(_total(word), "fine", f"ledger_{word}", True)


def _entry(entry: Entry) -> Row:
    return (
        text(entry.name),
        live(lambda v: entry.placed(v) * per_placed(entry, v)[0], "fine"),
        live(lambda v: entry.placed(v) * per_placed(entry, v)[1], "fine"),
        live(entry.placed, "fine", _key(entry)),
        text(entry.comes),
        text(entry.goes),
    )


def _key(entry: Entry) -> str:
    return f"ledger_{entry.name}_{entry.goes}".replace(" ", "_")


def _total(word: str) -> Formula:
    """One side of the ledger: by where soil comes from, or by where it goes."""
    side = sorted(ENTRIES, key=lambda entry: entry.comes if word == "in" else entry.goes)
    return lambda v: reduce(add, (getattr(v, _key(entry)) for entry in side))


def _doubts(order: Order) -> Iterator[Row]:
    yield head("How sure", "figure", "", "", "", "")
    for cause, key, source in ENDS:
        yield figure(f"{cause}, low end", given(f"{key}_low", order.given[f"{key}_low"], "share"), "", source)
        yield figure(f"{cause}, high end", given(f"{key}_high", order.given[f"{key}_high"], "share"), "", source)
    note = "one standard deviation, a share of the depth; common practice, no published source"
    yield figure("Sod depth", given("sod_spread", order.given["sod_spread"], "share"), "", note)
    yield figure("Normal score of the ends", Cell(CENTRAL_90, "factor", name="reach"), "", "central 90 % range")
    for line in DOUBTS:
        yield figure(f"Standard deviation from {line.label}", own(line.name), "loose", line.source)
    yield _step("deviation")


def _drawn_jobs(order: Order) -> Iterator[Row]:
    """Where the jobs lie that were drawn for the order: what its chances are read from."""
    yield head("Drawn jobs", "need over the balance", "in deviations", "score", "", "")
    words = f"{MANY:,} jobs were drawn for the site file; a changed figure moves and widens them as they are"
    yield (text(words, "note"),)
    for name, score in zip(JOBS, SCORES, strict=True):
        share = 100.0 * float(share_below(score))
        yield (
            text(f"{share:.4g} % of the jobs need less"),
            Cell(order.jobs[name], "factor", name=name),
            text(""),
            Cell(score, "factor"),
        )
