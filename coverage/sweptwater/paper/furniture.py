"""What stands around the shapes of a map: scale, north, legend, title and date."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from markupsafe import Markup

from sweptwater.paper.layers import Layer, Page
from sweptwater.paper.lettering import text_svg, text_width, wrapped
from sweptwater.paper.looks import INK, WATER, swatch
from sweptwater.paper.plane import Box
from sweptwater.units import MILE_M, YARD_M, System

MUTED, CALL_TEXT = "#4c5b66", "#a84300"
PAPER = "#ffffff"

LONGEST_BAR_PX = 130.0
BAR_HEIGHT, NORTH_WIDTH = 46.0, 30.0
WIND_PX = 46.0, 60.0
"""Width and height of the box of the wind's arrow."""

SWATCH_PX = 44.0
"""From a swatch to its words."""

LEGEND_PX, NOTE_PX = 12.5, 11.5
COLUMN_PX = 180.0
"""A legend has as many columns as are at least so wide."""


@dataclass(frozen=True, slots=True)
class Block:
    """Something drawn with its upper left corner at 0, 0, and its height in pixels."""

    svg: Markup
    height: float


@dataclass(frozen=True, slots=True)
class Bar:
    """A scale bar: what it says, how long that is, and on the drawing."""

    text: str
    length_m: float
    length_px: float


def scale_bar(m_per_px: float, system: System, *, longest_px: float) -> Bar:
    """Return the longest scale bar in a round number that fits.

    Yards up to a mile, then miles; or metres up to a kilometre, then kilometres. A
    number is round if it is 1, 2 or 5 times a power of ten.

    Examples
    --------
    >>> scale_bar(10, "imperial", longest_px=130)
    Bar(text='1,000 yards', length_m=914.4, length_px=91.44)
    >>> scale_bar(20, "metric", longest_px=130).text
    '2 km'
    """
    small, far = (
        ((YARD_M, "yard", "yards"), (MILE_M, "mile", "miles"))
        if system == "imperial"
        else ((1.0, "m", "m"), (1000.0, "km", "km"))
    )
    longest_m = longest_px * m_per_px
    unit_m, one, many = far if longest_m >= far[0] else small
    number = _round_below(longest_m / unit_m)
    text = f"{number:,.10g} {one if number == 1 else many}"
    return Bar(text, number * unit_m, number * unit_m / m_per_px)


def scale_box(bar: Bar) -> tuple[float, float]:
    """Return the width and height of the scale bar with north beside it."""
    words = text_width(bar.text, LEGEND_PX)
    return NORTH_WIDTH + 12 + max(words, bar.length_px + 2), BAR_HEIGHT


def scale_svg(bar: Bar, box: Box) -> Markup:
    """Return the scale bar, north beside it, on a light ground in its box."""
    left, base = box.left + NORTH_WIDTH + 5, box.bottom - 8
    half = bar.length_px / 2
    return (
        Markup(
            '<rect x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}" rx="3" '
            'fill="#fff" fill-opacity=".88"/>'
        ).format(box.left, box.top, box.width, box.height)
        + _north_svg(box.left + NORTH_WIDTH / 2 + 2, box.top + 4)
        + text_svg(bar.text, left, base - 12, size=LEGEND_PX, fill=INK, bold=True)
        + Markup(
            '<g class="drawing-scale"><rect x="{x:.1f}" y="{y:.1f}" width="{all:.2f}" '
            'height="6" fill="#fff" stroke="{ink}" stroke-width="1.4"/>'
            '<rect x="{x:.1f}" y="{y:.1f}" width="{half:.2f}" height="6" '
            'fill="{ink}"/></g>'
        ).format(x=left, y=base - 6, all=bar.length_px, half=half, ink=INK)
    )


def wind_svg(to_deg: float, box: Box) -> Markup:
    """Return an arrow that points where the wind blows to, in a box like `WIND_PX`."""
    size = box.width / WIND_PX[0]
    ground = Markup(
        '<rect width="{:g}" height="{:g}" rx="3" fill="#fff" fill-opacity=".88"/>'
    ).format(*WIND_PX)
    arrow = Markup(
        '<path class="drawing-wind" transform="translate({:g} {:g}) rotate({:g})" '
        'd="M0 -19L11 1H4.5V19H-4.5V1H-11z" fill="{}"/>'
    ).format(WIND_PX[0] / 2, WIND_PX[1] / 2 - 7, round(to_deg, 1), INK)
    word = text_svg(
        "wind",
        WIND_PX[0] / 2,
        WIND_PX[1] - 4,
        size=12.5,
        fill=INK,
        bold=True,
        anchor="middle",
    )
    return Markup(
        '<g transform="translate({:.1f} {:.1f}) scale({:.2f})">{}</g>'
    ).format(box.left, box.top, size, ground + arrow + word)


def heading(page: Page, width: float) -> Block:
    """Return title, date line, what is missing and big figures, so many pixels wide."""
    y, parts = 0.0, []
    title_px = 24.0 if width >= 560 else 19.0
    for line in wrapped(page.title, title_px, most=width, bold=True):
        y += title_px * 1.15
        parts.append(
            text_svg(line, 0, y, size=title_px, fill=INK, bold=True, serif=True)
        )
    y += 4
    for line in wrapped(page.date_line, 12.5, most=width):
        y += 16.5
        parts.append(text_svg(line, 0, y, size=12.5, fill=MUTED))
    for told in page.missing:
        y += 5
        for line in wrapped(told, 13, most=width, bold=True):
            y += 17
            parts.append(text_svg(line, 0, y, size=13, fill=CALL_TEXT, bold=True))
    if page.facts:
        block = _facts(page.facts, width)
        parts.append(moved(block.svg, 0, y + 12))
        y += 12 + block.height
    return Block(Markup("").join(parts), y + 8)


def legend(layers: Sequence[Layer], width: float) -> Block:
    """Return the swatches of layers with what they mean, in columns."""
    columns = max(1, int((width + 16) // COLUMN_PX))
    wide = (width + 16) / columns - 16
    blocks = [_legend_item(layer, wide) for layer in layers]
    svg, lowest = Markup(), 0.0
    for number, column in enumerate(_balanced(blocks, columns)):
        y = 0.0
        for block in column:
            svg += moved(block.svg, number * (wide + 16), y)
            y += block.height
        lowest = max(lowest, y)
    return Block(svg, lowest)


def _round_below(most: float) -> float:
    ten = 10.0 ** math.floor(math.log10(most))
    # A hair more, so that 0.3 / 0.1 holds three times.
    step = next(step for step in (5, 2, 1) if step * ten <= most * (1 + 1e-9))
    return float(f"{step * ten:.3g}")


def _north_svg(x: float, y: float) -> Markup:
    return Markup(
        '<path d="M{0:.1f} {1:.1f}l8 21-8-5-8 5z" fill="#fff" stroke="{2}" '
        'stroke-width="1.4" stroke-linejoin="round"/>'
        '<path d="M{0:.1f} {1:.1f}v16l-8 5z" fill="{2}"/>'
    ).format(x, y, INK) + text_svg(
        "N", x, y + 35, size=12.5, fill=INK, bold=True, anchor="middle"
    )


def _facts(facts: Sequence[tuple[str, str]], width: float) -> Block:
    columns = max(1, min(len(facts), int(width // 130)))
    wide = (width + 14) / columns - 14
    svg, y = Markup(), 0.0
    for start in range(0, len(facts), columns):
        blocks = [_fact(*fact, wide) for fact in facts[start : start + columns]]
        for number, block in enumerate(blocks):
            svg += moved(block.svg, number * (wide + 14), y)
        y += max(block.height for block in blocks) + 6
    return Block(svg, y - 6)


def _fact(figure: str, caption: str, width: float) -> Block:
    y, svg = 0.0, Markup('<path d="M0 0H{:.1f}" stroke="{}" stroke-width="2"/>')
    svg = svg.format(width, INK)
    for line in wrapped(figure, 18, most=width, bold=True):
        y += 21
        svg += text_svg(line, 0, y, size=18, fill=INK, bold=True, serif=True)
    for line in wrapped(caption, NOTE_PX, most=width):
        y += 14.5
        svg += text_svg(line, 0, y, size=NOTE_PX, fill=MUTED)
    return Block(svg, y + 4)


def _legend_item(layer: Layer, width: float) -> Block:
    y, words = 4.0, Markup()
    for line in wrapped(layer.title, LEGEND_PX, most=width - SWATCH_PX):
        words += text_svg(line, SWATCH_PX, y + 11, size=LEGEND_PX, fill=INK)
        y += 15
    for line in wrapped(layer.note, NOTE_PX, most=width - SWATCH_PX):
        words += text_svg(line, SWATCH_PX, y + 10.5, size=NOTE_PX, fill=MUTED)
        y += 14
    ground = Markup('<rect width="36" height="22" rx="2" fill="{}"/>').format(
        WATER.fill
    )
    return Block(ground + layer_swatch(layer) + words, max(y, 22) + 6)


def layer_swatch(layer: Layer) -> Markup:
    """Return a small drawing of a layer's look, as the area, line or point it is."""
    dimension = max(
        int(shapely.get_dimensions(feature.shape)) for feature in layer.features
    )
    kinds: dict[int, Literal["point", "line"]] = {0: "point", 1: "line"}
    return swatch(layer.look, kinds.get(dimension, "area"))


def _balanced(blocks: Sequence[Block], columns: int) -> Iterator[list[Block]]:
    """Yield the blocks in order, in columns of the least height that holds them."""
    tallest = max((block.height for block in blocks), default=0.0)
    total = sum(block.height for block in blocks)
    height = max(tallest, total / columns)
    while len(split := list(_columns(blocks, height))) > columns:
        height += 4
    yield from split


def _columns(blocks: Sequence[Block], height: float) -> Iterator[list[Block]]:
    column: list[Block] = []
    for block in blocks:
        if column and sum(b.height for b in column) + block.height > height + 0.01:
            yield column
            column = []
        column.append(block)
    if column:
        yield column


def moved(svg: Markup, x: float, y: float) -> Markup:
    """Return what is drawn around 0, 0 around another place."""
    return Markup('<g transform="translate({:.1f} {:.1f})">{}</g>').format(x, y, svg)
