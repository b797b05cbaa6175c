"""The path behind noisy fixes, and the boat's velocity along it.

Consumer fixes must not be measured as they come: at one fix a second their noise
doubles a day's length and makes a slow drift look fast. The path here minimises

    sum w rho(r) + T^4 sum h phi(a)

over positions, with r the distance of each fix from the path, a the acceleration
between three fixes in true time, w the time that a fix stands for (at most T, so
that T means the same seconds at any sampling) and h the time that an acceleration
stands for. rho is Huber's function, cut off for outliers; phi is a pseudo-Huber, so
that starts and turns stay sharp. It is solved by iteratively reweighted least
squares, both coordinates in one banded system.

References
----------
Whittaker (1923) and Eilers (2003) for the penalised smoother; Huber (1964) for rho.
For white noise and quadratic rho and phi the half-power period is 2 pi T.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solveh_banded

from sweptwater.arrays import Floats, Ints

SMOOTHING_S = 10.0
"""T for a whole day, in which a boat starts and turns."""

HUBER = 2.5
CUT = 8.0
LEAST_SCALE_M = 1.0
SHARP_M_S2 = 0.005
ROUNDS = 12


@dataclass(frozen=True, slots=True)
class Path:
    """Where the boat was, at the times of its fixes.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC, increasing.
    easting, northing
        Smoothed, in metres.
    east_m_s, north_m_s
        Velocity, in metres a second.
    stretch
        The number of the stretch of record, parted by gaps, of each fix.
    scale_m
        The typical distance of a fix from the path, along one axis.
    """

    time_s: Floats
    easting: Floats
    northing: Floats
    east_m_s: Floats
    north_m_s: Floats
    stretch: Ints
    scale_m: float

    @property
    def speed_m_s(self) -> Floats:
        """Speed over the ground, in metres a second."""
        return np.hypot(self.east_m_s, self.north_m_s)


def smooth_path(
    time_s: Floats,
    easting: Floats,
    northing: Floats,
    stretch: Ints,
    *,
    smoothing_s: float = SMOOTHING_S,
) -> Path:
    """Return the path of one boat-day.

    Parameters
    ----------
    time_s, easting, northing
        Fixes in the order of time, at least half a second apart, in metres.
    stretch
        The stretch of each fix; nothing is smoothed across from one to the next.
    smoothing_s
        T above: shorter follows the fixes more closely.
    """
    fixes = np.column_stack([easting, northing])
    centre = fixes.mean(axis=0) if len(fixes) else 0.0
    at, scale_m = _reweighted(time_s, fixes - centre, stretch, smoothing_s)
    velocity = _velocity(time_s, at, stretch)
    at = at + centre
    return Path(
        time_s, at[:, 0], at[:, 1], velocity[:, 0], velocity[:, 1], stretch, scale_m
    )


def _reweighted(
    time_s: Floats, fixes: Floats, stretch: Ints, smoothing_s: float
) -> tuple[Floats, float]:
    if len(time_s) < 3:
        return fixes, LEAST_SCALE_M
    step = np.diff(time_s)
    joined = np.diff(stretch) == 0
    span = _span(step, joined, smoothing_s)
    bend, reach = _second_difference(step, joined[:-1] & joined[1:])
    stiffness = smoothing_s**4 * reach
    trust, ease, scale_m = np.ones(len(time_s)), np.ones(len(reach)), LEAST_SCALE_M
    at = fixes
    for _ in range(ROUNDS):
        at = _solve(span * trust, bend, stiffness * ease, fixes)
        off = np.hypot(*(fixes - at).T)
        scale_m = max(LEAST_SCALE_M, 1.4826 * float(np.median(np.abs(fixes - at))))
        trust = np.minimum(1.0, HUBER * scale_m / np.maximum(off, 1e-9))
        trust[off > CUT * scale_m] = (
            1e-6  # not 0: a lone outlier keeps the system whole
        )
        ease = 1 / np.sqrt(1 + (_acceleration(bend, at) / SHARP_M_S2) ** 2)
    return at, scale_m


def _span(step: Floats, joined: np.ndarray, smoothing_s: float) -> Floats:
    """Return the time that each fix stands for, at most T and never nothing."""
    half = np.where(joined, step, 0.0) / 2
    span = np.append(half, 0.0) + np.insert(half, 0, 0.0)
    return np.clip(span, 0.25, smoothing_s)


def _second_difference(step: Floats, whole: np.ndarray) -> tuple[Floats, Floats]:
    """Return rows (3, n-2) that turn positions into accelerations, and their times."""
    before, after = step[:-1], step[1:]
    reach = (before + after) / 2
    bend = np.stack([1 / before, -(1 / before + 1 / after), 1 / after]) / reach
    return bend * whole, reach


def _acceleration(bend: Floats, at: Floats) -> Floats:
    along = (
        bend[0, :, None] * at[:-2]
        + bend[1, :, None] * at[1:-1]
        + bend[2, :, None] * at[2:]
    )
    return np.hypot(*along.T)


def _solve(weight: Floats, bend: Floats, stiffness: Floats, fixes: Floats) -> Floats:
    bands = np.zeros((3, len(weight)))
    bands[0] = weight
    bands[0, :-2] += stiffness * bend[0] ** 2
    bands[0, 1:-1] += stiffness * bend[1] ** 2
    bands[0, 2:] += stiffness * bend[2] ** 2
    bands[1, :-2] += stiffness * bend[0] * bend[1]
    bands[1, 1:-1] += stiffness * bend[1] * bend[2]
    bands[2, :-2] += stiffness * bend[0] * bend[2]
    return solveh_banded(
        bands,
        weight[:, None] * fixes,
        lower=True,
        overwrite_ab=True,
        check_finite=False,
    )


def _velocity(time_s: Floats, at: Floats, stretch: Ints) -> Floats:
    """Return central differences of the path, one-sided at the ends of a stretch."""
    if len(time_s) < 2:
        return np.zeros_like(at)
    step = np.diff(time_s)
    joined = (np.diff(stretch) == 0) * step
    moved = np.diff(at, axis=0) * (joined > 0)[:, None]
    span = np.append(joined, 0.0) + np.insert(joined, 0, 0.0)
    travelled = np.vstack([moved, [[0.0, 0.0]]]) + np.vstack([[[0.0, 0.0]], moved])
    return travelled / np.where(span > 0, span, np.inf)[:, None]
