"""`start`: a new practice from any outline."""

import shlex
from datetime import date
from pathlib import Path

import click
from click.core import ParameterSource

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
    help="The water's outline: GeoJSON, GeoPackage, Shapefile, KML; islands are holes.",
)
@click.option(
    "--from",
    "packed",
    type=existing_file,
    help="A whole practice that was packed before, instead of an outline.",
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
@click.pass_context
def start(
    ctx: click.Context,
    folder: Path,
    venue_file: Path | None,
    packed: Path | None,
    name: str | None,
    pairs: tuple[str, ...],
    days: tuple[date, ...],
    zone: str | None,
    units: str,
    only: frozenset[int],
    crs: str | None,
    as_json: bool,
) -> None:
    """Begin a practice: from an outline of water, or a packed one.

    FOLDER is where it goes.

    \b
    Examples:
      sweptwater start ashlode --venue outline.geojson --pairs Heron,Grebe,Teal
      sweptwater start ashlode --from ashlode.zip
    """
    if packed is not None:
        _refuse_others(ctx)
        _open_packed(folder, packed, as_json=as_json)
        return
    if venue_file is None:
        raise click.UsageError(
            "give an outline (--venue), or a packed practice (--from)"
        )

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
    tell(
        f"Next: add what is out of bounds (sweptwater -C {there} venue add --kind "
        f"out-of-bounds FILE), then sweptwater -C {there} divide"
    )


def _refuse_others(ctx: click.Context) -> None:
    """Refuse whatever a packed practice says for itself."""
    for parameter in ctx.command.params:
        given = ctx.get_parameter_source(parameter.name or "")
        if given is ParameterSource.COMMANDLINE and parameter.name not in (
            "folder",
            "packed",
            "as_json",
        ):
            raise click.UsageError(
                f"--from takes all from the zip: leave {parameter.opts[0]} out"
            )


def _open_packed(folder: Path, packed: Path, *, as_json: bool) -> None:
    from sweptwater.jobs.unpack import unpack
    from sweptwater.jobs.wording import counted
    from sweptwater.units import area_text

    report = unpack(folder, packed)
    if report.not_taken:
        few = ", ".join(report.not_taken[:3])
        tell(
            f"Not taken from {packed.name}, as no file of a practice: {few}"
            + (f" and {more} more" if (more := len(report.not_taken) - 3) > 0 else "")
            + "."
        )
    if as_json:
        show_json(report)
        return
    click.echo(
        f"{report.practice}: {area_text(report.water_m2, report.units)} of water, "
        f"{counted(report.tracks, 'track')}, {counted(report.told, 'row')} of the "
        "tally told."
    )
    click.echo(f"The practice is in {folder}, for {', '.join(report.pairs)}.")
    tell(f"Next: sweptwater -C {shlex.quote(str(folder))} coverage")
