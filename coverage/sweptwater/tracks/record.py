"""From the fixes of a day to a record that can be smoothed."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import dist
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from sweptwater.arrays import Bools, Floats, Ints

CLOSEST_S = 0.5
"""Fixes closer than this are one fix: closer ones wreck the smoothing."""

FASTEST_M_S = 12.0
JUMP_M = 20.0
"""A fix further off than the fastest boat gets, and this much, is an outlier."""

PATIENCE_S = 90.0
"""Outliers that go on for this long are where the boat really is."""

LEAP_M = 7.0
"""A step that goes so much further than the ones around it may begin a reflection."""

APART_M, APART = 5.0, 0.4
"""Fixes that one reflection throws aside are no further apart, or no more of that."""

LEAPS_M_S = 3.0
"""No boat gathers this speed at once."""

ALIKE_M_S = 0.4
"""So near are the velocities before, across and after a reflection."""

REFLECTED_ROUNDS = 3
"""One reflection may lie within another."""

BASE_S = 10.0
"""The time over which a velocity is taken from raw fixes."""

TOO_CLOSE = "less than half a second after another"
UNREACHABLE = "further off than a boat can get"
FEW = 10
"""Fewer fixes than this, at the same time, tell nothing of two records."""

OVER_S = 180.0
"""In which receivers' errors change, and one record goes over into another's."""

UNTIMED = "without a time"
SNATCH = "heard for a moment in a silence"

Complexes: TypeAlias = npt.NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class Record:
    """Fixes in the order of time, in metres of the venue's frame.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC, strictly increasing by at least `CLOSEST_S`.
    easting, northing
        Metres, the same shape.
    dropped
        How many fixes were left out, by reason.
    mended
        How many a reflection had thrown aside, and were put back on the way.
    """

    time_s: Floats
    easting: Floats
    northing: Floats
    dropped: Mapping[str, int]
    mended: int = 0

    def stretches(self, gap_s: float) -> Ints:
        """Return for each fix the number of its stretch, parted by longer gaps."""
        return np.cumsum(np.diff(self.time_s, prepend=self.time_s[:1]) > gap_s)


def clean_record(time_s: Floats, easting: Floats, northing: Floats) -> Record:
    """Put fixes in order and leave out those that cannot be true.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC in any order; NaN where unknown.
    easting, northing
        Metres; infinite where the frame has no such place.
    """
    dropped: Counter[str] = Counter()
    usable = np.isfinite(time_s) & np.isfinite(easting) & np.isfinite(northing)
    dropped[UNTIMED] = int((~usable).sum())
    order = np.flatnonzero(usable)
    order = order[np.argsort(time_s[order], kind="stable")]
    apart = _apart(time_s[order])
    dropped[TOO_CLOSE] = int((~apart).sum())
    order = order[apart]
    reached = _reached(time_s[order], easting[order], northing[order])
    dropped[UNREACHABLE] = int((~reached).sum())
    order = order[reached]
    at = easting[order] + 1j * northing[order]
    mended = np.zeros(len(at), dtype=bool)
    for _ in range(REFLECTED_ROUNDS):
        straight = _put_back(time_s[order], at)
        if np.array_equal(straight, at):
            break
        mended |= straight != at
        at = straight
    return Record(time_s[order], at.real, at.imag, +dropped, int(mended.sum()))


def silence_s(time_s: Floats, gap_s: float, bridge_s: float) -> float:
    """Return how long a silence parts this record, in seconds.

    A receiver that writes a fix a minute, or one every so many metres, is not silent
    between them: three of its usual steps are, the median of the steps by time.

    Parameters
    ----------
    time_s
        Increasing.
    gap_s, bridge_s
        The least that it can be, and twice the most.

    Examples
    --------
    >>> silence_s(np.arange(0.0, 900.0), 60, 600)
    60.0
    >>> silence_s(np.arange(0.0, 9000.0, 75.0), 60, 600)
    225.0
    """
    step = np.sort(np.diff(time_s))
    step = step[step <= bridge_s]
    if not len(step):
        return gap_s
    usual_s = step[np.searchsorted(np.cumsum(step), step.sum() / 2)]
    return float(np.clip(3 * usual_s, gap_s, bridge_s / 2))


def without_snatches(record: Record, gap_s: float, least_s: float) -> Record:
    """Return a record without what was heard for a moment inside a silence.

    One fix indoors or under an arm says less than the silence around it, which may
    yet be bridged.
    """
    stretch = record.stretches(gap_s)
    if not len(stretch) or stretch[-1] < 2:
        return record
    first = np.searchsorted(stretch, np.arange(stretch[-1] + 1))
    last = np.append(first[1:], len(stretch)) - 1
    short = record.time_s[last] - record.time_s[first] < least_s
    short[0] = short[-1] = False
    kept = ~short[stretch]
    dropped = Counter(record.dropped) + Counter({SNATCH: int((~kept).sum())})
    return replace(
        record,
        time_s=record.time_s[kept],
        easting=record.easting[kept],
        northing=record.northing[kept],
        dropped=dropped,
    )


def fill_gaps(
    first: Record, second: Record, gap_s: float, apart_m: float = np.inf
) -> Record:
    """Return the first record with its gaps, and what lies outside it, from the second.

    Two receivers in one boat disagree by metres all the time: taking turns fix by
    fix would make a saw of the path, so the second only speaks where the first is
    silent for longer than `gap_s`. There it begins and ends where the first does, and
    goes over to its own places and back in some minutes. Where it is further off than
    `apart_m` at an end of a silence, it was not in the boat then, and is not heard.
    """
    if not len(first.time_s) or not len(second.time_s):
        return first if len(first.time_s) else second
    after = np.searchsorted(first.time_s, second.time_s)
    edges = np.concatenate([[-np.inf], first.time_s, [np.inf]])
    silent = np.flatnonzero(edges[after + 1] - edges[after] > gap_s)
    off = _off_at_ends(first, second, gap_s)
    ends = np.stack([after[silent], after[silent] + 1])
    aboard = ~(np.abs(off[ends]) > apart_m).any(axis=0)
    silent, ends = silent[aboard], ends[:, aboard]
    moved = _led_over(second.time_s[silent], edges[ends], off[ends])
    merged = clean_record(
        np.concatenate([first.time_s, second.time_s[silent]]),
        np.concatenate([first.easting, second.easting[silent] + moved.real]),
        np.concatenate([first.northing, second.northing[silent] + moved.imag]),
    )
    return Record(
        merged.time_s,
        merged.easting,
        merged.northing,
        Counter(first.dropped) + Counter(second.dropped) + Counter(merged.dropped),
    )


def _off_at_ends(first: Record, second: Record, gap_s: float) -> Complexes:
    """Return how far the first is off the second at each of its fixes, and beyond.

    Returns
    -------
    off
        East + i north, in metres, shape (n + 2,): NaN where the second is silent, and
        before the first fix and after the last.
    """
    off = np.full(len(first.time_s) + 2, np.nan + 0j)
    if len(second.time_s) < 2:
        return off
    after = np.searchsorted(second.time_s, first.time_s)
    after = np.clip(after, 1, len(second.time_s) - 1)
    before_s, after_s = second.time_s[after - 1], second.time_s[after]
    spoken = (before_s <= first.time_s) & (first.time_s <= after_s)
    spoken &= after_s - before_s <= gap_s
    there = np.interp(first.time_s, second.time_s, second.easting) + 1j * np.interp(
        first.time_s, second.time_s, second.northing
    )
    here = first.easting + 1j * first.northing
    off[1:-1][spoken] = (here - there)[spoken]
    return off


def _led_over(time_s: Floats, ends_s: Floats, off: Complexes) -> Complexes:
    """Return by how much fixes in silences move for the ends to meet.

    Parameters
    ----------
    time_s
        When they are, shape (n,).
    ends_s, off
        When each one's silence begins and ends, infinite if it does not, and how far
        off the record is there, NaN if unknown; shape (2, n).
    """
    moved = np.zeros(len(time_s), dtype=complex)
    long_s = ends_s[1] - ends_s[0]
    for end, far in ((0, 1), (1, 0)):
        known = np.isfinite(off[end])
        from_s = np.abs(time_s - ends_s[end])[known]
        share = np.ones(len(from_s))
        closed = np.isfinite(ends_s[far][known])
        share[closed] -= (from_s / long_s[known])[closed]
        moved[known] += off[end][known] * share * np.exp(-from_s / OVER_S)
    return moved


def apart_m(first: Record, second: Record, gap_s: float) -> float | None:
    """Return how far two records are apart while both speak: the median, in metres.

    None if they never do, or for too few fixes to tell.
    """
    if len(first.time_s) < 2 or not len(second.time_s):
        return None
    after = np.searchsorted(first.time_s, second.time_s)
    inside = (after > 0) & (after < len(first.time_s))
    after = after[inside]
    spoken = first.time_s[after] - first.time_s[after - 1] <= gap_s
    when = second.time_s[inside][spoken]
    if len(when) < FEW:
        return None
    off = np.hypot(
        np.interp(when, first.time_s, first.easting) - second.easting[inside][spoken],
        np.interp(when, first.time_s, first.northing) - second.northing[inside][spoken],
    )
    return float(np.median(off))


def under_way(record: Record, step_m: float) -> Record:
    """Return the fixes of a record that are each `step_m` from the last one kept.

    What lies still, or wanders about a place, leaves one.
    """
    kept: list[int] = []
    last = (np.inf, np.inf)
    places = zip(record.easting.tolist(), record.northing.tolist(), strict=True)
    for i, place in enumerate(places):
        if not kept or dist(last, place) >= step_m:
            kept.append(i)
            last = place
    return Record(record.time_s[kept], record.easting[kept], record.northing[kept], {})


def _apart(time_s: Floats) -> Bools:
    """Mark the fixes that come at least `CLOSEST_S` after the last one marked."""
    keep = np.diff(time_s, prepend=-np.inf) >= CLOSEST_S
    if keep.all():
        return keep
    last = -np.inf
    for i, now in enumerate(time_s.tolist()):
        keep[i] = now - last >= CLOSEST_S
        if keep[i]:
            last = now
    return keep


def _reached(time_s: Floats, easting: Floats, northing: Floats) -> Bools:
    """Mark the fixes that the boat can have reached from the last one marked."""
    keep = np.ones(len(time_s), dtype=bool)
    far = np.hypot(np.diff(easting), np.diff(northing)) - JUMP_M
    leaps = 1 + np.flatnonzero(far > FASTEST_M_S * np.diff(time_s))
    done = 0
    for leap in leaps.tolist():
        if leap <= done:
            continue
        last = leap - 1
        end = int(np.searchsorted(time_s, time_s[last] + PATIENCE_S, side="right"))
        later = slice(leap, end)
        back = (
            np.hypot(easting[later] - easting[last], northing[later] - northing[last])
            <= FASTEST_M_S * (time_s[later] - time_s[last]) + JUMP_M
        )
        if back.any():
            done = leap + int(back.argmax())
            keep[leap:done] = False
    return keep


def _put_back(time_s: Floats, at: np.ndarray) -> np.ndarray:
    """Return places of which those that a reflection threw aside are put back.

    It throws them all by one vector: they leave the way in one step, come back to it
    in one, and between lie beside the straight line across. A boat that turns and
    comes back does not. Left out they would leave a silence; that vector less, they
    say how the boat went on.
    """
    if len(time_s) < 4:
        return at
    straight = at.copy()
    before, after = _around(time_s, at)
    step_s, step = np.diff(time_s), np.diff(at)
    leaps = (np.abs(step - step_s * before[:-1]) > LEAP_M) & (
        np.abs(step - step_s * after[1:]) > LEAP_M
    )
    places = np.flatnonzero(leaps).tolist()
    done = 0
    for number, last in enumerate(places):
        if last < done:
            continue
        for end in places[number + 1 :]:
            first = end + 1
            if time_s[first] - time_s[last] > PATIENCE_S:
                break
            around = (before[last], after[first])
            aside = _aside(time_s[last : first + 1], at[last : first + 1], around)
            if aside:
                straight[last + 1 : first] -= aside
                done = first
                break
    return straight


def _around(time_s: Floats, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the velocities up to each fix, and from it on, over some ten seconds."""
    index = np.arange(len(time_s))
    earlier = np.searchsorted(time_s, time_s - BASE_S, side="right") - 1
    earlier = np.clip(np.minimum(earlier, index - 1), 0, None)
    later = np.searchsorted(time_s, time_s + BASE_S)
    later = np.clip(np.maximum(later, index + 1), None, len(time_s) - 1)
    before = (at - at[earlier]) / np.maximum(time_s - time_s[earlier], CLOSEST_S)
    after = (at[later] - at) / np.maximum(time_s[later] - time_s, CLOSEST_S)
    return before, after


def _aside(time_s: Floats, at: np.ndarray, around: tuple[complex, complex]) -> complex:
    """Return the one vector by which all but the first and last fix are off, or 0."""
    spent_s = time_s[-1] - time_s[0]
    across = (at[-1] - at[0]) / spent_s
    off = (at - at[0] - across * (time_s - time_s[0]))[1:-1]
    aside = complex(np.median(off.real), np.median(off.imag))
    far_m = abs(aside)
    spread_m = float(np.quantile(np.abs(off - aside), 0.9))
    if far_m < LEAP_M or spread_m > max(APART_M, APART * far_m):
        return 0j
    in_s = max(time_s[1] - time_s[0], time_s[-1] - time_s[-2])
    if far_m > LEAPS_M_S * in_s and len(off) > 2:
        return aside
    alike = all(abs(velocity - across) < ALIKE_M_S for velocity in around)
    return aside if alike else 0j
