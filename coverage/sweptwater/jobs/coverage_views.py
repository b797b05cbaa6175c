"""How fished water is shown: how often, how lately, by whom, how deep, in which light.

Each is a set of layers of which one is drawn at a time; together they are all of the
swept water, and none of it twice.
"""

from collections.abc import Iterator, Mapping, Sequence

import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.jobs.boat_tables import pair_key
from sweptwater.jobs.covered import Sight
from sweptwater.jobs.map_layers import feature
from sweptwater.jobs.wording import day_text
from sweptwater.offers.stints import NOT_TOLD
from sweptwater.paper import looks
from sweptwater.paper.layers import Layer, View
from sweptwater.paper.looks import Look
from sweptwater.swept.totals import alone, first_come
from sweptwater.units import area_text
from sweptwater.water.shapes import GRID_M, polygonal

VIEWS = (
    View("often", "how often"),
    View("day", "its last day"),
    View("pair", "which pair"),
    View("layer", "how deep"),
    View("light", "which light"),
)

BIT_M2 = 10.0
"""Smaller bits of water are no more than a dot on paper and are not drawn."""

OFTEN = ("Fished once", "Fished twice", "Fished three times or more")


def views_of(sight: Sight) -> tuple[View, ...]:
    """Return the ways in which there is something to tell; none if there is one."""
    parts, report = sight.parts, sight.report
    there = {
        "often": True,
        "day": len(parts.by_day) > 1,
        "pair": len(parts.by_pair) > 1,
        "layer": bool(sight.by_layer) and not report.layer,
        "light": bool(sight.by_light) and not report.light,
    }
    views = tuple(view for view in VIEWS if there[view.key])
    return views if len(views) > 1 else ()


def swept_layers(sight: Sight) -> Iterator[Layer]:
    """Yield the layers of swept water, view by view."""
    views = [view.key for view in views_of(sight)]
    yield from _often(sight, "often" if views else "")
    makers = {"day": _days, "pair": _pairs, "layer": _deep, "light": _light}
    for key, make in makers.items():
        if key in views:
            yield from make(sight)


def visible(bits: BaseGeometry) -> BaseGeometry:
    """Return areas without those that are too small to be seen."""
    parts = shapely.get_parts(bits)
    return MultiPolygon(list(parts[shapely.area(parts) >= BIT_M2]))


def _often(sight: Sight, view: str) -> Iterator[Layer]:
    bands = sight.stack.bands
    for number, (band, shape) in enumerate(bands.items(), 1):
        told = (f"swept-{band.rstrip('+')}", OFTEN[number - 1])
        yield _layer(sight, told, shape, looks.swept(number), view=view)


def _days(sight: Sight) -> Iterator[Layer]:
    """Yield the swept water by its last day: the last few days, then all before."""
    by_day = sight.parts.by_day
    named = sorted(by_day, reverse=True)[: len(looks.RANKED)]
    told = {f"day-{day}": f"Last fished on {day_text(day)}" for day in named}
    before = ("day-before", f"Last fished before {day_text(named[-1])}")
    shapes = [by_day[day] for day in named]
    yield from _ranked(sight, "day", told, shapes, before)


def _deep(sight: Sight) -> Iterator[Layer]:
    """Yield the swept water by the deepest layer that flies were in."""
    by_layer = sight.by_layer
    named = [name for name in by_layer if name != NOT_TOLD][: len(looks.RANKED)]
    told = {f"deep-{n}": f"Deepest flies {name}" for n, name in enumerate(named)}
    rest = ("deep-not-told", "Depth of flies not told")
    if len(by_layer.keys() - {NOT_TOLD}) > len(named):
        rest = ("deep-not-told", "Flies higher, or not told")
    yield from _ranked(sight, "layer", told, [by_layer[n] for n in named], rest)


def _ranked(
    sight: Sight,
    view: str,
    told: Mapping[str, str],
    shapes: Sequence[Area],
    rest: tuple[str, str],
) -> Iterator[Layer]:
    """Yield shapes without what those before have, and the rest of the swept water."""
    first = first_come(dict(zip(told.items(), shapes, strict=True)))
    for (one, shape), look in zip(first.items(), looks.RANKED, strict=False):
        yield _layer(sight, one, shape, look, view=view)
    all_of_them = shapely.union_all(list(shapes), grid_size=GRID_M)
    left = shapely.difference(sight.stack.once, all_of_them, grid_size=GRID_M)
    yield _layer(sight, rest, polygonal(left), looks.REST, view=view)


def _pairs(sight: Sight) -> Iterator[Layer]:
    parts = sight.parts
    for number, (pair, shape) in enumerate(parts.alone.items()):
        told = (pair_key(pair), f"Fished by {pair} alone")
        look = looks.PAIRS[number % len(looks.PAIRS)]
        yield _layer(sight, told, shape, look, view="pair", key=pair_key(pair))
    told = ("pairs", "Fished by several pairs")
    yield _layer(sight, told, parts.shared, looks.SEVERAL, view="pair")


def _light(sight: Sight) -> Iterator[Layer]:
    """Yield the swept water by the light: in one alone, in several, or not told."""
    by_light = sight.by_light
    known = {sky: shape for sky, shape in by_light.items() if sky != NOT_TOLD}
    single, shared = alone(known)
    for sky, shape in single.items():
        told = (f"light-{sky}", f"Fished in {sky} light alone")
        yield _layer(sight, told, shape, looks.LIGHTS[sky], view="light")
    told = ("lights", "Fished in several lights")
    yield _layer(sight, told, shared, looks.SEVERAL, view="light")
    lit = shapely.union_all(list(known.values()), grid_size=GRID_M)
    left = shapely.difference(by_light.get(NOT_TOLD, Polygon()), lit, grid_size=GRID_M)
    told = ("light-not-told", "Light not told")
    yield _layer(sight, told, polygonal(left), looks.REST, view="light")


def _layer(
    sight: Sight,
    told: tuple[str, str],
    shape: Area,
    look: Look,
    *,
    view: str,
    key: str = "",
) -> Layer:
    """Return a layer of swept water from its key and its title."""
    drawn = visible(shape)
    tip = f"{told[1]}\n{area_text(shape.area, sight.opened.settings.units)}"
    features = (
        () if drawn.is_empty else (feature(sight.opened, drawn, tip=tip, key=key),)
    )
    return Layer(*told, features, look, shown=view in ("", "often"), view=view)
