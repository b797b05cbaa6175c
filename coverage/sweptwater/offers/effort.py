"""Effort: rod-hours of fishing, in pieces of a minute with what is known of each.

The table of pieces, one row each:

==============  ========================================================================
`stint`         which stint, by its place in the list
`time_s`        its middle, in seconds since 1970 UTC
`easting`       where the boat was then, in metres
`northing`
`hours`         rod-hours; a stint's pieces add up to its own
*circumstance*  a column of texts each: see `CIRCUMSTANCES`
==============  ========================================================================
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import pandas as pd

from sweptwater.arrays import Floats, Ints
from sweptwater.errors import PracticeError
from sweptwater.offers.stints import Stint

PIECE_S = 60.0

CIRCUMSTANCES = (
    *("day", "hour", "pair", "rod", "sector", "bank", "shore", "depth"),
    *("layer", "sky", "wind", "wave", "line", "drogue"),
)
"""All that effort and offers can be told apart by."""

MOST_BY = 2


@dataclass(frozen=True, slots=True, eq=False)
class Minutes:
    """The pieces of some stints, before anything else is known of them: (n,) each.

    Parameters
    ----------
    stints
        The stints themselves.
    number
        The place in that list of each piece's stint; pieces of one stand together.
    time_s, easting, northing
        The middles, in seconds since 1970 UTC and metres.
    """

    stints: Sequence[Stint]
    number: Ints
    time_s: Floats
    easting: Floats
    northing: Floats

    def of_each(self) -> Iterator[tuple[Stint, slice]]:
        """Yield the stints that have pieces, with where these stand."""
        edges = np.flatnonzero(np.diff(self.number)) + 1
        starts = [0, *edges.tolist()] if len(self.number) else []
        stops = [*starts[1:], len(self.number)][: len(starts)]
        for start, stop in zip(starts, stops, strict=True):
            yield self.stints[self.number[start]], slice(start, stop)


Telling: TypeAlias = Callable[[Minutes], Sequence[str]]
"""From pieces to what is known of each."""


def cut_pieces(
    stints: Sequence[Stint], tellings: Mapping[str, Telling]
) -> pd.DataFrame:
    """Return the pieces of all stints, with their circumstances.

    A stint of no length in time has no pieces: a track without times says nothing of
    hours.

    Parameters
    ----------
    tellings
        For each circumstance, what it was.

    Examples
    --------
    >>> from sweptwater.offers.stints import Way
    >>> way = Way(np.array([0.0, 90.0]), np.array([0.0, 9.0]), np.array([0.0, 0.0]))
    >>> from datetime import date
    >>> bow = Stint(date(2027, 6, 8), "Heron", 1, "bow", way, 90.0, "track")
    >>> pieces = cut_pieces([bow], {"rod": lambda minutes: ["bow"] * 2})
    >>> pieces[["time_s", "easting", "rod"]].values.tolist()
    [[22.5, 2.25, 'bow'], [67.5, 6.75, 'bow']]
    """
    cut = [_middles(stint) for stint in stints]
    counts = [len(time_s) for time_s, _, _ in cut]
    time_s, east, north = (
        np.concatenate([np.zeros(0), *parts])
        for parts in (zip(*cut, strict=True) if cut else ((), (), ()))
    )
    number = np.repeat(np.arange(len(stints)), counts)
    each_h = [
        stint.hours / max(count, 1) for stint, count in zip(stints, counts, strict=True)
    ]
    minutes = Minutes(stints, number, time_s, east, north)
    told = {
        name: np.array(tell(minutes), dtype=object) for name, tell in tellings.items()
    }
    return pd.DataFrame(
        {
            "stint": number,
            "time_s": time_s,
            "easting": east,
            "northing": north,
            "hours": np.repeat(np.array(each_h, dtype=float), counts),
            **told,
        }
    )


def fished_hours(
    pieces: pd.DataFrame, by: Sequence[str]
) -> dict[tuple[str, ...], float]:
    """Return the rod-hours fished under each set of circumstances, to the minute."""
    if not len(pieces):
        return {}
    sums = pieces.groupby(list(by), sort=False)["hours"].sum()
    return {_key(key): float(hours) for key, hours in sums.items()}


def mostly(pieces: pd.DataFrame, by: Sequence[str]) -> dict[int, tuple[str, ...]]:
    """Return for each stint the circumstances that it had for the longest time.

    An offer is told of a drift, and seldom of a minute of it; so a drift counts as a
    whole, and where it counts does not depend on what was met. Of two that lasted as
    long it is the earlier.
    """
    if not len(pieces):
        return {}
    grouped = pieces.groupby(["stint", *by], sort=False)["hours"].sum()
    longest: dict[int, tuple[float, tuple[str, ...]]] = {}
    for key, hours in zip(grouped.index.to_list(), grouped, strict=True):
        stint, told = int(key[0]), tuple(key[1:])
        if hours > longest.get(stint, (0.0, ()))[0] * (1 + 1e-9):
            longest[stint] = (float(hours), told)
    return {stint: told for stint, (_, told) in longest.items()}


def parse_by(text: str) -> tuple[str, ...]:
    """Return the circumstances that a text like `sector,sky` names.

    Raises
    ------
    PracticeError
        If one is unknown, named twice, or there are more than two.

    Examples
    --------
    >>> parse_by("Layer, sky")
    ('layer', 'sky')
    """
    names = tuple(part.strip().casefold() for part in text.split(",") if part.strip())
    for name in names:
        if name not in CIRCUMSTANCES:
            raise PracticeError(
                f"rates cannot be told by {name!r}: they can be by "
                f"{', '.join(CIRCUMSTANCES)}"
            )
    if not 1 <= len(set(names)) == len(names) <= MOST_BY:
        raise PracticeError(
            f"rates can be told by one thing or by two, not by {text!r}: more would "
            "leave too few hours in each row"
        )
    return names


def _middles(stint: Stint) -> tuple[Floats, Floats, Floats]:
    way = stint.way
    start_s, end_s = float(way.time_s[0]), float(way.time_s[-1])
    if not (end_s > start_s and stint.fishing_s > 0):
        nothing = np.zeros(0)
        return nothing, nothing, nothing
    count = int(np.ceil((end_s - start_s) / PIECE_S - 1e-9))
    time_s = start_s + (np.arange(count) + 0.5) * (end_s - start_s) / count
    return (
        time_s,
        np.interp(time_s, way.time_s, way.easting),
        np.interp(time_s, way.time_s, way.northing),
    )


def _key(key: object) -> tuple[str, ...]:
    return tuple(key) if isinstance(key, tuple) else (str(key),)
