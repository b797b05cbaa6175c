"""`divide`: sectors for the pairs."""

from pathlib import Path

import click

from sweptwater_cli.options import existing_file, json_option, numbers
from sweptwater_cli.show import busy, show_json, table, tell


@click.command()
@click.option(
    "--by",
    type=click.Choice(["area"]),
    default="area",
    show_default=True,
    help="What is shared out.",
)
@click.option(
    "--shares", callback=numbers, metavar="2,1,1", help="Shares by pair; else equal."
)
@click.option(
    "--lines", type=existing_file, help="Divide along the lines of this file instead."
)
@click.option(
    "--sectors", type=existing_file, help="Take the ready-made sectors of this file."
)
@json_option
@click.pass_obj
def divide(
    folder: Path,
    by: str,
    shares: tuple[float, ...] | None,
    lines: Path | None,
    sectors: Path | None,
    as_json: bool,
) -> None:
    """Divide the fishable water among the pairs.

    \b
    Examples:
      sweptwater divide
      sweptwater divide --shares 2,1,1
      sweptwater divide --lines drawn.geojson
    """
    if sum(given is not None for given in (shares, lines, sectors)) > 1:
        raise click.UsageError("give one of --shares, --lines and --sectors")
    from sweptwater.jobs.divide import divide as job
    from sweptwater.jobs.opened import open_folder
    from sweptwater.units import area_text, length_text, share_text

    with busy("dividing the water"):
        report = job(folder, shares=shares, lines=lines, shapes=sectors)
    if report.kept:
        tell(f"The sectors of before are kept as {report.kept}.")
    if report.without:
        tell(f"No sector is left for {', '.join(report.without)}.")
    if as_json:
        show_json(report)
        return
    units = open_folder(folder).settings.units
    table(
        ("sector", "pair", ">water", ">share"),
        [
            (
                sector.sector,
                sector.pair or "nobody",
                area_text(sector.water_m2, units),
                share_text(sector.share),
            )
            for sector in report.sectors
        ],
    )
    for number, cut in enumerate(report.cuts, 1):
        ends = [
            f"{end.lat:.5f}, {end.lon:.5f}" + (f" ({end.near})" if end.near else "")
            for end in (cut.from_, cut.to)
        ]
        click.echo(
            f"cut {number}: from {ends[0]} to {ends[1]}, "
            f"{length_text(cut.length_m, units)}"
        )
