"""Read the whole folder and report all that is wrong with it."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from sweptwater.errors import SweptwaterError
from sweptwater.jobs.boats import read_boat_days
from sweptwater.jobs.check_sectors import (
    misfits,
    name_faults,
    place_faults,
    same_names,
    sector_faults,
    turned_sectors,
)
from sweptwater.jobs.check_tracks import (
    stray_faults,
    stray_sentences,
    track_faults,
    unsaid,
)
from sweptwater.jobs.faults import Fault, fault_from
from sweptwater.jobs.hopes import named_faults
from sweptwater.jobs.note import read_noted
from sweptwater.jobs.numbering import numbered_drifts
from sweptwater.jobs.opened import Opened, Watch, open_folder, unwatched
from sweptwater.jobs.recall import recall, remembered_faults
from sweptwater.jobs.renamed import unknown_pairs
from sweptwater.jobs.tally import tally_faults
from sweptwater.practice.folder import (
    SECTORS,
    SETTINGS,
    VENUE,
    check_practice,
    read_sectors,
    read_settings,
    read_venue,
)
from sweptwater.practice.notes import NOTES
from sweptwater.practice.originals import list_originals
from sweptwater.practice.plans import read_plans
from sweptwater.practice.remembered import REMEMBERED
from sweptwater.practice.sheets import RowFault
from sweptwater.practice.tally import TALLY
from sweptwater.water.venue import build_venue


@dataclass(frozen=True, slots=True)
class Checked:
    """What was read, and what is wrong with it."""

    practice: str
    tracks: int
    faults: tuple[Fault, ...]


def check(folder: Path, *, watch: Watch = unwatched) -> Checked:
    """Return all faults of a practice folder.

    Raises
    ------
    PracticeError
        If there is no practice in the folder at all.
    """
    try:
        opened = open_folder(folder)
    except SweptwaterError as error:
        check_practice(folder)
        told = tuple(_unreadable(folder)) or (fault_from("", str(error)),)
        return Checked(folder.resolve().name, 0, told)
    faults = (
        *(*_venue_faults(opened), *unknown_pairs(opened), *named_faults(opened)),
        *stray_faults(opened),
    )
    if not turned_sectors(opened):  # else every track seems to be from elsewhere
        faults = (*faults, *track_faults(opened, watch))
    rows = (Fault(REMEMBERED, bad.told, bad.do) for bad in remembered_faults(opened))
    noted = (Fault(NOTES, bad.told, bad.do) for bad in read_noted(opened).faults)
    tallied = (Fault(TALLY, bad.told, bad.do) for bad in _tally_faults(opened, watch))
    plans = (fault_from(told.split()[0], told) for told in read_plans(folder)[1])
    faults = (*faults, *rows, *noted, *tallied, *plans)
    return Checked(opened.settings.name, len(opened.practice.originals), faults)


def _tally_faults(opened: Opened, watch: Watch) -> tuple[RowFault, ...]:
    if not (opened.practice.folder / TALLY).exists():
        return ()
    boats = read_boat_days(opened, opened.practice.originals, watch=watch)
    memory = recall(opened, boats.days)
    return tally_faults(opened, numbered_drifts(boats.days, memory.days))


def quick_faults(opened: Opened) -> tuple[str, ...]:
    """Return what a report should tell of the folder, a sentence each.

    Tracks that nobody counts, and sectors that do not fit the water any more: what
    can be seen without reading a track. Reports are handed on, and files are named by
    people: no sentence names one.
    """
    return (
        *stray_sentences(opened),
        *(f"{fault.what}; {fault.do}" for fault in misfits(opened)),
        *(f"{fault.what}; {fault.do}" for fault in same_names(opened)),
    )


def _venue_faults(opened: Opened) -> tuple[Fault, ...]:
    """Return what is wrong with places; what comes of that only once it is mended."""
    turned = () if turned_sectors(opened) else place_faults(opened)
    return tuple(turned) or (*name_faults(opened), *sector_faults(opened))


def _unreadable(folder: Path) -> Iterator[Fault]:
    """Yield the faults of files without which nothing else can be read."""
    pairs: tuple[str, ...] = ()
    readers: Mapping[str, Callable[[], object]] = {
        VENUE: lambda: build_venue(read_venue(folder)),
        SECTORS: lambda: read_sectors(folder),
    }
    try:
        pairs = read_settings(folder).pairs
    except SweptwaterError as error:
        yield fault_from(SETTINGS, str(error))
    for name, reader in readers.items():
        try:
            reader()
        except SweptwaterError as error:
            yield fault_from(name, str(error))
    for original in list_originals(folder, pairs):
        if original.fault:
            yield unsaid(original)
