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

from collections.abc import Callable, Mapping, Sequence
from typing import TypeAlias

import numpy as np
import pandas as pd

from sweptwater.arrays import Floats
from sweptwater.errors import PracticeError
from sweptwater.offers.stints import Stint

PIECE_S = 60.0

CIRCUMSTANCES = (
    *("day", "hour", "pair", "rod", "sector", "bank", "shore", "depth"),
    *("layer", "sky", "wind", "wave", "line", "drogue"),
)
"""All that effort and offers can be told apart by."""

MOST_BY = 2

Telling: TypeAlias = Callable[[Stint, Floats, Floats, Floats], Sequence[str]]
"""From a stint and the times and places of its pieces, (n,) each, to what is known of
each piece."""


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
    >>> pieces = cut_pieces([bow], {"rod": lambda stint, *_: [stint.rod] * 2})
    >>> pieces[["time_s", "easting", "rod"]].values.tolist()
    [[22.5, 2.25, 'bow'], [67.5, 6.75, 'bow']]
    """
    columns: dict[str, list[object]] = {name: [] for name in _columns(tellings)}
    for number, stint in enumerate(stints):
        time_s, east, north = _middles(stint)
        if not len(time_s):
            continue
        columns["stint"].append(np.full(len(time_s), number))
        columns["time_s"].append(time_s)
        columns["easting"].append(east)
        columns["northing"].append(north)
        columns["hours"].append(np.full(len(time_s), stint.hours / len(time_s)))
        for name, tell in tellings.items():
            said = np.array(tell(stint, time_s, east, north), dtype=object)
            columns[name].append(said)
    kinds = {"stint": int, "time_s": float, "easting": float, "northing": float}
    return pd.DataFrame(
        {
            name: np.concatenate(parts)  # type: ignore[arg-type]
            if parts
            else np.zeros(0, kinds.get(name, float if name == "hours" else object))
            for name, parts in columns.items()
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


def _columns(tellings: Mapping[str, Telling]) -> tuple[str, ...]:
    return ("stint", "time_s", "easting", "northing", "hours", *tellings)


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
