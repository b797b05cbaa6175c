"""How the front of a boat sheet is divided, so that all of it stays on one side.

Whoever prints a sheet has other fonts than its maker: heights are of usual ones, and
the pencil's rows and the map give way to wider ones, or take what is left. Millimetres
throughout; the sizes are those of sheet.css.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, product
from math import ceil, sqrt
from typing import Literal, TypeAlias

from sweptwater.paper.lettering import text_width, wrapped

POINT_MM = 25.4 / 72
WIDTH_MM, HEIGHT_MM = 194.0, 280.0
"""Of a side of A4 less margins of 8 mm, and a hair."""

GAP_MM = 1.5
TEXT_PT, LINE_MM = 11.0, 11 * 1.1 * POINT_MM
HEAD_PT, HEAD_LINE_MM = 9.5, 9.5 * 1.15 * POINT_MM
WORDS_PT, WORDS_LINE_MM = 10.0, 10 * 1.15 * POINT_MM
CELL_MM = 0.9
"""Between the text of a cell and its left and right edges."""

WIDEST_MM = 40.0
"""Of a cell or a word; longer ones are broken."""

PLACE_MM = 22.0
"""Places that are narrower stay on one line."""

ROW_MM = 0.7
"""What a row of a table is higher than its lines."""

PENCIL_MM, PENCIL_HEAD_MM = 5.0, 13.5
"""The height of a row for the pencil that is aimed at, and of what stands above."""

LEGEND_LINE_MM = 4.6
LEAST_MAP_MM, LARGE_MAP_MM, FLATTEST = 50.0, 130.0, 0.4
"""The side of a square as large as what the map shows: at least, and large enough."""

MOST_ROWS, FEWEST_ROWS = 24, 6
"""So many drifts are to stand on the front, however small the map gets. Of more, so
many at least, and all that the back cannot hold: what matters then is the map."""

LEAST_LIST_MM = 14.0
"""On the back, for what does not fit the day."""

GUTTER_MM, COLUMN_GAP_MM = 5.0, 4.0
_LEFT_MM, _PARTS = range(52, 113, 3), (1, 0.9, 0.8, 0.7)

Place: TypeAlias = Literal["left", "right", "below"]
_SIDES: tuple[Place, ...] = ("left", "right")

USUAL = 0.87
"""Usual letters are so wide by the widest, or made so by sheet.css; the pencil's rows
give way to others."""


@dataclass(frozen=True, slots=True)
class Grid:
    """A table to be set: titles, rows of cells, and which columns hold places.

    Its head is at least so many lines high.
    """

    titles: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    wide: tuple[int, ...] = ()
    head_lines: int = 1


@dataclass(frozen=True, slots=True)
class Front:
    """How the middle of the front is divided.

    Parameters
    ----------
    rows
        How many drifts of the table stand on it.
    left_mm
        The width of the column with the map, left of the table; 0 if the map stands
        above it.
    middle_mm
        The height of both.
    words
        Where the words stand.
    map_mm
        Width and height of the map.
    columns_mm
        Of the table of drifts.
    """

    rows: int
    left_mm: float
    middle_mm: float
    words: Place
    map_mm: tuple[float, float]
    columns_mm: tuple[float, ...]


def divided(
    grid: Grid,
    words: Sequence[str],
    legend: Sequence[str],
    *,
    room_mm: float,
    tall: float,
    back_rows: int = 0,
) -> Front:
    """Return the division that holds the drifts, and of those has the largest map.

    Parameters
    ----------
    words, legend
        Paragraphs, and the titles of what the map shows.
    room_mm
        The height for map, table and words.
    tall
        The height of what the map shows by its width.
    back_rows
        How many drifts the back can hold.
    """
    fronts = _fronts(grid, words, legend, room_mm, tall)
    wanted = len(grid.rows)
    if wanted > MOST_ROWS:
        wanted = max(FEWEST_ROWS, wanted - back_rows)

    def merit(front: Front) -> tuple[bool, int, float, int]:
        width, height = front.map_mm
        size_mm = min(width, height / tall) * sqrt(tall) if tall else LEAST_MAP_MM
        return (
            size_mm >= LEAST_MAP_MM,
            min(front.rows, wanted),
            round(min(size_mm, LARGE_MAP_MM), 1),
            front.rows,
        )

    return max(fronts, key=merit)


def head_mm(
    ashore: str,
    pair: str,
    when: Sequence[str],
    bars: Sequence[Sequence[str]],
) -> float:
    """Return the height of what stands above the map, each text as sheet.css sets it.

    Parameters
    ----------
    ashore
        In a frame above all else, if there is reason to.
    pair, when
        To the left in large letters, and to the right in lines.
    bars
        Lines across the side, each of one text or two.
    """
    height = 4 * GAP_MM
    if ashore:
        lines = len(_lines(ashore, 17, WIDTH_MM - 9, bold=True))
        height += lines * 17 * 1.2 * POINT_MM + 8
    name_mm = 25 * POINT_MM * len(_lines(pair, 25, WIDTH_MM / 2, bold=True))
    right_mm = WIDTH_MM - min(_width_mm(pair, 25, bold=True), WIDTH_MM / 2) - 6
    lines = sum(len(_lines(text, 13, right_mm, bold=True)) for text in when)
    height += max(name_mm, lines * 13 * 1.15 * POINT_MM)
    for texts in bars:
        lines = len(_lines(" ".join(texts), 12.5, WIDTH_MM - 6, bold=True))
        height += lines * 13 * 1.15 * POINT_MM + 0.9
    return height + 2


def words_mm(words: Sequence[str], width_mm: float) -> float:
    """Return the height of texts that follow each other on the line."""
    return len(_lines(" ".join(words), WORDS_PT, width_mm)) * WORDS_LINE_MM


def listed(texts: Sequence[str], room_mm: float) -> tuple[int, int]:
    """Return in how many columns a numbered list is set, and how many of it have room.

    Examples
    --------
    >>> listed(["bank 9, 1 h"] * 20, 100), listed(["bank 9, 1 h"] * 99, 50)
    ((3, 20), (3, 30))
    """
    longest = max((_width_mm(text, TEXT_PT) for text in texts), default=0.0)
    columns = max(1, min(3, int((WIDTH_MM + COLUMN_GAP_MM) // (longest + 15))))
    width = (WIDTH_MM + COLUMN_GAP_MM) / columns - COLUMN_GAP_MM - 8
    line = LINE_MM + 0.6
    most = max(int(room_mm / line), 1) * columns
    heights = accumulate(len(_lines(text, TEXT_PT, width)) or 1 for text in texts)
    return columns, sum(height <= most for height in heights)


def back_mm(
    drifts: Grid, drift_columns: Sequence[float], turns: Grid, columns: Sequence[float]
) -> float:
    """Return the height of what stands on the back, but for the list at its end."""
    height = 25.0  # its head, and that of the list
    if drifts.rows:
        height += sum(row_heights_mm(drifts, drift_columns)) + 10
    if turns.rows:
        spread = 1.3 * (len(turns.rows) + 1)
        height += sum(row_heights_mm(turns, columns)) + spread + 10
    return height


def back_rows(turns: Grid, columns: Sequence[float], list_rows: int) -> int:
    """Return how many drifts the back can hold beside all else, a line each."""
    head_mm = 3 * HEAD_LINE_MM + ROW_MM + 10
    left_mm = HEIGHT_MM - back_mm(Grid((), ()), (), turns, columns) - head_mm
    if list_rows:
        left_mm -= LEAST_LIST_MM
    return max(int(left_mm / (LINE_MM + ROW_MM)), 0)


def legend_mm(legend: Sequence[str]) -> float:
    """Return the height of swatches with their words, across the side."""
    lines, used = 1, 0.0
    for title in legend:
        needs = 11 + _width_mm(title, 9)
        if used and used + needs > WIDTH_MM:
            lines, used = lines + 1, 0.0
        used += needs
    return lines * LEGEND_LINE_MM + 1.2 if legend else 0.0


def pencil_mm(rows: int) -> float:
    """Return the least height of so many rows for a pencil."""
    return PENCIL_HEAD_MM + rows * PENCIL_MM if rows else 0.0


def columns_mm(grid: Grid, width_mm: float) -> tuple[float, ...]:
    """Return the widths of columns: figures need what they need, places share the rest.

    Examples
    --------
    >>> grid = Grid(("No", "From"), (("1", "off the tower"),), wide=(1,))
    >>> columns_mm(grid, 100)
    (6.8, 93.2)
    """
    needs = [
        max(_natural_mm(title, cells, whole=at not in grid.wide))
        for at, (title, cells) in enumerate(
            zip(grid.titles, _by_column(grid), strict=True)
        )
    ]
    needs = [ceil(10 * need) / 10 for need in needs]
    spare = max(width_mm - sum(needs), 0) / max(len(grid.wide), 1)
    return tuple(
        round(need + (spare if at in grid.wide else 0), 2)
        for at, need in enumerate(needs)
    )


def row_heights_mm(grid: Grid, columns: Sequence[float]) -> list[float]:
    """Return the heights of a table's head and of its rows."""
    head = max(
        len(_lines(title, HEAD_PT, width - 2 * CELL_MM, bold=True))
        for title, width in zip(grid.titles, columns, strict=True)
    )
    heights = [max(head, grid.head_lines) * HEAD_LINE_MM + ROW_MM + 0.4]
    for row in grid.rows:
        lines = max(
            len(_lines(cell, TEXT_PT, width - 2 * CELL_MM, bold=not at))
            for at, (cell, width) in enumerate(zip(row, columns, strict=True))
        )
        heights.append(max(lines, 1) * LINE_MM + ROW_MM)
    return heights


def _fronts(
    grid: Grid,
    words: Sequence[str],
    legend: Sequence[str],
    room_mm: float,
    tall: float,
) -> Iterator[Front]:
    rest_mm = room_mm - legend_mm(legend)
    for part in _PARTS:
        yield _above(grid, words_mm(words, WIDTH_MM) + GAP_MM, rest_mm, tall, part)
    places: tuple[Place, ...] = ("left", "right", "below")
    for left_mm, place in product(_LEFT_MM, places):
        right_mm = WIDTH_MM - left_mm - GUTTER_MM
        own_mm = {"left": left_mm, "right": right_mm, "below": WIDTH_MM}[place]
        taken_mm = words_mm(words, own_mm) + GAP_MM
        front = _beside(grid, float(left_mm), place, taken_mm, rest_mm, tall)
        if front is not None:
            yield front


def _above(
    grid: Grid, words_mm: float, room_mm: float, tall: float, part: float
) -> Front:
    """Return the front with the map over the table, and the words below.

    The map is at least that part of what is the flattest for one so wide.
    """
    room_mm -= words_mm + GAP_MM
    columns = columns_mm(grid, WIDTH_MM)
    rows, table_mm = _fitting(grid, columns, room_mm - part * FLATTEST * WIDTH_MM)
    height = min(room_mm - table_mm, _map_mm(WIDTH_MM, tall))
    return Front(
        rows, 0.0, height + table_mm + GAP_MM, "below", (WIDTH_MM, height), columns
    )


def _beside(
    grid: Grid,
    left_mm: float,
    place: Place,
    words_mm: float,
    room_mm: float,
    tall: float,
) -> Front | None:
    """Return the front with the map left of the table, if there is room for that."""
    middle = room_mm - (words_mm if place == "below" else 0)
    below_map, below_table = (words_mm if place == side else 0 for side in _SIDES)
    columns = columns_mm(grid, right_mm := WIDTH_MM - left_mm - GUTTER_MM)
    height = min(middle - below_map, _map_mm(left_mm, tall))
    if sum(columns) > right_mm + 0.5 or height < FLATTEST * left_mm:
        return None
    rows, table_mm = _fitting(grid, columns, middle - below_table)
    needed = max(height + below_map, table_mm + below_table)
    return Front(rows, left_mm, needed, place, (left_mm, height), columns)


def _map_mm(width_mm: float, tall: float) -> float:
    """Return the height that a map needs for a width."""
    return max(width_mm * tall, FLATTEST * width_mm)


def _fitting(grid: Grid, columns: Sequence[float], room_mm: float) -> tuple[int, float]:
    """Return how many rows find room, and the height that they take with the head."""
    if not grid.rows:
        return 0, LINE_MM
    heights = list(accumulate(row_heights_mm(grid, columns)))
    rows = max(sum(height <= room_mm for height in heights) - 1, 0)
    return rows, heights[rows] if rows else LINE_MM


def _natural_mm(title: str, cells: Sequence[str], *, whole: bool) -> Iterator[float]:
    """Yield the widths that a column must have: of words, or of whole cells."""
    for word in title.split():
        yield _width_mm(word, HEAD_PT, bold=True) + 2 * CELL_MM
    for cell in cells:
        most = WIDEST_MM if whole else PLACE_MM
        yield min(_width_mm(cell, TEXT_PT) + 2 * CELL_MM, most)
        for word in () if whole else cell.split():
            yield min(_width_mm(word, TEXT_PT) + 2 * CELL_MM, WIDEST_MM)
    yield 0.0


def _lines(
    text: str, points: float, width_mm: float, *, bold: bool = False
) -> list[str]:
    return wrapped(text, USUAL * points * POINT_MM, most=width_mm, bold=bold)


def _width_mm(text: str, points: float, *, bold: bool = False) -> float:
    return text_width(text, USUAL * points * POINT_MM, bold=bold)


def _by_column(grid: Grid) -> list[tuple[str, ...]]:
    return [tuple(row[at] for row in grid.rows) for at in range(len(grid.titles))]
