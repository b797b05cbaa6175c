"""Runs of fixes with the same value, within a stretch of record."""

import numpy as np

from sweptwater.arrays import Bools, Floats, Ints
from sweptwater.tracks.smooth import Path


def runs(values: np.ndarray, stretch: Ints) -> tuple[Ints, Ints]:
    """Return first indices and past-the-end indices of runs of equal value.

    Runs also end where a stretch of record ends.

    Examples
    --------
    >>> starts, ends = runs(np.array([1, 1, 0, 0]), np.array([0, 0, 0, 1]))
    >>> starts.tolist(), ends.tolist()
    ([0, 2, 3], [2, 3, 4])
    """
    change = (np.diff(values) != 0) | (np.diff(stretch) != 0)
    starts = np.concatenate([[0], 1 + np.flatnonzero(change)])[: len(values)]
    return starts, np.append(starts, len(values))[1:]


def weights_s(path: Path) -> Floats:
    """Return the time that each fix stands for: half of each step beside it."""
    half = np.where(np.diff(path.stretch) == 0, np.diff(path.time_s), 0.0) / 2
    if not len(path.time_s):
        return half
    return np.append(half, 0.0) + np.insert(half, 0, 0.0)


def lasted_s(path: Path, starts: Ints, ends: Ints) -> Floats:
    """Return how long each run lasted, half a step to its neighbours included."""
    total = np.concatenate([[0.0], np.cumsum(weights_s(path))])
    return total[ends] - total[starts]


def long_enough(marked: Bools, path: Path, least_s: float) -> Bools:
    """Return the marks whose run lasts at least so long."""
    if not len(marked):
        return marked
    starts, ends = runs(marked, path.stretch)
    lasting = lasted_s(path, starts, ends) >= least_s
    return marked & np.repeat(lasting, ends - starts)
