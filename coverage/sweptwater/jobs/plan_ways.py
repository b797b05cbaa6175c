"""What parallel drifts and a zig-zag would each buy along a bank, in this wind."""

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from sweptwater.arrays import Area
from sweptwater.jobs.planning import PairDay, Planning
from sweptwater.plan.candidates import SCRAP_M2
from sweptwater.plan.laid import swept_share
from sweptwater.plan.lay import Lay, Wish
from sweptwater.plan.planned import PlannedDrift
from sweptwater.water.shapes import polygonal


@dataclass(frozen=True, slots=True)
class Bought:
    """What drifts along a bank take, and the share of its band that they sweep."""

    drifts: int
    hours: float
    share: float


@dataclass(frozen=True, slots=True)
class BankWays:
    """Two ways to fish a bank that the wind goes along.

    A zig-zag sweeps less of the band, and its edges half as well as its middle; but it
    crosses the slope, and so finds the depth at which fish lie.
    """

    bank: int
    name: str
    parallel: Bought
    zigzag: Bought


def bank_ways(base: Planning, day: PairDay) -> tuple[BankWays, ...]:
    """Return the two ways for each bank of a day along which the wind goes."""
    along = {s.drift.bank for s in day.plan.stops if s.drift.pattern == "parallel"}
    found = []
    for bank in base.opened.banks:
        if bank.number not in along:
            continue
        band = polygonal(shapely.intersection(bank.band, day.sector))
        if band.area < SCRAP_M2:
            continue
        parallel, zigzag = (_bought(day.lay, bank.number, band, way) for way in _WAYS)
        if parallel.drifts and zigzag.drifts:
            found.append(BankWays(bank.number, bank.name, parallel, zigzag))
    return tuple(found)


_WAYS: tuple[Wish, Wish] = ("parallel", "zigzag")


def _bought(lay: Lay, number: int, band: Area, wish: Wish) -> Bought:
    drifts = lay.bank(number, band, wish)
    return Bought(len(drifts), _hours(lay, drifts), swept_share(lay, band, drifts))


def _hours(lay: Lay, drifts: Sequence[PlannedDrift]) -> float:
    drifting_s = sum(drift.length_m for drift in drifts) / lay.speed_m_s
    return (drifting_s + len(drifts) * lay.settings.boat.reset_s) / 3600
