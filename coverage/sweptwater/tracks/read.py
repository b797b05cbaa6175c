"""From the bytes of a GPX file to fixes, with all that was lost or assumed told.

References
----------
GPX 1.1 schema: latitudes from -90 to 90, longitudes from -180 to below 180, both in
degrees on WGS 84.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sweptwater.arrays import Floats, Ints
from sweptwater.errors import TrackError
from sweptwater.tracks.clock import Times, read_times
from sweptwater.tracks.scan import Columns, Mark, Scan
from sweptwater.tracks.sniff import likeness, utf8_xml

MOST_BYTES = 256 * 2**20
"""Larger files are refused; a day at one fix a second is some 5 MB."""

NO_POSITION = "no position"
NO_NUMBER = "a position that is not a number"
BEYOND_POLES = "a latitude beyond the poles"
BEYOND_GLOBE = "a longitude beyond 180 degrees"
NO_SATELLITES = "no satellite fix (0, 0)"

_REASONS = (NO_POSITION, NO_NUMBER, BEYOND_POLES, BEYOND_GLOBE, NO_SATELLITES)
_LONGEST_NAME = 200


@dataclass(frozen=True, slots=True, eq=False)
class Fixes:
    """Fixes of one file in the order of the file.

    Parameters
    ----------
    lon, lat
        Degrees, finite, -180 to below 180 and -90 to 90.
    time_s
        Seconds since 1970-01-01 UTC, NaN where the file gave none.
    segment
        Which trkseg of the file each belongs to, counting from 0. Segments without a
        fix count too, so numbers may be missing.
    """

    lon: Floats
    lat: Floats
    time_s: Floats
    segment: Ints

    def __len__(self) -> int:
        return len(self.lon)


@dataclass(frozen=True, slots=True)
class Waypoint:
    """A marked place, in degrees, and its seconds since 1970 UTC (NaN if untimed)."""

    name: str
    lon: float
    lat: float
    time_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """What one file holds.

    Parameters
    ----------
    fixes
        At least one.
    waypoints
        Those with a usable position, in the order of the file.
    dropped
        How many track points were left out, by reason in plain words.
    remarks
        Sentences for the captain on what was lost or assumed.
    loose_times
        Whether some times carried no zone and were taken as UTC.
    """

    fixes: Fixes
    waypoints: tuple[Waypoint, ...]
    dropped: Mapping[str, int]
    remarks: tuple[str, ...]
    loose_times: bool


@dataclass(frozen=True, slots=True)
class _Block:
    """The usable ones of consecutive points."""

    lon: Floats
    lat: Floats
    times: Times
    kept: Ints
    dropped: Counter[str]
    points: int


def read_gpx(data: bytes, *, name: str = "the file") -> Recording:
    """Return the fixes and waypoints of a GPX file of any version.

    Parameters
    ----------
    data
        The file as it is, in any usual encoding; truncated or damaged files give what
        can be read of them.
    name
        What to call the file in errors.

    Raises
    ------
    TrackError
        If there is no usable track point, or the file is larger than `MOST_BYTES` or
        written to do harm.

    Examples
    --------
    >>> recording = read_gpx(
    ...     b'<gpx><trk><trkseg><trkpt lat="52.65" lon="-0.65">'
    ...     b"<time>2027-06-08T10:00:00Z</time></trkpt>"
    ...     b'<trkpt lat="0" lon="0"/><trkpt lat="52.66" lon="-0.65"'
    ... )
    >>> recording.fixes.lat.tolist(), recording.fixes.time_s.tolist()
    ([52.65], [1812448800.0])
    >>> recording.dropped
    {'no satellite fix (0, 0)': 1}
    >>> recording.remarks[0].partition(":")[0]
    'the file breaks off at line 1 in the middle of the record'
    """
    _refuse_unread(data, name)
    scan = Scan(name)
    blocks = [_judge(columns) for columns in scan.columns(utf8_xml(data))]
    if not scan.root and not any(block.points for block in blocks):
        raise TrackError(f"{name} is not GPX; it looks like {likeness(data)}")
    fixes = _joined(blocks, scan.segments)
    dropped = sum((block.dropped for block in blocks), Counter[str]())
    if not len(fixes):
        raise TrackError(f"{name} {_why_empty(scan, dropped)}")
    marks = _judge(_mark_columns(scan.marks))
    times = [block.times for block in (*blocks, marks)]
    remarks = (
        *_scan_remarks(scan, len(fixes), len(marks.lon)),
        *_time_remarks(times, fixes),
    )
    return Recording(
        fixes,
        tuple(_waypoints(marks, scan.marks)),
        dict(dropped),
        remarks,
        any(part.zoneless for part in times),
    )


def _refuse_unread(data: bytes, name: str) -> None:
    if len(data) > MOST_BYTES:
        raise TrackError(
            f"{name} has {len(data) / 2**20:,.0f} MB and at most "
            f"{MOST_BYTES / 2**20:.0f} MB are read: export one day at a time"
        )
    if not data[:1024].strip() and not data.strip():
        raise TrackError(f"{name} is empty: copy it again from the device")


def _judge(columns: Columns) -> _Block:
    """Turn texts into numbers and leave out the points that cannot be anywhere."""
    lon, lat = _degrees(columns.lons), _degrees(columns.lats)
    lon[lon == 180] = -180  # the same meridian, as the schema writes it
    flaws = [
        np.zeros(len(lon), dtype=bool),
        ~(np.isfinite(lon) & np.isfinite(lat)),
        np.abs(lat) > 90,
        np.abs(lon) > 180,
        (lon == 0) & (lat == 0),
    ]
    for i in np.flatnonzero(flaws[1]).tolist():
        flaws[0][i] = not (columns.lons[i].strip() and columns.lats[i].strip())
    reason = np.select(flaws, range(len(flaws)), default=-1)
    kept = np.flatnonzero(reason < 0)
    counts = np.bincount(reason[reason >= 0], minlength=len(flaws)).tolist()
    texts = columns.times
    if len(kept) < len(texts):
        texts = [texts[i] for i in kept.tolist()]
    dropped = Counter(dict(zip(_REASONS, counts, strict=True)))
    return _Block(lon[kept], lat[kept], read_times(texts), kept, +dropped, len(lon))


def _degrees(texts: Sequence[str]) -> Floats:
    """Return the numbers in a column of texts, NaN where there is none."""
    try:
        return np.fromiter(map(float, texts), np.float64, len(texts))
    except ValueError:
        return np.fromiter(map(_number, texts), np.float64, len(texts))


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return np.nan


def _joined(blocks: Sequence[_Block], segments: Sequence[int]) -> Fixes:
    """Put blocks together; `segments` says how many points came before each trkseg."""
    before = np.cumsum([0, *(block.points for block in blocks)])
    point = np.concatenate(
        [block.kept + start for block, start in zip(blocks, before[:-1], strict=True)]
    )
    return Fixes(
        np.concatenate([block.lon for block in blocks]),
        np.concatenate([block.lat for block in blocks]),
        np.concatenate([block.times.time_s for block in blocks]),
        np.searchsorted(segments, point, side="right") - 1,
    )


def _mark_columns(marks: Sequence[Mark]) -> Columns:
    return Columns(
        [mark.lon for mark in marks],
        [mark.lat for mark in marks],
        [mark.time for mark in marks],
    )


def _waypoints(block: _Block, marks: Sequence[Mark]) -> Iterator[Waypoint]:
    for i, mark in enumerate(block.kept.tolist()):
        name = " ".join(marks[mark].name.split())[:_LONGEST_NAME]
        place = (float(block.lon[i]), float(block.lat[i]))
        yield Waypoint(name, *place, float(block.times.time_s[i]))


def _why_empty(scan: Scan, dropped: Mapping[str, int]) -> str:
    """Return why there is no fix, and what to do, as the rest of a sentence."""
    if dropped:
        reasons = ", ".join(f"{count} with {why}" for why, count in dropped.items())
        return (
            f"has no track point with a usable position ({reasons}): look whether the "
            "device had its satellite fix"
        )
    if scan.places:
        return (
            f"is damaged at line {scan.line}, before its first track point: copy it "
            "again from the device"
        )
    marks = len(scan.marks) + scan.surplus_marks
    return (
        f"holds no track point ({_count(marks, 'waypoint')}, "
        f"{_count(scan.route_points, 'route point')}): export the track that the "
        "device recorded, not its marks or a planned route"
    )


def _scan_remarks(scan: Scan, fixes: int, waypoints: int) -> Iterator[str]:
    if scan.broken_off:
        yield (
            f"the file breaks off at line {scan.line} in the middle of the record: "
            f"{_were(fixes, 'fix')} kept up to there; copy it again from the device if "
            "you can"
        )
    elif scan.places:
        more = f" and in {_count(scan.places - 1, 'other place')}"
        lost = f"at least {_were(scan.lost, 'track point')} lost with what stood there"
        yield (
            f"the file is damaged at line {scan.line}{more if scan.places > 1 else ''}:"
            f" {_were(fixes, 'fix')} kept and "
            f"{lost if scan.lost else 'what stood there was lost'}; copy it again from "
            "the device if you can"
        )
    if scan.routes or scan.route_points:
        yield (
            f"{_were(scan.routes, 'route')} left out "
            f"({_count(scan.route_points, 'point')}): only what a boat recorded counts"
        )
    if scan.surplus_marks:
        yield f"{_were(scan.surplus_marks, 'waypoint')} left out as too many"
    if unplaced := len(scan.marks) - waypoints:
        yield f"{_were(unplaced, 'waypoint')} left out for want of a usable position"


def _time_remarks(times: Sequence[Times], fixes: Fixes) -> Iterator[str]:
    unreadable = [text for part in times for text in part.unreadable]
    implausible = [text for part in times for text in part.implausible]
    zoneless = sum(part.zoneless for part in times)
    untimed = int(np.isnan(fixes.time_s).sum())
    if unreadable:
        yield (
            f"{_were(len(unreadable), 'time')} unreadable, like {unreadable[0]!r}, and "
            "left out: the place was kept"
        )
    if implausible:
        yield (
            f"{_were(len(implausible), 'time')} before 1990 or after 2100, like "
            f"{implausible[0]!r}, and left out: set the clock of the device"
        )
    if zoneless:
        yield (
            f"{_were(zoneless, 'time')} without a zone and taken as UTC: shift the "
            "track if the device writes local time"
        )
    if untimed == len(fixes):
        yield "no fix has a time"
    elif untimed:
        yield f"{_count(untimed, 'fix')} of {len(fixes)} without a time"


def _count(number: int, what: str) -> str:
    plural = "es" if what.endswith("x") else "s"
    return f"{number} {what}{plural if number != 1 else ''}"


def _were(number: int, what: str) -> str:
    return f"{_count(number, what)} {'were' if number != 1 else 'was'}"
