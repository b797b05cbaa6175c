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
