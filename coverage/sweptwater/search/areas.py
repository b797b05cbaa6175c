"""Water by how likely fish are that nobody has met: what a map of belief shows."""

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats
from sweptwater.search.squares import Squares
from sweptwater.water.shapes import polygonal

TIMES = (0.5, 1.0, 2.0)
"""The edges between classes: so many times what the water has in the mean."""


def by_likelihood(
    squares: Squares, likely: Floats, water: Area, times: tuple[float, ...] = TIMES
) -> tuple[Area, ...]:
    """Return the water by classes of what is believed of it, the least likely first.

    They do not overlap, and make up the water but for its edge, which squares cover
    only where their middle is on the water.

    Parameters
    ----------
    likely
        The weight of each square, (n,).
    water
        The fishable water, in metres.
    times
        The edges between classes, as times the mean.

    Examples
    --------
    >>> from sweptwater.search.squares import lay_squares
    >>> pool = shapely.box(0, 0, 500, 500)
    >>> squares = lay_squares(pool, {}, (), layers=["all"], tops_m=[0])
    >>> likely = np.where(squares.easting < 250, 1.0, 3.0)
    >>> [round(area.area) for area in by_likelihood(squares, likely, pool)]
    [0, 125000, 125000, 0]
    """
    mean = float(likely.mean()) or 1.0
    kind = np.digitize(likely / mean, times)
    return tuple(
        polygonal(shapely.intersection(squares.water_of(kind == one), water))
        for one in range(len(times) + 1)
    )
