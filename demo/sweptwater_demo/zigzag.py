"""A drift steered across the wind, to and fro over the band along a bank."""

import numpy as np
import shapely
from shapely import Point

from sweptwater.arrays import Floats
from sweptwater.units import YARD_M
from sweptwater_demo.boat import Boat, Trim
from sweptwater_demo.ground import Ground
from sweptwater_demo.weather import headings

NEAR_M, FAR_M = 27 * YARD_M, 72 * YARD_M
_TOO_NEAR_M, _TOO_FAR_M = 16 * YARD_M, 120 * YARD_M
_STEER_DEG = 24.0
_LOOK_S = 5
_TURNS_IN_S = 25.0
_ALONG_DEG = 22.0


def zigzag_course(
    on: Ground, boat: Boat, start: Floats, trim: Trim, *, second: int, seconds: int
) -> Floats:
    """Return a course that turns out at `NEAR_M` from the shore and in at `FAR_M`.

    It ends early where the bank leaves the wind; shape (at most seconds, 2).
    """
    speed = boat.speeds(second, seconds, trim.wind_share)
    place, steer_deg, side = start.copy(), 0.0, 1.0
    places: list[Floats] = []
    for first in range(0, seconds - _LOOK_S + 1, _LOOK_S):
        off_m, shoreward = _shore(on, place)
        if places and not _TOO_NEAR_M < off_m < _TOO_FAR_M:
            break
        bearing = float(boat.downwind_deg[second + first])
        right = headings(np.array([bearing + 90]))[0]
        if off_m < NEAR_M:
            side = -np.sign(right @ shoreward)
        elif off_m > FAR_M:
            side = np.sign(right @ shoreward)
        steer_deg += (side * _STEER_DEG - steer_deg) * _LOOK_S / _TURNS_IN_S
        heading = headings(np.array([bearing + steer_deg]))
        steps = speed[first : first + _LOOK_S, None] * heading
        places.append(place + np.cumsum(steps, axis=0))
        place = places[-1][-1]
    return np.concatenate(places)


def along_banks(on: Ground, places: Floats, downwind_deg: float) -> Floats:
    """Return those places, of shape (n, 2), where the wind blows along the bank."""
    downwind = headings(np.array([downwind_deg]))[0]
    fit = []
    for place in places:
        off_m, shoreward = _shore(on, place)
        across = abs(float(downwind @ shoreward))
        if off_m < FAR_M and across < np.sin(np.radians(_ALONG_DEG)):
            fit.append(place)
    return np.array(fit).reshape(-1, 2)


def _shore(on: Ground, place: Floats) -> tuple[float, Floats]:
    """Return how far off the shore a place is, and the unit vector to its nearest."""
    line = shapely.get_coordinates(shapely.shortest_line(Point(place), on.shore))
    off = line[1] - line[0]
    off_m = float(np.hypot(*off))
    return off_m, off / max(off_m, 1e-9)
