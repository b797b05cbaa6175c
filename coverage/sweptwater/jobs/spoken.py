"""Places as people name them, and where a boat was that fished there."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np
import shapely
from shapely import Point
from shapely.ops import nearest_points

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError
from sweptwater.jobs.bank_words import named_middles
from sweptwater.jobs.cuts import POSITION
from sweptwater.jobs.opened import Opened
from sweptwater.units import YARD_M, length_text

OUT_M = 20 * YARD_M
"""A boat that drifts along a bank keeps so far out: where its boat band begins."""

FURTHEST_M = 400.0
"""A place further than this from where a boat can drift is not on this water."""

ROUND_M = 0.01
"""What the corners of a round buffer may lack."""

ARTICLES = frozenset(("the", "a", "an", "at", "from", "to"))
"""Words that people say before a name and that are no part of it."""

BANK = re.compile(r"(?:the\s+)?bank\s+(?:no\.?\s*)?(\d{1,4})", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place that was named, in metres."""

    name: str
    easting: float
    northing: float

    @property
    def point(self) -> Point:
        """The place as a point."""
        return Point(self.easting, self.northing)


def spoken_spot(opened: Opened, text: str) -> Spot:
    """Return the place that is meant: a mark or jetty, a bank, or LAT,LON.

    Capitals and articles do not matter, and a few words of a name will do if no other
    has them. A bank is taken by its middle.

    Raises
    ------
    PracticeError
        If there is none of that name, or several.
    """
    text = " ".join(text.split())
    if told := POSITION.fullmatch(text):
        lat, lon = float(told[1]), float(told[2])
        return spot_at(opened, text, (lon, lat))
    places = list(_places(opened))
    if meant := _meant(places, text):
        first = meant[0]
        if any(first.point.distance(other.point) > 1.0 for other in meant[1:]):
            names = " or ".join(dict.fromkeys(spot.name for spot in meant))
            more = (
                "write its latitude and longitude"
                if len({spot.name for spot in meant}) == 1
                else "write more of the name"
            )
            raise PracticeError(f'"{text}" may be {names}: {more}')
        return first
    if told := BANK.fullmatch(text):
        return _bank(opened, int(told[1]))
    raise PracticeError(_unknown(places, text))


def spot_at(opened: Opened, name: str, position: tuple[float, float]) -> Spot:
    """Return a place from its longitude and latitude.

    Raises
    ------
    PracticeError
        If it is nowhere near the water.
    """
    lon, lat = position
    x, y = (float(v) for v in opened.venue.frame.to_metres(lon, lat))
    valid = abs(lat) <= 90 and abs(lon) <= 180 and np.isfinite([x, y]).all()
    away_m = opened.venue.water.distance(Point(x, y)) if valid else np.inf
    if away_m > FURTHEST_M:
        far = length_text(away_m, opened.settings.units) if away_m < 1e6 else "far"
        raise PracticeError(
            f"{name} is not on this water but {far} away: write the latitude first, "
            "then the longitude, or name a mark"
        )
    return Spot(name, x, y)


class Afloat:
    """Where boats drift on a venue's water: some way out from every shore."""

    def __init__(self, opened: Opened) -> None:
        self._opened = opened
        self._waters: dict[float, Area] = {}

    def near(self, spot: Spot) -> Point:
        """Return the place where a boat was that fished at a spot.

        The nearest that is so far out; where the water is too narrow for that, half
        as far or a quarter.

        Raises
        ------
        PracticeError
            If none is near enough.
        """
        point, away_m = spot.point, np.inf
        for out_m in (OUT_M, OUT_M / 2, OUT_M / 4):
            water = self._out(out_m)
            if water.is_empty:
                continue
            there = nearest_points(water, point)[0]
            away_m = min(away_m, there.distance(point))
            if there.distance(point) <= FURTHEST_M:
                return there
        units = self._opened.settings.units
        raise PracticeError(
            f"{spot.name} is not on this water: the nearest place where a boat can "
            f"drift is {length_text(away_m, units)} away: name another"
        )

    def _out(self, out_m: float) -> Area:
        if out_m not in self._waters:
            surely_m = out_m + ROUND_M
            eroded = self._opened.venue.water.buffer(-surely_m, quad_segs=32)
            shapely.prepare(eroded)
            self._waters[out_m] = eroded
        return self._waters[out_m]


def _places(opened: Opened) -> Iterator[Spot]:
    for place in opened.venue.places:
        if place.name or place.kind == "jetty":
            yield Spot(place.name or "the jetty", place.easting, place.northing)
    known = {" ".join(_words(place.name)) for place in opened.venue.places}
    if opened.venue.bank_names:
        for name, middle in named_middles(opened.banks):
            if " ".join(_words(name)) not in known:  # a mark says more exactly where
                yield Spot(name, middle.x, middle.y)


def _meant(places: list[Spot], text: str) -> list[Spot]:
    """Return the places whose name is the text, else those with all of its words."""
    words = _words(text)
    if not words:
        return []
    exact = [spot for spot in places if _words(spot.name) == words]
    return exact or [spot for spot in places if set(words) <= set(_words(spot.name))]


def _words(text: str) -> list[str]:
    words = re.findall(r"[\w'\u2019-]+", text.casefold())
    return [word for word in words if word not in ARTICLES] or words


def _bank(opened: Opened, number: int) -> Spot:
    for bank in opened.banks:
        if bank.number == number:
            middle = bank.shore.interpolate(0.5, normalized=True)
            return Spot(bank.name, middle.x, middle.y)
    raise PracticeError(
        f"there is no bank {number}: the banks are 1 to {len(opened.banks)}"
    )


def _unknown(places: list[Spot], text: str) -> str:
    """Return what to say of a name that no place has."""
    names = list(dict.fromkeys(spot.name for spot in places))
    told = f'there is no mark "{text}"'
    if like := _alike(names, text):
        return f"{told}: did you mean {' or '.join(like)}?"
    known = f" ({', '.join(sorted(names))})" if names else ""
    return (
        f"{told}: name a mark or a jetty{known}, a bank like bank 12, or a latitude "
        "and longitude like 54.8512,2.3001"
    )


def _alike(names: list[str], text: str) -> list[str]:
    """Return the names that begin like a text, or are spelt nearly like it."""
    told = " ".join(_words(text))
    begins = [
        name
        for name in names
        if told
        and any(
            word.startswith(told) for word in [" ".join(_words(name)), *_words(name)]
        )
    ]
    if begins:
        return begins[:3]
    spelt = {" ".join(_words(name)): name for name in names}
    spelt |= {word: name for name in names for word in _words(name) if len(word) > 3}
    close = get_close_matches(told, list(spelt), n=3, cutoff=0.7)
    return list(dict.fromkeys(spelt[found] for found in close))
