"""`next`: where the next hours do most good, and why."""

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from sweptwater_cli.guide import Step
from sweptwater_cli.options import day_option, json_option, pair_option
from sweptwater_cli.show import sentence, show_with_page, table, watch

if TYPE_CHECKING:
    from sweptwater.jobs.next import Next
    from sweptwater.jobs.next_rows import NextRow
    from sweptwater.units import System


@click.command("next", cls=Step)
@click.option(
    "--hours",
    type=click.FloatRange(min=0, min_open=True),
    metavar="H",
    help="Boat-hours of all boats together; else a whole day of each.",
)
@day_option("The day to come, like 2027-06-09.")
@click.option("--wind", metavar="WIND", help="Of that day, like SW4 or 240@12mph.")
@click.option(
    "--sky", metavar="SKY", help="Its light: bright, broken or dull. Else any counts."
)
@pair_option("Only this pair.")
@click.option(
    "--drogue", type=click.Choice(["in", "out"]), help="Where the drogue usually is."
)
@click.option("--across", is_flag=True, help="Pairs may go beyond their own sectors.")
@json_option
@click.pass_obj
def next_(
    folder: Path,
    hours: float | None,
    day: str | None,
    wind: str | None,
    sky: str | None,
    pair: str | None,
    drogue: Literal["in", "out"] | None,
    across: bool,
    as_json: bool,
) -> None:
    """Tell where the next hours do most good, and why.

    For each pair: which water, in which layer, for how long, with which line. It is
    where fish that nobody has met are likeliest to be met, by what was searched, how
    surely, how long ago, and by what offers say of such water. Finds are tried again
    before they are trusted. `sweptwater plan --next` lays drifts for it.

    \b
    Examples:
      sweptwater next --hours 24 --wind SW4
      sweptwater next --sky bright --pair Teal
    """
    from sweptwater.jobs.next import AskNext, look_ahead
    from sweptwater.jobs.next_shown import save_page

    ask = AskNext(
        hours=hours,
        day=day,
        wind=wind,
        sky=sky,
        pair=pair,
        drogue=drogue,
        across=across,
    )
    sight = look_ahead(folder, ask, watch=watch)
    show_with_page(
        sight.report,
        sight.searching.faults,
        lambda: save_page(sight),
        lambda: _show(sight.report, sight.opened.settings.units),
        as_json=as_json,
    )


def _show(report: "Next", units: "System") -> None:
    from sweptwater.jobs.next_words import chances_text, title_text

    click.echo(title_text(report, units))
    click.echo(chances_text(report))
    table(
        ("pair", ">hours", "where", "layer", "line", ">so far", ">then", "why"),
        [_cells(row) for row in report.rows],
    )
    for lesson in report.lessons:
        click.echo(sentence(lesson))
    for remark in report.remarks:
        click.echo(sentence(remark))


def _cells(row: "NextRow") -> tuple[str, ...]:
    from sweptwater.jobs.next_words import hours_cell, way_text
    from sweptwater.units import share_text

    return (
        row.pair,
        hours_cell(row.hours) + (f" before {row.before}" if row.before else ""),
        row.place,
        row.layer,
        way_text(row),
        share_text(row.chance_now),
        share_text(row.chance_after),
        row.why,
    )
