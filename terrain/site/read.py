"""From a site file, or the same fields in Python, to a checked `Site` in SI units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from terrain.earth import Located
from terrain.errors import Faults, InputError
from terrain.expect import expect
from terrain.site.checks import check_site
from terrain.site.factors import with_factors
from terrain.site.faults import in_words
from terrain.site.fields import READERS, FieldReader
from terrain.site.gather import gather_survey
from terrain.site.keys import refuse_unknown
from terrain.site.model import Site
from terrain.site.on_earth import located, located_so_far
from terrain.site.outline import read_outline
from terrain.site.prices import with_order
from terrain.site.scanned import ScanYard
from terrain.site.sheet_fields import fields_of_workbook
from terrain.site.soils import texture_note
from terrain.site.spreads import OF_BED, OF_SOIL, with_spreads
from terrain.site.survey import Survey
from terrain.site.survey_keys import KEY_READERS, SurveyKeys
from terrain.site.toml import fields_of
from terrain.site.unmeasured import flat_survey, is_flat, refuse_measures
from terrain.survey import CODES, LARGEST_SITE, WORKBOOKS, Folder, read_text, with_coded
from terrain.units import Units, as_written

if TYPE_CHECKING:
    from pydantic import TypeAdapter
    from shapely.geometry import Polygon

Fields = Mapping[str, Any]
Part = TypeVar("Part", Site, SurveyKeys)
_ON_EARTH = ("crs", "place", "picture")
_OF_THE_SURVEY = ("accuracy", "leave_out", "surface")  # keys of [survey] that say how to take what was read


def read_site(path: str | Path, outside: Sequence[Path] = ()) -> Site:
    """Read a site file (TOML) and the measurement files that it names, or the workbook of a yard.

    Parameters
    ----------
    path
        The site file, whose paths start at its folder; or a workbook as `hummock new --sheet` writes it, by its ending.
    outside
        Files, and folders with all they hold, that the site file may name besides those in its own folder.

    Returns
    -------
    Site
        Checked, in metres, m3, rise/run and fractions.

    Raises
    ------
    InputError
        One message: file, key or row, the value that arrived, what would be accepted.
    """
    expect("read_site", path=(path, (str, Path)))
    path = Path(path)
    label = str(path)
    if path.suffix.lower() in WORKBOOKS:
        return replace(_from_workbook(path, label, outside), path=path)
    text = read_text(path, label, 'Give the path of a site file, such as "site.toml".', LARGEST_SITE)
    # A link may lead to a file that is not the user's site file: nobody else's line is printed.
    quoted = path.resolve().suffix.lower() == ".toml"
    return replace(build_site(fields_of(text, label, quoted), path.parent, label, outside), path=path)


def _from_workbook(path: Path, label: str, outside: Sequence[Path]) -> Site:
    """The site of a workbook; what is wrong is told at its cell."""
    sheet = fields_of_workbook(path, label)
    try:
        return build_site(sheet.fields, path.parent, label, outside)
    except InputError as fault:
        raise sheet.retold(fault) from None


def build_site(fields: Fields, folder: str | Path = ".", label: str = "site", outside: Sequence[Path] = ()) -> Site:
    """Build a site from the fields of a site file, as plain Python values.

    Parameters
    ----------
    fields
        As `tomllib` reads a site file: numbers in the site's units, texts with units, lists of points.
        Arrays, polygons and parts of a site (`Survey`, `Tree`, ...) may stand in their places; those are in
        metres.
    folder
        Where the paths in `fields` start.
    label
        Opens every message.
    outside
        As in `read_site`.

    Raises
    ------
    InputError
        As `read_site`.
    """
    expect("build_site", fields=(fields, Mapping))
    faults = Faults()
    with faults.kept():
        refuse_unknown(fields, label)
    with faults.kept():
        units = _units(fields, label)
    if "units" not in fields or fields["units"] not in ("ft", "m"):
        faults.refuse()
    at = FieldReader(units, Folder(Path(folder), tuple(outside)))
    prepared = dict(fields)
    with faults.kept():
        prepared |= _surveyed(fields, at, label)
    with faults.kept():
        prepared |= _soil(fields, label)
    with faults.kept():
        prepared |= _bed(prepared, label)
    prepared |= _prices(prepared)
    at = replace(at, folder=replace(at.folder, located=_located(prepared, at, label)))
    # Where the survey cannot be read, the other tables are looked through all the same.
    site = _validated(prepared, at, label, faults)
    faults.refuse()
    assert site is not None
    notes = tuple(dict.fromkeys((*site.survey.notes, *at.folder.said)))
    return check_site(replace(site, survey=replace(site.survey, notes=notes)), label)


def _located(prepared: Fields, at: FieldReader, label: str) -> Located | None:
    """Where on earth the survey lies; as far as [survey] itself says it, where its files could not be read."""
    survey = prepared.get("survey")
    found = survey.get("located") if isinstance(survey, Mapping) else getattr(survey, "located", None)
    if isinstance(found, Located) or not isinstance(survey, Mapping) or "located" in survey:
        return found if isinstance(found, Located) else None
    try:
        keys = _survey_keys({key: survey[key] for key in (*_ON_EARTH, "points") if key in survey}, at, label)
        return located_so_far(keys, at.units, f"{label} [survey]")
    except InputError:
        return None  # told with the survey's other faults


def _validated(fields: Fields, at: FieldReader, label: str, faults: Faults) -> Site | None:
    """The site of the fields; None, and all that is wrong with them among the faults, where there is none."""
    from pydantic import ValidationError

    try:
        with faults.kept():
            site: Site = _adapter(Site).validate_python(fields, context=at)
            return site
    except ValidationError as error:
        known_bad = bool(faults.found)
        for fault in error.errors(include_url=False):
            if not (known_bad and fault["loc"][:1] == ("survey",)):
                with faults.kept():
                    raise in_words(fault, fields, label) from None
    return None


@cache
def _adapter(table: type[Part]) -> TypeAdapter[Part]:
    from pydantic import TypeAdapter

    return TypeAdapter(table)


def _units(fields: Fields, label: str) -> Units:
    units = fields.get("units")
    if units == "ft" or units == "m":
        return "ft" if units == "ft" else "m"
    problem = f"{as_written(units)} is not a unit of a site." if "units" in fields else "this key is missing."
    raise InputError(f"{label} units", problem, 'Accepted: units = "ft" or units = "m".')


def _surveyed(fields: Fields, at: FieldReader, label: str) -> Fields:
    """The fields with [survey] put together from its files, and with what field codes add to the other tables."""
    survey = fields.get("survey")
    if not isinstance(survey, Mapping):
        return fields
    if is_flat(survey):
        return {**fields, "survey": _flat(fields, survey, at, label)}
    keys = _survey_keys(survey, at, label)
    at = replace(at, folder=replace(at.folder, located=located_so_far(keys, at.units, f"{label} [survey]")))
    window = _window(fields, keys, at, label)
    yard = ScanYard() if keys.scan is None else _scan_yard(fields, survey, at)
    gathered = gather_survey(keys, at, f"{label} [survey]", window, yard)
    filled, notes = with_coded(fields, gathered.coded, gathered.places, label)
    soil = fields.get("soil")
    said = texture_note(soil) if isinstance(soil, Mapping) else ()
    made = {**gathered.survey, "notes": (*gathered.notes, *notes, *said)}
    if keys.shots is None and not keys.joined and keys.scan is None:
        del made["shots"]
    stated = {key: survey[key] for key in _OF_THE_SURVEY if key in survey}
    return {**filled, "survey": {**stated, **made}}


def _flat(fields: Fields, survey: Fields, at: FieldReader, label: str) -> Fields:
    """[survey] of a yard that nobody measured."""
    where = f"{label} [survey]"
    bed = fields.get("bed")
    outline = bed.get("outline") if isinstance(bed, Mapping) else None
    refuse_measures(survey, outline, where)
    keys = _survey_keys({key: survey[key] for key in _ON_EARTH if key in survey}, at, label)
    found = located(keys, {}, at.units, where)
    folder = replace(at.folder, located=found)
    try:
        made = {} if outline is None else flat_survey(read_outline(outline, at.units, folder))
    except InputError:
        made = {}  # the outline's own field reports it
    soil = fields.get("soil")
    said = texture_note(soil) if isinstance(soil, Mapping) else ()
    return {
        **{key: survey[key] for key in _OF_THE_SURVEY if key in survey},
        **made,
        "notes": (*(found.notes if found else ()), *said),
        "located": found,
        "picture": keys.picture,
    }


def _survey_keys(survey: Fields, at: FieldReader, label: str) -> SurveyKeys:
    """[survey] as written, each value checked by itself."""
    from pydantic import ValidationError

    given = {key: value for key, value in survey.items() if key not in _OF_THE_SURVEY}
    try:
        keys: SurveyKeys = _adapter(SurveyKeys).validate_python(given, context=replace(at, readers=KEY_READERS))
    except ValidationError as error:
        faults = Faults()
        for fault in error.errors(include_url=False):
            with faults.kept():
                raise in_words(fault, {}, label, "survey") from None
        faults.refuse()
        raise
    return keys


def _window(fields: Fields, keys: SurveyKeys, at: FieldReader, label: str) -> Polygon | None:
    """The ground within the stated distance of the bed; None where no distance is stated."""
    bed = fields.get("bed")
    if keys.within is None or not isinstance(bed, Mapping) or "outline" not in bed:
        return None
    if isinstance(bed["outline"], str) and bed["outline"] == CODES:
        raise InputError(
            f"{label} [survey] within",
            "the bed outline comes from the survey itself, so that nothing is known to lie near it.",
            "Give the outline under [bed], or leave within out.",
        )
    outline = _outline(bed, at)
    return None if outline is None else outline.buffer(keys.within)


def _scan_yard(fields: Fields, survey: Fields, at: FieldReader) -> ScanYard:
    """What a scan is held against, as far as it can be read."""
    houses = fields.get("building", ())
    listed = houses if isinstance(houses, Sequence) and not isinstance(houses, str) else ()
    built = tuple(outline for house in listed if (outline := _outline(house, at)) is not None)
    return ScanYard(_outline(fields.get("bed"), at), built, _accuracy(survey, at))


def _outline(table: object, at: FieldReader) -> Polygon | None:
    """The outline of a table; None where it cannot be read, which its own field reports, or comes from the survey."""
    outline = getattr(table, "outline", None)  # a part of a site may stand in the place of its table
    if isinstance(table, Mapping):
        outline = table.get("outline")
    if outline is None or (isinstance(outline, str) and outline == CODES):
        return None
    try:
        return read_outline(outline, at.units, at.folder)
    except InputError:
        return None


def _accuracy(survey: Fields, at: FieldReader) -> float:
    """The accuracy of a shot, metres: as stated where that can be read, which its own field reports otherwise."""
    try:
        value = READERS["accuracy"](survey["accuracy"], at)
        return value if isinstance(value, float) else Survey.accuracy
    except (KeyError, InputError):
        return Survey.accuracy


def _soil(fields: Fields, label: str) -> Fields:
    soil = fields.get("soil", {})
    if not isinstance(soil, Mapping):
        return {}
    try:
        return {"soil": with_factors(with_spreads(soil, OF_SOIL, f"{label} [soil]"))}
    except InputError as error:
        raise InputError(error.where or f"{label} [soil] kind", error.problem, error.accepted) from None


def _prices(fields: Fields) -> Fields:
    prices = fields.get("prices")
    return {"prices": with_order(prices)} if isinstance(prices, Mapping) else {}


def _bed(fields: Fields, label: str) -> Fields:
    bed = fields.get("bed")
    return {"bed": with_spreads(bed, OF_BED, f"{label} [bed]")} if isinstance(bed, Mapping) else {}
