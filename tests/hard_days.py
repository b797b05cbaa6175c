"""Hard days on the water, made up second by second, and how far the engine is off.

It knows nothing of how the engine tells fishing from motoring. The boat drifts with
the wind, gusts, leeway and a sinuous course, is steered across it, anchors, comes back
under oars or an electric motor no faster than some drifts, or turns at the end of one;
lands for lunch and ties up. Over it lies a receiver's error: a wander over minutes,
noise from fix to fix, bursts of reflections, silences. How large all of it is, is
common experience, without a source.

Only the ways round islands and the fans of casts along the true way are taken from the
demo's simulator.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Literal, TypeAlias

import numpy as np
import shapely
from scipy.signal import lfilter
from shapely import Point

from hard_stories import Ground, Place, Story, ground
from sweptwater.arrays import Bools, Floats, Ints
from sweptwater_demo.truth import ASHORE, FISHING, MOTORING, Truth

Sampling: TypeAlias = Literal["1 s", "5 s", "1-8 s", "10 m", "30 s"]
SAMPLINGS: tuple[Sampling, ...] = ("1 s", "5 s", "1-8 s", "10 m", "30 s")

WANDER_S = 180.0
BEGAN_S = 1.812e9


@dataclass(frozen=True, eq=False)
class HardDay:
    """A day's truth: `anchored` tells for each second of it whether it lay anchored."""

    place: Place
    truth: Truth
    anchored: Bools
    story: Story
    seed: int


@dataclass(frozen=True, eq=False)
class Seen:
    """The fixes of a day, in metres, and what the receiver's wander was."""

    time_s: Floats
    easting: Floats
    northing: Floats
    wander_m: float


def hard_day(place: Place, story: Story, *, seed: int, hours: float = 6.0) -> HardDay:
    """Return a day of a kind on a water; the same seed makes the same day."""
    rng = np.random.default_rng([seed, 7])
    boat = _Boat(ground(place, story.near_m), story, rng, round(3600 * hours))
    boat.spend()
    return boat.told(place, seed)


@dataclass(slots=True, eq=False)
class _Boat:
    on: Ground
    story: Story
    rng: np.random.Generator
    seconds: int
    downwind_deg: Floats = field(init=False)
    gust: Floats = field(init=False)
    place: Floats = field(init=False)
    velocity: Floats = field(default_factory=lambda: np.zeros(2))
    rows: list[tuple[Floats, int, int, bool]] = field(default_factory=list)
    second: int = 0
    drifts: int = 0

    def __post_init__(self) -> None:
        rng, count = self.rng, self.seconds + 7200
        turn = np.zeros(count)
        turn[self.seconds // 2 :] = rng.uniform(*self.story.shift_deg)
        width = 900
        turn = np.convolve(
            np.pad(turn, width // 2, mode="edge"), np.ones(width), "valid"
        )
        self.downwind_deg = rng.uniform(0, 360) + turn[:count] / width
        self.downwind_deg += 8 * wandering(count, 1200, rng)
        self.gust = np.maximum(1 + 0.15 * wandering(count, 120, rng), 0.4)
        self.gust = np.convolve(
            np.pad(self.gust, 15, mode="edge"), np.ones(31) / 31, "valid"
        )
        self.place = self.on.dock

    def spend(self) -> None:
        """Tied up, drifts and landings, tied up."""
        rng, story = self.rng, self.story
        self.stay(float(rng.integers(320, 600)), ASHORE)
        lunch_s = self.seconds * rng.uniform(0.4, 0.6) if story.lunch else np.inf
        jetty_s = self.seconds * rng.uniform(0.65, 0.8) if story.lunch else np.inf
        start: Floats | None = None
        while self.second < self.seconds:
            if self.second > lunch_s:
                lunch_s, start = np.inf, None
                self.land(self.nearest_bank(), float(rng.integers(1200, 2400)))
            if self.second > jetty_s:
                jetty_s, start = np.inf, None
                self.land(self.on.dock, float(rng.integers(360, 900)))
            start = self.next_drift(start)
        self.land(self.on.dock, float(rng.integers(320, 600)))

    def next_drift(self, last_start: Floats | None) -> Floats:
        story, rng = self.story, self.rng
        short = rng.random() < story.short_share
        seconds = int(rng.uniform(*(story.short_s if short else story.drift_s)))
        m_s = rng.uniform(*story.drift_m_s)
        leeway = float(np.clip(rng.normal(0, 5), -12, 12))
        start, course = self.start(last_start, seconds, m_s, leeway)
        self.motor(start)
        course = course - course[0] + self.place
        if rng.random() < story.anchored:
            self.anchored(course)
        else:
            self.write(course, FISHING, self.drifts)
        self.velocity = self.rows[-1][0][-1] - self.rows[-1][0][-2]
        self.drifts += 1
        return start

    def start(
        self, last: Floats | None, seconds: int, m_s: float, leeway: float
    ) -> tuple[Floats, Floats]:
        """Return where the next drift starts, and its course, the longest of some."""
        best = np.zeros((1, 2))
        tried = list(self.beside(last)) if last is not None else []
        anywhere = self.on.somewhere(self.place, self.rng)
        tried += list(anywhere[:20]) if self.story.layout == "far" else []
        for place in tried:
            course = self.clear_course(place, seconds, m_s, leeway)
            if len(course) > len(best):
                best = course
            if len(best) > 0.8 * seconds:
                return best[0], best
        if len(best) < max(110, 0.4 * seconds):
            for place in anywhere[:60]:
                course = self.clear_course(place, seconds, m_s, leeway)
                if len(course) > len(best):
                    best = course
                if len(best) > 0.8 * seconds:
                    break
        if len(best) < 100:
            raise ValueError(f"no room to drift on {self.on.place.name}")
        return best[0], best

    def beside(self, last: Floats) -> Iterator[Floats]:
        """Yield places beside the last start, or across from here."""
        bearing = self.downwind_deg[self.second]
        across, down = unit(bearing + 90), unit(bearing)
        if self.story.layout == "far":
            return
        base = last if self.story.layout == "back" else self.place
        for _ in range(3):
            side = self.rng.choice([-1.0, 1.0])
            wide = (25, 45) if self.story.layout == "back" else (60, 160)
            step = side * self.rng.uniform(*wide) * across
            up = (
                self.rng.uniform(-10, 10)
                if self.story.layout == "back"
                else (self.rng.uniform(-40, 0))
            )
            yield base + step + up * down

    def clear_course(
        self, start: Floats, seconds: int, m_s: float, leeway: float
    ) -> Floats:
        """Return where the wind takes a boat from rest, as far as the water is open."""
        rng, story = self.rng, self.story
        when = np.arange(1.0, seconds + 1)
        rows = slice(self.second, self.second + seconds)
        bearing = self.downwind_deg[rows] + leeway
        for period_s in (rng.uniform(90, 200), rng.uniform(250, 600)):
            turn = rng.uniform(0, 2 * np.pi)
            bearing = bearing + 6 * np.sin(2 * np.pi * when / period_s + turn)
        if story.zigzag_deg[1]:
            leg_s = rng.uniform(90, 240)
            side = np.sin(np.pi * when / leg_s)
            bearing = bearing + rng.uniform(*story.zigzag_deg) * np.tanh(4 * side)
        speed = m_s * self.gust[rows] * (1 - np.exp(-when / 4))
        course = start + np.cumsum(speed[:, None] * unit(bearing), axis=0)
        clear = self.on.clear(course)
        return course[: int(np.argmin(np.r_[clear, False]))]

    def anchored(self, course: Floats) -> None:
        """Drift a part of the way, at times none, anchor, and at times drift on."""
        rng = self.rng
        at = int(rng.choice([0.0, 0.5, 1.0]) * len(course))
        lies_s = int(rng.uniform(600, 2400))
        if at:
            self.write(course[:at], FISHING, self.drifts)
        swing = 1.2 * np.column_stack([wandering(lies_s, 60, rng) for _ in "xy"])
        swing = lfilter([1 / 15], [1, -14 / 15], swing - swing[0], axis=0)
        self.write(self.place + swing, FISHING, self.drifts, anchored=True)
        if 0 < at < len(course):
            self.write(course[at:] - course[at] + self.place, FISHING, self.drifts)

    def nearest_bank(self) -> Floats:
        shore = self.on.place.water.boundary
        return np.array(
            shapely.shortest_line(Point(self.place), shore).interpolate(-3).coords[0]
        )

    def land(self, place: Floats, seconds: float) -> None:
        self.motor(place, fast=True)
        self.stay(seconds, ASHORE)

    def stay(self, seconds: float, state: int) -> None:
        self.write(np.broadcast_to(self.place, (int(seconds), 2)), state, -1)
        self.velocity = np.zeros(2)

    def motor(self, goal: Floats, *, fast: bool = False) -> None:
        """Go to a place by water, sometimes with a turn on the spot first."""
        rng, story = self.rng, self.story
        way = self.on.ways.way(self.place, goal)
        first = way[1] - way[0]
        if np.hypot(*first) > 40 and rng.random() < 0.5:
            way = np.vstack([turned(way[0], first, self.velocity, rng), way[1:]])
        cruise = rng.uniform(*story.back_m_s)
        gone = under_way(way, cruise, rng.uniform(*story.stop_m_s2), self.velocity)
        self.write(gone, MOTORING, -1)
        self.velocity = np.zeros(2)

    def write(
        self, places: Floats, state: int, drift: int, *, anchored: bool = False
    ) -> None:
        self.rows.append((places, state, drift, anchored))
        self.second += len(places)
        self.place = places[-1]

    def told(self, place: Place, seed: int) -> HardDay:
        path = np.concatenate([row[0] for row in self.rows])
        many = [len(row[0]) for row in self.rows]
        truth = Truth(
            time_s=BEGAN_S + np.arange(float(len(path))),
            easting=path[:, 0],
            northing=path[:, 1],
            state=np.repeat([row[1] for row in self.rows], many),
            downwind_deg=self.downwind_deg[: len(path)] % 360,
            drift=np.repeat([row[2] for row in self.rows], many),
        )
        anchored = np.repeat([row[3] for row in self.rows], many)
        return HardDay(place, truth, anchored, self.story, seed)


def turned(
    here: Floats, first: Floats, velocity: Floats, rng: np.random.Generator
) -> Floats:
    """Return half a turn of some metres from the drift's heading to the way's."""
    ahead = velocity / max(float(np.hypot(*velocity)), 1e-9)
    radius_m = rng.uniform(3, 8)
    side = np.array([-ahead[1], ahead[0]]) * np.sign(
        ahead[0] * first[1] - ahead[1] * first[0] or 1
    )
    turn = np.linspace(0, np.pi, 8)[:, None]
    return here + radius_m * (np.sin(turn) * ahead + (1 - np.cos(turn)) * side)


def under_way(
    way: Floats, cruise_m_s: float, gather_m_s2: float, drift_m_s: Floats
) -> Floats:
    """Return places a second apart along a way, from rest to rest, bends rounded."""
    along = np.r_[0, np.cumsum(np.hypot(*np.diff(way, axis=0).T))]
    top = min(cruise_m_s, float(np.sqrt(gather_m_s2 * along[-1])))
    ramp_s = top / gather_m_s2
    total_s = along[-1] / top + ramp_s
    when = np.arange(1.0, np.ceil(total_s) + 1).clip(max=total_s)
    gone = np.where(
        when < ramp_s,
        gather_m_s2 * when**2 / 2,
        np.where(
            when < total_s - ramp_s,
            top * (when - ramp_s / 2),
            along[-1] - gather_m_s2 * (total_s - when) ** 2 / 2,
        ),
    )
    places = np.column_stack([np.interp(gone, along, axis) for axis in way.T])
    padded = np.vstack(
        [np.repeat(way[:1], 3, axis=0), places, np.repeat(way[-1:], 3, 0)]
    )
    places = np.column_stack(
        [np.convolve(axis, np.ones(7) / 7, "valid") for axis in padded.T]
    )
    fades = 4.0 * (1 - np.exp(-when / 4.0)) * (1 - when / when[-1])
    return places + fades[:, None] * drift_m_s


def unit(bearing_deg: Floats | float) -> Floats:
    """Return unit vectors east and north of bearings, shape (..., 2)."""
    turn = np.radians(bearing_deg)
    return np.stack([np.sin(turn), np.cos(turn)], axis=-1)


def wandering(count: int, keeps_s: float, rng: np.random.Generator) -> Floats:
    """Return Ornstein and Uhlenbeck's process, of unit standard deviation.

    The exact discretisation: x' = a x + sqrt(1 - a^2) n, a = exp(-1 / keeps_s).
    """
    keep = float(np.exp(-1 / keeps_s))
    shocks = rng.standard_normal(count) * np.sqrt(1 - keep**2)
    shocks[0] = rng.standard_normal()
    return np.asarray(lfilter([1.0], [1.0, -keep], shocks))


def observed(
    day: HardDay, sampling: Sampling, *, wander_m: float | None = None
) -> Seen:
    """Return what a receiver recorded of a day."""
    rng = np.random.default_rng([day.seed, 11])
    truth, story = day.truth, day.story
    count = len(truth.time_s)
    if wander_m is None:
        wander_m = float(rng.uniform(*story.wander_m))
    error = rng.uniform(0.3, 0.8) * rng.standard_normal((count, 2))
    error += wander_m * np.column_stack([wandering(count, WANDER_S, rng) for _ in "xy"])
    firsts = np.sort(rng.integers(0, count, story.bursts))
    # One at a time: reflections upon reflections are beyond anyone.
    for first in firsts[np.diff(firsts, prepend=-200) > 100]:
        rows = slice(first, first + int(rng.integers(10, 61)))
        error[rows] += rng.uniform(10, 40) * unit(rng.uniform(0, 360))
        error[rows] += 1.5 * rng.standard_normal(error[rows].shape)
    path = truth.path + error
    kept = _sampled(path, sampling, rng)
    for first in rng.integers(600, count - 600, story.silences):
        kept[first : first + int(np.exp(rng.uniform(np.log(10), np.log(1200))))] = False
    return Seen(truth.time_s[kept], path[kept, 0], path[kept, 1], wander_m)


def _sampled(path: Floats, sampling: Sampling, rng: np.random.Generator) -> Bools:
    kept = np.zeros(len(path), dtype=bool)
    if sampling == "1-8 s":
        at = np.cumsum(rng.integers(1, 9, len(path)))
        kept[at[at < len(path)]] = True
    elif sampling == "10 m":
        last = 0
        for now, place in enumerate(path.tolist()):
            x, y = place[0] - path[last, 0], place[1] - path[last, 1]
            if now == 0 or now - last >= 60 or x * x + y * y >= 100.0:
                kept[now], last = True, now
    else:
        kept[:: int(sampling.split()[0])] = True
    return kept


def without(day: HardDay, silences: list[tuple[float, float]]) -> HardDay:
    """Return a day of which some spells are not asked after: nobody heard them.

    Drifts parted by one become two.
    """
    truth = day.truth
    heard = np.ones(len(truth.time_s), dtype=bool)
    for begin_s, end_s in silences:
        heard &= (truth.time_s <= begin_s) | (truth.time_s >= end_s)
    state = np.where(heard, truth.state, MOTORING)
    number = np.where(heard, truth.drift, -1)
    piece = np.cumsum(np.diff(number, prepend=number[0]) != 0)
    drift = np.where(number >= 0, piece, -1)
    kept = replace(truth, state=state.astype(np.int64), drift=drift.astype(np.int64))
    return replace(day, truth=kept, anchored=day.anchored & heard)


def drifted_m(day: HardDay) -> float:
    """Return the true distance drifted, what was spent at anchor left out."""
    step = np.hypot(*np.diff(day.truth.path, axis=0).T)
    fishing = (day.truth.state == FISHING)[:-1] & ~day.anchored[:-1]
    same = day.truth.drift[:-1] >= 0
    return float(step[fishing & same].sum())


def silences_of(time_s: Floats, least_s: float) -> list[tuple[float, float]]:
    """Return the steps of a record that are longer than so many seconds."""
    return [(a, b) for a, b in pairwise(time_s.tolist()) if b - a > least_s]


def counts(day: HardDay) -> tuple[int, int]:
    """Return the least and the most drifts that may be told of a day.

    A piece of half a minute to a minute, left by a silence, may be one or none.
    """
    numbers = day.truth.drift[day.truth.drift >= 0]
    lasted: Ints = np.unique(numbers, return_counts=True)[1]
    return int((lasted >= 75).sum()), int((lasted >= 20).sum())
