"""The rows of a table of rates."""

from collections.abc import Mapping
from dataclasses import dataclass

from sweptwater.offers.compare import Direction, Verdict


@dataclass(frozen=True, slots=True)
class RateRow:
    """Offers a rod-hour under one set of circumstances.

    Parameters
    ----------
    by
        The circumstances: what is told apart, and what it was here.
    offers, rod_hours, drifts
        Of drifts that were told; a drift counts where most of it was.
    rate, low, high
        Offers a rod-hour, and the range that holds the truth 95 times in 100; None
        where nothing was told.
    exact_low, exact_high
        The same range without any start from the practice's mean.
    verdict, direction
        Whether this differs from those that it was held against, and how.
    against_offers, against_rod_hours
        Those, together: of a table by two things the rows that share the second, of any
        other all; but none of which the circumstances are not known.
    untold_rod_hours
        Fished here, but nobody told what happened.
    fished_rod_hours
        All that was fished here, told or not, to the minute.
    """

    by: Mapping[str, str]
    offers: int
    rod_hours: float
    drifts: int
    rate: float | None
    low: float | None
    high: float | None
    exact_low: float | None
    exact_high: float | None
    verdict: Verdict
    direction: Direction
    untold_rod_hours: float
    fished_rod_hours: float
    against_offers: int = 0
    against_rod_hours: float = 0.0
