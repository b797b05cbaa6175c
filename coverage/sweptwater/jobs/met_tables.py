"""What the boats met, in tables: rates, the ledger of layers by light, loose offers."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from sweptwater.jobs.boat_tables import columns
from sweptwater.jobs.met_sight import LedgerRow, LooseOffers, Met
from sweptwater.jobs.met_words import (
    by_title,
    counts_words,
    row_label,
)
from sweptwater.offers.grouping import UNKNOWN
from sweptwater.offers.stints import NOT_TOLD
from sweptwater.offers.table import RateRow
from sweptwater.paper.intervals import hours_text, rate_text
from sweptwater.paper.layers import Column, Row, Table
from sweptwater.units import share_text

MOST_ROWS = 14
"""Longer tables show their rows when asked for them."""

NOTHING = "\u2013"


def met_tables(met: Met) -> Iterator[Table]:
    """Yield all tables of the page."""
    for by, rows in met.tables.items():
        if with_hours(rows):
            yield rates_table(by, rows)
    if met.ledger:
        lights, layers = (
            _in_order(
                [row.by[by] for row in met.tables.get(by, ())],
                [row.light if by == "sky" else row.layer for row in met.ledger],
            )
            for by in ("sky", "layer")
        )
        yield layers_table(met.ledger, lights, layers)
        yield ledger_table(met.ledger, lights)
    if met.loose:
        yield loose_table(met.loose)


def rates_table(by: str, rows: Sequence[RateRow]) -> Table:
    """Return rates with what they rest on; sectors are found on the map."""
    head = columns(
        by_title(by).removeprefix("By ").capitalize(),
        *("Offers>", "Rod-hours>", "Drifts>", "An hour>", "Range>"),
        *("How sure>", "Rod-hours not told>"),
    )
    shown = with_hours(rows)
    passing = len(rows) - len(shown)
    return Table(
        f"{by_title(by)}: figures",
        head,
        tuple(Row(tuple(_rate_cells(row)), key=_row_key(by, row)) for row in shown),
        note=f"Not listed: {passing} that boats only drifted over the edge of."
        if passing
        else "",
        folded=len(shown) > MOST_ROWS,
    )


def with_hours(rows: Sequence[RateRow]) -> list[RateRow]:
    """Return the rows that drifts belong to, told or not.

    A drift counts where most of it was: other rows have minutes, and no drifts. Where
    the one row there is is of what nobody knows, there is nothing to show.
    """
    known = [row for row in rows if row.rod_hours > 0 or row.untold_rod_hours > 0]
    if len(known) == 1 and set(UNKNOWN) & set(known[0].by.values()):
        return []
    return known


def layers_table(
    ledger: Sequence[LedgerRow], lights: Sequence[str], layers: Sequence[str]
) -> Table:
    """Return the rod-hours of all banks together, layers by light."""
    return Table(
        "Which layers in which light, rod-hours",
        (
            Column("Flies at"),
            *(Column(_light_head(light), numeric=True) for light in lights),
        ),
        tuple(
            Row(
                (
                    layer,
                    *(
                        _hours_cell(
                            sum(
                                row.rod_hours
                                for row in ledger
                                if (row.layer, row.light) == (layer, light)
                            )
                        )
                        for light in lights
                    ),
                )
            )
            for layer in layers
        ),
        note="All banks together, told or blank or not told: what was fished at all. "
        "Where there is a dash, nobody has searched so.",
    )


def ledger_table(ledger: Sequence[LedgerRow], lights: Sequence[str]) -> Table:
    """Return for each bank and layer the rod-hours and drifts in each light."""
    rows = [
        Row(
            (
                name or f"bank {bank}",
                sector,
                layer,
                *(_ledger_cell(found.get(light)) for light in lights),
            )
        )
        for (bank, name, sector, layer), found in _by_bank(ledger)
    ]
    return Table(
        "Bank by bank: layers by light",
        (
            *(Column(title) for title in ("Bank", "Sector", "Flies at")),
            *(Column(_light_head(light), numeric=True) for light in lights),
        ),
        tuple(rows),
        note="Rod-hours, drifts, and the share of the bank's water swept so.",
        folded=True,
    )


def loose_table(loose: Sequence[LooseOffers]) -> Table:
    """Return the offers of which nobody told the drift."""
    return Table(
        "Told of no one drift",
        columns("Offers", "What was said"),
        tuple(Row((counts_words(one.counts), one.text)) for one in loose),
        note="Kept as it was told, and hatched on the map where it may have been.",
    )


def _rate_cells(row: RateRow) -> Iterator[str]:
    yield row_label(row)
    yield f"{row.offers:,}"
    yield hours_text(row.rod_hours)
    yield f"{row.drifts:,}"
    if row.rate is None or row.low is None or row.high is None:
        yield from (NOTHING, NOTHING, NOT_TOLD if row.untold_rod_hours else NOTHING)
    else:
        yield rate_text(row.rate)
        yield f"{rate_text(row.low)} to {rate_text(row.high)}"
        yield f"{row.verdict}: {row.direction}" if row.direction else row.verdict
    yield _hours_cell(row.untold_rod_hours)


def _row_key(by: str, row: RateRow) -> str:
    return f"sector-{row.by['sector']}" if by == "sector" else ""


def _hours_cell(hours: float) -> str:
    return hours_text(hours) if hours > 0 else NOTHING


def _ledger_cell(row: LedgerRow | None) -> str:
    if row is None:
        return NOTHING
    return f"{hours_text(row.rod_hours)} h, {row.drifts}, {share_text(row.share)}"


def _light_head(light: str) -> str:
    return "Light not told" if light == NOT_TOLD else light.capitalize()


def _in_order(known: Sequence[str], found: Sequence[str]) -> list[str]:
    """Return what was found, as the rates have it, with what was not told last."""
    once = dict.fromkeys((*known, *found))
    return sorted(
        (text for text in once if text in set(found)),
        key=lambda text: text == NOT_TOLD,
    )


def _by_bank(
    ledger: Sequence[LedgerRow],
) -> Iterator[tuple[tuple[int, str, str, str], dict[str, LedgerRow]]]:
    """Yield each bank and layer, as they come, with its rows by their light."""

    def whose(row: LedgerRow) -> tuple[int, str, str, str]:
        return row.bank, row.name, row.sector, row.layer

    places = {key: place for place, key in enumerate(dict.fromkeys(map(whose, ledger)))}
    for key, rows in groupby(
        sorted(ledger, key=lambda row: places[whose(row)]), key=whose
    ):
        yield key, {row.light: row for row in rows}
