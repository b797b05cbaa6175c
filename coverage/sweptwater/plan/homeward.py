"""When a boat must leave a place, to be where it must be when lines are up."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from sweptwater.arrays import Floats
from sweptwater.practice.match import MatchRules
from sweptwater.water.ways import Ways


@dataclass(frozen=True, slots=True)
class Homeward:
    """The way home from a place: metres, seconds.

    Parameters
    ----------
    way_m, run_s
        By water, and what it takes; infinite where no water leads home.
    leave_by
        When to leave, to the whole minute before; None where no water leads home.
    """

    way_m: float
    run_s: float
    leave_by: datetime | None


def leave_by(run_s: float, lines_up: datetime, spare_s: float) -> datetime:
    """Return when to leave, with some time in hand, to the whole minute before.

    Parameters
    ----------
    run_s, spare_s
        What the run takes, and what is kept in hand.
    lines_up
        When to be there.

    Examples
    --------
    1.9 miles at 4 mph are 28.5 minutes; ten in hand:

    >>> leave_by(28.5 * 60, datetime(2027, 6, 12, 18), 600)
    datetime.datetime(2027, 6, 12, 17, 21)
    >>> leave_by(1800, datetime(2027, 6, 12, 18), 600)
    datetime.datetime(2027, 6, 12, 17, 20)
    """
    # Whole microseconds: what sums lose must not cost a minute.
    exact = lines_up - timedelta(seconds=run_s + spare_s)
    return exact.replace(second=0, microsecond=0)


def homewards(
    ways: Ways,
    places: Floats,
    home: Floats,
    rules: MatchRules,
    lines_up: datetime,
) -> tuple[Homeward, ...]:
    """Return the ways home from some places.

    Parameters
    ----------
    places, home
        In metres, (n, 2), and where the boats must be at the end, (2,).
    lines_up
        When they must be there, on the practice's clock.
    """
    if not len(places):
        return ()
    ways_m: Sequence[float] = ways.lengths_m(places, home[None])[:, 0].tolist()

    def each() -> Iterator[Homeward]:
        for way_m in ways_m:
            run_s = way_m / rules.motoring_m_s
            at = None
            if np.isfinite(run_s):
                at = leave_by(run_s, lines_up, rules.spare_s)
            yield Homeward(way_m, run_s, at)

    return tuple(each())
