"""`demo`: an invented practice, with all its reports."""

from pathlib import Path

import click

from sweptwater_cli.show import place, watch


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
    from sweptwater_demo.build import build_demo

    built = build_demo(folder, watch=watch)
    click.echo(built.summary)
    for what, path in built.reports.items():
        click.echo(f"  {what}: {place(path)}")
