"""Where a planned drift starts and ends, as a boat can find it."""

import numpy as np
import shapely

from sweptwater.arrays import Floats
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.places import AT_MARK_M, from_mark, nearest_mark
from sweptwater.units import YARD_M
from sweptwater.water.banks import nearest_bank

OPEN_MARK_M = 1600.0
"""In open water a mark that is so near tells where a spot is."""


def spot_text(opened: Opened, place: Floats, *, short: bool = False) -> str:
    """Return where a spot on the water is: at a mark, off a bank, or from a mark.

    Parameters
    ----------
    place
        In metres, shape (2,).
    short
        Whether it stands in a column of a sheet, whose head says that a number is a
        bank's and how far out is meant.
    """
    easting, northing = np.asarray(place, dtype=np.float64).tolist()
    units = opened.settings.units
    found = nearest_mark(opened.venue, easting, northing)
    if found and found[1] <= AT_MARK_M:
        return found[0]
    near = found is not None and found[1] <= OPEN_MARK_M
    out_m = 1.5 * opened.settings.banks.water_m if near else np.inf
    bank = nearest_bank(opened.banks, easting, northing, out_m)
    if bank is not None:
        step_m, unit = (5 * YARD_M, "yd") if units == "imperial" else (5.0, "m")
        away_m = bank.shore.distance(shapely.Point(easting, northing))
        out = 5 * max(1, round(away_m / step_m))
        if short:
            return f"{bank.name.removeprefix('bank ')}, {out}"
        return f"{bank.name}, {out} {unit} out"
    if found and near:
        return from_mark(*found, units)
    lon, lat = opened.venue.frame.to_degrees(easting, northing)
    return f"{float(lat):.5f}, {float(lon):.5f}"
