"""The workbook's page on soil: what was measured, the factors, every layer in each measure, and how sure it all is."""

from __future__ import annotations

from collections.abc import Iterator

from terrain.files.workbook.cells import Cell, Page, Row, given, head, live, text
from terrain.site.model import Soil
from terrain.site.soil_states import ground_factors
from terrain.site.soils import soil_factors
from terrain.soil.chain import STEPS, formula
from terrain.soil.estimate import Estimate
from terrain.soil.layers import GRAVEL
from terrain.soil.ranges import CENTRAL_90, GROUND, SETTLEMENT_RANGE, SHRINK_RANGE, SOD_DEVIATION, swell_range
from terrain.soil.words import CONVENTION, soils_on_the_job
from terrain.units import Units, unit_length, unit_volume

# Cells of the one mound stand under the steps' own names.
OWN = {**{step: step for step in STEPS}, "Fill_placed": "Fill_placed", "Planting_layer": "Planting_layer"}


def soil_page(estimate: Estimate) -> Page:
    """The page "Soil"."""
    rows = (
        (text("What was measured, the soil's factors, and every layer of the job", "title"),),
        (text("Change the framed figures; everything else follows, on all pages.", "note"),),
        (),
        *_measured(estimate),
        (),
        *_factors(estimate.study.site.soil),
        (),
        *_mound(volume_unit(estimate.study.site.units)),
        (),
        *_layers(volume_unit(estimate.study.site.units)),
        (),
        *_doubts(estimate.study.site.soil),
    )
    return Page("Soil", (36, 12, 16, 12, 22, 12), rows)


def _line(label: str, cell: Cell, unit: str, note: str = "") -> Row:
    """A figure with its name, its unit, and what it means or where it comes from."""
    return text(label), cell, text(unit), text(note, "note")


def volume_unit(units: Units) -> str:
    """The site's unit of volume by name."""
    return "cu yd" if units == "ft" else "m3"


def thin_unit(units: Units) -> tuple[str, float, float]:
    """Unit of a layer's depth, its length in metres, and the unit squares that a unit of volume covers one deep."""
    return ("in", 0.0254, 324.0) if units == "ft" else ("cm", 0.01, 100.0)


def _measured(estimate: Estimate) -> Iterator[Row]:
    site, work, units = estimate.study.site, estimate.study.work, estimate.study.site.units
    size, square = unit_volume(units), unit_length(units) ** 2
    volume, (thin, depth, cover) = volume_unit(units), thin_unit(units)
    area = "sq ft" if units == "ft" else "m2"
    bed = site.bed
    yield head("Measured on the surfaces", "figure", "unit", "", "", "")
    over = (work.fill_placed - work.sod) / size
    yield _line("Fill over the ground as it is", given("Fill_over_ground", over, "fine"), f"{volume} placed")
    note = "bed less keep-offs and other ground kept clear: the sod strip"
    yield _line("Worked area", given("Worked_area", work.worked_area / square, "volume"), area, note)
    note = "the same less every flare and a rim round it"
    yield _line("Area under mulch", given("Mulch_area", work.mulch_area / square, "volume"), area, note)
    yield _line("Sod stripped", given("Sod_depth", bed.sod / depth, "fine"), thin)
    note = "stripped under the sod, kept, laid again"
    yield _line("Topsoil kept", given("Topsoil_depth", bed.topsoil / depth, "fine"), thin, note)
    note = "finished, at the depth in the site file; 0 with one soil throughout"
    layer = given("Planting_layer", work.planting_placed / size, "fine")
    yield _line("Planting soil on top", layer, f"{volume} placed", note)
    note = "basins and channels, under their sod"
    yield _line("Cut", given("Cut_under_sod", work.cut_below_sod / size, "fine"), f"{volume} bank", note)
    on_digs = (work.cut_bank - work.cut_below_sod) / size
    yield _line("Sod on basins and channels", given("Sod_on_digs", on_digs, "fine"), f"{volume} bank")
    yield _line("Mulch laid", given("Mulch_depth", bed.mulch / depth, "fine"), thin)
    gravel = sum(layer.placed or 0.0 for layer in work.layers if layer.name == GRAVEL)
    yield _line("Gravel under basins", given("Gravel_laid", gravel / size, "fine"), f"{volume} placed")
    ground = sum(share.deviation for share in work.fill_shares if share.cause == GROUND) / size
    note = "one standard deviation of the fill, from the ground model"
    yield _line("Doubt of the ground", given("Ground_deviation", ground, "fine"), f"{volume} placed", note)
    yield _line(
        "Mulch ordered above that", given("Mulch_extra", bed.mulch_allowance, "share"), "", "because it settles"
    )
    note = "area that one unit of volume covers at one unit of depth"
    yield _line("Cover", Cell(cover, "volume", name="Cover"), f"{area} {thin} / {volume}", note)


def _factors(soil: Soil) -> Iterator[Row]:
    bought, *others = soils_on_the_job(soil)
    own, own_source = (others[0][0], others[0][2]) if others else ("the same soil", bought[2])
    gravel = soil_factors("gravel")
    yield head("Factors", "figure", "", "", "", "")
    note = f"loose / bank - 1; {bought[2]}"
    yield _line(f"Swell of {bought[0]}", given("Swell", soil.swell, "share"), "", note)
    note = f"1 - placed / bank, a share of the bank volume; {bought[2]}"
    yield _line(f"Shrink of {bought[0]}", given("Shrink", soil.shrink, "share"), "", note)
    if others:
        factors = ground_factors(soil)
        swell, shrink = given("Ground_swell", factors.swell, "share"), given("Ground_shrink", factors.shrink, "share")
    else:
        swell, shrink = live("Swell", "share", "Ground_swell"), live("Shrink", "share", "Ground_shrink")
    yield _line("Swell of the site's own soil", swell, "", f"{own}; {own_source}")
    yield _line("Shrink of the site's own soil", shrink, "", f"{own}; {own_source}")
    note = "height built = finished height x (1 + settlement), as USDA-NRCS, Agriculture Handbook 590, words it"
    yield _line("Settlement", given("Settlement", soil.settlement, "share"), "", note)
    note = "the user's word, not a measurement"
    yield _line("Part of the cut fit to use", given("Reuse", soil.reuse, "share"), "", note)
    yield _line("Loose for one placed", live("(1+Swell)/(1-Shrink)", "factor", "Loose_per_placed"), "", CONVENTION)
    yield _line("Bank for one placed", live("1/(1-Shrink)", "factor"), "")
    yield _line("Placed for one loose", live("(1-Shrink)/(1+Swell)", "factor"), "")
    yield _line("Placed for one bank", live("1-Shrink", "factor"), "")
    yield _line("Loose for one bank", live("1+Swell", "factor"), "")
    yield _line("Bank for one loose", live("1/(1+Swell)", "factor"), "")
    note = "gravel, FM 5-434 Table 1-1"
    per_laid = gravel.loose_per_bank / gravel.compacted_per_bank
    yield _line("Gravel loose for one laid", given("Gravel_per_laid", per_laid, "factor"), "", note)
    yield _line("Same soil bought as on the site", given("One_soil", 0.0 if others else 1.0, "count"), "1 yes, 0 no")


def _step(label: str, name: str, measure: str, note: str = "") -> Row:
    return _line(label, live(formula(name, OWN), "fine", name), measure, note)


def _mound(unit: str) -> Iterator[Row]:
    yield head(f"The mound, {unit}", "volume", "measure", "", "", "")
    yield _line("Sod stripped in the bed", live("Worked_area*Sod_depth/Cover", "fine", "Sod_in_bed"), "bank")
    note = "between stripped ground and finished grade"
    yield _line("Fill", live("Fill_over_ground+Sod_in_bed", "fine", "Fill_placed"), "placed", note)
    yield _line("Topsoil stripped", live("Worked_area*Topsoil_depth/Cover", "fine", "Topsoil_stripped"), "bank")
    yield _step("Built on day one", "Built", "placed", "fill and topsoil laid again, with the settlement allowance")
    yield _step("Planting layer built", "Planting_built", "placed")
    yield _line("Topsoil at hand", live("Topsoil_stripped*(1-Ground_shrink)", "fine", "Topsoil_placed"), "placed")
    usable = live("Reuse*Cut_under_sod*(1-Ground_shrink)", "fine", "Usable_placed")
    yield _line("Cut at hand, fit to use", usable, "placed")
    yield _step("Topsoil laid in the planting layer", "Topsoil_on_top", "placed")
    yield _step("Topsoil laid in the fill", "Topsoil_below", "placed")
    yield _step("Cut laid in the fill", "Cut_in_fill", "placed")
    yield _step("Planting soil missing", "Planting_missing", "loose")
    yield _step("Fill soil missing", "Fill_missing", "loose")
    yield _step("Own soil left over, fit to use", "Own_spare", "placed")
    yield _step("Balance", "Balance", "loose", "below zero: more soil on the site than the mound takes")
    yield _step("Own soil that counts", "Own_loose", "loose", "as if it were bought")


def _layer(name: str, moves: str, cells: tuple[str, str, str], key: str) -> Row:
    """Bank, loose and placed of one layer; the loose volume is named."""
    bank, loose, placed = cells
    return (
        text(name),
        live(bank, "volume") if bank else text("–", "none"),
        live(loose, "volume", key),
        live(placed, "volume") if placed else text("–", "none"),
        text(moves),
    )


def _own(name: str, moves: str, key: str, *, placed: str = "", bank: str = "") -> Row:
    """A layer of the site's own soil, from its placed or its bank volume."""
    volume = bank or f"({placed})/(1-Ground_shrink)"
    return _layer(name, moves, (volume, f"({volume})*(1+Ground_swell)", placed), key)


def _layers(unit: str) -> Iterator[Row]:
    yield head(f"Layers, {unit}", "bank", "loose", "placed", "", "")
    yield _own("sod", "leaves or turned under", "Sod_loose", bank="Sod_in_bed+Sod_on_digs")
    yield _own("topsoil kept and laid again", "stays", "Topsoil_kept_loose", placed="Topsoil_on_top+Topsoil_below")
    spare = "(Topsoil_placed-Topsoil_on_top-Topsoil_below)/(1-Ground_shrink)"
    yield _own("topsoil to spare", "leaves", "Topsoil_spare_loose", bank=spare)
    yield _own("cut used as fill", "stays", "Cut_used_loose", placed="Cut_in_fill")
    yield _own("cut unfit to use", "leaves", "Cut_unfit_loose", bank="(1-Reuse)*Cut_under_sod")
    yield _own("cut to spare", "leaves", "Cut_spare_loose", bank="(Usable_placed-Cut_in_fill)/(1-Ground_shrink)")
    for name, key in (("planting soil", "Planting_missing"), ("fill soil", "Fill_missing")):
        cells = (f"{key}/(1+Swell)", key, f"{key}/Loose_per_placed")
        yield _layer(name, "arrives", cells, f"{key.partition('_')[0]}_soil_loose")
    mulch = "Mulch_area*Mulch_depth/Cover"
    yield _layer("mulch", "arrives", ("", f"{mulch}*(1+Mulch_extra)", mulch), "Mulch_loose")
    yield _layer("gravel", "arrives", ("", "Gravel_laid*Gravel_per_laid", "Gravel_laid"), "Gravel_loose")


def _doubts(soil: Soil) -> Iterator[Row]:
    low, high = swell_range(soil.kind)
    yield head("How sure", "figure", "", "", "", "")
    note = "Peurifoy, Construction Planning, Equipment, and Methods, Table 4-1"
    yield _line("Swell, low end", given("Swell_low", low, "share"), "", note)
    yield _line("Swell, high end", given("Swell_high", high, "share"), "", note)
    note = "Moving the Earth: The Workbook of Excavation, p. 2.51"
    yield _line("Shrink, low end", given("Shrink_low", SHRINK_RANGE[0], "share"), "", note)
    yield _line("Shrink, high end", given("Shrink_high", SHRINK_RANGE[1], "share"), "", note)
    note = "USDA-NRCS, Agriculture Handbook 590"
    yield _line("Settlement, low end", given("Settling_low", SETTLEMENT_RANGE[0], "share"), "", note)
    yield _line("Settlement, high end", given("Settling_high", SETTLEMENT_RANGE[1], "share"), "", note)
    note = "one standard deviation, a share of the depth; common practice, no published source"
    yield _line("Sod depth", given("Sod_spread", SOD_DEVIATION, "share"), "", note)
    yield _line("Standard deviations to the ends", Cell(CENTRAL_90, "factor", name="Reach"), "", "central 90 % range")
    for step, label in (
        ("Doubt_ground", "from the ground"),
        ("Doubt_sod", "from the sod depth"),
        ("Doubt_swell", "from swell"),
        ("Doubt_shrink", "from shrink"),
        ("Doubt_own", "from shrink of the site's own soil"),
        ("Doubt_settling", "from settlement"),
        ("Deviation", "together"),
    ):
        yield _step(f"Standard deviation {label}", step, "loose")
