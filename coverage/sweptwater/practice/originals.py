"""The originals that pairs brought in, and what the user said of each.

An original is kept byte for byte as `tracks/<pair>/<first of its hash>-<its name>`;
beside it lies a small TOML file with its whole hash and what was said of it. That is
written first, so that an original is never there without it.
"""

import hashlib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from pathlib import Path, PurePosixPath
from typing import Any

from sweptwater.errors import PracticeError
from sweptwater.practice.files import read_whole, write_whole
from sweptwater.practice.template import toml_string

TRACKS = "tracks"
SUFFIXES = (".gpx",)
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
    name
        What it was called when it came.
    digest
        The SHA-256 of its bytes, in hexadecimal.
    shift_s
        What its clock must be put forward by, in seconds.
    fault
        Why it cannot be used, if what was said of it cannot be understood.
    """

    path: Path
    pair: str
    name: str
    digest: str
    shift_s: float = 0.0
    fault: str = ""

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
    """
    return tuple(
        _original(path, pair)
        for pair in pairs
        for path in sorted((folder / TRACKS / pair).glob("*"))
        if path.suffix.lower() in SUFFIXES
        and not path.name.startswith(".")
        and path.is_file()
    )


def keep_original(
    folder: Path, pair: str, name: str, data: bytes, *, shift_s: float = 0.0
) -> Original:
    """Write an original and what was said of it, and return it.

    Raises
    ------
    PracticeError
        If the folder cannot be written to, or the shift is no number.
    """
    digest = digest_of(data)
    if not isfinite(shift_s):
        raise PracticeError(f"a clock cannot be put forward by {shift_s} s")
    plain = name.encode("utf-8", "replace").decode("utf-8")
    name = PurePosixPath(plain.replace("\\", "/")).name or "track"
    path = _free_path(folder / TRACKS / pair, digest, _safe(name))
    shift_min = repr(shift_s / 60).removesuffix(".0")
    said = (
        "# What was said of the track beside this file. The track itself is never "
        "changed.\n"
        f"name = {toml_string(name)}\n"
        f'sha256 = "{digest}"\n'
        f"shift_min = {shift_min}  # its clock is put forward by this\n"
    )
    write_whole(path.with_suffix(".toml"), said)
    write_whole(path, data)
    return Original(path, pair, name, digest, shift_s)


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
        name = str(said.get("name", path.name))
        digest = str(said.get("sha256") or digest_of(read_whole(path)))
        return Original(path, pair, name, digest, 60 * _minutes(said))
    except PracticeError as error:  # no permission, or a disk that fails
        return Original(path, pair, path.name, "", fault=str(error))
    except (ValueError, RecursionError) as error:
        shown = f"{TRACKS}/{pair}/{path.with_suffix('.toml').name}"
        fault = (
            f"{shown} cannot be read ({error}): mend that line, or delete the file to "
            "take the track as it is"
        )
        return Original(path, pair, path.name, _digest_there(path), fault=fault)


def _digest_there(path: Path) -> str:
    """Return the hash of a track, so that it is known again; none if unreadable."""
    try:
        return digest_of(read_whole(path))
    except PracticeError:
        return ""


def _said(path: Path) -> dict[str, Any]:
    """Return what was said of a track; nothing, of one that was put there by hand."""
    said_path = path.with_suffix(".toml")
    if not said_path.exists():
        return {}
    return tomllib.loads(read_whole(said_path).decode("utf-8-sig"))


def _minutes(said: Mapping[str, Any]) -> float:
    value = said.get("shift_min", 0)
    if (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or not isfinite(value)
    ):
        raise ValueError(f"shift_min must be a number of minutes, not {value!r}")
    return float(value)
