"""A practice as the jobs use it: opened, in metres, its tracks read."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cached_property
from pathlib import Path
from typing import Protocol, TypeVar

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats
from sweptwater.errors import PracticeError
from sweptwater.practice.folder import Practice, open_practice
from sweptwater.practice.rota import day_to_come, pairs_on
from sweptwater.practice.settings import Settings
from sweptwater.water.banks import Bank, lay_banks
from sweptwater.water.depth import DepthSurface, depth_surface
from sweptwater.water.shapes import GRID_M, polygonal, valid
from sweptwater.water.venue import Venue, build_venue

ROUNDING, ROUNDING_M = 1e-6, 2e-4
"""What rounding moves: this part of the water, or this far along all of its shore."""

Item = TypeVar("Item")


class Watch(Protocol):
    """Goes through items while telling someone how far it is."""

    def __call__(self, items: Iterable[Item], label: str) -> Iterator[Item]:
        """Yield the items."""


def unwatched(items: Iterable[Item], label: str) -> Iterator[Item]:
    """Yield the items, and tell nobody."""
    yield from items


@dataclass(frozen=True)
class Opened:
    """A practice with its venue and sectors in metres.

    Parameters
    ----------
    practice, venue
        What the folder holds.
    sectors
        The fishable water of each sector that has some, by name.
    drawn
        The sectors as they stand in the folder: a zone that was closed after dividing
        may still be in them.
    """

    practice: Practice
    venue: Venue
    sectors: Mapping[str, Area]
    drawn: Mapping[str, Area]

    @property
    def settings(self) -> Settings:
        """The practice's settings."""
        return self.practice.settings

    def pairs_on(self, day: date | None = None) -> Mapping[str, str]:
        """Return the pair of each sector on a day, or on one that the rota has not."""
        return pairs_on(self.practice.sectors, day or date.min)

    def day_to_come(self, fished: Iterable[date]) -> date | None:
        """Return the rota's next day, once those were fished; None without a rota."""
        return day_to_come(self.practice.sectors, list(fished))

    def degrees(self, shape: BaseGeometry) -> BaseGeometry:
        """Return a shape in degrees, and valid there too.

        A gap of less than the last digit of a degree may close on the way.
        """
        return valid(self.venue.frame.degrees(shape))

    @cached_property
    def banks(self) -> tuple[Bank, ...]:
        """The banks of the venue."""
        return lay_banks(self.venue, self.settings.banks)

    @cached_property
    def shore_line(self) -> BaseGeometry:
        """All shore of the water, islands' too; distances to it are quick."""
        line = self.venue.water.boundary
        shapely.prepare(line)
        return line

    @cached_property
    def depths(self) -> DepthSurface | None:
        """How deep the water is; None where no sounding or contour tells."""
        return depth_surface(
            self.practice.features,
            self.venue.frame,
            self.venue.water,
            below_full_m=self.settings.depth.below_full_m,
        )

    @cached_property
    def jetty(self) -> Floats:
        """Where the boats leave from, (2,); without a jetty, a place on the shore."""
        jetties = self.venue.of_kind("jetty")
        if jetties:
            return np.array([jetties[0].easting, jetties[0].northing])
        water = self.venue.fishable
        place = shapely.shortest_line(water.boundary, water.centroid)
        return np.asarray(shapely.get_coordinates(place)[0])

    @cached_property
    def jetty_ground(self) -> Area:
        """Where a boat that lies still is at a jetty."""
        return self.venue.jetty_ground(self.settings.rules.jetty_m)


def open_folder(folder: Path) -> Opened:
    """Read a practice folder and bring its shapes to metres.

    Raises
    ------
    SweptwaterError
        If a file of it cannot be understood.
    """
    practice = open_practice(folder)
    venue = build_venue(practice.features)
    drawn: dict[str, Area] = {}
    for sector in practice.sectors:
        area = polygonal(valid(venue.frame.metres(sector.shape)))
        if sector.name in drawn:  # `check` tells of it
            area = polygonal(drawn[sector.name].union(area))
        drawn[sector.name] = area
    parts = {name: _fishable_part(venue, area) for name, area in drawn.items()}
    sectors = {name: area for name, area in parts.items() if area.area > 0}
    return Opened(practice, venue, sectors, drawn)


def rounding_m2(fishable: Area) -> float:
    """Return how much water sectors may miss, share or exceed, in m2: by rounding."""
    return max(ROUNDING * fishable.area, ROUNDING_M * fishable.length)


def check_place(file: Path) -> None:
    """Refuse to write a file to a folder that is not there: it may be misspelt.

    Raises
    ------
    PracticeError
        If there is no such folder.
    """
    if not file.parent.is_dir():
        raise PracticeError(
            f"there is no folder {file.parent} to write {file.name} to: make it first, "
            "or name another"
        )


def parse_day(text: str) -> date:
    """Return the day that a text like 2027-06-09 means.

    Raises
    ------
    PracticeError
        If it means none.
    """
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise PracticeError(f"{text!r} is no day: write it like 2027-06-09") from error


def last_day(days: Iterable[date]) -> date:
    """Return the last of the days with tracks, which a report of today is about.

    Raises
    ------
    PracticeError
        If there is none yet.
    """
    last = max(days, default=None)
    if last is None:
        raise PracticeError(
            "there are no tracks yet, so that nobody can tell of which day this is: "
            "say it, like --day 2027-06-09"
        )
    return last


def local_time(time_s: float, settings: Settings) -> datetime:
    """Return a time in the practice's zone."""
    return datetime.fromtimestamp(time_s, UTC).astimezone(settings.zone)


def _fishable_part(venue: Venue, drawn: Area) -> Area:
    """Return what of a sector is water to fish; rounding alone changes nothing."""
    beyond_m2 = drawn.difference(venue.fishable).area
    if beyond_m2 <= rounding_m2(venue.fishable):
        return drawn
    return polygonal(shapely.intersection(drawn, venue.fishable, grid_size=GRID_M))
