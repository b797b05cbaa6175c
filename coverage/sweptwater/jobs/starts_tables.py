"""The tables of the page of where to start a match."""

from collections.abc import Iterator

from sweptwater.jobs.starts_report import Spot, SpotInWind, StartsReport, WindRow
from sweptwater.jobs.starts_words import (
    ENDS_BEFORE,
    chance_text,
    drift_text,
    home_text,
    leave_text,
    line_text,
)
from sweptwater.paper.layers import Column, Row, Table
from sweptwater.units import System, depth_text, duration_text, length_text


def starts_tables(report: StartsReport, units: System) -> Iterator[Table]:
    """Yield the rods, their places, then each place in eight winds."""
    yield rods_table(report)
    yield places_table(report, units)
    for at, spot in enumerate(report.winds[0].finds if report.winds else ()):
        rows = [(wind, wind.finds[at]) for wind in report.winds]
        yield winds_table(spot, rows, units)


def rods_table(report: StartsReport) -> Table:
    """Return where each rod starts."""
    return Table(
        "Rods",
        (
            *(Column("rod"), Column("start"), Column("then"), Column("leave by")),
            Column("without an offer", numeric=True),
        ),
        tuple(
            Row(
                (
                    f"{row.rod}{', bold' if row.bold else ''}",
                    row.first.place,
                    row.second.place if row.second else "-",
                    leave_text(row),
                    chance_text(row.chance_without),
                ),
                key=spot_key(row.first),
            )
            for row in report.starts
        ),
        note="Leave by: the start, then the second choice. Of a bold start less is "
        "known, and more may be there.",
        beside=True,
    )


def places_table(report: StartsReport, units: System) -> Table:
    """Return all starts and second choices, each once."""
    spots = {spot_key(row.first): row.first for row in report.starts}
    spots |= {spot_key(row.second): row.second for row in report.starts if row.second}
    return Table(
        "The places",
        (
            *(Column("place"), Column("what is known"), Column("how sure")),
            *(Column("in sun"), Column("in cloud"), Column("longest drift")),
            Column("leave by"),
        ),
        tuple(
            Row(
                (
                    spot.place,
                    "; ".join(spot.why),
                    spot.doubt,
                    line_text(spot.sun),
                    line_text(spot.cloud),
                    drift_text(spot.drift, units),
                    home_text(spot, units),
                ),
                key=key,
            )
            for key, spot in spots.items()
        ),
        note="The line that met most there in that light, where somebody told; else "
        "one that reaches the depth.",
    )


def spot_key(spot: Spot) -> str:
    """Return the key that links a place's rows with the map."""
    return f"spot-{spot.find or spot.place}"


def winds_table(
    spot: SpotInWind,
    rows: list[tuple[WindRow, SpotInWind]],
    units: System,
) -> Table:
    """Return what can be drifted at one place in each of eight winds."""
    home = (
        ""
        if spot.home_s is None
        else f" The run home takes {duration_text(spot.home_s)}."
    )
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
            duration_text(drift.drogue_out_s),
            duration_text(drift.drogue_in_s),
            ENDS_BEFORE[drift.cut_by],
            *depths,
        )
    )
