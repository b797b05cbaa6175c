"""What people mean by "before lunch": words of time to a span of the day."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TypeAlias
from zoneinfo import ZoneInfo

from sweptwater.errors import PracticeError
from sweptwater.practice.sheets import parse_clock

Span: TypeAlias = tuple[time, time]
"""From when to when, local time."""

WHOLE_DAY: Span = (time.min, time.max)
ABOUT_MIN, ABOUT_HOUR_MIN = 15, 30
"""How loose "about 11:20" is, and "about 11"."""

LUNCH_HOURS: Span = (time(11), time(15))
USUAL_LUNCH: Span = (time(12), time(14))
LEAST_LUNCH_S = 1200.0
EARLIEST_HOUR = 7
"""Nobody fishes before it: 2 is two in the afternoon (common practice, no source)."""

_FILLER = re.compile(
    r"\b(?:the|a|in|on|at|some ?time|just|right|shortly|well|soon|during|over)\b"
)
_CLOCK = (
    r"(?:\d{1,2}(?:[:.h]\d{2})?\s*(?:[ap]\.?m\.?|o'?clock)?"
    r"|noon|midday|lunch(?: ?time)?)"
)
_FROM_TO = re.compile(
    rf"(?:from |between )?({_CLOCK})\s*(?:-|\u2013|to|till|until|and)\s*({_CLOCK})"
)
_ONE = re.compile(
    r"(before|until|till|up to|by|after|from|since|about|around|ca\.?|circa|~)?"
    rf"\s*({_CLOCK})"
)
_PARTS: dict[str, Span] = {
    **dict.fromkeys(("morning", "am", "early", "first thing"), (time.min, time(12))),
    **dict.fromkeys(("early morning",), (time.min, time(10, 30))),
    **dict.fromkeys(("late morning",), (time(10, 30), time(12, 30))),
    **dict.fromkeys(("afternoon", "pm"), (time(12), time.max)),
    **dict.fromkeys(("early afternoon",), (time(12), time(15))),
    **dict.fromkeys(("late afternoon", "late"), (time(15), time.max)),
    **dict.fromkeys(("evening",), (time(17), time.max)),
    **dict.fromkeys(("all day", "day", "today"), WHOLE_DAY),
}
_UP_TO = ("before", "until", "till", "up to", "by")
_ONWARDS = ("after", "from", "since")


@dataclass(frozen=True, slots=True)
class Lunch:
    """When a boat had lunch, as far as its track tells.

    Parameters
    ----------
    span
        From when to when, local.
    seen
        Whether the track tells; if not, lunch was some time in that span.
    """

    span: Span = USUAL_LUNCH
    seen: bool = False

    @property
    def before(self) -> time:
        """Until when "before lunch" may be."""
        return self.span[0] if self.seen else self.span[1]

    @property
    def after(self) -> time:
        """From when on "after lunch" may be."""
        return self.span[1] if self.seen else self.span[0]


def lunch_of(drifts: Sequence[tuple[float, float]], day: date, zone: ZoneInfo) -> Lunch:
    """Return when a boat had lunch: the longest time in no drift, from 11 to 15.

    Parameters
    ----------
    drifts
        When its drifts began and ended, in seconds since 1970 UTC, in order.

    Examples
    --------
    >>> hour = 3600.0
    >>> lunch_of([(9 * hour, 12 * hour), (12.75 * hour, 16 * hour)],
    ...          date(1970, 1, 1), ZoneInfo("UTC")).span
    (datetime.time(12, 0), datetime.time(12, 45))
    >>> lunch_of([(9 * hour, 12 * hour)], date(1970, 1, 1), ZoneInfo("UTC")).seen
    False
    """
    first, last = (datetime.combine(day, hour, zone) for hour in LUNCH_HOURS)
    longest = (0.0, 0.0)
    until_s = drifts[0][1] if drifts else 0.0
    for start_s, end_s in drifts[1:]:
        gap = max(until_s, first.timestamp()), min(start_s, last.timestamp())
        if gap[1] - gap[0] > longest[1] - longest[0]:
            longest = gap
        until_s = max(until_s, end_s)
    if longest[1] - longest[0] < LEAST_LUNCH_S:
        return Lunch()
    begin, end = (datetime.fromtimestamp(s, zone).time() for s in longest)
    return Lunch((begin, end), seen=True)


def own_clock(text: str) -> time | None:
    """Return the time of day that a text is, exactly; None if it is looser, or none.

    Examples
    --------
    >>> own_clock("11:20"), own_clock("1120"), own_clock("about 11:20")
    (datetime.time(11, 20), datetime.time(11, 20), None)
    """
    said = text.strip()
    if re.fullmatch(r"\d{4}", said):
        said = f"{said[:2]}:{said[2:]}"
    try:
        return parse_clock(said)
    except PracticeError:
        return None


def told_hours(text: str, lunch: Lunch | None = None) -> Span | None:
    """Return the part of a day that some words mean; None if they mean none.

    Examples
    --------
    >>> told_hours("before 11"), told_hours("after 2")[0], told_hours("about 11:30")[0]
    ((datetime.time(0, 0), datetime.time(11, 0)), datetime.time(14, 0), \
datetime.time(11, 15))
    >>> told_hours("before lunch", Lunch((time(12, 30), time(13, 15)), seen=True))[1]
    datetime.time(12, 30)
    >>> told_hours("before lunch")[1]  # some time between 12 and 14
    datetime.time(14, 0)
    >>> told_hours("on the hang") is None
    True
    """
    lunch = lunch or Lunch()
    said = _FILLER.sub(" ", text.casefold().strip(" .,;"))
    said = " ".join(said.split())
    if not said:
        return None
    if said in _PARTS:
        return _PARTS[said]
    if found := _FROM_TO.fullmatch(said):
        one, two = _moment(found[1], lunch.span[1]), _moment(found[2], lunch.span[0])
        if one is None or two is None:
            return None
        return (one, two) if one < two else None
    if found := _ONE.fullmatch(said):
        return _from_one(found[1] or "", found[2], lunch)
    return None


def _from_one(word: str, clock: str, lunch: Lunch) -> Span | None:
    is_lunch = clock.startswith("lunch")
    if word in _UP_TO:
        end = lunch.before if is_lunch else _moment(clock)
        return (time.min, end) if end else None
    if word in _ONWARDS:
        begin = lunch.after if is_lunch else _moment(clock)
        return (begin, time.max) if begin else None
    if is_lunch:
        return _widened(lunch.span[0], lunch.span[1], ABOUT_MIN)
    at = _moment(clock)
    if at is None:
        return None
    exact = re.search(r"\d[:.h]\d", clock)
    return _widened(at, at, ABOUT_MIN if exact else ABOUT_HOUR_MIN)


def _moment(text: str, lunch: time | None = None) -> time | None:
    """Return the time that a clock or an hour means: 2 is two in the afternoon."""
    if text.startswith("lunch"):
        return lunch
    if text in ("noon", "midday"):
        return time(12)
    text = re.sub(r"\s*o'?clock", "", text).strip()
    half = re.search(r"[ap]", text)
    if found := re.fullmatch(r"(\d{1,2})(\s*[ap]\.?m\.?)?", text):
        text = f"{found[1]}:00{found[2] or ''}"
    try:
        at = parse_clock(text)
    except PracticeError:
        return None
    if not half and 0 < at.hour < EARLIEST_HOUR:
        return at.replace(hour=at.hour + 12)
    return at


def _widened(begin: time, end: time, minutes: int) -> Span:
    more, day = timedelta(minutes=minutes), date(2000, 1, 2)
    first = datetime.combine(day, begin) - more
    last = datetime.combine(day, end) + more
    return (
        first.time() if first.date() == day else time.min,
        last.time() if last.date() == day else time.max,
    )
