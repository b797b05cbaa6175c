"""Who did what, as tables of the coverage page: by day, by pair, by boat, from memory.

The keys tie rows to what the map shows.
"""

from collections.abc import Iterator
from datetime import date

from sweptwater.jobs.coverage_words import hours_known, hours_text
from sweptwater.jobs.covered import Covered
from sweptwater.jobs.listed import DriftLine
from sweptwater.jobs.opened import local_time
from sweptwater.jobs.wording import day_cell
from sweptwater.paper.layers import Column, Row, Table
from sweptwater.practice.settings import Settings
from sweptwater.swept.ledger import BoatLine
from sweptwater.units import (
    System,
    area_text,
    duration_text,
    length_text,
    share_text,
)

FEW = 12
"""A table with more rows than this shows them only when asked."""


def drift_key(line: DriftLine) -> str:
    """Return what ties a drift on the map to its row."""
    return f"{boat_key(line.day, line.pair)}{line.number}"


def pair_key(pair: str) -> str:
    """Return what ties the water of a pair to its row."""
    return f"pair-{pair}"


def day_key(day: date) -> str:
    """Return what ties the drifts of a day to its row."""
    return f"drift/{day}/"


def boat_key(day: date, pair: str) -> str:
    """Return what ties the drifts of a boat-day to its row."""
    return f"{day_key(day)}{pair}/"


def memory_key(day: date, pair: str) -> str:
    """Return what ties the water that a pair remembers of a day to its row."""
    return f"memory-{day}-{pair}"


def boats_table(report: Covered, settings: Settings) -> Table:
    """Return what each boat did on each day."""
    units = settings.units
    return Table(
        "The boats, day by day",
        columns(
            *("Boat", "Out>", "Back>", "Fishing>", "Motoring>", "Ashore>"),
            *("No record>", "Drifts>", "Drifted>", "Swept>", "New>"),
        ),
        tuple(
            Row(
                (
                    f"{line.pair}, {day_cell(line.day)}",
                    _clock(line.start_s, line, settings),
                    _clock(line.end_s, line, settings),
                    hours_text(line.fishing_s, line),
                    hours_text(line.motoring_s, line),
                    hours_text(line.ashore_s, line),
                    hours_text(line.unknown_s, line),
                    str(line.drifts),
                    length_text(line.drift_m, units),
                    area_text(line.swept_m2, units),
                    area_text(line.new_m2, units),
                ),
                key=boat_key(line.day, line.pair),
            )
            for line in report.boats
        ),
        folded=len(report.boats) > FEW,
    )


def days_table(report: Covered, units: System) -> Table:
    """Return what each day came to."""
    return Table(
        "Day by day",
        columns(
            *("Day", "Boats>", "Drifts>", "Fishing>", "Swept>", "New>"),
            "Fished so far>",
        ),
        tuple(
            Row(
                (
                    day_cell(line.day),
                    str(line.boats),
                    str(line.drifts),
                    duration_text(line.fishing_s),
                    area_text(line.swept_m2, units),
                    area_text(line.new_m2, units),
                    share_text(line.fished_share),
                ),
                key=day_key(line.day),
            )
            for line in report.days
        ),
        folded=len(report.days) > FEW,
    )


def pairs_table(report: Covered, units: System) -> Table:
    """Return what each pair came to."""
    return Table(
        "Pair by pair",
        columns(
            *("Pair", "Days>", "Drifts>", "Fishing>", "Drifted>", "Swept>"),
            *("Of the water>", "Only they fished>"),
        ),
        tuple(
            Row(
                (
                    line.pair,
                    str(line.days),
                    str(line.drifts),
                    duration_text(line.fishing_s),
                    length_text(line.drift_m, units),
                    area_text(line.swept_m2, units),
                    share_text(line.swept_m2 / report.water_m2),
                    area_text(line.alone_m2, units),
                ),
                key=pair_key(line.pair),
            )
            for line in report.pairs
        ),
    )


def memory_table(report: Covered, units: System) -> Iterator[Table]:
    """Yield what was told from memory, if anything was."""
    if report.remembered:
        yield Table(
            "From memory",
            columns(
                *("Told by", "Drifts>", "Told>", "Drifted>", "Swept>", "New>"),
            ),
            tuple(
                Row(
                    (
                        f"{line.pair}, {day_cell(line.day)}",
                        str(line.drifts),
                        duration_text(line.told_s),
                        length_text(line.drift_m, units),
                        area_text(line.swept_m2, units),
                        area_text(line.new_m2, units),
                    ),
                    key=memory_key(line.day, line.pair) if line.new_m2 > 0 else "",
                )
                for line in report.remembered
            ),
            note="Straight lines between the places that were named; in no figure of "
            "the other tables but those that say so. New is what no track has swept "
            "and nobody told of before.",
        )


def columns(*titles: str) -> tuple[Column, ...]:
    """Return columns; a title that ends in > is of figures."""
    return tuple(Column(t.removesuffix(">"), numeric=t.endswith(">")) for t in titles)


def _clock(time_s: float, line: BoatLine, settings: Settings) -> str:
    """Return a time of day; none, of a boat whose track has no times."""
    if not hours_known(line):
        return "-"
    return f"{local_time(time_s, settings):%H:%M}"
