"""`demo`: an invented practice, with all its reports."""

import shlex
from pathlib import Path

import click

from sweptwater_cli.show import place, tell, watch


@click.command()
@click.argument(
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("ashlode"),
    required=False,
)
def demo(folder: Path) -> None:
    """Build an invented practice in FOLDER, with all its reports.

    \b
    Example:
      sweptwater demo ashlode
    """
    from sweptwater_demo.build import TO_TRY, build_demo

    built = build_demo(folder, watch=watch)
    click.echo(built.summary)
    for what, path in built.reports.items():
        click.echo(f"  {what}: {place(path)}")
    outline = shlex.quote(place(folder / TO_TRY / "outline.geojson"))
    tell(f"Next: a practice of your own: sweptwater start mine --venue {outline}")
