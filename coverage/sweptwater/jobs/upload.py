"""Take in the tracks of a pair, and say what each adds."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from shapely import Polygon

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError, SweptwaterError, TrackError
from sweptwater.jobs.opened import (
    DayFixes,
    Opened,
    Watch,
    afloat_of,
    day_fixes,
    open_folder,
    read_boat_days,
    unwatched,
)
from sweptwater.jobs.places import DriftLine, drift_lines
from sweptwater.practice.files import read_whole, writing
from sweptwater.practice.originals import (
    SUFFIXES,
    Original,
    digest_of,
    keep_original,
)
from sweptwater.swept.boats import BoatDay, sweep_day
from sweptwater.swept.layered import Stack, merge_stacks
from sweptwater.tracks.read import Recording, read_gpx


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
    data: bytes | None
    """None if it is there already."""


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
    opened = open_folder(folder)
    pair = opened.settings.pair_named(pair)
    incoming: list[_Incoming] = []
    refused: list[Refused] = []
    for file in files:
        try:
            item = _take(opened, pair, file, shift_s)
            if any(item.original.digest == o.original.digest for o in incoming):
                item = replace(item, data=None)
            incoming.append(item)
        except SweptwaterError as error:
            refused.append(Refused(file.name, str(error)))
    with writing(folder):
        for item in incoming:
            if item.data is not None:
                keep_original(
                    folder, pair, item.original.name, item.data, shift_s=shift_s
                )
    tracks = _tracks(opened, incoming, watch)
    days = {part.day for item in incoming for part in item.parts}
    drifts = _drifts_of(open_folder(folder), pair, days) if incoming else ()
    return Uploaded(tracks, drifts, tuple(refused))


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
    return _Incoming(original, recording, parts, None if there else data)


def _tracks(
    opened: Opened, incoming: Sequence[_Incoming], watch: Watch
) -> tuple[TrackLine, ...]:
    """Return a line for each file; water is new to the first file that swept it."""
    there = read_boat_days(opened, opened.practice.originals, watch=watch).days
    before = merge_stacks([boat.stack for boat in there]).once
    lines = []
    for item in watch(incoming, "sweeping new water"):
        boats = _boats_of(opened, item)
        swept = merge_stacks([boat.stack for boat in boats]).once
        after = merge_stacks([_once(before), _once(swept)]).once
        new_m2 = max(0.0, after.area - before.area)
        lines.append(_track_line(item, boats, swept, new_m2))
        before = after
    return tuple(lines)


def _boats_of(opened: Opened, item: _Incoming) -> list[BoatDay]:
    return [
        sweep_day(
            part.pair,
            part.day,
            afloat_of(opened, [part.record]),
            opened.settings.spread,
            opened.venue.fishable,
        )
        for part in item.parts
    ]


def _track_line(
    item: _Incoming, boats: list[BoatDay], swept: Area, new_m2: float
) -> TrackLine:
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
        swept_m2=swept.area,
        new_m2=new_m2,
        known=item.data is None,
        remarks=item.recording.remarks,
    )


def _totals(boats: list[BoatDay]) -> defaultdict[str, float]:
    totals: defaultdict[str, float] = defaultdict(float)
    for boat in boats:
        for name in ("fishing_s", "motoring_s", "ashore_s", "unknown_s", "doubtful_s"):
            totals[name] += getattr(boat.afloat, name)
    return totals


def _drifts_of(opened: Opened, pair: str, days: set[date]) -> tuple[DriftLine, ...]:
    """Return the drifts of a pair's days, all its tracks of those days together."""
    originals = [item for item in opened.practice.originals if item.pair == pair]
    boats = read_boat_days(opened, originals).days
    return drift_lines(opened, [boat for boat in boats if boat.day in days])


def _once(shape: Area) -> Stack:
    return Stack(shape, Polygon(), Polygon())
