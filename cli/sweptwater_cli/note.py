"""`note`: what the day was like, from when on."""

from pathlib import Path

import click

from sweptwater_cli.options import Command, json_option
from sweptwater_cli.show import show_json, watch


def when(command: Command) -> Command:
    """Add the options that say of when a note is, and whose."""
    for option in (
        click.option("--note", "said", default="", help="What else was said."),
        click.option("--pair", help="Of whose boat; else of all."),
        click.option("--at", metavar="HH:MM", help="From when on; else all day."),
        click.option(
            "--day", metavar="DAY", help="Which day; else the last one with tracks."
        ),
    ):
        command = option(command)
    return command


@click.group()
def note() -> None:
    """Note the wind, or that a drogue went in or out.

    From these the boats' own drifts tell how fast they go in a wind. The file notes.csv
    holds all notes; a spreadsheet opens it.

    \b
    Examples:
      sweptwater note wind SW4 --day 2027-06-09 --at 10:00
      sweptwater note drogue in --pair Heron --at 10:40
    """


@note.command()
@click.argument("value", metavar="WIND")
@when
@json_option
@click.pass_obj
def wind(
    folder: Path,
    *,
    value: str,
    day: str | None,
    at: str | None,
    pair: str | None,
    said: str,
    as_json: bool,
) -> None:
    """Note where the wind came from, and how hard it blew.

    WIND is a compass point and Beaufort's force, or degrees and a speed with its unit
    (mph, kn, m/s, km/h). It holds until the day's next note of the wind. To correct
    one, note the same time again: the later note counts.

    \b
    Examples:
      sweptwater note wind SW4 --day 2027-06-09 --at 10:00
      sweptwater note wind "WSW 4-5" --at 13:30
      sweptwater note wind 240@12mph --at 10:00 --pair Heron
    """
    _note(folder, "wind", value, day, at, pair, said, as_json=as_json)


@note.command()
@click.argument("value", metavar="in|out")
@when
@json_option
@click.pass_obj
def drogue(
    folder: Path,
    *,
    value: str,
    day: str | None,
    at: str | None,
    pair: str | None,
    said: str,
    as_json: bool,
) -> None:
    """Note that a boat put its drogue in the water, or took it out.

    \b
    Examples:
      sweptwater note drogue in --pair Heron --at 10:40
      sweptwater note drogue out --day 2027-06-09
    """
    _note(folder, "drogue", value, day, at, pair, said, as_json=as_json)


def _note(
    folder: Path,
    kind: str,
    value: str,
    day: str | None,
    at: str | None,
    pair: str | None,
    said: str,
    *,
    as_json: bool,
) -> None:
    from sweptwater.jobs.note import Say, add_note

    say = Say(kind=kind, value=value, day=day, at=at, pair=pair, note=said)
    report = add_note(folder, say, watch=watch)
    if as_json:
        show_json(report)
        return
    since = f"from {report.time} on" if report.time else "all day"
    told = f"{report.day.isoformat()} {since}, {report.pair or 'all boats'}"
    known = ": noted already, nothing changes" if report.known else ""
    instead = f" instead of {report.instead_of}" if report.instead_of else ""
    click.echo(f"{told}: {report.meaning}{instead}{known}")
