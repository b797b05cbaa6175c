"""Files in a practice folder that are not counted, and words that mean nothing."""

import glob
import os
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Literal, TypeAlias

from sweptwater.errors import PracticeError
from sweptwater.practice.files import is_unfinished, read_whole
from sweptwater.practice.originals import SUFFIXES, TRACKS, Original, digest_of
from sweptwater.practice.tables import near_words
from sweptwater.practice.targets import is_our_gpx

Why: TypeAlias = Literal["nobody", "below", "loose", "alone", "unreadable"]

REMOVED = "removed"
"""The folder in the tracks' one that is for what should not count."""

OTHER_TRACKS = (".nmea", ".zip", ".gz")
"""Endings of files that hold tracks in a way that is not read here."""

WORDS = ("name", "sha256", "shift_min", "all_fishing", "day", "corrected")
"""What is said of a track in the file beside it."""


@dataclass(frozen=True, slots=True)
class Stray:
    """A file that is not counted, and why.

    Parameters
    ----------
    shown
        Where it lies in the practice, with slashes.
    why
        `nobody`: a track in no pair's folder; `below`: a track in a folder below a
        pair's; `loose`: a track elsewhere in the practice, that was not uploaded;
        `alone`: what was said of a track that is not there; `unreadable`: another
        kind of file.
    pair
        The pair in whose folder it lies, if it is in one.
    """

    shown: str
    why: Why
    pair: str = ""


def stray_files(
    folder: Path, pairs: tuple[str, ...], originals: Iterable[Original]
) -> Iterator[Stray]:
    """Yield the files of a practice that are not counted, by name."""
    owners = _owners(folder, pairs)
    for path in _files_below(folder / TRACKS):
        parts = path.relative_to(folder / TRACKS).parts
        pair = owners.get(parts[0], "") if len(parts) > 1 else ""
        why = _why(path, own=len(parts) == 2, owned=bool(pair))
        if why:
            yield Stray(path.relative_to(folder).as_posix(), why, pair)
    yield from _loose(folder, {original.digest for original in originals})


def unclaimed_folders(folder: Path, pairs: tuple[str, ...]) -> Mapping[str, int]:
    """Return the folders of tracks that are no pair's, with how many tracks each has.

    One that is written with other capitals than its pair is unclaimed where the
    system tells them apart.
    """
    owners = _owners(folder, pairs)
    tracks = folder / TRACKS
    told = Counter(
        parts[0]
        for path in _files_below(tracks)
        if path.suffix.lower() in SUFFIXES
        and len(parts := path.relative_to(tracks).parts) > 1
        and parts[0] not in owners
    )
    return dict(sorted(told.items()))


def unknown_words(original: Original) -> Iterator[tuple[str, str]]:
    """Yield the words beside a track that mean nothing, and which may be meant."""
    try:
        said = tomllib.loads(read_whole(said_of(original)).decode("utf-8-sig"))
    except (PracticeError, ValueError, RecursionError):
        return  # it has none, or that is told already
    for word in said:
        near = near_words(word, WORDS)
        if word not in WORDS and near:
            yield word, near


def said_of(original: Original) -> Path:
    """Return where lies what was said of a track."""
    return original.path.with_suffix(".toml")


def digest_said(said: Path) -> str:
    """Return the hash of the track that a file tells of; nothing if it tells none."""
    try:
        table = tomllib.loads(read_whole(said).decode("utf-8-sig"))
    except (PracticeError, ValueError, RecursionError):
        return ""
    return str(table.get("sha256", ""))


def _files_below(tracks: Path) -> Iterator[Path]:
    """Yield the files that count or should, by name."""
    for path in sorted(tracks.rglob("*")):
        # What systems put there themselves, like .DS_Store, begins with a dot.
        hidden = path.name.startswith(".")
        removed = path.relative_to(tracks).parts[0] == REMOVED
        if not hidden and not removed and os.path.isfile(path):
            yield path


def _owners(folder: Path, pairs: tuple[str, ...]) -> Mapping[str, str]:
    """Return the pair of each folder that is one's, as the system names folders."""
    tracks = folder / TRACKS
    names = os.listdir(tracks) if tracks.is_dir() else []
    return {
        name: pair
        for name in names
        for pair in pairs
        if name == pair
        or (name.casefold() == pair.casefold() and _is_same(tracks, name, pair))
    }


def _is_same(tracks: Path, one: str, other: str) -> bool:
    """Tell whether two names are one folder's: the system may ignore capitals."""
    return (tracks / other).exists() and (tracks / one).samefile(tracks / other)


def _why(path: Path, *, own: bool, owned: bool) -> Why | None:
    """Return why a file below the tracks' folder does not count.

    Parameters
    ----------
    own, owned
        Whether it lies right in a folder there, and whether that is a pair's.
    """
    suffix = path.suffix.lower()
    if suffix in SUFFIXES:
        return None if owned and own else "below" if owned else "nobody"
    if not (owned and own):
        return "unreadable" if suffix in OTHER_TRACKS else None
    if suffix == ".toml":
        return None if _has_track(path) else "alone"
    return "unreadable"


def _loose(folder: Path, known: set[str]) -> Iterator[Stray]:
    """Yield the tracks outside the tracks' folder that were not uploaded."""
    found = [path for path in _outside(folder) if not is_our_gpx(path)]
    if found:
        known = known | set(map(_digest, (folder / TRACKS / REMOVED).rglob("*.*")))
    for path in found:
        if _digest(path) not in known:
            yield Stray(path.relative_to(folder).as_posix(), "loose")


def _outside(folder: Path) -> Iterator[Path]:
    for here, below, names in os.walk(folder):
        place = Path(here)
        below[:] = sorted(
            name
            for name in below
            if not name.startswith(".")
            and not (place == folder and name == TRACKS)
            and not (place / name / "practice.toml").exists()  # another practice
        )
        for name in sorted(names):
            if Path(name).suffix.lower() in SUFFIXES and not name.startswith("."):
                yield place / name


def _digest(path: Path) -> str:
    try:
        return digest_of(read_whole(path)) if path.is_file() else ""
    except PracticeError:
        return ""


def _has_track(said: Path) -> bool:
    """Return whether there is a track to tell of; or was to be, but for a crash."""
    if is_unfinished(said) or _is_copied(said):
        return True
    beside = said.parent.glob(f"{glob.escape(said.stem)}.*")
    return any(other.suffix.lower() in SUFFIXES for other in beside)


def _is_copied(said: Path) -> bool:
    """Return whether a copy was made to move a track, which a crash then stopped."""
    aside = said.parent.parent / REMOVED
    copies = chain(aside.glob("*.toml"), (aside / said.parent.name).glob("*.toml"))
    return any(_same(said, copy) for copy in copies)


def _same(one: Path, other: Path) -> bool:
    """Return whether two files can be read and are the same."""
    try:
        return one.read_bytes() == other.read_bytes()
    except OSError:
        return False
