"""What really happened in a boat on one day, and the water it really swept."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.units import YARD_M
from sweptwater_demo.shapes import polygonal
from sweptwater_demo.weather import headings

FISHING, MOTORING, ASHORE = 0, 1, 2

_STEP_M = 2.0
_STEP_S = 10
_ARC_POINTS = 13  # each side of downwind: arcs of 24 segments for the whole fan


class Drift(NamedTuple):
    """One true drift: seconds since 1970 in UTC, and metres along its path."""

    start_s: float
    end_s: float
    length_m: float


@dataclass(frozen=True, slots=True, eq=False)
class Truth:
    """A boat's day, one row a second; what a row says holds until the next.

    Fishing starts when the engine has been cut and the boat has slowed to its drift;
    it ends with the second in which the engine is started. Everything between is
    motoring: the run itself, slowing down and settling at the next start.

    Parameters
    ----------
    time_s
        Seconds since 1970 in UTC, shape (n,), one apart.
    easting, northing
        Metres in the water's frame, shape (n,).
    state
        FISHING, MOTORING or ASHORE, shape (n,).
    downwind_deg
        Bearing toward which the wind blows, shape (n,).
    drift
        Number of the drift from 0, and -1 where the boat does not fish, shape (n,).
    """

    time_s: Floats
    easting: Floats
    northing: Floats
    state: Ints
    downwind_deg: Floats
    drift: Ints

    @property
    def fishing_s(self) -> float:
        """Seconds of fishing."""
        return float(np.sum(self.state == FISHING))

    @property
    def motoring_s(self) -> float:
        """Seconds under engine."""
        return float(np.sum(self.state == MOTORING))

    @property
    def ashore_s(self) -> float:
        """Seconds tied up or at lunch."""
        return float(np.sum(self.state == ASHORE))

    @property
    def path(self) -> Floats:
        """Eastings and northings, shape (n, 2)."""
        return np.column_stack([self.easting, self.northing])

    @property
    def drifts(self) -> list[Drift]:
        """The drifts in order."""
        found = []
        for rows in self.drift_rows():
            steps = np.diff(self.path[rows], axis=0)
            length_m = float(np.hypot(*steps.T).sum())
            start_s, end_s = self.time_s[rows.start], self.time_s[rows.stop - 1]
            found.append(Drift(float(start_s), float(end_s), length_m))
        return found

    def drift_rows(self) -> list[slice]:
        """Return each drift's rows, with the one in which the engine is started."""
        numbers = np.r_[-1, self.drift, -1]
        edges = np.flatnonzero(np.diff(numbers))
        fishing = [k for k in edges if k < len(self.drift) and self.drift[k] >= 0]
        ends = [edges[np.searchsorted(edges, k) + 1] for k in fishing]
        last = len(self.drift) - 1
        return [
            slice(int(start), int(min(end, last)) + 1)
            for start, end in zip(fishing, ends, strict=True)
        ]

    def swept(
        self,
        fishable: Area,
        *,
        cast_m: float = 22 * YARD_M,
        boat_m: float = 5 * YARD_M,
        spread_deg: float = 40.0,
    ) -> Area:
        """Return the fishable water that the fan of casts passed over, in metres.

        Parameters
        ----------
        fishable
            The water to clip to, in metres of the same frame.
        cast_m, boat_m
            How far the rods reach, and the length of the boat, lying across the wind.
        spread_deg
            How far either side of downwind the rods cast, at most 90.
        """
        pieces = [
            fan_along(
                self.path[rows],
                self.downwind_deg[rows],
                cast_m=cast_m,
                boat_m=boat_m,
                spread_deg=spread_deg,
            )
            for rows in self.drift_rows()
        ]
        return polygonal(shapely.union_all(pieces) & fishable)


def fan_along(
    path: Floats,
    downwind_deg: Floats,
    *,
    cast_m: float,
    boat_m: float,
    spread_deg: float,
    step_m: float = _STEP_M,
) -> Area:
    """Return the union of the casts' fans along a path, in metres.

    Between two places the fan sweeps the convex hull of itself at both, which is exact
    for a straight step on one heading; steps are at most `step_m` and ten seconds,
    so what a bend adds is some hundred-thousandths.

    Parameters
    ----------
    path
        Eastings and northings a second apart, shape (n, 2).
    downwind_deg
        Bearings toward which the wind blows, shape (n,).
    """
    keep = _thinned(path, step_m)
    fans = _fans(
        path[keep],
        downwind_deg[keep],
        cast_m=cast_m,
        boat_m=boat_m,
        spread_deg=spread_deg,
    )
    pairs = np.concatenate([fans[:-1], fans[1:]], axis=1) if len(fans) > 1 else fans
    corners = shapely.multipoints([shapely.points(pair) for pair in pairs])
    return polygonal(shapely.union_all(shapely.convex_hull(corners)))


def _thinned(path: Floats, step_m: float) -> Ints:
    along = np.r_[0, np.cumsum(np.hypot(*np.diff(path, axis=0).T))]
    seconds = np.arange(len(path))
    cells = np.floor(along / step_m) + seconds // _STEP_S  # neither ever falls
    first = np.flatnonzero(np.diff(cells, prepend=-1.0))
    return np.union1d(first, seconds[-1:]).astype(np.int64)


def _fans(
    path: Floats,
    downwind_deg: Floats,
    *,
    cast_m: float,
    boat_m: float,
    spread_deg: float,
) -> Floats:
    """Return the corners of each place's fan, shape (n, corners, 2).

    The fan is the Minkowski sum of the boat, across the wind, and a sector of a
    circle: both ends of the boat, and from each end its own half of the arc.
    """
    half = boat_m / 2 * headings(downwind_deg + 90)
    turns = np.linspace(0, spread_deg, _ARC_POINTS)
    corners = [path - half, path + half]
    for turn in turns:
        corners.append(path - half + cast_m * headings(downwind_deg - turn))
        corners.append(path + half + cast_m * headings(downwind_deg + turn))
    return np.stack(corners, axis=1)
