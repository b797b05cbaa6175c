"""Take in the tracks of a pair, and say what each adds."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError, SweptwaterError, TrackError
from sweptwater.jobs.afloat import (
    DayFixes,
    Records,
    boat_day,
    day_fixes,
    read_boat_days,
    read_original,
)
from sweptwater.jobs.opened import Opened, Watch, open_folder, unwatched
from sweptwater.jobs.places import DriftLine, drift_lines
from sweptwater.practice.files import read_whole, write_whole, writing
from sweptwater.practice.originals import (
    SUFFIXES,
    TRACKS,
    Original,
    digest_of,
    keep_original,
)
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.layered import Stack, merge_stacks
from sweptwater.tracks.brought import Brought, Here, joined
from sweptwater.tracks.clock_doubts import clock_doubts, stopped_clock, turned_clock
from sweptwater.tracks.read import Recording, read_gpx

SPENT = (
    *("fishing_s", "motoring_s", "ashore_s", "unknown_s"),
    *("doubtful_s", "anchored_s"),
)


@dataclass(frozen=True, slots=True)
class TrackLine:
    """What one file holds and adds; durations in s, areas in m2."""

    file: str
    pair: str
    days: tuple[date, ...]
    fixes: int
    dropped: int
    dropped_why: Mapping[str, int]
    fishing_s: float
    motoring_s: float
    ashore_s: float
    unknown_s: float
    doubtful_s: float
    anchored_s: float
    swept_m2: float
    new_m2: float
    known: bool
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """A file that was not taken, and why."""

    file: str
    why: str


@dataclass(frozen=True, slots=True)
class Uploaded:
    """What became of each file, and the drifts of the days that they are from."""

    tracks: tuple[TrackLine, ...]
    drifts: tuple[DriftLine, ...]
    refused: tuple[Refused, ...]


@dataclass(frozen=True, slots=True)
class _Incoming:
    original: Original
    recording: Recording
    parts: tuple[DayFixes, ...]
    known: bool
    data: bytes | None
    """What is to be written; None if it is there already, as it should be."""
    remarks: tuple[str, ...] = ()


def upload(
    folder: Path,
    pair: str,
    files: Sequence[Path],
    *,
    shift_s: float = 0.0,
    watch: Watch = unwatched,
) -> Uploaded:
    """Keep the tracks that a pair brought in, and say what each adds.

    A file that cannot be used is refused with its reason; the others are taken all
    the same. One that is there already changes nothing.

    Raises
    ------
    SweptwaterError
        If there is no such pair, or the folder cannot be read or written.
    """
    open_folder(folder).settings.pair_named(pair)  # before anything is written
    with writing(folder):
        opened = open_folder(folder)
        pair = opened.settings.pair_named(pair)
        incoming, refused = _take_all(opened, pair, files, shift_s)
        incoming = [_kept(folder, item) for item in incoming]
    if not incoming:
        return Uploaded((), (), refused)
    tracks = _tracks(opened, incoming, watch)
    days = {part.day for item in incoming for part in item.parts}
    return Uploaded(tracks, _drifts_of(open_folder(folder), pair, days), refused)


def _take_all(
    opened: Opened, pair: str, files: Sequence[Path], shift_s: float
) -> tuple[list[_Incoming], tuple[Refused, ...]]:
    incoming: list[_Incoming] = []
    refused: list[Refused] = []
    for file in files:
        try:
            item = _take(opened, pair, file, shift_s)
        except SweptwaterError as error:
            refused.append(Refused(file.name, str(error)))
            continue
        if any(item.original.digest == other.original.digest for other in incoming):
            item = replace(item, known=True, data=None)
        incoming.append(item)
    return incoming, tuple(refused)


def _kept(folder: Path, item: _Incoming) -> _Incoming:
    """Write a track if it has to be, and return it with where it lies."""
    original = item.original
    if item.data is None:
        return item
    if item.known:
        write_whole(original.path, item.data)
        return item
    kept = keep_original(
        folder, original.pair, original.name, item.data, shift_s=original.shift_s
    )
    return replace(item, original=kept)


def _take(opened: Opened, pair: str, file: Path, shift_s: float) -> _Incoming:
    if file.suffix.lower() not in SUFFIXES:
        raise TrackError(
            f"{file.name} is no GPX file: export the track as GPX and try again"
        )
    data = read_whole(file)
    digest = digest_of(data)
    there = [item for item in opened.practice.originals if item.digest == digest]
    if there and there[0].pair != pair:
        raise PracticeError(
            f"{file.name} is there already, as {there[0].pair}'s: one track cannot be "
            f"two pairs'; move {there[0].path} away first if it is {pair}'s"
        )
    original = there[0] if there else Original(file, pair, file.name, digest, shift_s)
    recording = read_gpx(data, name=file.name)
    parts = tuple(day_fixes(opened, original, recording))
    if not there:
        return _Incoming(original, recording, parts, known=False, data=data)
    whole = digest_of(original.read()) == digest
    remarks = tuple(_remarks_on(original, shift_s, whole=whole))
    kept = None if whole else data
    return _Incoming(original, recording, parts, True, kept, remarks)


def _remarks_on(original: Original, shift_s: float, *, whole: bool) -> Iterator[str]:
    """Yield what is not done, or was put right, with a track that is there already."""
    if not whole:
        yield "its bytes had changed since it was uploaded: they were put back"
    if shift_s not in (0, original.shift_s):
        said = original.path.with_suffix(".toml").name
        yield (
            f"its clock stays put forward by {original.shift_s / 60:g} min: to change "
            f"that, write shift_min = {shift_s / 60:g} in tracks/{original.pair}/{said}"
        )


def _tracks(
    opened: Opened, incoming: Sequence[_Incoming], watch: Watch
) -> tuple[TrackLine, ...]:
    """Return a line for each file; water is new to the first file that swept it.

    Several files of one boat-day are one boat: what a second phone adds is only what
    the boat is known to have swept with it, and not without.
    """
    records, there = _read_all(opened, watch)
    touched = {(part.day, part.pair) for item in incoming for part in item.parts}
    boats = {which: boat_day(opened, *which, rs) for which, rs in records.items()}
    rest = merge_stacks([boats[which].stack for which in boats.keys() - touched])
    mine = {which: boats[which] for which in boats.keys() & touched}
    before = _with(rest, mine.values())
    told = [_brought(i.original, i.recording, i.parts) for i in incoming]
    lines = []
    for i, item in enumerate(watch(incoming, "sweeping new water")):
        if not item.known:
            for part in item.parts:
                which = (part.day, part.pair)
                records[which].append(part.record)
                mine[which] = boat_day(opened, *which, records[which])
        after = _with(rest, mine.values())
        new_m2 = max(0.0, after.area - before.area)
        line = _track_line(item, _boats_of(opened, item), new_m2)
        others = [*there, *told[:i]] if there else [*told[:i], *told[i + 1 :]]
        odd = () if item.known else _odd_times(opened, item, told[i], others)
        lines.append(replace(line, remarks=(*line.remarks, *odd)))
        before = after
    return tuple(lines)


def _read_all(opened: Opened, watch: Watch) -> tuple[Records, list[Brought]]:
    """Return what is there already, by day and pair and file by file."""
    records: Records = defaultdict(list)
    brought = []
    for original in watch(opened.practice.originals, "reading tracks"):
        try:
            recording, parts = read_original(opened, original)
        except SweptwaterError:  # `check` tells of it
            continue
        for part in parts:
            records[part.day, part.pair].append(part.record)
        brought.append(_brought(original, recording, parts))
    return records, brought


def _brought(
    original: Original, recording: Recording, parts: Sequence[DayFixes]
) -> Brought:
    """Return a track as its clock is asked about."""
    said = f"{TRACKS}/{original.pair}/{original.path.with_suffix('.toml').name}"
    return Brought(
        original.pair,
        original.name,
        joined([part.record for part in parts]),
        shift_s=original.shift_s,
        zoneless=recording.loose_times,
        said=said,
    )


def _odd_times(
    opened: Opened, item: _Incoming, new: Brought, others: Sequence[Brought]
) -> Iterator[str]:
    """Yield what is odd about a new track's times, beside those of the others."""
    settings, frame = opened.settings, opened.venue.frame
    here = Here(settings.zone, frame.lon, frame.lat, opened.venue.water, settings.days)
    yield from (doubt.text for doubt in clock_doubts(new, others, here))
    fixes = item.recording.fixes
    yield from stopped_clock(fixes.time_s)
    yield from turned_clock(fixes.time_s + new.shift_s, fixes.segment, settings.zone)


def _with(rest: Stack, boats: Iterable[BoatDay]) -> Area:
    """Return all swept water, with that of some boats."""
    return merge_stacks([rest, *(boat.stack for boat in boats)]).once


def _boats_of(opened: Opened, item: _Incoming) -> list[BoatDay]:
    """Return what the file says by itself."""
    return [boat_day(opened, part.day, part.pair, [part.record]) for part in item.parts]


def _track_line(item: _Incoming, boats: list[BoatDay], new_m2: float) -> TrackLine:
    why = Counter(item.recording.dropped)
    for part in item.parts:
        why.update(part.record.dropped)
    untimed = len(item.recording.fixes.time_s) - sum(
        len(part.record.time_s) + sum(part.record.dropped.values())
        for part in item.parts
    )
    if untimed:
        why["without a time"] += untimed
    total = _totals(boats)
    return TrackLine(
        file=item.original.name,
        pair=item.original.pair,
        days=tuple(part.day for part in item.parts),
        fixes=sum(len(part.record.time_s) for part in item.parts),
        dropped=why.total(),
        dropped_why=dict(why),
        fishing_s=total["fishing_s"],
        motoring_s=total["motoring_s"],
        ashore_s=total["ashore_s"],
        unknown_s=total["unknown_s"],
        doubtful_s=total["doubtful_s"],
        anchored_s=total["anchored_s"],
        swept_m2=merge_stacks([boat.stack for boat in boats]).once.area,
        new_m2=new_m2,
        known=item.known,
        remarks=(*item.remarks, *item.recording.remarks),
    )


def _totals(boats: list[BoatDay]) -> defaultdict[str, float]:
    totals: defaultdict[str, float] = defaultdict(float)
    for boat in boats:
        for name in SPENT:
            totals[name] += getattr(boat.afloat, name)
    return totals


def _drifts_of(opened: Opened, pair: str, days: set[date]) -> tuple[DriftLine, ...]:
    """Return the drifts of a pair's days, all its tracks of those days together."""
    originals = [item for item in opened.practice.originals if item.pair == pair]
    boats = read_boat_days(opened, originals).days
    return drift_lines(opened, [boat for boat in boats if boat.day in days])
