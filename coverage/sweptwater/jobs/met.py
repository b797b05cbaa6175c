"""What the boats met: the rows of the tally brought to the drifts."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from operator import attrgetter

from sweptwater.errors import PracticeError
from sweptwater.jobs.numbering import Numbered, numbered_drifts
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.spoken import spoken_spot, spot_at
from sweptwater.offers.belonging import Drifted
from sweptwater.offers.placing import Heard, place, says_nothing
from sweptwater.offers.stints import Loose, Stint
from sweptwater.practice.crews import ENDS
from sweptwater.practice.settings import Settings
from sweptwater.practice.sheets import RowFault, row_fault
from sweptwater.practice.tables import near_words
from sweptwater.practice.tally import TALLY, Entry
from sweptwater.practice.tally_rows import read_tally, tally_rows
from sweptwater.practice.tally_words import with_line
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.memory import MemoryDay


@dataclass(frozen=True, slots=True)
class Met:
    """What was told of the boats' drifts.

    Parameters
    ----------
    stints
        Each rod on each drift of the boat-days, told or not: by day, pair, drift and
        rod.
    loose
        Offers that nobody can put on one rod's drift.
    questions
        What is left open, a sentence each.
    faults
        The rows that cannot be understood, or are of nothing that there is.
    """

    stints: tuple[Stint, ...] = ()
    loose: tuple[Loose, ...] = ()
    questions: tuple[str, ...] = ()
    faults: tuple[RowFault, ...] = ()

    @property
    def told(self) -> frozenset[tuple[date, str, int]]:
        """The drifts, by day, pair and number, of which each rod was told."""
        every = {(one.day, one.pair, one.drift) for one in self.stints}
        untold = {(one.day, one.pair, one.drift) for one in self.stints if not one.told}
        return frozenset(every - untold)


def read_stints(
    opened: Opened, boats: Sequence[BoatDay], memory: Sequence[MemoryDay] = ()
) -> Met:
    """Return what was told of all rods on some drifts.

    Rows of other boat-days are passed over, unless they are of a day or a pair that
    there is not: nothing is wrong with them.

    Parameters
    ----------
    boats, memory
        All that is known of those boat-days, recorded and from memory.
    """
    return met_on(opened, numbered_drifts(boats, memory))


def met_on(
    opened: Opened, drifts: Sequence[Numbered], *, all_rows: bool = False
) -> Met:
    """Return what was told of all rods on some drifts, that are numbered already.

    Parameters
    ----------
    all_rows
        Whether these are all drifts of the practice, so that a row of another boat-day
        is at fault.
    """
    entries, faults = read_entries(opened)
    there = {(one.day, one.pair) for one in drifts}
    heard, bad = _heard(
        opened, [e for e in entries if all_rows or (e.day, e.pair) in there]
    )
    settings = opened.settings
    found = place(
        heard,
        [drifted(one) for one in drifts],
        rods_on=lambda pair, day: rods_aboard(settings, pair, day),
        zone=settings.zone,
        cast_m=settings.spread.cast_m,
        anchoring=settings.match.anchoring,
    )
    every = sorted((*faults, *bad, *found.faults), key=attrgetter("row"))
    return Met(found.stints, found.loose, found.questions, tuple(every))


def drifted(one: Numbered) -> Drifted:
    """Return a drift as rows are placed on it."""
    return Drifted(one.day, one.pair, one.number, one.drift, one.source)


def read_entries(opened: Opened) -> tuple[tuple[Entry, ...], tuple[RowFault, ...]]:
    """Return the rows of the tally, names as the settings have them, and faults."""
    try:
        entries, faults = tally_rows(read_tally(opened.practice.folder))
    except PracticeError as error:
        return (), (row_fault(TALLY, 0, error),)
    known, bad = spelt(opened.settings, entries)
    return known, (*faults, *_once(bad))


def _once(faults: Iterable[RowFault]) -> Iterator[RowFault]:
    """Yield what is wrong with several rows, such as a pair that is no more, once."""
    alike: dict[tuple[str, str], list[RowFault]] = {}
    for fault in faults:
        alike.setdefault((fault.what, fault.do), []).append(fault)
    for first, *others in alike.values():
        more = f", in {len(others)} more {'row' if len(others) == 1 else 'rows'} too"
        yield replace(first, what=first.what + more) if others else first


def spelt(
    settings: Settings, entries: Iterable[Entry], file: str = TALLY
) -> tuple[tuple[Entry, ...], tuple[RowFault, ...]]:
    """Return rows with their pairs, rods and lines as the settings spell them.

    Parameters
    ----------
    file
        What to call the file in faults.
    """
    known, faults = [], []
    for entry in entries:
        try:
            known.append(_spelt(settings, entry))
        except PracticeError as error:
            if not says_nothing(entry):
                faults.append(row_fault(file, entry.row, error))
    return tuple(known), tuple(faults)


def _spelt(settings: Settings, entry: Entry) -> Entry:
    pair = settings.pair_named(entry.pair)
    rod = rod_named(settings, pair, entry.day, entry.rod) if entry.rod else ""
    setup = with_line(entry.setup, settings.tackle.lines)
    return replace(entry, pair=pair, rod=rod, setup=setup)


def rods_aboard(settings: Settings, pair: str, day: date) -> tuple[str, ...]:
    """Return the rods of a boat that went out, whatever the settings say of it."""
    return settings.rods_on(pair, day) or ENDS


def rod_named(settings: Settings, pair: str, day: date, name: str) -> str:
    """Return the rod that is meant: its call sign, or where it sits.

    Raises
    ------
    PracticeError
        If nobody in that boat is called so.
    """
    rods = rods_aboard(settings, pair, day)
    for rod in rods:
        if rod.casefold() == name.casefold():
            return rod
    seats = dict(zip(ENDS, rods, strict=False))
    if name.casefold() in seats:
        return seats[name.casefold()]
    near = near_words(name, (*rods, *ENDS))
    raise PracticeError(
        f"there is no rod {name!r} in {pair}'s boat on {day:%a} {day.day} {day:%b}:"
        f"{near} write {' or '.join(rods)}, or say in practice.toml who was there"
    )


def _heard(
    opened: Opened, entries: Iterable[Entry]
) -> tuple[list[Heard], list[RowFault]]:
    """Return rows with their places in metres; places that nobody knows are faults."""
    heard, faults = [], []
    for entry in entries:
        at = near = None
        try:
            if entry.place is not None:
                lon, lat = entry.place
                spot = spot_at(opened, f"{lat:g}, {lon:g}", entry.place)
                at = (spot.easting, spot.northing)
            if entry.near and at is None:
                spot = spoken_spot(opened, entry.near)
                near = (spot.easting, spot.northing)
        except PracticeError as error:
            faults.append(row_fault(TALLY, entry.row, error))
        heard.append(Heard(entry, at, near))
    return heard, faults


def told_of(
    opened: Opened, drifts: Sequence[Numbered]
) -> frozenset[tuple[date, str, int]]:
    """Return which of some drifts are told, by day, pair and number."""
    return met_on(opened, drifts).told
