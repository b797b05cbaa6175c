"""`brief`: the match brief and the rod cards."""

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from sweptwater_cli.guide import Step
from sweptwater_cli.options import json_option, match_options
from sweptwater_cli.show import sentence, show_with_page, table, watch

if TYPE_CHECKING:
    from sweptwater.jobs.brief import BriefSight


@click.command(cls=Step)
@match_options
@json_option
@click.pass_obj
def brief(
    folder: Path,
    day: str | None,
    wind: str | None,
    gust: str | None,
    sky: str | None,
    drogue: Literal["in", "out"] | None,
    as_json: bool,
) -> None:
    """Write the match brief, and a card to learn for each rod.

    One page to print, two to four sides of A4: conditions, rules and times; where each
    rod starts, its second choice and why; lines for sun and for cloud; what to do when
    light or wind change; what is known, how surely, and what nobody knows; what is out
    of bounds; how to stay safe. The last side is cut into cards. It opens on a phone
    without a network too.

    \b
    Examples:
      sweptwater brief --day 2027-06-12 --wind W14mph --gust 24mph
      sweptwater brief --wind SW4 --sky bright
    """
    from sweptwater.jobs.brief import look_at_brief
    from sweptwater.jobs.brief_page import save_page
    from sweptwater.jobs.starts import AskStarts

    ask = AskStarts(day=day, wind=wind, gust=gust, sky=sky, drogue=drogue)
    sight = look_at_brief(folder, ask, watch=watch)
    show_with_page(
        sight.report,
        sight.starts.searching.faults,
        lambda: save_page(sight),
        lambda: _show(sight),
        as_json=as_json,
    )


def _show(sight: "BriefSight") -> None:
    from sweptwater.jobs.starts_words import lead_text, title_text

    report = sight.report
    click.echo(sentence(report.first))
    click.echo(title_text(report.starts, sight.starts.opened.settings.units))
    click.echo(lead_text(report.starts))
    for card in report.cards:
        click.echo()
        table((f"rod {card.rod}", ""), card.lines)
    for remark in report.starts.remarks:
        click.echo()
        click.echo(sentence(remark[:1].upper() + remark[1:]))
