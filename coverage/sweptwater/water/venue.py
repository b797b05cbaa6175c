"""The venue: its water, what is out of bounds, and the places that have names."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.errors import VenueError
from sweptwater.frame import Frame
from sweptwater.practice.geojson import POINT_KINDS, SHAPES, Feature, Kind
from sweptwater.water.shapes import GRID_M, polygonal, valid, water_frame

FURTHEST_M = 1600.0
"""A jetty or a mark further from the water is another venue's."""

ASHORE_M = 400.0
"""A bank's name, or a strip of bank anglers, further from the shore is none of it."""


def furthest_m(kind: Kind) -> float:
    """Return how far from the water a feature of a kind may lie."""
    if kind in POINT_KINDS:
        return FURTHEST_M
    return ASHORE_M if kind in ("bank", "bank-anglers") else 0.0


@dataclass(frozen=True, slots=True)
class Place:
    """A named point, in metres."""

    kind: Kind
    name: str
    easting: float
    northing: float


@dataclass(frozen=True, slots=True)
class BankName:
    """What people call a bank, at a point near its shore or along a line, in metres."""

    name: str
    shape: BaseGeometry


@dataclass(frozen=True)
class Venue:
    """The whole water in metres of its own frame.

    Parameters
    ----------
    water, out_of_bounds
        The water, and what of it is closed.
    places
        Jetties and marks.
    bank_names
        What people call the banks.
    bank_anglers
        Where people fish from the shore, areas and lines: water to fish all the same,
        but boats keep off.
    """

    frame: Frame
    water: Area
    out_of_bounds: Area
    places: tuple[Place, ...]
    bank_names: tuple[BankName, ...] = ()
    bank_anglers: BaseGeometry = field(default_factory=Polygon)

    @cached_property
    def fishable(self) -> Area:
        """The water less what is out of bounds."""
        if self.out_of_bounds.is_empty:
            return self.water
        left = shapely.difference(self.water, self.out_of_bounds, grid_size=GRID_M)
        return polygonal(left)

    def of_kind(self, kind: Kind) -> tuple[Place, ...]:
        """Return the jetties, or the marks."""
        return tuple(place for place in self.places if place.kind == kind)

    def jetty_ground(self, within_m: float) -> Area:
        """Return the ground within a distance of a jetty, perhaps empty."""
        jetties = self.of_kind("jetty")
        if not jetties:
            return Polygon()
        points = shapely.points([(j.easting, j.northing) for j in jetties])
        return polygonal(shapely.union_all(shapely.buffer(points, within_m)))


def build_venue(features: Iterable[Feature]) -> Venue:
    """Return the venue that features in degrees make.

    Raises
    ------
    VenueError
        If there is no water, or a zone leaves none to fish.
    """
    features = list(features)
    waters = [item.shape for item in features if item.kind == "water"]
    if not waters:
        raise VenueError("the venue has no water: begin again with its outline")
    frame = water_frame(waters)
    water = polygonal(shapely.union_all([valid(frame.metres(s)) for s in waters]))
    if not water.area > 0:
        raise VenueError("the venue's water has no area: begin again with its outline")
    zones = [item.shape for item in features if item.kind == "out-of-bounds"]
    closed = shapely.union_all([valid(frame.metres(shape)) for shape in zones])
    venue = Venue(
        frame,
        water,
        polygonal(closed.intersection(water)) if zones else Polygon(),
        tuple(
            place
            for item in features
            if item.kind in POINT_KINDS
            for place in _places(item, frame)
        ),
        tuple(
            BankName(item.name, frame.metres(item.shape))
            for item in features
            if item.kind == "bank" and item.name
        ),
        shapely.union_all(
            [
                valid(frame.metres(item.shape))
                for item in features
                if item.kind == "bank-anglers"
            ]
        ),
    )
    if not venue.fishable.area > 0:
        raise VenueError("all of the water is out of bounds: nothing is left to fish")
    return venue


def check_feature(feature: Feature, venue: Venue) -> None:
    """Refuse a zone, a place or a bank that cannot belong to the venue.

    Raises
    ------
    VenueError
        If a zone is no area or misses the water, a place lies a mile off, or a bank
        lies off the shore or has no name.
    """
    shape = venue.frame.metres(feature.shape)
    called = feature.name or f"this {feature.kind}"
    if feature.kind == "bank" and not feature.name:
        raise VenueError(
            "a bank of the file has no name, and its name is all that it is for: give "
            "each a name and save again"
        )
    if feature.shape.geom_type not in SHAPES[feature.kind]:
        raise VenueError(
            f"{called} is a {feature.shape.geom_type}, and a zone out of bounds must "
            "be an area: draw it as a polygon"
        )
    if feature.kind != "out-of-bounds":
        shore = venue.water if feature.kind in POINT_KINDS else venue.water.boundary
        away_m = float(
            np.max(shapely.distance(shapely.get_parts(shape), shore), initial=0)
        )
        if not away_m < furthest_m(feature.kind):
            place = "water" if feature.kind in POINT_KINDS else "shore"
            told = f"{away_m / 1000:,.1f}" if away_m < 1e6 else "thousands of"
            raise VenueError(
                f"{called} lies {told} km from the {place}: is it from another venue, "
                "or are latitude and longitude swapped?"
            )
        return
    if not valid(shape).intersection(venue.water).area > 0:
        raise VenueError(
            f"{called} does not touch the water: is it drawn in the right place?"
        )


def _places(feature: Feature, frame: Frame) -> list[Place]:
    """Return the places of a feature: a multipoint has several of one name."""
    points = [part.centroid for part in shapely.get_parts(frame.metres(feature.shape))]
    return [Place(feature.kind, feature.name, point.x, point.y) for point in points]
