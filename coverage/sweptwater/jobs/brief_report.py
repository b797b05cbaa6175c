"""What a match brief tells: the fields are the JSON keys, all texts ready to print."""

from dataclasses import dataclass
from datetime import date

from sweptwater.jobs.starts_report import StartsReport


@dataclass(frozen=True, slots=True)
class Trigger:
    """When something happens, what a rod does."""

    when: str
    do: str


@dataclass(frozen=True, slots=True)
class Card:
    """What one rod learns by heart.

    Parameters
    ----------
    rod, boat
        Who; and the pair whose boat it is in, None where it is drawn with another.
    lines
        A word each with what it stands for, in the order in which they are needed.
    """

    rod: str
    boat: str | None
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class KnownPlace:
    """A place, what was met there, and how sure that is.

    Parameters
    ----------
    place
        Where.
    rods
        Who starts there, or goes there next; empty for nobody.
    line
        What met most there; empty if nobody told.
    met, sure
        What was met, or why it looks good; and how far that can be trusted.
    """

    place: str
    rods: str
    line: str
    met: str
    sure: str


@dataclass(frozen=True, slots=True)
class BriefReport:
    """The match brief.

    Parameters
    ----------
    stay_ashore
        Whether wind or gusts are more than this practice goes afloat in.
    first
        What comes before all else: the caution about gusts.
    conditions
        Wind, sky and sun of the day, and what was last noted of the water.
    times, rules
        When and where; and what the match allows.
    triggers
        What to do when light, wind or luck change.
    known, unknown
        What the practice taught, and how surely; and what nobody knows.
    places
        The finds, the best first, then water that rods start at and nobody tried.
    closed
        What is out of bounds.
    cautions
        How to stay safe.
    cards
        One a rod, in the order of the starts.
    starts
        The figures behind it.
    """

    practice: str
    day: date
    stay_ashore: bool
    first: str
    conditions: tuple[str, ...]
    times: tuple[str, ...]
    rules: tuple[str, ...]
    triggers: tuple[Trigger, ...]
    known: tuple[str, ...]
    places: tuple[KnownPlace, ...]
    unknown: tuple[str, ...]
    closed: tuple[str, ...]
    cautions: tuple[str, ...]
    cards: tuple[Card, ...]
    starts: StartsReport
