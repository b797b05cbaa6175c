"""Take in the tracks of a pair, and say what each adds."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from sweptwater.arrays import Area
from sweptwater.jobs.boats import Reader, tracks_by_boat
from sweptwater.jobs.opened import Opened, Watch, open_folder, parse_day, unwatched
from sweptwater.jobs.places import DriftLine, drift_lines
from sweptwater.jobs.readings import Track
from sweptwater.jobs.recall import recall
from sweptwater.jobs.taking import Incoming, Refused, Word, keep, take_all
from sweptwater.jobs.warming import warm
from sweptwater.jobs.wording import day_text
from sweptwater.practice.files import writing
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.layered import merge_stacks
from sweptwater.tracks.brought import Brought, Here, if_local, joined
from sweptwater.tracks.clock_doubts import (
    TURNED,
    clock_doubts,
    stopped_clock,
    turned_clock,
)
from sweptwater.tracks.recording import RUN_BACK
from sweptwater.water.overlap import uncovered

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
    drift_m: float
    drift_error: float
    anchored_s: float
    swept_m2: float
    new_m2: float
    known: bool
    changed: bool
    """Whether something else is said of it than before."""
    untimed: bool
    """Whether it has no times, so that nobody knows its hours."""
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Uploaded:
    """What became of each file, and the drifts of the days that they are from."""

    tracks: tuple[TrackLine, ...]
    drifts: tuple[DriftLine, ...]
    refused: tuple[Refused, ...]


def upload(
    folder: Path,
    pair: str,
    files: Sequence[Path],
    *,
    shift_s: float | None = None,
    all_fishing: bool = False,
    day: str | None = None,
    watch: Watch = unwatched,
) -> Uploaded:
    """Keep the tracks that a pair brought in, and say what each adds.

    A file that cannot be used is refused with its reason; the others are taken all
    the same. One that is there already changes nothing, but for what is said anew.

    Parameters
    ----------
    shift_s
        What the device's clock was slow by, in seconds; None to say nothing of it.
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
    said = Word(shift_s, all_fishing, on)
    with writing(folder):
        opened = open_folder(folder)
        pair = opened.settings.pair_named(pair)
        incoming, refused = take_all(opened, pair, files, said)
        incoming = [keep(folder, item) for item in incoming]
    if not incoming:
        return Uploaded((), (), refused)
    return Uploaded(*_told(opened, incoming, watch), refused)


def _told(
    opened: Opened, incoming: Sequence[Incoming], watch: Watch
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
    there = {track.original.path: _brought(track) for track in known}
    tracks = tracks_by_boat(known)
    old = {track.original.path: track for track in known}
    touched = {(part.day, part.pair) for item in incoming for part in item.parts}
    touched |= {
        (day, item.original.pair)
        for item in incoming
        if item.there and item.there.path in old
        for day in old[item.there.path].days
    }
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
        if item.changed and item.there:
            _take_out(reader, tracks, mine, old[item.there.path])
        for day in track.days if item.changed or not item.known else ():
            which = (day, item.original.pair)
            tracks.setdefault(which, []).append(track)
            found = reader.boat(which[1], day, _in_order(tracks[which]))
            if found.left_out > left_out.get(which, 0):
                elsewhere.append(which)
            mine[which], left_out[which] = found.boat, found.left_out
        after_m2 = _alone_m2(mine, others)
        alone = [reader.boat(track.original.pair, d, [track]).boat for d in track.days]
        line = _track_line(item, alone, max(0.0, after_m2 - before_m2))
        others_told = told[:i] if there else [*told[:i], *told[i + 1 :]]
        own = item.original.path
        beside = [brought for path, brought in there.items() if path != own]
        beside += others_told
        same = item.known and not item.changed
        odd = [] if same else [*_odd_times(opened, item, told[i], beside)]
        odd = odd or [*map(_stranger, elsewhere)]
        lines.append(replace(line, remarks=tuple(_once(line.remarks, odd))))
        before_m2 = after_m2
    days = [mine[which] for which in sorted(mine)]
    memory = recall(opened, days)
    recalled = [one for one in memory.days if (one.day, one.pair) in mine]
    return tuple(lines), drift_lines(opened, days, recalled)


def _take_out(
    reader: Reader,
    tracks: dict[tuple[date, str], list[Track]],
    mine: dict[tuple[date, str], BoatDay],
    old: Track,
) -> None:
    """Take a track as it was out of its boat-days."""
    for day in old.days:
        which = (day, old.original.pair)
        tracks[which].remove(old)
        if tracks[which]:
            mine[which] = reader.boat(which[1], day, tracks[which]).boat
        else:
            del tracks[which], mine[which]


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
        kept=True,
    )


def _odd_times(
    opened: Opened, item: Incoming, new: Brought, others: Sequence[Brought]
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


def _track_line(item: Incoming, boats: list[BoatDay], new_m2: float) -> TrackLine:
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
        changed=item.changed,
        untimed=any(part.untimed for part in item.parts),
        remarks=(*item.remarks, *item.recording.remarks, *_put_back(item)),
    )


def _put_back(item: Incoming) -> Iterator[str]:
    """Yield how many fixes a reflection had thrown aside, if it did."""
    mended = sum(part.record.mended for part in item.parts)
    if mended:
        yield f"{mended:,} fixes that a reflection threw aside were put back"


def _totals(boats: list[BoatDay]) -> defaultdict[str, float]:
    totals: defaultdict[str, float] = defaultdict(float)
    for boat in boats:
        for name in SPENT:
            totals[name] += getattr(boat.afloat, name)
    return totals
