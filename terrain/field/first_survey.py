"""What a first survey would make of an order whose ground nobody measured, or hardly."""

from __future__ import annotations

from terrain.flow import Study
from terrain.ground import TWENTY, deviation_after_shots, guessed
from terrain.soil import GROUND, order_range, surer, words

FLAT_SAID = "Nobody measured the ground: it is taken as flat, and neither falls nor water are checked."


def order_after_survey(study: Study) -> tuple[float, float] | None:
    """Central 90 % range of the soil to order, loose m3, that is expected once twenty shots are taken.

    By the ground model's own deviation for shots that are spread over the bed; None where the shots there are tell the
    range already.
    """
    if not guessed(study.ground) or study.ground.mean_deviation <= 0.0:
        return None
    share = min(1.0, deviation_after_shots(study.site) / study.ground.mean_deviation)
    return order_range(surer(study.order.given, (GROUND,), share))


def survey_words(study: Study) -> str:
    """How far the ground is a guess, and what twenty shots would make of the order; "" where it is measured."""
    after = order_after_survey(study)
    if after is None:
        return ""
    count = study.ground.check.shots
    said = (
        f"From {count} shots the range is assumed, not measured" if count else "The range allows for what it may hide"
    )
    return f"{said}; {TWENTY} shots would narrow the order to {words.between(*after, study.site.units)}."


def told_first(study: Study) -> tuple[str, ...]:
    """What an order's page says before its figures: ground that may be upside down, is a guess, or hardly measured."""
    doubts = tuple(finding.text for finding in study.review.first) if study.site.survey.measured else (FLAT_SAID,)
    return tuple(filter(None, (*doubts, survey_words(study))))
