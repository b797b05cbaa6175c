"""Drifts from memory: what they add to the water that was recorded."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import cast

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.ops import substring

from sweptwater.arrays import Area
from sweptwater.practice.settings import Spread
from sweptwater.swept.boats import BoatDay, clipped_sweep
from sweptwater.swept.layered import Stack, stack_drifts
from sweptwater.tracks.drifts import Drift
from sweptwater.water.overlap import Known
from sweptwater.water.shapes import GRID_M, polygonal

PASSED_M = 1.0
"""A line that touches the water for less than this has not passed it."""

HOLE_S = 600.0
"""Nobody tells of a drift that is to fill a shorter hole than this in a record."""


@dataclass(frozen=True)
class Recalled:
    """One drift from memory, straight from place to place, in metres.

    Parameters
    ----------
    drift
        Its way and its time, less what the boat's track has of it.
    swept
        The fishable water that it swept.
    way
        Its two places, in words.
    row
        The row that tells of it.
    """

    drift: Drift
    swept: Area
    way: str
    row: int


@dataclass(frozen=True)
class MemoryDay:
    """What one pair told from memory of one day."""

    pair: str
    day: date
    drifts: tuple[Recalled, ...]

    @cached_property
    def stack(self) -> Stack:
        """The water it swept at least once, twice and three times."""
        return stack_drifts([recalled.swept for recalled in self.drifts])


@dataclass(frozen=True, slots=True)
class MemoryLine:
    """What one pair told from memory of one day; `told_s` is the time of its drifts.

    `new_m2` is what no track has swept, and nobody told of before.
    """

    day: date
    pair: str
    drifts: int
    drift_m: float
    told_s: float
    swept_m2: float
    new_m2: float


def straight_drift(line: LineString, start_s: float, end_s: float) -> Drift:
    """Return the drift straight along a line, at one speed."""
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    return Drift(np.array([start_s, end_s]), np.array([x0, x1]), np.array([y0, y1]))


def part_of(drift: Drift, start_s: float, end_s: float) -> Drift:
    """Return the part of a straight drift between two times of it."""
    time_s = np.array([start_s, end_s])
    return Drift(
        time_s,
        np.interp(time_s, drift.time_s, drift.easting),
        np.interp(time_s, drift.time_s, drift.northing),
    )


def sweep_recalled(drift: Drift, spread: Spread, water: Area, fishable: Area) -> Area:
    """Return the fishable water that a straight drift swept.

    Where it crosses land nobody fished: each part over water sweeps its own.

    Parameters
    ----------
    drift
        Two places and their times.
    spread
        The cast spread; its boat faces the way made good.
    water, fishable
        The venue's water, and that less what is out of bounds.
    """
    line = LineString(np.column_stack([drift.easting, drift.northing]))
    shapely.prepare(fishable)
    swept = [
        clipped_sweep(
            straight_drift(part, drift.start_s, drift.end_s),
            spread,
            fishable,
            downwind_deg=drift.course_deg,
        )
        for part in wet_parts(line, water)
    ]
    return polygonal(shapely.union_all(swept, grid_size=GRID_M))


def wet_parts(line: LineString, water: Area) -> list[LineString]:
    """Return the parts of a straight line over water, from its start on.

    Examples
    --------
    >>> line = LineString([(0, 0), (30, 0)])
    >>> spit = shapely.box(-5, -5, 40, 5) - shapely.box(10, -5, 12, 5)
    >>> [part.length for part in wet_parts(line, spit)]
    [10.0, 18.0]
    """
    parts = [
        part
        for part in shapely.get_parts(line.intersection(water))
        if part.geom_type == "LineString" and part.length >= PASSED_M
    ]
    spans = sorted(
        sorted(
            (line.project(part.boundary.geoms[0]), line.project(part.boundary.geoms[1]))
        )
        for part in parts
    )
    return [cast(LineString, substring(line, *span)) for span in spans]


def recorded_spans(boat: BoatDay) -> list[tuple[float, float]]:
    """Return the times of a boat's day that its record has.

    Of the times between drifts the longest are taken for holes, from `HOLE_S` on, as
    far as half of each can be time of which the record knows nothing.
    """
    afloat = boat.afloat
    drifts = [(drift.start_s, drift.end_s) for drift in afloat.drifts]
    starts = [start_s for start_s, _ in drifts] + [afloat.end_s]
    between = list(
        zip([afloat.start_s, *(end_s for _, end_s in drifts)], starts, strict=True)
    )
    left_s = afloat.unknown_s
    spans = drifts
    for start_s, end_s in sorted(between, key=lambda span: span[0] - span[1]):
        gap_s = end_s - start_s
        if gap_s >= HOLE_S and left_s >= gap_s / 2:
            left_s -= min(left_s, gap_s)
        elif gap_s > 0:
            spans = [*spans, (start_s, end_s)]
    return sorted(spans)


def longest_free(
    start_s: float, end_s: float, taken: Sequence[tuple[float, float]]
) -> tuple[float, float]:
    """Return the longest part of a time that other times leave; of no length if none.

    Examples
    --------
    >>> longest_free(0, 100, [(-20, 10), (30, 40), (35, 50)])
    (50, 100)
    >>> longest_free(0, 100, [(-20, 110)])
    (100, 100)
    """
    free = [(end_s, end_s)]
    for taken_from, taken_to in sorted(taken):
        if taken_from >= end_s:
            break
        if taken_to > start_s:
            free.append((start_s, max(start_s, taken_from)))
            start_s = min(end_s, taken_to)
    return max([*free, (start_s, end_s)], key=lambda span: span[1] - span[0])


def beyond(memory: Sequence[MemoryDay], recorded: Area) -> Area:
    """Return the water that only memory knows to be swept."""
    shapes = [day.stack.once for day in memory]
    if not shapes:
        return Polygon()
    whole = shapely.union_all(shapes, grid_size=GRID_M)
    return polygonal(shapely.difference(whole, recorded, grid_size=GRID_M))


def with_memory(recorded: Area, remembered: Area) -> Area:
    """Return the water that was swept, as recorded or as remembered."""
    if remembered.is_empty:
        return recorded
    return polygonal(shapely.union(recorded, remembered, grid_size=GRID_M))


def memory_lines(
    memory: Sequence[MemoryDay], recorded: Sequence[Area]
) -> tuple[MemoryLine, ...]:
    """Return a line for each day and pair, in that order.

    Parameters
    ----------
    memory
        What was told of all days, by all pairs.
    recorded
        The water that each boat-day's track swept.
    """
    known = Known()
    for shape in recorded:
        known.add(shape)
    return tuple(
        MemoryLine(
            day=told.day,
            pair=told.pair,
            drifts=len(told.drifts),
            drift_m=sum(recalled.drift.length_m for recalled in told.drifts),
            told_s=sum(r.drift.end_s - r.drift.start_s for r in told.drifts),
            swept_m2=told.stack.once.area,
            new_m2=known.add(told.stack.once),
        )
        for told in sorted(memory, key=lambda told: (told.day, told.pair))
    )
