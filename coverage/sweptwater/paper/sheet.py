"""The boat sheet: one pair's day on both sides of a sheet of A4."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from markupsafe import Markup
from shapely.geometry.base import BaseGeometry

from sweptwater.paper.chart import looks_of
from sweptwater.paper.drawing import TALLEST, map_svg
from sweptwater.paper.framing import chart_of, layers_seen
from sweptwater.paper.furniture import layer_swatch
from sweptwater.paper.layers import Feature, Layer, Page
from sweptwater.paper.looks import svg_definitions
from sweptwater.paper.sheet_fit import (
    FLATTEST,
    GAP_MM,
    HEIGHT_MM,
    WIDTH_MM,
    Grid,
    back_mm,
    back_rows,
    columns_mm,
    divided,
    head_mm,
    listed,
    pencil_mm,
)
from sweptwater.paper.templating import source, template

PX_MM = 96 / 25.4
"""Pixels of a screen, by CSS, in a millimetre of paper."""

MAGNIFIED = 1.05
"""Letters and symbols of the map are larger on paper than on a screen by so much."""

NUMBER_PX2 = 4500
"""The room on a map, in pixels, for each number on it."""

PHONE_PX = 358
"""The width of a phone less its margins."""

GENERAL = (
    "the venue's rules and its staff go before this sheet. Buoyancy aids on and "
    "fastened, kill cord clipped on. Cold water takes breath and strength in minutes: "
    "stay with the boat. Thunder: lines in, carbon rods down, ashore at once. Be in by "
    "daylight."
)
"""Common practice on drifting boats, no source; it stands on every sheet."""

_WIDE = (2, 3)
"""The columns of drifts that hold places."""

_PENCIL_MM = (12, 14, 8, 8, 8, 8, 8, 8, 8, 8, 38, 18, 18, 30)


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftRow:
    """One planned drift as the sheet's table tells it; all texts are ready to print.

    Parameters
    ----------
    number
        As it stands in its box on the map: "1".
    start, finish
        The marks that it begins and ends at, or the bank and how far out, as short as
        can be: "The Tower", "36, 65".
    bearing
        Of its course, in degrees and as a compass point: "045 NE".
    length
        In the units of the sheet's map, without their name: "420".
    drogue_in, drogue_out
        Its minutes with the drogue in the water and without, without their name.
    begins
        The clock time at which it should start: "09:20".
    depth
        Of the water under it: "22 ft"; empty where nobody knows. Without any, the
        table has no such column.
    """

    number: str
    start: str
    finish: str
    bearing: str
    length: str
    drogue_in: str
    drogue_out: str
    begins: str
    depth: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnRow:
    """What a pair can do once the wind blows from somewhere else; texts as printed.

    Parameters
    ----------
    wind
        Where it comes from: "NE".
    banks
        Those that can be drifted in it: "3, 4 (the dam), 7", or "none".
    longest, minutes
        The longest drift in the units of the sheet's map, and its minutes, both
        without their name.
    home
        What the way home takes from the far end: "14 min".
    """

    wind: str
    banks: str
    longest: str
    minutes: str
    home: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What one pair takes afloat. All texts are ready to print, none is markup.

    Parameters
    ----------
    pair, day_text, water, sector
        The head: "Heron", "Wednesday 9 June 2027", "Ashlode Water", "the west end".
    wind
        In words, with what came of it: "SW 4 (15 mph), gusts 24".
    wind_to_deg
        Where it blows to, clockwise from north, for the arrow on the map; None if
        there is no wind to speak of.
    hours
        "Leave 09:00, home by 17:00".
    possible
        One line of what the day holds: "31 drifts, 38 acres, 9 % of the sector".
    map
        Its layers in degrees; drifts in `looks.PLANNED` with labels "numbers".
        Its title and lead are read aloud instead of the drawing, its units are those
        of the tables.
    around
        What the map has to show, in degrees, such as the sector or its drifts; it
        shows what lies around that too, as far as there is room. All areas if None.
    drifts
        In the order in which they are to be fished.
    fish
        How to fish the water, a place each: "bank 42: 3-8 ft, 5 in/s, count 13".
    closed
        What is out of bounds, a place each.
    sun
        Bearing and height in the morning, at noon, in the afternoon; sunset.
    home
        "Turn for home by 16:31: 19 min from the far end, 10 spare".
    ring
        The venue's number to ring in need; may be empty.
    cautions
        Of this day's wind and water, before the general ones, which need not be given.
    turns
        For each of eight winds, for the back.
    left_out
        What does not fit the day, in the order in which it would come next. Of a list
        that is too long for the back, the end is told as a number.
    stay_ashore
        A sentence if nobody should go afloat: it stands first, and large.
    pencil_rows
        How many rows to fill in by pencil.
    """

    pair: str
    day_text: str
    water: str
    sector: str
    wind: str
    wind_to_deg: float | None
    hours: str
    possible: str
    map: Page
    drifts: tuple[DriftRow, ...] = ()
    fish: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()
    sun: tuple[str, ...] = ()
    home: str = ""
    ring: str = ""
    cautions: tuple[str, ...] = ()
    turns: tuple[TurnRow, ...] = ()
    left_out: tuple[str, ...] = ()
    stay_ashore: str = ""
    pencil_rows: int = 14
    around: BaseGeometry | None = None


def render_sheet(sheet: Sheet) -> str:
    """Return a sheet as one HTML file that needs no script and no network.

    It prints on two sides of A4, or on one where there is nothing for the back; drifts
    that find no room on the front go on before all else overleaf. On a narrow screen
    it is one column. Every text is escaped; the same sheet is always the same text.
    """
    chart = chart_of(sheet.map, around=sheet.around)
    legend = [layer for layer in chart.layers if layer.in_legend] if chart else []
    words = list(_words(sheet))
    tall = chart.extent.height / chart.extent.width if chart else 0.0
    grid, turns = _grid(sheet), _turns(sheet)
    front = divided(
        grid,
        [f"{title}: {text}" for title, text in words],
        [_meaning(layer) for layer in legend],
        room_mm=_room_mm(sheet),
        tall=tall,
        back_rows=back_rows(turns, columns_mm(turns, WIDTH_MM), len(sheet.left_out)),
    )
    width_px, height_px = (side * PX_MM / MAGNIFIED for side in front.map_mm)
    step = _step(sheet.map, width_px, height_px)
    phone_step = _step(sheet.map, PHONE_PX, PHONE_PX * max(tall, FLATTEST))
    html = template("sheet.html").render(
        sheet=sheet,
        front=front,
        middle_mm=round(front.middle_mm, 1),
        titles=grid.titles,
        wide=_WIDE,
        front_rows=grid.rows[: front.rows],
        **_back(sheet, replace(grid, rows=grid.rows[front.rows :])),
        words=words,
        legend=layers_seen(chart, legend, width_px, height_px),
        phone_legend=layers_seen(chart, legend, PHONE_PX, PHONE_PX * TALLEST),
        swatch=layer_swatch,
        meaning=_meaning,
        definitions=svg_definitions(looks_of(chart.layers if chart else ())),
        paper_map=_map(sheet, "paper", width_px, height_px, step),
        numbered=step,
        phone_numbered=phone_step,
        phone_map=_map(sheet, "phone", PHONE_PX, None, phone_step),
        pencil_mm=_PENCIL_MM,
        ring=_ring(sheet),
        unit=_unit(sheet),
        css=source("fonts.css") + source("sheet.css"),
    )
    return html.encode("utf-8", "replace").decode("utf-8")  # lone surrogates


def _turns(sheet: Sheet) -> Grid:
    titles = (
        *("Wind from", "Banks that can be drifted"),
        *(f"Longest drift, {_unit(sheet)}", "Minutes", "Way home"),
    )
    rows = tuple(
        (turn.wind, turn.banks, turn.longest, turn.minutes, turn.home)
        for turn in sheet.turns
    )
    return Grid(titles, rows, wide=(1,))


def _back(sheet: Sheet, rest: Grid) -> dict[str, Any]:
    """Return what the back is made of: drifts, turns and what is left out."""
    columns, turns = columns_mm(rest, WIDTH_MM), _turns(sheet)
    turn_columns = columns_mm(turns, WIDTH_MM)
    room_mm = HEIGHT_MM - back_mm(rest, columns, turns, turn_columns)
    list_columns, kept = listed(sheet.left_out, room_mm)
    more = len(sheet.left_out) - kept
    if more:  # the line that says so takes the room of one
        kept, more = kept - 1, more + 1
    return {
        "back_rows": rest.rows,
        "back_columns": columns,
        "turns": turns,
        "turn_columns": turn_columns,
        "left_out": sheet.left_out[:kept],
        "list_columns": list_columns,
        "more": more,
    }


def _map(
    sheet: Sheet, name: str, width_px: float, height_px: float | None, step: int
) -> Markup:
    """Return the map at a size, with every so many of its numbers."""
    return Markup(
        map_svg(
            _numbered(sheet.map, step),
            width_px=round(width_px),
            height_px=height_px and round(height_px),
            name=f"{name}-map",
            around=sheet.around,
            wind_to_deg=sheet.wind_to_deg,
            noted=False,  # the table has all, on the same side
        )
    )


def _step(page: Page, width_px: float, height_px: float) -> int:
    """Return how many drifts one number stands for, so that a map keeps room."""
    most = max(int(width_px * height_px / NUMBER_PX2), 3)
    numbers = (len(own.features) for own in page.layers if own.labels == "numbers")
    last = max(numbers, default=1) - 1
    return next((step for step in (1, 2, 5, 10) if last / step + 2 <= most), 20)


def _numbered(page: Page, step: int) -> Page:
    """Return a map on which the first, every so many, and the last are numbered."""
    layers = tuple(
        replace(layer, features=tuple(_kept(layer.features, step)))
        if layer.labels == "numbers"
        else layer
        for layer in page.layers
    )
    return replace(page, layers=layers)


def _kept(features: Sequence[Feature], step: int) -> Iterator[Feature]:
    last = len(features) - 1
    for at, feature in enumerate(features):
        kept = at in (0, last) or ((at + 1) % step == 0 and last - at >= step / 2)
        yield feature if kept else replace(feature, label="")


def _meaning(layer: Layer) -> str:
    return f"{layer.title}, {layer.note}" if layer.note else layer.title


def _words(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Yield what stands below the map, each with its title."""
    if sheet.cautions:
        yield "Take care", " ".join(sheet.cautions)
    if sheet.fish:
        yield "Fish", _sentence("; ".join(sheet.fish))
    closed = "; ".join(sheet.closed) or "nothing told, ask the venue"
    yield "Out of bounds", _sentence(closed)
    if sheet.sun:
        yield "Sun", _sentence("; ".join(sheet.sun))
    yield "Always", GENERAL


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _ring(sheet: Sheet) -> str:
    return f"In need ring {sheet.ring}" if sheet.ring else ""


def _grid(sheet: Sheet) -> Grid:
    unit = _unit(sheet)
    ends = tuple(f"{end}: bank, {unit} out" for end in ("Start", "Finish"))
    deep = any(row.depth for row in sheet.drifts)
    titles = ("No", "Begin", *ends, "Bearing", unit.title())
    rows = tuple(
        (
            *(row.number, row.begins, row.start, row.finish, row.bearing, row.length),
            *((row.depth or "-",) if deep else ()),
            *(row.drogue_in, row.drogue_out),
        )
        for row in sheet.drifts
    )
    depth = ("Depth",) if deep else ()
    return Grid((*titles, *depth, "in", "out"), rows, _WIDE, head_lines=3)


def _unit(sheet: Sheet) -> str:
    return "yards" if sheet.map.units == "imperial" else "metres"


def _room_mm(sheet: Sheet) -> float:
    """Return the height of the front that is left for map, table and words."""
    head = head_mm(
        sheet.stay_ashore,
        sheet.pair,
        (sheet.day_text, f"{sheet.water}, {sheet.sector}"),
        [
            (f"Wind {sheet.wind}", sheet.hours),
            (sheet.home, _ring(sheet)),
            (sheet.possible,),
        ],
    )
    return HEIGHT_MM - head - pencil_mm(sheet.pencil_rows) - 2 * GAP_MM
