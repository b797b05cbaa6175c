"""What is known of each minute of fishing: where it was, over what, and in what."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime
from functools import lru_cache
from math import hypot
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats
from sweptwater.jobs.opened import Opened, local_time
from sweptwater.jobs.places import OPEN_WATER
from sweptwater.offers.effort import Minutes, Telling
from sweptwater.offers.flies import LayerFished, layer_of
from sweptwater.offers.noted import (
    EARLIER,
    Noted,
    Said,
    drogue_at,
    sky_at,
    wave_at,
    wind_at,
)
from sweptwater.offers.stints import NOT_TOLD, Stint
from sweptwater.offers.wind import beaufort
from sweptwater.units import FOOT_M, YARD_M, band_names

NO_SECTOR = "no sector"
NO_DEPTH = "depth not known"

OUT_YD = (20, 50, 80)
"""Distances from shore are told in bands between these."""


def tellings(opened: Opened, noted: Noted) -> Mapping[str, Telling]:
    """Return for each circumstance what tells it of the pieces of a stint."""

    def of_stint(word: Callable[[Stint], str]) -> Telling:
        def tell(minutes: Minutes) -> Sequence[str]:
            words = np.array([word(stint) for stint in minutes.stints], dtype=object)
            return list(words[minutes.number])

        return tell

    def of_notes(
        said: Sequence[Said[Any]],
        at: Callable[[date, float, str], str | None],
        *,
        first: Callable[[Stint], str] = lambda stint: "",
    ) -> Telling:
        held = _Held(said, at, noted.zone)

        def tell(minutes: Minutes) -> Sequence[str]:
            words = list[str]()
            for stint, where in minutes.of_each():
                time_s, own = minutes.time_s[where], first(stint)
                words += [own] * len(time_s) if own else held.words(stint, time_s)
            return words

        return tell

    banks = {bank.title: bank.water for bank in opened.banks}
    return {
        "day": of_stint(lambda stint: stint.day.isoformat()),
        "hour": lambda minutes: _hours(opened, minutes.time_s),
        "pair": of_stint(lambda stint: stint.pair),
        "rod": of_stint(lambda stint: stint.rod),
        "sector": lambda minutes: _within(opened.sectors, NO_SECTOR, minutes),
        "bank": lambda minutes: _within(banks, OPEN_WATER, minutes),
        "shore": lambda minutes: _out(opened, minutes.easting, minutes.northing),
        "depth": lambda minutes: _depths(opened, minutes.easting, minutes.northing),
        "layer": of_stint(lambda stint: layer_text(opened, stint)),
        "line": of_stint(line_text),
        "sky": of_notes(noted.skies, lambda *when: sky_at(noted, *when)),
        "wind": of_notes(noted.winds, lambda *when: _force(noted, *when)),
        "wave": of_notes(noted.waves, lambda *when: wave_at(noted, *when)),
        "drogue": of_notes(
            noted.drogues,
            lambda *when: drogue_at(noted, *when),
            first=lambda stint: stint.drogue,
        ),
    }


class _Held:
    """What notes of a kind say at many times: asked once between two of them."""

    def __init__(
        self,
        said: Sequence[Said[Any]],
        at: Callable[[date, float, str], str | None],
        zone: ZoneInfo,
    ) -> None:
        self._at = at
        self._known: dict[tuple[date, str, int], str] = {}
        self._turns_s: dict[date, list[float]] = {}
        for one in said:
            day = one.note.day
            clock_s = datetime.combine(day, one.clock, zone).timestamp()
            # A note may hold for some time before it as well.
            turns = (clock_s, clock_s - EARLIER.total_seconds(), clock_s - 60)
            self._turns_s.setdefault(day, []).extend(turns)
        for turns_s in self._turns_s.values():
            turns_s.sort()

    def words(self, stint: Stint, time_s: Floats) -> list[str]:
        """Return what was noted for a boat at each time."""
        turns_s = self._turns_s.get(stint.day)
        if not turns_s:
            return [NOT_TOLD] * len(time_s)
        spells = np.searchsorted(turns_s, time_s, side="right")
        words = []
        for at_s, spell in zip(time_s, spells, strict=True):
            key = (stint.day, stint.pair, int(spell))
            if key not in self._known:
                said = self._at(stint.day, float(at_s), stint.pair)
                self._known[key] = said or NOT_TOLD
            words.append(self._known[key])
        return words


def layer_text(opened: Opened, stint: Stint) -> str:
    """Return the name of the layer that a rod's flies fished on a drift."""
    found = layer_fished(opened, stint)
    return found.name if found else NOT_TOLD


def layer_unsure_share(opened: Opened, stints: Iterable[Stint]) -> float | None:
    """Return in what part of the rod-hours the layer's doubt reaches another layer.

    Of those whose layer is known; None if there are none.
    """
    known_h = unsure_h = 0.0
    for stint in stints:
        if found := layer_fished(opened, stint):
            known_h += stint.hours
            unsure_h += 0.0 if found.sure else stint.hours
    return unsure_h / known_h if known_h > 0 else None


def layer_fished(opened: Opened, stint: Stint) -> LayerFished | None:
    """Return the layer that a rod's flies fished; None if its line was not told."""
    settings = opened.settings
    setup, speed_m_s = stint.setup, drift_speed_m_s(stint)
    return _fished(setup, speed_m_s, settings.tackle, settings.units)


_fished = lru_cache(maxsize=4096)(layer_of)
"""Two rods, and several reports, ask for the same."""


def line_text(stint: Stint) -> str:
    """Return which line a rod fished, by its name or else by its rate."""
    setup = stint.setup
    if setup.line:
        return setup.line
    return f"{setup.sink_in_s:g} in/s" if setup.sink_in_s is not None else NOT_TOLD


def drift_speed_m_s(stint: Stint) -> float | None:
    """Return how fast the boat went; None where the way has no length in time."""
    way = stint.way
    lasted_s = float(way.time_s[-1] - way.time_s[0])
    if not lasted_s > 0:
        return None
    east_m = float(way.easting[-1] - way.easting[0])
    north_m = float(way.northing[-1] - way.northing[0])
    return hypot(east_m, north_m) / lasted_s


def _hours(opened: Opened, time_s: Floats) -> list[str]:
    hours = [local_time(float(at), opened.settings).hour for at in time_s]
    return [f"{hour:02d}-{hour + 1:02d} h" for hour in hours]


def _within(areas: Mapping[str, Area], beyond: str, minutes: Minutes) -> list[str]:
    """Return in which of some areas each place lies; of two that it touches the first.

    A boat that lies a little ashore, by its receiver, is in none.
    """
    names, told = list(areas), [beyond] * len(minutes.easting)
    points = shapely.points(minutes.easting, minutes.northing)
    found = shapely.STRtree(list(areas.values())).query(points, predicate="intersects")
    for place, area in found.T[np.lexsort(found)[::-1]]:
        told[place] = names[area]
    return told


def _out(opened: Opened, east: Floats, north: Floats) -> list[str]:
    unit_m, unit = (YARD_M, "yd") if opened.settings.units == "imperial" else (1.0, "m")
    names = band_names(OUT_YD, unit)
    away_m = shapely.distance(opened.shore_line, shapely.points(east, north))
    return [names[band] for band in np.digitize(away_m / unit_m, OUT_YD)]


def _depths(opened: Opened, east: Floats, north: Floats) -> list[str]:
    surface, edges_m = opened.depths, opened.settings.depth.bands_m
    if surface is None:
        return [NO_DEPTH] * len(east)
    unit_m, unit = (FOOT_M, "ft") if opened.settings.units == "imperial" else (1.0, "m")
    names = band_names([edge_m / unit_m for edge_m in edges_m], unit)
    depth_m = surface.depth_m(east, north)
    bands = np.digitize(np.nan_to_num(depth_m), edges_m)
    return [
        names[band] if known else NO_DEPTH
        for band, known in zip(bands, np.isfinite(depth_m), strict=True)
    ]


def _force(noted: Noted, day: date, time_s: float, pair: str) -> str | None:
    wind = wind_at(noted, day, time_s, pair)
    return None if wind is None else f"force {beaufort(wind.speed_m_s)}"
