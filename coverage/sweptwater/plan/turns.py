"""When the wind turns: what a pair could drift then, wind by wind."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats
from sweptwater.offers.wind import Wind
from sweptwater.plan.candidates import SCRAP_M2
from sweptwater.plan.lay import Lay
from sweptwater.plan.legs import motoring_s
from sweptwater.plan.planned import PlannedDrift
from sweptwater.water.shapes import polygonal
from sweptwater.water.ways import Ways

DRIFTED = 0.5
"""A bank can be drifted if drifts lie over so much of its band."""

EIGHT_DEG = tuple(45.0 * k for k in range(8))


@dataclass(frozen=True, slots=True)
class Turn:
    """What a pair could do in one wind; metres and seconds.

    Parameters
    ----------
    wind
        As strong as the one that was planned for.
    along, across
        The numbers of the banks along which the wind blows, and of those that it blows
        on to or off, as far as they can be drifted.
    longest_m, longest_s
        The longest drift along a bank, and what it takes.
    home_s
        What the run home takes from the end of a drift that is furthest from it.
    """

    wind: Wind
    along: tuple[int, ...]
    across: tuple[int, ...]
    longest_m: float
    longest_s: float
    home_s: float


def wind_turns(
    lay_in: Callable[[Wind], Lay],
    sector: Area,
    bands: Mapping[int, Area],
    ways: Ways,
    jetty: Floats,
    speed_m_s: float,
) -> tuple[Turn, ...]:
    """Return what a pair could do along its banks in each of eight winds.

    Parameters
    ----------
    lay_in
        How drifts are laid in a wind.
    sector, bands
        The pair's water, and the band of each bank by its number.
    ways, jetty
        The water that it runs over, and where it runs home to.
    speed_m_s
        The wind's.
    """
    mine = {
        number: polygonal(shapely.intersection(band, sector))
        for number, band in bands.items()
    }
    mine = {number: band for number, band in mine.items() if band.area >= SCRAP_M2}
    return tuple(
        _turn(lay_in(Wind(from_deg, speed_m_s)), mine, ways, jetty)
        for from_deg in EIGHT_DEG
    )


def _turn(lay: Lay, bands: Mapping[int, Area], ways: Ways, jetty: Floats) -> Turn:
    along: list[int] = []
    across: list[int] = []
    all_drifts: list[PlannedDrift] = []
    for number, band in bands.items():
        drifts = lay.bank(number, band, "auto")
        over_m2 = sum(d.length_m for d in drifts) * lay.settings.plan.apart_m
        if over_m2 < DRIFTED * band.area:
            continue
        all_drifts += drifts
        is_along = any(drift.pattern == "parallel" for drift in drifts)
        (along if is_along else across).append(number)
    longest_m = max((drift.length_m for drift in all_drifts), default=0.0)
    return Turn(
        lay.wind,
        tuple(along),
        tuple(across),
        longest_m,
        longest_m / lay.speed_m_s,
        _home_s(all_drifts, lay, ways, jetty),
    )


def _home_s(drifts: list[PlannedDrift], lay: Lay, ways: Ways, jetty: Floats) -> float:
    if not drifts:
        return 0.0
    ends = np.array([drift.places[-1] for drift in drifts])
    # The furthest few as the crow flies are enough to find the longest way.
    far = np.argsort(-np.hypot(*(ends - jetty).T))[:12]
    ways_m = ways.lengths_m(ends[far], jetty[None])[:, 0]
    step = jetty - ends[far]
    bearing = np.degrees(np.arctan2(step[:, 0], step[:, 1]))
    home_s = motoring_s(ways_m, bearing, lay.wind, lay.settings.boat)
    return float(home_s[np.isfinite(home_s)].max(initial=0.0))
