"""`pack`: a whole practice as one zip."""

import shlex
from pathlib import Path

import click

from sweptwater_cli.options import json_option, new_file
from sweptwater_cli.show import place, sentence, show_json, tell, watch


@click.command()
@click.argument("file", type=new_file, required=False)
@click.option(
    "--with-notes",
    is_flag=True,
    help="Notes in people's own words too, and columns of your own.",
)
@click.option(
    "--as-recorded",
    is_flag=True,
    help="Tracks byte for byte: with their names, what devices wrote, and all ways.",
)
@json_option
@click.pass_obj
def pack(
    folder: Path,
    file: Path | None,
    with_notes: bool,
    as_recorded: bool,
    as_json: bool,
) -> None:
    """Write the whole practice to one zip, to hand on or to keep.

    Without FILE it goes among the reports. Tracks are told without what lies away from
    the water and without what devices wrote; notes in people's own words stay here.
    Opened again it is the same practice: sweptwater start FOLDER --from FILE

    \b
    Examples:
      sweptwater pack
      sweptwater pack ../ashlode-for-the-team.zip --with-notes
    """
    from sweptwater.jobs.pack import pack as job
    from sweptwater.jobs.wording import counted

    report = job(
        folder, file, as_recorded=as_recorded, with_notes=with_notes, watch=watch
    )
    for left_out in report.left_out:
        tell(sentence(f"Not packed: {left_out}"))
    if as_json:
        show_json(report)
        return
    click.echo(
        f"{report.practice}: {counted(report.files, 'file')}, "
        f"{counted(report.tracks, 'track')} among them, "
        f"{report.bytes_ / 1e6:.1f} MB: {place(Path(report.file))}"
    )
    away, notes = report.fixes_left_out, report.notes_left_out
    if away is None:
        click.echo("Tracks are in it as they were recorded, ways home and all.")
    else:
        places = f"{counted(away, 'place')} away from the water, " if away else ""
        click.echo(
            f"Left out of tracks: {places}all that devices wrote of themselves, and "
            "the files' names."
        )
    if notes:
        click.echo(f"Left out of tables: {counted(notes, 'note')} in your own words.")
    packed = shlex.quote(place(Path(report.file)))
    tell(f"Next: whoever has it opens it: sweptwater start FOLDER --from {packed}")
