"""`check`: all that is wrong with a practice folder."""

from pathlib import Path

import click

from sweptwater_cli.options import json_option
from sweptwater_cli.show import sentence, show_json, typed, watch


@click.command()
@json_option
@click.pass_context
def check(ctx: click.Context, as_json: bool) -> None:
    """Read the whole folder and report all that is wrong with it.

    The exit code is 1 if something is.

    \b
    Example:
      sweptwater -C ashlode check
    """
    from sweptwater.jobs.check import check as job

    folder: Path = ctx.obj
    report = job(folder, watch=watch)
    if as_json:
        show_json(report)
    elif not report.faults:
        tracks = "1 track" if report.tracks == 1 else f"{report.tracks} tracks"
        click.echo(f"{report.practice}: {tracks}, nothing wrong.")
    else:
        for fault in report.faults:
            first = fault.what.replace(":", "").split()[:3]
            where = "" if fault.file in first else f"{fault.file}: "
            asked = fault.what.endswith("?")
            do = f" {fault.do[:1].upper()}{fault.do[1:]}" if asked else f"; {fault.do}"
            click.echo(typed(sentence(f"{where}{fault.what}{do}")))
    if report.faults:
        ctx.exit(1)
