"""The originals that pairs brought in, and what the user said of each.

An original is kept byte for byte as `tracks/<pair>/<first of its hash>-<its name>`;
beside it lies a small TOML file with its whole hash and what was said of it. That is
written first, so that an original is never there without it.
"""

import hashlib
import json
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.practice.files import read_whole, write_whole

SUFFIXES = (".gpx",)


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
    """

    path: Path
    pair: str
    name: str
    digest: str
    shift_s: float = 0.0

    def read(self) -> bytes:
        """Return its bytes."""
        return read_whole(self.path)


def digest_of(data: bytes) -> str:
    """Return the hash that an original is known by."""
    return hashlib.sha256(data).hexdigest()


def list_originals(folder: Path, pairs: tuple[str, ...]) -> tuple[Original, ...]:
    """Return the originals of a practice, by pair and name.

    Files that were put into a pair's folder by hand count too.

    Raises
    ------
    PracticeError
        If what was said of one cannot be read.
    """
    return tuple(
        _original(path, pair)
        for pair in pairs
        for path in sorted((folder / "tracks" / pair).glob("*"))
        if path.suffix.lower() in SUFFIXES and not path.name.startswith(".")
    )


def keep_original(
    folder: Path, pair: str, name: str, data: bytes, *, shift_s: float = 0.0
) -> Original:
    """Write an original and what was said of it, and return it.

    Raises
    ------
    PracticeError
        If the folder cannot be written to.
    """
    digest = digest_of(data)
    safe = re.sub(r"[^\w.-]+", "-", Path(name).name).strip("-.")[-80:] or "track.gpx"
    path = folder / "tracks" / pair / f"{digest[:8]}-{safe}"
    said = (
        "# What was said of the track beside this file. The track itself is never "
        "changed.\n"
        f"name = {json.dumps(Path(name).name, ensure_ascii=False)}\n"
        f'sha256 = "{digest}"\n'
        f"shift_min = {shift_s / 60:g}  # its clock is put forward by this\n"
    )
    write_whole(path.with_suffix(".toml"), said)
    write_whole(path, data)
    return Original(path, pair, Path(name).name, digest, shift_s)


def _original(path: Path, pair: str) -> Original:
    said_path = path.with_suffix(".toml")
    if not said_path.exists():
        return Original(path, pair, path.name, digest_of(read_whole(path)))
    try:
        said = tomllib.loads(read_whole(said_path).decode("utf-8"))
        return Original(
            path,
            pair,
            str(said.get("name", path.name)),
            str(said.get("sha256") or digest_of(read_whole(path))),
            60 * float(said.get("shift_min", 0)),
        )
    except (ValueError, TypeError) as error:
        raise PracticeError(
            f"{said_path} cannot be read ({error}): mend that line, or delete the file "
            "to take the track as it is"
        ) from error
