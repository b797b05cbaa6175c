"""How surely a search would have shown what is there: from effort to a chance."""

from math import pi, sqrt

import numpy as np
import numpy.typing as npt
from scipy.special import erf

from sweptwater.arrays import Floats


def coverage_factor(width_m: float, length_m: float, area_m2: float) -> float:
    """Return the area searched, overlaps counted again, as a share of an area.

    References
    ----------
    B. O. Koopman, Search and Screening, 1946 and 1980 (from memory).

    Examples
    --------
    >>> coverage_factor(30, 0.5 * 3 * 3600, 500_000)
    0.324
    """
    return width_m * length_m / area_m2


def haphazard_chance(factor: npt.ArrayLike) -> Floats:
    """Return the chance that something was met by a search without any order.

    1 - exp(-C), Koopman's law of random search: the cautious one. Real crews lie above
    it and below `regular_chance` (abstract of USCG-D-41-80).

    Parameters
    ----------
    factor
        The coverage factor C, 0 or more.

    Examples
    --------
    >>> haphazard_chance([0.0, 1.0]).round(6).tolist()
    [0.0, 0.632121]
    """
    return np.asarray(-np.expm1(-np.asarray(factor, dtype=np.float64)))


def regular_chance(factor: npt.ArrayLike) -> Floats:
    """Return the same for a search in evenly spaced parallel lanes.

    erf(C sqrt(pi) / 2), what lanes yield where the chance falls off with the cube of
    the distance: the best that a regular search can be taken for.

    References
    ----------
    A. Washburn, Search and Detection, 4th ed., section 2.4.

    Examples
    --------
    >>> regular_chance([0.5, 1.0]).round(6).tolist()
    [0.469116, 0.789909]
    """
    return np.asarray(erf(sqrt(pi) / 2 * np.asarray(factor, dtype=np.float64)))


def together(chances: npt.ArrayLike) -> float:
    """Return the chance that at least one of several independent searches met it.

    Examples
    --------
    >>> round(together([0.5, 0.4, 0.3]), 12), together([])
    (0.79, 0.0)
    """
    missed = 1 - np.asarray(chances, dtype=np.float64)
    return float(1 - missed.prod())


def still_to_show(chance: float, goal: float) -> float:
    """Return how sure one more search must be to come from one chance to another.

    Raises
    ------
    ValueError
        If the goal is below what was reached, or all was reached.

    References
    ----------
    J. Frost, note on bridging searches, 28 April 1998.

    Examples
    --------
    >>> round(still_to_show(0.2, 0.8), 12)
    0.75
    """
    if not 0 <= chance <= goal <= 1 or chance == 1:
        raise ValueError("the goal must lie from what was reached up to 1")
    return 1 - (1 - goal) / (1 - chance)


def unlucky_search(where: npt.ArrayLike, chances: npt.ArrayLike) -> Floats:
    """Return where it may be after a search that did not find it, by Bayes' rule.

    Parameters
    ----------
    where
        The chance that it is in each place, (n,); they add up to 1 at the most, and
        what is missing is elsewhere, where nobody searched.
    chances
        The chance that it would have been found if there, (n,).

    Raises
    ------
    ValueError
        If it would surely have been found.

    Examples
    --------
    Two places, the first searched by a half: it was twice as likely, and is no more.

    >>> unlucky_search([2 / 3, 1 / 3], [0.5, 0.0]).round(6).tolist()
    [0.5, 0.5]
    """
    p, found = np.asarray(where, dtype=np.float64), np.asarray(chances, np.float64)
    left = 1 - float(p.sum()) + float(p @ (1 - found))
    if not left > 0:
        raise ValueError("it would surely have been found")
    return np.asarray(p * (1 - found) / left)
