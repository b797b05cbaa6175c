"""Set a mistaken upload aside, and bring it back: nothing is ever deleted."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.practice.files import writing
from sweptwater.practice.folder import open_practice
from sweptwater.practice.originals import Original
from sweptwater.practice.removed import (
    among,
    bring_back,
    list_removed,
    named,
    set_aside,
)


@dataclass(frozen=True, slots=True)
class MovedLine:
    """A track that was moved, and where it lies now, in the practice folder."""

    file: str
    pair: str
    path: str


@dataclass(frozen=True, slots=True)
class Moved:
    """The tracks that were moved."""

    tracks: tuple[MovedLine, ...]


def remove(folder: Path, pair: str, names: Sequence[str]) -> Moved:
    """Set tracks of a pair aside, so that they do not count.

    Raises
    ------
    SweptwaterError
        If there is no such pair or track, before any is moved; or the folder cannot
        be written to.
    """

    def chosen(pair: str) -> list[Original]:
        practice = open_practice(folder)
        mine = tuple(item for item in practice.originals if item.pair == pair)
        gone = list_removed(folder, pair)
        for name in names:
            if not among(mine, name) and among(gone, name):
                raise PracticeError(f"{name} was removed already: it does not count")
        return [named(mine, name) for name in names]

    return _move(folder, pair, chosen, set_aside)


def restore(folder: Path, pair: str, names: Sequence[str]) -> Moved:
    """Bring removed tracks of a pair back, with what was said of them.

    Raises
    ------
    SweptwaterError
        If there is no such pair or removed track, or it is counted already, before any
        is moved; or the folder cannot be written to.
    """

    def chosen(pair: str) -> list[Original]:
        there = open_practice(folder).originals
        mine = tuple(item for item in there if item.pair == pair)
        gone = list_removed(folder, pair)
        for name in names:
            if not among(gone, name) and among(mine, name):
                raise PracticeError(f"{name} was not removed, or is back: it counts")
        counted = {item.digest for item in there}
        found = [named(gone, name) for name in names]
        for item in found:
            if item.digest in counted:
                raise PracticeError(
                    f"{item.name} was uploaded again since it was removed, and counts "
                    "already"
                )
        return found

    return _move(folder, pair, chosen, bring_back)


def _move(
    folder: Path,
    pair: str,
    chosen: Callable[[str], list[Original]],
    mover: Callable[[Path, Original], Path],
) -> Moved:
    pair = open_practice(folder).settings.pair_named(pair)
    with writing(folder):
        tracks = {item.path: item for item in chosen(pair)}  # told twice is told once
        lines = [
            MovedLine(
                item.name, pair, mover(folder, item).relative_to(folder).as_posix()
            )
            for item in tracks.values()
        ]
    return Moved(tuple(lines))
