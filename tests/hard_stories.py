"""The kinds of hard days, and the waters on which they are made up."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeAlias

import numpy as np
import shapely
from shapely import Point

from sweptwater.arrays import Area, Bools, Floats
from sweptwater.water.shapes import polygonal
from sweptwater_demo import ashlode
from sweptwater_demo.routes import Routes, routes

Layout: TypeAlias = Literal["far", "back", "across"]


@dataclass(frozen=True)
class Story:
    """What a kind of day is like; pairs are the least and the most.

    Parameters
    ----------
    drift_m_s, drift_s
        How fast drifts go and how long they last.
    back_m_s, stop_m_s2
        How fast the boat goes between them, and how quickly it gathers and loses way.
    layout
        Where the next drift starts: anywhere; beside the last, after a straight return;
        or across the wind from where the last one ended.
    short_share, short_s
        How many of the drifts are short ones, and how long those last.
    zigzag_deg
        How far the drifts are steered to either side of the wind; 0 for not.
    anchored
        The share of drifts with an anchored spell of ten to forty minutes.
    lunch
        Whether the boat lands for lunch and ties up at the jetty in between.
    shift_deg
        By how much the wind turns at midday.
    near_m
        How near to the shore it drifts.
    wander_m
        Standard deviation of the receiver's slow error along one axis.
    bursts, silences
        How many there are in a day.
    """

    drift_m_s: tuple[float, float] = (0.2, 0.5)
    drift_s: tuple[float, float] = (600, 2000)
    back_m_s: tuple[float, float] = (1.6, 2.3)
    stop_m_s2: tuple[float, float] = (0.1, 0.4)
    layout: Layout = "far"
    short_share: float = 0.0
    short_s: tuple[float, float] = (120, 200)
    zigzag_deg: tuple[float, float] = (0, 0)
    anchored: float = 0.0
    lunch: bool = True
    shift_deg: tuple[float, float] = (0, 0)
    near_m: float = 23.0
    wander_m: tuple[float, float] = (2.0, 3.0)
    bursts: int = 1
    silences: int = 0


STORIES: dict[str, Story] = {
    "long drifts": Story(),
    "short rungs": Story(
        drift_s=(120, 300), back_m_s=(0.9, 1.5), layout="back", stop_m_s2=(0.2, 1.0)
    ),
    "short beside long": Story(
        short_share=0.6, back_m_s=(1.1, 1.6), layout="back", stop_m_s2=(0.3, 1.0)
    ),
    "moved across": Story(drift_s=(150, 500), back_m_s=(0.9, 1.5), layout="across"),
    "under oars": Story(
        drift_m_s=(0.15, 0.4), drift_s=(300, 1200), back_m_s=(0.9, 1.3), layout="back"
    ),
    "still air": Story(drift_m_s=(0.05, 0.12), drift_s=(900, 2400)),
    "light wind": Story(drift_m_s=(0.12, 0.25), wander_m=(2.0, 5.0)),
    "strong wind": Story(drift_m_s=(0.6, 0.9), drift_s=(300, 900), layout="back"),
    "strong wind and slow returns": Story(
        drift_m_s=(0.55, 0.9), drift_s=(120, 400), back_m_s=(1.2, 1.5), layout="back"
    ),
    "zig-zags": Story(drift_m_s=(0.3, 0.65), zigzag_deg=(25, 50)),
    "at anchor": Story(anchored=0.5, layout="back", wander_m=(2.0, 4.0)),
    "along the shore": Story(drift_m_s=(0.08, 0.3), near_m=8.0),
    "wind turns": Story(shift_deg=(60, 150), back_m_s=(1.2, 1.8), layout="back"),
    "reflections": Story(wander_m=(3.0, 5.0), bursts=14, layout="back"),
    "silences": Story(silences=12, short_share=0.3, layout="back"),
    "all at once": Story(
        drift_m_s=(0.15, 0.6),
        drift_s=(240, 1200),
        back_m_s=(1.1, 1.9),
        short_share=0.4,
        layout="back",
        anchored=0.15,
        wander_m=(2.0, 4.0),
        bursts=5,
        silences=3,
        shift_deg=(0, 60),
    ),
}


@dataclass(frozen=True, eq=False)
class Place:
    """A water to fish, in metres.

    Parameters
    ----------
    water, fishable
        With and without its out-of-bounds zones.
    jetty
        Where the boat ties up.
    """

    name: str
    water: Area
    fishable: Area
    jetty: Point

    @property
    def jetties(self) -> Area:
        """The ground about the jetty that counts as tied up."""
        return polygonal(self.jetty.buffer(25))


def ashlode_place() -> Place:
    """Return the demo's water."""
    jetty = ashlode.jetties()["Boathouse Jetty"]
    return Place("Ashlode Water", ashlode.water(), ashlode.fishable(), jetty)


def lake_place(name: str, water: Area, seed: int = 0) -> Place:
    """Return a real water with a jetty somewhere at its shore."""
    largest = max(shapely.get_parts(water), key=lambda part: part.area)
    rng = np.random.default_rng(seed)
    afloat = max(shapely.get_parts(largest.buffer(-16)), key=lambda part: part.area)
    at = afloat.exterior.interpolate(rng.uniform(), normalized=True)
    shore = shapely.shortest_line(largest.exterior, at).interpolate(4)
    return Place(name, water, polygonal(largest), shore)


@lru_cache(maxsize=32)
def ground(place: Place, near_m: float) -> "Ground":
    return Ground(place, near_m)


class Ground:
    """Where a boat may drift, and how it gets there."""

    def __init__(self, place: Place, near_m: float) -> None:
        self.place = place
        self.ways: Routes = routes(place.fishable, place.jetty)
        wide = place.fishable.buffer(-near_m, quad_segs=4)
        reached = [p for p in shapely.get_parts(wide) if p.intersects(self.ways.water)]
        self.open_water = shapely.union_all(reached)
        shapely.prepare(self.open_water)
        shore = shapely.shortest_line(place.fishable, place.jetty).coords[0]
        self.dock = np.array(shore)

    def clear(self, places: Floats) -> Bools:
        """Tell which places lie in the open water."""
        return np.asarray(shapely.contains_xy(self.open_water, *places.T), bool)

    def somewhere(self, near: Floats, rng: np.random.Generator) -> Floats:
        """Return places of the open water, most of them within some 600 m."""
        west, south, east, north = self.open_water.bounds
        places = np.vstack(
            [
                near + rng.normal(0, 350, (200, 2)),
                rng.uniform((west, south), (east, north), (200, 2)),
            ]
        )
        far_m = np.hypot(*(places - near).T)
        return places[self.clear(places) & (far_m < 2500)]
