"""Names for the array and geometry types that cross from room to room."""

from typing import TypeAlias

import numpy as np
import numpy.typing as npt
from shapely import MultiPolygon, Polygon

Floats: TypeAlias = npt.NDArray[np.float64]
Ints: TypeAlias = npt.NDArray[np.int64]
Bools: TypeAlias = npt.NDArray[np.bool_]

Area: TypeAlias = Polygon | MultiPolygon
"""A polygonal shape, possibly empty, in metres of a venue's frame."""
