"""A practice as one zip: which of its files go in, and how they come out again.

Nothing that an archive says of itself is trusted: a member is taken only if its name
is that of a file of a practice, sizes are counted while unpacking, and a folder is
there whole or not at all.

References
----------
PKWARE APPNOTE 6.3: names part by slashes; an upper half of the external attributes
that is a link's mode makes a member a link (of Unix, 4.4.15).
"""

import io
import os
import re
import shutil
import stat
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from zipfile import ZIP_DEFLATED, BadZipFile, ZipFile, ZipInfo

from sweptwater.errors import PracticeError
from sweptwater.practice.files import entries, write_whole
from sweptwater.practice.folder import (
    KEPT,
    SECTORS,
    SETTINGS,
    VENUE,
)
from sweptwater.practice.notes import NOTES
from sweptwater.practice.originals import SAID, SUFFIXES, TRACKS
from sweptwater.practice.plans import DAY, PLANS
from sweptwater.practice.remembered import REMEMBERED
from sweptwater.practice.strays import REMOVED
from sweptwater.practice.tally import TALLY

COMMENT = b"sweptwater practice"
"""The comment of a zip that we packed, by which it is known again."""

MOST_MEMBERS = 10_000
MOST_BYTES = 2**30
"""Unpacked: some 300 boat-days at one fix a second, as they were recorded."""

_TOP = (SETTINGS, VENUE, SECTORS, TALLY, NOTES, REMEMBERED)
_PLAN_ENDINGS = (".geojson", ".gpx", ".html", ".png")
_NAME = re.compile(r'[^.\x00-\x1f<>:"/\\|?*][^\x00-\x1f<>:"/\\|?*]{0,199}')
AGAIN = "ask for it again, or copy it once more"
_FIRST_DATE = (1980, 1, 1, 0, 0, 0)
_CHUNK = 2**20


def is_practice_file(name: str) -> bool:
    """Tell whether a name, parted by slashes, is that of a practice's own file.

    What can be made again, was set aside, or is nobody's is none.

    Examples
    --------
    >>> is_practice_file("tracks/Heron/1f0c9a2e-evening.gpx")
    True
    >>> [is_practice_file(n) for n in ("reports/x.html", "tracks/../practice.toml")]
    [False, False]
    """
    parts = name.split("/")
    if not all(_NAME.fullmatch(part) for part in parts):
        return False
    if len(parts) == 1:
        return name in _TOP or KEPT.fullmatch(name) is not None
    if len(parts) != 3 or parts[2].endswith((" ", ".")):
        return False
    ending = Path(parts[2]).suffix.lower()
    if parts[0] == TRACKS:
        return parts[1].casefold() != REMOVED and ending in (*SUFFIXES, SAID)
    return (
        parts[0] == PLANS
        and bool(DAY.fullmatch(parts[1]))
        and (ending in _PLAN_ENDINGS)
    )


def practice_files(folder: Path) -> Iterator[tuple[str, Path]]:
    """Yield the files of a practice, by name, each with where it lies.

    Raises
    ------
    PracticeError
        If a folder cannot be listed.
    """
    for path in entries(folder):
        if path.is_file():
            if is_practice_file(path.name):
                yield path.name, path
        elif path.name in (TRACKS, PLANS):
            for place in entries(path):
                for file in entries(place) if place.is_dir() else ():
                    name = f"{path.name}/{place.name}/{file.name}"
                    if file.is_file() and is_practice_file(name):
                        yield name, file


def packed(members: Iterable[tuple[str, bytes]]) -> bytes:
    """Return a zip of members; of the same ones it is always the same.

    Raises
    ------
    PracticeError
        If that is more than is unpacked again.

    Examples
    --------
    >>> once = packed([("b", b"2"), ("a", b"1")])
    >>> once == packed([("b", b"2"), ("a", b"1")])
    True
    """
    archive, files, size = io.BytesIO(), 0, 0
    with ZipFile(archive, "w") as zipped:
        zipped.comment = COMMENT
        for name, data in members:
            files, size = files + 1, size + len(data)
            if files > MOST_MEMBERS or size > MOST_BYTES:
                raise PracticeError(
                    f"the practice has more than {MOST_MEMBERS:,} files or "
                    f"{MOST_BYTES / 2**20:,.0f} MB: copy its folder instead"
                )
            info = ZipInfo(name, date_time=_FIRST_DATE)
            info.create_system = 3  # else it would tell the system it was made on
            info.external_attr = (stat.S_IFREG | 0o644) << 16
            zipped.writestr(info, data, ZIP_DEFLATED, compresslevel=6)
    return archive.getvalue()


@contextmanager
def unpacking(folder: Path, file: Path) -> Iterator[tuple[Path, tuple[str, ...]]]:
    """Unpack the practice that a zip holds; it gets its name if nothing fails.

    Parameters
    ----------
    folder
        Where it goes: nothing is there yet.

    Yields
    ------
    tuple
        Where it lies until then, to be looked at, and the names of what was in the zip
        and is no file of a practice.

    Raises
    ------
    PracticeError
        If something is there, the zip is none, is damaged, or holds no practice. After
        any error nothing is left behind.
    """
    to = folder.absolute()
    if os.path.lexists(to):
        raise PracticeError(f"{folder} is there already: name a folder that is not")
    part = to.with_name(f".{to.name}.unpacking~")
    try:
        shutil.rmtree(part, ignore_errors=True)  # what a crash left
        yield part, tuple(_unpack(part, file))
        part.rename(to)
    except OSError as error:
        raise PracticeError(
            f"{folder} cannot be written ({error.strerror or error}): choose another "
            "place"
        ) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _unpack(part: Path, file: Path) -> Iterator[str]:
    """Write the members of a zip that are a practice's; yield the names of others."""
    left, taken = MOST_BYTES, set[str]()
    with _opened(file) as zipped:
        infos = [info for info in zipped.infolist() if not info.is_dir()]
        if len(infos) > MOST_MEMBERS:
            raise PracticeError(
                f"{file.name} holds {len(infos):,} files, more than any practice: "
                "it is none that sweptwater packed"
            )
        for name, info in _named(infos):
            if not is_practice_file(name) or _is_link(info):
                yield name
                continue
            if name.casefold() in taken:
                raise PracticeError(f"{file.name} holds {name} twice: {AGAIN}")
            taken.add(name.casefold())
            data = _read(zipped, info, left)
            if data is None:
                raise PracticeError(
                    f"{file.name} unpacks to more than {MOST_BYTES / 2**20:,.0f} MB: "
                    "it is no practice"
                )
            left -= len(data)
            write_whole(part / name, data)
    lacking = [name for name in (SETTINGS, VENUE) if name not in taken]
    if lacking:
        raise PracticeError(
            f"{file.name} holds no practice: {' and '.join(lacking)} is not in it"
        )


@contextmanager
def _opened(file: Path) -> Iterator[ZipFile]:
    """Open a zip; what is wrong with it, then or later, becomes a sentence."""
    try:
        with file.open("rb") as stream, ZipFile(stream) as zipped:
            yield zipped
    except PracticeError:
        raise
    except (BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError) as error:
        raise PracticeError(
            f"{file.name} is no whole zip ({error}): {AGAIN}"
        ) from error
    except RuntimeError as error:  # a password
        raise PracticeError(f"{file.name} is locked ({error}): unlock it first") from (
            error
        )
    except OSError as error:
        raise PracticeError(
            f"{file} could not be read ({error.strerror or error}): {AGAIN}"
        ) from error


def _named(infos: Iterable[ZipInfo]) -> Iterator[tuple[str, ZipInfo]]:
    """Yield members with their names, without a folder around all of a practice.

    A file manager may have packed them anew: with one, or with backslashes.
    """
    names = {info: info.filename.replace("\\", "/") for info in infos}
    settings = [n for n in names.values() if n.rpartition("/")[2] == SETTINGS]
    top = min(settings, key=len, default=SETTINGS).removesuffix(SETTINGS)
    for info, name in names.items():
        yield name.removeprefix(top), info


def _is_link(info: ZipInfo) -> bool:
    return stat.S_ISLNK(info.external_attr >> 16)


def _read(zipped: ZipFile, info: ZipInfo, most: int) -> bytes | None:
    """Return a member; None if it is more than that."""
    data = bytearray()
    with zipped.open(info) as stream:
        while piece := stream.read(_CHUNK):
            data += piece
            if len(data) > most:
                return None
    return bytes(data)
