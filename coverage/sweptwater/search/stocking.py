"""What stocking does to what was learned: of fresh fish nobody knows anything."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from sweptwater.arrays import Floats
from sweptwater.practice.search import SearchRules
from sweptwater.search.squares import Squares


class Stocking(Protocol):
    """When fish were put in, in seconds since 1970 UTC, and where, in metres."""

    @property
    def time_s(self) -> float:
        """When."""

    @property
    def easting(self) -> float | None:
        """Where; None if nobody knows."""

    @property
    def northing(self) -> float | None:
        """Where; None if nobody knows."""


@dataclass(frozen=True, slots=True, eq=False)
class Stocked:
    """What stocking did to each square: (n,) each.

    Parameters
    ----------
    since_s
        What was learned before this time is void; -inf where nothing was stocked.
    times
        How many times as likely a fish is there.
    """

    since_s: Floats
    times: Floats


def after_stocking(
    squares: Squares,
    stocked: Sequence[Stocking],
    now_s: float,
    rules: SearchRules,
) -> Stocked:
    """Return what stocking did to each square, by a time.

    Within `stocked_within_m` what was learned before is void, and fish are
    `stocked_counts` times as likely. Fish spread out: that falls off by half in a
    half-life of what is learned. One of which nobody knows the place does nothing.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> import shapely
    >>> from sweptwater.search.squares import lay_squares
    >>> pool = shapely.box(0, 0, 1000, 1000)
    >>> squares = lay_squares(pool, {}, (), layers=["all"], tops_m=[0])
    >>> rules = SearchRules(stocked_within_m=300, stocked_counts=3, half_life_s=100)
    >>> put_in = SimpleNamespace(time_s=0.0, easting=0.0, northing=0.0)
    >>> found = after_stocking(squares, [put_in], 100.0, rules)
    >>> float(found.times.max()), float(found.times.min())
    (2.0, 1.0)
    """
    since_s, times = np.full(len(squares), -np.inf), np.ones(len(squares))
    for one in stocked:
        if one.easting is None or one.northing is None or one.time_s > now_s:
            continue
        away_m = np.hypot(
            squares.easting - one.easting, squares.northing - one.northing
        )
        near = away_m <= rules.stocked_within_m
        left = 0.5 ** ((now_s - one.time_s) / rules.half_life_s)
        since_s[near] = np.maximum(since_s[near], one.time_s)
        times[near] = np.maximum(times[near], 1 + (rules.stocked_counts - 1) * left)
    return Stocked(since_s, times)
