"""`start`: a new practice from any outline."""

import shlex
from datetime import date
from pathlib import Path

import click

from sweptwater_cli.options import crs_option, days, existing_file, json_option, names
from sweptwater_cli.show import sentence, show_json, tell


def _whole(_: click.Context, __: click.Parameter, value: str | None) -> frozenset[int]:
    try:
        return frozenset(int(part) for part in (value or "").split(",") if part.strip())
    except ValueError as error:
        raise click.BadParameter(f"{value!r} is no list of numbers like 1,3") from error


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--venue",
    "venue_file",
    type=existing_file,
    required=True,
    help="The water's outline: GeoJSON, GeoPackage, Shapefile, KML; islands are holes.",
)
@click.option("--name", help="What the water is called; else the outline's name.")
@click.option(
    "--pairs",
    callback=names,
    default="A,B,C",
    show_default=True,
    help="Call signs of the pairs, with commas.",
)
@click.option(
    "--days",
    callback=days,
    metavar="DAY,DAY",
    help="The practice days, like 2027-06-08,2027-06-09.",
)
@click.option("--zone", help="The time zone, like Europe/London; else the place's own.")
@click.option(
    "--units",
    type=click.Choice(["imperial", "metric"]),
    default="imperial",
    show_default=True,
    help="Yards and acres, or metres and hectares.",
)
@click.option("--only", callback=_whole, help="Numbers of the file's shapes to take.")
@crs_option
@json_option
def start(
    folder: Path,
    venue_file: Path,
    name: str | None,
    pairs: tuple[str, ...],
    days: tuple[date, ...],
    zone: str | None,
    units: str,
    only: frozenset[int],
    crs: str | None,
    as_json: bool,
) -> None:
    """Begin a practice in FOLDER from the outline of its water.

    \b
    Example:
      sweptwater start ashlode --venue outline.geojson --pairs Heron,Grebe,Teal
    """
    from sweptwater.jobs.start import start as job
    from sweptwater.units import area_text, length_text

    report = job(
        folder,
        venue_file,
        name=name,
        pairs=pairs,
        days=days,
        zone=zone,
        units="metric" if units == "metric" else "imperial",
        crs=crs,
        only=only,
    )
    for repair in report.repairs:
        tell(sentence(f"Repaired: {repair}"))
    if report.at_sea and not zone:
        tell("That is out at sea: are latitude and longitude the right way round?")
    if as_json:
        show_json(report)
        return
    islands = {0: "no islands", 1: "1 island"}.get(
        report.islands, f"{report.islands} islands"
    )
    click.echo(
        f"{report.practice}: {area_text(report.water_m2, report.units)} of water, "
        f"{length_text(report.shore_m, report.units)} of shore, {islands}, at "
        f"{abs(report.lat):.4f} {'N' if report.lat >= 0 else 'S'} "
        f"{abs(report.lon):.4f} {'E' if report.lon >= 0 else 'W'} ({report.time_zone})."
    )
    click.echo(f"The practice is in {folder}, for {', '.join(report.pairs)}.")
    there = shlex.quote(str(folder))
    click.echo(
        f"Next: add what is out of bounds (sweptwater -C {there} venue add --kind "
        f"out-of-bounds FILE), then sweptwater -C {there} divide"
    )
