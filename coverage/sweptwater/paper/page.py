"""Pages with a map, a legend and tables, each one HTML file that needs no network."""

import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import folium
import shapely
from folium.utilities import JsCode
from markupsafe import Markup
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from sweptwater.paper.chart import looks_of
from sweptwater.paper.drawing import map_svg, shown_keys
from sweptwater.paper.furniture import layer_swatch
from sweptwater.paper.layers import Feature, Layer, Page, label_points, thinned
from sweptwater.paper.looks import leaflet_style, svg_definitions
from sweptwater.paper.offline import MapParts, OfflineMap
from sweptwater.paper.templating import source, template

FINEST_DEG, COARSEST_DEG = 2e-6, 2e-4
"""Between these, 0.2 and 20 m, a page's shapes are simplified to keep it small."""

DRAWING_PX = 760, 680
"""The static drawing is at most so wide and high; on A4 it is a little less."""

MOST_BYTES = 1_800_000
"""Above this size of the page, shapes are simplified further."""

MOST_ROUNDS = 4
"""How often a page is written until its size fits."""

MOST_PLACES = 8
"""How many places within a sector its name may try."""


@dataclass(frozen=True, slots=True)
class _Chart:
    """The map for the template.

    `objects` are the JavaScript variables of the layers, `words` what page.js needs
    to know of each layer, `bounds` the corners of all shapes (lat, lon), `tall` the
    height by the width on the map.
    """

    parts: MapParts
    objects: tuple[str, ...]
    words: tuple[dict[str, Any], ...]
    bounds: tuple[tuple[float, float], tuple[float, float]]
    tall: float


def render_page(page: Page) -> str:
    """Return a page as one HTML file that needs nothing else.

    The same page is always the same text. Its map is there twice: as a static drawing,
    for print and until the scripts run, and as one that zooms. Shapes are simplified
    for drawing, and more so the more there are; every text is escaped.

    Parameters
    ----------
    page
        Its layers in degrees (WGS 84, longitude first), bottom layer first. One
        without shapes is neither in the legend nor among the switches, and a page
        without shapes has no map.

    Raises
    ------
    PageError
        If the page would load something from elsewhere.
    """
    layers, tolerance_deg = _thinned(page.layers, FINEST_DEG), FINEST_DEG
    width_px, height_px = DRAWING_PX
    drawing = Markup(map_svg(page, width_px=width_px, height_px=height_px))
    for _ in range(MOST_ROUNDS):
        html = _html(page, layers, drawing)
        excess = len(html.encode()) - MOST_BYTES
        if excess <= 0 or tolerance_deg >= COARSEST_DEG:
            break
        layers, tolerance_deg = _smaller(layers, tolerance_deg, by=excess)
    return html


def _html(page: Page, layers: Sequence[Layer], drawing: Markup) -> str:
    html = template("page.html").render(
        page=page,
        chart=_chart(layers) if layers else None,
        drawing=drawing,
        drawn=shown_keys(page),
        legend=[layer for layer in layers if layer.in_legend],
        swatch=layer_swatch,
        definitions=svg_definitions(looks_of(layers)),
        linked=_linked(layers),
        views=page.views if len(page.views) > 1 else (),
        css=source("page.css"),
        js=source("page.js"),
        picture_js=source("picture.js"),
        afloat_js=source("afloat.js") if page.afloat else "",
    )
    return html.encode("utf-8", "replace").decode("utf-8")  # lone surrogates


def _linked(layers: Sequence[Layer]) -> set[str]:
    """Return the keys of rows that something on the map goes with."""
    keys = {feature.key for layer in layers for feature in layer.features} - {""}
    wholes = {
        key[: end + 1]
        for key in keys
        for end, letter in enumerate(key)
        if letter == "/"
    }
    return keys | wholes


def _smaller(
    layers: Sequence[Layer], tolerance_deg: float, *, by: int
) -> tuple[tuple[Layer, ...], float]:
    """Return layers thinned until their shapes take so many bytes fewer, or coarsest.

    Each round thins what the one before left, with twice the tolerance: together they
    move no outline by more than twice what the last one alone may.
    """
    most_bytes = _shape_bytes(layers) - by
    while _shape_bytes(layers) > most_bytes and tolerance_deg < COARSEST_DEG:
        tolerance_deg *= 2
        layers = _thinned(layers, tolerance_deg)
    return tuple(layers), tolerance_deg


def _shape_bytes(layers: Sequence[Layer]) -> int:
    shapes = [feature.shape for layer in layers for feature in layer.features]
    return sum(map(len, shapely.to_geojson(shapes)))


def _thinned(layers: Sequence[Layer], tolerance_deg: float) -> tuple[Layer, ...]:
    """Return the layers that have shapes, thinned."""
    drawn = (
        replace(
            layer,
            features=tuple(
                replace(feature, shape=_without_specks(feature.shape, tolerance_deg))
                for feature in layer.features
                if not feature.shape.is_empty
            ),
        )
        for layer in layers
    )
    return tuple(layer for layer in drawn if layer.features)


def _without_specks(shape: BaseGeometry, tolerance_deg: float) -> BaseGeometry:
    """Return a shape thinned, without parts that are smaller than the tolerance.

    A part goes if it is smaller than a square of the tolerance, but never the largest.
    """
    if isinstance(shape, MultiPolygon):
        parts = shapely.get_parts(shape)
        areas = shapely.area(parts)
        least = min(tolerance_deg**2, areas.max())
        shape = MultiPolygon(list(parts[areas >= least]))
    return thinned(shape, tolerance_deg)


def _chart(layers: Sequence[Layer]) -> _Chart:
    map_ = OfflineMap(
        zoom_snap=0.25,
        max_zoom=20,
        zoom_control=False,  # page.js puts it together with north
        attribution_control=False,  # it would link to elsewhere
        scroll_wheel_zoom=False,  # page.js allows it once the map has the focus
    )
    drawn = [_geojson(layer).add_to(map_) for layer in layers]
    folium.LayerControl().add_to(map_)
    shapes = [feature.shape for layer in layers for feature in layer.features]
    west, south, east, north = (float(edge) for edge in shapely.total_bounds(shapes))
    across = math.radians(east - west)
    up = _mercator(north) - _mercator(south)
    return _Chart(
        parts=map_.parts(),
        objects=tuple(layer.get_name() for layer in drawn),
        words=tuple(_layer_words(layer) for layer in layers),
        bounds=((south, west), (north, east)),
        tall=round(min(max(up / across if across else 1, 0.4), 2), 3),
    )


def _geojson(layer: Layer) -> folium.GeoJson:
    """Return a layer without any of its words, which folium would read as templates."""
    told = any(feature.tip or feature.key for feature in layer.features)
    return folium.GeoJson(
        {
            "type": "FeatureCollection",
            "features": [
                _geojson_feature(number, feature)
                for number, feature in enumerate(layer.features)
            ],
        },
        name=_entities(layer.title),
        show=layer.shown,
        smooth_factor=0.6,
        style=JsCode(json.dumps(leaflet_style(layer.look))),
        interactive=told,
        point_to_layer=JsCode("paper.point"),
    )


def _geojson_feature(number: int, feature: Feature) -> dict[str, Any]:
    style = {"style": leaflet_style(feature.look)} if feature.look else {}
    return {
        "type": "Feature",
        "id": number,
        "properties": style,
        "geometry": shapely.geometry.mapping(feature.shape),
    }


def _entities(text: str) -> str:
    """Return text as HTML in which nothing can be markup, a link or a template."""
    return re.sub(r"[^\w ]", lambda match: f"&#{ord(match[0])};", text)


def _layer_words(layer: Layer) -> dict[str, Any]:
    return {
        "key": layer.key,
        "labels": layer.labels,
        "view": layer.view,
        "features": [_feature_words(feature, layer) for feature in layer.features],
    }


def _feature_words(feature: Feature, layer: Layer) -> dict[str, Any]:
    """Return what page.js needs to know of a feature, without what is empty."""
    label = feature.label if layer.labels != "none" else ""
    places = MOST_PLACES if label and layer.labels == "names" else 1
    placed = label or (feature.key and shapely.get_dimensions(feature.shape) == 2)
    words = {
        "key": feature.key,
        "tip": feature.tip,
        "label": label,
        "at": label_points(feature.shape, places) if placed else (),
    }
    return {name: word for name, word in words.items() if word}


def _mercator(lat: float) -> float:
    """Return the northing of a latitude on the map's projection, in earth radii."""
    return math.asinh(math.tan(math.radians(lat)))
