"""A planned day as it comes out: gusts, a boat's own course, a start missed by metres.

How much boats scatter is common practice, no source, but for the course: the leeway of
small boats lies some degrees to either side (Allen and Plourde 1999, CG-D-08-99), and
a boat's own drifts scatter less than boats among each other.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats
from sweptwater.offers.wind import Wind
from sweptwater.plan.day import DayPlan, Stop, union
from sweptwater.plan.ground import bearing_vector
from sweptwater.plan.legs import between_s, way_s
from sweptwater.plan.planned import PlannedDrift
from sweptwater.practice.settings import Settings
from sweptwater.swept.boats import clipped_sweep
from sweptwater.tracks.drifts import Drift

STEP_S = 15.0


@dataclass(frozen=True)
class Scatter:
    """How far a day goes off its plan; standard deviations.

    Parameters
    ----------
    course_deg, speed
        Of a whole drift: degrees off the planned course, and share of the speed.
    start_m
        How far from its start a drift begins, each way.
    wander_deg
        Of the course within a drift, minute by minute.
    gust
        Of the speed within a drift, as a share, minute by minute.
    held_m
        How far from its rail a steered boat goes.
    reset
        Of the time between two drifts, as a share.
    """

    course_deg: float = 6.0
    speed: float = 0.15
    start_m: float = 5.0
    wander_deg: float = 5.0
    gust: float = 0.25
    held_m: float = 4.0
    reset: float = 0.2


USUAL = Scatter()
STEERED = ("parallel", "zigzag")


def swept_on(
    rng: np.random.Generator,
    stops: tuple[Stop, ...],
    settings: Settings,
    fishable: Area,
    wind: Wind,
    speed_m_s: float,
    scatter: Scatter = USUAL,
) -> Area:
    """Return the water swept by a day's drifts as they came out."""
    swept: list[Area] = []
    for stop in stops:
        drift = drifted(rng, stop.drift, speed_m_s, wind, scatter)
        gone_deg = wind.downwind_deg + rng.normal(0, 3)
        swept.append(
            clipped_sweep(drift, settings.spread, fishable, downwind_deg=gone_deg)
        )
    return union(swept)


def drifted(
    rng: np.random.Generator,
    planned: PlannedDrift,
    speed_m_s: float,
    wind: Wind,
    scatter: Scatter,
) -> Drift:
    """Return how a planned drift came out.

    A crew lines in when it comes as far down the wind as the plan says.
    """
    speed_m_s *= max(0.4, 1 + scatter.speed * rng.standard_normal())
    begun = rng.normal(0, scatter.start_m, 2)
    count = int(3 * planned.length_m / speed_m_s / STEP_S) + 2
    went_m = STEP_S * speed_m_s * (1 + scatter.gust * _slow(rng, count))
    went_m = np.maximum(went_m, 0.1)
    if planned.pattern in STEERED:
        places = _held(rng, planned, np.cumsum(went_m), scatter.held_m)
    else:
        course_deg = planned.course_deg + scatter.course_deg * rng.standard_normal()
        turn_deg = course_deg + scatter.wander_deg * _slow(rng, count)
        ahead = np.array([bearing_vector(deg) for deg in turn_deg])
        places = planned.places[0] + begun + np.cumsum(went_m[:, None] * ahead, axis=0)
        places = np.vstack([planned.places[0] + begun, places])
        along = (places - planned.places[0]) @ bearing_vector(planned.course_deg)
        far = np.flatnonzero(along >= planned.length_m)
        places = places[: int(far[0]) + 1 if len(far) else None]
    time_s = np.linspace(0, STEP_S * (len(places) - 1), len(places))
    return Drift(time_s, places[:, 0], places[:, 1])


def _held(
    rng: np.random.Generator, planned: PlannedDrift, at_m: Floats, held_m: float
) -> Floats:
    line = planned.line
    at_m = np.append(0.0, at_m[at_m < line.length])
    at_m = np.append(at_m, line.length)
    places = shapely.get_coordinates(shapely.line_interpolate_point(line, at_m))
    off = np.column_stack([_slow(rng, len(places)), _slow(rng, len(places))])
    return np.asarray(places + held_m * off)


def _slow(rng: np.random.Generator, count: int) -> Floats:
    """Return noise of a standard deviation of 1 that changes within some minutes."""
    keep = np.exp(-STEP_S / 120)
    out = np.empty(count)
    now = rng.standard_normal()
    for index in range(count):
        out[index] = now
        now = keep * now + np.sqrt(1 - keep**2) * rng.standard_normal()
    return out


def came_out(
    rng: np.random.Generator,
    plan: DayPlan,
    settings: Settings,
    wind: Wind,
    scatter: Scatter = USUAL,
    *,
    heeds: bool = True,
) -> tuple[int, float]:
    """Return how many drifts a crew made, and how long its day lasted, lunch included.

    A crew that heeds the clock begins no drift after which, by the sheet, it would not
    be home in its hours.
    """
    assert plan.home is not None
    boat, made, now_s, home_s = settings.boat, 0, settings.day.lunch_s, 0.0
    for stop in plan.stops:
        way = shapely.get_coordinates(stop.way.line)
        passed_s = way_s(way, wind, boat)
        if not made:
            passed_s += boat.reset_s / 2
        else:
            passed_s = float(between_s(passed_s, boat))
        drifts_s = stop.end_s - stop.start_s
        back_s = stop.home_s + boat.reset_s / 2
        if heeds and now_s + passed_s + drifts_s + back_s > settings.day.afloat_s:
            break
        now_s += passed_s * max(0.5, 1 + scatter.reset * rng.standard_normal())
        now_s += drifts_s / max(0.4, 1 + scatter.speed * rng.standard_normal())
        made, home_s = made + 1, back_s
    return made, now_s + home_s
