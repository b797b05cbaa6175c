"""A boat on one day: what it does second by second, written down as it goes."""

from dataclasses import dataclass, field

import numpy as np

from sweptwater.arrays import Floats
from sweptwater_demo.motoring import run
from sweptwater_demo.truth import ASHORE, FISHING, MOTORING, Truth
from sweptwater_demo.weather import headings, wander

SLOWEST_M_S, FASTEST_M_S = 0.1, 0.75
_SETTLES_S = 4.0
_COURSE_TIME_S = 180.0


@dataclass(frozen=True, slots=True)
class Trim:
    """How a boat is set to drift.

    Parameters
    ----------
    wind_share
        Speed of the drift as a share of the wind's.
    leeway_deg
        Its course, to the right of straight downwind.
    settle_s
        Seconds from stopping the engine to the first cast.
    wander_deg
        Standard deviation of the course about that.
    """

    wind_share: float
    leeway_deg: float
    settle_s: int
    wander_deg: float = 4.0


@dataclass(slots=True, eq=False)
class Boat:
    """Where a boat has been since midnight of its own clock, second 0.

    Parameters
    ----------
    place
        Where it is now, shape (2,).
    downwind_deg, wind_m_s
        The day's wind, a row a second, longer than the day.
    rng
        For what chance decides.
    """

    place: Floats
    downwind_deg: Floats
    wind_m_s: Floats
    rng: np.random.Generator
    velocity: Floats = field(default_factory=lambda: np.zeros(2))
    second: int = 0
    drifts: int = 0
    _places: list[Floats] = field(default_factory=list)
    _states: list[tuple[int, int, int]] = field(default_factory=list)

    def stay(self, seconds: int) -> None:
        """Lie still at the shore."""
        self._write(np.broadcast_to(self.place, (seconds, 2)), ASHORE, -1)
        self.velocity = np.zeros(2)

    def run(self, way: Floats, cruise_m_s: float) -> Floats:
        """Return where the boat would be each second on a way from here to its end."""
        return run(way, cruise_m_s=cruise_m_s, drift_m_s=self.velocity)

    def motor(self, places: Floats) -> None:
        """Follow a run to its stop."""
        self._write(places, MOTORING, -1)
        self.velocity = np.zeros(2)

    def settle_and_fish(self, course: Floats, settle_s: int) -> None:
        """Follow a drift's course: its first seconds settling, the rest fishing."""
        self._write(course[:settle_s], MOTORING, -1)
        self._write(course[settle_s:], FISHING, self.drifts)
        self.velocity = course[-1] - course[-2]
        self.drifts += 1

    def course(self, start: Floats, second: int, seconds: int, trim: Trim) -> Floats:
        """Return where the wind would take the boat from rest, shape (seconds, 2)."""
        speed = self.speeds(second, seconds, trim.wind_share)
        bearing = self.downwind_deg[second : second + seconds] + trim.leeway_deg
        bearing = bearing + trim.wander_deg * wander(seconds, _COURSE_TIME_S, self.rng)
        return start + np.cumsum(speed[:, None] * headings(bearing), axis=0)

    def speeds(self, second: int, seconds: int, wind_share: float) -> Floats:
        """Return the speeds of a drift that starts from rest, shape (seconds,)."""
        wind = self.wind_m_s[second : second + seconds]
        speed = np.clip(wind_share * wind, SLOWEST_M_S, FASTEST_M_S)
        return speed * (1 - np.exp(-np.arange(1.0, seconds + 1) / _SETTLES_S))

    def truth(self, start_s: float) -> Truth:
        """Return the day so far; its first second is `start_s` since 1970 in UTC."""
        path = np.concatenate(self._places)
        seconds = [count for count, _, _ in self._states]
        return Truth(
            time_s=start_s + np.arange(float(len(path))),
            easting=path[:, 0],
            northing=path[:, 1],
            state=np.repeat([state for _, state, _ in self._states], seconds),
            downwind_deg=self.downwind_deg[: len(path)],
            drift=np.repeat([drift for _, _, drift in self._states], seconds),
        )

    def _write(self, places: Floats, state: int, drift: int) -> None:
        self._places.append(places)
        self._states.append((len(places), state, drift))
        self.second += len(places)
        self.place = places[-1]


def settling_m(speed_m_s: float, settle_s: int) -> float:
    """Return how far a boat drifts between stopping and its first cast, in metres."""
    ramp_s = _SETTLES_S * (1 - np.exp(-settle_s / _SETTLES_S))
    return float(speed_m_s * (settle_s - ramp_s))
