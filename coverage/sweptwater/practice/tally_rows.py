"""Reading and writing the rows of `tally.csv`."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.practice import sheets
from sweptwater.practice.sheets import (
    Cells,
    Form,
    RowFault,
    Sheet,
    parse_cell_day,
    parse_clock,
    parse_position,
    position_cells,
    understood,
    with_cell,
    with_row,
)
from sweptwater.practice.tally import (
    BEFORE,
    FORM,
    IF_NEEDED,
    Counts,
    Entry,
    SetUp,
    ToldOf,
)
from sweptwater.practice.tally_words import (
    KINDS,
    parse_count,
    parse_seconds,
    parse_sink,
    parse_told,
)

DROGUE = ("", "in", "out")
LAST = "~"
"""Sorts after every rod, pair and time that can be written."""


def read_tally(folder: Path) -> Sheet:
    """Return the file of a practice; an empty one if there is none.

    Raises
    ------
    PracticeError
        If it cannot be read, or is no such table.
    """
    return sheets.read_sheet(folder, FORM)


def save_tally(folder: Path, sheet: Sheet) -> None:
    """Write the file; the caller holds the folder (see `files.writing`)."""
    sheets.save_sheet(folder, sheet, FORM)


def tally_rows(
    sheet: Sheet, form: Form = FORM
) -> tuple[tuple[Entry, ...], tuple[RowFault, ...]]:
    """Return what each row tells, and the rows that cannot be understood."""
    return understood(sheet, form, parse_entry)


def parse_entry(values: Mapping[str, str], row: int) -> Entry:
    """Return what the cells of a row tell, by their column.

    Raises
    ------
    PracticeError
        If that cannot be understood.
    """
    told, counts = _told(values)
    start, drift = values.get("start", ""), values.get("drift", "")
    sink, seconds = values.get("sink_in_s", ""), values.get("count_s", "")
    return Entry(
        day=parse_cell_day(values["day"]),
        pair=values["pair"],
        start=parse_clock(start) if start else None,
        drift=_drift(drift) if drift else None,
        rod=_plain_number(values.get("rod", "")),
        told=told,
        counts=counts,
        setup=SetUp(
            line=values.get("line", ""),
            sink_in_s=parse_sink(sink) if sink else None,
            count_s=parse_seconds(seconds) if seconds else None,
            retrieve=values.get("retrieve", ""),
            fly_place=values.get("fly_place", ""),
            fly=values.get("fly", ""),
        ),
        taken=values.get("taken", ""),
        species=values.get("species", ""),
        drogue=_drogue(values.get("drogue", "")),
        left_because=values.get("left_because", ""),
        place=parse_position(values),
        near=values.get("near", ""),
        when=values.get("time", ""),
        note=values.get("note", ""),
        row=row,
    )


def _told(values: Mapping[str, str]) -> tuple[ToldOf, Counts]:
    told = parse_told(values.get("told", ""))
    cells = {kind: parse_count(values.get(kind, ""), kind) for kind in KINDS}
    unsaid = parse_count(values.get("offers", ""), "offers")
    filled = {kind: number for kind, number in cells.items() if number is not None}
    counts = Counts(**filled, unsaid=unsaid or 0)
    if told == "blank" and counts.offers:
        raise PracticeError(
            f"it says blank, and {counts.offers} offers: write tallied, or empty the "
            "counts"
        )
    if told == "tallied" and not filled and unsaid is None:
        raise PracticeError(
            "it says tallied, and not how many: fill in follow, pull, lost and boated, "
            "or write blank"
        )
    if told or not (filled or unsaid is not None):
        return told, counts
    if not counts.offers and len(filled) < len(KINDS):
        raise PracticeError(
            f"it says 0 of {' and '.join(filled) or 'offers'} and nothing of the rest: "
            "write blank if there was nothing at all"
        )
    return "tallied", counts


def _drift(text: str) -> int:
    number = parse_count(_plain_number(text), "the drift's number") or 0
    if not number:
        raise PracticeError(f"{text!r} is no number of a drift: write one like 4")
    return number


def _plain_number(text: str) -> str:
    """Return a call sign without what a spreadsheet adds to one that is a number."""
    return text.removesuffix(".0")


def _drogue(text: str) -> str:
    said = text.casefold()
    if said not in DROGUE:
        raise PracticeError(
            f"{text!r} does not say where the drogue was: write in, for in the water, "
            "or out"
        )
    return said


def entry_cells(entry: Entry) -> dict[str, str]:
    """Return the cells of a row, by their column."""
    setup, told = entry.setup, bool(entry.told)
    of_kind = zip(KINDS, entry.counts.of_kind, strict=True)
    # Where only the number of all was told, noughts would say that none was boated.
    kinds = {
        kind: str(n)
        for kind, n in of_kind
        if entry.told == "tallied" and (n or not entry.counts.unsaid)
    }
    return {
        "day": entry.day.isoformat(),
        "pair": entry.pair,
        "drift": "" if entry.drift is None else str(entry.drift),
        "start": "" if entry.start is None else f"{entry.start:%H:%M}",
        "rod": entry.rod,
        "told": entry.told if told else "",
        **kinds,
        "offers": str(entry.counts.unsaid) if entry.counts.unsaid else "",
        "line": setup.line,
        "sink_in_s": _number(setup.sink_in_s),
        "count_s": _number(setup.count_s),
        "retrieve": setup.retrieve,
        "taken": entry.taken,
        "fly_place": setup.fly_place,
        "fly": setup.fly,
        "species": entry.species,
        "drogue": entry.drogue,
        "left_because": entry.left_because,
        **position_cells(entry.place),
        "time": entry.when,
        "near": entry.near,
        "note": entry.note,
    }


def _number(value: float | None) -> str:
    return "" if value is None else f"{round(value, 3):g}"


def with_new(sheet: Sheet, new: Iterable[Entry]) -> Sheet:
    """Return the file with more rows, each where it belongs: by day, pair and time.

    What stands there keeps its order.
    """
    entries = {entry.row: entry for entry in tally_rows(sheet)[0]}
    before = len(sheet.rows)
    keys: list[tuple[str, ...]] = [()]
    for row in range(2, before + 1):
        keys.append(_order(entries[row]) if row in entries else keys[-1])
    places: list[int] = []
    for entry in sorted(new, key=_order):
        key = _order(entry)
        sheet = _appended(sheet, entry)
        places.append(max(i for i, there in enumerate(keys) if there <= key))
    rows = [[row] for row in sheet.rows[:before]]
    for place, cells in zip(places, sheet.rows[before:], strict=True):
        rows[place].append(cells)
    return replace(sheet, rows=tuple(cells for those in rows for cells in those))


def _order(entry: Entry) -> tuple[str, ...]:
    start = f"{entry.start:%H:%M}" if entry.start else LAST
    number = f"{entry.drift:4}" if entry.drift is not None else LAST
    return (
        *(entry.day.isoformat(), entry.pair.casefold()),
        *(start, "" if entry.start else number, entry.rod.casefold() or LAST),
        *(entry.when.casefold(), entry.near.casefold(), str(entry.place)),
    )


def _appended(sheet: Sheet, entry: Entry) -> Sheet:
    cells = entry_cells(entry)
    return with_row(sheet, _form(cells), cells)


def _form(cells: Mapping[str, str]) -> Form:
    """Return the form with the further columns that some cells need."""
    more = tuple(name for name in IF_NEEDED if cells.get(name))
    return replace(FORM, columns=(*FORM.columns, *more))


def with_changes(sheet: Sheet, changes: Iterable[tuple[Entry, Entry]]) -> Sheet:
    """Return the file with what entries tell now in the rows of others before.

    Cells that say the same stay as they were written, and those that are not ours.

    Parameters
    ----------
    changes
        What a row tells now, and what it told before: its row is that one's.
    """
    cells = {before.row: _changed(now, before) for now, before in changes}
    needed = {name: value for those in cells.values() for name, value in those.items()}
    if not needed:
        return sheet
    form = _form(needed)
    first = next(row for row, those in cells.items() if those)
    name = next(iter(cells[first]))
    # One cell through `sheets` makes the columns that the file may lack.
    sheet = with_cell(sheet, form, first, name, cells[first][name])
    head = [cell.strip().casefold() for cell in sheet.rows[0]]
    rows = list(sheet.rows)
    for row, those in cells.items():
        whole = list(rows[row - 1])
        whole += [""] * (len(head) - len(whole) if those else 0)
        for name, value in those.items():
            comma = sheet.delimiter == ";" and name in FORM.commas
            whole[head.index(name)] = value.replace(".", ",") if comma else value
        rows[row - 1] = tuple(whole)
    return replace(sheet, rows=tuple(rows))


def _changed(now: Entry, before: Entry) -> dict[str, str]:
    """Return the cells that say something else than before, by their column."""
    cells, old = entry_cells(now), entry_cells(before)
    return {
        name: cells.get(name, "")
        for name in (*FORM.columns, *IF_NEEDED)
        if cells.get(name, "") != old.get(name, "")
    }


def keep_before(folder: Path, sheet: Sheet, rows: Sequence[int]) -> None:
    """Keep rows that are about to be told anew, in a file beside the tally."""
    keep_rows(folder, BEFORE, [_raw(sheet, row) for row in rows])


def keep_rows(folder: Path, name: str, rows: Sequence[Mapping[str, str]]) -> int:
    """Append rows, of cells by their column, to a file; none that is there already.

    Returns
    -------
    int
        How many were new there.
    """
    form = Form(name, FORM.columns, needed=())
    kept = sheets.read_sheet(folder, form)
    there = {_content(_raw(kept, row)) for row in range(2, len(kept.rows) + 1)}
    new = [row for row in rows if _content(row) not in there]
    for row in new:
        more = tuple(key for key in row if key not in form.columns)
        kept = with_row(kept, replace(form, columns=(*form.columns, *more)), row)
    if new:
        sheets.save_sheet(folder, kept, form)
    return len(new)


def raw_rows(sheet: Sheet) -> list[dict[str, str]]:
    """Return the cells of all rows but the head, by their column."""
    return [_raw(sheet, row) for row in range(2, len(sheet.rows) + 1)]


def _raw(sheet: Sheet, row: int) -> dict[str, str]:
    head = [cell.strip().casefold() for cell in sheet.rows[0]]
    cells: Cells = sheet.rows[row - 1]
    named = {name: cell for name, cell in zip(head, cells, strict=False) if name}
    for i, cell in enumerate(cells):
        if cell and (i >= len(head) or not head[i]):
            named[f"column {i + 1}"] = cell
    return named


def _content(row: Mapping[str, str]) -> frozenset[tuple[str, str]]:
    return frozenset((name, cell) for name, cell in row.items() if cell)
