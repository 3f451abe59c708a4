"""Search for alternatives: lay each family on the bed in a few ways, judge them on a coarse grid, keep what goes well
together, and give each as much of the drawn form's soil as it can take and still be another form."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np

from terrain.errors import InputError
from terrain.flow import Study, measured_study, run_site
from terrain.grid import Array, Grid
from terrain.ground import Ground, check_ground, on_grid
from terrain.look import Look
from terrain.shape import Prepared, Proposal, loose_needed, prepare, raised_fill, shape_berm
from terrain.site import Site, Stream
from terrain.soil import NOTHING_ASKED, shaped_as_asked
from terrain.suggest.choice import choose
from terrain.suggest.each import OnEach, one_by_one
from terrain.suggest.families import FAMILIES, SAME_SOIL, SCREEN, WINDOW, Family
from terrain.suggest.laying import (
    CLEARLY_DIFFERENT,
    SLACK,
    SOIL_CLOSE,
    LaidForm,
    Trial,
    Wishes,
    Yardstick,
    brought_to,
    difference,
    laid_ways,
    look_of_trial,
    tried,
)
from terrain.suggest.reasons import DRAWN, alike_words, bare_words, sight_words, soil_words, why_no_more
from terrain.suggest.roots import covered
from terrain.suggest.sight import sight_lines

NODES_ACROSS = 80  # nodes across the bed on which a form is judged
MOST = 7
# Shares of the drawn form's soil, or of what the limits hold, that are tried, from all of it down: with all of it every
# form comes near the limit surface, and all are alike.
SOIL_SHARES = (1.0, 0.75, 0.55, 0.4)
SOIL_SOLVED = 0.005  # share of the soil to which a form that can take all of it is brought on the full grid
NEARLY = 0.1  # share of it that the form which is there for its soil may be off for that on the coarse grid
FULLER = 2  # halvings of the way to the next larger share


@dataclass(frozen=True)
class Suggestion:
    """One alternative.

    Parameters
    ----------
    name, sentence
        Its family, and what it does and takes, in plain words.
    study
        The yard worked through with it, on the full grid, under the same limits.
    unlike
        Share of its fill and the drawn form's that they do not have in common, 0 to 1.
    takes
        Loose soil that it takes over that of the drawn form.
    """

    name: str
    sentence: str
    study: Study
    unlike: float
    takes: float

    @property
    def site(self) -> Site:
        """The site with the alternative's crest and toe, and where its family asks for it with a gentler limit or the
        bed drawn back from the tree; everything else as the designer gave it."""
        return self.study.site

    @property
    def proposal(self) -> Proposal:
        """Its shape."""
        return self.study.proposal

    @property
    def look(self) -> Look:
        """Its signs."""
        return self.study.review.look


def suggest(
    site: Site,
    ground: Ground,
    progress: Callable[[str], None] = lambda words: None,
    wishes: Wishes | None = None,
    on_each: OnEach = one_by_one,
) -> tuple[Suggestion, ...]:
    """Up to seven forms inside the same outline and limits, clearly different from each other, best first.

    Where the site states the soil on hand every form takes it; else every form takes as much of the soil of the
    designer's own form as it can and still be another form, and says why where that is less. The same site gets the
    same suggestions. No limit is relaxed: every candidate is shaped as `shape_berm` does it.

    Parameters
    ----------
    site, ground
        The yard as `shape_berm` takes it.
    progress
        Called with a few words as the search goes on.
    wishes
        A height of every form, which the limits may leave unmet and soil on hand goes before; what is to be hidden or
        to stay in sight, which decides what is offered and what comes first.
    on_each
        How the forms are judged and worked through: the answer is the same.

    Returns
    -------
    tuple
        Fewer than three where the bed has no room for more; empty where no form can be shaped at all.
    """
    check_ground("suggest", site, ground)
    # A stream is cut into whatever form there is: the search knows none; a form that cannot carry it is not offered.
    found = _searched(replace(site, stream=()), ground, progress, wishes or Wishes(), on_each)
    return found if not site.stream else tuple(carrying_streams(site.stream, found, ground))


def carrying_streams(
    streams: tuple[Stream, ...], found: tuple[Suggestion, ...], ground: Ground
) -> Iterator[Suggestion]:
    """Those of the forms that can carry the streams of a site, with them cut in."""
    for one in found:
        with suppress(InputError):
            yield replace(one, study=run_site(replace(one.site, stream=streams), ground=ground))


def _searched(
    site: Site, ground: Ground, progress: Callable[[str], None], wishes: Wishes, on_each: OnEach
) -> tuple[Suggestion, ...]:
    drawn = _DrawnForm.of(site, ground)  # first: its layout is at hand from the study of it
    yard = yardstick_of(site, ground, wishes)
    families = _families(site, wishes)
    trials = _trials(yard, families, progress)
    best = _best(families, trials, on_each)
    # What is there for a tree, a mower, the soil or an eye is left out last.
    chosen = sorted(best, key=lambda trial: (-trial.family.left_out, trial.cost))[:MOST]
    progress("shaping the best of them in full")
    return _finished(yard, chosen, drawn, ground, on_each)


@dataclass(frozen=True)
class _DrawnForm:
    """The designer's own form on the full grid: its shape, (ny, nx) fill that no crest makes, its loose soil, m3."""

    proposal: Proposal
    fixed: Array
    soil: float

    @classmethod
    def of(cls, site: Site, ground: Ground) -> _DrawnForm:
        """The form of a site without its streams."""
        prepared = prepare(site, ground)
        return cls(
            shaped_as_asked(site, ground, prepared, NOTHING_ASKED),
            raised_fill(site, ground, prepared, 0.0)[0],
            loose_needed(site, ground, prepared, 1.0),
        )


def _best(families: tuple[Family, ...], trials: Sequence[Trial], on_each: OnEach) -> list[Trial]:
    """The trials that go best together.

    A look takes longer than all else, so only what is chosen is judged: all others stand in the choice with the least
    that they can cost, and it is made again until it rests on judged trials alone.
    """
    numbers = [families.index(trial.family) for trial in trials]
    left_out, unlike = [family.left_out for family in families], _unlike(trials)
    costs = np.array([trial.least_cost for trial in trials])
    judged: set[int] = set()
    while True:
        best = choose(numbers, left_out, costs, unlike)
        if judged.issuperset(best):
            return [trials[k] for k in best]
        asked = sorted(set(best) - judged)
        judged |= set(asked)
        for k, look in zip(asked, on_each(look_of_trial, [trials[k] for k in asked]), strict=True):
            vars(trials[k])["look"] = look  # where a cached property looks first
        costs[asked] = [trials[k].cost for k in asked]


def _trials(yard: Yardstick, families: tuple[Family, ...], progress: Callable[[str], None]) -> list[Trial]:
    """Every family laid in every way with ever less soil, less those that may not be offered."""
    found: list[Trial] = []
    for family in families:
        progress(f"trying forms: {family.name}")
        for laid in laid_ways(yard, family):
            found += _with_ever_less(yard, laid)
    found = [trial for trial in found if _keeps_off(yard, trial) and trial.is_another]
    # Soil on hand that a form cannot take lies about: such a form is offered only where none can.
    return [trial for trial in found if trial.takes_all] or found


def yardstick_of(site: Site, ground: Ground, wishes: Wishes) -> Yardstick:
    """What the trials of a yard are held against."""
    coarse = judged_on(site, ground)
    plain = replace(site, berm=replace(site.berm, soil=None))
    prepared = prepare(plain, coarse)
    return Yardstick(
        site=site,
        ground=coarse,
        drawn=shape_berm(site, coarse),
        fixed=raised_fill(plain, coarse, prepared, 0.0)[0],
        soil=loose_needed(plain, coarse, prepared, 1.0) if site.berm.soil is None else site.berm.soil,
        height=wishes.height,
        hide=tuple(sight_lines(sight, ground) for sight in wishes.hide),
        see=tuple(sight_lines(sight, ground) for sight in wishes.see),
    )


def judged_on(site: Site, ground: Ground) -> Ground:
    """The same ground on fewer nodes, enough to judge a form by."""
    west, south, east, north = site.bed.outline.bounds
    cell = max(ground.grid.cell, max(east - west, north - south) / NODES_ACROSS)
    margin = 2.0 * cell
    grid = Grid(
        west - margin,
        south - margin,
        cell,
        int((east - west + 2 * margin) / cell) + 2,
        int((north - south + 2 * margin) / cell) + 2,
    )
    return on_grid(ground, grid)


def _families(site: Site, wishes: Wishes) -> tuple[Family, ...]:
    asked = [*([SCREEN] if wishes.hide else []), *([WINDOW] if wishes.see else [])]
    return (*FAMILIES, *([SAME_SOIL] if site.berm.soil is None and wishes.height is None else []), *asked)


def _with_ever_less(yard: Yardstick, laid: LaidForm) -> Iterator[Trial]:
    """A family laid one way, with ever less soil; once where soil or height are given, or are the point of it."""
    once = yard.gives_soil or laid.family in (SAME_SOIL, SCREEN)
    takes = np.inf
    for share in SOIL_SHARES[:1] if once else SOIL_SHARES:
        wanted = share * min(yard.soil, laid.most)
        # What the limits hold back of one amount they hold back of the next as well.
        if wanted <= takes:
            trial = tried(yard, laid, wanted)
            takes = trial.takes if trial.held else np.inf
            yield trial


def _keeps_off(yard: Yardstick, trial: Trial) -> bool:
    """Whether a form that is there for the roots covers half of what the drawn one covers, or less."""
    if not trial.family.clear_of_roots:
        return True
    grid = yard.ground.grid
    return covered(yard.site, grid, trial.fill) <= 0.5 * covered(yard.site, grid, yard.drawn.fill) + grid.cell**2


def _unlike(trials: Sequence[Trial]) -> np.ndarray:
    """(n, n) whether two trials are clearly different."""
    unlike = np.ones((len(trials), len(trials)), dtype=bool)
    for k, one in enumerate(trials):
        for j, other in enumerate(trials[:k]):
            unlike[k, j] = unlike[j, k] = one.unlike(other.fill) >= CLEARLY_DIFFERENT + SLACK
    return unlike


def _finished(
    yard: Yardstick, chosen: list[Trial], drawn: _DrawnForm, ground: Ground, on_each: OnEach
) -> tuple[Suggestion, ...]:
    """The chosen forms, made as full as they can be, on the full grid where they are as clearly different there."""
    why = [""] * len(chosen)
    for k in range(len(chosen)):
        chosen[k], why[k] = _made_fuller(yard, chosen[k], chosen[:k] + chosen[k + 1 :])

    def worked(told: tuple[Trial, str]) -> Suggestion:
        return _suggestion(yard, told[0], told[1], drawn, ground)

    found: list[tuple[Suggestion, Trial]] = []
    for one, trial in zip(on_each(worked, list(zip(chosen, why, strict=True))), chosen, strict=True):
        others = [other.proposal.fill for other, _ in found]
        if all(difference(one.proposal.fill, other, drawn.fixed) >= CLEARLY_DIFFERENT for other in others):
            found.append((one, trial))
    best = sorted(found, key=lambda one: (one[0].look.verdict == "made", _rank(yard, one[1])))
    return tuple(one for one, _ in best)


def _suggestion(yard: Yardstick, trial: Trial, reason: str, drawn: _DrawnForm, ground: Ground) -> Suggestion:
    """A form worked through on the full grid, and what it says; `reason` is why it takes no more soil."""
    own, bed, proposal = _in_full(yard, trial, ground, drawn.soil)
    share = loose_needed(own, ground, bed, 1.0) / max(drawn.soil, 1e-9)
    told = trial.family.sentence + sight_words(trial.family, yard)
    told += "" if yard.site.berm.soil is not None else soil_words(share, reason)
    unlike = difference(proposal.fill, drawn.proposal.fill, drawn.fixed)
    told += alike_words(yard, unlike) + bare_words(drawn.proposal, proposal)
    study = replace(measured_study(own, ground, proposal), bed=bed)
    return Suggestion(trial.family.name, told, study, unlike, share)


def _rank(yard: Yardstick, trial: Trial) -> tuple[float, ...]:
    """What comes first: where something is to be hidden or seen, that; else the fewest signs; then the least cost."""
    return round(yard.off_sight(trial.fill), 2), float(len(trial.look.present)), trial.cost


def _made_fuller(yard: Yardstick, kept: Trial, others: Sequence[Trial]) -> tuple[Trial, str]:
    """A chosen form with as much more soil as it can take and still be unlike the others; and why it takes no more."""
    why = ""
    if yard.gives_soil:
        return kept, "that is what its height makes"
    low, high = kept.wanted, yard.soil
    for step in range(FULLER + 1):
        if low >= (1.0 - SOIL_CLOSE) * high or kept.held:
            break
        wanted = high if step == 0 else 0.5 * (low + high)
        fuller = tried(yard, kept.laid, wanted)
        like = _like(fuller, others)
        if not like and fuller.signs <= kept.signs and fuller.takes >= kept.takes:
            kept, low = fuller, wanted
        else:
            high, why = wanted, why_no_more(yard, fuller, kept, like)
    return kept, why or why_no_more(yard, kept, kept, "")


def _like(trial: Trial, others: Sequence[Trial]) -> str:
    """What a form is too much like; "" where nothing."""
    if not trial.is_another:
        return DRAWN
    alike = (other for other in others if trial.unlike(other.fill) < CLEARLY_DIFFERENT + SLACK)
    return next((f'"{other.family.name}"' for other in alike), "")


def _in_full(yard: Yardstick, trial: Trial, ground: Ground, soil: float) -> tuple[Site, Prepared, Proposal]:
    """A form on the full grid, brought to the drawn form's loose soil there, m3, where it comes near it."""
    site = trial.site
    prepared = prepare(site, ground)
    near = NEARLY if trial.family is SAME_SOIL else SOIL_CLOSE
    if not yard.gives_soil and abs(trial.takes / yard.soil - 1.0) <= near:
        site, _, _ = brought_to(site, ground, prepared, soil, SOIL_SOLVED)
    return site, prepared, shaped_as_asked(site, ground, prepared, NOTHING_ASKED)
