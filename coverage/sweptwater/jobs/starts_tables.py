"""The tables of the page of where to start a match."""

from collections.abc import Iterator, Mapping, Sequence

from sweptwater.jobs.starts_report import Spot, SpotInWind, StartsReport, WindRow
from sweptwater.jobs.starts_words import (
    ENDS_BEFORE,
    chance_text,
    leave_text,
    line_text,
)
from sweptwater.paper.layers import Column, Row, Table
from sweptwater.units import YARD_M, System, depth_text, duration_text, length_text


def starts_tables(report: StartsReport, units: System) -> Iterator[Table]:
    """Yield the rods, their places, then each place in eight winds."""
    yield rods_table(report)
    spots = {spot_key(row.first): row.first for row in report.starts}
    spots |= {spot_key(row.second): row.second for row in report.starts if row.second}
    yield drifts_table(spots, units)
    yield places_table(spots)
    if not report.winds[0].finds:
        return
    yield turns_table(report.winds, units)
    for at, spot in enumerate(report.winds[0].finds):
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


def places_table(spots: Mapping[str, Spot]) -> Table:
    """Return what is known of all starts and second choices, each once."""
    return Table(
        "What is known of the places",
        (Column("place"), Column("known"), Column("how sure")),
        tuple(
            Row((spot.place, "; ".join(spot.why), spot.doubt), key=key)
            for key, spot in spots.items()
        ),
    )


def drifts_table(spots: Mapping[str, Spot], units: System) -> Table:
    """Return how each of them is fished in the forecast's wind."""
    return Table(
        "How to fish them in this wind",
        (
            *(Column("place"), Column("in sun"), Column("in cloud")),
            *(Column("longest drift", numeric=True), Column("takes", numeric=True)),
            *(Column("drogue in", numeric=True), Column("ends")),
            Column("way home", numeric=True),
        ),
        tuple(Row(_fished(spot, units), key=key) for key, spot in spots.items()),
        note="The line that met most there in that light, where somebody told; else "
        "one that reaches the depth.",
    )


def _fished(spot: Spot, units: System) -> tuple[str, ...]:
    drift = spot.drift
    drifted = ("-",) * 4
    if drift is not None:
        short = length_text(drift.short_m, units)
        drifted = (
            length_text(drift.length_m, units),
            duration_text(drift.drogue_out_s),
            duration_text(drift.drogue_in_s),
            f"{short} before {ENDS_BEFORE[drift.cut_by]}",
        )
    home = "-"
    if spot.home_m is not None and spot.home_s is not None:
        home = f"{length_text(spot.home_m, units)}, {duration_text(spot.home_s)}"
    return (spot.place, line_text(spot.sun), line_text(spot.cloud), *drifted, home)


def turns_table(winds: Sequence[WindRow], units: System) -> Table:
    """Return how far each place can be drifted in each wind."""
    unit = "yards" if units == "imperial" else "metres"
    return Table(
        f"If the wind turns: the longest drift past each place, {unit}",
        (
            Column("place"),
            *(Column(wind.wind, numeric=True) for wind in winds),
            Column("run home", numeric=True),
        ),
        tuple(
            Row(
                (
                    _place(one),
                    *(_length(wind.finds[at], units) for wind in winds),
                    "-" if one.home_s is None else duration_text(one.home_s),
                )
            )
            for at, one in enumerate(winds[0].finds)
        ),
        note="In winds as strong as forecast, by where they come from. A dash: cannot "
        "be drifted.",
    )


def _length(one: SpotInWind, units: System) -> str:
    if one.drift is None:
        return "-"
    return f"{one.drift.length_m / (YARD_M if units == 'imperial' else 1.0):,.0f}"


def _place(one: SpotInWind) -> str:
    return f"find {one.find}, {one.place}" if one.find else one.place


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
    return Table(
        f"If the wind turns: {_place(spot)}",
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
