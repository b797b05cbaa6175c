"""What a file of any kind holds: usable fixes, and words for what was lost.

References
----------
GPX 1.1 schema: latitudes from -90 to 90, longitudes from -180 to below 180, both in
degrees on WGS 84. The other kinds mean the same.
"""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sweptwater.arrays import Bools, Floats, Ints
from sweptwater.tracks.clock import Times, numeric_times, read_times

MOST_POINTS = 2_000_000
"""A file with more is refused: a day at one fix a second has some 30,000."""

UNTIMED = "no fix has a time"
"""The remark on a file without any time."""

RUN_BACK = "the times run back"
"""How the remark begins on fixes that come before the one before."""

NO_POSITION = "no position"
NO_NUMBER = "a position that is not a number"
BEYOND_POLES = "a latitude beyond the poles"
BEYOND_GLOBE = "a longitude beyond 180 degrees"
NO_SATELLITES = "no satellite fix (0, 0)"

_COMMA = re.compile(r"\s*[+-]?\d{1,3},\d+\s*", re.ASCII)
_REASONS = (NO_POSITION, NO_NUMBER, BEYOND_POLES, BEYOND_GLOBE, NO_SATELLITES)


@dataclass(frozen=True, slots=True, eq=False)
class Fixes:
    """Fixes of one file in the order of the file.

    Parameters
    ----------
    lon, lat
        Degrees, finite, -180 to below 180 and -90 to 90.
    time_s
        Seconds since 1970-01-01 UTC, NaN where the file gave none.
    segment
        Which stretch of the record each belongs to, counting from 0: a trkseg in GPX,
        a Track in TCX and KML, a file of several on end in FIT. Stretches without a
        fix count too, so numbers may be missing.
    """

    lon: Floats
    lat: Floats
    time_s: Floats
    segment: Ints

    def __len__(self) -> int:
        return len(self.lon)


@dataclass(frozen=True, slots=True)
class Waypoint:
    """A marked place, in degrees, and its seconds since 1970 UTC (NaN if untimed)."""

    name: str
    lon: float
    lat: float
    time_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """What one file holds.

    Parameters
    ----------
    fixes
        At least one.
    waypoints
        Those with a usable position, in the order of the file.
    dropped
        How many track points were left out, by reason in plain words.
    remarks
        Sentences for the captain on what was lost or assumed.
    loose_times
        Whether some times carried no zone and were taken as UTC.
    kind
        "GPX", "FIT", "TCX" or "KML", whatever the name of the file says.
    """

    fixes: Fixes
    waypoints: tuple[Waypoint, ...]
    dropped: Mapping[str, int]
    remarks: tuple[str, ...]
    loose_times: bool
    kind: str


@dataclass(frozen=True, slots=True)
class Damage:
    """What is wrong with the bytes of a file.

    Parameters
    ----------
    where
        The first damaged place, such as "line 5".
    places
        In how many places the file is damaged, 0 for a sound one.
    broken_off
        Whether it just ends too early.
    lost
        At least how many track points that cost.
    """

    where: str = ""
    places: int = 0
    broken_off: bool = False
    lost: int = 0


@dataclass(frozen=True, slots=True)
class Block:
    """The usable ones of consecutive points.

    Parameters
    ----------
    lon, lat
        Degrees of those kept.
    times
        Of those kept.
    kept
        Which of the points these are.
    dropped
        How many were left out, by reason.
    points
        How many there were.
    """

    lon: Floats
    lat: Floats
    times: Times
    kept: Ints
    dropped: Counter[str]
    points: int


def judged_texts(
    lons: Sequence[str], lats: Sequence[str], texts: Sequence[str]
) -> Block:
    """Turn the texts of points, of which some may be empty, into usable fixes."""
    lon, lat = _degrees(lons), _degrees(lats)
    blank = np.zeros(len(lon), dtype=bool)
    for i in np.flatnonzero(~(np.isfinite(lon) & np.isfinite(lat))).tolist():
        blank[i] = not (lons[i].strip() and lats[i].strip())
    reason = _reasons(lon, lat, blank)
    kept = np.flatnonzero(reason < 0)
    if len(kept) < len(texts):
        texts = [texts[i] for i in kept.tolist()]
    return _block(lon, lat, reason, read_times(texts))


def judged_numbers(lon: Floats, lat: Floats, time_s: Floats) -> Block:
    """Turn the numbers of points, of which some may be NaN, into usable fixes."""
    reason = _reasons(lon, lat, np.isnan(lon) | np.isnan(lat))
    return _block(lon, lat, reason, numeric_times(time_s[reason < 0]))


def _reasons(lon: Floats, lat: Floats, blank: Bools) -> Ints:
    """Return which of `_REASONS` each point is left out for, -1 if for none."""
    flaws = [
        blank,
        ~(np.isfinite(lon) & np.isfinite(lat)),
        np.abs(lat) > 90,
        np.abs(lon) > 180,
        (lon == 0) & (lat == 0),
    ]
    return np.select(flaws, range(len(flaws)), default=-1)


def _block(lon: Floats, lat: Floats, reason: Ints, times: Times) -> Block:
    counts = np.bincount(reason[reason >= 0], minlength=len(_REASONS)).tolist()
    kept = np.flatnonzero(reason < 0)
    lon, lat = lon[kept], lat[kept]
    lon[lon == 180] = -180  # the same meridian, as the schema writes it
    dropped = Counter(dict(zip(_REASONS, counts, strict=True)))
    return Block(lon, lat, times, kept, +dropped, len(reason))


def _degrees(texts: Sequence[str]) -> Floats:
    """Return the numbers in a column of texts, NaN where there is none."""
    try:
        return np.fromiter(map(float, texts), np.float64, len(texts))
    except ValueError:
        return np.fromiter(map(_number, texts), np.float64, len(texts))


def _number(text: str) -> float:
    """Return the number in a text, with a comma too where a phone's language has it."""
    try:
        return float(text.replace(",", ".") if _COMMA.fullmatch(text) else text)
    except ValueError:
        return np.nan


def joined(blocks: Sequence[Block], starts: Sequence[int]) -> Fixes:
    """Put blocks together; `starts` says how many points came before each stretch."""
    before = np.cumsum([0, *(block.points for block in blocks)])
    point = np.concatenate(
        [block.kept + start for block, start in zip(blocks, before[:-1], strict=True)]
    )
    return Fixes(
        np.concatenate([block.lon for block in blocks]),
        np.concatenate([block.lat for block in blocks]),
        np.concatenate([block.times.time_s for block in blocks]),
        np.searchsorted(starts, point, side="right") - 1,
    )


def nowhere(dropped: Mapping[str, int]) -> str:
    """Return that no point is usable, and what to do, as the rest of a sentence."""
    reasons = ", ".join(f"{count} with {why}" for why, count in dropped.items())
    return (
        f"has no track point with a usable position ({reasons}): look whether the "
        "device had its satellite fix"
    )


def damage_remarks(damage: Damage, fixes: int) -> Iterator[str]:
    """Tell what damage there is and what it cost."""
    if not damage.places:
        return
    kept = f"{were(fixes, 'fix')} kept"
    if damage.broken_off:
        yield (
            f"the file breaks off at {damage.where} in the middle of the record: "
            f"{kept} up to there; copy it again from the device if you can"
        )
        return
    others = damage.places - 1
    more = f" and in {count(others, 'other place')}" if others else ""
    lost = f"at least {were(damage.lost, 'track point')} lost with what stood there"
    yield (
        f"the file is damaged at {damage.where}{more}: {kept} and "
        f"{lost if damage.lost else 'what stood there was lost'}; copy it again from "
        "the device if you can"
    )


def time_remarks(times: Sequence[Times], fixes: Fixes) -> Iterator[str]:
    """Tell which times are missing, left out or taken on trust."""
    unreadable = [text for part in times for text in part.unreadable]
    implausible = [text for part in times for text in part.implausible]
    zoneless = sum(part.zoneless for part in times)
    untimed = int(np.isnan(fixes.time_s).sum())
    if unreadable:
        yield (
            f"{were(len(unreadable), 'time')} unreadable, like {unreadable[0]!r}, and "
            "left out: the place was kept"
        )
    if implausible:
        yield (
            f"{were(len(implausible), 'time')} before 1990 or after 2100, like "
            f"{implausible[0]!r}, and left out: set the clock of the device"
        )
    if zoneless:
        yield f"{were(zoneless, 'time')} without a zone and taken as UTC"
    if untimed == len(fixes):
        yield UNTIMED
    elif untimed:
        yield f"{count(untimed, 'fix')} of {len(fixes):,} without a time"
    if backward := int((np.diff(fixes.time_s[~np.isnan(fixes.time_s)]) < 0).sum()):
        yield (
            f"{RUN_BACK} in {count(backward, 'place')}: the fixes are taken in "
            "the order of their times"
        )


def count(number: int, what: str) -> str:
    """Return a number with its noun, such as "2 fixes"."""
    plural = "es" if what.endswith("x") else "s"
    return f"{number:,} {what}{plural if number != 1 else ''}"


def were(number: int, what: str) -> str:
    """Return a number with its noun and verb, such as "2 fixes were"."""
    return f"{count(number, what)} {'were' if number != 1 else 'was'}"
