"""`export`: all layers as one GeoPackage."""

from pathlib import Path

import click

from sweptwater_cli.options import json_option, new_file
from sweptwater_cli.show import sentence, show_json, tell, watch


@click.command()
@click.argument("file", type=new_file)
@json_option
@click.pass_obj
def export(folder: Path, file: Path, as_json: bool) -> None:
    """Write all layers to FILE, a GeoPackage in WGS 84.

    \b
    Example:
      sweptwater export reports/practice.gpkg
    """
    from sweptwater.jobs.export import export as job

    report = job(folder, file, watch=watch)
    for fault in report.faults:
        tell(sentence(f"Not in order: {fault}"))
    if as_json:
        show_json(report)
        return
    counts = ", ".join(f"{name} {count}" for name, count in report.layers.items())
    click.echo(f"{report.file}: {counts}")
