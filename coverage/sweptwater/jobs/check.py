"""Read the whole folder and report all that is wrong with it."""

from collections import Counter
from collections.abc import Callable, Container, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import shapely

from sweptwater.errors import SweptwaterError
from sweptwater.jobs.afloat import read_original
from sweptwater.jobs.opened import Opened, Watch, open_folder, rounding_m2, unwatched
from sweptwater.jobs.recall import remembered_faults
from sweptwater.practice.files import read_whole
from sweptwater.practice.folder import (
    SECTORS,
    SETTINGS,
    VENUE,
    check_practice,
    read_sectors,
    read_settings,
    read_venue,
)
from sweptwater.practice.originals import TRACKS, Original, digest_of, list_originals
from sweptwater.practice.remembered import REMEMBERED
from sweptwater.practice.rota import rota_days
from sweptwater.practice.strays import WHYS, Why, stray_files
from sweptwater.units import area_text
from sweptwater.water.venue import build_venue

AGAIN = "mend that, and check again"

TRACKS_LOST: tuple[Why, ...] = ("nobody", "alone")
"""Strays that a report leaves out and should not be silent about."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: where, what, and what to do about it."""

    file: str
    what: str
    do: str


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
        told = tuple(_unreadable(folder)) or (Fault("", str(error), AGAIN),)
        return Checked(folder.resolve().name, 0, told)
    faults = [
        *_sectors(opened),
        *_strays(opened),
        *_originals(opened, watch),
        *(Fault(REMEMBERED, bad.told, bad.do) for bad in remembered_faults(opened)),
    ]
    return Checked(opened.settings.name, len(opened.practice.originals), tuple(faults))


def quick_faults(opened: Opened) -> tuple[str, ...]:
    """Return what a report should tell of the folder, a sentence each.

    Tracks that nobody counts, and sectors that do not fit the water any more: what
    can be seen without reading a track.
    """
    lost = _strays(opened, TRACKS_LOST)
    return (
        *(f"{fault.file}: {fault.what}; {fault.do}" for fault in lost),
        *(f"{fault.what}; {fault.do}" for fault in _sizes(opened)),
        *(f"{fault.what}; {fault.do}" for fault in _twice_named(opened)),
    )


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
        yield Fault(SETTINGS, str(error), AGAIN)
    for name, reader in readers.items():
        try:
            reader()
        except SweptwaterError as error:
            yield Fault(name, str(error), AGAIN)
    for original in list_originals(folder, pairs):
        if original.fault:
            yield _unsaid(original)


def _sectors(opened: Opened) -> Iterator[Fault]:
    if not opened.drawn:
        yield Fault(SECTORS, "the water is not divided yet", "run sweptwater divide")
        return
    yield from _sizes(opened)
    yield from _names(opened)


def _sizes(opened: Opened) -> Iterator[Fault]:
    """Tell of sectors that are not the water to fish, each part of it once."""
    if not opened.drawn:
        return
    fishable, units = opened.venue.fishable, opened.settings.units
    shapes = list(opened.drawn.values())
    whole = shapely.union_all(shapes)
    sizes_m2 = {
        "of water is in no sector": fishable.difference(whole).area,
        "of the sectors is not fishable water: a zone was added or the outline "
        "changed after dividing": whole.difference(fishable).area,
        "of water is in two sectors": sum(s.area for s in shapes) - whole.area,
    }
    for what, size_m2 in sizes_m2.items():
        if size_m2 > rounding_m2(fishable):
            told = f"{area_text(size_m2, units)} {what}"
            yield Fault(SECTORS, told, "divide the water again")


def _names(opened: Opened) -> Iterator[Fault]:
    """Tell of sectors that no pair owns, that have one name, or no water."""
    yield from _twice_named(opened)
    for name in {sector.name: None for sector in opened.practice.sectors}:
        if name not in opened.sectors:
            yield Fault(
                SECTORS,
                f"there is no water to fish in sector {name}",
                "divide the water again",
            )
    yield from _pairs_in_two_sectors(opened)
    for sector in opened.practice.sectors:
        for pair in sorted({sector.pair, *sector.days.values()} - {""}):
            if pair not in opened.settings.pairs:
                yield Fault(
                    SECTORS,
                    f"sector {sector.name} belongs to {pair}, and there is no such "
                    "pair",
                    "mend the name in practice.toml, or divide the water again",
                )


def _twice_named(opened: Opened) -> Iterator[Fault]:
    told = Counter(sector.name.casefold() for sector in opened.practice.sectors)
    for name, count in told.items():
        if count > 1:
            yield Fault(
                SECTORS,
                f"{count} sectors are called {name.upper()}",
                "divide the water again",
            )


def _pairs_in_two_sectors(opened: Opened) -> Iterator[Fault]:
    """Tell of pairs that have two sectors on one day."""
    sectors = opened.practice.sectors
    days: list[date | None] = [*rota_days(sectors)]
    for day in days or [None]:
        told = Counter(
            sector.pair_on(day) if day else sector.pair for sector in sectors
        )
        for pair, count in told.items():
            if pair and count > 1:
                when = f" on {day.day} {day:%B}" if day else ""
                yield Fault(
                    SECTORS,
                    f"{pair} has {count} sectors{when}",
                    "mend the pairs there, or run divide --rotate",
                )


def _strays(opened: Opened, kinds: Container[Why] = WHYS) -> Iterator[Fault]:
    """Tell of files in the tracks' folder that nobody counts."""
    pairs = opened.settings.pairs
    told: Mapping[Why, tuple[str, str]] = {
        "nobody": (
            "this track is in no pair's folder, so that nobody counts it",
            f"move it to tracks/{pairs[0]} or whose it is",
        ),
        "alone": (
            "the track that this tells of is not there",
            "upload the track again, or delete this file",
        ),
        "unreadable": (
            "this file is no track that can be read here",
            "export it as GPX and upload that",
        ),
    }
    for stray in stray_files(opened.practice.folder, pairs):
        if stray.why in kinds:
            yield Fault(stray.shown, *told[stray.why])


def _originals(opened: Opened, watch: Watch) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for original in watch(opened.practice.originals, "reading tracks"):
        if original.fault:
            yield _unsaid(original)
            continue
        path = _shown(opened, original.path)
        try:
            digest = digest_of(read_whole(original.path))
            if digest != original.digest:
                yield Fault(
                    path,
                    "the track is not as it was uploaded: its bytes have changed",
                    "upload the file from the device again, or delete the .toml "
                    "beside it to take it as it is",
                )
            if digest in seen:
                yield Fault(
                    path,
                    f"this is the same track as {seen[digest]}",
                    "move one of the two away",
                )
            seen.setdefault(digest, path)
            read_original(opened, original)
        except SweptwaterError as error:
            yield Fault(path, str(error), "move it to tracks/removed, or mend it")


def _unsaid(original: Original) -> Fault:
    """Return the fault of a track of which it is not known what was said."""
    said = original.path.with_suffix(".toml").name
    name = said if said in original.fault else original.path.name
    return Fault(f"{TRACKS}/{original.pair}/{name}", original.fault, AGAIN)


def _shown(opened: Opened, path: Path) -> str:
    return path.relative_to(opened.practice.folder).as_posix()
