"""The tables of the page of where to go next."""

from collections.abc import Iterator

from sweptwater.jobs.finds import range_text
from sweptwater.jobs.next import Next, NextSight
from sweptwater.jobs.next_rows import NextRow
from sweptwater.jobs.next_words import hours_cell, way_text
from sweptwater.jobs.searched_by import SearchedPatch
from sweptwater.paper.intervals import hours_text, rate_text
from sweptwater.paper.layers import Column, Row, Table
from sweptwater.units import System, area_text, depths_text, share_text

MOST_FINDS = 8
"""Of more finds the table is folded."""


def next_tables(sight: NextSight) -> Iterator[Table]:
    """Yield the orders, the finds, and how surely each water was searched."""
    report, units = sight.report, sight.opened.settings.units
    yield orders_table(report, units)
    if report.finds:
        yield finds_table(report)
    yield searched_table(report, units)


def orders_table(report: Next, units: System) -> Table:
    """Return what each pair is to do."""
    return Table(
        "Orders",
        (
            *(Column("no", numeric=True), Column("pair"), Column("hours")),
            *(Column("where"), Column("depth"), Column("of water"), Column("with")),
            *(Column("so far", numeric=True), Column("then", numeric=True)),
            Column("why"),
        ),
        tuple(
            Row(_order(number, row, units), key=_key(number, row))
            for number, row in enumerate(report.rows, 1)
        ),
        note="So far, and then: of a hundred small shoals there, at that depth, how "
        "many would have shown themselves by now and by the end of those hours.",
        folded=True,
    )


def _key(number: int, row: NextRow) -> str:
    return f"order-{number}" if row.find is None else f"find-{row.find}"


def _order(number: int, row: NextRow, units: System) -> tuple[str, ...]:
    bed = "-"
    if row.bed_low_m is not None and row.bed_high_m is not None:
        bed = depths_text(row.bed_low_m, row.bed_high_m, units)
    hours = hours_cell(row.hours) + (f" before {row.before}" if row.before else "")
    return (
        *(str(number), row.pair, hours, row.place, row.layer, bed, way_text(row)),
        *(share_text(row.chance_now), share_text(row.chance_after), row.why),
    )


def finds_table(report: Next) -> Table:
    """Return what was found, and what it is worth by now."""
    return Table(
        "Finds",
        (
            *(Column("no", numeric=True), Column("where")),
            *(Column("offers", numeric=True), Column("rod-hours", numeric=True)),
            *(Column("an hour", numeric=True), Column("19 in 20", numeric=True)),
            *(Column("left", numeric=True), Column("state"), Column("what to do")),
        ),
        tuple(
            Row(
                (
                    f"F{line.find.number}",
                    line.place,
                    str(line.find.offers),
                    hours_text(line.find.rod_hours),
                    "" if line.find.rate is None else rate_text(line.find.rate),
                    range_text(line.find),
                    share_text(line.find.left),
                    ": ".join(
                        filter(
                            None,
                            (
                                " and ".join(line.find.states),
                                "; ".join(line.find.why),
                            ),
                        )
                    ),
                    line.advice,
                ),
                key=f"find-{line.find.number}",
            )
            for line in report.finds
        ),
        note="Left is what is left of what was learned, by its age and the nights "
        "since. A find is tried again before it is trusted.",
        folded=len(report.finds) > MOST_FINDS,
    )


def searched_table(report: Next, units: System) -> Table:
    """Return how surely each piece of water was searched, layer by layer."""
    return Table(
        "How surely each water has been searched",
        (
            *(Column("where"), Column("sector"), Column("water", numeric=True)),
            *(Column("shoals there would have shown"), Column("in which light")),
            Column("twice in different ways", numeric=True),
        ),
        tuple(Row(_searched(one, units)) for one in report.searched if _any(one)),
        note="Taken cautiously, and in brackets for drifts as regular as can be. Water "
        "that is not here has not been searched.",
        folded=True,
    )


def _any(one: SearchedPatch) -> bool:
    return any(layer.chance >= 0.005 for layer in one.layers)


def _searched(one: SearchedPatch, units: System) -> tuple[str, ...]:
    known = [layer for layer in one.layers if layer.chance >= 0.005]
    shown = "; ".join(
        f"{layer.layer}: {share_text(layer.chance)} ({share_text(layer.at_best)})"
        for layer in known
    )
    skies: dict[str, float] = {}
    for layer in known:
        for sky, chance in layer.by_sky.items():
            skies[sky] = max(skies.get(sky, 0.0), chance)
    light = ", ".join(f"{sky} {share_text(c)}" for sky, c in skies.items())
    return (
        *(one.place, one.sector or "-", area_text(one.area_m2, units)),
        *(shown, light, share_text(one.looked_share)),
    )
