"""Whether a device's clock was right: asked of the captain, never guessed.

A clock is doubted by what lies outside it: the other boats' days, a second record of
the same boat, the sun, and the hours that the other boats kept. Each doubt names the
number that would put it right, where one can be told.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from sweptwater.arrays import Bools, Floats
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
from sweptwater.tracks.clock_faults import SAME_S, TWELVE_S, rounded_s
from sweptwater.tracks.daylight import DARK_DEG, sun_elevation_deg
from sweptwater.tracks.lag import Lag, clock_lag, close_lag
from sweptwater.units import duration_text

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

HALF_HOUR_S = 1800.0
TRIED_S = HALF_HOUR_S * np.arange(-28, 29)
"""Half hours up to the widest offset of a zone, 14 h, either way."""

KEPT_S = 20 * 60.0
"""Boats of one day go out and come in within so much of each other, if they do."""

USUAL_S = 5 * KEPT_S
"""A usual mistake need not be borne out so closely by the other boats."""

FAR_S = 7200.0
HOUR_S = 3600.0
LEAST_BOATS = 2
NEIGHBOUR_S = 26 * 3600.0


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
    more_s = rounded_s(lag.seconds)
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


def _in_the_dark(new: Brought, near: Sequence[Brought], here: Here) -> Doubt | None:
    """Doubt a clock by which a boat was afloat in the dark, and need not have been."""
    afloat = afloat_s(new, here)
    dark_minutes = _dark_minutes(afloat, here)
    if dark_minutes < DARK_MINUTES:
        return None
    dark = _dark_at(afloat[:, None] + TRIED_S, here).sum(axis=0)
    light = TRIED_S[dark <= LIGHT_MINUTES]
    if not len(light):
        return None
    hours = hours_by_day(near, here)
    more_s = _likeliest(new.pair, afloat, light, hours, here)
    if dark_minutes < DARKEST_MINUTES and _came_in_late(
        new.pair, afloat, more_s, hours
    ):
        return None
    begin, end = (here.local(at) for at in (afloat.min(), afloat.max()))
    what = (
        f"by its times it was afloat from {begin:%H:%M} to {end:%H:%M}, "
        f"{duration_text(60 * dark_minutes)} of that in the dark"
    )
    ask = _why(new, more_s, afloat, here) if more_s else _open(new, afloat, light, here)
    return Doubt(f"{what}: {ask}", more_s)


def _came_in_late(
    pair: str, afloat: Floats, more_s: float | None, hours: Hours
) -> bool:
    """Tell whether some dark may be a late return, and no clock that is wrong."""
    as_told_s = _off_s(pair, afloat, hours)
    if more_s is None or as_told_s <= KEPT_S:
        return True
    others_known = bool(np.isfinite(as_told_s))
    return others_known and _off_s(pair, afloat + more_s, hours) > KEPT_S


def _why(new: Brought, more_s: float, afloat: Floats, here: Here) -> str:
    """Return the question whether a clock is wrong by so much, and what to do then."""
    ahead_s = here.ahead_s(float(np.median(afloat)))
    why = {
        TWELVE_S: "does it take afternoon for morning",
        -TWELVE_S: "does it take morning for afternoon",
        ahead_s: "does the device take UTC for local time",
        -ahead_s: "does the device write local time as if it were UTC",
    }.get(more_s, f"is it {span_text(more_s)} {'slow' if more_s > 0 else 'fast'}")
    return f"{why}? then {new.put_right(more_s)}"


def _open(new: Brought, afloat: Floats, light: Floats, here: Here) -> str:
    """Return the question by how much a clock is wrong, where nothing tells it."""
    if {-TWELVE_S, TWELVE_S} <= set(light.tolist()):
        ways = (
            f"{here.local(afloat.min() + more_s).date().isoformat()}: "
            f"{new.put_right(more_s)}"
            for more_s in (-TWELVE_S, TWELVE_S)
        )
        return f"is it 12 hours out? if it was {'; if it was '.join(ways)}"
    runs = np.split(light, 1 + np.flatnonzero(np.diff(light) > HALF_HOUR_S))
    least = new.shift_s + min(runs, key=lambda run: np.abs(run).min())
    return (
        f"by how many minutes is its clock slow? {minutes_text(least[0])} to "
        f"{minutes_text(least[-1])} would be in daylight: {new.put_right(None)}"
    )


def _usual(afloat: Floats, here: Here) -> Floats:
    """Return the shifts that the usual mistakes need, the likeliest first."""
    ahead_s = here.ahead_s(float(np.median(afloat)))
    return np.array([-ahead_s, ahead_s, -TWELVE_S, TWELVE_S])


def _likeliest(
    pair: str, afloat: Floats, light: Floats, hours: Hours, here: Here
) -> float | None:
    """Return the likeliest of the shifts that bring a boat into daylight, if one is.

    A usual mistake comes before one by other hours, unless only that makes the boat's
    hours the others'.
    """
    off_s = {s: _off_s(pair, afloat + s, hours) for s in light.tolist()}
    usual = [s for s in _usual(afloat, here).tolist() if s and s in off_s]
    whole = [s for s in off_s if not s % HOUR_S]
    for tried, enough_s in ((usual, USUAL_S), (whole, KEPT_S)):
        told = min(tried, key=lambda s: off_s[s], default=None)
        if told is not None and off_s[told] <= enough_s:
            return float(told)
    offset = abs(here.ahead_s(float(np.median(afloat))))
    halves = {-TWELVE_S, TWELVE_S} <= off_s.keys()
    if not usual or (halves and abs(usual[0]) != offset):
        return None
    return float(usual[0])


def _hours_apart(new: Brought, near: Sequence[Brought], here: Here) -> Doubt | None:
    """Doubt times that are the other boats' but for the offset of the zone.

    By an hour a boat may well be later than the others, both out and in: only of times
    without a zone is that asked.
    """
    ahead_s = here.ahead_s(float(np.median(new.record.time_s)))
    if not ahead_s or not (new.zoneless or abs(ahead_s) >= FAR_S):
        return None
    afloat, hours = afloat_s(new, here), hours_by_day(near, here)
    if not len(afloat):
        return None
    now_s = min(_ends_off_s(new.pair, afloat, hours, least=1))
    then_s = max(_ends_off_s(new.pair, afloat - ahead_s, hours, least=LEAST_BOATS))
    if now_s <= KEPT_S or then_s > KEPT_S or _borne_out(new, near):
        return None
    begin, end = (here.local(at) for at in (afloat.min(), afloat.max()))
    return Doubt(
        f"it was afloat from {begin:%H:%M} to {end:%H:%M}, the other boats some "
        f"{span_text(ahead_s)} {'earlier' if ahead_s > 0 else 'later'}: does the "
        "device write local time as if it were UTC? then "
        f"{new.put_right(-ahead_s)}",
        -ahead_s,
    )


def _borne_out(new: Brought, near: Sequence[Brought]) -> bool:
    """Tell whether another record of the same boat has the same times."""
    return any(
        close_lag(other.record, new.record, reach_s=SAME_S) is not None
        for other in near
        if other.pair == new.pair
    )


def _off_s(pair: str, afloat: Floats, hours: Hours) -> float:
    """Return how far a boat's hours are off those of any other, in seconds."""
    return max(_ends_off_s(pair, afloat, hours, least=1))


def _ends_off_s(
    pair: str, afloat: Floats, hours: Hours, *, least: int
) -> tuple[float, float]:
    """Return how far a boat's first and last minute are off other boats', in seconds.

    Each end is held against the boat that is nearest to it then: of several boats one
    may come in early. Infinite if fewer than `least` were out about that time.
    """
    first_s, last_s = float(afloat.min()), float(afloat.max())
    for day in hours.values():
        kept = np.array([span for other, span in day.items() if other != pair])
        if len(kept) < least:
            continue
        if kept[:, 0].min() <= (first_s + last_s) / 2 <= kept[:, 1].max():
            off = np.abs(kept - (first_s, last_s)).min(axis=0)
            return float(off[0]), float(off[1])
    return np.inf, np.inf


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
