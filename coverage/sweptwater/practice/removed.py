"""Tracks that should not count: set aside in `tracks/removed/`, never deleted."""

import os
from collections.abc import Callable, Iterator
from itertools import chain, count
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.practice.files import move_together, read_whole
from sweptwater.practice.originals import SAID, TRACKS, Original, originals_in
from sweptwater.practice.strays import REMOVED


def list_removed(folder: Path, pair: str) -> tuple[Original, ...]:
    """Return the tracks of a pair that were removed, by name.

    Those that were put there by hand, in no pair's folder, can be anyone's.
    """
    aside = folder / TRACKS / REMOVED
    return (*originals_in(aside / pair, pair), *originals_in(aside, pair))


def set_aside(folder: Path, original: Original) -> Path:
    """Move a track, with what was said of it, to where it does not count.

    The caller holds the folder.

    Raises
    ------
    PracticeError
        If the folder cannot be written to.
    """
    return _moved(original, folder / TRACKS / REMOVED / original.pair)


def bring_back(folder: Path, original: Original) -> Path:
    """Move a removed track, with what was said of it, back to its pair.

    The caller holds the folder.

    Raises
    ------
    PracticeError
        If the folder cannot be written to.
    """
    return _moved(original, folder / TRACKS / original.pair)


def among(tracks: tuple[Original, ...], wanted: str) -> bool:
    """Tell whether a name means one or more of some tracks."""
    return bool(_meant(tracks, wanted))


def named(tracks: tuple[Original, ...], wanted: str) -> Original:
    """Return the track of a name: that of its file, its own, or the hash's start.

    A path to it will do too: completion and messages give one.

    Raises
    ------
    PracticeError
        If there is none, or several.
    """
    found = _meant(tracks, wanted)
    if len(found) == 1:
        return found[0]
    there = ", ".join(item.path.name for item in (found or tracks)[:12])
    if found:
        raise PracticeError(
            f"{wanted} is the name of {len(found)} tracks: say which, of {there}"
        )
    raise PracticeError(
        f"there is no track {wanted}"
        + (f": the tracks there are {there}" if there else ", nor any other")
    )


def _meant(tracks: tuple[Original, ...], wanted: str) -> list[Original]:
    name = Path(wanted).name
    ways: tuple[Callable[[Original], bool], ...] = (
        lambda item: item.path.name == name,
        lambda item: item.name == name,
        lambda item: len(wanted) >= 4 and item.digest.startswith(wanted.casefold()),
    )
    return next(filter(None, (list(filter(way, tracks)) for way in ways)), [])


def _moved(original: Original, to: Path) -> Path:
    target = next(
        place
        for place in _places(to, original.path)
        if not os.path.lexists(place) and _is_free(place.with_suffix(SAID), original)
    )
    move_together(original.path, target)
    return target


def _is_free(place: Path, original: Original) -> bool:
    """Tell whether nothing is there that was said of another track.

    When a crash stops a moving, what was said is there twice, and the track is not.
    """
    if not os.path.lexists(place):
        return True
    said = original.path.with_suffix(SAID)
    return said.is_file() and read_whole(place) == read_whole(said)


def _places(to: Path, path: Path) -> Iterator[Path]:
    more = (f"{path.stem}-{number}{path.suffix}" for number in count(2))
    return (to / name for name in chain([path.name], more))
