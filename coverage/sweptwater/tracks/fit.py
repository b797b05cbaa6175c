"""Reading FIT: where a watch or handheld was, and nothing else of what it knows.

Of all messages only `record` is decoded, of that only position and time, so that names
of devices, their numbers and the profile of whoever wore them are never looked at.

References
----------
FIT protocol, version 2.0 (developer.garmin.com/fit/protocol, from memory): file header,
record headers, definitions, the compressed time. Its profile: `file_id` is message 0,
its field 0 the type of file, 6 a course; `record` is message 20, its fields 253, 0 and
1 the seconds since 1989-12-31 UTC and latitude and longitude in units of 180/2^31
degrees.
"""

import struct
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from sweptwater.arrays import Floats, Ints
from sweptwater.errors import TrackError
from sweptwater.tracks.clock import numeric_times
from sweptwater.tracks.recording import (
    MOST_POINTS,
    Damage,
    Recording,
    damage_remarks,
    joined,
    judged_numbers,
    nowhere,
    time_remarks,
)
from sweptwater.tracks.sniff import is_fit

MOST_BYTES = 32 * 2**20
"""Larger files are refused; a day at one fix a second is some 2 MB."""

MOST_PLACES = 1_000
"""After so many damaged places the rest of a file is lost."""

EPOCH_S = 631_065_600
"""1989-12-31 UTC in seconds since 1970."""

MOST_LAYOUTS = 1_000
"""Files that lay out their records in more ways are refused."""

_FILE_ID, _RECORD = 0, 20
_TYPE, _LATITUDE, _LONGITUDE, _TIMESTAMP = 0, 0, 1, 253
_COURSE = 6
_NEXT = struct.Struct("<4xI4s")
_WINDOW = 2**20
_DAY_S = 86_400
# Smaller values count from when the device was switched on, without a clock set.
_FIRST_CLOCK = 0x10000000
_NO_TIME = 0xFFFFFFFF
_NO_DEGREES = 0x7FFFFFFF
_UNDEFINED = -1


@dataclass(frozen=True, slots=True)
class _Layout:
    """How messages of one local number are laid out.

    Parameters
    ----------
    message
        The global number of what they are.
    size
        Bytes after the header.
    time, lat, lon, kind
        Where in these the time, the position and the type of file stand, -1 if they
        do not.
    order
        "<" or ">" for the order of bytes in numbers.
    """

    message: int
    size: int
    time: int
    lat: int
    lon: int
    kind: int
    order: str


Bytes: TypeAlias = npt.NDArray[np.uint8]

_NOTHING = _Layout(-1, _UNDEFINED, -1, -1, -1, -1, "<")


class _DamageError(Exception):
    """The messages cannot be read on from here."""

    def __init__(self, at: int, *, at_end: bool = False) -> None:
        super().__init__(at)
        self.at = at
        self.at_end = at_end


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
    walk = _Walk(data, name)
    walk.files()
    time, lat, lon = walk.columns()
    block = judged_numbers(lon, lat, numeric_times(time))
    fixes = joined([block], walk.starts)
    if not len(fixes):
        raise TrackError(f"{name} {_why_empty(walk, block.dropped)}")
    damage = walk.damage()
    remarks = (*damage_remarks(damage, len(fixes)), *time_remarks([block.times], fixes))
    return Recording(fixes, (), dict(block.dropped), remarks, False, "FIT")


def _why_empty(walk: "_Walk", dropped: Mapping[str, int]) -> str:
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


class _Walk:
    """A walk over the messages of a file, which notes where its records stand.

    Attributes
    ----------
    starts
        How many records came before each file in the file.
    planned
        How many records were left out as those of a course.
    places, first, broken_off
        In how many places the file is damaged, the byte of the first one, and whether
        it just ends too early there.
    """

    def __init__(self, data: bytes, name: str) -> None:
        self.starts: list[int] = []
        self.planned = self.places = self.first = 0
        self.broken_off = False
        self._data = data
        self._name = name
        self._at: list[int] = []
        self._which: list[int] = []
        self._given: dict[int, int] = {}
        self._known: dict[_Layout, int] = {}
        self._layouts = [_NOTHING] * 16
        self._course = False
        self._stamp: tuple[int, str] | None = None
        self._clock = _NO_TIME

    def damage(self) -> Damage:
        """Return what is wrong with the file."""
        return Damage(f"byte {self.first}", self.places, self.broken_off)

    def files(self) -> None:
        """Go over all files that stand on end in the data."""
        at = 0
        while is_fit(self._data[at : at + 12]) and self._data[at] >= 12:
            self.starts.append(len(self._at))
            self._layouts = [_NOTHING] * 16
            self._course = False
            self._stamp, self._clock = None, _NO_TIME
            end, closed = self._end(at)
            self._file(at + self._data[at], end)
            if not closed and not self.places:
                self._note(_DamageError(end, at_end=True))
            at = end + 2

    def _end(self, at: int) -> tuple[int, bool]:
        """Return where the messages of a file end, and whether the file was closed."""
        size, _ = _NEXT.unpack_from(self._data, at)
        end = at + self._data[at] + size
        after = self._data[end + 2 : end + 16]
        if (
            size
            and end <= len(self._data)
            and (is_fit(after) or not after.strip(b"\0"))
        ):
            return end, True
        return len(self._data), False

    def _file(self, at: int, end: int) -> None:
        while 0 <= at < end:
            try:
                self._messages(at, end)
                break
            except _DamageError as damage:
                self._note(damage)
                self._stamp, self._clock = None, _NO_TIME
                at = self._next_record(damage.at + 1, end)

    def _note(self, damage: _DamageError) -> None:
        if not self.places:
            self.first = damage.at
            self.broken_off = damage.at_end
        self.places += 1

    def _messages(self, at: int, end: int) -> None:
        """Go over messages up to the end or the next damaged place."""
        data, layouts = self._data, self._layouts
        while at < end:
            head = data[at]
            if head & 0xC0 == 0x40:
                at = self._define(at, end)
                continue
            layout = layouts[head >> 5 & 3 if head & 0x80 else head & 15]
            beyond = at + 1 + layout.size
            if layout.size < 0 or beyond > end:
                raise _DamageError(at, at_end=layout.size >= 0)
            if layout.time >= 0:
                self._stamp = (at + 1 + layout.time, layout.order)
            if head & 0x80:
                self._tick(head & 31)
            if layout.message == _RECORD:
                self._record(at + 1, layout, compressed=bool(head & 0x80))
            elif layout.kind >= 0:
                self._course = data[at + 1 + layout.kind] == _COURSE
            at = beyond

    def _record(self, at: int, layout: _Layout, *, compressed: bool) -> None:
        if self._course:
            self.planned += 1
            return
        if compressed:
            self._given[len(self._at)] = self._clock
        self._at.append(at)
        self._which.append(self._known[layout])
        if len(self._at) > MOST_POINTS:
            raise TrackError(
                f"{self._name} has more than {MOST_POINTS:,} track points: export one "
                "day at a time"
            )

    def _tick(self, low_bits: int) -> None:
        """Set the clock to the next time that ends in these five bits."""
        if self._stamp:
            at, order = self._stamp
            (self._clock,) = struct.unpack_from(f"{order}I", self._data, at)
            self._stamp = None
        if self._clock != _NO_TIME:
            self._clock += (low_bits - self._clock) & 31

    def _define(self, at: int, end: int) -> int:
        """Take in a definition, and return where the next message begins."""
        data = self._data
        if at + 6 > end:
            raise _DamageError(at, at_end=True)
        order = "<>"[data[at + 2]] if data[at + 2] < 2 else ""
        fields = at + 6
        beyond = fields + 3 * data[at + 5]
        more = beyond
        if data[at] & 0x20 and beyond < end:  # fields that a developer made up
            more = beyond + 1 + 3 * data[beyond]
        if max(more, beyond + (data[at] >> 5 & 1)) > end:
            raise _DamageError(at, at_end=True)
        sizes = data[fields + 1 : beyond : 3]
        extra = data[beyond + 2 : more : 3]
        if (
            not order
            or not sizes
            or 0 in sizes
            or any(base & 0x60 for base in data[fields + 2 : beyond : 3])
        ):
            raise _DamageError(at)
        message = int.from_bytes(
            data[at + 3 : at + 5], "little" if order == "<" else "big"
        )
        layout = _laid_out(message, data[fields:beyond], sum(extra), order)
        if message == _RECORD and layout not in self._known:
            if len(self._known) >= MOST_LAYOUTS:
                raise TrackError(
                    f"{self._name} lays out its records in more than {MOST_LAYOUTS:,} "
                    "ways, which no recording does: export it again"
                )
            self._known[layout] = len(self._known)
        self._layouts[data[at] & 15] = layout
        return more

    def _next_record(self, after: int, end: int) -> int:
        """Return where a record begins that is beyond doubt, -1 if none does.

        Its time is within a day after the last one, and another message that was
        defined follows it.
        """
        if self.places >= MOST_PLACES:
            return -1
        layouts = [
            (local, layout)
            for local, layout in enumerate(self._layouts)
            if layout.message == _RECORD and layout.time >= 0
        ]
        for start in range(after, end, _WINDOW):
            stop = min(start + _WINDOW, end)
            found = [self._sure(start, stop, end, *pair) for pair in layouts]
            if sure := [at for at in found if at >= 0]:
                return min(sure)
        return -1

    def _sure(
        self, start: int, stop: int, end: int, local: int, layout: _Layout
    ) -> int:
        raw = np.frombuffer(self._data, np.uint8)
        at = start + np.flatnonzero(raw[start:stop] == local)
        at = at[at + layout.size + 1 < end]
        follow = raw[at + layout.size + 1]
        defined = [i for i in range(16) if self._layouts[i].size >= 0]
        at = at[np.isin(follow, defined) | (follow & 0xC0 == 0x40)]
        time = _numbers(raw, at + 1 + layout.time, layout.order)
        last = self._last_time()
        low, high = (last, last + _DAY_S) if last else (_FIRST_CLOCK, _NO_TIME - 1)
        at = at[(time >= low) & (time <= high)]
        return int(at[0]) if len(at) else -1

    def _last_time(self) -> int:
        """Return the time of the last record that has a full one, 0 if none does."""
        layouts = list(self._known)
        for at, which in zip(self._at[:-100:-1], self._which[:-100:-1], strict=True):
            layout = layouts[which]
            if layout.time >= 0:
                number = struct.unpack_from(
                    f"{layout.order}I", self._data, at + layout.time
                )
                if _FIRST_CLOCK <= number[0] < _NO_TIME:
                    return number[0]
        return 0

    def columns(self) -> tuple[Floats, Floats, Floats]:
        """Return times, latitudes and longitudes of all records, NaN where missing."""
        at = np.array(self._at, dtype=np.int64)
        which = np.array(self._which, dtype=np.int64)
        time = np.full(len(at), _NO_TIME, dtype=np.int64)
        lat, lon = np.full((2, len(at)), _NO_DEGREES, dtype=np.int64)
        raw = np.frombuffer(self._data, np.uint8)
        order = np.argsort(which, kind="stable")
        groups = np.split(order, np.cumsum(np.bincount(which, minlength=1))[:-1])
        for layout, rows in zip(self._known, groups, strict=False):
            for column, offset in (
                (time, layout.time),
                (lat, layout.lat),
                (lon, layout.lon),
            ):
                if offset >= 0:
                    column[rows] = _numbers(raw, at[rows] + offset, layout.order)
        time[list(self._given)] = list(self._given.values())
        return _seconds(time), _degrees(lat), _degrees(lon)


def _laid_out(message: int, fields: bytes, extra: int, order: str) -> _Layout:
    """Return the layout that a definition's three bytes a field mean."""
    offsets: dict[tuple[int, int], int] = {}
    size = 0
    for number, width in zip(fields[::3], fields[1::3], strict=True):
        offsets.setdefault((number, width), size)
        size += width
    is_record = message == _RECORD
    return _Layout(
        message,
        size + extra,
        offsets.get((_TIMESTAMP, 4), -1),
        offsets.get((_LATITUDE, 4), -1) if is_record else -1,
        offsets.get((_LONGITUDE, 4), -1) if is_record else -1,
        offsets.get((_TYPE, 1), -1) if message == _FILE_ID else -1,
        order,
    )


def _numbers(raw: Bytes, at: Ints, order: str) -> Ints:
    """Return the unsigned numbers of four bytes that begin at places."""
    four = np.ascontiguousarray(raw[at[:, None] + np.arange(4)])
    return four.view(f"{order}u4")[:, 0].astype(np.int64)


def _seconds(time: Ints) -> Floats:
    """Return seconds since 1970; what is no time of day comes out before 1990."""
    time_s = np.where(time < _FIRST_CLOCK, time, time + EPOCH_S).astype(np.float64)
    time_s[time >= _NO_TIME] = np.nan
    return time_s


def _degrees(semicircles: Ints) -> Floats:
    signed = semicircles.astype(np.uint32).view(np.int32)
    degrees = signed.astype(np.float64) * (180 / 2**31)
    degrees[semicircles == _NO_DEGREES] = np.nan
    return degrees
