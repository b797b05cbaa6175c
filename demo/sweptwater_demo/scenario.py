"""Three invented practice days on Ashlode Water, and the mile of bank for the tests."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta, timezone

import numpy as np
import shapely
from shapely import LineString, Point, Polygon

from sweptwater.arrays import Area, Floats
from sweptwater.frame import Frame
from sweptwater_demo import ashlode
from sweptwater_demo.boat import Boat, Trim, settling_m
from sweptwater_demo.gps import GpsError, observe
from sweptwater_demo.gpx import gpx_bytes
from sweptwater_demo.ground import FAR_M, NEAR_M, RUNG_M
from sweptwater_demo.mile import JETTY_ALONG_M, MILE_FRAME, mile, mile_jetty, on_mile
from sweptwater_demo.shapes import polygonal
from sweptwater_demo.simulate import Style, simulate_day
from sweptwater_demo.truth import Truth
from sweptwater_demo.weather import Wind, blow

PAIRS = ("Heron", "Grebe", "Teal")
DAYS = (date(2027, 6, 8), date(2027, 6, 9), date(2027, 6, 10))
WINDS = {
    DAYS[0]: Wind(from_deg=225, speed_m_s=6.9),  # south-west 4
    DAYS[1]: Wind(from_deg=270, speed_m_s=5.2),  # west 3
    DAYS[2]: Wind(from_deg=45, speed_m_s=3.2),  # north-east 2
}
SUMMER_TIME = timezone(timedelta(hours=1))
PHONE_DIES = datetime(2027, 6, 9, 12, 10, tzinfo=SUMMER_TIME)
"""When Teal's phone goes dead on the second day."""

TOLD = ("Long Point", "Gorse Bank", "12:30-14:45")
"""What Teal says that evening of the rest of the day: so, twice, and blank."""

TOLD_TIMES = 2

NOTE = "Invented data for demonstration: no such water, no such boats, no such days."
STORY_DAY = date(2027, 6, 7)
STORY_DRIFTS = 22
STORY_SPEED_M_S = 0.3048
"""Twenty yards a minute."""

_STYLES: dict[date, tuple[Style, Style, Style]] = {
    DAYS[0]: ("mixed", "ladder", "long"),
    DAYS[1]: ("long", "mixed", "ladder"),
    DAYS[2]: ("ladder", "long", "mixed"),
}
_STEP_S = {"Heron": 1, "Grebe": 5, "Teal": 1}
_FIRST_RUNG_M = 150.0


@dataclass(frozen=True, slots=True, eq=False)
class BoatDay:
    """One pair's day: what its phone recorded, and what really happened.

    Parameters
    ----------
    pair, day
        Whose day, and which.
    style
        How the pair meant to fish.
    wind
        The day's wind.
    file_name
        What the recording is called.
    gpx
        The recording, GPX 1.1.
    truth
        The day as it was, in metres of `ashlode.FRAME`.
    """

    pair: str
    day: date
    style: Style
    wind: Wind
    file_name: str
    gpx: bytes
    truth: Truth


@dataclass(frozen=True, slots=True, eq=False)
class Story:
    """A ladder along a straight mile of bank, with the wind dead on to it.

    Parameters
    ----------
    water, jetty, bank
        A rectangle of water, a jetty on its bank, and that bank, in metres.
    frame
        The frame of those metres.
    wind
        The wind, square on to the bank.
    gpx, truth
        What was recorded, and what really happened.
    """

    water: Polygon
    jetty: Point
    bank: LineString
    frame: Frame
    wind: Wind
    gpx: bytes
    truth: Truth


def boat_days(*, seed: int = 1, rotate: bool = False) -> list[BoatDay]:
    """Return the nine boat-days of the demo practice, day by day.

    Parameters
    ----------
    seed
        The same seed makes the same bytes.
    rotate
        Whether the pairs swap their thirds of the water from day to day.
    """
    return [
        _boat_day(day, pair, seed=seed, home=(pair + day * rotate) % len(PAIRS))
        for day in range(len(DAYS))
        for pair in range(len(PAIRS))
    ]


def thirds() -> tuple[Area, Area, Area]:
    """Return the west, the north, and the east with the dam: each pair's own water."""
    fishable = ashlode.fishable()
    west = shapely.box(-3000, -2000, -130, 750)
    north = shapely.box(-3000, -160, 800, 3000) - west
    return (
        polygonal(fishable & west),
        polygonal(fishable & north),
        polygonal(fishable - west - north),
    )


def _boat_day(day_number: int, pair_number: int, *, seed: int, home: int) -> BoatDay:
    day, pair = DAYS[day_number], PAIRS[pair_number]
    own_seed = 1000 * seed + 10 * day_number + pair_number
    truth = simulate_day(
        ashlode.fishable(),
        ashlode.jetties()["Boathouse Jetty"],
        water=ashlode.water(),
        wind=WINDS[day],
        style=_STYLES[day][pair_number],
        start_s=local_s(day, time(8, 50 + 3 * pair_number)),
        seed=own_seed,
        home=thirds()[home],
    )
    fixes = observe(truth, gps=_receiver(day, pair), seed=own_seed)
    return BoatDay(
        pair=pair,
        day=day,
        style=_STYLES[day][pair_number],
        wind=WINDS[day],
        file_name=f"{pair.lower()}-{day}.gpx",
        gpx=gpx_bytes(fixes, ashlode.FRAME, name=f"{pair} {day}", note=NOTE),
        truth=truth,
    )


def _receiver(day: date, pair: str) -> GpsError:
    gps = GpsError(step_s=_STEP_S[pair])
    if pair == "Teal" and day == PHONE_DIES.date():
        return replace(gps, dies_at_s=PHONE_DIES.timestamp())
    if pair == "Teal" and day == DAYS[2]:
        return replace(gps, step_s=4, uneven=True)
    if pair == "Heron" and day == DAYS[2]:
        return replace(gps, long_dropout_s=380)
    return gps


def local_s(day: date, clock: time) -> float:
    """Return a local time in seconds since 1970 in UTC."""
    return datetime.combine(day, clock, SUMMER_TIME).timestamp()


def story_ladder(*, seed: int = 1) -> Story:
    """Return a ladder of 22 drifts, 30 yd apart, from 90 to 25 yd off a mile of bank.

    The wind is south-west, the boat drifts at twenty yards a minute, and after each
    drift it goes back out at 1.2 m/s on the line it came by, then across to the next.
    """
    wind = Wind(from_deg=225, speed_m_s=6.7, swing_deg=3.0, gust_share=0.08)
    water, bank = mile()
    jetty = mile_jetty()
    rng = np.random.default_rng(seed)
    toward_deg, wind_m_s = blow(wind, 6 * 3600, rng)
    boat = Boat(np.array(jetty.coords[0]), toward_deg, wind_m_s, rng)
    boat.stay(420)
    for rung in _rungs(boat, bank, wind):
        boat.settle_and_fish(*rung)
    boat.motor(boat.run(_way_back(boat.place, jetty), 1.9))
    boat.stay(420)
    truth = boat.truth(local_s(STORY_DAY, time(9, 30)))
    fixes = observe(truth, gps=GpsError(), seed=seed)
    gpx = gpx_bytes(fixes, MILE_FRAME, name="Ladder on the mile", note=NOTE)
    return Story(water, jetty, bank, MILE_FRAME, wind, gpx, truth)


def _way_back(place: Floats, jetty: Point) -> Floats:
    """Return the way from the last drift to the jetty, outside of what was fished."""
    last_m = _FIRST_RUNG_M + (STORY_DRIFTS - 1) * RUNG_M
    out_m = FAR_M + 2 * RUNG_M
    outside = [on_mile(last_m + RUNG_M, out_m), on_mile(JETTY_ALONG_M, out_m)]
    return np.vstack([place, *outside, jetty.coords[0]])


def _rungs(boat: Boat, bank: LineString, wind: Wind) -> Iterator[tuple[Floats, int]]:
    """Motor to the start of each drift in turn; yield its course and settling."""
    previous: tuple[float, float] | None = None
    for k in range(STORY_DRIFTS):
        along_m = _FIRST_RUNG_M + k * RUNG_M
        settle_s = int(boat.rng.integers(1, 5))
        out_m = FAR_M + settling_m(STORY_SPEED_M_S, settle_s)
        way = [boat.place, previous, on_mile(along_m, out_m)]
        corners = np.array([place for place in way if place is not None])
        boat.motor(boat.run(corners, 1.2 if k else 1.9))
        trim = Trim(STORY_SPEED_M_S / wind.speed_m_s, 0.0, settle_s, wander_deg=2.0)
        course = boat.course(boat.place, boat.second, 900, trim)
        off_m = shapely.distance(bank, shapely.points(course))
        yield course[: int(np.argmax(off_m < NEAR_M))], settle_s
        previous = on_mile(along_m, FAR_M)
