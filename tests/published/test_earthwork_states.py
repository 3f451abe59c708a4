"""Published soil factors and worked conversions; the source and how far it could be checked stand beside each."""

from __future__ import annotations

import math

import pytest

from terrain.site import soil_states as states
from terrain.site.soils import SoilFactors, soil_factors
from terrain.soil.haul import whole_loads

EARTH, CLAY, SAND = soil_factors("common earth"), soil_factors("clay"), soil_factors("sand and gravel")
BLASTED_ROCK = SoilFactors(1.50, 1.30)

# US Army FM 5-434, Earthmoving Operations, 15 June 2000, Table 1-1, printed to two decimals. The first,
# second and fourth columns are quoted with the table's number in a public course; the others are from memory
# and follow from them. Columns: bank to loose, bank to compacted, loose to bank, loose to compacted,
# compacted to bank, compacted to loose.
TABLE_1_1 = {
    "sand and gravel": (SAND, (1.11, 0.95, 0.90, 0.86, 1.05, 1.17)),
    "common earth": (EARTH, (1.25, 0.90, 0.80, 0.72, 1.11, 1.39)),
    "clay": (CLAY, (1.43, 0.90, 0.70, 0.63, 1.11, 1.59)),
    "rock, blasted": (BLASTED_ROCK, (1.50, 1.30, 0.67, 0.87, 0.77, 1.15)),
}


def loose_to_bank(volume: float, soil: SoilFactors) -> float:
    """Backwards through what the order uses; the three conversions are straight lines through nought."""
    return volume / states.bank_to_loose(1.0, soil)


def bank_to_placed(volume: float, soil: SoilFactors) -> float:
    return volume / states.placed_to_bank(1.0, soil)


def loose_to_placed(volume: float, soil: SoilFactors) -> float:
    return volume / states.placed_to_loose(1.0, soil)


@pytest.mark.parametrize("name", TABLE_1_1)
def test_every_direction_of_the_conversion_table(name: str) -> None:
    soil, printed = TABLE_1_1[name]
    worked = (
        states.bank_to_loose(1.0, soil),
        bank_to_placed(1.0, soil),
        loose_to_bank(1.0, soil),
        loose_to_placed(1.0, soil),
        states.placed_to_bank(1.0, soil),
        states.placed_to_loose(1.0, soil),
    )
    assert worked == pytest.approx(printed, abs=0.0051)  # half a unit in the last printed digit


def test_swell_and_load_factor_are_one_figure_read_two_ways() -> None:
    # C1, C2, C3: swell = loose/bank - 1, load factor = 1/(1 + swell), swell factor = 1 + swell (25 % -> 1.25,
    # Federal Lands Highway, Project Development and Design Manual, section 9.4.C; confirmed).
    assert states.bank_to_loose(1.0, EARTH) == pytest.approx(1.25, abs=1e-12)
    assert loose_to_bank(1.0, EARTH) == pytest.approx(1.0 / 1.25, abs=1e-12)


@pytest.mark.parametrize("soil", [EARTH, CLAY])
def test_bank_volume_left_after_compaction_is_eight_or_nine_tenths(soil: SoilFactors) -> None:
    # C7: Moving the Earth, p. 2.51, confirmed: 80 to 90 % of bank.
    assert 0.80 <= bank_to_placed(1.0, soil) <= 0.90


def test_machines_for_a_quarry_haul() -> None:
    # F1: FM 5-434, example after section 11-26 (quoted): 1500 loose/h x 0.87 / 487 compacted/h = 2.68, so 3.
    compacted = 1500.0 * round(loose_to_placed(1.0, BLASTED_ROCK), 2)
    assert compacted == pytest.approx(1305.0, abs=1e-6)
    assert compacted / 487.0 == pytest.approx(2.68, abs=0.005)
    assert whole_loads(compacted, 487.0) == 3


def test_common_earth_by_way_of_loose_is_what_it_is_directly() -> None:
    # F2 (quoted): 1 bank -> 1.25 loose -> 0.90 compacted.
    assert loose_to_placed(states.bank_to_loose(1.0, EARTH), EARTH) == pytest.approx(0.90, abs=1e-12)


@pytest.mark.parametrize(
    ("loose", "soil", "printed", "tolerance"),
    [(500.0, EARTH, 360.0, 0.5), (300.0, CLAY, 189.0, 0.5), (400.0, SAND, 342.34, 0.005)],
)
def test_loose_to_compacted_course_examples(loose: float, soil: SoilFactors, printed: float, tolerance: float) -> None:
    # F3, F4, F5: course text, confirmed. F5 prints 344 with the rounded 0.86 and 342.34 by way of the bank.
    assert loose_to_placed(loose, soil) == pytest.approx(printed, abs=tolerance)


def test_loose_soil_for_ten_yards_of_finished_berm() -> None:
    # F6 (computed): 10 x 1.25 / 0.90 = 13.889 loose.
    assert states.placed_to_loose(10.0, EARTH) == pytest.approx(13.889, abs=5e-4)


# Nunnally, Construction Methods and Management, Table 2-5, lb/yd3: loose, bank, compacted; swell, shrink,
# load factor, shrinkage factor. Clay's weights confirmed in a course problem, the rest from memory.
TABLE_2_5 = {
    "clay": (2310.0, 3000.0, 3750.0, 0.30, 0.20, 0.77, 0.80),
    "common earth": (2480.0, 3100.0, 3450.0, 0.25, 0.10, 0.80, 0.90),
    "rock, blasted": (3060.0, 4600.0, 3550.0, 0.50, -0.30, 0.67, 1.30),
    "sand and gravel": (2860.0, 3200.0, 3650.0, 0.12, 0.12, 0.89, 0.88),
}


@pytest.mark.parametrize("name", TABLE_2_5)
def test_factors_follow_from_unit_weights(name: str) -> None:
    loose, bank, compacted, swell, shrink, load, shrinkage = TABLE_2_5[name]
    soil = SoilFactors(bank / loose, bank / compacted)
    assert (soil.swell, soil.shrink) == pytest.approx((swell, shrink), abs=0.0051)
    assert loose_to_bank(1.0, soil) == pytest.approx(load, abs=0.0051)
    assert bank_to_placed(1.0, soil) == pytest.approx(shrinkage, abs=0.0051)


def test_loads_of_clay_from_a_pond() -> None:
    # W1: inputs confirmed in a course problem (answer recomputed): 165,000 ft3 of clay in 12 yd3 trucks: 662
    # loads.
    soil = SoilFactors(3000.0 / 2310.0, 3000.0 / 3750.0)
    bank = 165000.0 / 27.0
    loose = states.bank_to_loose(bank, soil)
    assert bank == pytest.approx(6111.11, abs=0.005)
    assert loose == pytest.approx(7936.51, abs=0.005)
    assert whole_loads(loose, 12.0) == 662


def test_metric_weights_of_one_soil() -> None:
    # W2: Nunnally, example 2-3, from memory: load factor 0.70, shrinkage factor 0.80, 415,310 bank, 332,248
    # compacted.
    soil = SoilFactors(1661.0 / 1163.0, 1661.0 / 2077.0)
    load, shrinkage = loose_to_bank(1.0, soil), bank_to_placed(1.0, soil)
    assert (load, shrinkage) == pytest.approx((0.7002, 0.7997), abs=5e-5)
    assert 593300.0 * round(load, 2) == pytest.approx(415310.0, abs=0.5)
    assert 593300.0 * round(load, 2) * round(shrinkage, 2) == pytest.approx(332248.0, abs=0.5)


def test_extra_loads_through_swell() -> None:
    # W3, confirmed: 200 bank at 40 % swell is 280 loose, 6 to 7 more loads of 12.
    loose = states.bank_to_loose(200.0, SoilFactors(1.40, 0.90))
    assert loose == pytest.approx(280.0, abs=1e-9)
    assert 6.0 < (loose - 200.0) / 12.0 < 7.0


def test_keep_enough_bank_for_the_backfill_and_haul_the_rest() -> None:
    # W4, confirmed: 90 compacted at 10 % shrink keeps 100 bank; the other 100 leave as 140 loose.
    soil = SoilFactors(1.40, 0.90)
    kept = states.placed_to_bank(90.0, soil)
    assert kept == pytest.approx(100.0, abs=1e-9)
    assert states.bank_to_loose(200.0 - kept, soil) == pytest.approx(140.0, abs=1e-9)


def test_pit_of_two_hundred_feet() -> None:
    # W5, confirmed: 8000 ft3 = 296 bank, 414 loose; the page drops the fraction before multiplying.
    bank = 200.0 * 20.0 * 2.0 / 27.0
    soil = SoilFactors(1.40, 0.90)
    assert math.floor(bank) == 296
    assert math.floor(states.bank_to_loose(math.floor(bank), soil)) == 414
    assert states.bank_to_loose(bank, soil) == pytest.approx(414.81, abs=0.005)
