"""The crew's day as plain values, for crew.json; SI units."""

from __future__ import annotations

from terrain.field.crew.day import PACES, CrewDay, Task


def crew_plain(day: CrewDay) -> dict[str, object]:
    """The steps, stops, way in and squares; hours are those of one person: quick, likely, slow."""
    squares = day.squares
    return {
        "grade": "day one",
        "people": day.people,
        "steps": [_step(task) for task in day.tasks],
        "hours": list(day.hours),
        "holds": [{"kind": hold.kind, "name": hold.name} for hold in day.holds],
        "way": {
            "length_m": day.way.length,
            "gate_m": day.way.gate,
            "planks": [{"tree": tree, "length_m": length} for tree, length in day.way.planks],
            "heaps": list(day.way.heaps),
        },
        "squares": {
            "side_m": squares.side,
            "from": squares.frame.start,
            "toward": squares.frame.end,
            "station_m": squares.station,
            "offset_m": squares.offset,
            "barrow_m3": squares.barrow,
            "barrow_assumed": squares.assumed,
            "barrows_bought": squares.bought,
            "barrows_of_the_yard": squares.of_the_yard,
            "lifts": [
                {
                    "number": lift.number,
                    "comes": lift.comes,
                    "soil": lift.name,
                    "loose_depth_m": lift.depth,
                    "barrows": [list(row) for row in lift.barrows],
                }
                for lift in squares.lifts
            ],
        },
    }


def _step(task: Task) -> dict[str, object]:
    """One step; the source of its hours where they are published."""
    source = "the site file" if task.stated else PACES[task.step].source if task.hours else ""
    hours = None if task.hours is None else list(task.hours)
    return {"step": task.step, "amount": task.amount, "hours": hours, "source": source}
