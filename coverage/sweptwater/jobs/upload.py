"""Take in the tracks of a pair, and say what each adds."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from shlex import quote

import numpy as np

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError, SweptwaterError
from sweptwater.jobs.afloat import DayFixes, day_fixes
from sweptwater.jobs.boats import Reader, tracks_by_boat
from sweptwater.jobs.faults import day_text
from sweptwater.jobs.opened import Opened, Watch, open_folder, parse_day, unwatched
from sweptwater.jobs.places import DriftLine, drift_lines
from sweptwater.jobs.readings import Track
from sweptwater.jobs.recall import recall
from sweptwater.jobs.warming import warm
from sweptwater.practice.files import read_whole, write_whole, writing
from sweptwater.practice.originals import (
    SAID,
    TRACKS,
    Original,
    digest_of,
    keep_original,
    left_said,
)
from sweptwater.practice.said import Said
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.layered import merge_stacks
from sweptwater.tracks.brought import Brought, Here, if_local, joined
from sweptwater.tracks.clock_doubts import (
    TURNED,
    clock_doubts,
    stopped_clock,
    turned_clock,
)
from sweptwater.tracks.read import Recording, read_track
from sweptwater.tracks.recording import RUN_BACK
from sweptwater.water.overlap import uncovered

SPENT = (
    *("fishing_s", "motoring_s", "ashore_s", "unknown_s"),
    *("doubtful_s", "anchored_s"),
)

NEEDLESS_DAY = "its times say of which day it is: --day changes nothing"
"""Told of a track with times that was uploaded with a day."""

STILL_SAID = (
    "the file beside it, with what was said of it before, was still there: that holds "
    "again"
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
    drift_m: float
    drift_error: float
    anchored_s: float
    swept_m2: float
    new_m2: float
    known: bool
    untimed: bool
    """Whether it has no times, so that nobody knows its hours."""
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
    all_fishing: bool = False,
    day: str | None = None,
    watch: Watch = unwatched,
) -> Uploaded:
    """Keep the tracks that a pair brought in, and say what each adds.

    A file that cannot be used is refused with its reason; the others are taken all
    the same. One that is there already changes nothing.

    Parameters
    ----------
    shift_s
        What the device's clock was slow by, in seconds.
    all_fishing
        Whether nothing in the tracks is motoring, or ashore.
    day
        The day of tracks that have no times.

    Raises
    ------
    SweptwaterError
        If there is no such pair, or the folder cannot be read or written.
    """
    open_folder(folder).settings.pair_named(pair)  # before anything is written
    on = parse_day(day) if day else None
    said = Said(shift_s=shift_s, all_fishing=all_fishing, day=on)
    with writing(folder):
        opened = open_folder(folder)
        pair = opened.settings.pair_named(pair)
        incoming, refused = _take_all(opened, pair, files, said)
        incoming = [_kept(folder, item) for item in incoming]
    if not incoming:
        return Uploaded((), (), refused)
    return Uploaded(*_told(opened, incoming, watch), refused)


def _take_all(
    opened: Opened, pair: str, files: Sequence[Path], said: Said
) -> tuple[list[_Incoming], tuple[Refused, ...]]:
    incoming: list[_Incoming] = []
    refused: list[Refused] = []
    for file in files:
        try:
            item = _take(opened, pair, file, said)
        except SweptwaterError as error:
            refused.append(Refused(file.name, str(error)))
            continue
        if any(item.original.digest == other.original.digest for other in incoming):
            item = replace(item, known=True, data=None)
        incoming.append(item)
    return incoming, tuple(refused)


def _kept(folder: Path, item: _Incoming) -> _Incoming:
    """Write what is to be written, and return the item with what lies there now."""
    original = item.original
    if item.data is None:
        return item
    if item.known:
        write_whole(original.path, item.data)
        return item
    kept = keep_original(folder, original.pair, original.said, item.data)
    return replace(item, original=kept)


def _take(opened: Opened, pair: str, file: Path, said: Said) -> _Incoming:
    data = read_whole(file)
    digest = digest_of(data)
    there = [item for item in opened.practice.originals if item.digest == digest]
    if there and there[0].pair != pair:
        raise PracticeError(
            f"{file.name} is there already, as {there[0].pair}'s: one track cannot be "
            f"two pairs'; if it is {pair}'s, first sweptwater remove --pair "
            f"{there[0].pair} {quote(there[0].path.name)}"
        )
    recording = read_track(data, name=file.name)
    timed = bool(np.isfinite(recording.fixes.time_s).any())
    needless = (NEEDLESS_DAY,) if timed and said.day else ()
    if timed:
        said = replace(said, day=None)
    before = left_said(opened.practice.folder, pair, digest)
    now = replace(said, name=file.name, digest=digest)
    new = Original(file, pair, _joined(before, now) if before else now)
    original = there[0] if there else new
    parts = tuple(day_fixes(opened, original, recording))
    if not there:
        kept_on = (*((STILL_SAID,) if before else ()), *needless)
        return _Incoming(original, recording, parts, False, data, kept_on)
    whole = digest_of(original.read()) == digest
    remarks = (*_remarks_on(original, said, whole=whole), *needless)
    kept = None if whole else data
    return _Incoming(original, recording, parts, True, kept, remarks)


def _joined(before: Said, now: Said) -> Said:
    """Return what was said of a track that had gone, and what is said of it now."""
    return replace(
        before,
        shift_s=now.shift_s or before.shift_s,
        all_fishing=now.all_fishing or before.all_fishing,
        day=now.day or before.day,
    )


def _remarks_on(original: Original, said: Said, *, whole: bool) -> Iterator[str]:
    """Yield what is not done, or was put right, with a track that is there already."""
    if not whole:
        yield "its bytes had changed since it was uploaded: they were put back"
    file = f"tracks/{original.pair}/{original.path.with_suffix(SAID).name}"
    if said.shift_s not in (0, original.shift_s):
        yield (
            f"its clock stays put forward by {original.shift_s / 60:g} min: to change "
            f"that, write shift_min = {said.shift_s / 60:g} in {file}"
        )
    if said.all_fishing and not original.said.all_fishing:
        yield (
            "its fishing is still told from its motoring: to change that, write "
            f"all_fishing = true in {file}"
        )
    if said.day not in (None, original.said.day):
        yield f"its day stays: to change that, write day = {said.day} in {file}"


def _told(
    opened: Opened, incoming: Sequence[_Incoming], watch: Watch
) -> tuple[tuple[TrackLine, ...], tuple[DriftLine, ...]]:
    """Return a line for each file, and the drifts of the days that they are from.

    Water is new to the first file that swept it. Several files of one boat-day are one
    boat: what a second phone adds is only what the boat is known to have swept with it,
    and not without.
    """
    reader = Reader(opened)
    warm(reader, opened.practice.originals, watch=watch)
    originals = watch(opened.practice.originals, "reading tracks")
    known = [reader.track(original) for original in originals]
    there = [_brought(track) for track in known]
    tracks = tracks_by_boat(known)
    touched = {(part.day, part.pair) for item in incoming for part in item.parts}
    others = [
        reader.swept(pair, day, tracks[day, pair])
        for day, pair in watch(sorted(tracks.keys() - touched), "sweeping water")
    ]
    read = {
        which: reader.boat(which[1], which[0], tracks[which])
        for which in tracks.keys() & touched
    }
    mine = {which: day.boat for which, day in read.items()}
    left_out = {which: day.left_out for which, day in read.items()}
    before_m2 = _alone_m2(mine, others)
    new = [reader.track(item.original, item.recording) for item in incoming]
    told = [_brought(track) for track in new]
    lines = []
    for i, item in enumerate(watch(incoming, "sweeping new water")):
        track, elsewhere = new[i], []
        for day in () if item.known else track.days:
            which = (day, item.original.pair)
            tracks.setdefault(which, []).append(track)
            found = reader.boat(which[1], day, _in_order(tracks[which]))
            if found.left_out > left_out.get(which, 0):
                elsewhere.append(which)
            mine[which], left_out[which] = found.boat, found.left_out
        after_m2 = _alone_m2(mine, others)
        alone = [reader.boat(track.original.pair, d, [track]).boat for d in track.days]
        line = _track_line(item, alone, max(0.0, after_m2 - before_m2))
        beside = [*there, *told[:i]] if there else [*told[:i], *told[i + 1 :]]
        odd = () if item.known else [*_odd_times(opened, item, told[i], beside)]
        odd = odd or [*map(_stranger, elsewhere)]
        lines.append(replace(line, remarks=tuple(_once(line.remarks, odd))))
        before_m2 = after_m2
    days = [mine[which] for which in sorted(mine)]
    memory = recall(opened, days)
    recalled = [one for one in memory.days if (one.day, one.pair) in mine]
    return tuple(lines), drift_lines(opened, days, recalled)


def _stranger(which: tuple[date, str]) -> str:
    """Tell that a track of a pair's day was in another boat, or its clock is wrong."""
    day, pair = which
    return (
        f"on {day_text(day)} one of {pair}'s tracks was not in the same boat as the "
        "rest and left out: sweptwater check tells which"
    )


def _once(remarks: Sequence[str], odd: Sequence[str]) -> Iterator[str]:
    """Yield all remarks; where a clock's turning is asked about, it is told already."""
    turned = any(text.startswith(TURNED) for text in odd)
    for text in remarks:
        if not (turned and text.startswith(RUN_BACK)):
            yield text
    yield from odd


def _in_order(tracks: Sequence[Track]) -> list[Track]:
    """Return tracks as they will be listed when the folder is read again."""
    return sorted(tracks, key=lambda track: track.original.path)


def _alone_m2(
    mine: Mapping[tuple[date, str], BoatDay], others: Sequence[Area]
) -> float:
    """Return how much water some boat-days swept that no others did."""
    swept = merge_stacks([boat.stack for boat in mine.values()]).once
    return float(uncovered(swept, others).area)


def _brought(track: Track) -> Brought:
    """Return a track as its clock is asked about."""
    original = track.original
    return Brought(
        original.pair,
        original.name,
        joined(list(track.traces.values())),
        shift_s=original.shift_s,
        zoneless=track.zoneless,
        said=f"{TRACKS}/{original.pair}/{original.path.with_suffix(SAID).name}",
    )


def _odd_times(
    opened: Opened, item: _Incoming, new: Brought, others: Sequence[Brought]
) -> Iterator[str]:
    """Yield what is odd about a new track's times, beside those of the others."""
    settings, frame = opened.settings, opened.venue.frame
    here = Here(settings.zone, frame.lon, frame.lat, opened.venue.water, settings.days)
    doubts = clock_doubts(new, others, here)
    yield from (doubt.text for doubt in doubts)
    if new.zoneless and not new.shift_s and not doubts:
        yield from if_local(new, here)
    fixes = item.recording.fixes
    yield from stopped_clock(fixes.time_s)
    yield from turned_clock(fixes.time_s + new.shift_s, fixes.segment, settings.zone)


def _track_line(item: _Incoming, boats: list[BoatDay], new_m2: float) -> TrackLine:
    why = Counter(item.recording.dropped)
    for part in item.parts:
        why.update(part.record.dropped)
    fixes = sum(len(part.record.time_s) for part in item.parts)
    told = fixes + sum(sum(part.record.dropped.values()) for part in item.parts)
    if any(part.untimed for part in item.parts):
        fixes = len(item.recording.fixes)
    elif untimed := len(item.recording.fixes) - told:
        why["without a time"] += untimed
    total = _totals(boats)
    drifts = [drift for boat in boats for drift in boat.afloat.drifts]
    drift_m = sum(drift.length_m for drift in drifts)
    error_m = sum(drift.length_m * drift.length_error for drift in drifts)
    return TrackLine(
        file=item.original.name,
        pair=item.original.pair,
        days=tuple(part.day for part in item.parts),
        fixes=fixes,
        dropped=why.total(),
        dropped_why=dict(why),
        fishing_s=total["fishing_s"],
        motoring_s=total["motoring_s"],
        ashore_s=total["ashore_s"],
        unknown_s=total["unknown_s"],
        doubtful_s=total["doubtful_s"],
        drift_m=drift_m,
        drift_error=error_m / drift_m if drift_m else 0.0,
        anchored_s=total["anchored_s"],
        swept_m2=merge_stacks([boat.stack for boat in boats]).once.area,
        new_m2=new_m2,
        known=item.known,
        untimed=any(part.untimed for part in item.parts),
        remarks=(*item.remarks, *item.recording.remarks),
    )


def _totals(boats: list[BoatDay]) -> defaultdict[str, float]:
    totals: defaultdict[str, float] = defaultdict(float)
    for boat in boats:
        for name in SPENT:
            totals[name] += getattr(boat.afloat, name)
    return totals
