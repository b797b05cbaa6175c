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
    """Return what is left of some offers; of those of no kind it is whatever is left.

    Examples
    --------
    >>> _less(Counts(pull=1, unsaid=2), Counts(pull=1))
    Counts(follow=0, pull=0, lost=0, boated=0, unsaid=2)
    """
    follow, pull, lost, boated = (
        max(all_of - some, 0)
        for all_of, some in zip(whole.of_kind, part.of_kind, strict=True)
    )
    kinds = follow + pull + lost + boated
    beyond = whole.offers - part.offers - kinds
    return Counts(follow, pull, lost, boated, unsaid=max(0, beyond))
