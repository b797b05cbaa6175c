"""What each rod met on each drift: `tally.csv`, in which each row tells of one.

The file can be edited by hand, and is read as `sheets` says.
"""

from dataclasses import dataclass, field
from datetime import date, time
from typing import Literal, TypeAlias

from sweptwater.practice.sheets import Position

ToldOf: TypeAlias = Literal["", "tallied", "blank"]
"""What a row says: not told, tallied, or that nothing happened."""


@dataclass(frozen=True, slots=True)
class Counts:
    """How many fish followed, pulled, were hooked and lost, and were boated."""

    follow: int = 0
    pull: int = 0
    lost: int = 0
    boated: int = 0

    @property
    def offers(self) -> int:
        """All of them together."""
        return self.follow + self.pull + self.lost + self.boated


@dataclass(frozen=True, slots=True)
class SetUp:
    """What a rod fished, as far as it was told.

    Parameters
    ----------
    line
        What it is called; empty if not told.
    sink_in_s, count_s
        Its sink rate in inches a second, and for how many seconds it was let sink.
    retrieve
        How the flies were worked, in the rod's words.
    fly_place, fly
        On which place of the cast the taken fly was, and which.
    """

    line: str = ""
    sink_in_s: float | None = None
    count_s: float | None = None
    retrieve: str = ""
    fly_place: str = ""
    fly: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One row: what was told of a rod on a drift, or more loosely.

    Parameters
    ----------
    day, pair
        Of whose boat, and when.
    start
        When its drift began, local; None if it was told of no one drift.
    drift
        The number people know the drift by; the start counts.
    rod
        `bow` or `stern`, or a rod's call sign; empty if nobody told which.
    told, counts
        What it says.
    setup
        What the rod fished.
    taken, species, drogue, left_because
        Further words; drogue is in, out or empty.
    place, near, when
        Where and when an offer was, if it was told more closely than by its drift, or
        more loosely: a position, a place's name, hours or words like "before lunch".
    note
        What else was said.
    row
        The row in the file as a spreadsheet numbers it.
    """

    day: date
    pair: str
    start: time | None = None
    drift: int | None = None
    rod: str = ""
    told: ToldOf = ""
    counts: Counts = field(default_factory=Counts)
    setup: SetUp = field(default_factory=SetUp)
    taken: str = ""
    species: str = ""
    drogue: str = ""
    left_because: str = ""
    place: Position | None = None
    near: str = ""
    when: str = ""
    note: str = ""
    row: int = field(default=0, compare=False)
