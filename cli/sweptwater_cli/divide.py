"""`divide`: sectors for the pairs."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from sweptwater_cli.guide import Step
from sweptwater_cli.options import days, existing_file, json_option, numbers
from sweptwater_cli.show import busy, show_json, table, tell

if TYPE_CHECKING:
    from sweptwater.jobs.divide import Divided
    from sweptwater.jobs.effort import By
    from sweptwater.units import System

KNOWN = "known"
"""What `--rotate` means without days."""


def _cut_numbers(
    _: click.Context, __: click.Parameter, value: str | None
) -> tuple[int, ...]:
    try:
        return tuple(int(part) for part in (value or "").split(",") if part.strip())
    except ValueError as error:
        raise click.BadParameter(f"{value!r} is no list of cuts like 1,3") from error


def _rota_days(
    context: click.Context, option: click.Parameter, value: str | None
) -> tuple[date, ...] | None:
    if value is None:
        return None
    return () if value == KNOWN else days(context, option, value)


@click.command(cls=Step)
@click.option(
    "--by",
    type=click.Choice(["area", "bank", "hours"]),
    default="area",
    show_default=True,
    help="What is shared out: the water, its shore, or the hours to cover it once.",
)
@click.option(
    "--shares", callback=numbers, metavar="2,1,1", help="Shares by pair; else equal."
)
@click.option(
    "--bank-to-bank",
    is_flag=True,
    help="Let no cut end on another in open water, even where that is shorter.",
)
@click.option(
    "--lines", type=existing_file, help="Divide along the lines of this file instead."
)
@click.option(
    "--sectors", type=existing_file, help="Take the ready-made sectors of this file."
)
@click.option(
    "--move",
    "moves",
    nargs=2,
    multiple=True,
    metavar="END PLACE",
    help="Move an end of a cut, like 1a, to a mark or to LAT,LON.",
)
@click.option(
    "--hold",
    callback=_cut_numbers,
    metavar="1,3",
    help="Keep these cuts and make the others again.",
)
@click.option(
    "--name",
    "names",
    nargs=2,
    multiple=True,
    metavar="OLD NEW",
    help='Give a sector another name, like A "Dam end".',
)
@click.option(
    "--rotate",
    is_flag=False,
    flag_value=KNOWN,
    callback=_rota_days,
    metavar="[DAY,DAY]",
    help="Change the pairs round on these days, else on the practice's days.",
)
@json_option
@click.pass_obj
def divide(
    folder: Path,
    by: str,
    shares: tuple[float, ...] | None,
    bank_to_bank: bool,
    lines: Path | None,
    sectors: Path | None,
    moves: tuple[tuple[str, str], ...],
    hold: tuple[int, ...],
    names: tuple[tuple[str, str], ...],
    rotate: tuple[date, ...] | None,
    as_json: bool,
) -> None:
    """Divide the fishable water among the pairs.

    --move, --hold, --name and --rotate change the sectors that there are.

    \b
    Examples:
      sweptwater divide
      sweptwater divide --shares 2,1,1
      sweptwater divide --by hours
      sweptwater divide --lines drawn.geojson
      sweptwater divide --move 1a Tower --name A "Dam end"
      sweptwater divide --hold 1
      sweptwater divide --rotate 2027-06-08,2027-06-09,2027-06-10
    """
    if sum(given is not None for given in (shares, lines, sectors)) > 1:
        raise click.UsageError("give one of --shares, --lines and --sectors")
    if by != "area" and (lines or sectors or hold or moves):
        raise click.UsageError(
            f"--by {by} divides the water anew: it does not go with --lines, "
            "--sectors, --hold or --move"
        )
    if hold and (lines or sectors or bank_to_bank):
        raise click.UsageError("--hold goes with --shares only")
    if bank_to_bank and (lines or sectors):
        raise click.UsageError("--bank-to-bank does not go with --lines or --sectors")
    from sweptwater.jobs.divide import Wish
    from sweptwater.jobs.divide import divide as job
    from sweptwater.jobs.opened import open_folder

    wish = Wish(
        by=cast("By", by),
        shares=shares,
        bank_to_bank=bank_to_bank,
        lines=lines,
        shapes=sectors,
        hold=hold,
        moves=moves,
        names=names,
        rotate=rotate is not None,
        days=rotate or (),
    )
    with busy("dividing the water"):
        report = job(folder, wish)
    if report.kept:
        tell(f"The sectors of before are kept as {report.kept}.")
    for remark in report.remarks:
        tell(remark)
    if report.without:
        tell(f"No sector is left for {', '.join(report.without)}.")
    if as_json:
        show_json(report)
        return
    _print(report, open_folder(folder).settings.units)


def _print(report: "Divided", units: "System") -> None:
    from sweptwater.units import area_text, length_text

    table(
        ("sector", "pair", ">water", ">share", ">bank", ">to cover once", ">days"),
        [
            (
                sector.sector,
                sector.pair or "nobody",
                area_text(sector.water_m2, units),
                f"{100 * sector.share:.1f} %",
                length_text(sector.bank_m, units),
                "-" if sector.hours is None else f"{sector.hours:.0f} h",
                "-" if sector.days_to_cover is None else str(sector.days_to_cover),
            )
            for sector in report.sectors
        ],
    )
    for cut in report.cuts:
        click.echo(
            f"\ncut {cut.number}, {' | '.join(cut.between)}, "
            f"{length_text(cut.length_m, units)}:"
        )
        for letter, end in (("a", cut.from_), ("b", cut.to)):
            click.echo(
                f"  {cut.number}{letter}  {end.lat:.5f}, {end.lon:.5f}  "
                f"{end.text(units)}"
            )
    if report.days:
        click.echo()
        table(
            ("day", *(sector.sector for sector in report.sectors)),
            [
                (
                    f"{told.day:%a} {told.day.day} {told.day:%b}",
                    *(told.pairs[s.sector] or "nobody" for s in report.sectors),
                )
                for told in report.days
            ],
        )
