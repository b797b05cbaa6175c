"""`starts`: where the rods of the team start the match."""

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from sweptwater_cli.guide import Step
from sweptwater_cli.options import json_option, match_options
from sweptwater_cli.show import sentence, show_with_page, table, watch

if TYPE_CHECKING:
    from sweptwater.jobs.starts_report import StartRow, StartsReport
    from sweptwater.units import System


@click.command(cls=Step)
@match_options
@json_option
@click.pass_obj
def starts(
    folder: Path,
    day: str | None,
    wind: str | None,
    gust: str | None,
    sky: str | None,
    drogue: Literal["in", "out"] | None,
    as_json: bool,
) -> None:
    """Choose where six rods start, so that few go without offers.

    From the finds of the practice, as far as they can still be trusted and drifted in
    that wind within the rules of the match, and from water that looks promising: each
    rod gets a start, a second choice on another bank, a line for sun and for cloud, and
    the time to leave for home. The rods are spread, since those on one place fail
    together. What could be done in other winds is told too. The rules stand below
    [match] in practice.toml.

    \b
    Examples:
      sweptwater starts --day 2027-06-12 --wind W14mph --gust 24mph
      sweptwater starts --wind SW4 --sky bright --drogue in
    """
    from sweptwater.jobs.starts import AskStarts, look_at_starts
    from sweptwater.jobs.starts_page import save_page

    ask = AskStarts(day=day, wind=wind, gust=gust, sky=sky, drogue=drogue)
    sight = look_at_starts(folder, ask, watch=watch)
    show_with_page(
        sight.report,
        sight.searching.faults,
        lambda: save_page(sight),
        lambda: _show(sight.report, sight.opened.settings.units),
        as_json=as_json,
    )


def _show(report: "StartsReport", units: "System") -> None:
    from sweptwater.jobs.starts_words import lead_text, title_text

    for caution in report.cautions:
        click.echo(sentence(caution))
    click.echo()
    click.echo(title_text(report, units))
    click.echo(lead_text(report))
    table(
        ("rod", "start", "then", "in sun", "in cloud", "leave by", "without", "doubt"),
        [_cells(row) for row in report.starts],
    )
    for rule in report.rules:
        click.echo(sentence(rule))
    for remark in report.remarks:
        click.echo(sentence(remark[:1].upper() + remark[1:]))


def _cells(row: "StartRow") -> tuple[str, ...]:
    from sweptwater.jobs.starts_words import chance_text, leave_text, line_text

    return (
        row.rod,
        row.first.place,
        row.second.place if row.second else "-",
        line_text(row.first.sun),
        line_text(row.first.cloud),
        leave_text(row),
        chance_text(row.chance_without),
        row.first.doubt,
    )
