"""A track as it is handed on: places on the water and their times, and nothing else."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np
import shapely

from sweptwater.arrays import Area, Bools, Floats
from sweptwater.jobs.opened import Opened, local_time
from sweptwater.paper.gpx import track_gpx
from sweptwater.practice.originals import Original
from sweptwater.tracks.read import read_track
from sweptwater.tracks.recording import Fixes


@dataclass(frozen=True, slots=True)
class PlainTrack:
    """A track to hand on as GPX, with its local day if anybody knows it.

    `fixes` of it are near the water, `away` were not; without any there is no GPX.
    """

    gpx: bytes
    fixes: int
    away: int
    day: date | None


def plain_track(opened: Opened, original: Original, near: Area) -> PlainTrack:
    """Return what of an original may be handed on.

    Where it left the water it is parted: nothing leads from one side to the other.

    Parameters
    ----------
    near
        Where places may be told, in metres of the venue's frame.

    Raises
    ------
    SweptwaterError
        If it cannot be read.
    """
    recording = read_track(original.read(), name=original.name)
    fixes = recording.fixes
    places = opened.venue.frame.to_metres(fixes.lon, fixes.lat)
    inside = shapely.contains_xy(near, *places)
    kept = int(inside.sum())
    # Times without a zone stay so: the doubt whether they are UTC goes with them.
    zone = "" if recording.loose_times else "Z"
    return PlainTrack(
        gpx=track_gpx(_stretches(fixes, inside), zone) if kept else b"",
        fixes=kept,
        away=len(fixes) - kept,
        day=_day_of(opened, original, fixes.time_s[inside]),
    )


def _stretches(fixes: Fixes, inside: Bools) -> Iterator[tuple[Floats, Floats, Floats]]:
    """Yield the stretches of a record that are inside, each without a break."""
    kept = np.flatnonzero(inside)
    broken = (np.diff(kept) > 1) | (np.diff(fixes.segment[kept]) != 0)
    ends = [0, *(np.flatnonzero(broken) + 1).tolist(), len(kept)]
    for start, end in pairwise(ends):
        part = kept[start:end]
        yield fixes.lon[part], fixes.lat[part], fixes.time_s[part]


def _day_of(opened: Opened, original: Original, time_s: Floats) -> date | None:
    timed = time_s[~np.isnan(time_s)]
    if not len(timed):
        return original.said.day
    return local_time(float(timed.min()) + original.shift_s, opened.settings).date()
