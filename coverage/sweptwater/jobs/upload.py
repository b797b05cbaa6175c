"""Take in the tracks of a pair, and say what each adds."""

import shlex
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TypeAlias

from sweptwater.jobs.boats import Reader, tracks_by_boat
from sweptwater.jobs.done import PlanDone, plans_done
from sweptwater.jobs.listed import DriftLine, drift_lines
from sweptwater.jobs.numbering import numbered_drifts
from sweptwater.jobs.opened import Opened, Watch, open_folder, parse_day, unwatched
from sweptwater.jobs.readings import Track
from sweptwater.jobs.recall import recall
from sweptwater.jobs.taking import Incoming, Refused, Word, keep, take_all
from sweptwater.jobs.tally import extend_tally
from sweptwater.jobs.tally_take import events_among
from sweptwater.jobs.warming import warm
from sweptwater.jobs.wording import day_text
from sweptwater.practice.files import writing
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.layered import merge_stacks
from sweptwater.tracks.brought import Brought, Here, if_local, joined
from sweptwater.tracks.clock_doubts import clock_doubts
from sweptwater.tracks.clock_faults import TURNED, stopped_clock, turned_clock
from sweptwater.tracks.recording import RUN_BACK
from sweptwater.water.overlap import uncovered

BoatDate: TypeAlias = tuple[date, str]
"""The day and the pair of a boat-day."""

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
    planned: tuple[PlanDone, ...]
    """What became of the drifts that were planned for those boat-days."""
    refused: tuple[Refused, ...]
    tally_fault: str = ""
    """Why the tally has no rows for those drifts yet; empty if it has."""


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
        return Uploaded((), (), (), refused)
    return replace(_told(opened, incoming, watch), refused=refused)


def _told(opened: Opened, incoming: Sequence[Incoming], watch: Watch) -> Uploaded:
    """Return a line for each file, the drifts of their days, and what was planned.

    Water is new to the first file that swept it. Several files of one boat-day are one
    boat: what a second phone adds is only what the boat is known to have swept with it,
    and not without.
    """
    reader = Reader(opened)
    warm(reader, opened.practice.originals, watch=watch)
    known = [
        reader.track(o) for o in watch(opened.practice.originals, "reading tracks")
    ]
    there = {track.original.path: _brought(track) for track in known}
    boats = _Growing(reader, known, incoming, watch)
    new = [reader.track(item.original, item.recording) for item in incoming]
    told = [_brought(track) for track in new]
    before_m2 = boats.alone_m2()
    lines = []
    for i, item in enumerate(watch(incoming, "sweeping new water")):
        elsewhere = boats.take_in(item, new[i])
        after_m2 = boats.alone_m2()
        line = _track_line(
            item, boats.by_itself(new[i]), max(0.0, after_m2 - before_m2)
        )
        before_m2 = after_m2
        odd: list[str] = []
        if item.changed or not item.known:
            beside = [b for path, b in there.items() if path != item.original.path]
            beside += told[:i] if there else [*told[:i], *told[i + 1 :]]
            odd += _odd_times(opened, item, told[i], beside)
        odd = odd or [*map(_stranger, elsewhere)]
        lines.append(replace(line, remarks=tuple(_once(line.remarks, odd))))
    memory = recall(opened, boats.days)
    recalled = [one for one in memory.days if (one.day, one.pair) in boats.mine]
    return Uploaded(
        tuple(lines),
        drift_lines(opened, boats.days, recalled),
        plans_done(opened, boats.days, recalled),
        refused=(),
        tally_fault=extend_tally(opened, numbered_drifts(boats.days, recalled)),
    )


class _Growing:
    """The boat-days that some files are from, as one after another goes in."""

    def __init__(
        self,
        reader: Reader,
        known: Sequence[Track],
        incoming: Sequence[Incoming],
        watch: Watch,
    ) -> None:
        self._reader = reader
        self._tracks = tracks_by_boat(known)
        self._old = {track.original.path: track for track in known}
        touched = {(part.day, part.pair) for item in incoming for part in item.parts}
        for item in incoming:
            if old := self._old_of(item):
                touched |= {(day, old.original.pair) for day in old.days}
        self._others = [
            reader.swept(pair, day, self._tracks[day, pair])
            for day, pair in watch(
                sorted(self._tracks.keys() - touched), "sweeping water"
            )
        ]
        self._left_out: dict[BoatDate, int] = {}
        self.mine: dict[BoatDate, BoatDay] = {}
        for which in self._tracks.keys() & touched:
            self._read(which)

    @property
    def days(self) -> list[BoatDay]:
        """Those boat-days, in order."""
        return [self.mine[which] for which in sorted(self.mine)]

    def take_in(self, item: Incoming, track: Track) -> list[BoatDate]:
        """Put a file's track in, and return the days when it was in no boat of theirs.

        What was there of it goes out first if something else is said of it now; if
        nothing is, all stays.
        """
        if item.known and not item.changed:
            return []
        if old := self._old_of(item):
            self._take_out(old)
        elsewhere = []
        for day in track.days:
            which = (day, track.original.pair)
            self._tracks.setdefault(which, []).append(track)
            # As they will be listed when the folder is read again.
            self._tracks[which].sort(key=lambda track: track.original.path)
            before = self._left_out.get(which, 0)
            self._read(which)
            if self._left_out[which] > before:
                elsewhere.append(which)
        return elsewhere

    def by_itself(self, track: Track) -> list[BoatDay]:
        """Return the boat-days that there would be of one track alone."""
        pair = track.original.pair
        return [self._reader.boat(pair, day, [track]).boat for day in track.days]

    def alone_m2(self) -> float:
        """Return how much water they swept that no other boat-days did."""
        swept = merge_stacks([boat.stack for boat in self.mine.values()]).once
        return float(uncovered(swept, self._others).area)

    def _old_of(self, item: Incoming) -> Track | None:
        return self._old.get(item.there.path) if item.there else None

    def _take_out(self, old: Track) -> None:
        for day in old.days:
            which = (day, old.original.pair)
            self._tracks[which].remove(old)
            if self._tracks[which]:
                self._read(which)
            else:
                del self._tracks[which], self.mine[which], self._left_out[which]

    def _read(self, which: BoatDate) -> None:
        day, pair = which
        found = self._reader.boat(pair, day, self._tracks[which])
        self.mine[which], self._left_out[which] = found.boat, found.left_out


def _stranger(which: BoatDate) -> str:
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
        remarks=(
            *(*item.remarks, *item.recording.remarks, *_put_back(item)),
            *_offers_told(item),
        ),
    )


def _put_back(item: Incoming) -> Iterator[str]:
    """Yield how many fixes a reflection had thrown aside, if it did."""
    mended = sum(part.record.mended for part in item.parts)
    if mended:
        yield f"{mended:,} fixes that a reflection threw aside were put back"


def _offers_told(item: Incoming) -> Iterator[str]:
    """Tell of waypoints that say what was met: nobody counts them unasked."""
    events = events_among(item.recording.waypoints)
    if events:
        tell = "waypoint tells" if events == 1 else "waypoints tell"
        name, pair = shlex.quote(item.original.name), item.original.pair
        yield (
            f"{events} {tell} of offers, which are not counted yet: to take them, "
            f"sweptwater tally {name} --pair {pair}"
        )


def _totals(boats: list[BoatDay]) -> defaultdict[str, float]:
    totals: defaultdict[str, float] = defaultdict(float)
    for boat in boats:
        for name in SPENT:
            totals[name] += getattr(boat.afloat, name)
    return totals
