"""`drifts`: the list of drifts, to add to from memory and to correct."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sweptwater_cli.drift_table import show_drifts
from sweptwater_cli.options import Command, day_option, json_option, pair_option
from sweptwater_cli.show import (
    place,
    sentence,
    show_json,
    tell,
    typed,
    watch,
)
from sweptwater_cli.speed_table import show_speeds

if TYPE_CHECKING:
    from sweptwater.jobs.correct import Corrected


def whose(command: Command) -> Command:
    """Add the options that say whose drift it is, and of which day."""
    command = pair_option("Whose drift it is.", required=True)(command)
    return day_option("Which day; else the pair's last one.")(command)


@click.group(invoke_without_command=True)
@day_option("Only this day, like 2027-06-09.")
@pair_option("Only this pair.")
@json_option
@click.pass_context
def drifts(
    ctx: click.Context, day: str | None, pair: str | None, as_json: bool
) -> None:
    """List drifts, recorded and from memory; add or correct one.

    Below the list stands how fast the boats drifted: the middle speed, and what eight
    of ten drifts lie between; and, where the wind was noted (see note), what share of
    the wind's speed that is and how far off straight downwind they went, looking
    downwind.

    \b
    Examples:
      sweptwater drifts
      sweptwater drifts --day 2027-06-09 --pair Heron
      sweptwater drifts add --pair Grebe --from boathouse --to point --at 11:05-11:50
      sweptwater drifts join 3 4 --pair Heron
    """
    if ctx.invoked_subcommand is not None:
        if day or pair or as_json:
            word = ctx.invoked_subcommand
            raise click.UsageError(f"Write the options after {word}: drifts {word} ...")
        return
    _list(ctx.obj, day, pair, as_json)


def _list(folder: Path, day: str | None, pair: str | None, as_json: bool) -> None:
    from sweptwater.jobs.drifts import drifts as job
    from sweptwater.jobs.opened import open_folder

    report = job(folder, day=day, pair=pair, watch=watch)
    for fault in report.faults:
        tell(sentence(f"Not in order: {fault}"))
    for remark in report.remarks:
        tell(sentence(remark))
    if as_json:
        show_json(report)
        return
    if not report.drifts:
        click.echo(typed("No drifts yet: sweptwater upload, or sweptwater drifts add"))
    units = open_folder(folder).settings.units
    show_drifts(report.drifts, units)
    show_speeds(report.drift_speeds, units)


@drifts.command()
@pair_option("Whose drift it was.", required=True)
@click.option(
    "--from",
    "from_",
    required=True,
    metavar="PLACE",
    help="Where it began: a mark, a jetty, a bank like 'bank 12', or LAT,LON.",
)
@click.option("--to", required=True, metavar="PLACE", help="Where it ended.")
@click.option("--at", required=True, metavar="HH:MM-HH:MM", help="From when to when.")
@day_option("Which day; else the last one with tracks.")
@click.option(
    "--times",
    type=int,
    default=1,
    metavar="N",
    help="How often that way was drifted in that time; else once.",
)
@click.option("--note", default="", help="What else was said.")
@json_option
@click.pass_obj
def add(
    folder: Path,
    *,
    pair: str,
    from_: str,
    to: str,
    at: str,
    day: str | None,
    times: int,
    note: str,
    as_json: bool,
) -> None:
    """Put in a drift from memory, for a boat whose track has not got it.

    It runs straight from place to place, and every figure and map keeps it apart from
    what was recorded. It can be struck out again; the file remembered.csv, which a
    spreadsheet opens, holds all of them.

    \b
    Examples:
      sweptwater drifts add --pair Grebe --from boathouse --to point --at 11:05-11:50
      sweptwater drifts add --pair Teal --from "bank 12" --to oak --at 14:00-15:10
      sweptwater drifts add --pair Teal --from 54.85,2.31 --to oak --at 9:00-9:40
    """
    from sweptwater.jobs.opened import open_folder
    from sweptwater.jobs.remember import Say, add_drift
    from sweptwater.units import area_text

    say = Say(pair=pair, day=day, from_=from_, to=to, at=at, times=times, note=note)
    report = add_drift(folder, say, watch=watch)
    for remark in report.remarks:
        tell(sentence(remark))
    if as_json:
        show_json(report)
        return
    units = open_folder(folder).settings.units
    known = "was told already: nothing changes" if report.known else "from memory"
    click.echo(
        f"{report.pair} on {report.day.isoformat()}, {report.from_.name} to "
        f"{report.to.name}: {known}"
    )
    click.echo(
        f"  {area_text(report.swept_m2, units)} of water swept, "
        f"{area_text(report.new_m2, units)} of it new"
    )
    show_drifts(report.drifts, units)


@drifts.command()
@click.argument("numbers", type=int, nargs=-1, required=True)
@whose
@json_option
@click.pass_obj
def join(
    folder: Path, numbers: tuple[int, ...], pair: str, day: str | None, as_json: bool
) -> None:
    """Make one drift of those that the list has under NUMBERS.

    What lies between them counts as fishing then. It is written beside the track, which
    stays as it is.

    \b
    Example:
      sweptwater drifts join 3 4 --pair Heron --day 2027-06-08
    """
    from sweptwater.jobs.correct import join_drifts

    report = join_drifts(folder, numbers, pair=pair, day=day, watch=watch)
    _show_corrected(folder, report, as_json=as_json)


@drifts.command()
@click.argument("number", type=int)
@click.option(
    "--at",
    required=True,
    metavar="HH:MM",
    help="When one ended and the next began; HH:MM-HH:MM if it took a while.",
)
@whose
@json_option
@click.pass_obj
def cut(
    folder: Path, number: int, at: str, pair: str, day: str | None, as_json: bool
) -> None:
    """Make two drifts of the one that the list has under NUMBER.

    \b
    Examples:
      sweptwater drifts cut 3 --at 11:20 --pair Heron
      sweptwater drifts cut 3 --at 11:20-11:26 --pair Heron --day 2027-06-08
    """
    from sweptwater.jobs.correct import cut_drift

    report = cut_drift(folder, number, at=at, pair=pair, day=day, watch=watch)
    _show_corrected(folder, report, as_json=as_json)


@drifts.command()
@click.argument("number", type=int)
@whose
@json_option
@click.pass_obj
def strike(
    folder: Path, number: int, pair: str, day: str | None, as_json: bool
) -> None:
    """Say that the drift that the list has under NUMBER was none.

    A recorded one counts as motoring then. One from memory stays in remembered.csv,
    marked as struck out; a row that tells of several drifts goes as a whole.

    \b
    Example:
      sweptwater drifts strike 4 --pair Grebe --day 2027-06-08
    """
    from datetime import datetime

    from sweptwater.jobs.correct import recorded_or_remembered, strike_recorded
    from sweptwater.jobs.remember import strike_drift
    from sweptwater.jobs.wording import and_text
    from sweptwater.practice.remembered import REMEMBERED

    source = recorded_or_remembered(folder, number, pair=pair, day=day, watch=watch)
    if source == "track":
        corrected = strike_recorded(folder, number, pair=pair, day=day, watch=watch)
        _show_corrected(folder, corrected, as_json=as_json)
        return
    when = f"{datetime.now():%Y-%m-%d %H:%M}"
    report = strike_drift(folder, number, pair=pair, day=day, when=when, watch=watch)
    if as_json:
        show_json(report)
        return
    numbers = and_text([str(line.number) for line in report.drifts])
    click.echo(
        f"{report.pair} on {report.day.isoformat()}: struck out {numbers}. Row "
        f"{report.row} of {place(folder / REMEMBERED)} keeps what was told."
    )


@drifts.command()
@whose
@json_option
@click.pass_obj
def undo(folder: Path, pair: str, day: str | None, as_json: bool) -> None:
    """Take back the last join, cut or strike of a recorded drift.

    \b
    Example:
      sweptwater drifts undo --pair Heron --day 2027-06-08
    """
    from sweptwater.jobs.correct import undo as job

    report = job(folder, pair=pair, day=day, watch=watch)
    _show_corrected(folder, report, as_json=as_json)


def _show_corrected(folder: Path, report: "Corrected", *, as_json: bool) -> None:
    from sweptwater.jobs.opened import open_folder

    if as_json:
        show_json(report)
        return
    click.echo(f"{report.pair} on {report.day.isoformat()}: {report.what}.")
    for remark in report.remarks:
        tell(sentence(remark))
    show_drifts(report.drifts, open_folder(folder).settings.units)
