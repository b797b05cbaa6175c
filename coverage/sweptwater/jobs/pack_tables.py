"""A table as it is handed on: without what people said in their own words."""

from collections.abc import Mapping
from dataclasses import dataclass

import shapely

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError
from sweptwater.frame import Frame
from sweptwater.practice import notes, remembered, tally
from sweptwater.practice.sheets import (
    Form,
    parse_position,
    parse_sheet,
    rewritten,
    sheet_bytes,
)

FORMS: Mapping[str, tuple[Form, tuple[str, ...]]] = {
    tally.TALLY: (tally.FORM, tally.IF_NEEDED),
    notes.NOTES: (notes.FORM, ()),
    remembered.REMEMBERED: (remembered.FORM, ()),
}
"""Each table, and the further columns of ours that it may have."""

WORDS = "note"
"""The column for whatever else somebody said."""

OTHER = "other"
"""The kind of a note that is nothing else."""

_POSITIONS = (("lat", "lon"), ("from_lat", "from_lon"), ("to_lat", "to_lon"))


@dataclass(frozen=True, slots=True)
class PlainTable:
    """A table to hand on, with how many notes and columns are not in it."""

    data: bytes
    notes: int
    columns: int


def plain_table(name: str, data: bytes, frame: Frame, near: Area) -> PlainTable:
    """Return a table of a practice without notes, others' columns and places away.

    Parameters
    ----------
    name
        Which of `FORMS` it is.
    near
        Where places may be told, in the frame's metres.

    Raises
    ------
    PracticeError
        If it is no such table.
    """
    form, more = FORMS[name]
    sheet, said = parse_sheet(data, form), 0

    def plain(row: dict[str, str]) -> dict[str, str] | None:
        nonlocal said
        if name == notes.NOTES and row.get("kind", "").strip().casefold() == OTHER:
            said += 1
            return None
        said += bool(row.get(WORDS, "").strip())
        return row | {WORDS: ""} | _emptied(row, frame, near)

    columns = (*form.columns, *more)
    kept = rewritten(sheet, columns, plain)
    head = {cell.strip().casefold() for cell in sheet.rows[0]} - {""}
    return PlainTable(sheet_bytes(kept), said, len(head.difference(columns)))


def _emptied(row: Mapping[str, str], frame: Frame, near: Area) -> dict[str, str]:
    """Return empty cells for each position of a row that may not be told."""
    return {
        cell: ""
        for lat, lon in _POSITIONS
        if lat in row and not _may_be_told(row, lat, lon, frame, near)
        for cell in (lat, lon)
    }


def _may_be_told(
    row: Mapping[str, str], lat: str, lon: str, frame: Frame, near: Area
) -> bool:
    cells = {name: row.get(name, "").strip() for name in (lat, lon)}
    try:
        at = parse_position(cells, lat, lon)
    except PracticeError:  # nobody can tell where that is
        return False
    return at is None or bool(shapely.contains_xy(near, *frame.to_metres(*at)))
