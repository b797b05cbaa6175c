"""A whole practice as one zip, for a team mate or for next year.

Unless asked, it holds no fix away from the water, nothing that a device wrote of itself
or its owner, no track's name, and no notes in anybody's own words.
"""

from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError, SweptwaterError
from sweptwater.jobs.discreet import near_water
from sweptwater.jobs.opened import Opened, Watch, check_place, open_folder, unwatched
from sweptwater.jobs.pack_tables import FORMS, plain_table
from sweptwater.jobs.pack_tracks import PlainTrack, plain_track
from sweptwater.jobs.wording import counted
from sweptwater.practice.files import read_whole, write_whole
from sweptwater.practice.folder import REPORTS
from sweptwater.practice.originals import SAID, TRACKS, Original, digest_of
from sweptwater.practice.packing import (
    COMMENT,
    is_practice_file,
    packed,
    practice_files,
)
from sweptwater.practice.plans import PLANS
from sweptwater.practice.said import said_text
from sweptwater.practice.targets import check_outside, check_zip_target, is_report


@dataclass(frozen=True, slots=True)
class Packed:
    """What was packed, and what was not.

    Parameters
    ----------
    file, bytes_
        Where the zip is, and its size.
    files
        How many files it holds.
    tracks
        How many tracks are among them.
    fixes, fixes_left_out
        How many fixes those have, and how many lay away from the water; None each
        where tracks are as they were recorded.
    days
        The days that the tracks are of, as far as they were read.
    notes_left_out
        How many notes were left out.
    left_out
        Sentences on what else is not in it.
    """

    practice: str
    file: str
    bytes_: int
    files: int
    tracks: int
    fixes: int | None
    fixes_left_out: int | None
    days: tuple[date, ...]
    notes_left_out: int
    left_out: tuple[str, ...]


@dataclass(slots=True)
class _Load:
    """Files by name as they are gathered, with what is told of that."""

    files: dict[str, bytes] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    days: set[date] = field(default_factory=set)
    tracks: int = 0
    fixes: int = 0
    away: int = 0
    notes: int = 0


def pack(
    folder: Path,
    file: Path | None = None,
    *,
    as_recorded: bool = False,
    with_notes: bool = False,
    watch: Watch = unwatched,
) -> Packed:
    """Write a whole practice to one zip.

    Parameters
    ----------
    file
        Where it goes; without, among the reports, called like the folder.
    as_recorded
        Take tracks byte for byte, with their names, and wherever they went.
    with_notes
        Take notes in people's own words, and columns that are not ours, too.

    Raises
    ------
    SweptwaterError
        If the folder is unusable, or the file is no zip's name, is something else than
        an older one of ours, or cannot be written.
    """
    opened, load = open_folder(folder), _Load()
    target = file or folder / REPORTS / f"{folder.resolve().name}.zip"
    _check_target(folder, target)
    near = near_water(opened)
    for name, path in practice_files(folder):
        _add(load, opened, name, path, near if not with_notes else None)
    if as_recorded:
        _add_as_recorded(load, opened)
    else:
        _add_plain(load, opened, near, watch)
    data = packed(sorted(load.files.items()))
    write_whole(target, data)
    return Packed(
        practice=opened.settings.name,
        file=str(target),
        bytes_=len(data),
        files=len(load.files),
        tracks=load.tracks,
        fixes=None if as_recorded else load.fixes,
        fixes_left_out=None if as_recorded else load.away,
        days=tuple(sorted(load.days)),
        notes_left_out=load.notes,
        left_out=tuple(load.left_out),
    )


def _check_target(folder: Path, file: Path) -> None:
    if file.suffix.lower() != ".zip":
        raise PracticeError(f"{file.name} is no zip's name: give one that ends in .zip")
    check_outside(folder, file)
    if not is_report(folder, file):
        check_place(file)
    check_zip_target(file, COMMENT)


def _add(load: _Load, opened: Opened, name: str, path: Path, near: Area | None) -> None:
    """Add a file that is no track; tables without notes, if places near are given."""
    room, _, rest = name.partition("/")
    pair = Path(rest).name.partition(".")[0]
    if room == TRACKS:
        return
    if room == PLANS and pair not in opened.settings.pairs:
        load.left_out.append(f"{name} is no pair's plan")
    elif name in FORMS and near is not None:
        _add_table(load, opened, name, read_whole(path), near)
    else:
        load.files[name] = read_whole(path)


def _add_table(load: _Load, opened: Opened, name: str, data: bytes, near: Area) -> None:
    try:
        table = plain_table(name, data, opened.venue.frame, near)
    except PracticeError as error:
        load.left_out.append(str(error))
        return
    load.files[name] = table.data
    load.notes += table.notes
    if table.columns:
        more = counted(table.columns, "column")
        load.left_out.append(f"{name}: {more} of your own left out")


def _add_as_recorded(load: _Load, opened: Opened) -> None:
    """Add each original with what was said of it, byte for byte."""
    folder = opened.practice.folder
    for original in opened.practice.originals:
        name = original.path.relative_to(folder).as_posix()
        if not is_practice_file(name):
            load.left_out.append(
                f"{name} has a name that not every system takes: rename it"
            )
            continue
        said = original.path.with_suffix(SAID)
        for path in (original.path, said) if said.is_file() else (original.path,):
            load.files[path.relative_to(folder).as_posix()] = read_whole(path)
        load.tracks += 1


def _add_plain(load: _Load, opened: Opened, near: Area, watch: Watch) -> None:
    """Add what of each original may be handed on, under a name that tells nothing."""
    for original in watch(opened.practice.originals, "Tracks"):
        try:
            track = plain_track(opened, original, near)
        except SweptwaterError as error:
            load.left_out.append(f"{original.pair}: {error}")
            continue
        load.away += track.away
        if not track.gpx:
            load.left_out.append(
                f"{original.pair}: {original.name} was nowhere near the water"
            )
            continue
        load.files |= _kept(original, track)
        load.tracks += 1
        load.fixes += track.fixes
        if track.day:
            load.days.add(track.day)


def _kept(original: Original, track: PlainTrack) -> dict[str, bytes]:
    """Return a track and what was said of it as a practice keeps them, by name."""
    name, digest = f"{original.pair}-{track.day or 'undated'}", digest_of(track.gpx)
    said = replace(original.said, name=f"{name}.gpx", digest=digest)
    stem = f"{TRACKS}/{original.pair}/{digest[:16]}-{name}"
    return {f"{stem}.gpx": track.gpx, f"{stem}{SAID}": said_text(said).encode()}
