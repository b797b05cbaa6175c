"""Which stretches of shore take which of the names that people gave to banks."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Floats
from sweptwater.water.venue import BankName

STEP_M = 10.0
BESIDE_M = 100.0
"""A line names the shore that it runs along no further off than this."""

ASIDE_M = 20.0
"""And no shore that is so much further off than another."""

COVERED = 0.5
"""A stretch takes the name of a line that runs along more than this share of it."""


@dataclass(frozen=True, slots=True)
class NameLost:
    """A name that a stretch did not take, since another is nearer or longer there."""

    stretch: int
    name: str
    instead: str


def name_stretches(
    shores: Sequence[LineString], names: Sequence[BankName]
) -> tuple[tuple[str, ...], tuple[NameLost, ...]]:
    """Return the name of each stretch of shore, or nothing, and the names that lost.

    A line names each stretch that it covers more than half of, or else, like a point,
    the one that it is nearest to. Of several names for one stretch a line's comes
    first, the one that covers most of it, then the nearest point's.

    Parameters
    ----------
    shores
        The stretches, in metres.
    names
        What people call them, and where.
    """
    claims: dict[int, list[tuple[float, str]]] = {}
    for item in names:
        for part in shapely.get_parts(item.shape):
            for stretch, rank in _claims(shores, part):
                claims.setdefault(stretch, []).append((rank, item.name))
    given = [""] * len(shores)
    lost: dict[NameLost, None] = {}
    for stretch, told in sorted(claims.items()):
        told.sort()
        given[stretch] = told[0][1]
        for _, name in told[1:]:
            if name != told[0][1]:
                lost[NameLost(stretch, name, told[0][1])] = None
    return tuple(given), tuple(lost)


def _claims(
    shores: Sequence[LineString], shape: BaseGeometry
) -> list[tuple[int, float]]:
    """Return the stretches that a point or line names, the strongest claim the least.

    Below nought for lines, by how much they cover; else by how far off they are.
    """
    if not len(shores):
        return []
    if isinstance(shape, LineString):
        covered = _covered(shores, shape)
        stretches = np.flatnonzero(covered > COVERED).tolist()
        if stretches:
            return [(s, -float(covered[s] * shores[s].length)) for s in stretches]
        shape = shape.interpolate(0.5, normalized=True)
    away_m = shapely.distance(np.array(shores, dtype=object), shape)
    nearest = int(away_m.argmin())
    return [(nearest, float(away_m[nearest]))]


def _covered(shores: Sequence[LineString], line: LineString) -> Floats:
    """Return the share of each stretch that a line runs along."""
    every = np.array(shores, dtype=object)
    covered = np.zeros(len(every))
    near = np.flatnonzero(shapely.dwithin(every, line, BESIDE_M))
    shore = shapely.union_all(every[near])
    for index in near.tolist():
        count = max(1, round(shores[index].length / STEP_M))
        middles = (np.arange(count) + 0.5) / count
        places = shapely.line_interpolate_point(shores[index], middles, normalized=True)
        ways = shapely.shortest_line(places, line)
        on_line = shapely.get_point(ways, -1)
        away_m = shapely.length(ways)
        own = away_m <= shapely.distance(on_line, shore) + ASIDE_M
        # Past an end of the line, places look back at it.
        at_m = np.asarray(shapely.line_locate_point(line, np.array(on_line)))
        past = (at_m < 1e-6) | (at_m > line.length - 1e-6)
        beside = (away_m <= BESIDE_M) & own & (~past | (away_m <= ASIDE_M))
        covered[index] = float(beside.mean())
    return covered
