"""Opening, beginning and changing a practice folder."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.practice.files import read_whole, write_whole, writing
from sweptwater.practice.geojson import (
    Feature,
    SectorShape,
    parse_sectors,
    parse_venue,
    sectors_text,
    venue_text,
)
from sweptwater.practice.originals import Original, list_originals
from sweptwater.practice.settings import Settings, parse_settings
from sweptwater.practice.template import settings_text

SETTINGS = "practice.toml"
VENUE = "venue.geojson"
SECTORS = "sectors.geojson"
REPORTS = "reports"
KEPT = re.compile(r"sectors-before-(\d+)\.geojson")


@dataclass(frozen=True, slots=True)
class Practice:
    """What a practice folder holds, read once."""

    folder: Path
    settings: Settings
    features: tuple[Feature, ...]
    sectors: tuple[SectorShape, ...]
    originals: tuple[Original, ...]


def open_practice(folder: Path) -> Practice:
    """Read a practice folder.

    Raises
    ------
    PracticeError
        If it is none, or a file in it cannot be understood.
    """
    if not (folder / SETTINGS).is_file():
        raise PracticeError(
            f"{folder.resolve()} is no practice folder: go to one, name it with -C, or "
            "begin one with: sweptwater start FOLDER --venue FILE"
        )
    settings = parse_settings(_text(folder / SETTINGS))
    sectors = folder / SECTORS
    return Practice(
        folder,
        settings,
        parse_venue(_text(folder / VENUE)),
        parse_sectors(_text(sectors)) if sectors.is_file() else (),
        list_originals(folder, settings.pairs),
    )


def begin_practice(
    folder: Path, settings: Settings, features: Iterable[Feature]
) -> None:
    """Write a new practice folder.

    Raises
    ------
    PracticeError
        If there is one already, or the folder cannot be written to.
    """
    _check_new(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PracticeError(
            f"{folder} cannot be made ({error.strerror or error}): choose another place"
        ) from error
    with writing(folder):
        _check_new(folder)  # another may have begun one while this one waited
        write_whole(folder / VENUE, venue_text(features))
        write_whole(folder / SETTINGS, settings_text(settings))


def save_venue(folder: Path, features: Iterable[Feature]) -> None:
    """Write the venue anew; the caller holds the folder (see `writing`)."""
    write_whole(folder / VENUE, venue_text(features))


def save_sectors(folder: Path, sectors: Iterable[SectorShape]) -> Path | None:
    """Write the sectors anew, and return where the old ones are kept, if any.

    The caller holds the folder (see `writing`).
    """
    path, kept = folder / SECTORS, None
    if path.is_file():
        kept = folder / f"sectors-before-{_next_number(folder)}.geojson"
        write_whole(kept, read_whole(path))
    write_whole(path, sectors_text(sectors))
    return kept


def save_report(folder: Path, name: str, data: bytes | str) -> Path:
    """Write a report, which can be made again at any time, and return where it is."""
    path = folder / REPORTS / name
    write_whole(path, data)
    return path


def _check_new(folder: Path) -> None:
    if (folder / SETTINGS).exists():
        raise PracticeError(
            f"{folder} is a practice already: choose another folder, or add to it with "
            f"sweptwater -C {folder} ..."
        )


def _next_number(folder: Path) -> int:
    """Return a number that no kept division has, even where some were deleted."""
    kept = (KEPT.fullmatch(path.name) for path in folder.glob("sectors-before-*"))
    return 1 + max((int(match[1]) for match in kept if match), default=0)


def _text(path: Path) -> str:
    try:
        return read_whole(path).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise PracticeError(
            f"{path} is not UTF-8 text (byte {error.start + 1}): save it as UTF-8"
        ) from error
