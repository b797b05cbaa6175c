"""A page's layers as a static drawing: one SVG that needs no script and no network.

The other way to draw the same list of layers: for print, for sending as a picture, and
for what a page of HTML shows before its scripts run.
"""

import math
from collections.abc import Collection
from dataclasses import dataclass

from markupsafe import Markup
from shapely.geometry.base import BaseGeometry

from sweptwater.paper.chart import chart_svg, looks_of
from sweptwater.paper.framing import Chart, chart_of, room_for, shown_keys
from sweptwater.paper.furniture import PAPER, Block, heading, legend, moved
from sweptwater.paper.layers import Page
from sweptwater.paper.lettering import SANS, clean
from sweptwater.paper.looks import svg_definitions
from sweptwater.paper.plane import Box

__all__ = ["fitting_size", "map_svg", "render_drawing", "shown_keys"]

SHORT_PX, LONG_PX = 716.0, 1045.0
"""A sheet of A4 less 10 mm on each side, at 96 pixels an inch: 190 by 277 mm."""

MARGIN_PX = 12.0
"""White around all of a drawing."""

TALLEST = 1.5
"""Without a height a map is at most so many times as high as wide."""

LEAST_TALL = 0.45
"""Where heading and legend would leave it less, a map may still be so high."""

PRINTED = Markup("@media print{.drawing-land{fill:#fff}}")
"""Paper is land enough, and ink is dear."""

LEGEND_BESIDE_PX = 190.0
GAP_PX = 14.0


@dataclass(frozen=True, slots=True)
class _Layout:
    """Where the map and the legend stand under the heading."""

    map: Box
    legend: Block
    legend_at: tuple[float, float]
    scale: float

    @property
    def bottom(self) -> float:
        _, top = self.legend_at
        return max(self.map.bottom, top + self.legend.height if self.legend.svg else 0)


def render_drawing(
    page: Page,
    *,
    width_px: float | None = None,
    height_px: float | None = None,
    with_title: bool = True,
    with_legend: bool = True,
    keys: Collection[str] | None = None,
    around: BaseGeometry | None = None,
    wind_to_deg: float | None = None,
) -> str:
    """Return a page's map as one SVG document that needs nothing else.

    The same page is always the same text. Every text is escaped, and what XML cannot
    hold is replaced. Labels find places in which they cover nothing; the map says how
    many found none.

    Parameters
    ----------
    page
        Its layers in degrees (WGS 84, longitude first), bottom layer first.
    width_px, height_px
        Of the drawing, at 96 pixels an inch; it is as wide, and at most as high unless
        that leaves too little for the map. Without a height it is as high as it needs
        to be, and without a width it is a sheet of A4, upright or on its side as suits
        the water.
    with_title
        Whether title, date line and big figures stand above the map.
    with_legend
        Whether what is drawn is explained, below the map or beside it.
    keys
        Of the layers to draw, as `shown_keys` gives them for a view; else those that
        the page shows when it opens.
    around
        What the map has to show, in degrees, where that is less than all areas.
    wind_to_deg
        Where the wind blows to, for an arrow in a corner.

    Examples
    --------
    >>> page = Page(title="Pool & brook", lead="", date_line="", units="metric")
    >>> "Pool &amp; brook</title>" in render_drawing(page)
    True
    """
    chart = chart_of(page, keys, around)
    if width_px is None:
        width, height = _sheet_size(page, chart)
    else:
        width, height = width_px, math.inf
    room = Box(0, 0, width, height_px or height).padded(-MARGIN_PX)
    head = heading(page, room.width) if with_title else Block(Markup(), 0)
    body, bottom = moved(head.svg, *room[:2]), room.top + head.height
    if chart is not None:
        rest = room._replace(top=bottom)
        layout = _laid_out(chart, rest, with_legend=with_legend)
        frame, bottom = layout.map, layout.bottom
        size = (frame.width, frame.height)
        map_ = chart_svg(chart, *size, name="drawing", wind_to_deg=wind_to_deg)
        body += moved(map_, *frame[:2]) + moved(layout.legend.svg, *layout.legend_at)
    return _document(page, body, width, bottom + MARGIN_PX, chart)


def map_svg(
    page: Page,
    *,
    width_px: float,
    height_px: float | None = None,
    keys: Collection[str] | None = None,
    name: str = "drawing",
    around: BaseGeometry | None = None,
    wind_to_deg: float | None = None,
    noted: bool = True,
) -> str:
    """Return the map alone, with scale and north, as an element for a page of HTML.

    The page has to hold `svg_definitions` of the layers' looks once. Where no layer
    has a shape the text is empty.

    Parameters
    ----------
    width_px, height_px
        Of the map; it is as wide, and at most as high.
    keys
        Of the layers to draw; those that the page shows when it opens, if not given.
    name
        Begins the ids of this map, which are to be the only ones of a page.
    around
        What the map has to show, in degrees, where that is less than all areas.
    wind_to_deg
        Where the wind blows to, for an arrow in a corner.
    noted
        Whether the map tells how many labels found no room.
    """
    chart = chart_of(page, keys, around)
    if chart is None:
        return ""
    room = Box(0, 0, width_px, height_px or TALLEST * width_px)
    frame, _ = room_for(chart, room)
    body = chart_svg(
        chart,
        frame.width,
        frame.height,
        name=name,
        wind_to_deg=wind_to_deg,
        noted=noted,
    )
    return _svg(page, body, frame.width, frame.height, name=name)


def fitting_size(
    page: Page, *, keys: Collection[str] | None = None
) -> tuple[float, float]:
    """Return the width and height of a sheet of A4 on which the map is largest.

    In pixels, less margins of 10 mm: 716 by 1045 upright, or on its side.
    """
    return _sheet_size(page, chart_of(page, keys))


def _sheet_size(page: Page, chart: Chart | None) -> tuple[float, float]:
    upright, lying = (SHORT_PX, LONG_PX), (LONG_PX, SHORT_PX)
    if chart is None:
        return upright

    def scale(size: tuple[float, float]) -> float:
        room = Box(0, 0, *size).padded(-MARGIN_PX)
        head = heading(page, room.width)
        rest = room._replace(top=room.top + head.height)
        return _laid_out(chart, rest, with_legend=True).scale

    return max((upright, lying), key=scale)


def _laid_out(chart: Chart, room: Box, *, with_legend: bool) -> _Layout:
    """Return the layout that draws the map largest: legend below it or beside it."""
    layers = [layer for layer in chart.layers if layer.in_legend and with_legend]
    below = legend(layers, room.width)
    taken = below.height + GAP_PX if layers else 0.0
    frame, scale = room_for(chart, _map_room(room, width=room.width, taken=taken))
    layouts = [_Layout(frame, below, (room.left, frame.bottom + GAP_PX), scale)]
    if layers and room.width >= 3 * LEGEND_BESIDE_PX:
        aside = legend(layers, LEGEND_BESIDE_PX)
        width = room.width - LEGEND_BESIDE_PX - GAP_PX
        frame, scale = room_for(chart, _map_room(room, width=width, taken=0))
        layouts.append(_Layout(frame, aside, (frame.right + GAP_PX, frame.top), scale))
    return max(layouts, key=lambda layout: layout.scale)


def _map_room(room: Box, *, width: float, taken: float) -> Box:
    height = min(max(room.height - taken, LEAST_TALL * width), TALLEST * width)
    return Box(room.left, room.top, room.left + width, room.top + height)


def _document(
    page: Page, body: Markup, width: float, height: float, chart: Chart | None
) -> str:
    definitions = svg_definitions(looks_of(chart.layers)) if chart else Markup()
    ground = Markup('<rect width="100%" height="100%" fill="{}"/>').format(PAPER)
    return _svg(
        page,
        Markup("<defs>{}</defs>{}{}").format(definitions, ground, body),
        width,
        height,
        name="drawing",
    )


def _svg(page: Page, body: Markup, width: float, height: float, *, name: str) -> str:
    told = clean(f"{page.lead} {page.date_line}")
    linked = any(feature.link for layer in page.layers for feature in layer.features)
    svg = Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" class="drawing" width="{width:g}" '
        'height="{height:g}" viewBox="0 0 {width:g} {height:g}" role="{role}" '
        'lang="en" xml:lang="en" aria-labelledby="{name}-title {name}-told" '
        'font-family="{family}"><title id="{name}-title">{title}</title>'
        '<desc id="{name}-told">{told}</desc><style>{style}</style>{body}</svg>\n'
    ).format(
        width=round(width, 1),
        height=round(height, 1),
        name=name,
        role="group" if linked else "img",
        family=SANS,
        title=clean(page.title),
        told=told,
        style=PRINTED,
        body=body,
    )
    return str(svg)
