"""`remove` and `restore`: a mistaken upload, set aside and brought back."""

import shlex
from pathlib import Path

import click

from sweptwater_cli.options import json_option, pair_option
from sweptwater_cli.show import show_json, typed


@click.command()
@pair_option("Whose tracks they are.", required=True)
@click.argument("names", nargs=-1, required=True, metavar="TRACK...")
@json_option
@click.pass_obj
def remove(folder: Path, pair: str, names: tuple[str, ...], as_json: bool) -> None:
    """Set a TRACK aside; nothing is deleted.

    It is named as it came, as it lies in the folder, or by the first digits of that.

    \b
    Example:
      sweptwater remove --pair Heron evening.gpx
    """
    from sweptwater.jobs.removing import remove as job

    report = job(folder, pair, names)
    if as_json:
        show_json(report)
        return
    for track in report.tracks:
        again = f"sweptwater restore --pair {track.pair} {shlex.quote(track.file)}"
        click.echo(
            f"{track.file} counts no more: it lies in {track.path}. To take it back: "
            f"{typed(again)}"
        )


@click.command()
@pair_option("Whose tracks they are.", required=True)
@click.argument("names", nargs=-1, required=True, metavar="TRACK...")
@json_option
@click.pass_obj
def restore(folder: Path, pair: str, names: tuple[str, ...], as_json: bool) -> None:
    """Bring a removed TRACK back, with all that was said of it.

    \b
    Example:
      sweptwater restore --pair Heron evening.gpx
    """
    from sweptwater.jobs.removing import restore as job

    report = job(folder, pair, names)
    if as_json:
        show_json(report)
        return
    for track in report.tracks:
        click.echo(f"{track.file} counts again, as {track.pair}'s.")
