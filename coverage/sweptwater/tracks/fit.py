"""Reading FIT: where a watch or handheld was, and nothing else of what it knows.

Of all messages only `record` is decoded, of that only position and time, so that names
of devices, their numbers and the profile of whoever wore them are never looked at.

References
----------
FIT protocol and profile (their public description, from memory): times in seconds since
1989-12-31 UTC, positions in units of 180/2^31 degrees.
"""

from collections.abc import Iterator, Mapping

import numpy as np

from sweptwater.arrays import Floats, Ints
from sweptwater.errors import TrackError
from sweptwater.tracks.fit_walk import FIRST_CLOCK, NO_DEGREES, NO_TIME, Walk, numbers
from sweptwater.tracks.recording import (
    Recording,
    damage_remarks,
    joined,
    judged_numbers,
    nowhere,
    time_remarks,
)

MOST_BYTES = 32 * 2**20
"""Larger files are refused; a day at one fix a second is some 2 MB."""

EPOCH_S = 631_065_600
"""1989-12-31 UTC in seconds since 1970."""


def read_fit(data: bytes, *, name: str = "the file") -> Recording:
    """Return the fixes of a FIT file, or of several on end in one.

    Parameters
    ----------
    data
        The file as it is. One that breaks off or was never closed gives all that it
        has; after damage reading goes on with the next record that is beyond doubt.
    name
        What to call the file in errors.

    Raises
    ------
    TrackError
        If there is no usable fix, the file is a planned course, or it is larger than
        `MOST_BYTES` or written to do harm.
    """
    if len(data) > MOST_BYTES:
        raise TrackError(
            f"{name} has {len(data) / 2**20:,.0f} MB and of FIT at most "
            f"{MOST_BYTES / 2**20:.0f} MB are read: export one day at a time"
        )
    walk = Walk(data, name)
    walk.files()
    time_s, lat, lon = _columns(walk)
    block = judged_numbers(lon, lat, time_s)
    fixes = joined([block], walk.starts)
    if not len(fixes):
        raise TrackError(f"{name} {_why_empty(walk, block.dropped)}")
    remarks = (
        *_damage_remarks(walk, len(fixes)),
        *time_remarks([block.times], fixes),
    )
    return Recording(fixes, (), dict(block.dropped), remarks, False, "FIT")


def _damage_remarks(walk: Walk, fixes: int) -> Iterator[str]:
    if walk.places:
        yield from damage_remarks(walk.damage(), fixes)
    elif walk.altered:
        yield (
            "the check sum of the file is wrong, so something in it is damaged, though "
            "all of it could be read: copy it again from the device if you can"
        )


def _why_empty(walk: Walk, dropped: Mapping[str, int]) -> str:
    """Return why there is no fix, and what to do, as the rest of a sentence."""
    if dropped:
        return nowhere(dropped)
    if walk.planned:
        return (
            f"is a planned course of {walk.planned} points: export the track that the "
            "device recorded"
        )
    if walk.places:
        return (
            f"is damaged at byte {walk.first}, before its first record: copy it again "
            "from the device"
        )
    return "holds no record of where it was: export an activity from the device"


def _columns(walk: Walk) -> tuple[Floats, Floats, Floats]:
    """Return times, latitudes and longitudes of all records, NaN where missing."""
    at = np.array(walk.at, dtype=np.int64)
    which = np.array(walk.which, dtype=np.int64)
    time = np.full(len(at), NO_TIME, dtype=np.int64)
    lat, lon = np.full((2, len(at)), NO_DEGREES, dtype=np.int64)
    raw = np.frombuffer(walk.data, np.uint8)
    order = np.argsort(which, kind="stable")
    groups = np.split(order, np.cumsum(np.bincount(which, minlength=1))[:-1])
    for layout, rows in zip(walk.layouts, groups, strict=False):
        offsets = (layout.time, layout.lat, layout.lon)
        for column, offset in zip((time, lat, lon), offsets, strict=True):
            if offset >= 0:
                column[rows] = numbers(raw, at[rows] + offset, layout.order)
    time[list(walk.given)] = list(walk.given.values())
    return _seconds(time), _degrees(lat), _degrees(lon)


def _seconds(time: Ints) -> Floats:
    """Return seconds since 1970; what is no time of day comes out before 1990."""
    time_s = np.where(time < FIRST_CLOCK, time, time + EPOCH_S).astype(np.float64)
    time_s[time >= NO_TIME] = np.nan
    return time_s


def _degrees(semicircles: Ints) -> Floats:
    signed = semicircles.astype(np.uint32).view(np.int32)
    degrees = signed.astype(np.float64) * (180 / 2**31)
    degrees[semicircles == NO_DEGREES] = np.nan
    return degrees
