"""What water weighs, by grains: quick to weigh again and again, and near enough."""

from collections.abc import Sequence

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats

MOST_GRAINS = 30_000


class Grains:
    """Weights at places.

    Parameters
    ----------
    places
        Shape (n, 2), in metres.
    weights
        Of each place, shape (n,).

    Examples
    --------
    >>> grains = area_grains(shapely.box(0, 0, 100, 100))
    >>> abs(grains.within(shapely.box(0, 0, 50, 100)) - 5000) < 50
    True
    """

    def __init__(self, places: Floats, weights: Floats) -> None:
        self._places, self._weights = places, weights

    def within(self, area: Area) -> float:
        """Return the weight of what lies within an area."""
        shapely.prepare(area)
        return float(self._weights[shapely.contains_xy(area, self._places)].sum())


def area_grains(area: Area) -> Grains:
    """Return the grains of an area, its square metres spread over them."""
    if area.is_empty:
        return Grains(np.zeros((0, 2)), np.zeros(0))
    west, south, east, north = area.bounds
    whole_m2 = (east - west) * (north - south)
    # As many as will lie within, however thin it is.
    step_m = max(float(np.sqrt(area.area / MOST_GRAINS)), np.sqrt(whole_m2 / 4e6))
    x, y = (
        axis.ravel()
        for axis in np.meshgrid(
            np.arange(west + step_m / 2, east, step_m),
            np.arange(south + step_m / 2, north, step_m),
        )
    )
    shapely.prepare(area)
    inside = shapely.contains_xy(area, x, y)
    places = np.column_stack([x[inside], y[inside]])
    if not len(places):
        places = shapely.get_coordinates(area.representative_point())
    return Grains(places, np.full(len(places), area.area / len(places)))


def piece_grains(pieces: Sequence[Area], weights: Floats) -> Grains:
    """Return a grain for each of some pieces of water, such as those before a shore."""
    return Grains(shapely.get_coordinates(shapely.point_on_surface(pieces)), weights)
