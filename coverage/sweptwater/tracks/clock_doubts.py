"""Whether a device's clock was right: asked of the captain, never guessed.

A clock is doubted by what lies outside it: the other boats' days, a second record of
the same boat, the sun, and the hours that the other boats kept. Each doubt names the
number that would put it right, where one can be told.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo

import numpy as np

from sweptwater.arrays import Bools, Floats, Ints
from sweptwater.tracks.brought import (
    Brought,
    Here,
    Hours,
    afloat_s,
    apart_s,
    days_of,
    hours_by_day,
    minutes_text,
    span_text,
)
from sweptwater.tracks.daylight import DARK_DEG, sun_elevation_deg
from sweptwater.tracks.lag import Lag, clock_lag

FAR_DAYS = 60
"""A track this far in time from all others is from a device with a wrong clock."""

AGAIN_DAYS = 7
ROLLOVER_DAYS = 1024 * 7
"""Receivers count weeks with ten bits, and begin anew (IS-GPS-200, from memory)."""

DARK_MINUTES = 30
DARKEST_MINUTES = 90
"""So many minutes afloat in the dark are odd, if a usual mistake would make them; more
are odd anyhow. A few are a late return."""

LIGHT_MINUTES = 5
"""Another time of day is light if no more of the day than this is dark by it."""

TRIED_S = 1800.0 * np.arange(-28, 29)
"""Half hours up to the widest offset of a zone, 14 h, either way."""

KEPT_S = 20 * 60.0
"""Boats of one day go out and come in within so much of each other, if they do."""

SAME_S = 60.0
"""Two clocks that differ by less do not matter."""

QUARTER_S, ROUND_S = 900.0, 5.0
"""Clocks are wrong by whole quarters of an hour if by nearly that."""

LEAST_BOATS = 2
NEIGHBOUR_S = 26 * 3600.0
TWELVE_S = 12 * 3600.0
HALVES_S = 300.0


@dataclass(frozen=True, slots=True)
class Doubt:
    """A question to the captain, and what its clock may have to be put forward by."""

    text: str
    shift_s: float | None


def clock_doubts(
    new: Brought, others: Sequence[Brought], here: Here
) -> tuple[Doubt, ...]:
    """Return what is odd about the times of a new file: one question, or none.

    The strongest evidence speaks alone: a day far from all others, the same way at
    another time, the dark, the hours that the other boats kept, a day out.

    Parameters
    ----------
    new
        The file.
    others
        The practice's other files, of any pair and day.
    here
        The water and its zone.
    """
    if not len(new.record.time_s):
        return ()
    near = [other for other in others if apart_s(new, other) < NEIGHBOUR_S]
    doubt = (
        _far_off(new, others, here)
        or _same_way(new, near, here)
        or _in_the_dark(new, near, here)
        or _hours_apart(new, near, here)
        or _day_out(new, near, here)
    )
    return (doubt,) if doubt else ()


def stopped_clock(time_s: Floats) -> Iterator[str]:
    """Yield that a clock stood still for most of the fixes, if it did.

    Parameters
    ----------
    time_s
        Seconds of all fixes in the order of the file, NaN without a time.
    """
    known_s = time_s[np.isfinite(time_s)]
    still = len(known_s) - len(np.unique(known_s))
    if 2 * still > len(time_s):
        yield f"its clock stood still for {still:,} of {len(time_s):,} fixes"


def turned_clock(time_s: Floats, segment: Ints, zone: tzinfo) -> Iterator[str]:
    """Yield where a clock was put back while it recorded.

    A file that was written from its end to its beginning has no such fault: each fix
    still has its time.

    Parameters
    ----------
    time_s, segment
        Seconds and segments of all fixes in the order of the file.
    """
    known = np.isfinite(time_s)
    within = np.diff(segment[known]) == 0
    step_s, at_s = np.diff(time_s[known])[within], time_s[known][:-1][within]
    back = np.flatnonzero(step_s < -SAME_S)
    if not len(back) or 2 * np.count_nonzero(step_s < 0) > len(step_s):
        return
    when = datetime.fromtimestamp(float(at_s[back[0]]), UTC).astimezone(zone)
    by_s = -float(step_s[back[0]])
    more = f", and {len(back) - 1} times more" if len(back) > 1 else ""
    halves = abs(by_s - TWELVE_S) < HALVES_S
    why = "does it write 1 o'clock for 13:00" if halves else "was it set then"
    yield (
        f"its clock went back by {span_text(by_s)} after {when:%H:%M on} {when.day} "
        f"{when:%B}{more}: {why}? then split the file there, and upload the part that "
        "is wrong with --shift"
    )


def _far_off(new: Brought, others: Sequence[Brought], here: Here) -> Doubt | None:
    """Doubt a day that is far from all others."""
    known = {*here.days, *(day for other in others for day in days_of(other, here))}
    day = days_of(new, here)[0]
    off = min((abs(day - other).days for other in known), default=0)
    if off <= FAR_DAYS:
        return None
    again = day + timedelta(days=ROLLOVER_DAYS)
    if min(abs(again - other).days for other in known) > AGAIN_DAYS:
        text = (
            f"its day, {day.isoformat()}, is {off:,} days from the others: is the "
            "device's clock right?"
        )
        return Doubt(text, None)
    shift_s = ROLLOVER_DAYS * 86400.0
    text = (
        f"its day, {day.isoformat()}, is 1,024 weeks before {again.isoformat()}, and "
        "an old receiver's count of weeks begins anew after so many: was it that day? "
        f"then {new.put_right(shift_s)}"
    )
    return Doubt(text, shift_s)


def _same_way(new: Brought, near: Sequence[Brought], here: Here) -> Doubt | None:
    """Doubt the clocks of two records of one pair's that went one way."""
    for other in near:
        if other.pair != new.pair:
            continue
        lag = clock_lag(other.record, new.record, most_s=NEIGHBOUR_S)
        if lag is not None and abs(lag.seconds) >= SAME_S:
            return _which_of_two(new, other, lag, here)
    return None


def _which_of_two(new: Brought, other: Brought, lag: Lag, here: Here) -> Doubt:
    """Return the question which of two clocks is wrong, or whether the one is."""
    more_s = _rounded(lag.seconds)
    ahead_s = here.ahead_s(float(new.record.time_s[0]))
    local = new.zoneless and not other.zoneless and more_s == -ahead_s
    mine, theirs = (_dark_minutes(afloat_s(b, here), here) for b in (new, other))
    own = f"if its own, {new.put_right(more_s)}"
    others = f"if that of {other.name}, {other.put_right(-more_s)}"
    if local:
        which = f"its times have no zone: are they local? then {new.put_right(more_s)}"
    elif mine > theirs + LIGHT_MINUTES:
        which = f"its own has it out in the dark: then {new.put_right(more_s)}"
    elif theirs > mine + LIGHT_MINUTES:
        which = f"the other has it out in the dark: then {other.put_right(-more_s)}"
    else:
        which = f"which clock is wrong? {own}; {others}"
    return Doubt(
        f"it goes the way of {other.name}, {new.pair}'s too, {span_text(more_s)} "
        f"{'later' if more_s < 0 else 'earlier'}; {which}",
        more_s,
    )


def _rounded(seconds: float) -> float:
    """Return a lag to the quarter of an hour that it is within seconds of, if any."""
    quarter = QUARTER_S * round(seconds / QUARTER_S)
    return quarter if abs(seconds - quarter) <= ROUND_S else seconds


def _in_the_dark(new: Brought, near: Sequence[Brought], here: Here) -> Doubt | None:
    """Doubt a clock by which a boat was afloat in the dark, and need not have been."""
    afloat = afloat_s(new, here)
    dark_minutes = _dark_minutes(afloat, here)
    if dark_minutes < DARK_MINUTES:
        return None
    dark = _dark_at(afloat[:, None] + TRIED_S, here).sum(axis=0)
    light = TRIED_S[dark <= LIGHT_MINUTES]
    hours = hours_by_day(near, here)
    late = dark_minutes < DARKEST_MINUTES
    if not len(light) or (late and _worst(_hours_off(new.pair, afloat, hours)) <= KEPT_S):
        return None
    begin, end = (here.local(at) for at in (afloat.min(), afloat.max()))
    what = f"by its times it was afloat from {begin:%H:%M} to {end:%H:%M}, in the dark"
    ahead_s = here.ahead_s(float(np.median(afloat)))
    more_s = _likeliest(new.pair, afloat, light, ahead_s, hours)
    if more_s is None and late:
        return None
    if more_s is None:
        span = f"{minutes_text(light.min())} to {minutes_text(light.max())}"
        ask = f"by how many minutes is its clock slow, {span}? then"
        return Doubt(f"{what}: {ask} {new.put_right(None)}", None)
    why = {
        -ahead_s: "does the device write local time as if it were UTC",
        ahead_s: "does the device take UTC for local time",
        TWELVE_S: "does it take afternoon for morning",
        -TWELVE_S: "does it take morning for afternoon",
    }.get(more_s, f"is it {span_text(more_s)} {'slow' if more_s > 0 else 'fast'}")
    return Doubt(f"{what}: {why}? then {new.put_right(more_s)}", more_s)


def _likeliest(
    pair: str, afloat: Floats, light: Floats, ahead_s: float, hours: Hours
) -> float | None:
    """Return the likeliest of the shifts that bring a boat into daylight, if one is."""
    usual = [s for s in (-ahead_s, ahead_s, TWELVE_S, -TWELVE_S) if s and s in light]
    off_s = {s: _hours_off(pair, afloat + s, hours) for s in light.tolist()}
    kept = {s: off for s in off_s if (off := _worst(off_s[s])) <= KEPT_S}
    for more_s in usual:
        if more_s in kept:
            return float(more_s)
    if kept:
        return min(kept, key=lambda s: kept[s])
    return float(usual[0]) if usual else None


def _worst(off_s: tuple[float, float] | None) -> float:
    return max(off_s) if off_s else np.inf


def _hours_apart(new: Brought, near: Sequence[Brought], here: Here) -> Doubt | None:
    """Doubt times without a zone that are the other boats', but for the offset."""
    if not new.zoneless:
        return None
    afloat, hours = afloat_s(new, here), hours_by_day(near, here)
    if not len(afloat):
        return None
    ahead_s = here.ahead_s(float(np.median(afloat)))
    now_s = _hours_off(new.pair, afloat, hours)
    then_s = _hours_off(new.pair, afloat - ahead_s, hours)
    if (now_s and min(now_s) <= KEPT_S) or _worst(then_s) > KEPT_S:
        return None
    begin, end = (here.local(at) for at in (afloat.min(), afloat.max()))
    return Doubt(
        f"it was afloat from {begin:%H:%M} to {end:%H:%M}, the other boats some "
        f"{span_text(ahead_s)} {'earlier' if ahead_s > 0 else 'later'}: does the "
        "device write local time as if it were UTC? then "
        f"{new.put_right(-ahead_s)}",
        -ahead_s,
    )


def _hours_off(pair: str, afloat: Floats, hours: Hours) -> tuple[float, float] | None:
    """Return how far a boat's first and last minute are off the other boats', in s.

    None if fewer than two boats of other pairs kept the same hours about then.
    """
    middle = (afloat.min() + afloat.max()) / 2
    for day in hours.values():
        kept = np.array([span for other, span in day.items() if other != pair])
        if len(kept) < LEAST_BOATS or np.ptp(kept, axis=0).max() > 2 * KEPT_S:
            continue
        begin_s, end_s = np.median(kept, axis=0)
        if begin_s <= middle <= end_s:
            return abs(float(afloat.min() - begin_s)), abs(float(afloat.max() - end_s))
    return None


def _day_out(new: Brought, near: Sequence[Brought], here: Here) -> Doubt | None:
    """Doubt a day when nobody else was out, beside a practice day when others were."""
    day = days_of(new, here)[0]
    if not here.days or day in here.days or day != days_of(new, here)[-1]:
        return None
    out = {(other.pair, on) for other in near for on in days_of(other, here)}
    if day in {on for _, on in out}:
        return None
    for ahead in (1, -1):
        beside = day + timedelta(days=ahead)
        pairs = sorted(pair for pair, on in out if on == beside)
        if beside in here.days and pairs and new.pair not in pairs:
            more_s = 86400.0 * ahead
            return Doubt(
                f"its day, {day.isoformat()}, is none of the practice's, and "
                f"{' and '.join(pairs)} fished on {beside.isoformat()}: is its clock "
                f"a day out? then {new.put_right(more_s)}",
                more_s,
            )
    return None


def _dark_minutes(afloat: Floats, here: Here) -> int:
    return int(_dark_at(afloat, here).sum())


def _dark_at(time_s: Floats, here: Here) -> Bools:
    return sun_elevation_deg(time_s, here.lon, here.lat) < DARK_DEG
