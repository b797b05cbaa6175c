"""Writing so that a crash at any instant leaves the old state or the new."""

import errno
import glob
import os
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from sweptwater.errors import PracticeError

PART = ".part~"
PAIRED = ".pair~"
"""The ending of the part of a file whose companion is written before it."""
LOCK = ".lock"
PATIENCE_S = 10.0
RETRIES = 5
FULL = (errno.ENOSPC, errno.EDQUOT)


def write_whole(path: Path, data: bytes | str) -> None:
    """Write a file so that it is there whole, or as it was before.

    Raises
    ------
    PracticeError
        If the folder is read-only or full, or another program holds the file open.
    """
    with _part_of(path) as part:
        for attempt in range(RETRIES):
            _fill(part, data)
            try:
                _replace(part, path)
                break
            except FileNotFoundError:
                # Reports are written without the lock: a writer that came just then
                # has cleared the part away as if a crash had left it.
                if attempt == RETRIES - 1:
                    raise
        _flush_folder(path.parent)


def write_together(path: Path, data: bytes | str, companion_data: bytes | str) -> None:
    """Write a file and its companion, the same but for the ending .toml, or neither.

    The companion is in place first; should something stop the writing just then, the
    part that is left of the other tells the next writer to clear both. One that was
    there before is never cleared.

    Raises
    ------
    PracticeError
        If the folder is read-only or full, or another program holds a file open.
    """
    companion = path.with_suffix(".toml")
    if os.path.lexists(companion):
        write_whole(companion, companion_data)
        write_whole(path, data)
        return
    with _part_of(path, PAIRED) as part:
        _fill(part, data)
        _flush_folder(path.parent)  # or a power cut may keep the companion alone
        write_whole(companion, companion_data)
        try:
            _replace(part, path)
        except OSError:
            with suppress(OSError):
                companion.unlink()
            raise
        _flush_folder(path.parent)


def move_together(path: Path, to: Path) -> None:
    """Move a file, and its companion if it has one, to where nothing is yet.

    The companion is copied first: should something stop the moving, there may be two
    of it, and never a file without.

    Raises
    ------
    PracticeError
        If a folder is read-only or full, or another program holds a file open.
    """
    companion, copy = path.with_suffix(".toml"), to.with_suffix(".toml")
    told = os.path.lexists(companion)  # of a very long name there can be none
    try:
        if told:
            write_whole(copy, read_whole(companion))
        _make_folder(to.parent)
        try:
            _replace(path, to)
        except OSError:
            if told and path.exists():  # the copy tells of nothing
                copy.unlink(missing_ok=True)
            raise
        _flush_folder(to.parent)
        _flush_folder(path.parent)
        if told:
            # Only now: a power cut may keep a later change and lose an earlier one.
            companion.unlink(missing_ok=True)
            _flush_folder(path.parent)
    except OSError as error:
        raise PracticeError(_why(f"{path} could not be moved", error)) from error


def entries(folder: Path) -> list[Path]:
    """Return what lies in a folder, by name; nothing, if there is no such folder.

    Raises
    ------
    PracticeError
        If it cannot be listed, so that nothing in it is passed over without a word.
    """
    try:
        return sorted(folder.iterdir())
    except OSError as error:
        if isinstance(error, FileNotFoundError) and not _dangles(folder):
            return []
        raise PracticeError(
            f"{folder} could not be read as a folder ({error.strerror or error})"
        ) from error


def _dangles(folder: Path) -> bool:
    """Tell whether a folder, or the one that it is in, is a link to nowhere."""
    return any(
        place.is_symlink() and not place.exists() for place in (folder, folder.parent)
    )


def _why(what: str, error: OSError) -> str:
    """Return the sentence about a writing that failed."""
    told = f"{what} ({error.strerror or error})"
    if error.errno in FULL:
        return (
            f"{told}: the disk is full; make room there, if need be by deleting the "
            "practice's .cache, and try again"
        )
    return (
        f"{told}: is the folder read-only or full, or the file open in another program?"
    )


@contextmanager
def _part_of(path: Path, ending: str = PART) -> Iterator[Path]:
    """Yield the place for a file's bytes until they are whole; tell what fails."""
    part = path.with_name(f".{path.name}.{os.getpid()}{ending}")
    try:
        _make_folder(path.parent)
        yield part
    except OSError as error:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise PracticeError(_why(f"{path} could not be written", error)) from error
    except PracticeError:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise


def _fill(part: Path, data: bytes | str) -> None:
    if isinstance(data, str):
        # What a terminal could not pass on as UTF-8 (PEP 383) becomes a question mark.
        data = data.encode("utf-8", "replace")
    with part.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def is_unfinished(companion: Path) -> bool:
    """Return whether a file's companion lies there because its writing was stopped."""
    parts = companion.parent.glob(f".{glob.escape(companion.stem)}.*{PAIRED}")
    return any(_target(part).stem == companion.stem for part in parts)


def _target(part: Path) -> Path:
    """Return the file that a part was to become."""
    name = part.name.removeprefix(".").removesuffix(PAIRED).rpartition(".")[0]
    return part.with_name(name)


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
    if not folder.is_dir():  # a lock would make it anew
        raise PracticeError(f"{folder} cannot be written to: there is no such folder")
    lock = FileLock(folder / LOCK, timeout=PATIENCE_S)
    try:
        with warnings.catch_warnings():
            # Where a file system has no locks, filelock warns and uses a marker.
            warnings.simplefilter("ignore")
            lock.acquire()
    except Timeout as error:
        raise PracticeError(
            f"another command is writing to {folder}: wait until it is done, or end it"
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
    """Delete what a crash left; a companion before the part that accounts for it."""
    parts = [path for path in _hidden_files(folder) if path.name.endswith(PAIRED)]
    for part in parts:
        target = _target(part)
        with suppress(OSError):
            if not target.exists():
                target.with_suffix(".toml").unlink(missing_ok=True)
                _flush_folder(part.parent)
            part.unlink()
    for part in _hidden_files(folder):
        if part.name.endswith(PART):
            with suppress(OSError):
                part.unlink()


def _hidden_files(folder: Path) -> Iterator[Path]:
    """Yield the files of a practice whose names begin with a dot.

    The folders of pairs may be links to elsewhere; a practice inside this one has a
    lock of its own.
    """
    linked = (path for path in folder.glob("tracks/*") if path.is_symlink())
    for top in (folder, *linked):
        for place, folders, names in os.walk(top):
            if LOCK in names and Path(place) != folder:
                folders.clear()
                continue
            yield from (Path(place, name) for name in names if name.startswith("."))


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
