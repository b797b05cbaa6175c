"""Drifts that were told wrongly: joined, cut or struck out, by the captain's word."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from itertools import pairwise
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.jobs.boats import Reader, read_boat_days, tracks_by_boat
from sweptwater.jobs.listed import DriftLine, ToldDrift, drift_lines, told_drifts
from sweptwater.jobs.opened import (
    Opened,
    Watch,
    local_time,
    open_folder,
    parse_day,
    unwatched,
)
from sweptwater.jobs.readings import ReadDay, Track
from sweptwater.jobs.recall import recall
from sweptwater.jobs.wording import and_text, pace_text
from sweptwater.practice.files import writing
from sweptwater.practice.folder import check_practice, read_settings
from sweptwater.practice.originals import Original, save_said
from sweptwater.practice.said import Correction
from sweptwater.practice.sheets import parse_clock
from sweptwater.units import System

ROUNDING_S = 0.001
"""Times are written to the millisecond: what is struck reaches so much further."""

FURTHEST_S = 1800.0
"""Two drifts further apart than this were not one, but for a slip of the pencil."""

FASTEST_M_S = 0.75
"""Boats seldom drift faster (common practice, no source)."""

Lookup = Callable[[int], ToldDrift]


@dataclass(frozen=True, slots=True)
class Corrected:
    """What was corrected, in words, and the drifts of that boat-day as they are now."""

    day: date
    pair: str
    what: str
    drifts: tuple[DriftLine, ...]
    remarks: tuple[str, ...] = ()


def join_drifts(
    folder: Path,
    numbers: Sequence[int],
    *,
    pair: str,
    day: str | None = None,
    watch: Watch = unwatched,
) -> Corrected:
    """Make one drift of several that follow each other, and of what lies between.

    Raises
    ------
    SweptwaterError
        If there are no such drifts, others lie between, or one is from memory.
    """
    first, last = min(numbers), max(numbers)
    if first == last or sorted(numbers) != list(range(first, last + 1)):
        raise PracticeError(
            "drifts are joined to those that follow them: name neighbours, like 3 4"
        )

    parts: list[ToldDrift] = []

    def correction(drift: Lookup) -> Correction:
        chosen = [drift(number) for number in range(first, last + 1)]
        parts.extend(chosen)
        apart_s = [
            after.drift.start_s - before.drift.end_s
            for before, after in pairwise(chosen)
        ]
        if max(apart_s) > FURTHEST_S:
            raise PracticeError(
                f"{max(apart_s) / 60:.0f} minutes lie between those drifts, and a boat "
                f"that does something else for over {FURTHEST_S / 60:.0f} is on another"
            )
        return Correction("join", chosen[0].drift.end_s, chosen[-1].drift.start_s)

    told = f"joined {and_text([str(n) for n in range(first, last + 1)])}"
    report = _correct(folder, pair, day, correction, told, watch)
    units = read_settings(folder).units
    hurried = _hurried(report.drifts[first - 1], parts, units)
    return replace(report, remarks=tuple(hurried))


def _hurried(
    joined: DriftLine, parts: Sequence[ToldDrift], units: System
) -> Iterator[str]:
    """Yield a question where the boat went faster in between than boats drift."""
    between_m = joined.length_m - sum(part.line.length_m for part in parts)
    between_s = 60 * (joined.minutes - sum(part.line.minutes for part in parts))
    if between_m > FASTEST_M_S * max(between_s, 1.0):
        pace = pace_text(between_m / max(between_s, 1.0), units)
        yield (
            f"in between the boat went at {pace}, and what it crossed counts as fished "
            "now: was it one drift? Else take it back with "
            f"sweptwater drifts undo --pair {joined.pair} --day {joined.day}"
        )


def cut_drift(
    folder: Path,
    number: int,
    *,
    at: str,
    pair: str,
    day: str | None = None,
    watch: Watch = unwatched,
) -> Corrected:
    """Make two drifts of one, at a time of day or over what lies between two.

    Parameters
    ----------
    at
        Like 11:20, or 11:20-11:25 where no fishing was done in between.

    Raises
    ------
    SweptwaterError
        If there is no such drift, it is from memory, or it was not under way then.
    """
    clocks = [parse_clock(text) for text in at.replace("\u2013", "-").split("-")]
    if len(clocks) > 2:
        raise PracticeError(f"{at!r} is no time: write it like 11:20, or 11:20-11:25")

    def correction(drift: Lookup) -> Correction:
        chosen = drift(number)
        moments = [_moment_s(chosen, clock) for clock in clocks]
        if moments[-1] < moments[0]:
            raise PracticeError(f"{at} ends before it begins: the earlier time first")
        inside = chosen.drift.start_s < moments[0] <= moments[-1] < chosen.drift.end_s
        if not inside:
            line = chosen.line
            raise PracticeError(
                f"drift {number} went from {line.start[11:16]} to {line.end[11:16]}: "
                "it can only be cut in between"
            )
        if len(moments) == 1:
            return Correction("cut", moments[0], moments[0])
        return Correction("strike", moments[0], moments[-1])

    return _correct(folder, pair, day, correction, f"cut {number} at {at}", watch)


def strike_recorded(
    folder: Path,
    number: int,
    *,
    pair: str,
    day: str | None = None,
    watch: Watch = unwatched,
) -> Corrected:
    """Say that a recorded drift was no fishing.

    Raises
    ------
    SweptwaterError
        If there is no such drift, or it is from memory.
    """

    def correction(drift: Lookup) -> Correction:
        struck = drift(number).drift
        return Correction(
            "strike", struck.start_s - ROUNDING_S, struck.end_s + ROUNDING_S
        )

    return _correct(folder, pair, day, correction, f"struck out {number}", watch)


def undo(
    folder: Path, *, pair: str, day: str | None = None, watch: Watch = unwatched
) -> Corrected:
    """Take back the last correction of a boat-day.

    Raises
    ------
    SweptwaterError
        If there is none.
    """
    with _held(folder):
        bench = _Bench(open_folder(folder), pair, day, watch)
        mine = [
            (told.turn, place, index)
            for place, track in enumerate(bench.tracks)
            for index, told in enumerate(track.original.said.corrections)
            if bench.is_of_the_day(told.shifted(track.original.shift_s))
        ]
        if not mine:
            raise PracticeError(f"nothing was corrected of {bench.whose}")
        _, place, index = max(mine)
        original = bench.tracks[place].original
        kept = list(original.said.corrections)
        gone = kept.pop(index).shifted(original.shift_s)
        _save(original, kept)
    begun_s = gone.start_s + 2 * ROUNDING_S  # as the list has it, not just before
    clock = f"{local_time(begun_s, bench.opened.settings):%H:%M}"
    words = {"join": "joining", "cut": "the cut", "strike": "what was struck out"}
    told = f"took back {words.get(gone.kind, 'what was said')} at {clock}"
    return _corrected(folder, bench, told, watch)


def recorded_or_remembered(
    folder: Path, number: int, *, pair: str, day: str | None, watch: Watch = unwatched
) -> str:
    """Return the source of a drift that the list has: `track` or `memory`.

    Raises
    ------
    SweptwaterError
        If there is no such drift.
    """
    bench = _Bench(open_folder(folder), pair, day, watch)
    return bench.listed(number).line.source


class _Bench:
    """A boat-day with its tracks and its numbered drifts, on which to work."""

    def __init__(
        self, opened: Opened, pair: str, day: str | None, watch: Watch
    ) -> None:
        self.opened = opened
        self.pair = opened.settings.pair_named(pair)
        reader = Reader(opened)
        originals = opened.practice.originals
        tracks = [reader.track(item) for item in originals]
        boats = read_boat_days(opened, originals, reader=reader, watch=watch)
        memory = recall(opened, boats.days)
        there = {boat.day for boat in boats.days if boat.pair == self.pair}
        there |= {told.day for told in memory.days if told.pair == self.pair}
        if not day and not there:
            raise PracticeError(f"{self.pair} has no drifts yet")
        self.day = parse_day(day) if day else max(there)
        self.tracks: list[Track] = tracks_by_boat(tracks).get((self.day, self.pair), [])
        self.read: ReadDay | None = (
            reader.boat(self.pair, self.day, self.tracks) if self.tracks else None
        )
        self.drifts = [
            told
            for told in told_drifts(opened, boats.days, memory.days)
            if (told.line.day, told.line.pair) == (self.day, self.pair)
        ]

    @property
    def whose(self) -> str:
        return f"{self.pair} on {self.day.day} {self.day:%B %Y}"

    def listed(self, number: int) -> ToldDrift:
        for told in self.drifts:
            if told.line.number == number:
                return told
        raise PracticeError(
            f"there is no drift {number} of {self.whose}: list them with sweptwater "
            "drifts"
        )

    def recorded(self, number: int) -> ToldDrift:
        told = self.listed(number)
        if told.line.source != "track":
            raise PracticeError(
                f"drift {number} of {self.whose} is from memory: strike it out and add "
                "it again"
            )
        if not told.drift.timed:
            raise PracticeError(
                f"drift {number} of {self.whose} has no times, and cannot be corrected"
            )
        return told

    def is_of_the_day(self, told: Correction) -> bool:
        return local_time(told.start_s, self.opened.settings).date() == self.day

    def track_of(self, told: Correction) -> Original:
        """Return the track that tells most of the time of a correction."""
        if self.read is None:
            raise PracticeError(f"there is no track of {self.whose}")
        fixes = [
            int(((t.time_s >= told.start_s) & (t.time_s <= told.end_s + 60)).sum())
            for t in self.read.traces
        ]
        return self.tracks[fixes.index(max(fixes))].original


@contextmanager
def _held(folder: Path) -> Iterator[None]:
    check_practice(folder)  # no lock is left in a folder that is none
    with writing(folder):
        yield


def _correct(
    folder: Path,
    pair: str,
    day: str | None,
    correction: Callable[[Lookup], Correction],
    told: str,
    watch: Watch,
) -> Corrected:
    with _held(folder):
        bench = _Bench(open_folder(folder), pair, day, watch)
        new = correction(bench.recorded)
        original = bench.track_of(new)
        turns = [
            told.turn for t in bench.tracks for told in t.original.said.corrections
        ]
        new = replace(new.shifted(-original.shift_s), turn=1 + max(turns, default=0))
        _save(original, [*original.said.corrections, new])
    return _corrected(folder, bench, told, watch)


def _save(original: Original, corrections: Sequence[Correction]) -> None:
    save_said(
        replace(original, said=replace(original.said, corrections=tuple(corrections)))
    )


def _corrected(folder: Path, bench: _Bench, told: str, watch: Watch) -> Corrected:
    opened = open_folder(folder)
    boats = read_boat_days(opened, opened.practice.originals, watch=watch)
    lines = drift_lines(opened, boats.days, recall(opened, boats.days).days)
    mine = [line for line in lines if (line.day, line.pair) == (bench.day, bench.pair)]
    return Corrected(bench.day, bench.pair, told, tuple(mine))


def _moment_s(told: ToldDrift, clock: time) -> float:
    """Return the moment of a drift's day that a clock there would show."""
    begun = datetime.fromisoformat(told.line.start)
    return datetime.combine(begun.date(), clock, begun.tzinfo).timestamp()
