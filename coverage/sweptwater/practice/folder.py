"""Opening, beginning and changing a practice folder."""

import re
import shlex
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
from sweptwater.practice.originals import TRACKS, Original, list_originals
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
    settings = read_settings(folder)
    return Practice(
        folder,
        settings,
        read_venue(folder),
        read_sectors(folder),
        list_originals(folder, settings.pairs),
    )


def check_practice(folder: Path) -> None:
    """Refuse a folder that is no practice, before anything is written there.

    Raises
    ------
    PracticeError
        If its settings are not there, with or without the rest.
    """
    try:
        if (folder / SETTINGS).is_file():
            return
    except OSError as error:
        raise PracticeError(
            f"{folder} could not be read ({error.strerror or error})"
        ) from error
    if (folder / f"{SETTINGS}.txt").is_file():
        raise PracticeError(
            f"{folder.resolve()} has a {SETTINGS}.txt, and no {SETTINGS}: an editor "
            "gave it another ending, which may be hidden; rename it"
        )
    if _remains(folder):
        raise PracticeError(
            f"{SETTINGS} is missing in {folder.resolve()}: put it back there"
        )
    raise PracticeError(
        f"{folder.resolve()} is no practice folder: go to one, name it with -C, or "
        "begin one with: sweptwater start FOLDER --venue FILE"
    )


def read_settings(folder: Path) -> Settings:
    """Return the settings of a practice.

    Raises
    ------
    PracticeError
        If the folder is none, or they cannot be understood.
    """
    check_practice(folder)
    return parse_settings(_text(folder / SETTINGS))


def read_venue(folder: Path) -> tuple[Feature, ...]:
    """Return the venue of a practice.

    Raises
    ------
    PracticeError
        If it is missing, or cannot be understood.
    """
    path = folder / VENUE
    if not path.exists():
        raise PracticeError(
            f"{VENUE} is missing in {folder.resolve()}: put it back there"
        )
    return parse_venue(_text(path))


def read_sectors(folder: Path) -> tuple[SectorShape, ...]:
    """Return the sectors of a practice; none before the water is divided.

    Raises
    ------
    PracticeError
        If they cannot be understood.
    """
    path = folder / SECTORS
    return parse_sectors(_text(path)) if path.is_file() else ()


def begin_practice(
    folder: Path, settings: Settings, features: Iterable[Feature]
) -> None:
    """Write a new practice folder.

    Raises
    ------
    PracticeError
        If there is one already, or what is left of one, or the folder cannot be
        written to.
    """
    venue = venue_text(features)
    _check_new(folder, venue)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PracticeError(
            f"{folder} cannot be made ({error.strerror or error}): choose another place"
        ) from error
    with writing(folder):
        _check_new(folder, venue)  # another may have begun one while this one waited
        write_whole(folder / VENUE, venue)
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
    """Write a report, which can be made again at any time, and return where it is.

    Raises
    ------
    PracticeError
        If the practice is not there any more, or cannot be written to.
    """
    check_practice(folder)
    path = folder / REPORTS / name
    write_whole(path, data)
    return path


def _check_new(folder: Path, venue: str) -> None:
    if (folder / SETTINGS).exists():
        raise PracticeError(
            f"{folder} is a practice already: choose another folder, or add to it with "
            f"sweptwater -C {shlex.quote(str(folder))} ..."
        )
    left = _remains(folder)
    if left == [VENUE] and read_whole(folder / VENUE) == venue.encode():
        return  # it was being begun when something stopped it
    if left:
        raise PracticeError(
            f"{folder} holds {' and '.join(left)} of a practice, and {SETTINGS} is "
            "missing there: put it back, or choose another folder"
        )


def _remains(folder: Path) -> list[str]:
    """Return what of a practice is in a folder, but for its settings."""
    return [name for name in (VENUE, SECTORS, TRACKS) if (folder / name).exists()]


def _next_number(folder: Path) -> int:
    """Return a number that no kept division has, even where some were deleted."""
    kept = (KEPT.fullmatch(path.name) for path in folder.glob("sectors-before-*"))
    return 1 + max((int(match[1]) for match in kept if match), default=0)


def _text(path: Path) -> str:
    data = read_whole(path)
    # UTF-16 without its mark is UTF-8 with a zero after each letter.
    try:
        text, wrong = data.decode("utf-8-sig"), data.find(b"\0")
    except UnicodeDecodeError as error:
        text, wrong = "", error.start
    if wrong < 0:
        return text
    utf_16 = ", instead of UTF-16" if b"\0" in data else ""
    raise PracticeError(
        f"{path.name} is not UTF-8 text (byte {wrong + 1}): save it as UTF-8, which "
        f"editors offer as an encoding{utf_16}"
    )
