"""What was worked out before, kept in `.cache/`: anyone may delete it at any time.

An entry is a plain `.npz` file of arrays, named by the hash of all that it was made
from, so that it can never be out of date: what was made from something else has
another name.
"""

import hashlib
import os
import shutil
import zipfile
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

CACHE = ".cache"

SPARED = 2.0
"""Entries beyond so many times those in use are deleted, the oldest first."""

SPACE = 100_000_000
"""Bytes of a disk that are left free for the user's own files."""

PART = ".part"
WHOLE = "whole"
"""The array that names the others, so that none can be missing unnoticed."""

DAMAGED = (
    *(OSError, ValueError, EOFError, KeyError, MemoryError),
    *(zipfile.BadZipFile, RuntimeError),  # a damaged one may seem to be encrypted
)

Arrays = Mapping[str, npt.NDArray[Any]]


def key_of(*parts: str | bytes) -> str:
    """Return the name of what is made from some parts, in hexadecimal.

    Examples
    --------
    >>> key_of("ab", "c") == key_of("a", "bc")
    False
    """
    told = hashlib.sha256()
    for part in parts:
        blob = part.encode("utf-8", "surrogatepass") if isinstance(part, str) else part
        told.update(len(blob).to_bytes(8, "little"))
        told.update(blob)
    return told.hexdigest()[:40]


@dataclass(frozen=True, slots=True)
class Cache:
    """The entries of one practice folder.

    Parameters
    ----------
    folder
        The practice folder. Where it cannot be written to, nothing is kept.
    """

    folder: Path

    def load(self, key: str, names: Iterable[str] | None = None) -> Arrays | None:
        """Return what was kept under a key, or some of it; None if it is not there."""
        try:
            # Opened here: a damaged one would be left open.
            with (
                self._path(key).open("rb") as file,
                np.load(file, allow_pickle=False) as entry,
            ):
                told = str(entry[WHOLE])
                if told != _names(set(entry.files) - {WHOLE}):
                    return None
                return {name: entry[name] for name in names or told.split("\n")}
        except DAMAGED:
            return None

    def store(self, key: str, arrays: Arrays) -> None:
        """Keep arrays under a key, if that can be done and leaves the disk `SPACE`.

        The disk is not waited for: an entry that a power cut damages is no more than
        made again.
        """
        path = self._path(key)
        part = path.with_name(f".{key}.{os.getpid()}{PART}")
        whole = {**arrays, WHOLE: np.array(_names(arrays))}
        try:
            if shutil.disk_usage(self.folder).free < SPACE:
                return
            path.parent.mkdir(exist_ok=True)
            with part.open("wb") as file:
                np.savez(file, **whole)  # type: ignore[arg-type]  # names are ours
            part.replace(path)
        except OSError:
            with suppress(OSError):
                part.unlink(missing_ok=True)

    def has(self, key: str) -> bool:
        """Return whether something is kept under a key, whole or not.

        Not, too, where that cannot be looked at.
        """
        return os.path.exists(self._path(key))  # `Path.exists` raises then

    def ready(self) -> bool:
        """Return whether something can be kept: the folder is there or can be made."""
        try:
            self._path("").parent.mkdir(exist_ok=True)
            free = shutil.disk_usage(self.folder).free
        except OSError:
            return False
        return free >= SPACE and os.access(self._path("").parent, os.W_OK | os.X_OK)

    def tidy(self, used: Iterable[str]) -> None:
        """Delete the oldest entries that were not used, if they have become many.

        What a crash left half written goes at once. If another command is writing it
        just now, that one finds it gone and goes on without.
        """
        names = {f"{key}.npz" for key in used}
        try:
            there = [
                path
                for path in (self.folder / CACHE).iterdir()
                if path.name not in names
            ]
            halves = [path for path in there if path.suffix == PART]
            spare = [path for path in there if path.suffix != PART]
            spare.sort(key=lambda path: path.stat().st_mtime)
        except OSError:
            return
        surplus = len(spare) - int((SPARED - 1) * len(names))
        for path in (*halves, *spare[: max(0, surplus)]):
            with suppress(OSError):
                path.unlink()

    def _path(self, key: str) -> Path:
        return self.folder / CACHE / f"{key}.npz"


def _names(arrays: Iterable[str]) -> str:
    return "\n".join(sorted(arrays))
