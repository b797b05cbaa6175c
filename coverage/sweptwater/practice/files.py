"""Writing so that a crash at any instant leaves the old state or the new."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from sweptwater.errors import PracticeError

PART = ".part~"
LOCK = ".lock"
PATIENCE_S = 10.0
RETRIES = 5


def write_whole(path: Path, data: bytes | str) -> None:
    """Write a file so that it is there whole, or as it was before.

    Raises
    ------
    PracticeError
        If the folder is read-only or full, or another program holds the file open.
    """
    blob = data.encode("utf-8") if isinstance(data, str) else data
    part = path.with_name(f".{path.name}.{os.getpid()}{PART}")
    try:
        _make_folder(path.parent)
        with part.open("wb") as file:
            file.write(blob)
            file.flush()
            os.fsync(file.fileno())
        _replace(part, path)
        _flush_folder(path.parent)
    except OSError as error:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise PracticeError(
            f"{path} could not be written ({error.strerror or error}): is the folder "
            "read-only or full, or the file open in another program?"
        ) from error


def read_whole(path: Path) -> bytes:
    """Return a file's bytes.

    Raises
    ------
    PracticeError
        If it cannot be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise PracticeError(
            f"{path} could not be read ({error.strerror or error})"
        ) from error


@contextmanager
def writing(folder: Path) -> Iterator[None]:
    """Keep other writers out of a practice folder, and clear what a crash left.

    Raises
    ------
    PracticeError
        If another writer keeps the folder for longer than `PATIENCE_S`.
    """
    lock = FileLock(folder / LOCK, timeout=PATIENCE_S)
    try:
        lock.acquire()
    except Timeout as error:
        raise PracticeError(
            f"another command is writing to {folder}: wait until it is done"
        ) from error
    except (OSError, NotImplementedError) as error:
        why = getattr(error, "strerror", None) or error
        raise PracticeError(
            f"{folder} cannot be written to ({why}): is it read-only or full?"
        ) from error
    try:
        _clear_leftovers(folder)
        yield
    finally:
        lock.release()


def _clear_leftovers(folder: Path) -> None:
    for part in folder.rglob(f".*{PART}"):
        with suppress(OSError):
            part.unlink()


def _make_folder(folder: Path) -> None:
    """Make a folder, and its new name last."""
    if folder.is_dir():
        return
    _make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    _flush_folder(folder.parent)


def _replace(part: Path, path: Path) -> None:
    """Put a file in another's place; a spreadsheet may hold that open for a moment."""
    for attempt in range(RETRIES):
        try:
            part.replace(path)
        except PermissionError:
            if attempt == RETRIES - 1:
                raise
            time.sleep(0.1)
        else:
            return


def _flush_folder(folder: Path) -> None:
    """Make the new name last; a system that cannot open folders has no need to."""
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
