"""A season's drifts on a map: too many to be told apart, they go by boat-days."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

import shapely
from shapely import MultiLineString
from shapely.geometry.base import BaseGeometry

from sweptwater.jobs.boat_tables import boat_key
from sweptwater.jobs.listed import DriftLine
from sweptwater.jobs.wording import counted, day_text

MOST_APART = 2500
"""With more drifts than these a page would be too large if each had its own words."""


def by_boat_day(
    drifts: Sequence[tuple[DriftLine, BaseGeometry]],
) -> Iterator[tuple[BaseGeometry, str, str]]:
    """Yield the ways of each boat-day together, with what to say of them and their key.

    A row of the boat or of the day leads to them as it would to each.
    """
    days: defaultdict[str, list[tuple[DriftLine, BaseGeometry]]] = defaultdict(list)
    for line, way in drifts:
        days[boat_key(line.day, line.pair)].append((line, way))
    for key, those in days.items():
        line = those[0][0]
        tip = f"{line.pair}, {counted(len(those), 'drift')}\n{day_text(line.day)}"
        yield (
            MultiLineString([shapely.get_coordinates(way) for _, way in those]),
            tip,
            f"{key}all",
        )
