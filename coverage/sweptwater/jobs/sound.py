"""Add soundings and contours to the venue."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, TypeAlias

import numpy as np
import shapely

from sweptwater.arrays import Floats
from sweptwater.errors import VenueError
from sweptwater.jobs.opened import Opened, open_folder
from sweptwater.practice.files import writing
from sweptwater.practice.folder import check_practice, save_venue
from sweptwater.practice.geojson import Feature
from sweptwater.practice.soundings import sounded, sounding_shape
from sweptwater.units import System, depth_text
from sweptwater.water.depth import DepthSurface, on_water
from sweptwater.water.depth_files import Depths, read_depths

LISTED = 5
"""So many rows that cannot be are told one by one."""

SAME_DEG, SAME_M = 1e-7, 0.005
"""Soundings nearer to each other than about this are one."""


@dataclass(frozen=True, slots=True)
class Sounded:
    """What was added: soundings, or contours; depths in metres.

    Parameters
    ----------
    kind
        `sounding` or `contour`.
    added, known, off_water, refused
        How many are new, were there already, lie off the water, or cannot be.
    depth_low_m, depth_high_m
        Of those of the file that count.
    soundings, contours
        How many the venue has now.
    good_to_m
        What eight of ten depths between them are good to; None of too few.
    quality
        The same as a sentence.
    remarks
        What cannot be, row by row.
    """

    kind: str
    added: int
    known: int
    off_water: int
    refused: int
    depth_low_m: float
    depth_high_m: float
    soundings: int
    contours: int
    good_to_m: float | None
    quality: str
    units: System
    remarks: tuple[str, ...]


def add_depths(
    folder: Path,
    kind: Literal["sounding", "contour"],
    file: Path,
    *,
    unit: str | None = None,
    all_m: float | None = None,
    crs: str | None = None,
) -> Sounded:
    """Add the soundings or contours of a file; those that are there change nothing.

    Parameters
    ----------
    unit
        m, ft or yd, where the file does not say it.
    all_m
        The one depth of all that it holds, in metres.
    crs
        The file's coordinate system, if it does not say its own.

    Raises
    ------
    SweptwaterError
        If the folder or the file is unusable, or nothing of it lies on the water.
    """
    check_practice(folder)
    found = read_depths(
        file, soundings=kind == "sounding", unit=unit, all_m=all_m, crs=crs
    )
    if not len(found.soundings) and not found.contours:
        if found.faults:
            raise VenueError(f"nothing of it can be used; {found.faults[0]}")
        what = "points" if kind == "sounding" else "lines or areas"
        raise VenueError(
            f"{file.name} holds no {what}, and {kind} needs them: draw them and save "
            "again"
        )
    with writing(folder):
        opened = open_folder(folder)
        return _added(opened, kind, found, file.name)


def quality_text(surface: DepthSurface, units: System) -> str:
    """Return how good depths are, and what from, as a sentence without its point."""
    told = [
        _counted(count, what)
        for count, what in (
            (surface.soundings, "sounding"),
            (surface.contours, "contour"),
        )
        if count
    ]
    whence = f"from {' and '.join(told)}"
    good_m = surface.good_to_m
    if good_m is None:
        return f"depths are told {whence}: too few to say how good they are"
    about = depth_text(max(good_m, 0.1), units)
    return f"depths are good to some {about}, eight times in ten, {whence}"


def _added(opened: Opened, kind: str, found: Depths, file: str) -> Sounded:
    """Add what is new to the venue; the caller holds the folder."""
    if kind == "sounding":
        there, new, known, depths_m, off = _with_soundings(opened, found.soundings)
    else:
        there, new, known, depths_m, off = _with_contours(opened, found.contours)
    if not len(depths_m):
        raise VenueError(
            f"nothing in {file} lies on the water: is it of another venue, or are "
            "latitude and longitude swapped?"
        )
    if new:
        save_venue(opened.practice.folder, there)
    now = Opened(
        replace(opened.practice, features=tuple(there)),
        opened.venue,
        opened.sectors,
        opened.drawn,
    )
    surface = now.depths
    more = len(found.faults) - LISTED
    return Sounded(
        kind=kind,
        added=new,
        known=known,
        off_water=off,
        refused=len(found.faults),
        depth_low_m=float(min(depths_m)),
        depth_high_m=float(max(depths_m)),
        soundings=surface.soundings if surface else 0,
        contours=surface.contours if surface else 0,
        good_to_m=surface.good_to_m if surface else None,
        quality=quality_text(surface, opened.settings.units) if surface else "",
        units=opened.settings.units,
        remarks=(
            *found.faults[:LISTED],
            *((f"and {_counted(more, 'row')} more",) if more > 0 else ()),
        ),
    )


_Joined: TypeAlias = tuple[Sequence[Feature], int, int, Sequence[float], int]


def _with_soundings(opened: Opened, found: Floats) -> _Joined:
    """Return the features with soundings that lie on the water and are new."""
    features = opened.practice.features
    at = np.column_stack(opened.venue.frame.to_metres(found[:, 0], found[:, 1]))
    on = on_water(opened.venue.water, at)
    mine = found[on]
    before = [
        np.column_stack(sounded(item.shape))
        for item in features
        if item.kind == "sounding"
    ]
    old = np.concatenate([np.zeros((0, 3)), *before])
    _, first = np.unique(_keys(np.concatenate((old, mine))), axis=0, return_index=True)
    fresh = mine[np.sort(first[first >= len(old)]) - len(old)]
    if len(fresh):
        features = (*features, Feature("sounding", "", sounding_shape(*fresh.T)))
    return (
        features,
        len(fresh),
        len(mine) - len(fresh),
        mine[:, 2].tolist(),
        int((~on).sum()),
    )


def _with_contours(opened: Opened, found: Sequence[Feature]) -> _Joined:
    """Return the features with contours that touch the water and are new."""
    water, frame = opened.venue.water, opened.venue.frame
    features = list(opened.practice.features)
    mine = [line for line in found if frame.metres(line.shape).intersects(water)]
    new = 0
    for line in mine:
        if not any(_same(line, other) for other in features):
            features.append(line)
            new += 1
    depths_m = [float(line.depth_m or 0.0) for line in mine]
    return features, new, len(mine) - new, depths_m, len(found) - len(mine)


def _counted(number: int, one: str) -> str:
    return f"{number:,} {one}{'' if number == 1 else 's'}"


def _keys(soundings: Floats) -> np.ndarray:
    lon, lat, depth_m = soundings.T
    return np.column_stack(
        (
            np.round(np.mod(lon, 360) / SAME_DEG),
            np.round(lat / SAME_DEG),
            np.round(depth_m / SAME_M),
        )
    ).astype(np.int64)


def _same(one: Feature, other: Feature) -> bool:
    return (one.kind, one.depth_m) == (other.kind, other.depth_m) and bool(
        shapely.equals_exact(one.shape, other.shape, 1e-8, normalize=True)
    )
