"""A practice from the zip that another was packed into."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sweptwater.jobs.opened import open_folder
from sweptwater.practice.packing import unpacking
from sweptwater.practice.tally_rows import read_tally, tally_rows
from sweptwater.units import System


@dataclass(frozen=True, slots=True)
class Unpacked:
    """The practice that is there now.

    Parameters
    ----------
    water_m2
        How much water it has.
    pairs, days
        Its pairs, and the days that its settings name.
    tracks, told
        How many tracks there are, and rows of the tally.
    not_taken
        The names of what else was in the zip.
    """

    practice: str
    folder: str
    water_m2: float
    pairs: tuple[str, ...]
    days: tuple[date, ...]
    tracks: int
    told: int
    units: System
    not_taken: tuple[str, ...]


def unpack(folder: Path, file: Path) -> Unpacked:
    """Write the practice that a zip holds to a new folder.

    Raises
    ------
    SweptwaterError
        If the folder is there already, or the zip is none, or holds no practice.
    """
    with unpacking(folder, file) as (part, not_taken):
        opened = open_folder(part)
        rows, _ = tally_rows(read_tally(part))
    return Unpacked(
        practice=opened.settings.name,
        folder=str(folder),
        water_m2=opened.venue.water.area,
        pairs=opened.settings.pairs,
        days=opened.settings.days,
        tracks=len(opened.practice.originals),
        told=sum(bool(row.told) for row in rows),
        units=opened.settings.units,
        not_taken=not_taken,
    )
