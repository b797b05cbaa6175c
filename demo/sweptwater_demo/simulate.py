"""A day in a drifting boat on any water, made up from a seed, with its truth.

What is known of such days is common practice, without a source: eight to nine hours
afloat; drifts of a quarter to three quarters of an hour, or short ones side by side on
to a bank; some four minutes, engine included, from the end of one to the start of the
next; a drift at three to four per cent of the wind's speed, less with a drogue.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

import numpy as np
import shapely
from shapely import Point

from sweptwater.arrays import Area, Floats
from sweptwater_demo.boat import Boat, Trim, settling_m
from sweptwater_demo.gps import Fixes, GpsError, observe
from sweptwater_demo.ground import Ground, ground, ladders
from sweptwater_demo.motoring import duration_s
from sweptwater_demo.truth import ASHORE, FISHING, MOTORING, Drift, Truth
from sweptwater_demo.weather import Wind, blow, headings
from sweptwater_demo.zigzag import along_banks, zigzag_course

__all__ = [
    "ASHORE",
    "FISHING",
    "MOTORING",
    "Drift",
    "Fixes",
    "GpsError",
    "Style",
    "Truth",
    "Wind",
    "observe",
    "simulate_day",
]

Style: TypeAlias = Literal["long", "ladder", "mixed"]
_Kind: TypeAlias = Literal["long", "ladder", "zigzag"]

_CRUISE_M_S = (1.6, 2.2)
_LADDER_CRUISE_M_S = 1.2
_LONG_S, _RUNG_S = (900, 2700), (180, 480)
_BETWEEN_S = 270
_MOST_RUNGS = 34
_WIDE_M = 65.0
_STAYS_SHARE = 0.75
_DROGUE_FROM_M_S, _DROGUE_SHARE = 6.0, 0.65


def simulate_day(
    fishable: Area,
    jetty: Point,
    *,
    wind: Wind,
    style: Style,
    start_s: float,
    seed: int,
    hours: float = 8.5,
    water: Area | None = None,
    home: Area | None = None,
    home_share: float = 0.85,
    drift_share: float = 0.037,
) -> Truth:
    """Return what a boat did on one day.

    Parameters
    ----------
    fishable
        The water less islands and out-of-bounds zones, in metres: boats stay on it.
    jetty
        Where the boat starts and ends, at the shore.
    wind
        The day's wind.
    style
        Mostly long drifts; mostly ladders, short drifts side by side on to a bank; or
        both. Where no bank faces the wind a ladder day has long drifts instead.
    start_s
        Seconds since 1970 in UTC at the first second, when the boat is still tied up.
    seed
        The same seed makes the same day.
    hours
        From leaving the jetty to being back, lunch and motoring included.
    water
        The water with its out-of-bounds zones, to tell their edges from the shore; the
        fishable water if there are none.
    home, home_share
        The part of the water the pair keeps to, and for what share of its drifts.
    drift_share
        Speed of the drift, without drogue, as a share of the wind's.

    Raises
    ------
    ValueError
        If the water is too narrow for a boat.
    """
    rng = np.random.default_rng(seed)
    on = ground(fishable, fishable if water is None else water, jetty)
    toward_deg, wind_m_s = blow(wind, round((hours + 3) * 3600), rng)
    boat = Boat(on.dock, toward_deg, wind_m_s, rng)
    day = _Day(
        on=on,
        boat=boat,
        home=fishable if home is None else home,
        home_share=home_share,
        drift_share=drift_share,
        rng=rng,
    )
    day.spend(style, round(hours * 3600))
    return boat.truth(start_s)


@dataclass(frozen=True, slots=True, eq=False)
class _Attempt:
    run: Floats
    course: Floats
    settle_s: int

    @property
    def fishing_s(self) -> int:
        return len(self.course) - self.settle_s


@dataclass(slots=True, eq=False)
class _Day:
    on: Ground
    boat: Boat
    home: Area
    home_share: float
    drift_share: float
    rng: np.random.Generator
    back_by: int = 0
    rungs: int = 0
    planned: int = 11
    begun: list[Floats] = field(default_factory=list)

    def spend(self, style: Style, seconds: int) -> None:
        """Fill the day: tied up, drifts and lunch, back, tied up."""
        boat, rng = self.boat, self.rng
        boat.stay(int(rng.integers(330, 700)))
        self.back_by = boat.second + seconds
        self.planned = int(rng.integers(10, 13))
        lunch_at = boat.second + int(seconds * rng.uniform(0.42, 0.54))
        menu = _menu(style, rng)
        while self.left_s() > _LONG_S[0] * 1.1:
            if boat.second > lunch_at:
                lunch_at = self.back_by
                self.lunch()
            elif not self.drift(next(menu), style):
                break
        self.motor_to(self.on.dock)
        boat.stay(int(rng.integers(330, 600)))

    def left_s(self) -> float:
        """Return the seconds left for anything but the way home."""
        home = self.on.ways.way(self.boat.place, self.on.dock)
        return self.back_by - self.boat.second - duration_s(home, 1.9)

    def motor_to(self, place: Floats) -> None:
        way = self.on.ways.way(self.boat.place, place)
        self.boat.motor(self.boat.run(way, self.rng.uniform(*_CRUISE_M_S)))

    def lunch(self) -> None:
        """Go ashore at the nearest bank, or at the jetty if that is as near."""
        ashore = shapely.shortest_line(self.on.shore, Point(self.boat.place)).coords[0]
        afloat = shapely.shortest_line(self.on.fishable.buffer(-4), Point(ashore))
        place = np.array(afloat.coords[0], dtype=np.float64)
        if np.hypot(*(self.on.dock - self.boat.place)) < 400:
            place = self.on.dock
        self.motor_to(place)
        self.boat.stay(int(self.rng.integers(25 * 60, 45 * 60)))

    def drift(self, kind: _Kind, style: Style) -> bool:
        """Make the next drift or ladder; say whether there was one."""
        if kind == "ladder" and self.ladder():
            return True
        if kind == "zigzag" and self.zigzag():
            return True
        return self.long(self.long_s(style))

    def long_s(self, style: Style) -> int:
        """Return how long the next long drift should be, so that the day comes out."""
        to_come = max(self.planned - self.boat.drifts, 1)
        even_s = self.left_s() / to_come - _BETWEEN_S
        aim_s = even_s if style == "long" else self.rng.uniform(1200, 2300)
        return int(np.clip(aim_s * self.rng.uniform(0.8, 1.2), 960, _LONG_S[1]))

    def trim(self) -> Trim:
        share = self.drift_share * self.rng.uniform(0.93, 1.07)
        wind_m_s = float(np.mean(self.boat.wind_m_s))
        if wind_m_s > _DROGUE_FROM_M_S and self.rng.random() < 0.4:
            share *= _DROGUE_SHARE
        leeway_deg = float(np.clip(self.rng.normal(0, 5), -12, 12))
        return Trim(share, leeway_deg, int(self.rng.integers(1, 5)))

    def long(self, longest_s: int) -> bool:
        """Make a long drift from one of the likeliest starts."""
        trim = self.trim()
        best: _Attempt | None = None
        for start in self.starts(longest_s, trim)[:8]:
            attempt = self.attempt(start, trim, longest_s)
            if best is None or attempt.fishing_s > best.fishing_s:
                best = attempt
            if best.fishing_s >= min(_LONG_S[0] * 1.3, longest_s):
                break
        return self.commit(best, _RUNG_S[0])

    def zigzag(self) -> bool:
        """Make a zig-zag where the wind blows along a bank, if there is such a bank."""
        places = self.on.somewhere(self.home, 200, self.rng)
        starts = along_banks(self.on, places, self.downwind_deg)
        near_first = np.argsort(np.hypot(*(starts - self.boat.place).T))
        trim, best = self.trim(), None
        for start in starts[near_first[:6]]:
            attempt = self.attempt(start, trim, 2200, zigzag=True)
            if best is None or attempt.fishing_s > best.fishing_s:
                best = attempt
        return self.commit(best, _LONG_S[0])

    def ladder(self) -> bool:
        """Make a ladder of eight to a dozen short drifts, if a bank faces the wind."""
        rungs = self.bank()[: int(self.rng.integers(9, 13))]
        made = 0
        previous: Floats | None = None
        for start in rungs:
            if self.rungs >= _MOST_RUNGS or self.left_s() < _LONG_S[0]:
                break
            via = None if previous is None else self.beyond(previous)
            attempt = self.attempt(start, self.rung_trim(), _RUNG_S[1], via=via)
            if self.commit(attempt, _RUNG_S[0]):
                previous = start
                made += 1
        self.rungs += made
        return made > 0

    def beyond(self, start: Floats) -> Floats:
        """Return a place upwind of the last start: boats come back wide of the fish."""
        upwind = -headings(np.array([self.downwind_deg]))
        wide = start + self.rng.uniform(15, 55) * upwind
        return wide[0] if self.on.clear(wide)[0] else start

    def rung_trim(self) -> Trim:
        """Return a trim that takes three to eight minutes for a rung."""
        trim = self.trim()
        wind_m_s = float(np.mean(self.boat.wind_m_s))
        share = np.clip(trim.wind_share, 0.14 / wind_m_s, 0.29 / wind_m_s)
        return Trim(float(share), trim.leeway_deg / 2, trim.settle_s)

    def bank(self) -> Floats:
        """Return the starts along a bank that faces the wind, the nearest end first."""
        all_banks = ladders(self.on, self.downwind_deg)
        own = [
            b for b in all_banks if shapely.intersects_xy(self.home, *b.mean(axis=0))
        ]
        near = sorted(own or all_banks, key=lambda b: self.away_m(b).min())
        if not near:
            return np.zeros((0, 2))
        chosen = near[min(int(self.rng.integers(0, 3)), len(near) - 1)]
        away_m = self.away_m(chosen)
        return chosen if away_m[0] <= away_m[-1] else chosen[::-1]

    @property
    def downwind_deg(self) -> float:
        return float(self.boat.downwind_deg[self.boat.second])

    def away_m(self, places: Floats) -> Floats:
        return np.asarray(np.hypot(*(places - self.boat.place).T))

    def starts(self, longest_s: int, trim: Trim) -> Floats:
        """Return starts for a long drift, the likeliest first.

        A good one has water enough downwind, is some minutes away, sometimes further
        for a change, and is not where the boat started before.
        """
        home = self.home if self.rng.random() < self.home_share else self.on.fishable
        places = self.on.somewhere(home, 50, self.rng)
        if not len(places):
            places = self.on.somewhere(self.on.fishable, 50, self.rng)
        bearing = self.downwind_deg + trim.leeway_deg
        room_m = self.on.clear_run_m(places, bearing)
        wanted_m = longest_s * trim.wind_share * np.mean(self.boat.wind_m_s)
        short = np.maximum(1 - room_m / (1.05 * wanted_m), 0)
        liked_s = (
            150 if self.rng.random() < _STAYS_SHARE else self.rng.uniform(250, 500)
        )
        away = np.abs(self.away_m(places) / 1.8 - liked_s) / 200
        chance = 0.4 * self.rng.random(len(places))
        dislike = away + 6 * short + 1.5 * self.again(places) + chance
        return np.asarray(places[np.argsort(dislike)])

    def again(self, places: Floats) -> Floats:
        """Return from 0 to 1 how near places are to where drifts began, shape (n,)."""
        if not self.begun:
            return np.zeros(len(places))
        apart = places[:, None] - np.array(self.begun)[None]
        nearest_m = np.hypot(*apart.transpose(2, 0, 1)).min(axis=1)
        return np.asarray(np.exp(-((nearest_m / 130) ** 2)))

    def attempt(
        self,
        start: Floats,
        trim: Trim,
        longest_s: int,
        *,
        via: Floats | None = None,
        zigzag: bool = False,
    ) -> _Attempt:
        """Return what a drift from a start would come to, the run to it included."""
        boat = self.boat
        speed_m_s = trim.wind_share * boat.wind_m_s[boat.second]
        upwind = -headings(np.array([self.downwind_deg]))[0]
        stop = start + settling_m(float(speed_m_s), trim.settle_s) * upwind
        cruise_m_s = self.rng.uniform(*_CRUISE_M_S)
        if via is None:
            way = self.way_round(stop)
        else:
            way, cruise_m_s = np.vstack([boat.place, via, stop]), _LADDER_CRUISE_M_S
        run = boat.run(way, cruise_m_s)
        second = boat.second + len(run)
        seconds = trim.settle_s + min(longest_s, max(self.back_by - second, 60))
        if zigzag:
            course = zigzag_course(
                self.on, boat, stop, trim, second=second, seconds=seconds
            )
        else:
            course = boat.course(stop, second, seconds, trim)
        return _Attempt(run, self.while_clear(course, trim.settle_s), trim.settle_s)

    def while_clear(self, course: Floats, settle_s: int) -> Floats:
        clear = self.on.clear(course)
        clear[:settle_s] = True
        return course[: int(np.argmin(np.r_[clear, False]))]

    def way_round(self, goal: Floats) -> Floats:
        """Return the way to a goal; if that is upwind, wide of the water between."""
        here, ways = self.boat.place, self.on.ways
        off = goal - here
        across = headings(np.array([self.downwind_deg + 90]))[0] * _WIDE_M
        back = -float(off @ headings(np.array([self.downwind_deg]))[0])
        if back < 2 * _WIDE_M or self.boat.drifts == 0:
            return ways.way(here, goal)
        for side in self.rng.permutation([1.0, -1.0]):
            corners = np.vstack([here + side * across, goal + side * across])
            if self.on.clear(corners).all():
                legs = [ways.way(here, corners[0]), ways.way(*corners)[1:]]
                return np.vstack([*legs, ways.way(corners[1], goal)[1:]])
        return ways.way(here, goal)

    def commit(self, attempt: _Attempt | None, shortest_s: int) -> bool:
        """Do what was attempted, unless the drift would be too short."""
        if attempt is None or attempt.fishing_s < shortest_s:
            return False
        self.boat.motor(attempt.run)
        self.begun.append(self.boat.place)
        self.boat.settle_and_fish(attempt.course, attempt.settle_s)
        return True


def _menu(style: Style, rng: np.random.Generator) -> Iterator[_Kind]:
    """Yield what a boat does next, without end."""
    if style == "ladder":
        while True:
            yield from ("ladder", "long", "long")
    first: list[_Kind] = ["long"] * int(rng.integers(1, 4))
    yield from first
    if style == "mixed":
        yield "ladder"
    yield "zigzag"
    while True:
        yield "long"
