"""`unfished`: the water that nobody has visited."""

from pathlib import Path

import click

from sweptwater_cli.guide import Step
from sweptwater_cli.options import Amount, json_option, new_file
from sweptwater_cli.show import (
    pair_head,
    place,
    sentence,
    show_json,
    table,
    tell,
    watch,
)


@click.command(cls=Step)
@click.option(
    "--at-least",
    type=Amount(least=0),
    metavar="ACRES",
    help="Leave out smaller pieces; hectares in a metric practice.",
)
@click.option("--gpx", type=new_file, help="Write the pieces' middles as waypoints.")
@click.option("--geojson", type=new_file, help="Write the pieces as areas.")
@json_option
@click.pass_obj
def unfished(
    folder: Path,
    at_least: float | None,
    gpx: Path | None,
    geojson: Path | None,
    as_json: bool,
) -> None:
    """List the water that nobody has visited, the largest piece first.

    \b
    Examples:
      sweptwater unfished
      sweptwater unfished --at-least 5 --gpx reports/unfished.gpx
    """
    from sweptwater.jobs.coverage_words import SAFETY
    from sweptwater.jobs.opened import open_folder
    from sweptwater.jobs.places import from_mark
    from sweptwater.jobs.unfished import unfished as job
    from sweptwater.units import ACRE_M2, HECTARE_M2, area_text, length_text

    settings = open_folder(folder).settings
    units = settings.units
    per = ACRE_M2 if units == "imperial" else HECTARE_M2
    least = None if at_least is None else at_least * per
    report = job(folder, at_least_m2=least, gpx=gpx, geojson=geojson, watch=watch)
    for fault in report.faults:
        tell(sentence(f"Not in order: {fault}"))
    if gpx is not None:
        tell(f"Waypoints: {place(gpx)}")
    if geojson is not None:
        tell(f"Areas: {place(geojson)}")
    if as_json:
        show_json(report)
        return
    rest_m2 = report.unfished_m2 - report.listed_m2
    small = f"pieces under {area_text(report.at_least_m2, units)}"
    strips = f"strips narrower than {length_text(settings.unfished_wide_m, units)}"
    of_it = f"{strips} and {small}" if report.at_least_m2 else strips
    click.echo(
        f"{report.practice}: {area_text(report.unfished_m2, units)} that nobody has "
        f"fished, {area_text(rest_m2, units)} of it in {of_it}."
    )
    if report.remembered_m2:
        memory = area_text(report.remembered_m2, units)
        click.echo(f"{memory} more are known to be fished from memory only.")
    if not report.pieces:
        click.echo("No other piece is listed.")
    else:
        click.echo()
        table(
            (
                *(">", ">area", ">width", "middle", "bank", "mark", "sector"),
                pair_head(report.pairs_day),
            ),
            [
                (
                    str(line.number),
                    area_text(line.area_m2, units),
                    length_text(line.diameter_m, units),
                    f"{line.lat:.5f}, {line.lon:.5f}",
                    f"{line.bank}, {length_text(line.bank_m, units)}"
                    if line.bank_m is not None
                    else "",
                    from_mark(line.mark, line.mark_m, line.mark_bearing_deg, units)
                    if line.mark_m is not None and line.mark_bearing_deg is not None
                    else "",
                    line.sector or "",
                    line.pair,
                )
                for line in report.pieces
            ],
        )
    tell(SAFETY)
