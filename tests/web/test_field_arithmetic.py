"""The phone's page works books, ties and readings as the library does: both work the same random ones."""

from __future__ import annotations

import json
import math
import random
import re
import subprocess
from typing import Any

import pytest
from live_yards import ROOT
from test_page_scripts import node

from terrain.errors import InputError
from terrain.field.asbuilt.words import off_words
from terrain.field.setout.words import depth_words
from terrain.survey.levels import LevelRun, Reading, adjusted, allowance, reduce_levels
from terrain.survey.points import point_key
from terrain.survey.ties import TIE_BOUND, WEAK, Side, Tie, place_tie
from terrain.units import parse_length
from viewer.web.assemble import asset

FOOT = 0.3048
SAME = 0.0005 * FOOT  # metres


def worked(asked: dict[str, Any]) -> dict[str, Any]:
    empty: dict[str, Any] = {"books": [], "ties": [], "allowed": [], "typed": [], "rods": []}
    command = [node(), str(ROOT / "tests/web/scripts/worked.js")]
    told = subprocess.run(
        command, input=json.dumps(empty | asked), capture_output=True, text=True, timeout=120, check=True
    )
    return json.loads(told.stdout)  # type: ignore[no-any-return]


def random_book(draw: random.Random) -> tuple[list[Reading], dict[str, float]]:
    """Set-ups between benchmarks and turning points over ground that a book walks, some in nets, some with faults."""
    ground = {f"p{k}": draw.uniform(29.0, 33.0) for k in range(14)}
    known = {name: ground[name] for name in draw.sample(sorted(ground), draw.randint(1, 3))}
    readings: list[Reading] = []
    at, turned = draw.choice(sorted(known)), set(known)
    for _ in range(draw.randint(1, 6)):
        height = ground[at] + draw.uniform(0.3, 2.5)
        last = draw.choice(sorted(ground))
        between = [(draw.choice(sorted(ground)), "intermediate") for _ in range(draw.randint(0, 4))]
        for point, sight in [(at, "backsight"), *between, (last, "foresight")]:
            rod = height - ground[point] + draw.gauss(0.0, 0.002)
            readings.append(Reading(point, sight, rod, len(readings) + 1))  # type: ignore[arg-type]
        turned.add(last)
        # Now and then the book goes on from another point that it has turned on, or from one that it has not.
        at = last if draw.random() < 0.75 else draw.choice(sorted(turned if draw.random() < 0.9 else set(ground)))
        if draw.random() < 0.1:
            readings.pop()
    return readings, known


def check_books(draw: random.Random, count: int) -> None:
    books = [random_book(draw) for _ in range(count)]
    asked = [
        {
            "known": known,
            "readings": [{"point": r.point, "sight": r.sight, "rod": r.rod, "row": r.row} for r in readings],
        }
        for readings, known in books
    ]
    refused = 0
    for (readings, known), told in zip(books, worked({"books": asked})["books"], strict=True):
        try:
            runs = reduce_levels(readings, known)
        except InputError:
            assert told["fault"]
            refused += 1
            continue
        assert "fault" not in told, (readings, known)
        for own, settled, page, moved in zip(runs, adjusted(runs, known), told["runs"], told["settled"], strict=True):
            same_run(own, page)
            same_run(settled, moved)
    assert refused < count / 2


def same_run(own: LevelRun, page: dict[str, Any]) -> None:
    assert [own.start, own.end, *own.turns] == [page["start"], page["end"], *page["turns"]]
    assert [visit.point for visit in own.visits] == [visit["point"] for visit in page["visits"]]
    pairs = [
        *zip(own.instrument, page["instrument"], strict=True),
        *zip(own.levels, page["levels"], strict=True),
        *zip([visit.elevation for visit in own.visits], [visit["elevation"] for visit in page["visits"]], strict=True),
        (own.backsights, page["backsights"]),
        (own.foresights, page["foresights"]),
    ]
    assert all(abs(a - b) < SAME for a, b in pairs)
    assert (own.misclosure is None) == (page["misclosure"] is None)
    assert abs((own.misclosure or 0.0) - (page["misclosure"] or 0.0)) < SAME


def check_ties(draw: random.Random, count: int) -> None:
    asked, ties = [], []
    for _ in range(count):
        size = draw.choice((2, 2, 3, 3, 4))
        anchors = [(draw.uniform(-15.0, 15.0), draw.uniform(-15.0, 15.0)) for _ in range(size)]
        at = draw.uniform(-15.0, 15.0), draw.uniform(-15.0, 15.0)
        slip = draw.choice((0.0, 0.005, 0.01, 0.5))
        radii = [abs(math.dist(anchor, at) + draw.gauss(0.0, slip)) + 1e-6 for anchor in anchors]
        left = draw.choice((True, False, None)) if size > 2 else draw.choice((True, False))
        side = None if left is None else Side(left, "k0", "k1")
        names = [f"k{k}" for k in range(size)]
        places = {point_key(name): anchor for name, anchor in zip(names, anchors, strict=True)}
        ties.append((Tie("P", "row 1", tuple(zip(names, radii, strict=True)), side), places))
        asked.append({"anchors": anchors, "radii": radii, "left": left, "bound": TIE_BOUND})
    found = 0
    for (tie, places), told in zip(ties, worked({"ties": asked})["ties"], strict=True):
        try:
            fix = place_tie(tie, places, "ft").fix
        except InputError:
            assert told["fix"] is None
            assert told["why"]
            continue
        found += 1
        assert told["fix"] is not None, (tie, told)
        assert math.dist(fix.at, told["fix"]["at"]) < SAME
        assert all(abs(a - b) < SAME for a, b in zip(fix.residuals, told["fix"]["residuals"], strict=True))
        assert told["fix"]["dilution"] == pytest.approx(fix.dilution, rel=1e-5)
    assert found > count / 3


def check_rods(draw: random.Random, count: int) -> None:
    asked = []
    for _ in range(count):
        grade, rod = draw.uniform(20.0, 40.0), draw.uniform(0.0, 4.0)
        height = grade + rod + draw.gauss(0.0, 0.1)
        asked.append((height, rod, grade, draw.choice((0.01, 0.03048)), draw.choice(("ft", "m"))))
    for (instrument, rod, grade, most, units), told in zip(asked, worked({"rods": asked})["rods"], strict=True):
        build = grade - (instrument - rod)
        assert abs(told["depth"] - build) < SAME
        words = " ".join(filter(None, (told["build"]["kind"], told["build"]["much"])))
        assert words == depth_words(build, units)
        assert told["built"]["kind"] == ("within" if abs(build) <= most else "low" if build > 0.0 else "high")
        if told["built"]["kind"] != "within":
            assert f"{told['built']['much']} {told['built']['kind']}" == off_words(-build, units)


def test_books_ties_and_readings_come_out_alike() -> None:
    draw = random.Random(17)
    check_books(draw, 60)
    check_ties(draw, 60)
    check_rods(draw, 60)


@pytest.mark.slow
def test_two_thousand_books_ties_and_readings_come_out_alike() -> None:
    draw = random.Random(1)
    check_books(draw, 700)
    check_ties(draw, 700)
    check_rods(draw, 600)


def test_lengths_are_read_as_the_library_reads_them() -> None:
    texts = [
        "4.62",
        "4,62",
        ".5",
        "0",
        "-1.25",
        "31 ft 6 1/2 in",
        "31' 6\"",
        "31'6\"",
        "6 1/2",
        "6½ in",
        "2 ft",
        "45 cm",
    ]
    texts += ["1.2 m", "12 mm", "1/2 in", "7 in 2 ft", "x", "", "4.6.2", "3 in 3 in", "1 e", "2 ft 4-1/2 in", "+3.5"]
    asked = [(text, units) for text in texts for units in ("ft", "m")]
    for (text, units), told in zip(asked, worked({"typed": asked})["typed"], strict=True):
        try:
            own = parse_length(text.replace("4,62", "4.62"), units, "")  # type: ignore[arg-type]
        except InputError:
            own = None
        assert (told is None) == (own is None), (text, units, told, own)
        assert told == pytest.approx(own, abs=1e-9)


def test_the_allowance_is_the_librarys() -> None:
    lengths = [None, 0.0, 5.0, 60.0, 240.0, 1000.0, 4000.0]
    asked = [(length, 0.012, 0.02 * FOOT) for length in lengths]
    for length, told in zip(lengths, worked({"allowed": asked})["allowed"], strict=True):
        assert told == pytest.approx(allowance(length, "third order", 0.02 * FOOT), abs=1e-12)


def test_bounds_of_tapes_are_the_librarys() -> None:
    script = asset("tapefix.js")
    found = dict(re.findall(r"export const (\w+) = ([\d.]+);", script))
    feet, flat = float(found["TIE_BOUND_FEET"]), float(found["FLAT"])
    assert feet * FOOT == pytest.approx(TIE_BOUND, rel=1e-12)
    assert flat == WEAK
