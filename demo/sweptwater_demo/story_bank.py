"""The wrong layer: a bank drifted three times in bright sun, on floating lines only."""

from dataclasses import dataclass
from datetime import date, datetime, time

import numpy as np

from sweptwater.arrays import Floats
from sweptwater.practice.notes import Note
from sweptwater.practice.tally import Entry
from sweptwater.units import FOOT_M, MILE_M
from sweptwater_demo.bed import Soundings
from sweptwater_demo.boat import Boat, Trim
from sweptwater_demo.gps import GpsError, observe
from sweptwater_demo.gpx import gpx_bytes
from sweptwater_demo.mile import MILE_FRAME, WIDE_M, mile, mile_jetty, on_mile
from sweptwater_demo.scenario import NOTE, SUMMER_TIME, Story, local_s
from sweptwater_demo.sky import INVENTED
from sweptwater_demo.tackle import ENDS, TOP
from sweptwater_demo.weather import Wind, blow

DAY, PAIR, TIMES = date(2027, 6, 7), "Heron", 3
DRIFT_M_S, DRIFT_S = 0.4, 2400
DEEP_M = 22 * FOOT_M
"""How deep the water is, from a few metres off the stones on."""

BEGINS_ALONG_M, OUT_M = 250.0, (35.0, 50.0, 65.0)
_SHELVES_M, _WIDE_M, _STEP_M = 8.0, 120.0, 25.0


@dataclass(frozen=True, slots=True, eq=False)
class BankStory:
    """What a captain has in hand that evening.

    Parameters
    ----------
    story
        The water, its bank, the record and the truth of the three drifts.
    soundings
        How deep it is.
    rows
        The tally: both rods blank on floating lines, drift by drift.
    notes
        The sky, bright from morning on, and the wind.
    """

    story: Story
    soundings: Soundings
    rows: tuple[Entry, ...]
    notes: tuple[Note, ...]


def story_bank(*, seed: int = 1) -> BankStory:
    """Return a bank drifted along three times in one bright day, and blank.

    The wind is north-west, along the bank, the boat drifts at 0.4 m/s, and the water is
    22 ft deep: the flies worked within 3 ft of the top, and nobody fished below.
    """
    wind = Wind(from_deg=315, speed_m_s=7.0, swing_deg=1.0, gust_share=0.03)
    water, bank = mile()
    jetty = mile_jetty()
    rng = np.random.default_rng(seed)
    boat = Boat(np.array(jetty.coords[0]), *blow(wind, 6 * 3600, rng), rng)
    boat.stay(420)
    for out_m in OUT_M:
        _drift(boat, out_m, wind)
    boat.motor(boat.run(_way(boat.place, jetty.coords[0]), 1.9))
    boat.stay(420)
    truth = boat.truth(local_s(DAY, time(10, 30)))
    fixes = observe(truth, gps=GpsError(), seed=seed)
    gpx = gpx_bytes(fixes, MILE_FRAME, name="Along the mile", note=NOTE)
    story = Story(water, jetty, bank, MILE_FRAME, wind, gpx, truth)
    begun_s = [drift.start_s for drift in truth.drifts]
    return BankStory(story, _soundings(), tuple(_rows(begun_s)), _notes())


def _drift(boat: Boat, out_m: float, wind: Wind) -> None:
    start = on_mile(BEGINS_ALONG_M, out_m)
    boat.motor(boat.run(_way(boat.place, start), 1.9))
    trim = Trim(DRIFT_M_S / wind.speed_m_s, 0.0, 3, wander_deg=1.0)
    course = boat.course(boat.place, boat.second, DRIFT_S, trim)
    boat.settle_and_fish(course, trim.settle_s)


def _way(place: Floats, goal: tuple[float, ...]) -> Floats:
    """Return the way to a goal, wide of the bank's water."""
    out = np.array(on_mile(0, 180)) - np.array(on_mile(0, 0))
    return np.vstack([place, place + out, np.array(goal) + out, goal])


def _rows(begun_s: list[float]) -> list[Entry]:
    return [
        Entry(
            day=DAY,
            pair=PAIR,
            start=datetime.fromtimestamp(start_s, SUMMER_TIME).time().replace(second=0),
            drift=number,
            rod=rod,
            told="blank",
            setup=TOP.setup,
            drogue="out",
            note=INVENTED,
        )
        for number, start_s in enumerate(begun_s, 1)
        for rod in ENDS
    ]


def _notes() -> tuple[Note, ...]:
    at = time(10, 15)
    return (
        Note(day=DAY, at=at, kind="sky", value="bright", note=INVENTED),
        Note(day=DAY, at=at, kind="wind", value="NW4", note=INVENTED),
    )


def _soundings() -> Soundings:
    """Return a sounding every 25 m near the bank, and every 120 m further out."""
    spots = [(a, o) for a in _steps(MILE_M, _STEP_M) for o in _steps(200, 10)]
    spots += [(a, o) for a in _steps(MILE_M, _WIDE_M) for o in _steps(WIDE_M, _WIDE_M)]
    lon, lat = MILE_FRAME.to_degrees(*np.array([on_mile(*spot) for spot in spots]).T)
    depth_m = DEEP_M * np.minimum(np.array(spots)[:, 1] / _SHELVES_M, 1.0)
    return Soundings(np.round(lon, 6), np.round(lat, 6), np.round(depth_m, 2))


def _steps(end_m: float, step_m: float) -> list[float]:
    """Return the middles of steps up to an end."""
    return [float(at_m) for at_m in np.arange(step_m / 2, end_m, step_m)]
