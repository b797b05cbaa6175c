"""Tallies in time and water: which drift each row tells of, and how loosely.

Counts of the whole of a drift and offers with a time or a place of their own are not
added up: each kind counts the larger of the two. What names no drift stays as loose as
it was told. Silence is never a blank: only a row makes a drift told.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date
from functools import reduce
from operator import add
from zoneinfo import ZoneInfo

import numpy as np

from sweptwater.errors import PracticeError
from sweptwater.offers.belonging import (
    Drifted,
    drift_at,
    drift_near,
    drift_of_row,
    may_belong,
    reach_m,
    seconds,
)
from sweptwater.offers.doubts import Asked, ask
from sweptwater.offers.hours_told import own_clock
from sweptwater.offers.stints import Loose, Placed, Stint, Way
from sweptwater.practice.sheets import RowFault, row_fault
from sweptwater.practice.tally import TALLY, Counts, Entry, SetUp, ToldOf


@dataclass(frozen=True, slots=True)
class Heard:
    """A row with its places in metres.

    Parameters
    ----------
    entry
        The row, its pair and rod spelt as the settings do.
    at
        Where its offers were, by its latitude and longitude.
    near
        The place that it names, if that is known.
    """

    entry: Entry
    at: tuple[float, float] | None = None
    near: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Placing:
    """All rods on all drifts, and what is loose, odd, or of no drift."""

    stints: tuple[Stint, ...]
    loose: tuple[Loose, ...]
    questions: tuple[str, ...]
    faults: tuple[RowFault, ...]


@dataclass
class _Day:
    """One boat-day while its rows are gone through."""

    drifts: tuple[Drifted, ...]
    rods: tuple[str, ...]
    whole: dict[tuple[int, str], list[Entry]] = field(
        default_factory=lambda: defaultdict(list)
    )
    single: dict[tuple[int, str], list[tuple[Entry, Placed]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    loose: list[Loose] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)


def place(
    heard: Iterable[Heard],
    drifts: Sequence[Drifted],
    *,
    rods_on: Callable[[str, date], tuple[str, ...]],
    zone: ZoneInfo,
    cast_m: float,
    anchoring: bool = False,
) -> Placing:
    """Return what each rod met on each drift, as far as it was told.

    Parameters
    ----------
    heard
        The rows, in the order of the file.
    drifts
        All drifts of the boat-days.
    rods_on
        The rods of a pair on a day.
    cast_m
        How far a rod reaches from the boat.
    anchoring
        Whether a match allows it, so that time at anchor was fished as in one.
    """
    by_day: defaultdict[tuple[date, str], list[Drifted]] = defaultdict(list)
    for one in drifts:
        by_day[one.day, one.pair].append(one)
    days: dict[tuple[date, str], _Day] = {
        which: _Day(tuple(those), rods_on(which[1], which[0]))
        for which, those in by_day.items()
    }
    faults = []
    for row in heard:
        which = (row.entry.day, row.entry.pair)
        if which not in days:
            days[which] = _Day((), rods_on(row.entry.pair, row.entry.day))
        try:
            _sort_in(days[which], row, zone, reach_m(cast_m))
        except PracticeError as error:
            faults.append(row_fault(TALLY, row.entry.row, error))
    stints: list[Stint] = []
    questions: list[str] = []
    for which in sorted(days):
        day = days[which]
        mine = [
            _stint(day, one, rod, anchoring=anchoring)
            for one in day.drifts
            for rod in day.rods
        ]
        stints += mine
        questions += ask(*which, mine, day.loose, day.asked)
    loose = tuple(one for which in sorted(days) for one in days[which].loose)
    return Placing(tuple(stints), loose, tuple(questions), tuple(faults))


def _sort_in(day: _Day, heard: Heard, zone: ZoneInfo, within_m: float) -> None:
    """Put a row where it belongs.

    Raises
    ------
    PracticeError
        If it names a drift that there is not, or says nothing that can be used.
    """
    entry = heard.entry
    if entry.loose:
        _sort_loose(day, heard, zone, within_m)
        return
    drift = drift_of_row(entry, day.drifts, zone)
    if drift is None:
        if says_nothing(entry):  # made for a drift that there is no more
            return
        raise PracticeError(no_such_drift(entry, day.drifts))
    single = _placed(heard, drift, zone) if entry.told == "tallied" else None
    rods = _rods(day, entry)
    if len(rods) > 1 and entry.told == "tallied":
        day.loose.append(_loose(entry, (drift.number,), single))
        day.asked.append(Asked("which rod", entry, (drift.number,)))
        return
    for rod in rods:
        _note(day, drift.number, rod, entry, single)


def _sort_loose(day: _Day, heard: Heard, zone: ZoneInfo, within_m: float) -> None:
    entry = heard.entry
    if entry.told == "blank":
        raise PracticeError(
            "it says blank, and not of which drift: write its drift, or say it of all "
            f"that are left with sweptwater tally {entry.pair} rest blank"
        )
    if entry.told != "tallied":
        raise PracticeError(
            "it names no drift and has no counts: write its drift, or delete the row"
        )
    at = own_clock(entry.when)
    if at is None and heard.at is None:
        found = may_belong(entry, heard.near, day.drifts, zone)
        day.loose.append(_loose(entry, tuple(one.number for one in found)))
        if not found:
            day.asked.append(Asked("no drift then", entry, ()))
        return
    drift = None
    if at is not None:
        drift = drift_at(seconds(entry.day, at, zone), day.drifts)
    if drift is None and heard.at is not None:
        drift = drift_near(heard.at, day.drifts, within_m)
    if drift is None:
        single = Placed(entry.counts, *heard.at, None) if heard.at else None
        day.loose.append(_loose(entry, (), single))
        day.asked.append(Asked("no drift then", entry, ()))
        return
    single = _placed(heard, drift, zone)
    rods = _rods(day, entry)
    if len(rods) > 1:
        day.loose.append(_loose(entry, (drift.number,), single))
        day.asked.append(Asked("which rod", entry, (drift.number,)))
        return
    _note(day, drift.number, rods[0], entry, single)


def _rods(day: _Day, entry: Entry) -> tuple[str, ...]:
    """Return the rods that a row may be of."""
    return (entry.rod,) if entry.rod else day.rods


def _note(
    day: _Day, number: int, rod: str, entry: Entry, single: Placed | None
) -> None:
    if single is None:
        day.whole[number, rod].append(entry)
    else:
        day.single[number, rod].append((entry, single))


def _placed(heard: Heard, drift: Drifted, zone: ZoneInfo) -> Placed | None:
    """Return offers with a time or a place of their own; None if they have neither."""
    entry, way = heard.entry, drift.drift
    clock = own_clock(entry.when)
    at_s = None
    if clock is not None and way.timed:
        told_s = seconds(entry.day, clock, zone)
        at_s = min(max(told_s, way.start_s), way.end_s)
    if heard.at is not None:
        return Placed(entry.counts, *heard.at, at_s)
    if at_s is None:
        return None
    easting = float(np.interp(at_s, way.time_s, way.easting))
    northing = float(np.interp(at_s, way.time_s, way.northing))
    return Placed(entry.counts, easting, northing, at_s)


def _loose(
    entry: Entry, drifts: tuple[int, ...], single: Placed | None = None
) -> Loose:
    words = (entry.near, entry.when, entry.taken, entry.note)
    return Loose(
        day=entry.day,
        pair=entry.pair,
        rod=entry.rod,
        counts=entry.counts,
        text=", ".join(word for word in words if word),
        drifts=drifts,
        setup=entry.setup,
        placed=(single,) if single else (),
        row=entry.row,
    )


def says_nothing(entry: Entry) -> bool:
    """Tell whether a row only names a drift, as it was made for it to be filled in."""
    named = {"day", "pair", "start", "drift", "rod", "row"}
    return all(
        getattr(entry, one.name) in ("", None, Counts(), SetUp())
        for one in fields(entry)
        if one.name not in named
    )


def no_such_drift(entry: Entry, drifts: Sequence[Drifted]) -> str:
    """Return what to say of a row whose drift there is not."""
    day = f"{entry.day:%a} {entry.day.day} {entry.day:%b}"
    if not drifts:
        return (
            f"{entry.pair} has no drift on {day}: upload its track, put the drifts in "
            "with sweptwater drifts add, or mend the day"
        )
    what = f"at {entry.start:%H:%M}" if entry.start else f"{entry.drift}"
    begun = "began about then" if entry.start else f"is among the {len(drifts)}"
    return (
        f"it is of a drift of {entry.pair} {what} on {day}, and none {begun}: mend its "
        "start by the list of sweptwater drifts, or empty drift and start to leave it "
        "loose"
    )


def _stint(day: _Day, one: Drifted, rod: str, *, anchoring: bool) -> Stint:
    """Return one rod on one drift."""
    whole, single = day.whole[one.number, rod], day.single[one.number, rod]
    rows = _latest(whole, one, day.asked)
    told = [entry for entry in rows if entry.told]
    apart = reduce(add, (placed.counts for _, placed in single), Counts())
    counts = reduce(add, (entry.counts for entry in told), Counts()).at_least(apart)
    state: ToldOf = ""
    if single or any(entry.told == "tallied" for entry in told):
        state = "tallied"
    elif told:
        state = "blank"
    if told and any(not entry.told for entry in rows):
        day.asked.append(Asked("partly told", told[0], (one.number,), rod))
    if single and any(entry.told == "blank" for entry in told):
        day.asked.append(Asked("blank or not", single[0][0], (one.number,), rod))
    elif single and not told:
        day.asked.append(Asked("was that all", single[0][0], (one.number,), rod))
    entries = [*rows, *(entry for entry, _ in single)]
    way = one.drift
    return Stint(
        day=one.day,
        pair=one.pair,
        drift=one.number,
        rod=rod,
        way=Way(way.time_s, way.easting, way.northing),
        fishing_s=way.end_s - way.start_s if way.timed else 0.0,
        source=one.source,
        told=state,
        counts=counts,
        setup=_setup(entries),
        placed=tuple(placed for _, placed in single),
        drogue=_last(entry.drogue for entry in entries),
        left_because=_last(entry.left_because for entry in entries),
        match=anchoring or not way.at_anchor,
    )


def _latest(rows: Sequence[Entry], drift: Drifted, asked: list[Asked]) -> list[Entry]:
    """Return the rows of a rod's drift, of two about the same start the later one.

    Rows of several starts are of drifts that were joined: all of them count.
    """
    by_start: dict[object, Entry] = {}
    for entry in rows:
        start = entry.start or entry.drift
        before = by_start.get(start)
        if before is not None and before.told and entry.told:
            asked.append(Asked("told twice", entry, (drift.number,), entry.rod))
        if before is None or entry.told or not before.told:
            by_start[start] = entry
    return list(by_start.values())


def _setup(entries: Sequence[Entry]) -> SetUp:
    """Return the set-up that some rows tell together: of each part the last word."""
    setup = SetUp()
    for entry in entries:
        for part in fields(SetUp):
            value = getattr(entry.setup, part.name)
            if value not in ("", None):
                setup = replace(setup, **{part.name: value})
    return setup


def _last(words: Iterator[str]) -> str:
    return ([""] + [word for word in words if word])[-1]
