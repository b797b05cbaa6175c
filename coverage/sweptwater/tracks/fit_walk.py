"""A walk over the messages of a FIT file, which finds its records and opens no other.

References
----------
FIT protocol, version 2.0 (its public description, from memory): file header,
record headers, definitions, the compressed time. Its profile: `file_id` is message 0,
its field 0 the type of file, 6 a course; `record` is message 20, its fields 253, 0 and
1 the seconds since 1989-12-31 UTC and latitude and longitude.
"""

import struct
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from sweptwater.arrays import Ints
from sweptwater.errors import TrackError
from sweptwater.tracks.check_sum import crc16
from sweptwater.tracks.recording import MOST_POINTS, Damage
from sweptwater.tracks.sniff import is_fit

MOST_PLACES = 1_000
"""After so many damaged places the rest of a file is lost."""

MOST_CHECKED = 100
"""Of so many files on end the check sums are compared."""

MOST_LAYOUTS = 1_000
"""Files that lay out their records in more ways are refused."""

FIRST_CLOCK = 0x10000000
"""Smaller times count from when the device was switched on, without a clock set."""

NO_TIME = 0xFFFFFFFF
NO_DEGREES = 0x7FFFFFFF

Bytes: TypeAlias = npt.NDArray[np.uint8]

_FILE_ID, _RECORD = 0, 20
_TYPE, _LATITUDE, _LONGITUDE, _TIMESTAMP = 0, 0, 1, 253
_COURSE = 6
_SIZE = struct.Struct("<4xI")
_WINDOW = 2**16
_DAY_S = 86_400
# Base types; the highest bit marks those of several bytes, two bits are reserved.
_TYPES = bytes(base for base in range(256) if not base & 0x60)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How messages of one local number are laid out.

    Parameters
    ----------
    message
        The global number of what they are.
    size
        Bytes after the header, -1 if it is not defined.
    time, lat, lon, kind
        Where in these the time, the position and the type of file stand, -1 if they
        do not.
    order
        "<" or ">" for the order of bytes in numbers.
    """

    message: int = -1
    size: int = -1
    time: int = -1
    lat: int = -1
    lon: int = -1
    kind: int = -1
    order: str = "<"


_NOTHING = Layout()


class _DamageError(Exception):
    """The messages cannot be read on from here."""

    def __init__(self, at: int, *, at_end: bool = False) -> None:
        super().__init__(at)
        self.at = at
        self.at_end = at_end


class Walk:
    """A walk over the messages of a file, which notes where its records stand.

    Attributes
    ----------
    starts
        How many records came before each file in the file.
    planned
        How many records were left out as those of a course.
    at, which, given, layouts
        Where each record's contents begin in the data, the number of its layout, the
        times that came with headers by the number of the record, and all layouts.
    places, first, broken_off
        In how many places the file is damaged, the byte of the first one, and whether
        it just ends too early there.
    altered
        Whether a check sum tells of damage that need not show otherwise.
    """

    def __init__(self, data: bytes, name: str) -> None:
        self.data = data
        self.starts: list[int] = []
        self.at: list[int] = []
        self.which: list[int] = []
        self.given: dict[int, int] = {}
        self.layouts: dict[Layout, int] = {}
        self.planned = self.places = self.first = 0
        self.broken_off = self.altered = False
        self._name = name
        self._defined = [_NOTHING] * 16
        self._course = False
        self._stamp: tuple[int, str] | None = None
        self._clock = NO_TIME
        self._last_end = -1

    def damage(self) -> Damage:
        """Return what is wrong with the file."""
        return Damage(f"byte {self.first}", self.places, self.broken_off)

    def files(self) -> None:
        """Go over all files that stand on end in the data."""
        at = 0
        while is_fit(self.data[at : at + 12]):
            self.starts.append(len(self.at))
            self._defined = [_NOTHING] * 16
            self._course = False
            self._stamp, self._clock = None, NO_TIME
            (size,) = _SIZE.unpack_from(self.data, at)
            start = at + self.data[at]
            end = min(start + size if size else len(self.data), len(self.data))
            self._file(start, end)
            closed = 0 < size <= len(self.data) - start
            if closed and len(self.starts) <= MOST_CHECKED:
                self._check(at, end)
            at = end + 2
            self._beyond(end, closed=closed)

    def _check(self, start: int, end: int) -> None:
        """Compare the check sum after a file; 0 is written where it is not known."""
        told = int.from_bytes(self.data[end : end + 2], "little")
        if told and told != crc16(self.data[start:end]):
            self.altered = True

    def _beyond(self, end: int, *, closed: bool) -> None:
        """Look after a file whether it was closed, and else for more of it."""
        if not closed:
            self._note(_DamageError(end, at_end=True))
        elif not is_fit(self.data[end + 2 : end + 14]):
            more = self._next_record(end, len(self.data))
            if more >= 0:
                self._note(_DamageError(end))
                self._file(more, len(self.data))

    def _file(self, at: int, end: int) -> None:
        while 0 <= at < end:
            try:
                self._messages(at, end)
                break
            except _DamageError as damage:
                self._note(damage)
                self._forget(damage)
                self._stamp, self._clock = None, NO_TIME
                at = self._next_record(damage.at + 1, end)

    def _note(self, damage: _DamageError) -> None:
        if self.places and damage.at_end:
            return
        if not self.places:
            self.first = damage.at
            self.broken_off = damage.at_end
        self.places += 1

    def _forget(self, damage: _DamageError) -> None:
        """Forget the record just before a damaged place, which may begin in it."""
        if not damage.at_end and self._last_end == damage.at and self.at:
            self.given.pop(len(self.at) - 1, None)
            del self.at[-1], self.which[-1]

    def _messages(self, at: int, end: int) -> None:
        """Go over messages up to the end or the next damaged place."""
        data, layouts = self.data, self._defined
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

    def _record(self, at: int, layout: Layout, *, compressed: bool) -> None:
        if self._course:
            self.planned += 1
            return
        self._last_end = at + layout.size
        if compressed:
            self.given[len(self.at)] = self._clock
        self.at.append(at)
        self.which.append(self.layouts[layout])
        if len(self.at) > MOST_POINTS:
            raise TrackError(
                f"{self._name} has more than {MOST_POINTS:,} track points: export one "
                "day at a time"
            )

    def _tick(self, low_bits: int) -> None:
        """Set the clock to the next time that ends in these five bits."""
        if self._stamp:
            at, order = self._stamp
            (self._clock,) = struct.unpack_from(f"{order}I", self.data, at)
            self._stamp = None
        if self._clock != NO_TIME:
            self._clock += (low_bits - self._clock) & 31

    def _define(self, at: int, end: int) -> int:
        """Take in a definition, and return where the next message begins."""
        data = self.data
        fields = at + 6
        beyond = fields + 3 * data[at + 5] if fields <= end else end + 1
        more = beyond
        if data[at] & 0x20:  # fields that an application made up
            more = beyond + 1 + (3 * data[beyond] if beyond < end else 0)
        if more > end:
            raise _DamageError(at, at_end=True)
        order = {0: "<", 1: ">"}.get(data[at + 2], "")
        if not order or not _sound(data[fields:beyond]):
            raise _DamageError(at)
        extra = sum(data[beyond + 2 : more : 3])
        message = struct.unpack_from(f"{order}H", data, at + 3)[0]
        layout = _laid_out(message, data[fields:beyond], extra, order)
        if message == _RECORD:
            self._learn(layout)
        self._defined[data[at] & 15] = layout
        return more

    def _learn(self, layout: Layout) -> None:
        number = self.layouts.setdefault(layout, len(self.layouts))
        if number >= MOST_LAYOUTS:
            raise TrackError(
                f"{self._name} lays out its records in more than {MOST_LAYOUTS:,} "
                "ways, which no recording does: export it again"
            )

    def _next_record(self, after: int, end: int) -> int:
        """Return where a record begins that is beyond doubt, -1 if none does.

        Its time is within a day after the last one, and another message that was
        defined follows it.
        """
        if self.places >= MOST_PLACES:
            return -1
        layouts = [
            (local, layout)
            for local, layout in enumerate(self._defined)
            if layout.message == _RECORD and layout.time >= 0
        ]
        for start in range(after, end, _WINDOW):
            stop = min(start + _WINDOW, end)
            found = [self._sure(start, stop, end, *pair) for pair in layouts]
            if sure := [at for at in found if at >= 0]:
                return min(sure)
        return -1

    def _sure(self, start: int, stop: int, end: int, local: int, layout: Layout) -> int:
        raw = np.frombuffer(self.data, np.uint8)
        at = start + np.flatnonzero(raw[start:stop] == local)
        at = at[at + layout.size + 1 < end]
        follow = raw[at + layout.size + 1]
        defined = [i for i in range(16) if self._defined[i].size >= 0]
        at = at[np.isin(follow, defined) | (follow & 0xC0 == 0x40)]
        time = numbers(raw, at + 1 + layout.time, layout.order)
        last = self._last_time()
        low, high = (last, last + _DAY_S) if last else (FIRST_CLOCK, NO_TIME - 1)
        at = at[(time >= low) & (time <= high)]
        return int(at[0]) if len(at) else -1

    def _last_time(self) -> int:
        """Return about when the last records were, 0 if that is not known."""
        layouts = list(self.layouts)
        times = []
        for at, which in zip(self.at[-51:], self.which[-51:], strict=True):
            layout = layouts[which]
            if layout.time >= 0:
                form = f"{layout.order}I"
                (time,) = struct.unpack_from(form, self.data, at + layout.time)
                times.append(time)
        # The middle one: the last may be of the damage.
        middle = sorted(times)[len(times) // 2] if times else 0
        return middle if FIRST_CLOCK <= middle < NO_TIME else 0


def _sound(fields: bytes) -> bool:
    """Tell whether fields of a definition, three bytes each, can be real."""
    return bool(fields) and 0 not in fields[1::3] and not fields[2::3].strip(_TYPES)


@lru_cache(maxsize=256)  # devices define the same again and again
def _laid_out(message: int, fields: bytes, extra: int, order: str) -> Layout:
    """Return the layout that a definition's three bytes a field mean."""
    offsets: dict[tuple[int, int], int] = {}
    size = 0
    for number, width in zip(fields[::3], fields[1::3], strict=True):
        offsets.setdefault((number, width), size)
        size += width
    is_record = message == _RECORD
    return Layout(
        message=message,
        size=size + extra,
        time=offsets.get((_TIMESTAMP, 4), -1),
        lat=offsets.get((_LATITUDE, 4), -1) if is_record else -1,
        lon=offsets.get((_LONGITUDE, 4), -1) if is_record else -1,
        kind=offsets.get((_TYPE, 1), -1) if message == _FILE_ID else -1,
        order=order,
    )


def numbers(raw: Bytes, at: Ints, order: str) -> Ints:
    """Return the unsigned numbers of four bytes that begin at places."""
    four = np.ascontiguousarray(raw[at[:, None] + np.arange(4)])
    return four.view(f"{order}u4")[:, 0].astype(np.int64)
