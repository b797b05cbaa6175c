"""Files in the tracks' folder that are not counted."""

import glob
import os
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Literal, TypeAlias, get_args

from sweptwater.practice.files import is_unfinished
from sweptwater.practice.originals import SUFFIXES, TRACKS

Why: TypeAlias = Literal["nobody", "alone", "unreadable"]
WHYS: tuple[Why, ...] = get_args(Why)

REMOVED = "removed"
"""The folder in the tracks' one that is for what should not count."""


@dataclass(frozen=True, slots=True)
class Stray:
    """A file that is not counted, and why.

    Parameters
    ----------
    shown
        Where it lies in the practice, with slashes.
    why
        `nobody`: a track in no pair's folder; `alone`: what was said of a track that
        is not there; `unreadable`: another kind of file.
    """

    shown: str
    why: Why


def stray_files(folder: Path, pairs: tuple[str, ...]) -> Iterator[Stray]:
    """Yield the files in the tracks' folder that are not counted, by name."""
    tracks = folder / TRACKS
    for path in sorted(tracks.rglob("*")):
        parts, suffix = path.relative_to(tracks).parts, path.suffix.lower()
        # What systems put there themselves, like .DS_Store, begins with a dot.
        if not os.path.isfile(path) or path.name.startswith(".") or parts[0] == REMOVED:
            continue
        shown = path.relative_to(folder).as_posix()
        known = len(parts) == 2 and parts[0] in pairs
        if not known and suffix in SUFFIXES:
            yield Stray(shown, "nobody")
        elif known and suffix == ".toml":
            if not _has_track(path):
                yield Stray(shown, "alone")
        elif known and suffix not in SUFFIXES:
            yield Stray(shown, "unreadable")


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
