"""One rod on one drift: the unit in which offers and hours are counted."""

from dataclasses import dataclass, field
from datetime import date

from sweptwater.arrays import Floats
from sweptwater.practice.tally import Counts, SetUp, ToldOf

NOT_TOLD = "not told"
"""What stands where nobody wrote anything: it is never guessed."""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """Where a boat was during a drift: (n,) each, times in seconds since 1970 UTC."""

    time_s: Floats
    easting: Floats
    northing: Floats


@dataclass(frozen=True, slots=True)
class Placed:
    """Offers of a rod on a drift with a time or a place of their own.

    Parameters
    ----------
    counts
        How many.
    easting, northing
        Where, in metres.
    time_s
        When, in seconds since 1970 UTC; None if only the place was told.
    """

    counts: Counts
    easting: float
    northing: float
    time_s: float | None


@dataclass(frozen=True, slots=True)
class Stint:
    """One rod on one drift.

    Parameters
    ----------
    day, pair, drift, rod
        Whose, when, which drift by its number, and which rod by its call sign (`bow`
        and `stern` where rods have none).
    way
        Where the boat was.
    fishing_s
        How long it fished.
    source
        `track` or `memory`.
    told, counts, setup
        What was told of it; counts are 0 unless it was tallied.
    placed
        Those of its offers with a time or a place of their own; none beyond `counts`.
    drogue, left_because
        In the words of the tally; empty if not told.
    match
        Whether it was fished as in a match: not at anchor where that is banned.
    """

    day: date
    pair: str
    drift: int
    rod: str
    way: Way
    fishing_s: float
    source: str
    told: ToldOf = ""
    counts: Counts = field(default_factory=Counts)
    setup: SetUp = field(default_factory=SetUp)
    placed: tuple[Placed, ...] = ()
    drogue: str = ""
    left_because: str = ""
    match: bool = True

    @property
    def hours(self) -> float:
        """Rod-hours of fishing."""
        return self.fishing_s / 3600


@dataclass(frozen=True, slots=True)
class Loose:
    """Offers of which nobody told the drift: kept as loose as they were told.

    Parameters
    ----------
    day, pair, rod
        Whose; the rod may be empty.
    counts
        How many.
    text
        When and where, in the words that were used.
    drifts
        The numbers of all drifts of that boat-day that they may belong to.
    setup
        What the rod fished.
    placed
        Their time or place, where that is known and only the rod, or the drift, is not.
    row
        The row of the tally that tells of them.
    """

    day: date
    pair: str
    rod: str
    counts: Counts
    text: str
    drifts: tuple[int, ...]
    setup: SetUp = field(default_factory=SetUp)
    placed: tuple[Placed, ...] = ()
    row: int = field(default=0, compare=False)
