"""The cuts between sectors as they are told: numbered, each end with its letter."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString

from sweptwater.arrays import Area
from sweptwater.errors import SectorError
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.places import OPEN_WATER, EndPlace, end_text
from sweptwater.water.sectors import find_cuts

BESIDE_M = 0.05
"""A sector so near to the middle of a cut lies beside it."""

END = re.compile(r"\s*(\d{1,4})\s*([abAB])\s*")
POSITION = re.compile(r"\s*(-?\d+(?:\.\d*)?)\s*[, ]\s*(-?\d+(?:\.\d*)?)\s*")


@dataclass(frozen=True, slots=True)
class CutLine:
    """One cut; its length over water in metres, and the two sectors that it parts.

    Its ends lie on the bank, on an island or a zone, or, seldom, where cuts meet.
    """

    number: int
    between: tuple[str, ...]
    from_: EndPlace
    to: EndPlace
    length_m: float


@dataclass(frozen=True, slots=True)
class Move:
    """Which end of which cut is to move where."""

    cut: int
    end: int
    to_xy: tuple[float, float]


def told_cuts(sectors: Sequence[Area]) -> tuple[LineString, ...]:
    """Return the cuts in the order of their numbers, from the northern end of each.

    The same sectors have the same cuts, made just now or read from the folder.
    """
    return tuple(_from_north(cut) for cut in find_cuts(sectors))


def cut_lines(opened: Opened, sectors: Mapping[str, Area]) -> tuple[CutLine, ...]:
    """Return a line for each cut between sectors in metres, by their names."""
    cuts = told_cuts(list(sectors.values()))
    return tuple(
        CutLine(
            number,
            _between(cut, sectors),
            _end(opened, cuts, cut.coords[0]),
            _end(opened, cuts, cut.coords[-1]),
            cut.length,
        )
        for number, cut in enumerate(cuts, 1)
    )


def parse_move(opened: Opened, end: str, to: str) -> Move:
    """Return what is meant by an end like 1a and a place: a mark, or lat,lon.

    Raises
    ------
    SectorError
        If there is no such end or mark.
    """
    told = END.fullmatch(end)
    if told is None:
        raise SectorError(
            f"{end!r} is no end of a cut: write its number and its letter, like 1a for "
            "the first end of cut 1"
        )
    return Move(int(told[1]), "ab".index(told[2].lower()), _position(opened, to))


def _position(opened: Opened, to: str) -> tuple[float, float]:
    if told := POSITION.fullmatch(to):
        lat, lon = float(told[1]), float(told[2])
        return _on_the_water(opened, lat, lon)
    named = [p for p in opened.venue.places if p.name]
    wanted = to.strip().casefold()
    meant = [p for p in named if p.name.casefold() == wanted]
    meant = meant or [p for p in named if wanted and wanted in p.name.casefold()]
    if len(meant) == 1:
        return meant[0].easting, meant[0].northing
    names = ", ".join(sorted(p.name for p in meant or named))
    if meant:
        raise SectorError(f"{to!r} may be any of {names}: write the whole name")
    known = f"the places are {names}" if names else "the venue has no named place yet"
    raise SectorError(
        f"there is no place {to!r}: write its latitude and longitude, like "
        f"54.8512,2.3001, or name a mark or a jetty ({known})"
    )


def _on_the_water(opened: Opened, lat: float, lon: float) -> tuple[float, float]:
    """Return a position in metres, if it is anywhere near the water."""
    if abs(lat) <= 90 and abs(lon) <= 180:
        easting, northing = opened.venue.frame.to_metres(lon, lat)
        x, y = float(easting), float(northing)
        west, south, east, north = opened.venue.water.bounds
        wide = max(east - west, north - south)
        if np.isfinite([x, y]).all() and (
            opened.venue.water.dwithin(shapely.Point(x, y), wide)
        ):
            return x, y
    raise SectorError(
        f"{lat:g},{lon:g} is far from the water: write the latitude first, then the "
        "longitude"
    )


def _from_north(cut: LineString) -> LineString:
    (first_x, first_y), (last_x, last_y) = cut.coords[0], cut.coords[-1]
    southern = (round(first_y, 1), -first_x) < (round(last_y, 1), -last_x)
    return cut.reverse() if southern else cut


def _end(opened: Opened, cuts: Sequence[LineString], xy: tuple[float, ...]) -> EndPlace:
    """Return where an end is; in open water, with the cuts that meet there."""
    place = end_text(opened, xy[0], xy[1])
    point = shapely.Point(xy)
    meeting = [str(n) for n, cut in enumerate(cuts, 1) if cut.dwithin(point, BESIDE_M)]
    if place.shore != OPEN_WATER or len(meeting) < 2:
        return place
    numbers = f"{', '.join(meeting[:-1])} and {meeting[-1]}"
    return replace(place, shore=f"{OPEN_WATER} where cuts {numbers} meet")


def _between(cut: LineString, sectors: Mapping[str, Area]) -> tuple[str, ...]:
    middle = cut.interpolate(0.5, normalized=True)
    return tuple(n for n, shape in sectors.items() if shape.dwithin(middle, BESIDE_M))
