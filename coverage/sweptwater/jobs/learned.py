"""How fast the boats drift: what their drifts of all days say."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from math import hypot

import numpy as np

from sweptwater.jobs.note import read_noted
from sweptwater.jobs.opened import Opened
from sweptwater.offers.noted import Noted, drogue_at, has_wind, wind_at
from sweptwater.offers.wind import FORCES_FROM_M_S, Wind
from sweptwater.plan.leeway import (
    Leeway,
    Sample,
    learn,
    published,
    sample_of,
    with_drogue,
    without_drogue,
)
from sweptwater.practice.outing import Drogue
from sweptwater.swept.boats import BoatDay
from sweptwater.tracks.drifts import Drift

SHORTEST_S = 180.0
"""A shorter drift is all start and stop."""

LIGHTEST_M_S = FORCES_FROM_M_S[1]
"""In less wind, force 0 and 1, eddies and currents move a boat as much."""

ENOUGH = 3
"""From so many drifts on, a boat's own speed is better than what others know."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One drift as it was recorded.

    Parameters
    ----------
    pair, day
        Whose drift it was, and when.
    drogue
        Whether the drogue was in; None if nobody told.
    speed_m_s
        How fast it went under way.
    sample
        What it says of the boat in a wind; None if it cannot.
    """

    pair: str
    day: date
    drogue: Drogue | None
    speed_m_s: float
    sample: Sample | None


@dataclass(frozen=True, slots=True)
class DriftSpeed:
    """How fast the boats of a pair drifted: m/s, degrees.

    Parameters
    ----------
    pair, drogue
        Whose drifts; None for those of all. Whether the drogue was in; None where
        nobody told.
    drifts
        How many drifts.
    speed_m_s, slow_m_s, fast_m_s
        Their middle speed, and those that one in ten is slower and faster than.
    drifts_in_wind
        How many of them tell how the boat goes in a wind.
    wind_share, share_sd, off_deg, off_sd_deg
        What they come to, with what was known before: see `Leeway`. None where too few
        drifts tell.
    """

    pair: str | None
    drogue: Drogue | None
    drifts: int
    speed_m_s: float
    slow_m_s: float
    fast_m_s: float
    drifts_in_wind: int
    wind_share: float | None
    share_sd: float | None
    off_deg: float | None
    off_sd_deg: float | None


@dataclass(frozen=True, slots=True)
class Learned:
    """What the drifts say.

    Parameters
    ----------
    speeds
        A line for each pair that drifted and each way with the drogue; and, where there
        are several pairs, the same for all.
    seen
        The drifts themselves.
    usual
        Where the drogue is, of drifts of which nobody told: as in the settings.
    """

    speeds: tuple[DriftSpeed, ...] = ()
    seen: tuple[Seen, ...] = field(default=(), repr=False)
    usual: Drogue = "out"


def learned(
    opened: Opened,
    boats: Iterable[BoatDay],
    *,
    given: Mapping[date, Wind] | None = None,
    noted: Noted | None = None,
) -> Learned:
    """Return how fast the boats drifted, and how they go in a wind.

    Parameters
    ----------
    boats
        The boat-days to learn from.
    given
        The winds of days of which nobody noted one: those that were planned with.
    noted
        What was noted, if it was read already.
    """
    noted = read_noted(opened) if noted is None else noted
    seen = tuple(seen_drifts(boats, noted, given or {}))
    usual = opened.settings.boat.drogue
    return Learned(speed_lines(seen, usual), seen, usual)


def leeway_for(learned: Learned, pair: str, drogue: Drogue) -> Leeway:
    """Return how a pair's boat will drift, as far as it is known.

    By the first of these that has ENOUGH drifts: the pair's own as they were told, or
    with those of which nobody told where that is the usual way; all boats' likewise;
    the pair's own with the drogue the other way, by the published ratio; all boats' so;
    else the published range.
    """
    other: Drogue = "out" if drogue == "in" else "in"
    turn = with_drogue if drogue == "in" else without_drogue
    for way in (drogue, other):
        for whose in (pair, None):
            for samples in _choices(learned, whose, way):
                if len(samples) >= ENOUGH:
                    found = learn(samples, published(way))
                    return found if way == drogue else turn(found)
    return published(drogue)


def seen_drifts(
    boats: Iterable[BoatDay], noted: Noted, given: Mapping[date, Wind]
) -> Iterator[Seen]:
    """Yield the drifts of boat-days that have a speed.

    One that lay at anchor or has no times has none. What one says of the boat in a wind
    needs a wind that was told, of force 2 at least, three minutes, and nothing in doubt
    or at anchor; it goes by the way made good.

    Parameters
    ----------
    given
        The winds of days of which nobody noted one.
    """
    for boat in boats:
        for drift in boat.afloat.drifts:
            under_way_s = drift.end_s - drift.start_s - drift.anchored_s
            if not drift.timed or drift.at_anchor or under_way_s <= 0:
                continue
            middle_s = (drift.start_s + drift.end_s) / 2
            wind = wind_at(noted, boat.day, middle_s, boat.pair)
            if wind is None and not has_wind(noted, boat.day):
                wind = given.get(boat.day)
            yield Seen(
                pair=boat.pair,
                day=boat.day,
                drogue=drogue_at(noted, boat.day, middle_s, boat.pair),
                speed_m_s=drift.length_m * (1 - drift.length_error) / under_way_s,
                sample=drift_sample(drift, wind) if wind else None,
            )


def drift_sample(drift: Drift, wind: Wind) -> Sample | None:
    """Return what a drift says of its boat in a wind; None if it cannot."""
    lasted_s = drift.end_s - drift.start_s
    if (
        drift.anchored
        or not drift.timed
        or lasted_s < SHORTEST_S
        or 2 * drift.doubtful_s > lasted_s
        or wind.speed_m_s < LIGHTEST_M_S
    ):
        return None
    east_m = float(drift.easting[-1] - drift.easting[0])
    north_m = float(drift.northing[-1] - drift.northing[0])
    return sample_of(
        course_deg=drift.course_deg,
        speed_m_s=hypot(east_m, north_m) / lasted_s,
        duration_s=lasted_s,
        wind=wind,
    )


def speed_lines(seen: Sequence[Seen], usual: Drogue) -> tuple[DriftSpeed, ...]:
    """Return a line for each pair and way with the drogue, and for all pairs.

    Parameters
    ----------
    usual
        Where the drogue is taken to be if nobody told.
    """
    pairs = sorted({one.pair for one in seen})
    whose = [*pairs, *([None] if len(pairs) > 1 else [])]
    ways: tuple[Drogue | None, ...] = ("out", "in", None)
    lines = (
        (pair, drogue, [one for one in _of(seen, pair) if one.drogue == drogue])
        for pair in whose
        for drogue in ways
    )
    return tuple(_line(*line, usual) for line in lines if line[2])


def _line(
    pair: str | None, drogue: Drogue | None, seen: Sequence[Seen], usual: Drogue
) -> DriftSpeed:
    slow, middle, fast = np.quantile([one.speed_m_s for one in seen], (0.1, 0.5, 0.9))
    samples = _samples(seen)
    found = None
    if len(samples) >= ENOUGH:
        found = learn(samples, published(drogue or usual))
    return DriftSpeed(
        pair=pair,
        drogue=drogue,
        drifts=len(seen),
        speed_m_s=float(middle),
        slow_m_s=float(slow),
        fast_m_s=float(fast),
        drifts_in_wind=len(samples),
        wind_share=found.share if found else None,
        share_sd=found.share_sd if found else None,
        off_deg=found.off_deg if found else None,
        off_sd_deg=found.off_sd_deg if found else None,
    )


def _choices(
    learned: Learned, pair: str | None, drogue: Drogue
) -> Iterator[list[Sample]]:
    """Yield the samples of one way with the drogue: as told, then with the usual."""
    seen = _of(learned.seen, pair)
    told = [one for one in seen if one.drogue == drogue]
    yield _samples(told)
    if learned.usual == drogue:
        yield _samples([*told, *(one for one in seen if one.drogue is None)])


def _of(seen: Iterable[Seen], pair: str | None) -> list[Seen]:
    return [one for one in seen if pair is None or one.pair == pair]


def _samples(seen: Iterable[Seen]) -> list[Sample]:
    return [one.sample for one in seen if one.sample is not None]
