"""Where a planned drift starts and ends, as a boat can find it."""

import numpy as np
import shapely

from sweptwater.arrays import Floats
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.places import AT_MARK_M, from_mark, nearest_mark
from sweptwater.units import YARD_M
from sweptwater.water.banks import nearest_bank

MARK_M, OPEN_MARK_M = 250.0, 1600.0
"""A mark this near is told before the bank; in open water, one that is further."""


def spot_text(opened: Opened, place: Floats) -> str:
    """Return where a spot on the water is: by a mark, else by the bank and how far out.

    Parameters
    ----------
    place
        In metres, shape (2,).
    """
    easting, northing = np.asarray(place, dtype=np.float64).tolist()
    units = opened.settings.units
    found = nearest_mark(opened.venue, easting, northing)
    if found and found[1] <= AT_MARK_M:
        return found[0]
    if found and found[1] <= MARK_M:
        return from_mark(*found, units)
    out_m = 1.5 * opened.settings.banks.water_m
    bank = nearest_bank(opened.banks, easting, northing, out_m)
    if bank is not None:
        step_m, unit = (5 * YARD_M, "yd") if units == "imperial" else (5.0, "m")
        away_m = bank.shore.distance(shapely.Point(easting, northing))
        return f"{bank.name}, {5 * max(1, round(away_m / step_m))} {unit} out"
    if found and found[1] <= OPEN_MARK_M:
        return from_mark(*found, units)
    lon, lat = opened.venue.frame.to_degrees(easting, northing)
    return f"{float(lat):.5f}, {float(lon):.5f}"
