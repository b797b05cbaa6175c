"""Saying where on the water something is, and which drift it was."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import shapely
from shapely import Point, Polygon

from sweptwater.arrays import Area
from sweptwater.jobs.opened import Opened, local_time
from sweptwater.practice.settings import Settings
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.memory import MemoryDay
from sweptwater.tracks.drifts import Drift
from sweptwater.units import YARD_M, System, compass_point, length_text
from sweptwater.water.banks import nearest_bank
from sweptwater.water.depth import mean_depth_m
from sweptwater.water.landmarks import ShoreForm, island_side, shore_form
from sweptwater.water.venue import Place, Venue

OPEN_WATER = "open water"

AT_MARK_M = 60
"""Within this, to the metre, a mark's name alone says where something is."""

MARK_M = 300.0
BANK_M = 150.0

END_MARK_M = 1000.0
"""The end of a cut is told from a mark up to here: people know their marks."""

SHORE_M = 15.0
"""What lies further than this from the shore does not lie on it."""

NAMED_M = 150.0
"""A point, a bay or the head of an arm is still the one that a mark is named for."""

LONG_M = 300.0
"""A straight bank of this length is a long one, and a dam if a mark so near says so."""

OF_ZONE = "edge of the water out of bounds"

INFLOWS = frozenset(
    ("inflow", "feeder", "stream", "burn", "beck", "brook", "river", "inlet", "rill")
)
DAMS = frozenset(("dam", "wall", "embankment"))
"""Words in a mark's name that say what the shore there is."""


@dataclass(frozen=True, slots=True)
class DriftLine:
    """One drift as it is listed; times are local, with their offset from UTC.

    They are empty, and there are no minutes, where the track has no times.
    `source` is track or memory.
    """

    day: date
    pair: str
    number: int
    start: str
    end: str
    minutes: float
    length_m: float
    course_deg: float
    swept_m2: float
    near: str
    length_error: float
    """The share by which `length_m` is expected to be too long: slow boats, and a
    receiver that wanders."""
    doubtful_s: float
    source: str
    told: bool
    depth_m: float | None = None
    """The mean depth of the water under it; None where nobody knows."""


@dataclass(frozen=True, slots=True)
class ToldDrift:
    """One drift: its line, its way in metres, and what else memory says of it.

    Parameters
    ----------
    line
        Its figures, as it is listed.
    drift
        Where it went.
    way, row
        Of one from memory, its places in words, and the row that tells of it.
    """

    line: DriftLine
    drift: Drift
    way: str = ""
    row: int = 0


@dataclass(frozen=True, slots=True)
class EndPlace:
    """Where a cut meets the shore, so that a boat can find it.

    Parameters
    ----------
    lat, lon
        The place, in degrees.
    near, near_m, near_bearing_deg
        The nearest mark or jetty, how far off it is, and the bearing from it to the
        place, clockwise from north; an empty name and None where there is none.
    bank
        The number of the bank it is on.
    shore
        What the shore does there, in words.
    """

    lat: float
    lon: float
    near: str
    near_m: float | None
    near_bearing_deg: float | None
    bank: int | None
    shore: str

    def text(self, system: System = "imperial") -> str:
        """Return it as people on the water would say it.

        Examples
        --------
        >>> end = EndPlace(54.8, 2.3, "the tower", 82.3, 2.0, 12, "point")
        >>> end.text()
        'the point 90 yd N of the tower (bank 12)'
        >>> end.text("metric")
        'the point 80 m N of the tower (bank 12)'
        >>> EndPlace(54.8, 2.3, "the tower", 1900.0, 2.0, 7, "bay").text()
        'a bay on bank 7'
        >>> EndPlace(54.8, 2.3, "", None, None, 3, "straight bank").text()
        'bank 3, straight'
        >>> meet = "open water where cuts 1 and 2 meet"
        >>> EndPlace(54.8, 2.3, "the tower", 823.0, 2.0, None, meet).text()
        'open water where cuts 1 and 2 meet, 900 yd N of the tower'
        """
        where, bank = self._where(system), f"bank {self.bank}"
        manner = self.shore.removesuffix("bank").strip()
        if self.shore.endswith("bank") and self.bank is not None:
            manner = manner.replace("long straight", "long and straight")
            return ", ".join(filter(None, (bank, manner, where)))
        if self.shore.startswith(f"{OPEN_WATER} "):
            return ", ".join(filter(None, (self.shore, where)))
        if self._is_named:
            its = self._where(system, "its mark")
            told = self.near if self._is_at_mark else f"{self.near}, {its}"
        elif where and self.shore.endswith(f" of {self.near}"):
            told = f"the {self.shore}"
        else:
            told = " ".join(filter(None, (self._article, self.shore, where)))
        if self.bank is None:
            return told
        return f"{told} ({bank})" if where else f"{told} on {bank}"

    @property
    def _is_at_mark(self) -> bool:
        return self.near_m is not None and round(self.near_m) <= AT_MARK_M

    @property
    def _is_named(self) -> bool:
        within_m = LONG_M if self.shore == "dam" else NAMED_M
        near = self.near_m is not None and self.near_m <= within_m
        return near and _says(self.near, {self.shore})

    @property
    def _article(self) -> str:
        if self.shore == OPEN_WATER:
            return ""
        if self.shore in ("narrows", "dam") or " of " in self.shore or self._where():
            return "the"
        return "an" if self.shore[0] in "aeiou" else "a"

    def _where(self, system: System = "imperial", name: str = "") -> str:
        """Return where it is from its mark, if that is near enough to say."""
        if self.near_m is None or self.near_bearing_deg is None:
            return ""
        if self._is_at_mark:
            return f"by {self.near}"
        if self.near_m > END_MARK_M:
            return ""
        name = name or self.near
        return from_mark(name, self.near_m, self.near_bearing_deg, system)


def place_text(opened: Opened, easting: float, northing: float) -> str:
    """Return where a place is, in the few words of a table's cell.

    A mark or jetty within 60 m by its name; the nearest one within 300 m by distance
    and direction, unless a bank is nearer than half of that; else the bank.
    """
    found = nearest_mark(opened.venue, easting, northing)
    if found and round(found[1]) <= AT_MARK_M:
        return found[0]
    bank = nearest_bank(opened.banks, easting, northing, BANK_M)
    if found and found[1] <= MARK_M:
        bank_m = bank.shore.distance(Point(easting, northing)) if bank else np.inf
        if bank_m >= found[1] / 2:
            return from_mark(*found, opened.settings.units)
    return bank.name if bank else OPEN_WATER


def end_text(opened: Opened, easting: float, northing: float) -> EndPlace:
    """Return where a cut's end is: its mark, its bank, and what the shore does."""
    lon, lat = opened.venue.frame.to_degrees(easting, northing)
    found = nearest_mark(opened.venue, easting, northing)
    bank = nearest_bank(opened.banks, easting, northing, BANK_M)
    return EndPlace(
        lat=float(lat),
        lon=float(lon),
        near=found[0] if found else "",
        near_m=found[1] if found else None,
        near_bearing_deg=found[2] if found else None,
        bank=bank.number if bank else None,
        shore=shore_words(opened.venue, easting, northing),
    )


def shore_words(venue: Venue, easting: float, northing: float) -> str:
    """Return what the shore does at a place, in words.

    What only a name can tell, an inflow or a dam, is said where a mark's name says so.
    """
    place = Point(easting, northing)
    shore_m = venue.water.boundary.distance(place)
    if shore_m > SHORE_M:
        zone = venue.out_of_bounds  # no distance, if there is none
        return OF_ZONE if zone.distance(place) <= SHORE_M else OPEN_WATER
    form = shore_form(venue.water, easting, northing)
    if form.island is not None:
        return _island_words(venue, form, form.island)
    within_m = {"head of an arm": NAMED_M, "bay": AT_MARK_M, "bank": AT_MARK_M}
    if _named(venue, place, INFLOWS, within_m.get(form.kind, 0.0)):
        return "inflow"
    if form.straight_m >= LONG_M and form.kind == "straight bank":
        if _named(venue, place, DAMS, LONG_M):
            return "dam"
        return "long straight bank"
    return "gently curving bank" if form.kind == "curving bank" else form.kind


def told_drifts(
    opened: Opened, boats: Sequence[BoatDay], memory: Sequence[MemoryDay] = ()
) -> tuple[ToldDrift, ...]:
    """Return the drifts of boat-days by day and pair, recorded and from memory.

    They are numbered within each boat-day in the order of time.
    """
    days: dict[tuple[date, str], list[_Unnumbered]] = {}
    for boat in boats:
        days[boat.day, boat.pair] = [
            _Unnumbered(drift, swept, "track")
            for drift, swept in zip(boat.afloat.drifts, boat.swept, strict=True)
        ]
    for told in memory:
        days.setdefault((told.day, told.pair), []).extend(
            _Unnumbered(one.drift, one.swept, "memory", one.way, one.row)
            for one in told.drifts
        )
    in_order = sorted(days) if memory else days
    return tuple(
        ToldDrift(_line(opened, which, number, one), one.drift, one.way, one.row)
        for which in in_order
        for number, one in enumerate(
            sorted(days[which], key=lambda one: one.drift.start_s), 1
        )
    )


def _moment(drift: Drift, time_s: float, settings: Settings) -> str:
    if not drift.timed:
        return ""
    return local_time(time_s, settings).isoformat(timespec="seconds")


def span_text(line: DriftLine) -> str:
    """Return when a drift was: from when to when."""
    if not line.start:
        return "no times"
    return f"{line.start[11:16]} to {line.end[11:16]}"


def drift_lines(
    opened: Opened, boats: Sequence[BoatDay], memory: Sequence[MemoryDay] = ()
) -> tuple[DriftLine, ...]:
    """Return the lines of the same drifts."""
    return tuple(told.line for told in told_drifts(opened, boats, memory))


@dataclass(frozen=True, slots=True)
class _Unnumbered:
    drift: Drift
    swept: Area
    source: str
    way: str = ""
    row: int = 0


def _line(
    opened: Opened, which: tuple[date, str], number: int, one: _Unnumbered
) -> DriftLine:
    settings, drift = opened.settings, one.drift
    return DriftLine(
        day=which[0],
        pair=which[1],
        number=number,
        start=_moment(drift, drift.start_s, settings),
        end=_moment(drift, drift.end_s, settings),
        minutes=(drift.end_s - drift.start_s) / 60 if drift.timed else 0.0,
        length_m=drift.length_m,
        course_deg=drift.course_deg,
        swept_m2=one.swept.area,
        near=place_text(opened, float(drift.easting[0]), float(drift.northing[0])),
        length_error=drift.length_error,
        doubtful_s=drift.doubtful_s,
        source=one.source,
        told=False,
        depth_m=mean_depth_m(opened.depths, drift.easting, drift.northing),
    )


def nearest_mark(
    venue: Venue, easting: float, northing: float
) -> tuple[str, float, float] | None:
    """Return the nearest mark or jetty: what it is called, its distance and bearing.

    Metres, and degrees clockwise from north, from the mark to the place.

    A mark needs a name to be one; a jetty is known without.
    """
    jetties = venue.of_kind("jetty")
    known = [place for place in venue.places if place.name or place in jetties]
    if not known:
        return None
    away = [(easting - p.easting, northing - p.northing) for p in known]
    nearest = int(np.argmin(np.hypot(*np.transpose(away))))
    east, north = away[nearest]
    bearing_deg = float(np.degrees(np.arctan2(east, north))) % 360 % 360  # never 360
    unnamed = "the jetty" if len(jetties) == 1 else "the nearest jetty"
    return known[nearest].name or unnamed, float(np.hypot(east, north)), bearing_deg


def from_mark(name: str, away_m: float, bearing_deg: float, system: System) -> str:
    """Return a place as its distance, to ten yards or metres, and direction.

    Examples
    --------
    >>> from_mark("the tower", 113.0, 40.0, "imperial")
    '120 yd NE of the tower'
    """
    ten_m = 10 * (YARD_M if system == "imperial" else 1.0)
    about = length_text(ten_m * round(away_m / ten_m), system)
    return f"{about} {compass_point(bearing_deg)} of {name}"


def _island_words(venue: Venue, form: ShoreForm, island: Polygon) -> str:
    """Return which end or side of which island a place is on."""
    on_it = next((p.name for p in venue.places if p.name and _is_on(p, island)), "")
    rings = [part.interiors for part in shapely.get_parts(venue.water)]
    an_island = "the island" if sum(map(len, rings)) == 1 else "an island"
    side = island_side(island, form.easting, form.northing)
    return f"{side} of {on_it or an_island}"


def _is_on(place: Place, ground: Area) -> bool:
    return bool(ground.distance(Point(place.easting, place.northing)) <= 1.0)


def _named(venue: Venue, place: Point, words: frozenset[str], within_m: float) -> bool:
    """Return whether a mark nearby has one of some words in its name."""
    return any(
        _says(mark.name, words)
        and Point(mark.easting, mark.northing).distance(place) <= within_m
        for mark in venue.of_kind("mark")
    )


def _says(name: str, words: set[str] | frozenset[str]) -> bool:
    """Return whether a name has one of some words in it, and not as part of another.

    Examples
    --------
    >>> _says("West Burn", INFLOWS), _says("Burnt House", INFLOWS)
    (True, False)
    """
    return not words.isdisjoint(re.findall(r"\w+", name.casefold()))
