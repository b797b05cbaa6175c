"""`venue add`: zones, jetties, marks, banks, bank anglers, soundings and contours."""

from pathlib import Path

import click

from sweptwater_cli.guide import Step
from sweptwater_cli.options import crs_option, existing_file, json_option
from sweptwater_cli.show import sentence, show_json, tell, typed

WORDS = {
    "out-of-bounds": ("zone out of bounds", "zones out of bounds"),
    "jetty": ("jetty", "jetties"),
    "mark": ("mark", "marks"),
    "bank": ("bank", "banks"),
    "bank-anglers": ("strip of bank anglers", "strips of bank anglers"),
    "sounding": ("sounding", "soundings"),
    "contour": ("contour", "contours"),
}


@click.group()
def venue() -> None:
    """Add to the venue: zones, jetties, marks, names of banks, depths."""


@venue.command(cls=Step)
@click.option(
    "--kind",
    type=click.Choice(list(WORDS)),
    required=True,
    help="What the file's shapes are: areas out of bounds; points for jetties and "
    "marks; points or lines by the shore with the names of banks; areas or lines "
    "where people fish from the bank; points (or a CSV of lat, lon, depth) for "
    "soundings, lines for contours of depth.",
)
@click.option(
    "--unit",
    type=click.Choice(["m", "ft", "yd"]),
    help="Of the depths, if the file does not say it, like a column depth_ft.",
)
@click.option(
    "--depth",
    metavar="DEPTH",
    help="Of everything in a file of contours of one depth, like 10ft.",
)
@click.argument("file", type=existing_file)
@crs_option
@json_option
@click.pass_obj
def add(
    folder: Path,
    *,
    kind: str,
    file: Path,
    unit: str | None,
    depth: str | None,
    crs: str | None,
    as_json: bool,
) -> bool:
    """Add the shapes of FILE to the venue.

    Depths count down from the water when it is full; a column z or elevation counts
    up, so its depths are below 0.

    \b
    Examples:
      sweptwater venue add --kind out-of-bounds zones.geojson
      sweptwater venue add --kind sounding soundings.csv
      sweptwater venue add --kind contour --depth 10ft contour-10.geojson
    """
    if kind in ("sounding", "contour"):
        _add_depths(folder, kind, file, (unit, depth, crs), as_json=as_json)
    elif unit or depth:
        raise click.UsageError(
            "--unit and --depth are for soundings and contours: leave them out"
        )
    else:
        _add_shapes(folder, kind, file, crs, as_json=as_json)
    from sweptwater.practice.folder import SECTORS

    return not (folder / SECTORS).exists()  # what is divided is not to be cut anew


def _add_shapes(
    folder: Path, kind: str, file: Path, crs: str | None, *, as_json: bool
) -> None:
    """Add zones, places or banks."""
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


def _add_depths(
    folder: Path,
    kind: str,
    file: Path,
    said: tuple[str | None, str | None, str | None],
    *,
    as_json: bool,
) -> None:
    """Add soundings or contours, of which the unit, a depth and the CRS may be said."""
    from sweptwater.jobs.sound import add_depths
    from sweptwater.units import depths_text
    from sweptwater.water.depth_files import parse_depth

    unit, depth, crs = said
    report = add_depths(
        folder,
        "sounding" if kind == "sounding" else "contour",
        file,
        unit=unit,
        all_m=parse_depth(depth) if depth else None,
        crs=crs,
    )
    for remark in report.remarks:
        tell(sentence(f"Not taken: {remark}"))
    if as_json:
        show_json(report)
        return
    one, more = WORDS[kind]
    deep = depths_text(report.depth_low_m, report.depth_high_m, report.units)
    click.echo(
        f"Added {report.added:,} {one if report.added == 1 else more}"
        f"{f', {deep} deep' if report.added else ''}."
    )
    if report.known:
        were = "was there already and changes"
        if report.known != 1:
            were = "were there already and change"
        click.echo(f"{report.known:,} {were} nothing.")
    if report.off_water:
        lie = "lies" if report.off_water == 1 else "lie"
        click.echo(f"{report.off_water:,} {lie} off the water: passed over.")
    if report.quality:
        click.echo(sentence(report.quality[:1].upper() + report.quality[1:]))
