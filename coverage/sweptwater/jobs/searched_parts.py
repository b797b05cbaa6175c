"""The swept water once more, by the layer that flies were in and by the light."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence

import shapely

from sweptwater.arrays import Area
from sweptwater.jobs.searched import NOT_KNOWN, SoFished, Which
from sweptwater.offers.sky import SKIES
from sweptwater.offers.stints import NOT_TOLD
from sweptwater.swept.boats import BoatDay
from sweptwater.water.shapes import GRID_M, polygonal


def swept_by_layer(
    boats: Sequence[BoatDay], how: Mapping[Which, SoFished], layers: Sequence[str]
) -> dict[str, Area]:
    """Return the water swept with flies in each layer, the deepest first.

    Last comes what drifts swept of which nobody told the layer. Empty where nobody
    told any.

    Parameters
    ----------
    how
        The layers and the light of each drift (`searched.fished_layers`).
    layers
        The names of the layers, from the top down.
    """
    return _swept_by(boats, how, lambda fished: fished[0], [*reversed(layers)])


def swept_by_light(
    boats: Sequence[BoatDay], how: Mapping[Which, SoFished]
) -> dict[str, Area]:
    """Return the water swept in each light, and last that of a light not told."""
    return _swept_by(boats, how, lambda fished: (fished[1],), SKIES)


def _swept_by(
    boats: Sequence[BoatDay],
    how: Mapping[Which, SoFished],
    kinds_of: Callable[[SoFished], Iterable[str]],
    order: Sequence[str],
) -> dict[str, Area]:
    shapes: defaultdict[str, list[Area]] = defaultdict(list)
    for boat in boats:
        for drift, swept in zip(boat.afloat.drifts, boat.swept, strict=True):
            fished = how.get((boat.day, boat.pair, drift.start_s), NOT_KNOWN)
            for kind in kinds_of(fished):
                shapes[kind].append(swept)
    if not shapes.keys() - {NOT_TOLD}:
        return {}
    return {
        kind: polygonal(shapely.union_all(shapes[kind], grid_size=GRID_M))
        for kind in (*order, NOT_TOLD)
        if kind in shapes
    }
