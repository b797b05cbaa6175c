"""Where something may be after a search that did not find it: a judge of beliefs."""

import numpy as np
import numpy.typing as npt

from sweptwater.arrays import Floats


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
