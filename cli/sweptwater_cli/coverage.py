"""`coverage`: how much of each sector has been fished, and the map of it."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sweptwater_cli.guide import Step
from sweptwater_cli.options import day_option, json_option, pair_option
from sweptwater_cli.show import (
    pair_head,
    sentence,
    show_with_page,
    table,
    tell,
    typed,
    watch,
)

if TYPE_CHECKING:
    from sweptwater.jobs.covered import Covered
    from sweptwater.swept.ledger import SectorLine
    from sweptwater.units import System


@click.command(cls=Step)
@day_option("Only this day, like 2027-06-09.")
@pair_option("Only this pair.")
@click.option("--layer", metavar="FT", help="Only flies in this layer, like 8-15.")
@click.option("--light", help="Only under this sky: bright, broken or dull.")
@click.option("--banks", is_flag=True, help="Also list the banks, one by one.")
@json_option
@click.pass_obj
def coverage(
    folder: Path,
    *,
    day: str | None,
    pair: str | None,
    layer: str | None,
    light: str | None,
    banks: bool,
    as_json: bool,
) -> bool:
    """Tell how much of each sector has been fished, and draw the map.

    \b
    Examples:
      sweptwater coverage
      sweptwater coverage --day 2027-06-09 --pair Heron
      sweptwater coverage --banks
      sweptwater coverage --layer 8-15 --light bright
      sweptwater coverage --layer "below 8"
    """
    from sweptwater.jobs.coverage import save_page
    from sweptwater.jobs.sight import look

    sight = look(folder, day=day, pair=pair, layer=layer, light=light, watch=watch)
    report = sight.report
    units = sight.opened.settings.units
    for remark in report.remarks:
        tell(sentence(remark))
    show_with_page(
        report,
        report.faults,
        lambda: save_page(sight),
        lambda: _show(report, units, banks=banks),
        as_json=as_json,
    )
    return bool(report.boats or report.remembered)


def _show(report: "Covered", units: "System", *, banks: bool) -> None:
    from sweptwater.jobs.coverage_words import absent, deep_text, shares_text
    from sweptwater.units import area_text

    only = (report.pair, str(report.day or ""), deep_text(report))
    who = " ".join(filter(None, only))
    click.echo(
        f"{report.practice}{f' ({who})' if who else ''}: "
        f"{area_text(report.fished_m2, units)} of {area_text(report.water_m2, units)} "
        f"fished, {shares_text(report.fished_share, report.remembered_share)}"
        f"{_other_casts(report)}."
    )
    if report.missing:
        told = (
            f"{pair} on {day.isoformat()}{f' ({memory})' if memory else ''}"
            for day, pair, memory in absent(report)
        )
        click.echo(f"No track from {', '.join(told)}.")
    if report.sectors:
        _show_sectors(report, units)
    else:
        click.echo(typed("The water is not divided yet: sweptwater divide"))
    if report.boats:
        _show_boats(report, units)
    elif not report.remembered:
        click.echo(typed("No tracks yet: sweptwater upload --pair PAIR FILE"))
    if report.remembered:
        _show_memory(report, units)
    if report.planned:
        from sweptwater.jobs.done import done_text

        click.echo()
        for done in report.planned:
            click.echo(sentence(done_text(done)))
    if banks:
        _show_banks(report, units)


def _other_casts(report: "Covered") -> str:
    from sweptwater.units import share_text

    if report.remembered and not report.boats:  # there is nothing recorded
        return ""
    shares = report.share_if_cast
    return (
        f"; with a cast 25 % shorter {'the recorded' if report.remembered else 'it'} "
        f"would be {share_text(shares['shorter'])}, 25 % longer "
        f"{share_text(shares['longer'])}"
    )


def _show_sectors(report: "Covered", units: "System") -> None:
    from sweptwater.units import area_text, duration_text, length_text, share_text

    told = bool(report.remembered)
    deep = any(line.depth_high_m is not None for line in report.sectors)
    click.echo()
    table(
        (
            *("sector", pair_head(report.pairs_day), ">water", ">fished", ">share"),
            *((">from memory",) if told else ()),
            *(">once", ">twice", ">3+", ">bank", ">bank done"),
            *((">from memory",) if told else ()),
            *((">depth",) if deep else ()),
        ),
        [
            (
                line.sector,
                line.pair,
                area_text(line.water_m2, units),
                area_text(line.fished_m2, units),
                share_text(line.fished_share),
                *((f"+ {share_text(line.remembered_share)}",) if told else ()),
                *(area_text(line.drifts_over[n], units) for n in ("1", "2", "3+")),
                length_text(line.bank_m, units),
                length_text(line.bank_fished_m, units),
                *((f"+ {length_text(line.bank_remembered_m, units)}",) if told else ()),
                *((_depths(line, units),) if deep else ()),
            )
            for line in report.sectors
        ],
    )
    for line in [] if report.layer or report.light else report.sectors:
        if line.bank_left_drifts and line.bank_left_s:
            more = "drift" if line.bank_left_drifts == 1 else "drifts"
            click.echo(
                f"The rest of {line.sector}'s banks at the pace so far: "
                f"{line.bank_left_drifts} more {more}, about "
                f"{duration_text(line.bank_left_s)}."
            )


def _depths(line: "SectorLine", units: "System") -> str:
    from sweptwater.units import depths_text

    if line.depth_low_m is None or line.depth_high_m is None:
        return "-"
    return depths_text(line.depth_low_m, line.depth_high_m, units)


def _show_banks(report: "Covered", units: "System") -> None:
    from sweptwater.jobs.coverage_tables import last_text, layered
    from sweptwater.offers.ledger import layers_words
    from sweptwater.units import length_text, share_text

    told = bool(report.remembered)
    with_layers = layered(report)
    click.echo()
    table(
        (
            *(">bank", "name", "sector", ">length", ">done", ">share"),
            *((">from memory",) if told else ()),
            *(">drifts", "last"),
            *(("layers",) if with_layers else ()),
        ),
        [
            (
                str(line.bank),
                line.name,
                line.sector or "-",
                length_text(line.length_m, units),
                length_text(line.done_m, units),
                share_text(line.fished_share),
                *((f"+ {share_text(line.remembered_share)}",) if told else ()),
                str(line.drifts),
                last_text(line),
                *((layers_words(line.layers),) if with_layers else ()),
            )
            for line in report.banks
        ],
    )


def _show_boats(report: "Covered", units: "System") -> None:
    from sweptwater.jobs.coverage_words import hours_text
    from sweptwater.units import area_text

    click.echo()
    table(
        (
            *("day", "pair", ">fishing", ">motoring", ">ashore", ">unknown"),
            *(">drifts", ">swept", ">new"),
        ),
        [
            (
                line.day.isoformat(),
                line.pair,
                *(
                    hours_text(seconds, line)
                    for seconds in (
                        *(line.fishing_s, line.motoring_s),
                        *(line.ashore_s, line.unknown_s),
                    )
                ),
                str(line.drifts),
                area_text(line.swept_m2, units),
                area_text(line.new_m2, units),
            )
            for line in report.boats
        ],
    )


def _show_memory(report: "Covered", units: "System") -> None:
    from sweptwater.units import area_text, duration_text, length_text

    click.echo("\nFrom memory, in no figure of the boats")
    table(
        ("day", "pair", ">drifts", ">told", ">drifted", ">swept", ">new"),
        [
            (
                line.day.isoformat(),
                line.pair,
                str(line.drifts),
                duration_text(line.told_s),
                length_text(line.drift_m, units),
                area_text(line.swept_m2, units),
                area_text(line.new_m2, units),
            )
            for line in report.remembered
        ],
    )
