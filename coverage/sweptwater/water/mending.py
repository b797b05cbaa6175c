"""Drawn water made valid: crossings, doubled points, overlaps, gaps, slivers.

Everything is in metres. What was done is told in `repairs`, a list that grows.
"""

import numpy as np
import shapely
from shapely import LinearRing, MultiPolygon, Polygon

from sweptwater.arrays import Area, Floats
from sweptwater.errors import VenueError
from sweptwater.water.shapes import polygonal, valid

DOUBLED_M = 1e-4
CROSSING_SHARE = 0.05
"""A ring that crosses itself may leave so much of its area in doubt."""

BRIDGED_M = 0.5
"""Gaps up to twice this between shapes of one water are drawing, not land."""

THIN_M = 1.0
SLIVER_M2 = 1.0
SLIVER_SHARE = 1e-3


def mend(shape: Area, called: str, repairs: list[str]) -> Area:
    """Return one feature's water, valid; empty if it has no area.

    Raises
    ------
    VenueError
        If it crosses itself past guessing.
    """
    before = shapely.get_num_coordinates(shape)
    plain = [_without_doubles(part) for part in shapely.get_parts(shape)]
    count = before - int(shapely.get_num_coordinates(plain).sum())
    if count:
        points = "a point" if count == 1 else f"{count} points"
        repairs.append(f"{called} had {points} twice over: dropped")
    parts = [_mended_part(part, called, repairs) for part in plain]
    if len(parts) > 1:
        shape = polygonal(shapely.union_all(parts))
        if shapely.area(parts).sum() - shape.area > SLIVER_M2:
            repairs.append(f"{called} had parts that overlapped: joined")
    else:
        shape = parts[0]
    return shape if shape.area > SLIVER_M2 else Polygon()


def join_waters(whole: list[Area], repairs: list[str]) -> Area:
    """Return the union of a water's shapes, the narrow gaps between them closed."""
    water = polygonal(shapely.union_all(whole))
    if len(whole) == 1:
        return water
    repairs.append(f"{len(whole)} shapes that touch were joined to one water")
    closed = shapely.buffer(
        shapely.buffer(water, BRIDGED_M * 1.01, join_style="mitre"),
        -BRIDGED_M * 1.01,
        join_style="mitre",
    )
    gaps = shapely.get_parts(shapely.difference(closed, water))
    _, gap = shapely.STRtree(gaps).query(
        shapely.buffer(whole, 1e-6), predicate="intersects"
    )
    between = gaps[np.bincount(gap, minlength=len(gaps)) > 1]
    if not len(between):
        return water
    # Grown by a hair, so that they close to the shapes despite rounding.
    return polygonal(shapely.union_all([water, *shapely.buffer(between, 1e-6)]))


def without_slivers(water: Area, repairs: list[str]) -> Area:
    """Drop holes under a square metre, and parts too small and thin to be water."""
    parts = shapely.get_parts(water)
    small = (shapely.area(parts) < SLIVER_SHARE * water.area) & shapely.is_empty(
        shapely.buffer(parts, -THIN_M / 2)
    )
    holes = 0
    kept = []
    for part in parts[~small]:
        rings = [ring for ring in part.interiors if Polygon(ring).area >= SLIVER_M2]
        holes += len(part.interiors) - len(rings)
        kept.append(Polygon(part.exterior, rings))
    dropped = int(small.sum()) + holes
    if not dropped:
        return water
    what = "a sliver was" if dropped == 1 else f"{dropped} slivers were"
    repairs.append(f"{what} dropped")
    return polygonal(MultiPolygon(kept))


def _without_doubles(part: Polygon) -> Polygon:
    """Return a polygon without points twice over, nor holes that are then nothing."""
    shell = _distinct(part.exterior)
    if len(shell) < 4:
        return Polygon()
    holes = [_distinct(ring) for ring in part.interiors]
    return Polygon(shell, [hole for hole in holes if len(hole) > 3])


def _distinct(ring: LinearRing) -> Floats:
    places = shapely.get_coordinates(ring)
    keep = np.hypot(*np.diff(places, axis=0).T) > DOUBLED_M
    kept = places[:-1][keep]
    return np.vstack([kept, kept[:1]])


def _mended_part(part: Polygon, called: str, repairs: list[str]) -> Area:
    if part.is_valid:
        return part
    reason = shapely.is_valid_reason(part).split("[")[0].strip().lower()
    shell, doubt = _inside(shapely.get_coordinates(part.exterior))
    if doubt > CROSSING_SHARE:
        raise VenueError(
            f"{called} crosses itself ({reason}): {doubt:.0%} of it could be water or "
            "land; mend the crossing and try again"
        )
    holes = shapely.union_all([valid(Polygon(ring)) for ring in part.interiors])
    mended = polygonal(shell.difference(holes))
    if mended.area > 0:
        repairs.append(f"{called} crossed itself ({reason}): mended")
    return mended


def _inside(ring: Floats) -> tuple[Area, float]:
    """Return what a ring that crosses itself goes round, and the share in doubt.

    Most of it is gone round a certain number of times. What is gone round the other
    way, or more often, is in doubt; the first of the two is left out.
    """
    lines = shapely.get_parts(shapely.node(shapely.linestrings(ring)))
    faces = shapely.get_parts(shapely.polygonize(lines))
    times = np.array(
        [_turns(ring, shapely.get_coordinates(f.representative_point())) for f in faces]
    )
    areas = shapely.area(faces)
    total = float(areas[times != 0].sum())
    if not total > 0:
        return Polygon(), 0.0
    sums = {int(n): float(areas[times == n].sum()) for n in np.unique(times) if n}
    usual = max(sums, key=lambda n: sums[n])
    water = polygonal(shapely.union_all(faces[np.sign(times) == np.sign(usual)]))
    return water, 1 - sums[usual] / total


def _turns(ring: Floats, place: Floats) -> int:
    """Return how often a ring goes round a place, counterclockwise."""
    seen = (ring - place) @ np.array([1, 1j])
    return round(float(np.angle(seen[1:] / seen[:-1]).sum()) / (2 * np.pi))
