"""The tables of the page of where to start a match."""

from collections.abc import Iterator

from sweptwater.jobs.starts_report import SpotInWind, StartRow, StartsReport, WindRow
from sweptwater.jobs.starts_words import (
    ENDS_BEFORE,
    chance_text,
    leave_text,
    line_text,
)
from sweptwater.paper.layers import Column, Row, Table
from sweptwater.units import System, depth_text, duration_text, length_text


def starts_tables(report: StartsReport, units: System) -> Iterator[Table]:
    """Yield the rods, then each place in eight winds."""
    yield rods_table(report)
    for at, spot in enumerate(report.winds[0].finds if report.winds else ()):
        rows = [(wind, wind.finds[at]) for wind in report.winds]
        yield winds_table(spot, rows, report, units)


def rods_table(report: StartsReport) -> Table:
    """Return where each rod starts."""
    return Table(
        "Rods",
        (
            *(Column("rod"), Column("start"), Column("then"), Column("in sun")),
            *(Column("in cloud"), Column("leave by")),
            *(Column("without an offer", numeric=True), Column("doubt")),
        ),
        tuple(_rod(row) for row in report.starts),
        note="Leave by: the start, then the second choice.",
    )


def _rod(row: StartRow) -> Row:
    return Row(
        (
            row.rod,
            row.first.place,
            row.second.place if row.second else "-",
            line_text(row.first.sun),
            line_text(row.first.cloud),
            leave_text(row),
            chance_text(row.chance_without),
            row.first.doubt,
        ),
        key=f"spot-{row.first.place}",
    )


def winds_table(
    spot: SpotInWind,
    rows: list[tuple[WindRow, SpotInWind]],
    report: StartsReport,
    units: System,
) -> Table:
    """Return what can be drifted at one place in each of eight winds."""
    home = "" if spot.home_s is None else f" The run home takes {_time(spot.home_s)}."
    name = f"find {spot.find}, {spot.place}" if spot.find else spot.place
    return Table(
        f"If the wind turns: {name}",
        (
            *(Column("wind"), Column("longest drift", numeric=True)),
            *(Column("past it", numeric=True), Column("minutes", numeric=True)),
            *(Column("drogue in", numeric=True), Column("ends before")),
            *(Column("flies to", numeric=True), Column("drogue in: to", numeric=True)),
        ),
        tuple(_wind(wind, one, units) for wind, one in rows),
        note=f"As strong as forecast; flies on {spot.line}.{home}",
        folded=True,
    )


def _wind(wind: WindRow, one: SpotInWind, units: System) -> Row:
    drift = one.drift
    if drift is None:
        return Row((wind.wind, "none", "-", "-", "-", "-", "-", "-"))
    depths = [
        "-" if useful_m is None else depth_text(useful_m, units)
        for useful_m in (one.useful_out_m, one.useful_in_m)
    ]
    return Row(
        (
            wind.wind,
            length_text(drift.length_m, units),
            length_text(drift.passing_m, units),
            _time(drift.drogue_out_s),
            _time(drift.drogue_in_s),
            ENDS_BEFORE[drift.cut_by],
            *depths,
        )
    )


def _time(time_s: float) -> str:
    return duration_text(time_s)
