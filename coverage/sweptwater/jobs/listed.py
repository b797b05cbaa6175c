"""The list of drifts, recorded and from memory, with their figures."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sweptwater.jobs.met import told_of
from sweptwater.jobs.numbering import Numbered, numbered_drifts
from sweptwater.jobs.opened import Opened, local_time
from sweptwater.jobs.places import place_text
from sweptwater.practice.settings import Settings
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.memory import MemoryDay
from sweptwater.tracks.drifts import Drift
from sweptwater.water.depth import mean_depth_m


@dataclass(frozen=True, slots=True)
class DriftLine:
    """One drift as it is listed; times are local, with their offset from UTC.

    They are empty, and there are no minutes, where the track has no times.
    `source` is track or memory.
    """

    day: date
    pair: str
    number: int
    start: str
    end: str
    minutes: float
    length_m: float
    course_deg: float
    swept_m2: float
    near: str
    length_error: float
    """The share by which `length_m` is expected to be too long: slow boats, and a
    receiver that wanders."""
    doubtful_s: float
    source: str
    told: bool
    """Whether the tally says of each rod what it met, or that it was blank."""
    depth_m: float | None = None
    """The mean depth of the water under it; None where nobody knows."""


@dataclass(frozen=True, slots=True)
class ToldDrift:
    """One drift: its line, its way in metres, and what else memory says of it.

    Parameters
    ----------
    line
        Its figures, as it is listed.
    drift
        Where it went.
    way, row
        Of one from memory, its places in words, and the row that tells of it.
    """

    line: DriftLine
    drift: Drift
    way: str = ""
    row: int = 0


def told_drifts(
    opened: Opened, boats: Sequence[BoatDay], memory: Sequence[MemoryDay] = ()
) -> tuple[ToldDrift, ...]:
    """Return the drifts of boat-days by day and pair, recorded and from memory.

    They are numbered within each boat-day in the order of time.
    """
    drifts = numbered_drifts(boats, memory)
    told = told_of(opened, drifts)
    return tuple(
        ToldDrift(_line(opened, one, told), one.drift, one.way, one.row)
        for one in drifts
    )


def _moment(drift: Drift, time_s: float, settings: Settings) -> str:
    if not drift.timed:
        return ""
    return local_time(time_s, settings).isoformat(timespec="seconds")


def span_text(line: DriftLine) -> str:
    """Return when a drift was: from when to when."""
    if not line.start:
        return "no times"
    return f"{line.start[11:16]} to {line.end[11:16]}"


def drift_lines(
    opened: Opened, boats: Sequence[BoatDay], memory: Sequence[MemoryDay] = ()
) -> tuple[DriftLine, ...]:
    """Return the lines of the same drifts."""
    return tuple(told.line for told in told_drifts(opened, boats, memory))


def _line(
    opened: Opened, one: Numbered, told: frozenset[tuple[date, str, int]]
) -> DriftLine:
    settings, drift = opened.settings, one.drift
    return DriftLine(
        day=one.day,
        pair=one.pair,
        number=one.number,
        start=_moment(drift, drift.start_s, settings),
        end=_moment(drift, drift.end_s, settings),
        minutes=(drift.end_s - drift.start_s) / 60 if drift.timed else 0.0,
        length_m=drift.length_m,
        course_deg=drift.course_deg,
        swept_m2=one.swept.area,
        near=place_text(opened, float(drift.easting[0]), float(drift.northing[0])),
        length_error=drift.length_error,
        doubtful_s=drift.doubtful_s,
        source=one.source,
        told=(one.day, one.pair, one.number) in told,
        depth_m=mean_depth_m(opened.depths, drift.easting, drift.northing),
    )
