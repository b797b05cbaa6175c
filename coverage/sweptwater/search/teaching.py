"""What offers teach of water like that in which they came."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sweptwater.arrays import Floats, Ints
from sweptwater.practice.search import SearchRules
from sweptwater.search.passes import Passed
from sweptwater.search.squares import Squares
from sweptwater.units import FOOT_M

BEDS_M = (8 * FOOT_M, 15 * FOOT_M, 25 * FOOT_M)


@dataclass(frozen=True, slots=True)
class Lesson:
    """How much more, or less, one kind of water has met than all has.

    Parameters
    ----------
    of, kind
        What it tells apart (`shore`, `layer` or `bed`) and which of these it is, by its
        place in their order.
    offers, hours
        What was told there.
    expected
        The offers that these hours would have brought at the practice's mean.
    times
        So many times as likely such water is taken to be.
    """

    of: str
    kind: int
    offers: float
    hours: float
    expected: float
    times: float


def lesson_times(offers: float, expected: float, believe: float) -> float:
    """Return how many times as likely offers make a kind of water.

    (k + x) / (k + e): the mean of a Gamma that begins at 1 with the weight of k offers.

    Examples
    --------
    >>> lesson_times(9, 3, believe=3), lesson_times(0, 3, believe=3)
    (2.0, 0.5)
    """
    return (believe + offers) / (believe + expected)


def lessons(
    passed: Passed,
    squares: Squares,
    rules: SearchRules,
    *,
    factor: float = 1.0,
    beds_m: Sequence[float] = BEDS_M,
) -> tuple[Lesson, ...]:
    """Return what the offers of told passes teach, kind by kind.

    Each kind is held against the mean of all. A pass counts in each by the part of it
    that lay there; one whose layer nobody knows teaches nothing of layers.

    Parameters
    ----------
    factor
        How clustered offers are (`offers.clusters`): so many make one.
    beds_m
        The edges between bands of water depth.
    """
    told = np.array([p.told for p in passed.passes], dtype=bool)
    hours = np.array([p.hours for p in passed.passes]) * told
    offers = np.array([p.offers for p in passed.passes], dtype=float) * told / factor
    if not hours.sum() > 0:
        return ()
    mean = offers.sum() / hours.sum()
    layer = np.array([-1 if p.layer is None else p.layer for p in passed.passes])
    kinds = {
        "shore": kinds_of_shore(squares)[passed.square],
        "layer": layer[passed.number],
        "bed": kinds_of_bed(squares, beds_m)[passed.square],
    }
    found = []
    for of, kind in kinds.items():
        for one in np.unique(kind[kind >= 0]).tolist():
            mine = kind == one
            part = np.bincount(
                passed.number[mine], passed.part[mine], minlength=len(hours)
            )
            x, t = float(offers @ part), float(hours @ part)
            times = lesson_times(x, mean * t, rules.believe)
            found.append(Lesson(of, int(one), x * factor, t, mean * t * factor, times))
    return tuple(found)


def kinds_of_shore(squares: Squares) -> Ints:
    """Return 1 for the squares in a bank's water, and 0 for the open, (n,)."""
    return squares.by_bank.astype(int)


def kinds_of_bed(squares: Squares, beds_m: Sequence[float] = BEDS_M) -> Ints:
    """Return the band of each square's depth, from the shallowest; -1 if unknown."""
    band = np.digitize(np.nan_to_num(squares.depth_m), beds_m)
    return np.where(np.isfinite(squares.depth_m), band, -1)


def taught(
    squares: Squares, found: Sequence[Lesson], beds_m: Sequence[float] = BEDS_M
) -> Floats:
    """Return how many times as likely each square and layer is, (n, layers).

    The square root of what shore, layer and bed say together: they speak of the same
    few offers, and say much of it twice.
    """
    times: Mapping[tuple[str, int], float] = {
        (one.of, one.kind): one.times for one in found
    }
    shore = np.array([times.get(("shore", kind), 1.0) for kind in (0, 1)])
    layer = [times.get(("layer", kind), 1.0) for kind in range(len(squares.layers))]
    bed = np.array([times.get(("bed", k), 1.0) for k in range(len(beds_m) + 1)] + [1.0])
    square = shore[kinds_of_shore(squares)] * bed[kinds_of_bed(squares, beds_m)]
    return np.sqrt(square[:, None] * np.array(layer)[None, :])
