"""What drifts searched, square by square and layer by layer."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.practice.search import SearchRules
from sweptwater.search.squares import Squares


@dataclass(frozen=True, slots=True, eq=False)
class Pass:
    """One rod on one drift, as it searched.

    Parameters
    ----------
    day, pair, drift
        Which drift it was.
    end_s
        When it ended, in seconds since 1970 UTC.
    swept
        The water that the boat's rods reached, in metres.
    searched_m2
        How much of that this rod's fly searched, overlaps counted again.
    layer
        In which layer, by its place from the top; None if nobody knows.
    sky
        The light, in words.
    told, offers, hours
        Whether anybody told what it met, how much that was, and its rod-hours.
    """

    day: date
    pair: str
    drift: int
    end_s: float
    swept: Area
    searched_m2: float
    layer: int | None
    sky: str
    told: bool
    offers: int = 0
    hours: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Passed:
    """The squares that passes went over: one entry a pass and square.

    Parameters
    ----------
    passes
        All of them.
    number, square
        Which pass went over which square, (m,) each.
    part
        The part of the pass that this square had, (m,): a pass's add up to one.
    """

    passes: tuple[Pass, ...]
    number: Ints
    square: Ints
    part: Floats


def pass_over(passes: Sequence[Pass], squares: Squares) -> Passed:
    """Return the squares that each pass went over.

    Those whose middle was swept; a drift too short for any is in the nearest one. So
    what is searched of the squares adds up to what was searched.
    """
    shapes = {id(one.swept): one.swept for one in passes}  # two rods share one
    swept = np.array(list(shapes.values()), dtype=object)
    place = {key: number for number, key in enumerate(shapes)}
    tree = shapely.STRtree(squares.points)
    drift, square = tree.query(swept, predicate="intersects")
    missed = np.setdiff1d(np.arange(len(swept)), drift)
    missed = missed[~shapely.is_empty(swept[missed])]
    nearest = tree.nearest(swept[missed]) if len(missed) else missed
    drift, square = np.append(drift, missed), np.append(square, nearest)
    order = np.argsort(drift, kind="stable")
    drift, square = drift[order], square[order]
    first = np.searchsorted(drift, np.arange(len(swept) + 1))
    numbers, which, parts = [], [], []
    for number, one in enumerate(passes):
        at = place[id(one.swept)]
        mine = square[first[at] : first[at + 1]]
        numbers.append(np.full(len(mine), number))
        which.append(mine)
        parts.append(np.full(len(mine), 1 / max(len(mine), 1)))
    nothing = np.zeros(0, dtype=int)
    return Passed(
        tuple(passes),
        np.concatenate([nothing, *numbers]),
        np.concatenate([nothing, *which]),
        np.concatenate([np.zeros(0), *parts]),
    )


def searched(
    passed: Passed,
    squares: Squares,
    left: Floats,
    rules: SearchRules,
    *,
    sky: str | None = None,
    since_s: Floats | None = None,
) -> Floats:
    """Return the coverage factor of each square and layer, (n, layers).

    How often over it was searched, counting what is left of it: aged, in the light that
    is asked for, and told. Two rods in one layer count at the most for the water that
    the boat reached. All that times `together`, k: of so many fish that lie together
    each may show, and one that does tells of all: 1 - (1 - p)^k = 1 - exp(-k C).

    Parameters
    ----------
    left
        What is left of each pass by its age, (passes,).
    sky
        The light that counts fully; None if all do.
    since_s
        What ended before this is void in a square, (n,).
    """
    factor = np.zeros(squares.there.shape)
    if not passed.passes:
        return factor
    share = _at_most_swept(passed.passes) * left
    for number, one in enumerate(passed.passes):
        share[number] *= 1.0 if one.told else rules.not_told
        share[number] *= 1.0 if sky in (None, one.sky) else rules.other_light
    area = np.array([one.searched_m2 for one in passed.passes]) * share
    each = area[passed.number] * passed.part / squares.area_m2 * rules.together
    if since_s is not None:
        ends_s = np.array([one.end_s for one in passed.passes])
        each = np.where(ends_s[passed.number] < since_s[passed.square], 0.0, each)
    deepest = squares.there.sum(axis=1) - 1
    layer = np.array([-1 if p.layer is None else p.layer for p in passed.passes])
    level = layer[passed.number]
    known = level >= 0
    # A fly that was let sink below the bed lay on it.
    at = np.minimum(level[known], deepest[passed.square[known]])
    np.add.at(factor, (passed.square[known], at), each[known])
    somewhere = np.bincount(passed.square[~known], each[~known], minlength=len(squares))
    return factor + squares.there * (somewhere / (deepest + 1))[:, None]


def looks(passed: Passed, squares: Squares) -> Ints:
    """Return in how many ways each square was fished, (n,): by layer and light."""
    ways = sorted({(str(one.layer), one.sky) for one in passed.passes})
    way = np.array([ways.index((str(p.layer), p.sky)) for p in passed.passes], int)
    seen = np.zeros((len(squares), len(ways)), dtype=bool)
    seen[passed.square, way[passed.number]] = True
    return np.asarray(seen.sum(axis=1))


def _at_most_swept(passes: Sequence[Pass]) -> Floats:
    """Return what part of each pass counts, so that no layer counts above the swept."""
    sums: dict[tuple[date, str, int, int | None], float] = {}
    for one in passes:
        key = (one.day, one.pair, one.drift, one.layer)
        sums[key] = sums.get(key, 0.0) + one.searched_m2
    return np.array(
        [
            min(1.0, p.swept.area / max(sums[p.day, p.pair, p.drift, p.layer], 1e-9))
            for p in passes
        ]
    )
