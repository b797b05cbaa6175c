"""The list of drifts, recorded and from memory, and how fast the boats drift."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sweptwater.jobs.boats import read_boat_days
from sweptwater.jobs.check import quick_faults
from sweptwater.jobs.discreet import without_file_names
from sweptwater.jobs.learned import DriftSpeed, learned
from sweptwater.jobs.listed import DriftLine, drift_lines
from sweptwater.jobs.note import read_noted
from sweptwater.jobs.opened import Watch, open_folder, parse_day, unwatched
from sweptwater.jobs.recall import recall
from sweptwater.jobs.sight import chosen_boats


@dataclass(frozen=True, slots=True)
class Drifts:
    """The drifts of all boat-days, or of some."""

    practice: str
    day: date | None
    pair: str | None
    drifts: tuple[DriftLine, ...]
    drift_speeds: tuple[DriftSpeed, ...]
    """How fast the boats of those days drifted, by their tracks."""
    remarks: tuple[str, ...]
    """What is odd about drifts from memory."""
    faults: tuple[str, ...]


def drifts(
    folder: Path,
    *,
    day: str | None = None,
    pair: str | None = None,
    watch: Watch = unwatched,
) -> Drifts:
    """Return the drifts, numbered within each boat-day in the order of time.

    Raises
    ------
    SweptwaterError
        If the folder, the day or the pair is unusable.
    """
    opened = open_folder(folder)
    wanted = (
        parse_day(day) if day else None,
        opened.settings.pair_named(pair) if pair else None,
    )
    boats = read_boat_days(opened, opened.practice.originals, watch=watch)
    memory = recall(opened, boats.days)
    told = memory.of(*wanted)
    chosen = chosen_boats(boats.days, *wanted, told=memory.days)
    noted = read_noted(opened)
    return Drifts(
        practice=opened.settings.name,
        day=wanted[0],
        pair=wanted[1],
        drifts=drift_lines(opened, chosen, told),
        drift_speeds=learned(opened, chosen, noted=noted).speeds,
        remarks=memory.remarks_on(*wanted),
        faults=(
            *without_file_names(boats.faults, opened.practice.originals),
            *quick_faults(opened),
            *map(str, (*memory.faults, *noted.faults)),
        ),
    )
