"""How large a map is drawn, and where its scale stands: fitting shapes into a frame."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Floats
from sweptwater.paper.furniture import LONGEST_BAR_PX, Bar, scale_bar, scale_box
from sweptwater.paper.layers import Layer, Page
from sweptwater.paper.plane import Box, Plane, Shapes, on_plane
from sweptwater.units import System

PADDING_PX = 16.0
"""Between the shapes and the frame."""

FLATTEST = 0.4
"""A map's frame is so many times as high as wide at least."""

LEAST = 2e-6
"""A map is at least so many radians of the equator, 13 m, across."""

NEAR = 0.2
"""Points and lines further from all areas than this share of their extent are not
what the map is about, and may lie outside its frame."""

MOST_COVERED = 0.04
"""Where scale and north would cover more than this share of their box in shapes, they
stand below them."""

LARGE_PX, SMALLEST = 600.0, 0.78
"""A map that is narrower has smaller letters and symbols, by so much at most."""

FINEST = 1e-4
"""Lines are thinned to this share of the extent before anything else."""


@dataclass(frozen=True, slots=True)
class Chart:
    """What is to be drawn, on the projection.

    Parameters
    ----------
    layers
        Those that have shapes, without features that have none.
    shapes
        Of the layers' features, one array a layer, on the projection.
    extent
        What the frame has to hold.
    ground
        The lowest layer of areas, thinned: what furniture had better not cover.
    points
        Of all symbols, in two columns.
    """

    layers: tuple[Layer, ...]
    shapes: tuple[Shapes, ...]
    extent: Box
    ground: BaseGeometry
    points: Floats
    units: System


@dataclass(frozen=True, slots=True)
class Sheet:
    """A chart on a frame of a certain size, in pixels, and the boxes of its furniture.

    `scale` is that of the scale bar, `others` are those of what else stands there.
    """

    chart: Chart
    frame: Box
    plane: Plane
    bar: Bar
    scale: Box
    others: tuple[Box, ...] = ()

    @property
    def magnified(self) -> float:
        """The size of letters and symbols, by those of a large map."""
        return min(max(self.frame.width / LARGE_PX, SMALLEST), 1.0)

    def covered(self, box: Box) -> float:
        """Return the share of a box that water lies under, or 1 if a symbol does."""
        corner, scale = (self.plane.x0, self.plane.y0), self.plane.scale
        low = (np.array(box[:2]) - corner) / scale
        high = (np.array(box[2:]) - corner) / scale
        points = self.chart.points
        if ((points >= low) & (points <= high)).all(axis=1).any():
            return 1.0
        x, y = np.meshgrid(*np.linspace(low, high, 12).T)
        return float(shapely.contains_xy(self.chart.ground, x, y).mean())

    def clear_box(self, width: float, height: float) -> Box:
        """Return where along the frame's edges, off the furniture, least is covered."""
        taken = shapely.union_all([shapely.box(*b) for b in (self.scale, *self.others)])
        boxes = _edge_boxes(self.frame, width, height)
        free = [box for box in boxes if not shapely.box(*box).intersects(taken)]
        return min(free or boxes, key=self.covered)


def shown_keys(page: Page, view: str | None = None) -> set[str]:
    """Return the keys of the layers that a page shows in a view; else when it opens."""
    if view is None:
        view = page.views[0].key if page.views else ""
    return {
        layer.key for layer in page.layers if layer.shown and layer.view in ("", view)
    }


def chart_of(
    page: Page,
    keys: Collection[str] | None = None,
    around: BaseGeometry | None = None,
) -> Chart | None:
    """Return what a page's map shows, or None if that has no shapes.

    Parameters
    ----------
    keys
        Of the layers; those that the page shows when it opens, if not given.
    around
        A shape in degrees: what the map has to show; else it shows all areas.
    """
    chosen = shown_keys(page) if keys is None else keys
    layers = tuple(
        replace(layer, features=features)
        for layer in page.layers
        if layer.key in chosen
        and (features := tuple(f for f in layer.features if not f.shape.is_empty))
    )
    if not layers:
        return None
    shapes = tuple(
        on_plane(np.array([feature.shape for feature in layer.features]))
        for layer in layers
    )
    extent = (
        _extent(np.concatenate(shapes))
        if around is None or around.is_empty
        else _extent(on_plane(np.array([shapely.envelope(around)])))
    )
    finest = FINEST * max(extent.width, extent.height)
    return Chart(
        layers,
        tuple(_thinned_lines(own, finest) for own in shapes),
        extent,
        _ground(shapes, 10 * finest),
        np.vstack([shapely.get_coordinates(own[_dimension(own, 0)]) for own in shapes]),
        page.units,
    )


def _thinned_lines(shapes: Shapes, tolerance: float) -> Shapes:
    lines = _dimension(shapes, 1)
    thinned = shapes.copy()
    thinned[lines] = shapely.simplify(shapes[lines], tolerance, preserve_topology=False)
    return thinned


def _ground(shapes: tuple[Shapes, ...], tolerance: float) -> BaseGeometry:
    """Return the areas of the first layer that has any, thinned and prepared."""
    areal = (own[at] for own in shapes if (at := _dimension(own, 2)).any())
    areas = next(areal, np.empty(0, dtype=object))
    thinned = shapely.simplify(shapely.get_parts(areas), tolerance)
    ground = shapely.multipolygons(thinned[shapely.get_type_id(thinned) == 3])
    shapely.prepare(ground)
    return ground


def _dimension(shapes: Shapes, dimension: int) -> Shapes:
    return np.asarray(shapely.get_dimensions(shapes) == dimension)


def room_for(chart: Chart, most: Box) -> tuple[Box, float]:
    """Return the frame that a chart takes of a room, and the scale that it has there.

    The frame is as wide as the room, and as high as the chart needs.
    """
    frame = _framed(chart.extent, most, strip=0)
    sheet = _fitted(chart, frame, strip=0)
    if sheet.covered(sheet.scale) > MOST_COVERED:
        frame = _framed(chart.extent, most, strip=_strip(sheet))
    return frame, sheet_of(chart, frame).plane.scale


def sheet_of(chart: Chart, frame: Box) -> Sheet:
    """Return a chart on a frame; below its shapes is room for the scale if it needs."""
    sheet = _fitted(chart, frame, strip=0)
    if sheet.covered(sheet.scale) > MOST_COVERED:
        return _fitted(chart, frame, strip=_strip(sheet))
    return sheet


def layers_seen(
    chart: Chart | None, legend: Sequence[Layer], width_px: float, height_px: float
) -> list[Layer]:
    """Return the layers of a legend that a map so large shows."""
    if chart is None:
        return []
    keys = _framed_keys(chart, Box(0, 0, width_px, height_px))
    return [layer for layer in legend if layer.key in keys]


def _framed_keys(chart: Chart, most: Box) -> set[str]:
    """Return the keys of the layers that have something in the frame within a room."""
    frame, _ = room_for(chart, most)
    plane, inside = sheet_of(chart, frame).plane, shapely.box(*frame)
    return {
        layer.key
        for layer, shapes in zip(chart.layers, chart.shapes, strict=True)
        if shapely.intersects(plane.pixels(shapes), inside).any()
    }


def _extent(shapes: Shapes) -> Box:
    """Return the bounds of the areas, and of what lies near them."""
    bounds = shapely.bounds(shapes)
    areal = shapely.get_dimensions(shapes) == 2
    low, high = _outer(bounds[areal] if areal.any() else bounds)
    slack = NEAR * max(*(high - low), LEAST)
    near = (bounds[:, :2] >= low - slack).all(1) & (bounds[:, 2:] <= high + slack).all(
        1
    )
    low, high = _outer(np.vstack([bounds[near], [[*low, *high]]]))
    middle, half = (low + high) / 2, np.maximum(high - low, LEAST) / 2
    return Box(*(middle - half).tolist(), *(middle + half).tolist())


def _outer(bounds: Shapes) -> tuple[Shapes, Shapes]:
    return bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)


def _framed(extent: Box, most: Box, *, strip: float) -> Box:
    """Return the part of a room that an extent needs, with a strip below it."""
    wide = most.width - 2 * PADDING_PX
    needed = wide * extent.height / extent.width + 2 * PADDING_PX
    height = min(max(needed, FLATTEST * most.width) + strip, most.height)
    return most._replace(bottom=most.top + round(height, 1))


def _strip(sheet: Sheet) -> float:
    """Return how high a strip the scale needs below the shapes."""
    return sheet.scale.height + 4


def _fitted(chart: Chart, frame: Box, *, strip: float) -> Sheet:
    room = frame.padded(-PADDING_PX)
    room = room._replace(bottom=room.bottom - strip)
    plane = Plane.fitted(chart.extent, room)
    x, y = room.middle
    longest = min(LONGEST_BAR_PX, frame.width / 4)
    m_per_px = plane.metres(x, y, across_px=longest) / longest
    bar = scale_bar(m_per_px, chart.units, longest_px=longest)
    sheet = Sheet(chart, frame, plane, bar, frame)
    corners = _edge_boxes(frame, *scale_box(bar))[:4]
    return replace(sheet, scale=min(corners, key=sheet.covered))


def _edge_boxes(frame: Box, width: float, height: float) -> list[Box]:
    """Return boxes along the edges of a frame: corners first, and the lower ones."""
    inner = frame.padded(-6)
    across, down = inner.width - width, inner.height - height
    parts: list[tuple[float, float]] = [
        (0, 1),
        (1, 1),
        (0, 0),
        (1, 0),
        (0.5, 1),
        (0.5, 0),
    ]
    parts += [(side, part) for part in (0.75, 0.5, 0.25) for side in (0, 1)]
    corners = [(inner.left + x * across, inner.top + y * down) for x, y in parts]
    return [Box(x, y, x + width, y + height) for x, y in corners]
