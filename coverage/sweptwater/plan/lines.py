"""Straight drifts side by side through a region, down a course."""

from collections.abc import Sequence
from math import ceil
from typing import cast

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats
from sweptwater.plan.ground import turned, turned_back

WHOLE = 0.25
"""A strip of water narrower than this part of the distance apart has no drift."""


def drift_lines(
    region: Area, course_deg: float, *, apart_m: float, shortest_m: float
) -> list[Floats]:
    """Return straight ways down a course, side by side, as they fit into a region.

    They lie evenly, at most so far apart, from one side of each part of the region to
    the other, in order from left to right.

    Parameters
    ----------
    region
        Where the boat may drift, in metres.
    course_deg
        Clockwise from north.
    apart_m
        From line to line, across the course.
    shortest_m
        What is shorter is left out.

    Returns
    -------
    list
        Starts and ends, each (2, 2) in metres east and north.

    Examples
    --------
    A band 60 m wide beside 600 m of shore, the wind on to it: 20 ways of 60 m.

    >>> band = shapely.box(0, 20, 600, 80)
    >>> rungs = drift_lines(band, 180, apart_m=30, shortest_m=30)
    >>> len(rungs), rungs[0].round().tolist()
    (20, [[585.0, 80.0], [585.0, 20.0]])
    """
    ways = []
    for part in shapely.get_parts(turned(region, course_deg)):
        if part.is_empty:
            continue
        for line in _even_lines(part, apart_m):
            cut = shapely.get_parts(shapely.intersection(line, part))
            ways += [
                turned_back(_forward(piece), course_deg)
                for piece in cut[shapely.length(cut) >= shortest_m - 1e-6]
            ]
    return ways


def _even_lines(part: Area, apart_m: float) -> np.ndarray:
    west, low, east, high = part.bounds
    count = max(1, ceil((high - low) / apart_m - WHOLE))
    across = low + (np.arange(count) + 0.5) * (high - low) / count
    ends = np.empty((count, 2, 2))
    ends[:, 0, 0], ends[:, 1, 0] = west - 1, east + 1
    ends[:, :, 1] = across[:, None]
    shapely.prepare(part)
    return np.asarray(shapely.linestrings(ends))


def _forward(piece: BaseGeometry) -> Floats:
    places = shapely.get_coordinates(piece)
    return places[np.argsort(places[:, 0])][[0, -1]]


def parted(way: Floats, longest_m: float) -> list[Floats]:
    """Return a straight way (2, 2), cut into equal ones if it is too long.

    Examples
    --------
    >>> [one.tolist() for one in parted(np.array([[0.0, 0], [0, 90]]), 50)]
    [[[0.0, 0.0], [0.0, 45.0]], [[0.0, 45.0], [0.0, 90.0]]]
    """
    length_m = float(np.hypot(*(way[-1] - way[0])))
    count = max(1, ceil(length_m / longest_m - 1e-9))
    cuts = np.linspace(0, 1, count + 1)[:, None] * (way[-1] - way[0]) + way[0]
    return [cuts[i : i + 2] for i in range(count)]


def where_new(
    ways: Sequence[Floats], unfished: Area, *, gap_m: float, shortest_m: float
) -> list[Floats]:
    """Return the parts of straight ways that lie over unfished water.

    Fished water of at most `gap_m` between two of them is drifted over; what is then
    shorter than `shortest_m` is left out.

    Examples
    --------
    >>> way = np.array([[0.0, 0], [0, 100]])
    >>> left = shapely.box(-9, 10, 9, 70) - shapely.box(-9, 40, 9, 45)
    >>> [one.tolist() for one in where_new([way], left, gap_m=9, shortest_m=20)]
    [[[0.0, 10.0], [0.0, 70.0]]]
    """
    if not len(ways):
        return []
    shapely.prepare(unfished)
    lines = shapely.linestrings(np.array(ways))
    kept: list[Floats] = []
    cuts = np.asarray(shapely.intersection(lines, unfished), dtype=object)
    for way, line in zip(ways, cuts, strict=True):
        for start_m, end_m in _joined(_spans(way, line), gap_m):
            if end_m - start_m >= shortest_m:
                ahead = (way[1] - way[0]) / np.hypot(*(way[1] - way[0]))
                kept.append(way[0] + np.array([[start_m], [end_m]]) * ahead)
    return kept


def _spans(way: Floats, cut: BaseGeometry) -> list[tuple[float, float]]:
    parts = [part for part in shapely.get_parts(cut) if part.length > 0]
    start = shapely.Point(way[0])
    return sorted(
        (min(ends), max(ends))
        for part in parts
        for ends in (
            [start.distance(shapely.Point(p)) for p in cast(LineString, part).coords],
        )
    )


def _joined(
    spans: Sequence[tuple[float, float]], gap_m: float
) -> list[tuple[float, float]]:
    joined: list[tuple[float, float]] = []
    for start_m, end_m in spans:
        if joined and start_m - joined[-1][1] <= gap_m:
            joined[-1] = (joined[-1][0], end_m)
        else:
            joined.append((start_m, end_m))
    return joined
