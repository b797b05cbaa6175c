"""From the bytes of a file to fixes, with all that was lost or assumed told."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from sweptwater.errors import TrackError
from sweptwater.tracks.content import Content, Gpx, Tcx
from sweptwater.tracks.kml import Kml
from sweptwater.tracks.recording import (
    Block,
    Fixes,
    Recording,
    Waypoint,
    count,
    damage_remarks,
    joined,
    judged_texts,
    nowhere,
    time_remarks,
    were,
)
from sweptwater.tracks.scan import Scan
from sweptwater.tracks.sniff import READABLE, is_fit, is_packed, likeness, utf8_xml

__all__ = [
    "MOST_BYTES",
    "Fixes",
    "Recording",
    "Waypoint",
    "read_gpx",
    "read_track",
    "read_waypoints",
]

MOST_BYTES = 256 * 2**20
"""Larger files are refused; a day at one fix a second is some 5 MB."""

_LONGEST_NAME = 200


def read_track(data: bytes, *, name: str) -> Recording:
    """Return the fixes of a file of any kind that phones and watches write.

    What a file is, its contents say: GPX, TCX and KML by their outermost element, FIT
    by its signature, and a zip archive (KMZ is one) or a gzip file is opened for the
    one track that it holds.

    Parameters
    ----------
    data
        The file as it is; truncated or damaged files give what can be read of them.
    name
        What to call the file in errors.

    Raises
    ------
    TrackError
        If the file is nothing of these, holds no usable track point, or is too large
        or written to do harm.

    Examples
    --------
    >>> recording = read_track(
    ...     b"<kml><Placemark><Track><when>2027-06-08T10:00:00Z</when>"
    ...     b"<coord>-0.65 52.65 61.2</coord></Track></Placemark></kml>",
    ...     name="heron.gpx",
    ... )
    >>> recording.kind, recording.fixes.lat.tolist(), recording.fixes.time_s.tolist()
    ('KML', [52.65], [1812448800.0])
    """
    _refuse_unread(data, name)
    if is_packed(data):
        # Imported here, like the reader of FIT: most practices hold no such file.
        from sweptwater.tracks.archive import unpacked

        archive = unpacked(data, name=name, most_bytes=MOST_BYTES)
        recording = _read_plain(archive.content, name)
        if archive.whole:
            return recording
        remark = "the archive is damaged: what could be unpacked of it was read"
        return replace(recording, remarks=(remark, *recording.remarks))
    return _read_plain(data, name)


def _read_plain(data: bytes, name: str) -> Recording:
    _refuse_unread(data, name)
    if is_fit(data):
        from sweptwater.tracks.fit import read_fit

        return read_fit(data, name=name)
    return _read_xml(data, name, (Gpx, Tcx, Kml))


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
    return _read_xml(data, name, (Gpx,))


def read_waypoints(data: bytes, *, name: str) -> tuple[Waypoint, ...]:
    """Return the waypoints of a GPX file, whether it holds a track or not.

    Parameters
    ----------
    data
        The file as it is, in any usual encoding; of a damaged one, what can be read.
    name
        What to call the file in errors.

    Raises
    ------
    TrackError
        If the file is no GPX, is too large or written to do harm.

    Examples
    --------
    >>> gpx = b'<gpx><wpt lat="52.65" lon="-0.65"><name> 2  pulls</name></wpt></gpx>'
    >>> [(mark.name, mark.lat) for mark in read_waypoints(gpx, name="marks.gpx")]
    [('2 pulls', 52.65)]
    """
    _refuse_unread(data, name)
    scan = Scan(name, (Gpx,))
    for _ in scan.columns(utf8_xml(data)):
        pass  # a track may be in it too
    if scan.content is None:
        raise TrackError(f"{name} is not GPX; it looks like {likeness(data)}")
    marks = scan.content.marks
    return tuple(_waypoints(judged_texts(*marks[:3]), marks.names))


def _refuse_unread(data: bytes, name: str) -> None:
    if len(data) > MOST_BYTES:
        raise TrackError(
            f"{name} has {len(data) / 2**20:,.0f} MB and at most "
            f"{MOST_BYTES / 2**20:.0f} MB are read: export one day at a time"
        )
    if not data[:1024].strip() and not data.strip():
        raise TrackError(f"{name} is empty: copy it again from the device")


def _read_xml(data: bytes, name: str, kinds: Sequence[type[Content]]) -> Recording:
    scan = Scan(name, kinds)
    blocks = [judged_texts(*columns) for columns in scan.columns(utf8_xml(data))]
    content = scan.content
    if content is None:
        wanted = "GPX" if len(kinds) == 1 else READABLE
        raise TrackError(f"{name} is not {wanted}; it looks like {likeness(data)}")
    fixes = joined(blocks, content.segments)
    dropped = sum((block.dropped for block in blocks), Counter[str]())
    if not len(fixes):
        raise TrackError(f"{name} {_why_empty(scan, content, dropped)}")
    marks = judged_texts(*content.marks[:3])
    times = [block.times for block in (*blocks, marks)]
    remarks = (
        *damage_remarks(scan.damage, len(fixes)),
        *_content_remarks(content, len(marks.lon)),
        *time_remarks(times, fixes),
    )
    return Recording(
        fixes,
        tuple(_waypoints(marks, content.marks.names)),
        dict(dropped),
        remarks,
        any(part.zoneless for part in times),
        content.kind,
    )


def _waypoints(block: Block, names: Sequence[str]) -> Iterator[Waypoint]:
    for i, mark in enumerate(block.kept.tolist()):
        name = " ".join(names[mark].split())[:_LONGEST_NAME]
        place = (float(block.lon[i]), float(block.lat[i]))
        yield Waypoint(name, *place, float(block.times.time_s[i]))


def _why_empty(scan: Scan, content: Content, dropped: Counter[str]) -> str:
    """Return why there is no fix, and what to do, as the rest of a sentence."""
    if dropped:
        return nowhere(dropped)
    if scan.damage.places:
        return (
            f"is damaged at {scan.damage.where}, before its first track point: copy it "
            "again from the device"
        )
    marks = len(content.marks.names) + content.surplus_marks
    return (
        f"holds no track point ({count(marks, 'waypoint')}, "
        f"{count(content.route_points, 'route point')}): export the track that the "
        "device recorded, not its marks or a planned route"
    )


def _content_remarks(content: Content, waypoints: int) -> Iterator[str]:
    if content.routes or content.route_points:
        yield (
            f"{were(content.routes, 'route')} left out "
            f"({count(content.route_points, 'point')}): only what a boat "
            "recorded counts"
        )
    if content.surplus_marks:
        yield f"{were(content.surplus_marks, 'waypoint')} left out as too many"
    if unplaced := len(content.marks.names) - waypoints:
        yield f"{were(unplaced, 'waypoint')} left out for want of a usable position"
    yield from content.remarks()
