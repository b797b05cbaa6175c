"""Read the whole folder and report all that is wrong with it."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import shapely

from sweptwater.errors import SweptwaterError
from sweptwater.jobs.opened import Opened, Watch, open_folder, read_original, unwatched
from sweptwater.practice.files import PART, read_whole
from sweptwater.practice.folder import SECTORS, SETTINGS, VENUE
from sweptwater.practice.originals import SUFFIXES, digest_of
from sweptwater.units import area_text

TOLERATED = 1e-6
"""Sectors may miss or share this part of the water: what rounding does."""


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
        if not (folder / SETTINGS).is_file():
            raise
        return Checked(folder.resolve().name, 0, (_unreadable(error),))
    faults = [
        *_sectors(opened),
        *_strays(opened),
        *_originals(opened, watch),
    ]
    return Checked(opened.settings.name, len(opened.practice.originals), tuple(faults))


def _unreadable(error: SweptwaterError) -> Fault:
    """Return the fault of a file without which nothing else can be read."""
    named = (name for name in (SETTINGS, VENUE, SECTORS) if name in str(error))
    return Fault(next(named, ""), str(error), "mend it and check again")


def _sectors(opened: Opened) -> Iterator[Fault]:
    name, again = "sectors.geojson", "divide the water again"
    if not opened.sectors:
        yield Fault(name, "the water is not divided yet", "run sweptwater divide")
        return
    fishable = opened.venue.fishable
    whole = shapely.union_all(list(opened.sectors.values()))
    missed_m2 = fishable.difference(whole).area
    if missed_m2 > TOLERATED * fishable.area:
        yield Fault(name, f"{area_text(missed_m2)} of water is in no sector", again)
    beyond_m2 = whole.difference(fishable).area
    if beyond_m2 > TOLERATED * fishable.area:
        yield Fault(
            name,
            f"{area_text(beyond_m2)} of the sectors is not fishable water: a zone was "
            "added or the outline changed after dividing",
            again,
        )
    shared_m2 = sum(shape.area for shape in opened.sectors.values()) - whole.area
    if shared_m2 > TOLERATED * fishable.area:
        yield Fault(name, f"{area_text(shared_m2)} of water is in two sectors", again)
    for sector, pair in opened.pair_of.items():
        if pair and pair not in opened.settings.pairs:
            yield Fault(
                name,
                f"sector {sector} belongs to {pair}, and there is no such pair",
                "mend the name in practice.toml, or divide the water again",
            )


def _strays(opened: Opened) -> Iterator[Fault]:
    """Tell of tracks where no pair looks for them."""
    tracks = opened.practice.folder / "tracks"
    for path in sorted(tracks.rglob("*")):
        parts = path.relative_to(tracks).parts
        if not path.is_file() or path.name.endswith(PART) or parts[0] == "removed":
            continue
        shown = path.relative_to(opened.practice.folder).as_posix()
        known = len(parts) == 2 and parts[0] in opened.settings.pairs
        if not known and path.suffix.lower() in SUFFIXES:
            yield Fault(
                shown,
                "this track is in no pair's folder, so that nobody counts it",
                f"move it to tracks/{opened.settings.pairs[0]} or whose it is",
            )
        elif known and path.suffix.lower() not in (*SUFFIXES, ".toml"):
            yield Fault(
                shown,
                "this file is no track that can be read here",
                "export it as GPX and upload that",
            )


def _originals(opened: Opened, watch: Watch) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for original in watch(opened.practice.originals, "reading tracks"):
        path = _shown(opened, original.path)
        try:
            digest = digest_of(read_whole(original.path))
            if digest != original.digest:
                yield Fault(
                    path,
                    "the track is not as it was uploaded: its bytes have changed",
                    "put the file from the device back, or delete the .toml beside it "
                    "to take it as it is",
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


def _shown(opened: Opened, path: Path) -> str:
    return path.relative_to(opened.practice.folder).as_posix()
