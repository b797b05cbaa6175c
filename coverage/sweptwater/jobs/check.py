"""Read the whole folder and report all that is wrong with it."""

import glob
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import shapely

from sweptwater.errors import SweptwaterError
from sweptwater.jobs.opened import (
    Opened,
    Watch,
    open_folder,
    read_original,
    rounding_m2,
    unwatched,
)
from sweptwater.practice.files import read_whole
from sweptwater.practice.folder import SECTORS, SETTINGS, VENUE
from sweptwater.practice.geojson import parse_sectors, parse_venue
from sweptwater.practice.originals import SUFFIXES, digest_of, list_originals
from sweptwater.practice.settings import parse_settings
from sweptwater.units import area_text
from sweptwater.water.venue import build_venue

AGAIN = "mend that, and check again"


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
        told = tuple(_unreadable(folder)) or (Fault("", str(error), AGAIN),)
        return Checked(folder.resolve().name, 0, told)
    faults = [
        *_sectors(opened),
        *_strays(opened),
        *_originals(opened, watch),
    ]
    return Checked(opened.settings.name, len(opened.practice.originals), tuple(faults))


def _unreadable(folder: Path) -> Iterator[Fault]:
    """Yield the faults of files without which nothing else can be read."""
    pairs: list[tuple[str, ...]] = []
    readers: Mapping[str, Callable[[str], object]] = {
        SETTINGS: lambda text: pairs.append(parse_settings(text).pairs),
        VENUE: lambda text: build_venue(parse_venue(text)),
        SECTORS: parse_sectors,
    }
    for name, reader in readers.items():
        if name == SECTORS and not (folder / name).exists():
            continue
        try:
            reader(read_whole(folder / name).decode("utf-8-sig"))
        except UnicodeDecodeError as error:
            yield Fault(name, f"byte {error.start + 1} is not UTF-8 text", AGAIN)
        except SweptwaterError as error:
            yield Fault(name, str(error), AGAIN)
    try:
        list_originals(folder, pairs[0] if pairs else ())
    except SweptwaterError as error:
        told = str(error)
        said = (path for path in folder.glob("tracks/*/*") if str(path) in told)
        shown = next((path.relative_to(folder).as_posix() for path in said), "tracks")
        yield Fault(shown, told, AGAIN)


def _sectors(opened: Opened) -> Iterator[Fault]:
    if not opened.drawn:
        yield Fault(SECTORS, "the water is not divided yet", "run sweptwater divide")
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
    yield from _names(opened)


def _names(opened: Opened) -> Iterator[Fault]:
    """Tell of sectors that no pair owns, that have one name, or no water."""
    told = Counter(sector.name for sector in opened.practice.sectors)
    for name, count in told.items():
        if count > 1:
            yield Fault(
                SECTORS, f"{count} sectors are called {name}", "divide the water again"
            )
        if name not in opened.sectors:
            yield Fault(
                SECTORS,
                f"there is no water to fish in sector {name}",
                "divide the water again",
            )
    for sector, pair in opened.pair_of.items():
        if pair and pair not in opened.settings.pairs:
            yield Fault(
                SECTORS,
                f"sector {sector} belongs to {pair}, and there is no such pair",
                "mend the name in practice.toml, or divide the water again",
            )


def _strays(opened: Opened) -> Iterator[Fault]:
    """Tell of files in the tracks' folder that nobody counts."""
    folder, pairs = opened.practice.folder, opened.settings.pairs
    tracks = folder / "tracks"
    for path in sorted(tracks.rglob("*")):
        parts, suffix = path.relative_to(tracks).parts, path.suffix.lower()
        # What systems put there themselves, like .DS_Store, begins with a dot.
        if not path.is_file() or path.name.startswith(".") or parts[0] == "removed":
            continue
        shown = path.relative_to(folder).as_posix()
        known = len(parts) == 2 and parts[0] in pairs
        if not known and suffix in SUFFIXES:
            yield Fault(
                shown,
                "this track is in no pair's folder, so that nobody counts it",
                f"move it to tracks/{pairs[0]} or whose it is",
            )
        elif known and suffix == ".toml":
            beside = path.parent.glob(f"{glob.escape(path.stem)}.*")
            if not any(other.suffix.lower() in SUFFIXES for other in beside):
                yield Fault(
                    shown,
                    "the track that this tells of is not there",
                    "upload the track again, or delete this file",
                )
        elif known and suffix not in SUFFIXES:
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


def _shown(opened: Opened, path: Path) -> str:
    return path.relative_to(opened.practice.folder).as_posix()
