"""What the boats met: offers a rod-hour by circumstances, and what they can bear."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pandas as pd

from sweptwater.jobs.boats import read_boat_days
from sweptwater.jobs.check import quick_faults
from sweptwater.jobs.circumstances import layer_unsure_share, tellings
from sweptwater.jobs.clustered import clusters_in
from sweptwater.jobs.discreet import without_file_names
from sweptwater.jobs.met import met_on
from sweptwater.jobs.note import read_noted
from sweptwater.jobs.numbering import Numbered, numbered_drifts
from sweptwater.jobs.opened import Opened, Watch, open_folder, parse_day, unwatched
from sweptwater.jobs.recall import recall
from sweptwater.jobs.sight import chosen_boats
from sweptwater.offers.clusters import Clusters
from sweptwater.offers.compare import RULE
from sweptwater.offers.effort import cut_pieces, parse_by
from sweptwater.offers.grouping import Group, groups, total
from sweptwater.offers.judging import Against, judge
from sweptwater.offers.ledger import LedgerRow, ledger_rows
from sweptwater.offers.rates import rate_of
from sweptwater.offers.stints import Loose, Stint
from sweptwater.offers.table import RateRow
from sweptwater.swept.ledger import assign_banks

PAGE_BY = (("sector",), ("sky",), ("layer",), ("layer", "sky"), ("depth",))
"""What rates are told by where nothing else was asked for."""


@dataclass(frozen=True, slots=True)
class LooseLine:
    """Offers of which nobody told the drift."""

    day: date
    pair: str
    offers: int
    text: str
    drifts: tuple[int, ...]
    """The numbers of the drifts that they may belong to."""


@dataclass(frozen=True, slots=True)
class WhatWeMet:
    """Offers a rod-hour, with the range that holds the truth 95 times in 100.

    Parameters
    ----------
    by
        What each table tells apart.
    rows
        The rows of all tables, one table after the other.
    offers, rod_hours
        Of all drifts that were told.
    rate, low, high
        What that comes to; None where nothing was told.
    untold_rod_hours
        Fished, but nobody told what happened.
    comparisons
        How many were made: the verdicts allow for it.
    rule
        What the verdicts mean.
    widen
        How many times as wide the ranges are because offers come in clusters.
    layer_unsure_share
        In what part of the rod-hours whose layer is known its doubt reaches another.
    ledger
        Bank by bank, layer by light: what was searched.
    loose
        Offers that count in no row, since nobody told the drift.
    questions
        What the pairs should be asked.
    """

    practice: str
    day: date | None
    pair: str | None
    by: tuple[tuple[str, ...], ...]
    rows: tuple[RateRow, ...]
    offers: int
    rod_hours: float
    rate: float | None
    low: float | None
    high: float | None
    untold_rod_hours: float
    comparisons: int
    rule: str
    widen: float
    layer_unsure_share: float | None
    ledger: tuple[LedgerRow, ...]
    loose: tuple[LooseLine, ...]
    questions: tuple[str, ...]
    faults: tuple[str, ...]

    def table(self, by: Sequence[str]) -> tuple[RateRow, ...]:
        """Return the rows of one table."""
        return tuple(row for row in self.rows if tuple(row.by) == tuple(by))


@dataclass(frozen=True)
class MetSight:
    """All that a page of what was met shows.

    Parameters
    ----------
    drifts
        The drifts by their numbers, with what each swept.
    stints, loose, pieces
        What was told, and the effort in minutes.
    report
        The figures.
    clusters
        How clustered the offers are.
    """

    opened: Opened
    drifts: tuple[Numbered, ...]
    stints: tuple[Stint, ...]
    loose: tuple[Loose, ...]
    pieces: pd.DataFrame
    clusters: Clusters
    report: WhatWeMet

    @property
    def bank_sectors(self) -> Mapping[int, str | None]:
        """The sector that each bank lies in, by the bank's number."""
        pieces = assign_banks(self.opened.banks, self.opened.sectors)
        numbers = (bank.number for bank in pieces.banks)
        return dict(zip(numbers, pieces.bank_sector, strict=True))


def look_at_offers(
    folder: Path,
    *,
    by: Sequence[str] = (),
    day: str | None = None,
    pair: str | None = None,
    watch: Watch = unwatched,
) -> MetSight:
    """Return what the boats met, of all boat-days or of some.

    Parameters
    ----------
    by
        Tables to make, each of one circumstance or of two parted by a comma; else those
        of PAGE_BY.

    Raises
    ------
    SweptwaterError
        If the folder, the day, the pair or a circumstance is unusable.
    """
    tables = tuple(parse_by(text) for text in by) or PAGE_BY
    opened = open_folder(folder)
    wanted = (
        parse_day(day) if day else None,
        opened.settings.pair_named(pair) if pair else None,
    )
    boats = read_boat_days(opened, opened.practice.originals, watch=watch)
    memory = recall(opened, boats.days)
    chosen_boats(boats.days, *wanted, told=memory.days)  # refuses a day of nobody
    drifts = numbered_drifts(boats.days, memory.days)
    met, noted = met_on(opened, drifts, all_rows=True), read_noted(opened)
    drifts = tuple(one for one in drifts if _is_of(one, *wanted))
    stints = tuple(stint for stint in met.stints if _is_of(stint, *wanted))
    loose = tuple(one for one in met.loose if _is_of(one, *wanted))
    pieces = cut_pieces(stints, tellings(opened, noted))
    clusters = clusters_in(stints, pieces)
    report = _report(
        _Asked(opened, wanted, tables),
        stints,
        loose,
        pieces,
        clusters,
        questions=met.questions,
        faults=(
            *without_file_names(boats.faults, opened.practice.originals),
            *quick_faults(opened),
            *map(str, (*memory.faults, *noted.faults, *met.faults)),
        ),
    )
    return MetSight(opened, drifts, stints, loose, pieces, clusters, report)


def _is_of(one: Stint | Loose | Numbered, day: date | None, pair: str | None) -> bool:
    return (day is None or one.day == day) and (pair is None or one.pair == pair)


@dataclass(frozen=True, slots=True)
class _Asked:
    opened: Opened
    wanted: tuple[date | None, str | None]
    tables: tuple[tuple[str, ...], ...]


def _report(
    asked: _Asked,
    stints: Sequence[Stint],
    loose: Sequence[Loose],
    pieces: pd.DataFrame,
    clusters: Clusters,
    *,
    questions: tuple[str, ...],
    faults: tuple[str, ...],
) -> WhatWeMet:
    offers, hours = total(stints, loose)
    whole = rate_of(offers, hours, widen=clusters.widen)
    told = [groups(stints, pieces, by, loose)[0] for by in asked.tables]
    judged, comparisons = judge(told, clusters.factor)
    rows = [
        _row(stints, group, against, _mean(offers, hours), clusters.widen)
        for table, holds in zip(told, judged, strict=True)
        for group, against in zip(table, holds, strict=True)
    ]
    return WhatWeMet(
        practice=asked.opened.settings.name,
        day=asked.wanted[0],
        pair=asked.wanted[1],
        by=asked.tables,
        rows=tuple(rows),
        offers=offers,
        rod_hours=hours,
        rate=_known(whole.rate, hours),
        low=_known(whole.low, hours),
        high=_known(whole.high, hours),
        untold_rod_hours=sum(
            stint.hours for stint in stints if stint.match and not stint.told
        ),
        comparisons=comparisons,
        rule=RULE,
        widen=clusters.widen,
        layer_unsure_share=layer_unsure_share(asked.opened, stints),
        ledger=ledger_rows(stints, pieces),
        loose=tuple(
            LooseLine(one.day, one.pair, one.counts.offers, one.text, one.drifts)
            for one in loose
        ),
        questions=questions,
        faults=faults,
    )


def _mean(offers: int, hours: float) -> float | None:
    return offers / hours if hours > 0 else None


def _row(
    stints: Sequence[Stint],
    group: Group,
    against: Against,
    mean: float | None,
    widen: float,
) -> RateRow:
    rate = rate_of(group.offers, group.hours, mean=mean, widen=widen)
    hours, held = group.hours, against.held
    return RateRow(
        by=group.by,
        offers=group.offers,
        rod_hours=hours,
        drifts=len(
            {(stints[n].day, stints[n].pair, stints[n].drift) for n in group.told}
        ),
        rate=_known(rate.rate, hours),
        low=_known(rate.low, hours),
        high=_known(rate.high, hours),
        exact_low=_known(rate.exact_low, hours),
        exact_high=_known(rate.exact_high, hours),
        verdict=held.verdict if held else "too little to tell",
        direction=held.direction if held else "",
        untold_rod_hours=group.untold_hours,
        fished_rod_hours=group.fished_hours,
        against_offers=against.offers,
        against_rod_hours=against.hours,
    )


def _known(value: float, hours: float) -> float | None:
    return value if hours > 0 else None
