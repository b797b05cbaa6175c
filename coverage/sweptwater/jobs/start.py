"""Begin a practice from an outline."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import shapely
from tzfpy import get_tz

from sweptwater.practice.folder import begin_practice
from sweptwater.practice.geojson import Feature
from sweptwater.practice.settings import Settings, check_pairs, check_zone
from sweptwater.units import System
from sweptwater.water.outline import read_features, read_outline
from sweptwater.water.venue import build_venue

PAIRS = ("A", "B", "C")


@dataclass(frozen=True, slots=True)
class Started:
    """The practice that was begun; areas in m2, lengths in m, the place in degrees."""

    practice: str
    folder: str
    water_m2: float
    shore_m: float
    islands: int
    lat: float
    lon: float
    time_zone: str
    units: System
    pairs: tuple[str, ...]
    repairs: tuple[str, ...]

    @property
    def at_sea(self) -> bool:
        """Whether the place has only a nautical time zone."""
        return get_tz(self.lon, self.lat).startswith("Etc/")


def start(
    folder: Path,
    venue_file: Path,
    *,
    name: str | None = None,
    pairs: tuple[str, ...] = PAIRS,
    zone: str | None = None,
    units: System = "imperial",
    days: tuple[date, ...] = (),
    crs: str | None = None,
    only: frozenset[int] = frozenset(),
) -> Started:
    """Write a new practice folder from any vector outline.

    Parameters
    ----------
    folder, venue_file
        Where the practice goes, and its outline.
    name
        The venue's name; else the outline's, else the file's.
    pairs, zone, units, days
        For the settings; the zone is the place's own unless given.
    crs
        The coordinate system of an outline that does not say its own.
    only
        The numbers of the file's features that are the water; all, if empty.

    Raises
    ------
    SweptwaterError
        If the outline or a name is unusable, or the folder is a practice already.
    """
    features = read_features(venue_file, crs=crs)
    outline = read_outline(features, only=only)
    chosen = [item for item in features if not only or item.number in only]
    called = name or next((i.name for i in chosen if i.name), "") or venue_file.stem
    water = Feature("water", called, outline.water)
    venue = build_venue([water])
    settings = Settings(
        name=called,
        pairs=check_pairs(pairs),
        time_zone=check_zone(zone or get_tz(venue.frame.lon, venue.frame.lat)),
        units=units,
        days=tuple(sorted(set(days))),
    )
    begin_practice(folder, settings, [water])
    parts = shapely.get_parts(venue.water)
    return Started(
        practice=called,
        folder=str(folder),
        water_m2=venue.water.area,
        shore_m=venue.water.length,
        islands=sum(len(part.interiors) for part in parts),
        lat=venue.frame.lat,
        lon=venue.frame.lon,
        time_zone=settings.time_zone,
        units=units,
        pairs=settings.pairs,
        repairs=outline.repairs,
    )
