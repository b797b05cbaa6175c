"""The drifts of boat-days, recorded and from memory, by the numbers people know."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sweptwater.arrays import Area
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.memory import MemoryDay
from sweptwater.tracks.drifts import Drift


@dataclass(frozen=True, slots=True)
class Numbered:
    """One drift of a boat-day.

    Parameters
    ----------
    number
        Its place in the order of time, from 1 on.
    drift, swept
        Its way in metres, and the fishable water that it swept.
    source
        `track` or `memory`.
    way, row
        Of one from memory, its places in words, and the row that tells of it.
    """

    day: date
    pair: str
    number: int
    drift: Drift
    swept: Area
    source: str
    way: str = ""
    row: int = 0


def numbered_drifts(
    boats: Sequence[BoatDay], memory: Sequence[MemoryDay] = ()
) -> tuple[Numbered, ...]:
    """Return the drifts of boat-days by day and pair, numbered within each.

    Without memory they are in the order of the boat-days.
    """
    days: dict[tuple[date, str], list[Numbered]] = {}
    for boat in boats:
        days[boat.day, boat.pair] = [
            Numbered(boat.day, boat.pair, 0, drift, swept, "track")
            for drift, swept in zip(boat.afloat.drifts, boat.swept, strict=True)
        ]
    for told in memory:
        days.setdefault((told.day, told.pair), []).extend(
            Numbered(
                *(told.day, told.pair, 0, one.drift, one.swept, "memory"),
                *(one.way, one.row),
            )
            for one in told.drifts
        )
    in_order = sorted(days) if memory else days
    return tuple(
        _with_number(one, number)
        for which in in_order
        for number, one in enumerate(
            sorted(days[which], key=lambda one: one.drift.start_s), 1
        )
    )


def _with_number(one: Numbered, number: int) -> Numbered:
    return Numbered(
        *(one.day, one.pair, number, one.drift, one.swept, one.source),
        *(one.way, one.row),
    )
