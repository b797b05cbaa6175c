"""Waters to plan on, and how drifts are laid there."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely import Polygon, affinity, box

from outside import lake_parts
from sweptwater.arrays import Area, Floats
from sweptwater.frame import Frame, frame_around
from sweptwater.offers.wind import Wind
from sweptwater.plan.day import union
from sweptwater.plan.lay import Lay
from sweptwater.plan.leeway import Leeway
from sweptwater.practice.outing import PlanRules
from sweptwater.practice.settings import Settings, Spread
from sweptwater.units import YARD_M
from sweptwater.water.banks import lay_banks
from sweptwater.water.sectors import divide_by_area
from sweptwater.water.shapes import polygonal
from sweptwater.water.venue import Place, Venue
from sweptwater.water.ways import Ways
from sweptwater_demo import ashlode

FRAME = Frame(lon=10.0, lat=50.0)
MILE_M = 1760 * YARD_M
MINUTE_YD_M_S = YARD_M / 60
"""A yard a minute."""

SETTINGS = Settings("Ashlode Water", ("Heron", "Grebe", "Teal"))
FORCE_4 = 6.7
STRAIGHT = Leeway(share=0.045, share_sd=0.015, off_deg=0.0, off_sd_deg=10.0)
ALL_WINDS = tuple(45.0 * k for k in range(8))


@dataclass(frozen=True)
class Waters:
    """A water with all that plans rest on."""

    venue: Venue
    settings: Settings
    bands: Mapping[int, Area]
    bank_water: Area
    sectors: tuple[Area, ...]
    ways: Ways
    jetty: Floats

    def lay(self, wind: Wind, leeway: Leeway = STRAIGHT) -> Lay:
        """Return how drifts are laid in a wind."""
        keep_off = shapely.union(self.venue.out_of_bounds, self.venue.bank_anglers)
        return Lay(
            self.venue.water,
            self.venue.fishable,
            keep_off,
            self.settings,
            wind,
            leeway,
        )


def plain_venue(
    water: Area, *, shut: Area | None = None, places: tuple[Place, ...] = ()
) -> Venue:
    """Return a venue in metres just as it is: nothing mended, nothing moved."""
    return Venue(FRAME, polygonal(water), shut or Polygon(), places)


def yards(number: float) -> float:
    """Return metres."""
    return number * YARD_M


def straight_band(wind_from_deg: float, *, cast_yd: float = 20.0) -> tuple[Lay, Area]:
    """Return a mile of south bank, 20 to 80 yards out, and how drifts are laid.

    The water goes on far enough to either side that no end of it counts, and the boat
    drifts 20 yards a minute.
    """
    water = box(-MILE_M, 0, 2 * MILE_M, MILE_M)
    wind = Wind(wind_from_deg, FORCE_4)
    settings = Settings(
        "Ashlode Water", ("Heron",), spread=Spread(cast_m=yards(cast_yd))
    )
    leeway = Leeway(20 * MINUTE_YD_M_S / FORCE_4, 0.01, 0.0, 8.0)
    lay = Lay(water, water, Polygon(), settings, wind, leeway)
    return lay, box(0, yards(20), MILE_M, yards(80))


def near_lay(
    water: Area,
    wind: Wind,
    *,
    keep_off: Area | None = None,
    plan: PlanRules | None = None,
    off_deg: float = 0.0,
) -> Lay:
    """Return how drifts are laid on one water; what is to be kept off is shut."""
    settings = Settings("Ashlode Water", ("Heron",), plan=plan or PlanRules())
    shut = keep_off or Polygon()
    fishable = polygonal(shapely.difference(water, shut))
    leeway = Leeway(0.045, 0.015, off_deg, 10.0)
    return Lay(water, fishable, shut, settings, wind, leeway)


@lru_cache(maxsize=4)
def real_water(name: str, area_m2: float | None = None, parts: int = 3) -> Waters:
    """Return a real lake's largest water, perhaps scaled, in equal sectors.

    Origins in the data's INDEX.md.
    """
    outline = max(lake_parts(name), key=lambda part: part.area)
    frame = frame_around(outline.bounds)
    water = polygonal(frame.metres(outline))
    if area_m2:
        times = (area_m2 / water.area) ** 0.5
        water = polygonal(affinity.scale(water, times, times, origin=(0, 0)))
    venue = Venue(frame, water, Polygon(), ())
    return _waters(venue, shapely.get_coordinates(water)[0], parts)


@lru_cache(maxsize=1)
def ashlode_water() -> Waters:
    """Return the demo's water in three sectors."""
    shut = shapely.union_all(list(ashlode.out_of_bounds().values()))
    venue = Venue(ashlode.FRAME, ashlode.water(), polygonal(shut), ())
    jetty = next(iter(ashlode.jetties().values()))
    return _waters(venue, np.array([jetty.x, jetty.y]), 3)


def _waters(venue: Venue, jetty: Floats, parts: int) -> Waters:
    banks = lay_banks(venue, SETTINGS.banks)
    return Waters(
        venue,
        SETTINGS,
        {bank.number: bank.band for bank in banks},
        union([bank.water for bank in banks]),
        tuple(divide_by_area(venue.fishable, [1] * parts).sectors),
        Ways(venue.fishable),
        jetty,
    )
