"""What the captain knows of places: `[hopes]` of the settings, brought to the water."""

from collections.abc import Iterator

import numpy as np

from sweptwater.arrays import Bools, Floats
from sweptwater.errors import PracticeError
from sweptwater.jobs.faults import Fault, fault_from
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.spoken import Spot, spoken_spot
from sweptwater.practice.folder import SETTINGS
from sweptwater.search.squares import Squares

HOPE_M = 400.0
"""What the captain knows of a mark holds for water so near it."""


def hopes_of(opened: Opened, squares: Squares) -> tuple[Floats, list[str]]:
    """Return how many times as likely the captain holds each square, and what is lost.

    A sector or a bank by its name or number; any other place for the water near it.
    """
    hopes, unknown = np.ones(len(squares)), []
    for name, times in opened.settings.search.hopes.items():
        try:
            hopes[_water_of(opened, name, squares)] *= times
        except PracticeError as error:
            unknown.append(f"[hopes] of practice.toml: {error}")
    return hopes, unknown


def named_faults(opened: Opened) -> Iterator[Fault]:
    """Yield the places that the settings name and nobody knows."""
    settings = opened.settings
    for name in settings.search.hopes:
        try:
            _meant(opened, name)
        except PracticeError as error:
            yield fault_from(SETTINGS, f"[hopes]: {error}")
    if settings.match.lines_up_at:
        try:
            spoken_spot(opened, settings.match.lines_up_at)
        except PracticeError as error:
            yield fault_from(SETTINGS, f"[match] lines_up_at: {error}")


def _meant(opened: Opened, name: str) -> str | int | Spot:
    """Return the name of a sector, the number of a bank, or a spot."""
    said = " ".join(name.split()).casefold()
    for sector in opened.sectors:
        if said == sector.casefold():
            return sector
    for bank in opened.banks:
        known = (bank.told.casefold(), f"bank {bank.number}", str(bank.number))
        if said in known:
            return bank.number
    return spoken_spot(opened, name)


def _water_of(opened: Opened, name: str, squares: Squares) -> Bools:
    meant = _meant(opened, name)
    if isinstance(meant, Spot):
        east_m = squares.easting - meant.easting
        return np.asarray(np.hypot(east_m, squares.northing - meant.northing) <= HOPE_M)
    mine = [meant in (patch.sector, patch.bank) for patch in squares.patches]
    return np.array(mine, dtype=bool)[squares.patch]
