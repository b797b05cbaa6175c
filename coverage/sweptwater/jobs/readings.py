"""What was read of an original, and of a boat's day; and whose boats they tell of."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from itertools import combinations

import numpy as np
import shapely

from sweptwater.jobs.wording import day_text
from sweptwater.practice.cache import Arrays
from sweptwater.practice.originals import Original
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.packed import unpack_day, unpack_swept
from sweptwater.tracks.drifts import DayAfloat
from sweptwater.tracks.record import Record, apart_m, under_way

STEP_M = 25.0
"""Two records of one boat are compared each time that it has gone so far."""

BESIDE_M = 15.0
"""Two records that are this near, half of the time, were in one boat."""


@dataclass(frozen=True, slots=True)
class Track:
    """An original with the local days that it has fixes of, or why it has none.

    Parameters
    ----------
    key
        The hash of all that it was made from.
    traces
        The fixes of each day, thinned, and only near the water.
    zoneless
        Whether some of its times carried no zone and were taken as UTC.
    """

    original: Original
    key: str
    traces: Mapping[date, Record] = field(default_factory=dict)
    zoneless: bool = False
    fault: str = ""

    @property
    def days(self) -> tuple[date, ...]:
        """The local days that it has fixes of."""
        return tuple(self.traces)


@dataclass(frozen=True, slots=True)
class ReadDay:
    """A boat-day, and what is known of the tracks that it was made from.

    Parameters
    ----------
    boat
        What the boat did and swept.
    left_out
        How many tracks were of another boat.
    tracks
        What it was made from.
    """

    boat: BoatDay
    left_out: int
    tracks: tuple[Track, ...]

    @property
    def traces(self) -> tuple[Record, ...]:
        """The record of each track, thinned."""
        return tuple(track.traces[self.boat.day] for track in self.tracks)


def strangers(read: Mapping[tuple[date, str], ReadDay]) -> Iterator[str]:
    """Tell of tracks that were not in the boat whose pair brought them."""
    for (day, pair), found in read.items():
        if left_out := found.left_out:
            were = "track was" if left_out == 1 else "tracks were"
            yield (
                f"{pair} on {day_text(day)}: {left_out} {were} not in the same boat "
                "as the rest and left out; is it another pair's?"
            )


def twins(read: Mapping[tuple[date, str], ReadDay], gap_s: float) -> Iterator[str]:
    """Tell of two pairs of which one's track was in the other's boat."""
    on_day: defaultdict[date, list[str]] = defaultdict(list)
    for day, pair in read:
        on_day[day].append(pair)
    for day, pairs in on_day.items():
        for pair, other in combinations(pairs, 2):
            if any(
                in_one_boat(one, two, gap_s)
                for one in read[day, pair].traces
                for two in read[day, other].traces
            ):
                yield (
                    f"{pair} and {other} on {day_text(day)} have tracks of one and "
                    "the same boat, which count twice; move the one that is not its "
                    "pair's away"
                )


def in_one_boat(one: Record, two: Record, gap_s: float) -> bool:
    """Tell whether two records were in one boat: beside each other, and under way.

    Boats that lie at one jetty, before a phone dies, are beside each other too.
    """
    for record in (two, under_way(two, STEP_M)):
        metres = apart_m(one, record, gap_s)
        if metres is None or metres >= BESIDE_M:
            return False
    return True


def packed_track(track: Track) -> Arrays:
    """Return all of a track but its original as arrays."""
    traces = list(track.traces.values())
    rows = [np.column_stack([t.time_s, t.easting, t.northing]) for t in traces]
    return {
        "days": np.array([day.toordinal() for day in track.traces], dtype=np.int64),
        "trace": np.concatenate([np.zeros((0, 3)), *rows]),
        "trace_ends": np.cumsum([len(row) for row in rows], dtype=np.int64),
        "zoneless": np.array(track.zoneless),
        "fault": np.array(track.fault),
    }


def unpacked_track(original: Original, key: str, known: Arrays) -> Track | None:
    """Return the track that was kept; None if the entry is no whole one."""
    try:
        rows = np.split(known["trace"], known["trace_ends"][:-1])
        days = [date.fromordinal(int(day)) for day in known["days"]]
        traces = {
            day: Record(row[:, 0], row[:, 1], row[:, 2], {})
            for day, row in zip(days, rows if days else [], strict=True)
        }
        zoneless, fault = bool(known["zoneless"]), str(known["fault"])
        return Track(original, key, traces, zoneless, fault)
    except (KeyError, ValueError, IndexError, TypeError):
        return None


def unpacked_day(known: Arrays | None) -> tuple[DayAfloat, int] | None:
    """Return what a boat did, and how many tracks were of another; None if unknown."""
    if known is None:
        return None
    try:
        return unpack_day(known), int(known["left_out"])
    except (KeyError, ValueError, IndexError, TypeError):
        return None


def unpacked_swept(
    known: Arrays | None, pair: str, day: date, afloat: DayAfloat
) -> BoatDay | None:
    """Return a boat-day with its swept water; None if that is not known."""
    if known is None:
        return None
    try:
        return unpack_swept(known, pair, day, afloat)
    except (KeyError, ValueError, IndexError, TypeError, shapely.GEOSException):
        return None
