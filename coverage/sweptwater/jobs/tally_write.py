"""Writing what was told into the tally, so that nothing that stood there is lost."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date, time
from pathlib import Path
from typing import TypeAlias

from sweptwater.jobs.met import drifted, rods_aboard, spelt
from sweptwater.jobs.numbering import Numbered
from sweptwater.offers.belonging import Drifted, clock, drift_of_row
from sweptwater.offers.hours_told import own_clock
from sweptwater.practice.settings import Settings
from sweptwater.practice.sheets import Sheet
from sweptwater.practice.tally import Counts, Entry, SetUp
from sweptwater.practice.tally_rows import (
    entry_cells,
    keep_before,
    read_tally,
    save_tally,
    tally_rows,
    with_changes,
    with_new,
)

Key: TypeAlias = tuple[object, ...]

BESIDE = "told with the drift's first row"
"""Stands in the rows of drifts that were joined since, once the whole is told anew."""


@dataclass(frozen=True, slots=True)
class Change:
    """What became of something told.

    Parameters
    ----------
    entry
        As it stands in the file now.
    before
        What was told there before and counts no more; None if nothing was.
    known
        Whether all of it was there, so that nothing changed.
    """

    entry: Entry
    before: Entry | None = None
    known: bool = False


class Known:
    """The drifts of a practice, by boat-day."""

    def __init__(self, settings: Settings, drifts: Sequence[Numbered]) -> None:
        self.settings = settings
        self._found: dict[Key, Drifted | None] = {}
        self._days: defaultdict[tuple[date, str], list[Drifted]] = defaultdict(list)
        for one in drifts:
            self._days[one.day, one.pair].append(drifted(one))

    @property
    def boat_days(self) -> list[tuple[date, str]]:
        """The days and pairs that have drifts, in order."""
        return sorted(self._days)

    def on(self, day: date, pair: str) -> Sequence[Drifted]:
        """Return the drifts of a boat-day."""
        return self._days.get((day, pair), ())

    def rods(self, day: date, pair: str) -> tuple[str, ...]:
        """Return the rods of a boat-day."""
        return rods_aboard(self.settings, pair, day)

    def last_day(self, pair: str) -> date | None:
        """Return the last day with drifts of a pair."""
        return max((day for day, whose in self._days if whose == pair), default=None)

    def drift_of(self, entry: Entry) -> Drifted | None:
        """Return the drift that a row names; None if it names none that there is."""
        if entry.loose:
            return None
        which = (entry.day, entry.pair, entry.start, entry.drift)
        if which not in self._found:
            drifts = self.on(entry.day, entry.pair)
            self._found[which] = drift_of_row(entry, drifts, self.settings.zone)
        return self._found[which]

    def start(self, one: Drifted) -> time | None:
        """Return when a drift began, as the tally writes it."""
        if not one.drift.timed:
            return None
        return clock(one.drift.start_s, self.settings.zone)

    def pinned(self, entry: Entry) -> Entry:
        """Return a row with the number and the start of its drift."""
        one = self.drift_of(entry)
        if one is None:
            return entry
        start = entry.start or self.start(one)
        return replace(entry, drift=one.number, start=start)


def with_all_drifts(sheet: Sheet, known: Known) -> tuple[Sheet, int]:
    """Return the file with a row for each rod on each drift, and how many are new.

    Rows that are there stay, their drifts' numbers and their rods' call signs brought
    up to date.
    """
    rows, _ = tally_rows(sheet)
    written = {entry.row: entry for entry in rows}
    entries, _ = spelt(known.settings, rows)
    there: set[tuple[date, str, int, str]] = set()
    renamed: list[tuple[Entry, Entry]] = []
    for entry in entries:
        one = known.drift_of(entry)
        if one is None:
            continue
        if not _single(entry):
            there.add((entry.day, entry.pair, one.number, entry.rod))
        now, was = known.pinned(entry), written[entry.row]
        if (now.drift, now.start, now.rod) != (was.drift, was.start, was.rod):
            named = replace(was, drift=now.drift, start=now.start, rod=now.rod)
            renamed.append((named, was))
    sheet = with_changes(sheet, renamed)
    new = [
        Entry(day=day, pair=pair, drift=one.number, start=known.start(one), rod=rod)
        for day, pair in known.boat_days
        for one in known.on(day, pair)
        for rod in known.rods(day, pair)
        if (day, pair, one.number, rod) not in there
    ]
    return (with_new(sheet, new) if new else sheet), len(new)


def write_told(folder: Path, known: Known, told: Iterable[Entry]) -> list[Change]:
    """Write what was told, and return what became of each.

    What says more of something that stands there is added to its row; what it says
    otherwise replaces it, and the row as it stood is kept in a file beside. All drifts
    get their rows, told or not. The caller holds the folder (see `files.writing`).

    Raises
    ------
    PracticeError
        If the file is no table, or cannot be written.
    """
    sheet = before = read_tally(folder)
    sheet, _ = with_all_drifts(sheet, known)
    book = _Book(sheet, known)
    changes = [book.take(known.pinned(entry)) for entry in told]
    if book.overwritten:
        keep_before(folder, sheet, book.overwritten)
    sheet = book.written()
    if sheet != before:
        save_tally(folder, sheet)
    return changes


class _Book:
    """A file while it is written into: rows are changed first, and new ones put in."""

    def __init__(self, sheet: Sheet, known: Known) -> None:
        self._sheet, self._known = sheet, known
        self._rows: dict[Key, Entry] = {}
        self._beside: defaultdict[Key, list[Entry]] = defaultdict(list)
        self._new: dict[Key, Entry] = {}
        self._changed: dict[int, tuple[Entry, Entry]] = {}
        self.overwritten: list[int] = []
        for entry in spelt(known.settings, tally_rows(sheet)[0])[0]:
            self._enter(entry)

    def _enter(self, entry: Entry) -> None:
        key = self._key(entry)
        there = self._rows.get(key)
        if there is None:
            self._rows[key] = entry
        elif self._is_first(entry, there):
            self._rows[key] = entry
            self._beside[key].append(there)
        else:
            self._beside[key].append(entry)

    def _is_first(self, entry: Entry, there: Entry) -> bool:
        """Tell whether a row is more surely the one of its drift than another."""
        one = self._known.drift_of(entry)
        start = self._known.start(one) if one else None
        return entry.start == start and (there.start != start or bool(entry.told))

    def _key(self, entry: Entry) -> Key:
        """Return what must be the same for two tellings to be of one thing."""
        one = self._known.drift_of(entry)
        number = one.number if one else None
        lost = (entry.start, entry.drift) if one is None else None
        which = (entry.day, entry.pair, number, lost, entry.rod.casefold())
        if one is not None and not _single(entry):
            return which
        when = own_clock(entry.when) or entry.when.casefold()
        place = entry.place and tuple(round(degrees, 6) for degrees in entry.place)
        told = entry.when or entry.near or entry.place
        note = "" if told else entry.note.casefold()
        return (*which, when, entry.near.casefold(), place, note)

    def take(self, entry: Entry) -> Change:
        """Take something told in."""
        key = self._key(entry)
        there = self._rows.get(key) or self._new.get(key)
        rodless = self._same_without_rod(entry)
        if rodless is not None and (there is None or not there.told):
            now = merged(replace(rodless, rod=entry.rod), entry)
            self._put(key, rodless, now)
            return Change(now)
        if there is None:
            self._new[key] = entry
            return Change(entry)
        now = merged(there, entry)
        others = [one for one in self._beside[key] if _disagrees(one, there, entry)]
        if now == there and not others:
            return Change(now, known=True)
        replaced = there if _overwrites(there, now) else None
        self._put(key, there, now)
        for other in others:
            self._put(None, other, _told_beside(other))
        return Change(now, before=replaced)

    def _same_without_rod(self, entry: Entry) -> Entry | None:
        """Return the row that tells the same, and did not know of which rod."""
        if not entry.rod or entry.told != "tallied":
            return None
        there = self._rows.get(self._key(replace(entry, rod="")))
        return there if there and there.counts == entry.counts else None

    def _put(self, key: Key | None, there: Entry, now: Entry) -> None:
        if not there.row:
            assert key is not None
            self._new[key] = now
            return
        if _overwrites(there, now) and there.row not in self.overwritten:
            self.overwritten.append(there.row)
        first = self._changed.get(there.row, (there, there))[0]
        self._changed[there.row] = (first, now)
        if key is not None:
            self._rows[key] = now
            if self._key(there) != key:
                del self._rows[self._key(there)]

    def written(self) -> Sheet:
        """Return the file with all that was taken in."""
        pairs = ((now, first) for first, now in self._changed.values())
        sheet = with_changes(self._sheet, pairs)
        return with_new(sheet, self._new.values()) if self._new else sheet


def _disagrees(other: Entry, there: Entry, told: Entry) -> bool:
    """Tell whether another row of a drift's rod would count beside what is told now."""
    if not told.told or other.start == there.start:
        return False
    return other.told != "blank" or bool(other.counts.offers)


def _told_beside(other: Entry) -> Entry:
    note = "; ".join(word for word in (other.note, BESIDE) if word)
    return replace(other, told="blank", counts=Counts(), note=note)


def _single(entry: Entry) -> bool:
    """Tell whether a row is of offers with a time or a place of their own."""
    return entry.place is not None or own_clock(entry.when) is not None


def merged(there: Entry, told: Entry) -> Entry:
    """Return a row with what is told now; what is not, stays as it was.

    Examples
    --------
    >>> day = date(2027, 6, 8)
    >>> row = Entry(day=day, pair="Heron", drift=4, told="blank", note="cold")
    >>> now = Entry(day=day, pair="Heron", drift=4, told="tallied", counts=Counts(2))
    >>> merged(row, now).told, merged(row, now).counts.follow, merged(row, now).note
    ('tallied', 2, 'cold')
    """
    now = replace(there, setup=_merged_setup(there.setup, told.setup))
    if told.told:
        now = replace(now, told=told.told, counts=told.counts)
    for name in (
        *("taken", "species", "drogue", "left_because"),
        *("place", "near", "when", "note"),
    ):
        value = getattr(told, name)
        if value not in ("", None):
            now = replace(now, **{name: value})
    return now


def _merged_setup(there: SetUp, told: SetUp) -> SetUp:
    if told.line and told.line != there.line:  # another line's rate is not this one's
        there = replace(there, sink_in_s=None)
    for part in fields(SetUp):
        value = getattr(told, part.name)
        if value not in ("", None):
            there = replace(there, **{part.name: value})
    return there


def _overwrites(there: Entry, now: Entry) -> bool:
    """Tell whether anything that was told stands in a row no more."""
    old, new = entry_cells(there), entry_cells(now)
    return any(
        value and value != new.get(name, "")
        for name, value in old.items()
        if name not in ("drift", "start")
    )
