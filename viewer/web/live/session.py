"""One yard on the page: its ground, the steps taken, what is saved and what is not; knows no network."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from time import perf_counter

from terrain.errors import InputError
from terrain.flow import Progress, Sketch, Study, quietly, run_site
from terrain.ground import Ground
from terrain.shape import with_heights
from terrain.site import Site
from viewer.page import Subject, subject_of
from viewer.web.live.draft import draft_path, read_draft, remove_draft, write_draft
from viewer.web.live.engine import set_up, shape_fully, shape_quickly
from viewer.web.live.frames import Plain, frame, full_panels, ground_frame, later_panels, quick_panels
from viewer.web.live.history import History
from viewer.web.live.photo_desk import PhotoDesk
from viewer.web.live.save import save_wish, site_of
from viewer.web.live.wish import Wish, on_known_places, read_wish, streams_along, wish_of_site, with_wish
from viewer.web.scenery import laid_of
from viewer.web.yard import base_of, levels_of, water_of, wish_of, yard_of

MOST_STUDIES = 3  # remembered: what is shown, what is kept, what was before
WritePlan = Callable[[Site], Sequence[str]]


class Session:
    """The state of one page.

    Parameters
    ----------
    path
        The site file.
    write_plan
        Writes the plan set of a site into the output folder and names the files.
    progress
        Called with a few words before each step of the start.
    outside
        What the site file may name outside its folder.
    photo
        A photograph in which the mound is shown; None: there is none.

    Raises
    ------
    InputError
        Where the site cannot be read or worked.
    """

    def __init__(
        self,
        path: Path,
        write_plan: WritePlan,
        progress: Progress = quietly,
        outside: Sequence[Path] = (),
        photo: PhotoDesk | None = None,
    ) -> None:
        self.path = path
        self.photo = photo
        self.outside = outside
        self.write_plan = write_plan
        progress("reading the site file")
        site, self.text = site_of(path, outside)
        study = run_site(site, progress=progress)
        self.bench = set_up(study.site, study.ground)
        self.saved = wish_of_site(study.site)
        self.history = History(self.saved)
        self.studies = {self.saved: study}
        self.sketch: Sketch | None = None
        self.on_page = study.ground
        self.yard, self.base = self._yard(study)
        self._bring_back(read_draft(path, site))

    def _bring_back(self, draft: tuple[Wish, Wish | None] | None) -> None:
        """Take up the unsaved work of an earlier time, where it can be shaped."""
        self.recovered = False
        if draft is None:
            return
        now, kept = (one if one is not None and self._can_be_shaped(one) else None for one in draft)
        self.recovered = now is not None and now != self.saved
        self.history = self.history.changed(now or self.saved).keeping(kept)

    def _can_be_shaped(self, wish: Wish) -> bool:
        try:
            self.study(wish)
        except InputError:
            return False
        return True

    def _yard(self, study: Study) -> tuple[Plain, float]:
        """What the page draws from, and the elevation that its heights count from, metres."""
        bench = self.bench
        existing, proposed = bench.shown.of(bench.ground.elevation), bench.shown.of(study.proposal.elevation)
        base = base_of(levels_of(bench.site.units, existing, proposed), existing)
        yard = yard_of(Subject(bench.site, bench.ground, study.proposal, study.work), bench.shown)
        photo = self.photo and {"photo": self.photo.plain(bench.site, bench.ground)}
        return {**yard, "file": self.path.name, "toe": study.proposal.toe, **(photo or {})}, base

    @property
    def corner(self) -> tuple[float, float]:
        """South-west node of the page in survey coordinates, metres."""
        return self.bench.shown.corner

    def state(self) -> Plain:
        """What the page must know of the steps taken."""
        history = self.history
        return {
            "wish": self._plain(history.now),
            "undo": bool(history.past),
            "redo": bool(history.future),
            "kept": None if history.kept is None else self._plain(history.kept),
            "unsaved": history.now != self.saved,
        }

    def _plain(self, wish: Wish) -> Plain:
        site = self.bench.site
        bed, berm = replace(site.bed, outline=wish.outline), replace(site.berm, crest=wish.crest)
        berm = replace(berm, max_slope=wish.max_slope, toe=wish.toe, gentle_side=wish.gentle_side, soil=wish.soil)
        stream = streams_along(site.stream, wish.streams)
        return wish_of(replace(site, bed=bed, berm=berm, stream=stream), self.corner)

    def grounds(self) -> tuple[bytes, bytes]:
        """The existing grade on the coarse and on the full grid."""
        bench = self.bench
        quick = ground_frame("quick", bench.quick.grid, bench.quick.elevation, self.base)
        return quick, self._ground(bench.ground)

    def _ground(self, ground: Ground) -> bytes:
        """The existing grade as the page is to know it from now on, on the full grid."""
        self.on_page = ground
        shown = self.bench.shows(ground.grid, ground.elevation)
        return ground_frame("full", self.bench.shown.grid, shown, self.base)

    def read(self, message: object) -> Wish:
        """The wish of a message; InputError where it makes no sense or does not fit the site."""
        history = self.history
        known = [wish for wish in (self.saved, history.now, history.kept) if wish is not None]
        wish = on_known_places(read_wish(message, self.corner), known)
        with_wish(self.bench.site, wish)
        return wish

    def keep_draft(self) -> None:
        """Keep the unsaved work beside the site file.

        Raises
        ------
        OSError
            Where it cannot be written.
        """
        history = self.history
        if history.now == self.saved and history.kept is None:
            remove_draft(self.path)
        else:
            write_draft(self.path, history.now, history.kept)

    def quick(self, wish: Wish, seq: int) -> tuple[bytes, Callable[[], Plain]]:
        """The quick shape of a wish as a message, and what then tells of its limits, trees and look."""
        began = perf_counter()
        self.sketch = shaped = shape_quickly(self.bench, wish, self.sketch)
        proposal = shaped.proposal
        crest = [[point.built, point.held_by] for point in proposal.crest]
        head: Plain = {"say": "shape", "on": "quick", "seq": seq, "crest": crest, "toe": proposal.toe}
        head["water"] = water_of(proposal, self.corner)
        change = proposal.elevation - self.bench.quick.elevation

        def look() -> Plain:
            return {"say": "look", "seq": seq, "panels": later_panels(shaped, self.corner)}

        head |= {"panels": quick_panels(shaped), "ms": 1e3 * (perf_counter() - began)}
        return frame(head, change), look

    def study(self, wish: Wish) -> Study:
        """The whole study of a wish; the last few are remembered.

        Raises
        ------
        InputError
            Where the wish cannot be built.
        """
        earlier = next(reversed(self.studies.values()), None)
        found = self.studies.pop(wish, None) or shape_fully(self.bench, wish, earlier)
        self.studies = {**dict(list(self.studies.items())[1 - MOST_STUDIES :]), wish: found}
        return found

    def full(self, wish: Wish, seq: int, kind: str = "shape") -> tuple[bytes, ...]:
        """The whole study of a wish as messages: its ground, where the page knows another, and its shape."""
        study = self.study(wish)
        ground = () if study.ground is self.on_page else (self._ground(study.ground),)
        change = self.bench.shows(study.ground.grid, study.proposal.elevation - study.ground.elevation)
        crest = [[point.built, point.held_by] for point in study.proposal.crest]
        head: Plain = {"say": kind, "on": "full", "seq": seq, "crest": crest, "toe": study.proposal.toe}
        head["water"] = water_of(study.proposal, self.corner)
        head["laid"] = laid_of(subject_of(study), self.corner, self.base)
        return *ground, frame({**head, "panels": full_panels(study, self.corner)}, change)

    def mark(self, asked: object) -> None:
        """Set or take away a mark in the photograph; InputError or OutputError where that cannot be."""
        if self.photo is None:
            raise InputError("The page", "has no photograph.", "Start it with --picture and --marks.")
        self.photo.change(asked, self.bench.site, self.bench.ground)

    def in_photo(self, wish: Wish) -> Plain | None:
        """A wish in the photograph as a message; None where there is no photograph."""
        return None if self.photo is None else self.photo.shown(self.study(wish))

    def save(self, now: Wish) -> str:
        """Save a wish to the site file and say so.

        Raises
        ------
        OutputError
            Where that cannot be done; the words say why.
        """
        if now == self.saved:
            return f"{self.path.name} holds this shape already."
        self.text = save_wish(self.path, self.text, self.saved, now, self.bench.site.units, self.outside)
        site, _ = site_of(self.path, self.outside)
        self.saved = wish_of_site(with_heights(site, self.bench.ground))
        return f"Saved in {self.path.name}."

    def plan(self, now: Wish) -> str:
        """Write the plan set of a wish and say so."""
        names = self.write_plan(with_wish(self.bench.site, now))
        words = f"Plan set written: {', '.join(names)}."
        return words if now == self.saved else f"{words} The shape is not saved in {self.path.name} yet."

    def opening_words(self) -> str:
        """What the page says when it opens."""
        if self.recovered:
            return f"Unsaved changes were found and brought back. Undo returns to {self.path.name}."
        return ""

    def draft_trouble(self, error: OSError) -> str:
        """What to say where unsaved work cannot be kept."""
        return f"{draft_path(self.path).name} cannot be written ({error.strerror}): save soon."
