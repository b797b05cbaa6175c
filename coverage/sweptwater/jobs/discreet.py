"""What may be handed on: nothing away from the water, and no names of files.

A record goes on until somebody stops it: over the car park and home. And a file is
called what a device or its owner calls it.
"""

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import shapely
from shapely import LineString

from sweptwater.arrays import Area, Floats
from sweptwater.jobs.opened import Opened
from sweptwater.practice.originals import TRACKS, Original
from sweptwater.swept.boats import BoatDay
from sweptwater.tracks.drifts import Drift
from sweptwater.water.shapes import polygonal

MARGIN_M = 30.0
"""A way is told this far beyond the water: outlines are coarse, and boats land."""


def near_water(opened: Opened) -> Area:
    """Return the water with a margin around it, in metres."""
    near = polygonal(opened.venue.water.buffer(MARGIN_M))
    shapely.prepare(near)
    return near


def stretches_within(places: Floats, near: Area) -> Iterator[Floats]:
    """Yield the stretches of a way that are in an area, each of two places or more.

    A way is parted at its places, so that none outside is told.

    Parameters
    ----------
    places
        Along the way, (n, 2) in metres.

    Examples
    --------
    >>> way = np.array([[0.0, 0], [1, 0], [9, 0], [2, 0], [3, 0], [4, 0]])
    >>> [stretch[:, 0].tolist() for stretch in stretches_within(way, shapely.box(
    ...     -1, -1, 5, 1))]
    [[0.0, 1.0], [2.0, 3.0, 4.0]]
    """
    inside = shapely.contains_xy(near, places)
    edges = np.flatnonzero(np.diff(inside, prepend=False, append=False))
    for start, end in edges.reshape(-1, 2).tolist():
        if end - start > 1:
            yield places[start:end]


def motoring_ways(boats: Iterable[BoatDay], near: Area) -> list[list[Floats]]:
    """Return the ways under motor of each boat-day, as far as they may be told."""
    return [
        [part for way in boat.afloat.motoring for part in stretches_within(way, near)]
        for boat in boats
    ]


def drift_path(drift: Drift, near: Area) -> LineString:
    """Return the path of a drift, as far as it may be told.

    Of one that was parted, the longest part; of one that was nowhere near, none.
    """
    places = np.column_stack([drift.easting, drift.northing])
    parts = map(LineString, stretches_within(places, near))
    return max(parts, key=lambda line: line.length, default=LineString())


def without_file_names(
    sentences: Iterable[str], originals: Sequence[Original]
) -> tuple[str, ...]:
    """Return sentences in which a track is told by its hash instead of its name."""
    told = tuple(sentences)
    for original in originals:
        told = tuple(_without_name(text, original) for text in told)
    return told


def _without_name(text: str, original: Original) -> str:
    label = f"track {original.digest[:8]}" if original.digest else "a track"
    said = original.path.with_suffix(".toml")
    folder = f"{TRACKS}/{original.pair}"
    names = {
        str(said): f"what was said of {label}",
        f"{folder}/{said.name}": f"what was said of {label}",
        str(original.path): label,
        f"{folder}/{original.path.name}": label,
    }
    for name, instead in names.items():
        text = text.replace(name, instead)
    # Short names may be words: only where a sentence begins with one is it the file's.
    whose = f"{original.pair}: "
    for name in (original.name, original.path.name):
        rest = text.removeprefix(f"{whose}{name}")
        if rest != text and rest[:1] in (" ", ":"):
            return f"{whose}{label}{rest}"
    return text
