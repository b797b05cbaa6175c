"""Where the boats of a match must be at the end, and the water that leads there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time
from math import isfinite

import numpy as np

from sweptwater.arrays import Floats
from sweptwater.errors import PracticeError
from sweptwater.jobs.searching import Searching
from sweptwater.jobs.spoken import spoken_spot
from sweptwater.jobs.starts_places import Candidate
from sweptwater.water.ways import Ways


@dataclass(frozen=True)
class Home:
    """Where the boats must be at the end, and the water that leads there."""

    name: str
    place: Floats
    ways: Ways
    lines_up: datetime


def clock(searching: Searching, clock: time) -> datetime:
    """Return a time of the match day, in the practice's zone."""
    zone = searching.opened.settings.zone
    return datetime.combine(searching.day, clock, zone)


def home_of(searching: Searching) -> Home:
    """Return where the boats must be when lines are up."""
    opened, match = searching.opened, searching.opened.settings.match
    place, name = opened.jetty, "the jetty"
    if match.lines_up_at:
        try:
            spot = spoken_spot(opened, match.lines_up_at)
        except PracticeError as error:
            raise PracticeError(
                f"[match] lines_up_at of practice.toml: {error}"
            ) from error
        place, name = np.array([spot.easting, spot.northing]), spot.name
    elif jetties := opened.venue.of_kind("jetty"):
        name = jetties[0].name or name
    ways = Ways(opened.venue.fishable)
    return Home(name, place, ways, clock(searching, match.lines_up))


def reached(candidates: Sequence[Candidate], home: Home) -> tuple[Candidate, ...]:
    """Return the places from which water leads home."""
    if not candidates:
        return ()
    ways_m = home.ways.lengths_m(xy_of(candidates), home.place[None])[:, 0]
    return tuple(
        one for one, way_m in zip(candidates, ways_m, strict=True) if isfinite(way_m)
    )


def xy_of(candidates: Sequence[Candidate]) -> Floats:
    """Return where some places are, (n, 2) in metres."""
    return np.array([(c.place.easting, c.place.northing) for c in candidates])
