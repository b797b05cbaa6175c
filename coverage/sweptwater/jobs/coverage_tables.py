"""The figures of the coverage page, as tables that stand beside and under the map."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import TypeAlias

from sweptwater.jobs.opened import local_time
from sweptwater.jobs.places import DriftLine
from sweptwater.jobs.sight import Covered
from sweptwater.jobs.unfished import PieceLine, whereabouts
from sweptwater.paper.layers import Column, Row, Table
from sweptwater.practice.geojson import SectorShape
from sweptwater.practice.rota import rota_days
from sweptwater.practice.settings import Settings
from sweptwater.units import (
    System,
    area_text,
    compass_point,
    duration_text,
    length_text,
    share_text,
)

FEW = 12
"""A table with more rows than this shows them only when asked."""

LISTED = 400
"""So many unfished pieces stand in the table; the map shows them all."""

DRIFTS_LISTED = 400
"""Of more drifts only those of the last days stand in the table."""

Cells: TypeAlias = tuple[str, ...]


def coverage_tables(
    report: Covered,
    pieces: Sequence[PieceLine],
    drifts: Sequence[DriftLine],
    settings: Settings,
    sectors: Sequence[SectorShape],
) -> tuple[Table, ...]:
    """Return all tables of a page; their rows have the keys of what the map shows."""
    before = (
        _pieces_table(pieces, settings),
        _sectors_table(report, settings),
        *_rota_table(sectors),
    )
    banks = _banks_table(report, settings.units)
    if not report.boats:
        return (*before, banks)
    return (
        *before,
        _days_table(report, settings.units),
        _pairs_table(report, settings.units),
        _boats_table(report, settings),
        banks,
        _drifts_table(drifts, settings.units),
    )


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


def _pieces_table(pieces: Sequence[PieceLine], settings: Settings) -> Table:
    units = settings.units
    rows = [
        Row(
            (
                str(line.number),
                area_text(line.area_m2, units),
                length_text(line.diameter_m, units),
                " ".join(filter(None, (line.sector, line.pair))) or "-",
                whereabouts(line),
            ),
            key=f"piece-{line.number}",
        )
        for line in pieces[:LISTED]
    ]
    more = len(pieces) - len(rows)
    return Table(
        "Unfished water, largest first",
        _columns("Piece>", "Area>", "Width>", "Whose", "Near"),
        tuple(rows),
        note=f"Pieces under {area_text(settings.unfished_m2, units)} are not listed."
        + (f" {more} more are on the map." if more else ""),
        beside=True,
    )


def _sectors_table(report: Covered, settings: Settings) -> Table:
    units = settings.units

    def areas(over: dict[str, float]) -> Cells:
        return tuple(area_text(over[band], units) for band in ("1", "2", "3+"))

    rows = [
        Row(
            (
                f"{line.sector} {line.pair}".strip(),
                area_text(line.water_m2, units),
                share_text(line.fished_share),
                _cast_text(line.share_if_cast),
                *areas(dict(line.drifts_over)),
                length_text(line.bank_m, units),
                length_text(line.bank_fished_m, units),
                "-" if line.bank_left_drifts is None else f"{line.bank_left_drifts:,}",
                "-" if line.bank_left_s is None else _about_text(line.bank_left_s),
            ),
            key=f"sector-{line.sector}",
        )
        for line in report.sectors
    ]
    total = Row(
        (
            "All",
            area_text(report.water_m2, units),
            share_text(report.fished_share),
            _cast_text(report.share_if_cast),
            *areas(report.drifts_over),
            length_text(sum(bank.length_m for bank in report.banks), units),
            length_text(sum(bank.done_m for bank in report.banks), units),
            *("", ""),
        ),
        total=True,
    )
    return Table(
        "The sectors",
        _columns(
            *("Sector", "Water>", "Fished>", "If casts differ>"),
            *("Once>", "Twice>", "3 or more>"),
            *("Bank>", "Bank done>", "Drifts to do>", "Time to do>"),
        ),
        (*rows, total),
        note="With casts a quarter shorter or longer, so much would be fished. To do: "
        "what the rest of the banks would take at the pace so far, with "
        f"{duration_text(settings.reset_s)} from drift to drift; - where too little of "
        "them has been fished to tell.",
    )


def _about_text(seconds: float) -> str:
    """Return a duration, from ten hours on in whole hours.

    Examples
    --------
    >>> _about_text(298_860.0), _about_text(3600.0)
    ('83 h', '1 h 00')
    """
    if seconds >= 36_000:
        return f"{seconds / 3600:.0f} h"
    return duration_text(seconds)


def _cast_text(shares: Mapping[str, float]) -> str:
    """Return the shares with a shorter and with a longer cast."""
    return f"{share_text(shares['shorter'])}, {share_text(shares['longer'])}"


def _boats_table(report: Covered, settings: Settings) -> Table:
    units = settings.units
    return Table(
        "The boats, day by day",
        _columns(
            *("Boat", "Out>", "Back>", "Fishing>", "Motoring>", "Ashore>"),
            *("No record>", "Drifts>", "Drifted>", "Swept>", "New>"),
        ),
        tuple(
            Row(
                (
                    f"{line.pair}, {day_text(line.day)}",
                    f"{local_time(line.start_s, settings):%H:%M}",
                    f"{local_time(line.end_s, settings):%H:%M}",
                    duration_text(line.fishing_s),
                    duration_text(line.motoring_s),
                    duration_text(line.ashore_s),
                    duration_text(line.unknown_s),
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


def _days_table(report: Covered, units: System) -> Table:
    return Table(
        "Day by day",
        _columns(
            *("Day", "Boats>", "Drifts>", "Fishing>", "Swept>", "New>"),
            "Fished so far>",
        ),
        tuple(
            Row(
                (
                    day_text(line.day),
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


def _pairs_table(report: Covered, units: System) -> Table:
    return Table(
        "Pair by pair",
        _columns(
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


def _rota_table(sectors: Sequence[SectorShape]) -> Iterator[Table]:
    """Yield who goes where on which day, if the pairs change round."""
    days = rota_days(sectors)
    if days:
        yield Table(
            "Who goes where",
            _columns("Day", *(f"Sector {sector.name}" for sector in sectors)),
            tuple(
                Row((day_text(day), *(s.pair_on(day) or "nobody" for s in sectors)))
                for day in days
            ),
        )


def _banks_table(report: Covered, units: System) -> Table:
    return Table(
        "The banks",
        _columns("Bank", "Sector", "Length>", "Done>", "Water fished>", "Last"),
        tuple(
            Row(
                (
                    str(line.bank),
                    line.sector or "-",
                    length_text(line.length_m, units),
                    length_text(line.done_m, units),
                    share_text(line.fished_m2 / line.water_m2),
                    day_text(line.last_day) if line.last_day else "never",
                ),
                key=f"bank-{line.bank}",
            )
            for line in report.banks
        ),
        note="Numbered from the first jetty, clockwise; then the islands.",
        folded=True,
    )


def _drifts_table(drifts: Sequence[DriftLine], units: System) -> Table:
    listed = last_drifts(drifts)
    more = len(drifts) - len(listed)
    return Table(
        "The drifts",
        _columns(
            *("Drift", "From>", "To>", "Length>", "Towards", "Swept>"),
            "From near",
        ),
        tuple(
            Row(
                (
                    f"{line.pair} {line.number}, {day_text(line.day)}",
                    line.start[11:16],
                    line.end[11:16],
                    length_text(line.length_m, units),
                    compass_point(line.course_deg),
                    area_text(line.swept_m2, units),
                    line.near,
                ),
                key=drift_key(line),
            )
            for line in listed
        ),
        note=f"The last days' only: {more:,} earlier ones are on the map."
        if more
        else "",
        folded=True,
    )


def last_drifts(
    drifts: Sequence[DriftLine], most: int = DRIFTS_LISTED
) -> list[DriftLine]:
    """Return the drifts of the last days, whole days while there are no more than most.

    The last day's are all there, however many.
    """
    on_day = Counter(line.day for line in drifts)
    listed = 0
    days: set[date] = set()
    for day in sorted(on_day, reverse=True):
        if days and listed + on_day[day] > most:
            break
        listed += on_day[day]
        days.add(day)
    return [line for line in drifts if line.day in days]


def day_text(day: date) -> str:
    """Return a day as a table's cell tells it.

    Examples
    --------
    >>> day_text(date(2027, 6, 8))
    '8 Jun'
    """
    return f"{day.day} {day:%b}"


def _columns(*titles: str) -> tuple[Column, ...]:
    """Return columns; a title that ends in > is of figures."""
    return tuple(Column(t.removesuffix(">"), numeric=t.endswith(">")) for t in titles)
