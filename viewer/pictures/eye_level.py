"""Eye-level views: what somebody sees from each named place, before and after, heights true."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from shapely.geometry import LineString, box

from terrain.units import Units, show_length, show_place
from viewer.page import INK, OUTLINE, PAPER, SOFT_INK, Page, Pen, Subject, Type, new_page, text_size, wrap
from viewer.pictures.eye_camera import EyeView, eye_view, holds_staff, share_left_out
from viewer.pictures.eye_picture import eye_picture, outline_in_sight
from viewer.pictures.heads import LEAST_HEAD, LEAST_NAME, beyond_one, set_heading
from viewer.pictures.standpoints import Standpoint, bed_places, clear_of, standpoints, stands_in
from viewer.pictures.view import standing_words
from viewer.pictures.yard_stage import YardModel, yard_model
from viewer.still import Still

WIDE = 585.0  # points; half as many pixels again on a phone of 390
DOTS = 144.0
EDGE = 18.0
TITLE, WORDS = Type(21.0, INK, bold=True, title=True), Type(15.0, INK)
SMALL = Type(13.5, SOFT_INK)
LEAD = 19.0
TOLD = 0.05  # of the bed: so much left out of a picture is told
PIXELS = round((WIDE - 2 * EDGE) * DOTS / 72.0)


def draw_eye_level(subject: Subject, folder: Path) -> list[Path]:
    """Write eye_<place>.png for every place into `folder`: before over after, one frame, one scale both ways."""
    return [page.save(folder / f"{stem}.png", dpi=DOTS) for stem, page in eye_pages(subject)]


def eye_pages(subject: Subject) -> Iterator[tuple[str, Page]]:
    """The page from every place with the stem of its file, "eye_" and the place's name."""
    taken: set[str] = set()
    models = yard_model(subject, False), yard_model(subject, True)
    for stand in standpoints(subject.site, subject.ground):
        stem = stand.stem
        while stem in taken:
            stem += "_2"
        taken.add(stem)
        yield f"eye_{stem}", eye_page(subject, stand, models)


def eye_page(subject: Subject, stand: Standpoint, models: tuple[YardModel, YardModel]) -> Page:
    """Both pictures from one place, with what they are true to; `models`: the yard as it is and as built."""
    view = eye_view(subject, stand, PIXELS)
    high = (WIDE - 2 * EDGE) * view.size[1] / view.width
    across = WIDE - 2 * EDGE
    told = wrap(_wording(subject, stand, view), SMALL, across)
    name, named = f"From the {stand.name}", f"{subject.site.name}; after: the {subject.grade} grade"
    more = beyond_one(name, TITLE, across, LEAST_HEAD)
    head = 64.0 + more + beyond_one(named, SMALL, across, LEAST_NAME)
    foot = EDGE + LEAD * len(told) + 6.0
    page = new_page(WIDE, head + 2 * high + 10.0 + foot)
    set_heading(page, (EDGE, page.height - 32.0), name, TITLE, across, LEAST_HEAD)
    set_heading(page, (EDGE, page.height - 53.0 - more), named, SMALL, across, LEAST_NAME)
    top = page.height - head
    for built in (False, True):
        frame = (EDGE, top - high, WIDE - EDGE, top)
        lay_picture(page, subject, view, eye_picture(subject, view, built, models[built]), frame, built)
        _tag(page, frame, "after" if built else "before")
        top -= high + 10.0
    for number, line in enumerate(told):
        page.text(EDGE, foot - LEAD * (number + 1) - 2.0, line, SMALL)
    return page


def lay_picture(
    page: Page,
    subject: Subject,
    view: EyeView,
    picture: Still,
    frame: tuple[float, float, float, float],
    built: bool,
) -> None:
    """Lay a picture into left, bottom, right, top (points), with the bed outline on it."""
    from shapely import affinity

    left, _, right, top = frame
    page.picture(picture.pixels, frame)
    size = (right - left) / view.width
    line = outline_in_sight(subject, view, picture, built)
    shown = affinity.affine_transform(line, [size, 0.0, 0.0, -size, left, top]).intersection(box(*frame))
    page.lines(shown, Pen(OUTLINE, 1.0, (5.0, 3.0)))
    page.lines(box(*frame), Pen(SOFT_INK, 0.6))


def _tag(page: Page, frame: tuple[float, float, float, float], word: str) -> None:
    wide = text_size(word, WORDS)[0] + 14.0
    page.area(box(frame[0], frame[3] - 24.0, frame[0] + wide, frame[3]), PAPER, 0.9)
    page.text(frame[0] + 7.0, frame[3] - 18.0, word, WORDS)
    page.lines(LineString([(frame[0], frame[3]), (frame[2], frame[3])]), Pen(SOFT_INK, 0.6))


def _wording(subject: Subject, stand: Standpoint, view: EyeView) -> str:
    """What the pictures are true to, where the eye stands, what is left out, and what nobody measured."""
    units = subject.site.units
    staff = "6 ft, a foot a band" if units == "ft" else "2 m, a quarter metre a band"
    words = [f"Heights are true. {place_words(stand, units)} Staff: {staff}. Dashed: bed outline."]
    words += left_out(subject, stand, view)
    return " ".join([*words, *standing_words(subject)])


def left_out(subject: Subject, stand: Standpoint, view: EyeView) -> list[str]:
    """What of the bed the picture does not show, and what of the yard it leaves out."""
    words = []
    outside = share_left_out(subject, view)
    if outside > TOLD:
        words.append(f"{_tenths(outside)} of the bed lies outside the frame: stand farther off to see it whole.")
    if not holds_staff(subject, view):
        words.append("Somebody so near sees no whole staff.")
    seen = clear_of(subject.site, stand.at, bed_places(subject.site.bed.outline))
    if 1.0 - seen > TOLD:
        words.append(f"Trunks or walls hide {_tenths(1.0 - seen).lower()} of it.")
    if any(stands_in(stand, one.outline) for one in subject.site.building) and not stand.invented:
        words.append("The eye stands inside walls, which are left out.")
    return words


def _tenths(share: float) -> str:
    """A share to the nearest tenth."""
    tenths = round(10.0 * share)
    return "All" if tenths >= 10 else f"About {max(tenths, 1)} tenth{'s' if tenths > 1 else ''}"


def place_words(stand: Standpoint, units: Units) -> str:
    """Where the eye stands, and whether the place is invented."""
    where = f"Eyes {show_length(stand.eye, units, 'distance')} over the ground at {show_place(*stand.at, units)}."
    return f"{where} Place invented: name yours with [[view_from]]." if stand.invented else where
