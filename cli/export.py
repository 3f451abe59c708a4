"""`hummock export`: the yard in open formats that other programs read."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from cli.ending import end
from cli.options import json_option, out_folder, out_option, site_argument, stage_option

if TYPE_CHECKING:
    from cli.export_files import ExportedFiles


@click.command(short_help="Write the yard in open formats.")
@partial(site_argument, required=False)
@click.option("--to", "formats", metavar="FORMAT[,FORMAT]", multiple=True, help="Formats, or all.")
@click.option("--scale", default="1:100", show_default=True, help='Of the table model; also "1 in = 8 ft".')
@click.option("--base", default="5 mm", show_default=True, help="Thickness of the table model's plate.")
@click.option("--tolerance", default="3 mm", show_default=True, help="Height within which meshes are thinned; 0: none.")
@click.option("--contours", metavar="LENGTH", help='Interval between contours, such as "0.5 ft" (default: chosen).')
@click.option("--paper", metavar="NAME", help="Paper of the drawings: letter, tabloid, 17x22, 22x34, A4 to A1.")
@stage_option("finished")
@click.option(
    "--check",
    "checked",
    metavar="[DIR]",
    is_flag=False,
    flag_value="",
    help="Write nothing: read the results in a folder back, and tell whether they are whole sets and agree.",
)
@out_option
@json_option
def export(
    site_file: Path | None,
    allow_outside: tuple[Path, ...],
    formats: tuple[str, ...],
    scale: str,
    base: str,
    tolerance: str,
    contours: str | None,
    paper: str | None,
    stage: str,
    checked: str | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Write the yard in open formats.

    \b
    glb      ground, fill and trees in one coloured model, metres, Y up
    obj ply  ground and fill, metres, Z up
    stl 3mf  a table model on a plate, to scale, millimetres
    dxf      drawing: faces, contours, outline, shots, text
    landxml  existing and proposed surfaces with breaklines
    geotiff  height grids
    geojson  bed, contours, findings, shots, stakes: on the map (.geojson), or, where the
             site does not say where on earth it lies, as local plans (.local.json) in
             feet or metres of the survey, which no map program can place
    gpkg     the same layers as one map file
    kml kmz  outline, trees, zones and stakes for a phone
    csv      shots, design points, stakes
    png svg  plan, sections, cut and fill, slopes, hillshade, eye-level views,
             as pictures or as vector drawings

    Drawings, surfaces, grids and tables keep survey coordinates and the site's own unit.

    \b
    Examples:
      hummock export examples/alder-bend/site.toml --to glb,dxf
      hummock export examples/alder-bend/site.toml --to stl --scale 1:50 --base "4 mm"
      hummock export --check examples/alder-bend/out
    """
    from cli.progress import progress_shown

    if checked is not None:
        from cli.export_check import check_results, results_meant

        check_results(results_meant(checked, site_file, out), as_json)
        return
    for value, missing in ((site_file, "argument 'SITE.toml'"), (formats, "option '--to'")):
        if not value:
            raise click.UsageError(f"Missing {missing}.", click.get_current_context())
    assert site_file is not None
    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        from cli.export_files import summary_with_files, wanted, write_formats
        from cli.folder import begin_run, results_in
        from cli.outputs import asked_of, check_asked
        from terrain.flow import run_site
        from terrain.site import read_site

        run = begin_run(folder, "export", site_file)
        progress("reading the site file")
        site = read_site(site_file, allow_outside)
        grade: Literal["day one", "finished"] = "day one" if stage == "day-one" else "finished"
        asked = wanted(",".join(formats), scale, base, tolerance, site.units, grade, site.survey.located)
        drawings = asked_of(site.units, contours, paper)
        study = run_site(site, progress=progress)
        check_asked(study, drawings)
        with results_in(folder, run) as aside:
            written = write_formats(study, asked, drawings, aside, progress)
    for finding in study.review.findings:
        if finding.level == "stop":
            click.echo(f"Stop: {finding.text}", err=True)
    end(
        summary_with_files(study, written),
        as_json=as_json,
        report=lambda: _report(written, folder),
        stopped=study.review.stopped,
    )


def _report(written: ExportedFiles, folder: Path) -> None:
    from cli.report import shown_names, shown_path

    for line in written.remarks:
        click.echo(line)
    click.echo(f"Files in {shown_path(folder)}: {shown_names(written.names)}")
