"""`rates`: offers a rod-hour by circumstances, and what the numbers can bear."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sweptwater_cli.guide import Step
from sweptwater_cli.options import day_option, json_option, pair_option
from sweptwater_cli.show import sentence, show_with_page, table, typed, watch

if TYPE_CHECKING:
    from sweptwater.jobs.rates import WhatWeMet
    from sweptwater.offers.table import RateRow


@click.command(cls=Step)
@click.option(
    "--by",
    multiple=True,
    metavar="WHAT[,WHAT]",
    help="Tell apart by this, or by two at once; again for another table.",
)
@day_option("Only this day, like 2027-06-09.")
@pair_option("Only this pair.")
@json_option
@click.pass_obj
def rates(
    folder: Path, by: tuple[str, ...], day: str | None, pair: str | None, as_json: bool
) -> bool:
    """Tell how many offers a rod-hour were met, and what differs.

    WHAT is day, hour, pair, rod, sector, bank, shore (distance from it), depth (of the
    water), layer (of the flies), sky, wind, wave, line or drogue. A blank counts; what
    nobody told does not, and its hours stand apart. A drift counts where most of it
    was. Each row is held against all others of its table: "clear" is what chance would
    bring up in fewer than one practice in twenty.

    \b
    Examples:
      sweptwater rates
      sweptwater rates --by sky --by layer,sky
      sweptwater rates --by bank --day 2027-06-09
    """
    from sweptwater.jobs.met_shown import save_page
    from sweptwater.jobs.rates import look_at_offers

    sight = look_at_offers(folder, by=by, day=day, pair=pair, watch=watch)
    show_with_page(
        sight.report,
        sight.report.faults,
        lambda: save_page(sight),
        lambda: _show(sight.report),
        as_json=as_json,
    )
    return bool(sight.stints)


def _show(report: "WhatWeMet") -> None:
    from sweptwater.jobs.rates_words import comparisons_text, offers_text, whole_text

    click.echo(whole_text(report))
    if not report.rod_hours and not report.untold_rod_hours:
        click.echo(typed("No drifts yet: sweptwater upload --pair PAIR FILE"))
        return
    for by in report.by:
        _show_table(by, report.table(by))
    click.echo()
    for text in comparisons_text(report):
        click.echo(text)
    if report.loose:
        told = sum(loose.offers for loose in report.loose)
        click.echo(f"{offers_text(told)} told of no one drift: in no row.")
    for question in report.questions:
        click.echo(sentence(question))


def _show_table(by: tuple[str, ...], rows: tuple["RateRow", ...]) -> None:
    from sweptwater.jobs.rates_words import UNTOLD, range_text, verdict_text
    from sweptwater.paper.intervals import hours_text, rate_text

    click.echo()
    table(
        (
            *by,
            *(">offers", ">rod-hours", ">drifts", ">an hour", ">19 in 20"),
            *("what it can bear", ">not told"),
        ),
        [
            (
                *row.by.values(),
                str(row.offers),
                hours_text(row.rod_hours),
                str(row.drifts),
                UNTOLD if row.rate is None else rate_text(row.rate),
                range_text(row.low, row.high),
                verdict_text(row),
                hours_text(row.untold_rod_hours),
            )
            for row in rows
        ],
    )
