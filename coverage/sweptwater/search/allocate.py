"""Sharing out hours so that they do most good: the classical optimum in closed form."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sweptwater.arrays import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Allocation:
    """Hours shared out over places.

    Parameters
    ----------
    hours
        For each place, (n,).
    level
        What one more hour would bring, in each place that has some: elsewhere it would
        bring no more.
    gain
        The chance that what is sought is found by them.
    """

    hours: Floats
    level: float
    gain: float


def allocate(
    where: npt.ArrayLike, rates: npt.ArrayLike, total_hours: float
) -> Allocation:
    """Return the hours for each place that make finding it most likely.

    An hour in place i finds it with the chance 1 - exp(-a_i z_i) if it is there. The
    best hours are z_i = max(0, ln(p_i a_i / level) / a_i), with the level at which
    they add up (water-filling). Sorted by p a, the level lies between two of these, and
    is known exactly there: no iteration.

    Parameters
    ----------
    where
        p, the chance or weight that it is in each place, (n,); 0 or more.
    rates
        a, by how much of each place an hour covers, (n,); 0 where none can be spent.
    total_hours
        How much there is to share out.

    Raises
    ------
    ValueError
        If there are hours, and no place where one could do good.

    References
    ----------
    B. O. Koopman 1957; A. Charnes and W. W. Cooper 1958; L. D. Stone, Theory of Optimal
    Search, 1975, section 2.2.

    Examples
    --------
    >>> best = allocate([0.5, 0.3, 0.2], [1, 1, 1], 1)
    >>> best.hours.round(5).tolist(), round(best.level, 6), round(best.gain, 6)
    ([0.75541, 0.24459, 0.0], 0.234908, 0.330183)
    """
    p, a = np.asarray(where, dtype=np.float64), np.asarray(rates, dtype=np.float64)
    hours = np.zeros(len(p))
    good = np.flatnonzero((p > 0) & (a > 0))
    if not total_hours > 0:
        best = float((p * a).max(initial=0.0))
        return Allocation(hours, best, 0.0)
    if not len(good):
        raise ValueError("there is no place where an hour could do good")
    worth = p[good] * a[good]
    order = good[np.argsort(-worth, kind="stable")]
    log_worth = np.log(p[order] * a[order])
    # With the first k places in use: sum of (ln(p a) - ln level) / a is the total.
    inverse = np.cumsum(1 / a[order])
    log_level = (np.cumsum(log_worth / a[order]) - total_hours) / inverse
    # The first k whose level is not below the next place's worth.
    ahead = np.append(log_worth[1:], -np.inf)
    count = int(np.argmax(log_level >= ahead)) + 1
    used = order[:count]
    level = log_level[count - 1]
    hours[used] = np.maximum(0.0, log_worth[:count] - level) / a[used]
    gain = float(p[used] @ -np.expm1(-a[used] * hours[used]))
    return Allocation(hours, float(np.exp(level)), gain)
