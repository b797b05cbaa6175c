"""How much a receiver wanders, and by how much that lengthens a drift.

A receiver's error keeps for minutes: it is Ornstein and Uhlenbeck's process along each
axis, of standard deviation s and memory m, to a good likeness. Within its memory such
an error walks at random, spreading by D = s^2 / m square metres a second. A path that
is smoothed over T (`smooth`) answers to frequency w as 1 / (1 + (T w)^4), so that the
velocity seen of a boat that lies still has, along each axis, the variance

    1/2pi  integral  2 D (w m)^2 / (1 + (w m)^2) / (1 + (T w)^4)^2 dw

which for a long memory is 3 sqrt(2) / 8 D / T = 0.53 D / T, and for a shorter one about
that over 1 + 1.89 T / m (to first order in T / m; 4 sqrt(2) / 3 is 1.89). Steps of h
seconds between fixes further apart than T are hardly smoothed, and have 2 D / h. So a
stay ashore, where all that is seen is error, tells D. A boat that drifts at v is seen
at the length of v + e, e being that error of the velocity, normal along each axis with
standard deviation u: Rice's distribution, whose mean exceeds v by about u^2 / 2 v. This
is what wander adds to a distance: at 0.15 m/s, smoothed over 27 s, 2 m of it some 1 %,
5 m some 5 %.

References
----------
Rice (1945) for the mean; Uhlenbeck and Ornstein (1930) for the process (both from
memory). The integral of 1 / (1 + x^4)^2 over the line is 3 pi sqrt(2) / 8.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ive

from sweptwater.arrays import Bools, Floats
from sweptwater.practice.settings import Rules
from sweptwater.tracks.smooth import SMOOTHING_S, Path
from sweptwater.tracks.spells import runs, weights_s

LEAST_S = 240.0
"""A shorter stay says little of an error that keeps for three minutes."""

ENDS_S = 30.0
"""Coming to a stay and leaving it are no error."""

GAIN, FORGETS = 3 * np.sqrt(2) / 8, 4 * np.sqrt(2) / 3
MEMORY_S = 180.0
"""How long a consumer receiver's error keeps; common experience, no source."""


@dataclass(frozen=True, slots=True)
class Wander:
    """What a receiver's slow error is like.

    Parameters
    ----------
    m_s
        The speed along one axis, root mean square, that it gives a boat that lies
        still, its path smoothed as a day is and its fixes close together.
    seen
        Whether a stay of that day told it; else it is the usual one.
    """

    m_s: float
    seen: bool

    @property
    def spread_m2_s(self) -> float:
        """D above, in square metres a second."""
        return self.m_s**2 * smooths_s(SMOOTHING_S)

    @property
    def sigma_m(self) -> float:
        """The standard deviation along one axis that goes with it, in metres."""
        return float(np.sqrt(self.spread_m2_s * MEMORY_S))

    def lengthens(
        self, speed_m_s: float, *, smoothing_s: float, step_s: float
    ) -> float:
        """Return the share by which a drift's distance is expected to be too long.

        Parameters
        ----------
        speed_m_s
            How fast the boat really drifts.
        smoothing_s, step_s
            T and h above: how the drift's path is smoothed, and its usual step.

        Examples
        --------
        >>> two_metres = Wander(np.sqrt(2**2 / 180 / smooths_s(10)), True)
        >>> round(two_metres.lengthens(0.15, smoothing_s=27, step_s=1), 3)
        0.008
        >>> round(two_metres.lengthens(0.15, smoothing_s=10, step_s=1), 3)
        0.024
        """
        error_m_s = np.sqrt(self.spread_m2_s / averages_s(smoothing_s, step_s))
        return rice_mean(speed_m_s, float(error_m_s)) / speed_m_s - 1


def smooths_s(smoothing_s: float) -> float:
    """Return the seconds by which D is divided to give the variance of a velocity."""
    return float(smoothing_s / GAIN * (1 + FORGETS * smoothing_s / MEMORY_S))


def averages_s(smoothing_s: float, step_s: float, *, steps: int = 1) -> float:
    """Return the same for steps of any length; those longer than T stay unsmoothed.

    `steps` tells over how many of them the velocity is taken.
    """
    span_s = steps * step_s
    share = span_s / MEMORY_S
    alone_s = span_s / 2 * share / -np.expm1(-share)
    smoothed = 1 / (1 + (step_s / smoothing_s) ** 3)
    return float(alone_s + smoothed * (smooths_s(smoothing_s) - alone_s))


def rice_mean(speed: float, error: float) -> float:
    """Return the mean length of a plane vector with a normal error along each axis.

    Examples
    --------
    >>> round(rice_mean(0.0, 1.0), 4)  # Rayleigh's: sqrt(pi / 2)
    1.2533
    >>> rice_mean(5.0, 0.0)
    5.0
    >>> round(rice_mean(5.0, 1e-8), 4)
    5.0
    """
    if error < 1e-3 * speed:  # where the functions below give out; error^2 / 2 speed
        return speed + error**2 / (2 * speed)
    half = speed**2 / (4 * error**2)
    bessel = (1 + 2 * half) * ive(0, half) + 2 * half * ive(1, half)
    return float(error * np.sqrt(np.pi / 2) * bessel)


def seen_wander(path: Path, lying: Bools, rules: Rules) -> Wander:
    """Return the wander that the stays of a day tell, or the usual one.

    The median speed, so that somebody who walks about at lunch counts for little: the
    squared speed of a normal error is exponential, its median 2 ln 2 times the
    variance along one axis.

    Parameters
    ----------
    path
        The day's path.
    lying
        Where the boat surely lay still.
    """
    usual = Wander(rules.wander_m_s, seen=False)
    if not lying.any():
        return usual
    starts, ends = runs(lying, path.stretch)
    chosen = np.zeros(len(lying), dtype=bool)
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        first_s, last_s = path.time_s[start] + ENDS_S, path.time_s[end - 1] - ENDS_S
        if lying[start] and last_s - first_s >= LEAST_S:
            inside = (path.time_s[start:end] >= first_s) & (
                path.time_s[start:end] <= last_s
            )
            chosen[start:end] = inside
    weight = weights_s(path)[chosen]
    if weight.sum() < LEAST_S:
        return usual
    speed = path.speed_m_s[chosen]
    variance = _median(speed**2, weight) / (2 * np.log(2))
    # Fixes far apart show more of it: told as if they were close together.
    step_s = _median(weight, weight)
    dense = averages_s(SMOOTHING_S, step_s, steps=2) / smooths_s(SMOOTHING_S)
    return Wander(float(np.sqrt(variance * dense)), seen=True)


def _median(values: Floats, weight: Floats) -> float:
    order = np.argsort(values)
    total = np.cumsum(weight[order])
    return float(values[order][np.searchsorted(total, total[-1] / 2)])
