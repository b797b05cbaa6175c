"""Note what the day was like, and read what was noted."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, time
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.jobs.boats import Reader
from sweptwater.jobs.note_words import clarity_m, meaning, warmth_c
from sweptwater.jobs.opened import (
    Opened,
    Watch,
    last_day,
    open_folder,
    parse_day,
    unwatched,
)
from sweptwater.jobs.spoken import spoken_spot
from sweptwater.offers.noted import Noted, noted, parse_drogue
from sweptwater.offers.sky import parse_sky
from sweptwater.offers.wind import parse_wind
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
from sweptwater.practice.sheets import (
    PLACES,
    Position,
    RowFault,
    parse_clock,
    row_fault,
)
from sweptwater.units import System

HELD = ("wind", "sky", "wave", "level", "drogue")
"""What holds from a time on until the next note."""

MEASURED = ("clarity_ft", "temp_top", "temp_deep")
"""What is measured at a place."""

BESIDE = re.compile(r"^(?:off|near|by|beside|outside|in front of|towards?)\s+", re.I)
"""Words before a place that say nothing of which it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Say:
    """What somebody noted, in their words.

    Parameters
    ----------
    kind, value
        One of the kinds of notes, and what is noted of it.
    day, at
        From when on; the last day with tracks and all of it, if not said.
    pair
        Whose boat it is about; all, if not said.
    near
        Where it was: a mark, a bank, LAT,LON, or other words.
    note
        What else was said.
    """

    kind: str
    value: str
    day: str | None = None
    at: str | None = None
    pair: str | None = None
    near: str = ""
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
    near, lat, lon
        Where it was, in words, and as a position if the place is known.
    row
        Its row in the file.
    known
        Whether it had been noted before, so that nothing changed.
    instead_of
        What had been noted of the same moment and counts no more; else empty.
    remarks
        What could not be told for sure.
    """

    day: date
    time: str
    pair: str | None
    kind: str
    value: str
    meaning: str
    near: str
    lat: float | None
    lon: float | None
    row: int
    known: bool
    instead_of: str
    remarks: tuple[str, ...]


def add_note(folder: Path, say: Say, *, watch: Watch = unwatched) -> Written:
    """Note what a day was like.

    Of what holds from a time on, a note of the same moment, boat and kind counts from
    now on, and the one before stays in the file. Signs stand beside each other.

    Raises
    ------
    SweptwaterError
        If the pair, the day, the time or the value cannot be understood.
    """
    check_practice(folder)  # no lock is left in a folder that is none
    opened = open_folder(folder)
    pair = opened.settings.pair_named(say.pair) if say.pair else ""
    units = opened.settings.units
    told = meaning(say.kind, say.value, units)
    near, remarks = " ".join(say.near.split()), tuple[str, ...]()
    place = None
    if near:
        try:
            place = _position(opened, near)
        except PracticeError as error:
            remarks = (f"the place is kept as it was said: {error}",)
    note = Note(
        day=parse_day(say.day) if say.day else _last_day(opened, watch),
        at=parse_clock(say.at) if say.at else None,
        pair=pair,
        kind=say.kind,
        value=" ".join(say.value.split()),
        place=place,
        near=near,
        note=" ".join(say.note.split()),
    )
    with writing(folder):
        sheet = read_notes(folder)
        before = _latest(note_rows(sheet)[0], note)
        same = before is not None and _same(before, note)
        known = same and before is not None and note.note in ("", before.note)
        if not known:
            sheet = with_note(sheet, note)
            save_notes(folder, sheet)
    return Written(
        day=note.day,
        time=f"{note.at:%H:%M}" if note.at is not None else "",
        pair=note.pair or None,
        kind=note.kind,
        value=note.value,
        meaning=told,
        near=near,
        lat=place[1] if place else None,
        lon=place[0] if place else None,
        row=before.row if known and before else len(sheet.rows),
        known=known,
        instead_of=_told(before, units) if before and not same else "",
        remarks=remarks,
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


def _position(opened: Opened, near: str) -> Position:
    """Return where a place is.

    Raises
    ------
    PracticeError
        If nobody knows it.
    """
    spot = spoken_spot(opened, BESIDE.sub("", near) or near)
    lon, lat = opened.venue.frame.to_degrees(spot.easting, spot.northing)
    return round(float(lon), PLACES), round(float(lat), PLACES)


def _latest(notes: Iterable[Note], note: Note) -> Note | None:
    """Return the note that another would replace, or repeat."""
    same = [one for one in notes if _moment(one) == _moment(note)]
    return same[-1] if same else None


def _moment(note: Note) -> tuple[object, ...]:
    """Return of what a later note takes the place of an earlier one.

    Wind, sky, wave, level and drogue hold for a boat, what is measured also by its
    place; of other signs there may be many.
    """
    key = (note.day, note.at or time.min, note.pair.casefold(), note.kind)
    if note.kind in HELD:
        return key
    if note.kind in MEASURED:
        return (*key, note.near.casefold())
    return (*key, note.near.casefold(), note.value.casefold())


def _same(one: Note, other: Note) -> bool:
    """Tell whether two notes of a kind say the same, however they write it."""
    if one.near.casefold() != other.near.casefold():
        return False
    try:
        return _value(one) == _value(other)
    except PracticeError:  # an old row may mean nothing: `check` tells of it
        return False


def _value(note: Note) -> object:
    """Return what a note's value means, to compare."""
    parse = _PARSERS.get(note.kind, str.casefold)
    return parse(note.value)


_PARSERS: Mapping[str, Callable[[str], object]] = {
    "wind": parse_wind,
    "drogue": parse_drogue,
    "sky": parse_sky,
    "clarity_ft": clarity_m,
    "temp_top": warmth_c,
    "temp_deep": warmth_c,
}


def _told(note: Note, units: System) -> str:
    try:
        return meaning(note.kind, note.value, units)
    except PracticeError:
        return f"{note.kind} {note.value}".rstrip()
