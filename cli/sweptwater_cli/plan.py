"""`plan`: tomorrow's drifts."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sweptwater_cli.guide import Step
from sweptwater_cli.options import Amount, day_option, json_option, pair_option
from sweptwater_cli.show import place, sentence, show_json, table, tell, watch

if TYPE_CHECKING:
    from sweptwater.jobs.plan import PairPlan, Plan, PlannedLine
    from sweptwater.units import System

PATTERNS = ("auto", "zigzag", "ladder", "parallel", "open")
MOST_REST = 5
"""So many of the things that did not fit are printed."""


@click.command(cls=Step)
@day_option("Which day, like 2027-06-09; else the rota's next.")
@click.option(
    "--wind",
    metavar="WIND",
    help="Where from, and how hard: SW4, or 240@12mph (kn, m/s); else as noted.",
)
@click.option("--hours", type=Amount(0.5), help="Afloat, lunch and motoring included.")
@click.option(
    "--pattern",
    type=click.Choice(PATTERNS),
    default="auto",
    show_default=True,
    help="How to lay drifts along the banks; open: only the open water.",
)
@pair_option("Only this pair.")
@click.option(
    "--drogue", type=click.Choice(["in", "out"]), help="Else as practice.toml says."
)
@click.option(
    "--across", is_flag=True, help="Let the pairs fish beyond their own sectors."
)
@click.option(
    "--next",
    "where_next",
    is_flag=True,
    help="Lay drifts where the next hours do most good, as sweptwater next says.",
)
@click.option("--sky", metavar="SKY", help="The light of that day, for --next.")
@json_option
@click.pass_obj
def plan(
    folder: Path,
    *,
    day: str | None,
    wind: str | None,
    hours: float | None,
    pattern: str,
    pair: str | None,
    drogue: str | None,
    across: bool,
    where_next: bool,
    sky: str | None,
    as_json: bool,
) -> None:
    """Plan a day's drifts, as its wind and its hours allow.

    Each pair gets drifts in its own water, in order, over what nobody has fished yet;
    a sheet to print, and routes for the boat's GPS, in plans/DAY. What does not fit is
    told in the order in which it would come next.

    \b
    Examples:
      sweptwater plan --day 2027-06-09 --wind SW4
      sweptwater plan --wind 240@12mph --hours 6 --pair Heron
      sweptwater plan --wind W3 --pattern zigzag
      sweptwater plan --wind SW4 --next
    """
    from sweptwater.jobs.opened import open_folder
    from sweptwater.jobs.plan import Ask
    from sweptwater.jobs.plan import plan as job

    ask = Ask(
        day=day,
        wind=wind,
        hours=hours,
        pattern=pattern,  # type: ignore[arg-type]
        pair=pair,
        drogue=drogue,  # type: ignore[arg-type]
        across=across,
        where_next=where_next,
        sky=sky,
    )
    report = job(folder, ask, watch=watch)
    for remark in report.remarks:
        tell(sentence(remark[:1].upper() + remark[1:]))
    if as_json:
        show_json(report)
        return
    _print(folder, report, open_folder(folder).settings.units)


def _print(folder: Path, report: "Plan", units: "System") -> None:
    from sweptwater.offers.wind import Wind, wind_text

    wind = wind_text(Wind(report.wind_from_deg, report.wind_m_s), units)
    if report.stay_ashore:
        click.echo(f"Stay ashore: {wind} is more than this practice goes afloat in.\n")
    click.echo(f"{report.day:%a} {report.day.day} {report.day:%b}, {wind}")
    for pair in report.pairs:
        click.echo()
        _print_pair(folder, pair, report, units)


def _print_pair(
    folder: Path, pair: "PairPlan", report: "Plan", units: "System"
) -> None:
    from sweptwater.jobs.plan_words import hours_text
    from sweptwater.jobs.wording import counted, pace_text
    from sweptwater.units import (
        YARD_M,
        area_text,
        compass_point,
        duration_text,
        share_text,
    )

    where = f"sector {' and '.join(pair.sectors)}" if pair.sectors else "all the water"
    whole = "the sector" if pair.sectors else "the water"
    known = (
        f"from {counted(pair.drift_learned_from, 'drift')} of before"
        if pair.drift_learned_from
        else "as boats usually do"
    )
    alone_s = 3600 * pair.bank_hours
    click.echo(
        f"{pair.pair}, {where}: {pair.hours_asked:g} h afloat in this wind: "
        f"{counted(pair.drifts, 'drift')}, {area_text(pair.new_m2, units)}, "
        f"{share_text(pair.sector_share)} of {whole}"
        f"{'' if pair.fish else f'; the banks alone need {hours_text(alone_s)}'}"
    )
    click.echo(
        f"  {pace_text(pair.drift_m_s, units)} with the drogue {report.drogue} "
        f"({known}), {duration_text(3600 * pair.fishing_hours)} of fishing in "
        f"{duration_text(3600 * pair.hours)} afloat"
        f"{f', lunch after {pair.lunch_after}' if pair.lunch_after else ''}; expect "
        f"{area_text(pair.expected_m2, units)}, since no boat keeps its line"
    )
    unit_m, unit = (YARD_M, "yards") if units == "imperial" else (1.0, "metres")
    if pair.planned:
        deep = any(line.depth_m is not None for line in pair.planned)
        table(
            (
                *(">no", "begins", "from", "to", "course", f">{unit}", ">min"),
                *((">depth",) if deep else ()),
            ),
            [
                (
                    str(line.number),
                    f"{line.begins:%H:%M}",
                    line.from_near,
                    line.to_near,
                    f"{round(line.course_deg) % 360:03d} "
                    f"{compass_point(line.course_deg)}",
                    f"{line.length_m / unit_m:.0f}",
                    f"{line.drift_s / 60:.0f}",
                    *((_depth(line, units),) if deep else ()),
                )
                for line in pair.planned
            ],
        )
    for text in pair.fish_texts:
        click.echo(f"  {text}")
    for ways in pair.bank_ways:
        click.echo(
            f"  {ways.name}: {counted(ways.parallel.drifts, 'parallel drift')} "
            f"{share_text(ways.parallel.share)} in {ways.parallel.hours:.1f} h, or "
            f"{counted(ways.zigzag.drifts, 'zig-zag')} {share_text(ways.zigzag.share)} "
            f"in {ways.zigzag.hours:.1f} h, which crosses the slope"
        )
    if pair.left_out:
        shown = [
            f"{'open water' if rest.bank is None else f'bank {rest.bank}'} "
            f"({counted(rest.drifts, 'drift')}, {rest.hours:.1f} h)"
            for rest in pair.left_out[:MOST_REST]
        ]
        if len(pair.left_out) > len(shown):
            shown.append(f"and {len(pair.left_out) - len(shown)} more")
        click.echo(f"  left out, what comes next first: {', '.join(shown)}")
    for file in pair.files:
        click.echo(f"  {place(folder / file)}")


def _depth(line: "PlannedLine", units: "System") -> str:
    from sweptwater.units import depth_text

    return "-" if line.depth_m is None else depth_text(line.depth_m, units)
