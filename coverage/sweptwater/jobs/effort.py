"""What sectors ask of their pairs: shore, and hours to cover them once."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import isfinite
from typing import Literal, TypeAlias

import numpy as np
import shapely

from sweptwater.arrays import Area
from sweptwater.jobs.opened import Opened
from sweptwater.offers.wind import Wind
from sweptwater.plan.leeway import published
from sweptwater.plan.work import (
    USUAL_WIND_M_S,
    Pace,
    cover_once_s,
    days_for,
    with_runs_s,
)
from sweptwater.practice.geojson import SectorShape
from sweptwater.swept.ledger import BankPieces
from sweptwater.water.banks import boat_band, near_water
from sweptwater.water.grains import Grains, area_grains, piece_grains
from sweptwater.water.overlap import Overlay
from sweptwater.water.shapes import polygonal
from sweptwater.water.ways import Ways

By: TypeAlias = Literal["area", "bank", "hours"]

SHARED: dict[By, str] = {"area": "water", "bank": "shore", "hours": "hours"}
"""What is shared out, in a word."""


@dataclass(frozen=True, slots=True)
class SectorShare:
    """One sector: whose it is, and its share of the fishable water.

    Parameters
    ----------
    bank_m
        The length of its shore.
    hours
        To cover it once in a usual wind, runs to and from it included; None where a
        day is not long enough to come there and back.
    days_to_cover
        How many days afloat that makes.
    """

    sector: str
    pair: str
    water_m2: float
    share: float
    bank_m: float
    hours: float | None
    days_to_cover: int | None


class Effort:
    """What any part of a practice's water asks of a pair.

    Parameters
    ----------
    opened
        The practice.
    wind_m_s
        The wind to reckon with, its direction not being known.
    """

    def __init__(self, opened: Opened, wind_m_s: float = USUAL_WIND_M_S) -> None:
        self._opened = opened
        settings = opened.settings
        speed_m_s = published(settings.boat.drogue).speed_m_s(Wind(0.0, wind_m_s))
        self._pace = Pace(speed_m_s, settings.banks, settings.boat, settings.plan)

    def weight(self, part: Area, by: By) -> float:
        """Return what is shared out of a part: square metres, metres or seconds.

        Reckoned by grains, so that it can be asked often.
        """
        if by == "area":
            return float(part.area)
        if by == "bank":
            return self._shore.within(part)
        return self._hours_s(
            part, self._band_grains.within(part), self._open_grains.within(part)
        )

    def days(self, time_s: float) -> int | None:
        """Return how many days afloat some time makes; None if it never ends."""
        return days_for(time_s, self._opened.settings.day)

    def hours_s(self, part: Area) -> float:
        """Return the time to cover a part once, runs to and from it included."""
        return self._hours_s(
            part,
            float(Overlay(self._band).areas_m2([part])[0]),
            float(Overlay(self._open).areas_m2([part])[0]),
        )

    def _hours_s(self, part: Area, band_m2: float, open_m2: float) -> float:
        settings = self._opened.settings
        work_s = cover_once_s(band_m2, open_m2, self._pace)
        return with_runs_s(work_s, self._run_m(part), settings.day, settings.boat)

    def _run_m(self, part: Area) -> float:
        """Return the way by water from the nearest jetty to the middle of a part."""
        jetties = self._opened.venue.of_kind("jetty")
        if not jetties or part.is_empty:
            return 0.0
        middle = part.centroid
        if not part.intersects(middle):
            middle = shapely.shortest_line(middle, part).interpolate(1, normalized=True)
        places = [(jetty.easting, jetty.northing) for jetty in jetties]
        run_m = float(self._ways.lengths_m(places, [(middle.x, middle.y)]).min())
        return run_m if np.isfinite(run_m) else 0.0

    @cached_property
    def _band(self) -> Area:
        return boat_band(self._opened.venue, self._opened.settings.banks)

    @cached_property
    def _open(self) -> Area:
        venue, banks = self._opened.venue, self._opened.settings.banks
        near = near_water(venue, max(banks.water_m, banks.boat_far_m))
        return polygonal(venue.fishable.difference(near))

    @cached_property
    def _band_grains(self) -> Grains:
        return area_grains(self._band)

    @cached_property
    def _open_grains(self) -> Grains:
        return area_grains(self._open)

    @cached_property
    def _shore(self) -> Grains:
        banks = self._opened.banks
        pieces = [piece for bank in banks for piece in bank.piece_water]
        return piece_grains(pieces, np.concatenate([bank.piece_m for bank in banks]))

    @cached_property
    def _ways(self) -> Ways:
        return Ways(self._opened.venue.water, self._opened.venue.out_of_bounds)


def sector_share(
    effort: Effort,
    sector: SectorShape,
    area: Area,
    total_m2: float,
    pieces: BankPieces,
) -> SectorShare:
    """Return what one sector has of the water, and what it asks of its pair."""
    time_s = effort.hours_s(area)
    return SectorShare(
        sector=sector.name,
        pair=sector.pair,
        water_m2=area.area,
        share=area.area / total_m2,
        bank_m=float(pieces.piece_m[pieces.lie_in(sector.name)].sum()),
        hours=time_s / 3600 if isfinite(time_s) else None,
        days_to_cover=effort.days(time_s),
    )


def off_sentences(
    names: list[str], got: list[float], wanted: list[float], by: By, near: float
) -> Iterator[str]:
    """Yield which sectors have not the share that was asked, and by how much.

    Examples
    --------
    >>> list(off_sentences(["A", "B"], [45, 55], [1, 1], "hours", 0.02))[0]
    'Sector A has 45.0 % of the hours, not 50.0 %: this water allows no nearer cuts.'
    """
    for name, part, share in zip(names, got, wanted, strict=True):
        has, asked = part / sum(got), share / sum(wanted)
        if abs(has / asked - 1) > near:
            yield (
                f"Sector {name} has {100 * has:.1f} % of the {SHARED[by]}, not "
                f"{100 * asked:.1f} %: this water allows no nearer cuts."
            )
