"""Files that a user names to be written: what they may not replace."""

import json
import sqlite3
from collections.abc import Collection, Iterable
from contextlib import closing
from pathlib import Path
from xml.etree import ElementTree
from zipfile import BadZipFile, ZipFile

from sweptwater.errors import PracticeError
from sweptwater.practice.folder import REPORTS

CREATOR = "sweptwater"
"""Who our GPX and GeoJSON files say has made them."""


def is_report(folder: Path, file: Path) -> bool:
    """Tell whether a file is among the practice's reports, which can be made again."""
    return file.resolve().is_relative_to((folder / REPORTS).resolve())


def check_outside(folder: Path, file: Path) -> None:
    """Refuse to write among the files of a practice, but for its reports.

    Raises
    ------
    PracticeError
        If the file is in the practice folder.
    """
    inside = file.resolve().is_relative_to(folder.resolve())
    if inside and not is_report(folder, file):
        raise PracticeError(
            f"{file} would lie among the files of the practice: write it to "
            f"{folder / REPORTS / file.name}, or elsewhere"
        )


def check_gpx_target(file: Path) -> None:
    """Refuse to replace a file that is not a GPX file of ours.

    Raises
    ------
    PracticeError
        If there is such a file.
    """
    if file.exists() and not is_our_gpx(file):
        raise _not_ours(file)


def is_our_gpx(file: Path) -> bool:
    """Tell whether a file is GPX of ours."""
    return _gpx_creator(file) == CREATOR


def check_geojson_target(file: Path) -> None:
    """Refuse to replace a file that is not a GeoJSON file of ours.

    Raises
    ------
    PracticeError
        If there is such a file.
    """
    if file.exists() and _geojson_creator(file) != CREATOR:
        raise _not_ours(file)


def check_geopackage_target(
    file: Path, layers: Iterable[str], *, later: Collection[str] = ()
) -> None:
    """Refuse to replace a file that is not a GeoPackage with just these layers.

    Parameters
    ----------
    later
        Those of them that older files have not.

    Raises
    ------
    PracticeError
        If there is such a file.
    """
    before = [layer for layer in layers if layer not in later]
    if file.exists() and _layers_of(file) not in (sorted(layers), sorted(before)):
        raise _not_ours(file)


def check_zip_target(file: Path, comment: bytes) -> None:
    """Refuse to replace a file that is not a zip with this comment.

    Raises
    ------
    PracticeError
        If there is such a file.
    """
    if file.exists() and _zip_comment(file) != comment:
        raise _not_ours(file)


def _not_ours(file: Path) -> PracticeError:
    return PracticeError(
        f"{file} is there already and was not written by sweptwater: name another "
        "file, or move that one away"
    )


def _gpx_creator(file: Path) -> str | None:
    """Return the creator of a GPX file; None of a file that is none."""
    try:
        with file.open("rb") as stream:
            for _, root in ElementTree.iterparse(stream, events=("start",)):
                is_gpx = root.tag.rpartition("}")[2] == "gpx"
                return root.get("creator") if is_gpx else None
    except (OSError, ElementTree.ParseError, ValueError, LookupError):
        return None
    return None


def _geojson_creator(file: Path) -> str | None:
    try:
        told = json.loads(file.read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    return told.get("creator") if isinstance(told, dict) else None


def _zip_comment(file: Path) -> bytes | None:
    try:
        with ZipFile(file) as zipped:
            return zipped.comment
    except (OSError, BadZipFile, ValueError):
        return None


def _layers_of(file: Path) -> list[str] | None:
    """Return the names of a GeoPackage's layers, sorted; None of a file that is none.

    References
    ----------
    OGC 12-128r19, 1.1.3: the table `gpkg_contents` names them.
    """
    uri = f"{file.resolve().as_uri()}?mode=ro&immutable=1"
    try:
        with closing(sqlite3.connect(uri, uri=True)) as base:
            rows = base.execute("SELECT table_name FROM gpkg_contents").fetchall()
    except (sqlite3.Error, ValueError):
        return None
    return sorted(str(name) for (name,) in rows)
