"""The wind of a day, second by second."""

from dataclasses import dataclass

import numpy as np

from sweptwater.arrays import Floats

_FELT_S = 31


@dataclass(frozen=True, slots=True)
class Wind:
    """A day's wind: where it comes from, how hard it blows, and how steady it is.

    Parameters
    ----------
    from_deg
        Mean direction the wind comes from, degrees clockwise from north.
    speed_m_s
        Mean speed.
    swing_deg, swing_time_s
        Standard deviation of the direction, and how long a swing lasts.
    gust_share, gust_time_s
        Standard deviation of the speed as a share of its mean, and how long a gust
        lasts.
    """

    from_deg: float
    speed_m_s: float
    swing_deg: float = 8.0
    swing_time_s: float = 1200.0
    gust_share: float = 0.15
    gust_time_s: float = 120.0


def blow(wind: Wind, seconds: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Return each second's bearing toward which the wind blows, and its speed.

    Bearings are in degrees from 0 up to 360, speeds in metres a second and never
    negative; both have shape (seconds,).
    """
    swing = wind.swing_deg * _felt(seconds, wind.swing_time_s, rng)
    gust = 1 + wind.gust_share * _felt(seconds, wind.gust_time_s, rng)
    toward_deg = (wind.from_deg + 180 + swing) % 360
    return toward_deg, wind.speed_m_s * np.maximum(gust, 0.3)


def _felt(seconds: int, time_s: float, rng: np.random.Generator) -> Floats:
    """Return a wander as a boat feels it: averaged over half a minute."""
    raw = wander(seconds + _FELT_S - 1, time_s, rng)
    return np.convolve(raw, np.full(_FELT_S, 1 / _FELT_S), "valid")


def wander(steps: int, time_steps: float, rng: np.random.Generator) -> Floats:
    """Return an Ornstein-Uhlenbeck process of unit standard deviation, shape (steps,).

    It starts anywhere in its stationary law and forgets where it was within some
    `time_steps`: its autocorrelation at lag k is exp(-k / time_steps).

    References
    ----------
    The exact discretisation is x[k+1] = a x[k] + sqrt(1 - a^2) n[k], a = exp(-1 /
    time_steps), n standard normal: a first-order autoregression (from memory).
    """
    keep = float(np.exp(-1 / time_steps))
    shocks = rng.standard_normal(steps)
    shocks[1:] *= np.sqrt(1 - keep**2)
    value, values = 0.0, shocks.tolist()
    for k, shock in enumerate(values):
        value = values[k] = keep * value + shock
    return np.array(values, dtype=np.float64)


def headings(bearing_deg: Floats) -> Floats:
    """Return unit vectors east and north of bearings, shape (n, 2)."""
    bearing = np.radians(bearing_deg)
    return np.column_stack([np.sin(bearing), np.cos(bearing)])
