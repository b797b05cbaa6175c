"""From the figures of what was met to what its page shows, and the page itself."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

import numpy as np
import shapely

from sweptwater.arrays import Area
from sweptwater.jobs.met_page import page_of
from sweptwater.jobs.met_sight import LedgerRow, LooseOffers, Met, PlacedOffers, Untold
from sweptwater.jobs.rates import MetSight
from sweptwater.jobs.saved import Saved, save
from sweptwater.jobs.searched import fished_in
from sweptwater.jobs.wording import day_text
from sweptwater.offers.flies import layer_names
from sweptwater.offers.ledger import layer_shares
from sweptwater.offers.places import offer_places
from sweptwater.offers.rate_areas import rate_areas
from sweptwater.offers.rate_map import BANDWIDTH_M, Spots, joined, spread
from sweptwater.offers.stints import NOT_TOLD, Loose, Stint
from sweptwater.paper.looks import RateClass
from sweptwater.water.shapes import GRID_M, polygonal

PAGE = "met"

_CLASSES: Mapping[tuple[str, bool], RateClass] = {
    ("above", True): "surely more",
    ("above", False): "more",
    ("about", False): "about",
    ("below", False): "fewer",
    ("below", True): "surely fewer",
}


def save_page(sight: MetSight) -> Saved:
    """Write the page of what was met, and return where it is.

    Raises
    ------
    PracticeError
        If the folder cannot be written to.
    """
    report, opened = sight.report, sight.opened
    only = (report.day.isoformat() if report.day else "", report.pair or "")
    name = "-".join([PAGE, *filter(None, only)])
    return save(opened.practice.folder, name, page_of(shown(sight), opened))


def shown(sight: MetSight) -> Met:
    """Return what the page of what was met shows."""
    report = sight.report
    told = [stint for stint in sight.stints if stint.told and stint.match]
    return Met(
        practice=report.practice,
        days=tuple(sorted({stint.day for stint in sight.stints})),
        mean=report.rate,
        offers=report.offers,
        rod_hours=report.rod_hours,
        drifts=len({(stint.day, stint.pair, stint.drift) for stint in told}),
        untold_rod_hours=report.untold_rod_hours,
        tables={",".join(by): report.table(by) for by in report.by},
        comparisons=report.comparisons,
        widen=report.widen,
        layer_unsure_share=report.layer_unsure_share,
        untold=tuple(_untold(sight.stints)),
        ledger=tuple(_ledger(sight)),
        loose=tuple(_loose(sight, one) for one in sight.loose),
        questions=report.questions,
        areas=_areas(sight),
        placed=tuple(_placed(told)),
        smoothed_m=BANDWIDTH_M,
    )


def _untold(stints: Sequence[Stint]) -> Iterator[Untold]:
    """Yield what nobody has told: what both rods of a boat have not, together."""
    silent: defaultdict[tuple[date, str], dict[int, list[Stint]]] = defaultdict(dict)
    rods: defaultdict[tuple[date, str], set[str]] = defaultdict(set)
    for stint in stints:
        rods[stint.day, stint.pair].add(stint.rod)
        if not stint.told and stint.hours > 0:
            drifts = silent[stint.day, stint.pair]
            drifts.setdefault(stint.drift, []).append(stint)
    for (day, pair), drifts in silent.items():
        by_rod: defaultdict[str, list[Stint]] = defaultdict(list)
        for missed in drifts.values():
            everyone = len(missed) == len(rods[day, pair])
            for stint in missed:
                by_rod["" if everyone else stint.rod].append(stint)
        for rod, missed in by_rod.items():
            numbers = tuple(sorted({stint.drift for stint in missed}))
            yield Untold(day, pair, rod, numbers, sum(one.hours for one in missed))


def _ledger(sight: MetSight) -> Iterator[LedgerRow]:
    opened, banks = sight.opened, {bank.title: bank for bank in sight.opened.banks}
    how = fished_in(opened, sight.stints, sight.pieces)
    nothing = (frozenset([NOT_TOLD]), NOT_TOLD)
    shares = layer_shares(
        [bank.water for bank in banks.values()],
        [one.swept for one in sight.drifts],
        [
            how.get((one.day, one.pair, one.drift.start_s), nothing)
            for one in sight.drifts
        ],
        layer_names(opened.settings.tackle, opened.settings.units),
    )
    share_of = {
        (title, share.layer, sky): part
        for title, of_bank in zip(banks, shares, strict=True)
        for share in of_bank
        for sky, part in share.by_sky.items()
    }
    sectors = sight.bank_sectors
    for row in sight.report.ledger:
        if bank := banks.get(row.bank):
            yield LedgerRow(
                bank=bank.number,
                name=bank.told,
                sector=sectors.get(bank.number) or "",
                layer=row.layer,
                light=row.sky,
                rod_hours=row.rod_hours,
                drifts=row.drifts,
                share=share_of.get((row.bank, row.layer, row.sky), 0.0),
            )


def _loose(sight: MetSight, one: Loose) -> LooseOffers:
    swept = [
        drift.swept
        for drift in sight.drifts
        if (drift.day, drift.pair) == (one.day, one.pair) and drift.number in one.drifts
    ]
    area = polygonal(shapely.union_all(swept, grid_size=GRID_M)) if swept else None
    who = " ".join(filter(None, (one.pair, one.rod)))
    return LooseOffers(one.counts, f"{who}, {day_text(one.day)}: {one.text}", area)


def _areas(sight: MetSight) -> Mapping[RateClass, Area]:
    """Return the water by its rate; none where nothing was met yet."""
    mean = sight.report.rate
    if not mean:
        return {}
    offers, effort = spots_of(sight)
    areas = rate_areas(
        offers,
        effort,
        sight.opened.venue.fishable,
        mean=mean,
        factor=sight.clusters.factor,
    )
    return {_CLASSES[area.kind, area.sure]: area.shape for area in areas}


def spots_of(sight: MetSight) -> tuple[Spots, Spots]:
    """Return where offers came and rod-hours were spent, of what was told.

    Offers of which only the drift is known are spread along it.
    """
    effort, offers = list[Spots](), list[Spots]()
    by_stint = dict(list(sight.pieces.groupby("stint")))
    for number, stint in enumerate(sight.stints):
        if not stint.told or not stint.match or number not in by_stint:
            continue
        rows = by_stint[number]
        columns = (rows[name].to_numpy() for name in ("easting", "northing", "hours"))
        spots = Spots(*columns)
        effort.append(spots)
        placed = sum(one.counts.offers for one in stint.placed)
        offers.append(
            Spots(
                np.array([one.easting for one in stint.placed]),
                np.array([one.northing for one in stint.placed]),
                np.array([float(one.counts.offers) for one in stint.placed]),
            )
        )
        if left := stint.counts.offers - placed:
            offers.append(spread(left, spots))
    return joined(*offers), joined(*effort)


def _placed(told: Sequence[Stint]) -> Iterator[PlacedOffers]:
    for one in offer_places(told):
        stint = one.stint
        who = f"{stint.pair} {stint.rod}, {day_text(stint.day)}, drift {stint.drift}"
        yield PlacedOffers(one.counts, one.easting, one.northing, who, sure=one.exact)
