"""The figures of the coverage page, as tables that stand beside and under the map."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import TypeAlias

from sweptwater.jobs.boat_tables import (
    boats_table,
    columns,
    days_table,
    drift_key,
    memory_table,
    pairs_table,
)
from sweptwater.jobs.covered import Covered
from sweptwater.jobs.listed import DriftLine
from sweptwater.jobs.unfished import PieceLine, whereabouts
from sweptwater.jobs.wording import day_cell
from sweptwater.offers.ledger import layers_words
from sweptwater.offers.stints import NOT_TOLD
from sweptwater.paper.layers import Row, Table
from sweptwater.practice.geojson import SectorShape
from sweptwater.practice.rota import rota_days
from sweptwater.practice.settings import Settings
from sweptwater.swept.ledger import SectorLine
from sweptwater.swept.shore import VISITED, BankLine
from sweptwater.units import (
    System,
    area_text,
    compass_point,
    duration_text,
    length_text,
    share_text,
)

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
    if not report.boats and not report.remembered:
        return (*before, banks)
    recorded = (
        days_table(report, settings.units),
        pairs_table(report, settings.units),
        boats_table(report, settings),
    )
    return (
        *before,
        *(recorded if report.boats else ()),
        *memory_table(report, settings.units),
        banks,
        _drifts_table(drifts, settings.units),
    )


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
        columns("Piece>", "Area>", "Width>", "Whose", "Near"),
        tuple(rows),
        note=f"Pieces under {area_text(settings.unfished_m2, units)} are not listed."
        + (f" {more} more are on the map." if more else ""),
        beside=True,
    )


def _sectors_table(report: Covered, settings: Settings) -> Table:
    units, told = settings.units, bool(report.remembered)
    rows = [
        Row(
            (
                *_amounts(line, units, told=told),
                "-" if line.bank_left_drifts is None else f"{line.bank_left_drifts:,}",
                "-" if line.bank_left_s is None else _about_text(line.bank_left_s),
            ),
            key=f"sector-{line.sector}",
        )
        for line in report.sectors
    ]
    total = Row((*_amounts(_all_sectors(report), units, told=told), "", ""), total=True)
    return Table(
        "The sectors",
        columns(
            *("Sector", "Water>", "Fished>", *(("From memory>",) if told else ())),
            *("If casts differ>", "Once>", "Twice>", "3 or more>"),
            *("Bank>", "Bank done>", *(("Bank from memory>",) if told else ())),
            *("Drifts to do>", "Time to do>"),
        ),
        (*rows, total),
        note="With casts a quarter shorter or longer, so much would be fished. To do: "
        "what the rest of the banks would take at the pace so far, with "
        f"{duration_text(settings.boat.reset_s)} from drift to drift; - where too "
        "little of them has been fished to tell.",
    )


def _all_sectors(report: Covered) -> SectorLine:
    """Return the line of all water, in sectors or not."""
    banks = report.banks
    return SectorLine(
        sector="All",
        pair="",
        water_m2=report.water_m2,
        fished_m2=report.fished_m2,
        fished_share=report.fished_share,
        drifts_over=report.drifts_over,
        bank_m=sum(bank.length_m for bank in banks),
        bank_fished_m=sum(bank.done_m for bank in banks),
        bank_left_drifts=None,
        bank_left_s=None,
        share_if_cast=report.share_if_cast,
        remembered_m2=report.remembered_m2,
        remembered_share=report.remembered_share,
        bank_remembered_m=sum(bank.done_remembered_m for bank in banks),
    )


def _amounts(line: SectorLine, units: System, *, told: bool) -> Cells:
    """Return how much of a sector is fished; with what memory adds, if any told."""
    memory = f"+ {share_text(line.remembered_share)}"
    bank_memory = f"+ {length_text(line.bank_remembered_m, units)}"
    return (
        f"{line.sector} {line.pair}".strip(),
        area_text(line.water_m2, units),
        share_text(line.fished_share),
        *((memory,) if told else ()),
        _cast_text(line.share_if_cast),
        *(area_text(line.drifts_over[band], units) for band in ("1", "2", "3+")),
        length_text(line.bank_m, units),
        length_text(line.bank_fished_m, units),
        *((bank_memory,) if told else ()),
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


def _rota_table(sectors: Sequence[SectorShape]) -> Iterator[Table]:
    """Yield who goes where on which day, if the pairs change round."""
    days = rota_days(sectors)
    if days:
        yield Table(
            "Who goes where",
            columns("Day", *(f"Sector {sector.name}" for sector in sectors)),
            tuple(
                Row((day_cell(day), *(s.pair_on(day) or "nobody" for s in sectors)))
                for day in days
            ),
        )


def _banks_table(report: Covered, units: System) -> Table:
    told = bool(report.remembered)
    return Table(
        "The banks",
        columns(
            *("Bank", "Sector", "Length>", "Done>", "Water fished>"),
            *(("From memory>",) if told else ()),
            "Drifts over it>",
            "Last",
            *(("Layers of flies",) if layered(report) else ()),
        ),
        tuple(
            Row(
                (
                    f"{line.bank} {line.name}".strip(),
                    line.sector or "-",
                    length_text(line.length_m, units),
                    length_text(line.done_m, units),
                    share_text(line.fished_share),
                    *((f"+ {share_text(line.remembered_share)}",) if told else ()),
                    f"{line.drifts:,}",
                    last_text(line),
                    *((layers_words(line.layers),) if layered(report) else ()),
                ),
                key=f"bank-{line.bank}",
            )
            for line in report.banks
        ),
        note="Numbered from the first jetty, clockwise; then the islands. Drifts over "
        "it are those that swept more than a hundredth of its water."
        + (
            " A layer is done where flies in it were worked over half of the water."
            if layered(report)
            else ""
        ),
        folded=True,
    )


def layered(report: Covered) -> bool:
    """Tell whether the layer of any drift is known."""
    return any(
        share
        for line in report.banks
        for layer, share in line.layers.items()
        if layer != NOT_TOLD
    )


def last_text(line: BankLine) -> str:
    """Return when a bank was fished last."""
    if line.last_day:
        return day_cell(line.last_day)
    return "from memory" if line.remembered_share > VISITED else "never"


def _drifts_table(drifts: Sequence[DriftLine], units: System) -> Table:
    listed = last_drifts(drifts)
    more = len(drifts) - len(listed)
    told = any(line.source == "memory" for line in drifts)
    return Table(
        "The drifts",
        columns(
            "Drift",
            *(("Known from",) if told else ()),
            *("From>", "To>", "Length>", "Towards", "Swept>"),
            "From near",
        ),
        tuple(
            Row(
                (
                    f"{line.pair} {line.number}, {day_cell(line.day)}",
                    *((line.source,) if told else ()),
                    line.start[11:16] or "-",
                    line.end[11:16] or "-",
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
