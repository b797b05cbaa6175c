"""Finds: places where offers came, with what they are worth by now."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, TypeAlias

State: TypeAlias = Literal["fresh", "stale", "pressed", "resting"]


@dataclass(frozen=True, slots=True)
class Pricked:
    """Fish that one boat pricked on one drift: its day, and when the drift ended."""

    day: date
    time_s: float
    count: int


@dataclass(frozen=True, slots=True)
class Find:
    """A place where offers came: metres, seconds since 1970 UTC, rod-hours.

    Parameters
    ----------
    number
        Counting from 1, the one that is worth most first.
    easting, northing
        The middle of its offers.
    bank, sector
        The number of the bank whose water that is, or that it is named by, None in open
        water; and the name of the sector, None outside all.
    drifts
        The drifts that met something there, by day, pair and number.
    offers, pricked
        What was told there; of those, fish that were pricked: pulled, lost or boated.
        An offer of which nobody told the kind is none of them.
    rod_hours
        All that was told there, blanks too.
    rate, low, high
        Offers a rod-hour, with the range that holds the truth 95 times in 100; None
        where nobody knows how long it was fished.
    by_layer, by_line, by_sky
        The offers by what they came in.
    first_s, last_s
        The beginning of the first and the end of the last drift with an offer.
    left
        What is left of what was learned, from 1 down to 0: see `ageing`.
    states
        `stale`, `pressed` and `resting` as far as they are so, else `fresh` alone.
    why
        The reasons for its states, a few words each.
    pricks
        The fish that were pricked, drift by drift.
    """

    number: int
    easting: float
    northing: float
    bank: int | None
    sector: str | None
    drifts: tuple[tuple[date, str, int], ...]
    offers: int
    pricked: int
    rod_hours: float
    rate: float | None
    low: float | None
    high: float | None
    first_s: float
    last_s: float
    by_layer: Mapping[str, int] = field(default_factory=dict)
    by_line: Mapping[str, int] = field(default_factory=dict)
    by_sky: Mapping[str, int] = field(default_factory=dict)
    left: float = 1.0
    states: tuple[State, ...] = ("fresh",)
    why: tuple[str, ...] = ()
    pricks: tuple[Pricked, ...] = ()

    @property
    def trusted(self) -> bool:
        """Whether two boats met it, or one on two days."""
        return len({(day, pair) for day, pair, _ in self.drifts}) > 1

    @property
    def good(self) -> bool:
        """Whether it can be started on: trusted and fresh."""
        return self.trusted and self.states == ("fresh",)
