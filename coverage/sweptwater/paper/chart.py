"""The map of a drawing: shapes, labels, scale and north within a frame."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import median
from typing import TypeAlias

import shapely
from markupsafe import Markup
from shapely.geometry.base import BaseGeometry

from sweptwater.paper.framing import Chart, Sheet, sheet_of
from sweptwater.paper.furniture import WIND_PX, scale_svg, wind_svg
from sweptwater.paper.layers import Layer
from sweptwater.paper.lettered import lettered
from sweptwater.paper.lettering import clean
from sweptwater.paper.looks import LAND, OUT_OF_BOUNDS, Look, symbol_path
from sweptwater.paper.plane import (
    THINNED_PX,
    Box,
    Shapes,
    area_path,
    line_paths,
)
from sweptwater.paper.spots import SIZES, Kind, Thing, symbol_box
from sweptwater.water.shapes import valid

FRAME_COLOUR = "#8a9299"

BOLD_PX = 1.5
"""Names keep off lines of at least this width."""

FEW, LONG_PX, TIP_PX = 3, 45.0, 4.0
"""More lines than so few, most of them shorter, have only small arrowheads..."""

ENDS_PX2, MOST_ENDS = 80.0, 0.03
"""... and so have those whose ends would take more than this share of their room."""

MOST_BYTES, LARGE_BYTES, COARSEST_PX = 210_000, 16_000, 1.3
"""Where shapes take more, those of large layers are thinned further, but not beyond."""

_Pairs: TypeAlias = Sequence[tuple[Layer, Shapes]]
"""Layers with the shapes of their features, in pixels."""


def chart_svg(
    chart: Chart,
    width: float,
    height: float,
    *,
    name: str,
    wind_to_deg: float | None = None,
    noted: bool = True,
) -> Markup:
    """Return a chart in a frame with its upper left corner at 0, 0.

    Parameters
    ----------
    width, height
        As `room_for` gave them.
    name
        Begins the ids.
    wind_to_deg
        Where the wind blows to, if an arrow is to say so.
    noted
        Whether a note tells how many labels found no room.
    """
    sheet, wind = sheet_of(chart, Box(0, 0, width, height)), Markup()
    if wind_to_deg is not None:
        sheet = replace(
            sheet,
            others=(sheet.clear_box(*(sheet.magnified * side for side in WIND_PX)),),
        )
        wind = wind_svg(wind_to_deg, sheet.others[0])
    pairs = [
        (layer, sheet.plane.pixels(shapes))
        for layer, shapes in zip(chart.layers, chart.shapes, strict=True)
    ]
    return Markup(
        '<clipPath id="{name}-frame"><rect width="{w:g}" height="{h:g}"/></clipPath>'
        '<g clip-path="url(#{name}-frame)"><rect width="{w:g}" height="{h:g}" '
        'class="drawing-land" fill="{land}"/><g stroke-linejoin="round" '
        'stroke-linecap="round" fill-rule="evenodd">{drawn}</g>{scale}{wind}'
        '<g class="drawing-labels">{labels}</g></g>'
        '<rect x=".5" y=".5" width="{w1:g}" height="{h1:g}" fill="none" '
        'stroke="{line}"/>'
    ).format(
        name=name,
        w=width,
        h=height,
        w1=width - 1,
        h1=height - 1,
        land=LAND,
        drawn=_shapes_svg(pairs, sheet.magnified),
        labels=_labels(sheet, pairs, name=name, noted=noted),
        scale=scale_svg(sheet.bar, sheet.scale),
        wind=wind,
        line=FRAME_COLOUR,
    )


def looks_of(layers: Iterable[Layer]) -> list[Look]:
    """Return the looks of layers and of their features."""
    return [
        look
        for layer in layers
        for look in (layer.look, *(feature.look for feature in layer.features))
        if look is not None
    ]


def _scaled(look: Look, by: float) -> Look:
    return replace(
        look, radius=round(look.radius * by, 1), weight=round(look.weight * by, 2)
    )


def _shapes_svg(pairs: _Pairs, magnified: float) -> Markup:
    """Return the shapes of layers, and thin the large layers until all are small."""
    tolerance = THINNED_PX
    drawn = [_layer_svg(*pair, magnified, tolerance) for pair in pairs]
    large = [index for index, svg in enumerate(drawn) if len(svg) > LARGE_BYTES]
    while (total := sum(map(len, drawn))) > MOST_BYTES and tolerance < COARSEST_PX:
        # Bytes fall a little faster than the root of the tolerance grows.
        excess = max(total / MOST_BYTES, 1.1)
        tolerance = min(tolerance * excess**1.6, COARSEST_PX)
        for index in large:
            drawn[index] = _layer_svg(*pairs[index], magnified, tolerance)
    return Markup("").join(drawn)


def _layer_svg(
    layer: Layer, shapes: Shapes, magnified: float, tolerance: float
) -> Markup:
    """Return a layer's shapes; those of one look are grouped as they follow."""
    looks = [feature.look or layer.look for feature in layer.features]
    starts = [0, *(i for i in range(1, len(looks)) if looks[i] != looks[i - 1])]
    return Markup("").join(
        _group_svg(_scaled(looks[start], magnified), shapes[start:end], tolerance)
        for start, end in pairwise([*starts, len(looks)])
    )


def _group_svg(look: Look, shapes: Shapes, tolerance: float) -> Markup:
    if not (look.stroke or look.filled):
        return Markup()
    dimensions = shapely.get_dimensions(shapes)
    areas = [
        path
        for shape in shapes[dimensions == 2]
        if (path := area_path(shape, tolerance))
    ]
    lines = line_paths(shapes[dimensions == 1], tolerance)
    points = shapely.get_coordinates(shapes[dimensions == 0]).tolist()
    symbols = [
        symbol_path(look.symbol, x=round(x, 1), y=round(y, 1), radius=look.radius)
        for x, y in points
    ]
    svg = _paths(look, [*areas, *symbols])
    if not lines:
        return svg
    line = replace(look, fill="", pattern="plain")
    if not look.arrow:
        return svg + _paths(line, ["".join(paths for paths, _ in lines)])
    return svg + _drifts_svg(line, lines, shapely.total_bounds(shapes).tolist())


def _paths(look: Look, paths: Sequence[str], ends: str = "") -> Markup:
    if not paths:
        return Markup()
    style = Markup(' fill="{}"').format(look.paint if look.filled else "none")
    if look.filled and look.fill_opacity != 1:
        style += Markup(' fill-opacity="{:g}"').format(look.fill_opacity)
    if look.stroke:
        style += Markup(' stroke="{}" stroke-width="{:g}"').format(
            look.stroke, look.weight
        )
    if look.dash:
        style += Markup(' stroke-dasharray="{}"').format(look.dash)
    drawn = Markup("").join(Markup('<path d="{}"/>').format(path) for path in paths)
    return Markup("<g{}{}>{}</g>").format(style, ends, drawn)


def _drifts_svg(
    look: Look, lines: Sequence[tuple[str, float]], bounds: Sequence[float]
) -> Markup:
    """Return lines with their ends, and with less of those the less room there is.

    Where most are short, or they are many within their bounds, small arrowheads are
    all, and the shortest have none.
    """
    around = Box(*bounds)
    crowded = len(lines) * ENDS_PX2 > MOST_ENDS * around.width * around.height
    lengths = [length for _, length in lines]
    small = len(lines) > FEW and (crowded or median(lengths) < LONG_PX)
    least = 2 * TIP_PX if small else 0
    marked = [path for path, length in lines if length >= least]
    bare = "".join(path for path, length in lines if length < least)
    ends = Markup(
        ' marker-end="url(#tip-{0})"'
        if small
        else ' marker-start="url(#dot-{0})" marker-end="url(#arrow-{0})"'
    ).format(look.stroke[1:])
    return _paths(look, [bare] if bare else []) + _paths(look, marked, ends)


def _labels(sheet: Sheet, pairs: _Pairs, *, name: str, noted: bool) -> Markup:
    drawn = [
        (_scaled(feature.look or layer.look, sheet.magnified), shape)
        for layer, shapes in pairs
        for feature, shape in zip(layer.features, shapes, strict=True)
    ]
    return lettered(
        list(_things(sheet, pairs)),
        frame=sheet.frame,
        obstacles=[sheet.scale, *sheet.others, *_symbols(drawn)],
        edges=list(_edges(drawn)),
        shunned=[
            shape
            for layer, shapes in pairs
            if layer.look == OUT_OF_BOUNDS
            for shape in shapes
        ],
        clear=sheet.clear_box if noted else None,
        name=name,
    )


def _things(sheet: Sheet, pairs: _Pairs) -> Iterator[Thing]:
    """Yield what is to have a label and lies in the frame, thinned."""
    frame = shapely.box(*sheet.frame)
    for layer, shapes in pairs:
        if layer.labels == "none":
            continue
        for feature, shape in zip(layer.features, shapes, strict=True):
            if feature.label.strip() and shape.intersects(frame):
                thin = shapely.simplify(_seen(shape, frame), THINNED_PX)
                kind = _kind(layer, thin)
                look = _scaled(feature.look or layer.look, sheet.magnified)
                sizes = tuple(round(s * sheet.magnified, 1) for s in SIZES[kind])
                text = clean(feature.label)
                yield Thing(thin, text, kind, look, sizes, feature.link)


def _seen(shape: BaseGeometry, frame: BaseGeometry) -> BaseGeometry:
    """Return the part of a shape that lies in the frame, where its label belongs."""
    return shape if frame.covers(shape) else valid(shape) & frame


def _kind(layer: Layer, shape: BaseGeometry) -> Kind:
    if layer.labels == "numbers":
        return "number"
    return "name" if shapely.get_dimensions(shape) == 2 else "place"


def _symbols(drawn: Iterable[tuple[Look, BaseGeometry]]) -> Iterator[Box]:
    for look, shape in drawn:
        if shapely.get_dimensions(shape) == 0:
            for x, y in shapely.get_coordinates(shape).tolist():
                yield symbol_box(x, y, look)


def _edges(drawn: Iterable[tuple[Look, BaseGeometry]]) -> Iterator[BaseGeometry]:
    for look, shape in drawn:
        if shapely.get_dimensions(shape) == 1 and look.weight >= BOLD_PX:
            yield shapely.simplify(shape, 1, preserve_topology=False)
