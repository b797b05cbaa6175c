"""`venue add`: zones out of bounds, jetties, marks, banks with names, bank anglers."""

from pathlib import Path

import click

from sweptwater_cli.options import crs_option, existing_file, json_option
from sweptwater_cli.show import sentence, show_json, tell, typed

WORDS = {
    "out-of-bounds": ("zone out of bounds", "zones out of bounds"),
    "jetty": ("jetty", "jetties"),
    "mark": ("mark", "marks"),
    "bank": ("bank", "banks"),
    "bank-anglers": ("strip of bank anglers", "strips of bank anglers"),
}


@click.group()
def venue() -> None:
    """Add to the venue: zones, jetties, marks, names of banks, bank anglers."""


@venue.command()
@click.option(
    "--kind",
    type=click.Choice(list(WORDS)),
    required=True,
    help="What the file's shapes are: areas out of bounds; points for jetties and "
    "marks; points or lines by the shore with the names of banks; areas or lines "
    "where people fish from the bank.",
)
@click.argument("file", type=existing_file)
@crs_option
@json_option
@click.pass_obj
def add(folder: Path, kind: str, file: Path, crs: str | None, as_json: bool) -> None:
    """Add the shapes of FILE to the venue.

    \b
    Example:
      sweptwater venue add --kind out-of-bounds zones.geojson
    """
    from sweptwater.jobs.extend import extend_venue
    from sweptwater.practice.geojson import KINDS
    from sweptwater.units import area_text

    chosen = next(known for known in KINDS if known == kind)
    report = extend_venue(folder, chosen, file, crs=crs)
    for remark in report.remarks:
        tell(sentence(remark))
    if as_json:
        show_json(report)
        return
    one, more = WORDS[kind]
    count, known = len(report.added), len(report.known)
    click.echo(f"Added {count} {one if count == 1 else more}.")
    if known:
        were = (
            "was there already and changes"
            if known == 1
            else ("were there already and change")
        )
        click.echo(f"{known} {were} nothing.")
    click.echo(
        f"There are {area_text(report.fishable_m2, report.units)} to fish and "
        f"{area_text(report.out_of_bounds_m2, report.units)} out of bounds."
    )
    if report.outdated:
        click.echo(
            typed("The sectors do not fit the water any more: sweptwater divide")
        )
