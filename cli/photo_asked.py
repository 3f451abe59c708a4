"""A photograph of the yard on the command line: its options, for every command that draws the mound into one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from terrain.errors import InputError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from terrain.flow import Study
    from terrain.photograph import Sun
    from terrain.survey import Photograph
    from viewer.pictures import PlacedPhoto
    from viewer.web import PhotoDesk

Command = TypeVar("Command", bound=Callable[..., object])
_FILE = click.Path(path_type=Path)


@dataclass(frozen=True)
class PhotoAsked:
    """What the options say of a photograph; `light` is where the sun stands, None where nothing was asked."""

    picture: Path
    marks: Path
    mask: Path | None
    lens: float | None
    light: Sun | None


def photo_options(*, required: bool) -> Callable[[Command], Command]:
    """The options of a photograph: `picture`, `marks`, `mask`, `lens`, `sun`, `when`, `place`."""
    options = (
        click.option(
            "--picture", metavar="FILE", type=_FILE, required=required, help="A photograph: JPEG or PNG, not cut."
        ),
        click.option(
            "--marks", metavar="FILE", type=_FILE, required=required, help="Table of points seen in it: point,u,v,up."
        ),
        click.option(
            "--mask", metavar="FILE", type=_FILE, help="Picture as large, white where the photograph stays in front."
        ),
        click.option(
            "--lens",
            metavar="MM",
            type=click.FloatRange(5.0, 1000.0),
            help="Focal length in mm of 35 mm film, where the file has none.",
        ),
        click.option("--sun", metavar="'BEARING HEIGHT'", help="The sun, degrees from north and over the horizon."),
        click.option(
            "--when", metavar="TIME", help="When it was taken, with its zone: 2026-06-21T15:00-05:00; with --place."
        ),
        click.option("--place", metavar="'LAT LON'", help="Where on earth, degrees north and east; with --when."),
    )

    def decorate(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return decorate


def photo_asked(given: Mapping[str, object]) -> PhotoAsked | None:
    """What is asked of a photograph, by the options' names; None where there is none.

    Raises `InputError` for a picture without marks, for what goes with a picture alone, and for a sun that cannot be.
    """
    asked = {name: given[name] for name in ("picture", "marks", "mask", "lens", "sun", "when", "place")}
    if asked["picture"] is None or asked["marks"] is None:
        alone = [f"--{name}" for name, value in asked.items() if value is not None]
        if not alone:
            return None
        raise InputError(alone[0], "goes with a photograph and its marks.", "Give --picture and --marks.")
    from cli.photo_files import light_of

    picture, marks, mask, lens, sun, when, place = asked.values()
    return PhotoAsked(picture, marks, mask, lens, light_of(sun, when, place))  # type: ignore[arg-type]


def placed_photo(asked: PhotoAsked, study: Study, progress: Callable[[str], None]) -> PlacedPhoto:
    """The photograph and where it was taken from. Raises `InputError` where that cannot be found."""
    from terrain.photograph import fit_photo, read_marks
    from viewer.pictures import PlacedPhoto

    photograph, mask = _pictures(asked, progress)
    progress("finding the camera")
    marks = read_marks(asked.marks, str(asked.marks), study.site, study.ground)
    film = photograph.film if asked.lens is None else asked.lens
    fit = fit_photo(study.site, study.ground, study.proposal, marks, photograph.size, film, str(asked.marks))
    return PlacedPhoto(photograph, fit, mask, asked.light)


def photo_desk(asked: PhotoAsked, progress: Callable[[str], None]) -> PhotoDesk:
    """The photograph for a page where its marks are set; the table of marks need not be there yet."""
    from viewer.web import PhotoDesk

    photograph, mask = _pictures(asked, progress)
    return PhotoDesk(photograph, asked.marks, photograph.film if asked.lens is None else asked.lens, mask, asked.light)


def _pictures(asked: PhotoAsked, progress: Callable[[str], None]) -> tuple[Photograph, NDArray[np.float64] | None]:
    from terrain.survey import read_photograph
    from viewer.pictures import mask_of

    progress("reading the photograph")
    photograph = read_photograph(asked.picture, str(asked.picture))
    return photograph, None if asked.mask is None else mask_of(asked.mask, photograph)
