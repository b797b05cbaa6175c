"""The venue: its water, what is out of bounds, and the places that have names."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely import Polygon

from sweptwater.arrays import Area
from sweptwater.errors import VenueError
from sweptwater.frame import Frame
from sweptwater.practice.geojson import AREAS, POINT_KINDS, Feature, Kind
from sweptwater.water.shapes import GRID_M, polygonal, valid, water_frame

FURTHEST_M = 1600.0
"""A jetty or a mark further from the water is another venue's."""


@dataclass(frozen=True, slots=True)
class Place:
    """A named point, in metres."""

    kind: Kind
    name: str
    easting: float
    northing: float


@dataclass(frozen=True)
class Venue:
    """The whole water in metres of its own frame."""

    frame: Frame
    water: Area
    out_of_bounds: Area
    places: tuple[Place, ...]

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

    def nearest_place(
        self, easting: float, northing: float, within_m: float = np.inf
    ) -> Place | None:
        """Return the nearest mark or jetty with a name, if any is near enough."""

        def away(place: Place) -> float:
            return float(np.hypot(place.easting - easting, place.northing - northing))

        named = (place for place in self.places if place.name)
        nearest = min(named, key=away, default=None)
        return nearest if nearest and away(nearest) <= within_m else None


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
    )
    if not venue.fishable.area > 0:
        raise VenueError("all of the water is out of bounds: nothing is left to fish")
    return venue


def check_feature(feature: Feature, venue: Venue) -> None:
    """Refuse a zone or a place that cannot belong to the venue.

    Raises
    ------
    VenueError
        If a zone is no area or misses the water, or a place lies a mile off.
    """
    shape = venue.frame.metres(feature.shape)
    called = feature.name or f"this {feature.kind}"
    if feature.kind in POINT_KINDS:
        away_m = float(
            np.max(shapely.distance(shapely.get_parts(shape), venue.water), initial=0)
        )
        if not away_m < FURTHEST_M:
            told = f"{away_m / 1000:,.1f}" if away_m < 1e6 else "thousands of"
            raise VenueError(
                f"{called} lies {told} km from the water: is it from another venue, or "
                "are latitude and longitude swapped?"
            )
        return
    if feature.shape.geom_type not in AREAS:
        raise VenueError(
            f"{called} is a {feature.shape.geom_type}, and a zone out of bounds must "
            "be an area: draw it as a polygon"
        )
    if not valid(shape).intersection(venue.water).area > 0:
        raise VenueError(
            f"{called} does not touch the water: is it drawn in the right place?"
        )


def _places(feature: Feature, frame: Frame) -> list[Place]:
    """Return the places of a feature: a multipoint has several of one name."""
    points = [part.centroid for part in shapely.get_parts(frame.metres(feature.shape))]
    return [Place(feature.kind, feature.name, point.x, point.y) for point in points]
