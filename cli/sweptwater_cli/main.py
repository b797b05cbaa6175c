"""The group of commands, and the one place where errors become sentences.

Commands import the engine inside their bodies, so that no help page loads a heavy
library.
"""

import sys
from io import TextIOWrapper
from pathlib import Path
from typing import Any

import click

from sweptwater import __version__
from sweptwater_cli.brief import brief
from sweptwater_cli.check import check
from sweptwater_cli.coverage import coverage
from sweptwater_cli.demo import demo
from sweptwater_cli.divide import divide
from sweptwater_cli.drifts import drifts
from sweptwater_cli.export import export
from sweptwater_cli.next import next_
from sweptwater_cli.note import note
from sweptwater_cli.pack import pack
from sweptwater_cli.plan import plan
from sweptwater_cli.rates import rates
from sweptwater_cli.remove import remove, restore
from sweptwater_cli.show import typed
from sweptwater_cli.sinking import sinking
from sweptwater_cli.start import start
from sweptwater_cli.starts import starts
from sweptwater_cli.tally import tally
from sweptwater_cli.unfished import unfished
from sweptwater_cli.upload import upload
from sweptwater_cli.venue import venue


class Commands(click.Group):
    """A group that shows what a user can put right as one sentence, with exit 1."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; bugs keep their traceback."""
        from sweptwater.errors import SweptwaterError

        for stream in (sys.stdout, sys.stderr):
            # A file on Windows, or an old terminal, may not have all letters of a name.
            if isinstance(stream, TextIOWrapper):
                stream.reconfigure(errors="replace")
        try:
            return super().invoke(ctx)
        except SweptwaterError as error:
            raise click.ClickException(typed(str(error))) from error

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order in which a practice needs them."""
        return list(self.commands)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="sweptwater")
@click.option(
    "-C",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path(),
    metavar="FOLDER",
    help="The practice folder; else the current one.",
)
@click.pass_context
def cli(ctx: click.Context, folder: Path) -> None:
    """Tell which water your boats have fished, and which nobody has visited.

    Begin with a venue's outline, divide the water among the pairs, upload their
    tracks each evening, and look at the map:

    \b
      sweptwater start ashlode --venue outline.geojson --pairs Heron,Grebe,Teal
      cd ashlode
      sweptwater divide
      sweptwater upload --pair Heron evening.gpx
      sweptwater coverage
      sweptwater unfished

    Or see all of it at work on an invented water: sweptwater demo
    """
    ctx.obj = folder


for command in (
    demo,
    start,
    venue,
    divide,
    plan,
    upload,
    remove,
    restore,
    drifts,
    tally,
    note,
    sinking,
    coverage,
    unfished,
    rates,
    next_,
    starts,
    brief,
    export,
    pack,
    check,
):
    cli.add_command(command)
