"""What the day was like: `notes.csv`, in which each row is a note.

The file can be edited by hand, and is read as `sheets` says. Nothing is struck out in
it: a later row about the same moment counts, and the earlier one stays.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.practice import sheets
from sweptwater.practice.sheets import (
    Form,
    Position,
    RowFault,
    Sheet,
    parse_cell_day,
    parse_clock,
    parse_position,
    position_cells,
    understood,
    with_row,
)
from sweptwater.practice.tables import near_words

NOTES = "notes.csv"
FORM = Form(
    NOTES,
    columns=("day", "time", "pair", "kind", "value", "lat", "lon", "near", "note"),
    needed=("day", "kind"),
    commas=("lat", "lon"),
)
KINDS = (
    *("sky", "wind", "wave", "clarity_ft", "temp_top", "temp_deep", "level", "hatch"),
    *("birds", "weed", "spooned", "stocked", "boats", "drogue", "other"),
)
NEED_A_VALUE = ("wind", "sky", "wave", "drogue")
"""The kinds that are counted with; the others are kept as they are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One row: what was noted, of when, and by whom.

    Parameters
    ----------
    day, at
        From when on it holds, local; None for the time: all that day.
    pair
        Whose boat it is about; empty for all.
    kind, value
        One of KINDS, and what is noted of it.
    place, near
        Where it was, as far as it was told.
    note
        What else was said.
    row
        The row in the file as a spreadsheet numbers it.
    """

    day: date
    kind: str
    value: str = ""
    at: time | None = None
    pair: str = ""
    place: Position | None = None
    near: str = ""
    note: str = ""
    row: int = field(default=0, compare=False)


def read_notes(folder: Path) -> Sheet:
    """Return the file of a practice; an empty one if there is none.

    Raises
    ------
    PracticeError
        If it cannot be read, or is no such table.
    """
    return sheets.read_sheet(folder, FORM)


def save_notes(folder: Path, sheet: Sheet) -> None:
    """Write the file; the caller holds the folder (see `files.writing`)."""
    sheets.save_sheet(folder, sheet, FORM)


def note_rows(sheet: Sheet) -> tuple[tuple[Note, ...], tuple[RowFault, ...]]:
    """Return what each row notes, and the rows that cannot be understood."""
    return understood(sheet, FORM, _note)


def with_note(sheet: Sheet, note: Note) -> Sheet:
    """Return the file with one more row."""
    return with_row(
        sheet,
        FORM,
        {
            "day": note.day.isoformat(),
            "time": f"{note.at:%H:%M}" if note.at is not None else "",
            "pair": note.pair,
            "kind": note.kind,
            "value": note.value,
            "near": note.near,
            "note": note.note,
            **position_cells(note.place),
        },
    )


def _note(values: Mapping[str, str], row: int) -> Note:
    kind = values["kind"].casefold()
    if kind not in KINDS:
        near = near_words(kind, KINDS)
        raise PracticeError(
            f"{values['kind']!r} is no kind of note:{near} "
            f"{'the' if not near else 'The'} kinds are {', '.join(KINDS)}"
        )
    value = values.get("value", "")
    if kind in NEED_A_VALUE and not value:
        raise PracticeError(f"there is no value of {kind}: fill it in")
    clock = values.get("time", "")
    return Note(
        day=parse_cell_day(values["day"]),
        at=parse_clock(clock) if clock else None,
        pair=values.get("pair", ""),
        kind=kind,
        value=value,
        place=parse_position(values),
        near=values.get("near", ""),
        note=values.get("note", ""),
        row=row,
    )
