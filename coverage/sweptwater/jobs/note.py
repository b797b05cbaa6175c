"""Note what the day was like, and read what was noted."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, time
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.jobs.boats import Reader
from sweptwater.jobs.opened import (
    Opened,
    Watch,
    last_day,
    open_folder,
    parse_day,
    unwatched,
)
from sweptwater.offers.noted import Noted, noted, parse_drogue
from sweptwater.offers.wind import parse_wind, wind_text
from sweptwater.practice.files import writing
from sweptwater.practice.folder import check_practice
from sweptwater.practice.notes import (
    NOTES,
    Note,
    note_rows,
    read_notes,
    save_notes,
    with_note,
)
from sweptwater.practice.sheets import RowFault, parse_clock, row_fault
from sweptwater.units import System


@dataclass(frozen=True, slots=True, kw_only=True)
class Say:
    """What somebody noted, in their words.

    Parameters
    ----------
    kind, value
        `wind` and a wind, or `drogue` and in or out.
    day, at
        From when on; the last day with tracks and all of it, if not said.
    pair
        Whose boat it is about; all, if not said.
    note
        What else was said.
    """

    kind: str
    value: str
    day: str | None = None
    at: str | None = None
    pair: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Written:
    """What became of a note.

    Parameters
    ----------
    day, time, pair
        From when on it holds, local (empty: all day), and for whom (None: all boats).
    kind, value
        What was noted.
    meaning
        The same as a captain reads it.
    row
        Its row in the file.
    known
        Whether it had been noted before, so that nothing changed.
    instead_of
        What had been noted of the same moment and counts no more; else empty.
    """

    day: date
    time: str
    pair: str | None
    kind: str
    value: str
    meaning: str
    row: int
    known: bool
    instead_of: str


def add_note(folder: Path, say: Say, *, watch: Watch = unwatched) -> Written:
    """Note a wind, or where a drogue was.

    A note of the same moment, boat and kind counts from now on, and the one before
    stays in the file.

    Raises
    ------
    SweptwaterError
        If the pair, the day, the time or the value cannot be understood.
    """
    check_practice(folder)  # no lock is left in a folder that is none
    opened = open_folder(folder)
    pair = opened.settings.pair_named(say.pair) if say.pair else ""
    units = opened.settings.units
    meaning = _meaning(say.kind, say.value, units)
    note = Note(
        day=parse_day(say.day) if say.day else _last_day(opened, watch),
        at=parse_clock(say.at) if say.at else None,
        pair=pair,
        kind=say.kind,
        value=" ".join(say.value.split()),
        note=" ".join(say.note.split()),
    )
    with writing(folder):
        sheet = read_notes(folder)
        before = _latest(note_rows(sheet)[0], note)
        known = before is not None and _same(before, note)
        if not known:
            sheet = with_note(sheet, note)
            save_notes(folder, sheet)
    return Written(
        day=note.day,
        time=f"{note.at:%H:%M}" if note.at is not None else "",
        pair=note.pair or None,
        kind=note.kind,
        value=note.value,
        meaning=meaning,
        row=before.row if known and before else len(sheet.rows),
        known=known,
        instead_of=_told(before, units) if before and not known else "",
    )


def read_noted(opened: Opened) -> Noted:
    """Return what was noted; rows and a file that mean nothing are faults of it."""
    zone = opened.settings.zone
    try:
        notes, bad_rows = note_rows(read_notes(opened.practice.folder))
    except PracticeError as error:
        return Noted(zone, faults=(row_fault(NOTES, 0, error),))
    known, bad_pairs = _with_pairs(opened, notes)
    found = noted(known, zone)
    bad = sorted((*bad_rows, *bad_pairs, *found.faults), key=lambda fault: fault.row)
    return replace(found, faults=tuple(bad))


def _with_pairs(
    opened: Opened, notes: Iterable[Note]
) -> tuple[list[Note], list[RowFault]]:
    """Return the notes with their pairs as the settings spell them."""
    known, faults = [], []
    for note in notes:
        try:
            pair = opened.settings.pair_named(note.pair) if note.pair else ""
            known.append(replace(note, pair=pair))
        except PracticeError as error:
            faults.append(row_fault(NOTES, note.row, error))
    return known, faults


def _last_day(opened: Opened, watch: Watch) -> date:
    reader = Reader(opened)
    originals = watch(list(opened.practice.originals), "reading tracks")
    return last_day(day for item in originals for day in reader.track(item).days)


def _meaning(kind: str, value: str, units: System) -> str:
    """Return a value as a captain reads it.

    Raises
    ------
    PracticeError
        If it means nothing.
    """
    if kind == "wind":
        return f"wind {wind_text(parse_wind(value), units)}"
    return f"drogue {parse_drogue(value)}"


def _latest(notes: Iterable[Note], note: Note) -> Note | None:
    """Return the note of the same moment, boat and kind that counts so far."""
    same = [one for one in notes if _moment(one) == _moment(note)]
    return same[-1] if same else None


def _moment(note: Note) -> tuple[object, ...]:
    return note.day, note.at or time.min, note.pair.casefold(), note.kind


def _same(one: Note, other: Note) -> bool:
    """Tell whether two notes of a kind say the same, however they write it."""
    try:
        if one.kind == "wind":
            return parse_wind(one.value) == parse_wind(other.value)
        return parse_drogue(one.value) == parse_drogue(other.value)
    except PracticeError:  # an old row may mean nothing: `check` tells of it
        return False


def _told(note: Note, units: System) -> str:
    try:
        return _meaning(note.kind, note.value, units)
    except PracticeError:
        return f"{note.kind} {note.value}"
