"""What each rod met on each drift: `tally.csv`, in which each row tells of one.

The file can be edited by hand, and is read as `sheets` says (see `tally_rows`). It
keeps the columns of others, and what is overwritten goes to a file beside it.
"""

from dataclasses import dataclass, field
from datetime import date, time
from typing import Literal, TypeAlias

from sweptwater.practice.sheets import Form, Position

TALLY = "tally.csv"
BEFORE = "tally-before.csv"
"""Rows as they stood before something else was told."""

NOT_READ = "tally-not-read.csv"
"""Rows of other files that could not be understood, with the reason."""

FORM = Form(
    TALLY,
    columns=(
        *("day", "pair", "drift", "start", "rod", "told"),
        *("follow", "pull", "lost", "boated"),
        *("line", "sink_in_s", "count_s", "retrieve", "taken", "fly_place", "fly"),
        *("species", "drogue", "left_because", "lat", "lon", "time", "note"),
    ),
    needed=("day", "pair"),
    commas=("sink_in_s", "count_s", "lat", "lon"),
)
IF_NEEDED = ("offers", "near")
"""Further columns, made where a row needs them: offers whose kind nobody told, and a
place in words."""

ToldOf: TypeAlias = Literal["", "tallied", "blank"]
"""What a row says: not told, tallied, or that nothing happened."""


@dataclass(frozen=True, slots=True)
class Counts:
    """How many fish followed, pulled, were hooked and lost, and were boated.

    Parameters
    ----------
    unsaid
        Further offers, of which nobody told the kind.
    """

    follow: int = 0
    pull: int = 0
    lost: int = 0
    boated: int = 0
    unsaid: int = 0

    @property
    def offers(self) -> int:
        """All of them together."""
        return sum(self.of_kind) + self.unsaid

    @property
    def of_kind(self) -> tuple[int, int, int, int]:
        """Those of which the kind was told, kind by kind."""
        return self.follow, self.pull, self.lost, self.boated

    def __add__(self, other: "Counts") -> "Counts":
        """Return both together."""
        return Counts(
            self.follow + other.follow,
            self.pull + other.pull,
            self.lost + other.lost,
            self.boated + other.boated,
            self.unsaid + other.unsaid,
        )

    def at_least(self, other: "Counts") -> "Counts":
        """Return the larger of two tellings of the same, kind by kind.

        Examples
        --------
        >>> Counts(follow=2, boated=1).at_least(Counts(boated=2))
        Counts(follow=2, pull=0, lost=0, boated=2, unsaid=0)
        >>> Counts(unsaid=3).at_least(Counts(boated=2))  # two of the three
        Counts(follow=0, pull=0, lost=0, boated=2, unsaid=1)
        """
        follow, pull, lost, boated = map(max, self.of_kind, other.of_kind)
        kinds = follow + pull + lost + boated
        beyond = max(self.offers, other.offers) - kinds
        return Counts(follow, pull, lost, boated, unsaid=max(0, beyond))


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

    @property
    def loose(self) -> bool:
        """Whether it names no drift."""
        return self.start is None and self.drift is None
