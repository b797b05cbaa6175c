"""The originals that pairs brought in, and what the user said of each.

An original is kept byte for byte as `tracks/<pair>/<first of its hash>-<its name>`;
beside it lies a small TOML file with its whole hash and what was said of it: an
original that was uploaded is never there without it.
"""

import hashlib
import os
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from math import isfinite
from pathlib import Path, PurePosixPath

from sweptwater.errors import PracticeError
from sweptwater.practice.files import (
    entries,
    read_whole,
    write_together,
    write_whole,
)
from sweptwater.practice.said import Correction, Said, parse_said, said_text

TRACKS = "tracks"
SUFFIXES = (".gpx", ".fit", ".tcx", ".kml", ".kmz")
"""What files of tracks are called; what they are, their contents say."""

SAID = ".toml"
LONGEST_BYTES = 80


@dataclass(frozen=True, slots=True)
class Original:
    """One file that a pair brought in.

    Parameters
    ----------
    path
        Where it lies.
    pair
        Whose it is.
    said
        What was said of it: its name and its hash too.
    fault
        Why it cannot be used, if what was said of it cannot be understood.
    """

    path: Path
    pair: str
    said: Said = field(default_factory=Said)
    fault: str = ""

    @property
    def name(self) -> str:
        """What it was called when it came."""
        return self.said.name

    @property
    def digest(self) -> str:
        """The SHA-256 of its bytes, in hexadecimal."""
        return self.said.digest

    @property
    def shift_s(self) -> float:
        """What its clock must be put forward by, in seconds."""
        return self.said.shift_s

    @property
    def corrections(self) -> tuple[Correction, ...]:
        """What its drifts really were, by the right clock."""
        return tuple(item.shifted(self.shift_s) for item in self.said.corrections)

    def read(self) -> bytes:
        """Return its bytes.

        Raises
        ------
        PracticeError
            If it cannot be read, or it is not known what was said of it.
        """
        if self.fault:
            raise PracticeError(self.fault)
        return read_whole(self.path)


def digest_of(data: bytes) -> str:
    """Return the hash that an original is known by."""
    return hashlib.sha256(data).hexdigest()


def list_originals(folder: Path, pairs: tuple[str, ...]) -> tuple[Original, ...]:
    """Return the originals of a practice, by pair and name.

    Files that were put into a pair's folder by hand count too. One that cannot be
    understood is at fault alone.

    Raises
    ------
    PracticeError
        If a folder cannot be listed.
    """
    return tuple(
        original
        for pair in pairs
        for original in originals_in(folder / TRACKS / pair, pair)
    )


def originals_in(place: Path, pair: str) -> Iterator[Original]:
    """Yield the originals that lie in one folder, as a pair's, by name.

    Raises
    ------
    PracticeError
        If the folder cannot be listed.
    """
    for path in entries(place):
        hidden = path.name.startswith(".")
        if path.suffix.lower() in SUFFIXES and not hidden and _is_file(path):
            original = _original(path, pair)
            if not _is_gone(path):  # moved by another command since it was listed
                yield original


def left_said(folder: Path, pair: str, digest: str) -> Said | None:
    """Return what was said of a track that somebody took away, if it was left there.

    Raises
    ------
    PracticeError
        If the pair's folder cannot be listed.
    """
    for path in entries(folder / TRACKS / pair):
        if path.suffix == SAID and path.name.startswith(digest[:8]):
            with suppress(PracticeError, ValueError, RecursionError):
                said = _said(path)
                if said.digest == digest:
                    return said
    return None


def keep_original(folder: Path, pair: str, said: Said, data: bytes) -> Original:
    """Write an original and what was said of it, and return it.

    Its hash is taken from the bytes.

    Raises
    ------
    PracticeError
        If the folder cannot be written to, or the shift is no number.
    """
    if not isfinite(said.shift_s):
        raise PracticeError(f"a clock cannot be put forward by {said.shift_s} s")
    if not folder.is_dir():  # and is not to be made anew: its disk was taken out
        raise PracticeError(f"{folder} is not there any more: nothing was kept")
    plain = said.name.encode("utf-8", "replace").decode("utf-8")
    name = PurePosixPath(plain.replace("\\", "/")).name or "track"
    said = replace(said, name=name, digest=digest_of(data))
    path = _free_path(folder / TRACKS / pair, said.digest, _safe(name))
    write_together(path, data, said_text(said))
    return Original(path, pair, said)


def save_said(original: Original) -> None:
    """Write anew what was said of an original; the caller holds the folder.

    Raises
    ------
    PracticeError
        If the folder cannot be written to.
    """
    write_whole(original.path.with_suffix(SAID), said_text(original.said))


def _is_file(path: Path) -> bool:
    """Tell whether something is a file, or what reading will say why it is not."""
    try:
        return path.is_file() or (path.is_symlink() and not path.exists())
    except OSError:
        return True


def _is_gone(path: Path) -> bool:
    """Tell whether nothing is there; not, if that cannot be told."""
    try:
        path.lstat()
    except FileNotFoundError:
        return True
    except OSError:
        return False
    return False


def _safe(name: str) -> str:
    """Return a name that any file system takes, with an ending that is listed."""
    stem, end = PurePosixPath(name).stem, PurePosixPath(name).suffix
    if end.lower() not in SUFFIXES:
        stem, end = name, SUFFIXES[0]
    stem = re.sub(r"[^\w.-]+", "-", stem)
    # File systems count bytes; half a character at the cut is dropped.
    stem = stem.strip("-.").encode("utf-8")[-LONGEST_BYTES:].decode("utf-8", "ignore")
    return f"{stem.strip('-.') or 'track'}{end}"


def _free_path(folder: Path, digest: str, name: str) -> Path:
    """Return where bytes of a hash go: never over others that begin like it."""
    for length in range(8, len(digest), 8):
        path = folder / f"{digest[:length]}-{name}"
        if not path.exists() or digest_of(read_whole(path)) == digest:
            return path
    return folder / f"{digest}-{name}"


def _original(path: Path, pair: str) -> Original:
    try:
        said = _said(path)
        digest = said.digest or digest_of(read_whole(path))
        named = replace(said, name=said.name or path.name, digest=digest)
        return Original(path, pair, named)
    except PracticeError as error:  # no permission, or a disk that fails
        return Original(path, pair, Said(path.name), fault=str(error))
    except (ValueError, RecursionError) as error:
        shown = f"{TRACKS}/{pair}/{path.with_suffix(SAID).name}"
        fault = (
            f"{shown} cannot be read ({error}): mend that line, or delete the file to "
            "take the track as it is"
        )
        return Original(path, pair, Said(path.name, _digest_there(path)), fault)


def _digest_there(path: Path) -> str:
    """Return the hash of a track, so that it is known again; none if unreadable."""
    try:
        return digest_of(read_whole(path))
    except PracticeError:
        return ""


def _said(path: Path) -> Said:
    """Return what was said of a track; nothing, of one that was put there by hand."""
    said_path = path.with_suffix(SAID)
    if not os.path.lexists(said_path):
        return Said()
    return parse_said(read_whole(said_path).decode("utf-8-sig"))
