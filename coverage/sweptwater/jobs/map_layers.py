"""The layers that every map of a practice has: its water, zones, sectors and places."""

from collections.abc import Iterator
from datetime import date

from shapely import Point
from shapely.geometry.base import BaseGeometry

from sweptwater.jobs.opened import Opened
from sweptwater.paper import looks
from sweptwater.paper.layers import Feature, Layer
from sweptwater.paper.looks import Look


def feature(
    opened: Opened,
    shape: BaseGeometry,
    *,
    label: str = "",
    tip: str = "",
    key: str = "",
    look: Look | None = None,
) -> Feature:
    """Return a feature from its shape in metres."""
    degrees = opened.degrees(shape)
    return Feature(degrees, label=label, tip=tip, key=key, look=look)


def water_layer(opened: Opened) -> Layer:
    """Return the water, under all else."""
    water = (feature(opened, opened.venue.water),)
    return Layer("water", "Water", water, looks.WATER, in_legend=False)


def zones_layers(opened: Opened) -> Iterator[Layer]:
    """Yield where no boat may go, and where people fish from the bank."""
    venue = opened.venue
    zones = [] if venue.out_of_bounds.is_empty else [venue.out_of_bounds]
    closed = tuple(feature(opened, zone, tip="Out of bounds") for zone in zones)
    yield Layer("out-of-bounds", "Out of bounds", closed, looks.OUT_OF_BOUNDS)
    if not venue.bank_anglers.is_empty:
        strips = (feature(opened, venue.bank_anglers, tip="Bank anglers: keep off"),)
        yield Layer("bank-anglers", "Bank anglers", strips, looks.ANGLERS)


def sectors_layer(opened: Opened, pairs_day: date | None) -> Layer:
    """Return the lines between sectors, with their names and the pairs of a day."""
    sectors = opened.sectors
    pairs = opened.pairs_on(pairs_day)
    names = list(sectors)
    edges = [
        feature(opened, edge)
        for index, name in enumerate(names)
        for other in names[index + 1 :]
        if (edge := _edge(sectors[name], sectors[other])) is not None
    ]
    areas = [
        feature(
            opened,
            shape,
            label=" ".join(dict.fromkeys([name, pairs.get(name) or name])),
            key=f"sector-{name}",
            look=Look(),
        )
        for name, shape in sectors.items()
    ]
    return Layer("sectors", "Sectors", (*edges, *areas), looks.SECTOR, labels="names")


def places_layer(opened: Opened, kind: str, title: str, look: Look) -> Layer:
    """Return the places of a kind, with their names."""
    return Layer(
        kind,
        title,
        tuple(
            feature(opened, Point(place.easting, place.northing), label=place.name)
            for place in opened.venue.places
            if place.kind == kind
        ),
        look,
        labels="names",
    )


def _edge(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry | None:
    """Return the line between two sectors, if they meet along one."""
    shared = one.boundary.intersection(other.boundary.buffer(0.05))
    return shared if shared.length > 1 else None
