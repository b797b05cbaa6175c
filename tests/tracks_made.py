"""Boats whose way is known, with the errors of a receiver, for the tests of tracks."""

from dataclasses import dataclass

import numpy as np
from shapely import Polygon, box

from sweptwater.arrays import Floats, Ints
from sweptwater.practice.settings import Rules
from sweptwater.tracks.drifts import DayAfloat, day_afloat
from sweptwater.tracks.record import clean_record

BIG_WATER = box(-20_000, -20_000, 20_000, 20_000)
NO_JETTY = Polygon()


@dataclass(frozen=True)
class Leg:
    """So many seconds at a speed on a course; fishing or not."""

    seconds: float
    speed_m_s: float
    course_deg: float
    fishing: bool = True


@dataclass(frozen=True)
class Trip:
    """A boat's true way, second by second."""

    time_s: Floats
    easting: Floats
    northing: Floats
    fishing: Ints

    @property
    def fishing_s(self) -> float:
        """The true time spent fishing."""
        return float(self.fishing[1:].sum())


def trip(*legs: Leg) -> Trip:
    """Return the way of a boat through its legs, one place a second."""
    east, north, fishing = [0.0], [0.0], [1]
    for leg in legs:
        course = np.radians(leg.course_deg)
        for _ in range(int(leg.seconds)):
            east.append(east[-1] + leg.speed_m_s * float(np.sin(course)))
            north.append(north[-1] + leg.speed_m_s * float(np.cos(course)))
            fishing.append(int(leg.fishing))
    time_s = 1.8e9 + np.arange(len(east), dtype=float)
    return Trip(time_s, np.array(east), np.array(north), np.array(fishing))


def ladder(rungs: int, *, back_m_s: float = 1.2) -> Trip:
    """Return short drifts north with slow returns south between them."""
    legs = []
    for _ in range(rungs):
        legs.append(Leg(300, 0.3, 0))
        legs.append(Leg(90 / back_m_s, back_m_s, 175, fishing=False))
        legs.append(Leg(30 / back_m_s, back_m_s, 90, fishing=False))
    return trip(*legs)


def wander(size: int, rng: np.random.Generator, sigma_m: float = 2.0) -> Floats:
    """Return an error that wanders over minutes: Ornstein and Uhlenbeck's, 3 min."""
    keep = np.exp(-1 / 180)
    steps = rng.normal(0, sigma_m * np.sqrt(1 - keep**2), (size, 2))
    error = np.zeros((size, 2))
    error[0] = rng.normal(0, sigma_m, 2)
    for i in range(1, size):
        error[i] = keep * error[i - 1] + steps[i]
    return error


def seen(way: Trip, *, seed: int | None = 0, every: int = 1) -> DayAfloat:
    """Return what the engine makes of a trip, seen through a receiver's error."""
    places = np.column_stack([way.easting, way.northing])
    if seed is not None:
        rng = np.random.default_rng(seed)
        places = places + wander(len(places), rng) + rng.normal(0, 0.4, places.shape)
    record = clean_record(way.time_s[::every], *places[::every].T)
    return day_afloat(record, BIG_WATER, NO_JETTY, Rules())
