"""What is told of where to start a match: the fields are the JSON keys."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, TypeAlias

from sweptwater.plan.legal import Cut
from sweptwater.practice.outing import Drogue

LineFrom: TypeAlias = Literal["met here", "met here in other light", "reckoned"]
"""How it is known which line to fish."""


@dataclass(frozen=True, slots=True)
class LineFor:
    """A line for one light, for how many seconds to let it sink, and whence.

    `count_s` is None where nobody told it.
    """

    line: str
    count_s: float | None
    known_from: LineFrom


@dataclass(frozen=True, slots=True)
class DriftLine:
    """The longest drift past a place that the rules allow: metres, seconds, degrees.

    Parameters
    ----------
    course_deg, length_m, up_m, down_m, passing_m, aside_m
        See `plan.legal`.
    cut_by, short_m
        What it ends before, and how far short of that.
    drogue_in_s, drogue_out_s
        What it takes.
    """

    from_lat: float
    from_lon: float
    to_lat: float
    to_lon: float
    course_deg: float
    length_m: float
    up_m: float
    down_m: float
    passing_m: float
    aside_m: float
    cut_by: Cut
    short_m: float
    drogue_in_s: float
    drogue_out_s: float


@dataclass(frozen=True, slots=True)
class Spot:
    """A place to start at, or to go on to: metres, seconds, offers a rod-hour.

    Parameters
    ----------
    place, lat, lon, bank, sector
        Where: in words, in degrees, by the bank's number, by the sector's name.
    find
        Its number; None for water that nobody has tried enough.
    layer
        How deep fish were met, or may be.
    sun, cloud
        What to fish there in each light.
    drift
        In the forecast's wind; None where nothing is known of it or it cannot be done.
    home_m, home_s, leave_by
        The way home by water, what it takes, and when to leave for it.
    offers, rod_hours, low, high, left, states
        What was told there, what rate that bears, and what is left of it: see `Find`.
        None of water without a find.
    doubt
        How sure it is, in words.
    why
        Why to start there, in a few words each.
    """

    place: str
    lat: float
    lon: float
    bank: int | None
    sector: str | None
    find: int | None
    layer: str
    sun: LineFor
    cloud: LineFor
    drift: DriftLine | None
    home_m: float | None
    home_s: float | None
    leave_by: datetime | None
    offers: int | None
    rod_hours: float | None
    low: float | None
    high: float | None
    left: float | None
    states: tuple[str, ...]
    doubt: str
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StartRow:
    """Where one rod starts.

    Parameters
    ----------
    rod, boat
        Who; and the pair whose boat it is in, None where it is drawn with another.
    first, second
        The start, and where to go on to after `stay_s` without an offer; None where
        nothing is left.
    bold
        Whether less is known of its start, and more may be there.
    chance_without
        How likely it goes without an offer all day.
    leave_by
        Whichever of the two places is the furthest from home.
    line, count_s
        For the first drift in the light that was asked for; without one, in sun.
    why
        Why it starts there.
    propose, if_boats
        What to say to the partner in the boat; and what to do if others are there.
    """

    rod: str
    boat: str | None
    first: Spot
    second: Spot | None
    bold: bool
    chance_without: float
    leave_by: datetime | None
    line: str
    count_s: float | None
    why: str
    propose: str
    if_boats: str


@dataclass(frozen=True, slots=True)
class SpotInWind:
    """A place in one wind: metres, seconds.

    Parameters
    ----------
    find, place
        Its number, None of water without a find; and where.
    drift
        The longest one; None where it cannot be drifted in that wind.
    line, useful_in_m, useful_out_m
        The line of the fish that were met, and how deep it usefully works, with the
        drogue in and out.
    home_s
        The run home.
    """

    find: int | None
    place: str
    drift: DriftLine | None
    line: str
    useful_in_m: float | None
    useful_out_m: float | None
    home_s: float | None


@dataclass(frozen=True, slots=True)
class WindRow:
    """What can be drifted in one wind: degrees, m/s."""

    wind: str
    wind_from_deg: float
    wind_m_s: float
    finds: tuple[SpotInWind, ...]


@dataclass(frozen=True, slots=True)
class AllOnBest:
    """What the same rods would risk if all started at the best place."""

    place: str
    expected_without: float
    three_or_more: float


@dataclass(frozen=True, slots=True)
class StartsReport:
    """Where the rods start.

    Parameters
    ----------
    wind_from_deg, wind_m_s, gust_m_s, sky, drogue
        What it is for; None where nobody said.
    stay_ashore
        Whether wind or gusts are more than this practice goes afloat in.
    lines_down, lines_up, lines_up_at
        From when to when is fished, and where boats must be at the end.
    starts
        The rod that is least likely to go without an offer first.
    winds
        What could be drifted in each of eight winds.
    expected_without, three_or_more
        How many rods go without an offer on average, and the chance that three or more
        do.
    most_on_bank, bold
        So many start on one bank at the most, and so many start boldly.
    apart_m, keep_off_m, stay_s, phones, sounders, anchoring
        As the match's rules are told in the settings.
    rules
        These in words.
    cautions
        What to bear in mind before anyone goes out, what matters most first.
    remarks
        What was supposed.
    """

    practice: str
    day: date
    wind_from_deg: float
    wind_m_s: float
    gust_m_s: float | None
    sky: str | None
    drogue: Drogue
    stay_ashore: bool
    lines_down: datetime
    lines_up: datetime
    lines_up_at: str
    starts: tuple[StartRow, ...]
    winds: tuple[WindRow, ...]
    expected_without: float
    three_or_more: float
    all_on_best: AllOnBest
    most_on_bank: int
    bold: int
    apart_m: float
    keep_off_m: float
    stay_s: float
    phones: bool
    sounders: bool
    anchoring: bool
    rules: tuple[str, ...]
    cautions: tuple[str, ...]
    remarks: tuple[str, ...]
