"""Where offers were, as far as it was told."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from sweptwater.offers.stints import Stint
from sweptwater.practice.tally import Counts


@dataclass(frozen=True, slots=True)
class OfferPlace:
    """Offers of a rod on a drift, at one place, in metres.

    Parameters
    ----------
    stint, counts
        Whose, and how many.
    exact
        Whether the place was told; else it is the middle of the drift.
    """

    stint: Stint
    counts: Counts
    easting: float
    northing: float
    exact: bool


def offer_places(stints: Iterable[Stint]) -> Iterator[OfferPlace]:
    """Yield the offers of stints at their places, or at the middle of their drift."""
    for stint in stints:
        left = stint.counts
        for one in stint.placed:
            yield OfferPlace(stint, one.counts, one.easting, one.northing, exact=True)
            left = _less(left, one.counts)
        if left.offers:
            way = stint.way
            middle_s = (way.time_s[0] + way.time_s[-1]) / 2
            east = float(np.interp(middle_s, way.time_s, way.easting))
            north = float(np.interp(middle_s, way.time_s, way.northing))
            yield OfferPlace(stint, left, east, north, exact=False)


def _less(whole: Counts, part: Counts) -> Counts:
    return Counts(
        max(whole.follow - part.follow, 0),
        max(whole.pull - part.pull, 0),
        max(whole.lost - part.lost, 0),
        max(whole.boated - part.boated, 0),
    )
