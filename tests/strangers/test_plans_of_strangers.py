"""Plans that come by mail: read within bounds of size and time, or refused in words."""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from spoil import BINARY, TEXT, spoiled

from terrain.errors import MOST_TOLD, HummockError, InputError
from terrain.plain import plain
from terrain.site import PlanOptions, read_design
from terrain.survey import read_plan

ezdxf = pytest.importorskip("ezdxf")


def small_plan(path: Path) -> Path:
    """Everything that is read, a few of each."""
    made = ezdxf.new("R2010", units=6)
    space = made.modelspace()
    for name, top in (("EX-CONTOURS", 0.0), ("PROP-CONTOURS", 0.3)):
        for number in range(4):
            line = [(x, 2.0 * number + 0.1 * x) for x in range(0, 9, 2)]
            space.add_lwpolyline(line, dxfattribs={"layer": name, "elevation": 10.0 + 0.2 * number + top})
    space.add_polyline3d([(1, 1, 10.1), (4, 2, 10.2)], dxfattribs={"layer": "EX-BREAK"})
    space.add_point((3, 3, 10.4), dxfattribs={"layer": "EX-SPOTS"})
    space.add_text("FG 10.55", height=0.2, dxfattribs={"layer": "PROP-SPOTS"}).set_placement((4, 4))
    space.add_mtext("oak 40 cm", dxfattribs={"layer": "TREES", "char_height": 0.2}).set_location((6.2, 6.2))
    space.add_circle((6, 6), 2.0, dxfattribs={"layer": "TREES"})
    space.add_3dface([(0, 0, 10), (1, 0, 10), (1, 1, 10.1)], dxfattribs={"layer": "SURFACE"})
    space.add_lwpolyline([(1, 1), (7, 1), (7, 5), (1, 5)], close=True, dxfattribs={"layer": "OUTLINE"})
    block = made.blocks.new("TREE")
    block.add_attdef("DBH", (0, 0))
    space.add_blockref("TREE", (2, 5), dxfattribs={"layer": "TREES"}).add_auto_attribs({"DBH": "30 cm"})
    made.saveas(path)
    return path


def verdict(path: Path) -> str:
    """ "read" or the refusal, after the laws that hold for both."""
    start = time.process_time()
    try:
        read_design(path, PlanOptions())
        return "read"
    except HummockError as error:
        message = str(error)
    finally:
        assert time.process_time() - start < 10.0
    lines = message.split("\n")
    assert len(lines) <= MOST_TOLD + 1
    assert all(plain(line) == line and len(line) < 5000 for line in lines)
    return message


@pytest.mark.usefixtures("forked_readers")
@pytest.mark.parametrize(
    "numbers", [pytest.param(range(40), id="quick"), pytest.param(range(40, 2000), id="whole", marks=pytest.mark.fuzz)]
)
def test_spoiled_plans_are_read_or_refused(numbers: range, tmp_path: Path) -> None:
    whole = small_plan(tmp_path / "plan.dxf").read_bytes()
    assert verdict(tmp_path / "plan.dxf") == "read"
    answers = []
    for number in numbers:
        chance = random.Random(f"plan {number}")
        (tmp_path / "plan.dxf").write_bytes(spoiled(whole, chance, BINARY if number % 2 else TEXT))
        answers.append(verdict(tmp_path / "plan.dxf"))
    assert any(answer != "read" for answer in answers)  # it spoils


def entities(count: int) -> Iterator[str]:
    yield "0\nSECTION\n2\nENTITIES\n"
    for number in range(count):
        yield f"0\nPOINT\n8\nL{number % 7}\n10\n{number % 1000}\n20\n{number // 1000}\n30\n5\n"
    yield "0\nENDSEC\n0\nEOF\n"


@pytest.mark.slow
def test_more_parts_than_a_plan_of_a_yard_has_are_refused(tmp_path: Path) -> None:
    (tmp_path / "plan.dxf").write_text("".join(entities(100_001)), encoding="ascii")
    with pytest.raises(InputError, match=r"plan\.dxf: it draws more than 100,000 parts\. Keep what lies about the bed"):
        read_plan(tmp_path / "plan.dxf", "plan.dxf")


@pytest.mark.usefixtures("forked_readers")
def test_signs_that_act_on_a_terminal_never_come_through(tmp_path: Path) -> None:
    made: Any = ezdxf.new("R2010", units=6)
    made.modelspace().add_text("\x1b[2J 10.5", dxfattribs={"layer": "EX\u202eSPOTS"}).set_placement((0, 0))
    made.saveas(tmp_path / "plan.dxf")
    message = verdict(tmp_path / "plan.dxf")
    assert "no layer says" in message
    assert "\x1b" not in message
    assert "\u202e" not in message


@pytest.mark.usefixtures("forked_readers")
def test_a_file_of_another_kind_is_refused_by_its_name(tmp_path: Path) -> None:
    (tmp_path / "plan.dxf").write_bytes(b"%PDF-1.7\nnot a drawing")
    assert "plan.dxf: this is not a readable DXF drawing" in verdict(tmp_path / "plan.dxf")
    assert "there is no such file" in verdict(tmp_path / "none.dxf")


@pytest.mark.usefixtures("forked_readers")
def test_a_thousand_layers_are_told_in_twenty_lines(tmp_path: Path) -> None:
    made: Any = ezdxf.new("R2010", units=6)
    for number in range(1000):
        made.modelspace().add_text("note", dxfattribs={"layer": f"L{number}"})
    made.saveas(tmp_path / "plan.dxf")
    lines = verdict(tmp_path / "plan.dxf").split("\n")
    assert lines[-1] == "and 981 more."


@pytest.mark.slow
def test_drawings_inside_drawings_without_end_are_refused(tmp_path: Path) -> None:
    made: Any = ezdxf.new("R2010", units=6)
    for depth in range(5, 0, -1):
        block = made.blocks.new(f"B{depth}")
        block.add_point((0, 0, 1), dxfattribs={"layer": "EX-A"})
        block.add_point((1, 0, 1), dxfattribs={"layer": "EX-B"})
        for k in range(60 if depth < 5 else 0):
            block.add_blockref(f"B{depth + 1}", (k, depth))
    made.blocks.get("B5").add_blockref("B1", (0, 0))  # and round in a ring
    made.modelspace().add_blockref("B1", (0, 0))
    made.saveas(tmp_path / "plan.dxf")
    message = verdict(tmp_path / "plan.dxf")
    assert "it draws more than 100,000 parts" in message or "takes more than" in message
