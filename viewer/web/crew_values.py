"""What the crew reads on the page to send: stakes, what they are taped from, and a shot to set the level on."""

from __future__ import annotations

from terrain.errors import InputError
from terrain.field import level_shot, set_out
from terrain.flow import Study
from terrain.survey import Place
from viewer.web.yard import PLACES, Plain


def crew_values(study: Study, corner: Place) -> Plain | None:
    """Stakes, known points and benchmark, metres from the page's corner; None where the yard cannot be set out."""
    try:
        stakes = set_out(study)
    except InputError:
        return None
    level = level_shot(study.site, study.proposal)
    return {
        "factor": study.work.day_one_factor,
        "known": [{"name": known.name, "at": _from(corner, known.at)} for known in stakes.known],
        "stakes": [
            {
                "name": stake.name,
                "what": stake.what,
                "at": _from(corner, stake.at),
                "existing": round(stake.existing, PLACES),
                "day_one": round(stake.day_one, PLACES),
            }
            for stake in stakes.stakes
        ],
        "benchmark": None
        if level is None
        else {"name": level.name, "at": _from(corner, level.at), "elevation": round(level.elevation, PLACES)},
    }


def _from(corner: Place, at: Place) -> list[float]:
    return [round(at[0] - corner[0], PLACES), round(at[1] - corner[1], PLACES)]
