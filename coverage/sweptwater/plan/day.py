"""A pair's day: the drifts that fit into its hours, in order, with the ways between."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from sweptwater.arrays import Area, Floats
from sweptwater.offers.wind import Wind
from sweptwater.plan.candidates import Candidates
from sweptwater.plan.legs import between_s, times_between_s, way_s
from sweptwater.plan.order import Choice, best_order, filled
from sweptwater.plan.planned import PlannedDrift
from sweptwater.practice.settings import Settings
from sweptwater.water.shapes import GRID_M, polygonal
from sweptwater.water.ways import Way, Ways

MOST = 240
"""Among more drifts than this, only those that promise most are chosen from."""

WIDE_M = 3.0
"""Ways keep so far off what is still to be fished, but for the next drift itself."""

DAYS_RUNS = 8
"""The run from the jetty is shared by about so many drifts: only to rank them by."""


@dataclass(frozen=True, eq=False)
class Stop:
    """One drift of the day; times are seconds after leaving the jetty.

    Parameters
    ----------
    number
        Counting from 1, in the order of the day.
    drift, swept
        The drift, and the fishable water that it sweeps.
    way
        Under motor to its start, from the drift before or from the jetty.
    start_s, end_s
        When it begins and ends.
    home_s
        What the run home takes from its end.
    """

    number: int
    drift: PlannedDrift
    swept: Area
    way: Way
    start_s: float
    end_s: float
    home_s: float


@dataclass(frozen=True, eq=False)
class Rest:
    """Drifts that did not fit, of one bank or of open water, with their hours.

    Parameters
    ----------
    bank
        None in open water.
    pattern
        How they are laid.
    drifts, time_s, new_m2
        How many, how long they take with what passes between them, and what they
        would sweep that nobody has.
    """

    bank: int | None
    pattern: str
    drifts: int
    time_s: float
    new_m2: float


@dataclass(frozen=True, eq=False)
class DayPlan:
    """What a pair is to do on one day.

    Parameters
    ----------
    stops
        Its drifts in order.
    home
        The way back to the jetty; None if there is no drift.
    afloat_s
        From leaving the jetty to being back, lunch included.
    lunch_after
        The number of the drift after which lunch is taken; 0 is before the first.
    rests
        What did not fit, in the order in which it would come next.
    bank_time_s
        What all drifts along the pair's banks would take, with what passes between.
    """

    stops: tuple[Stop, ...]
    home: Way | None
    afloat_s: float
    lunch_after: int
    rests: tuple[Rest, ...]
    bank_time_s: float

    @property
    def swept(self) -> Area:
        """The water that all its drifts sweep."""
        return union([stop.swept for stop in self.stops])


def plan_day(
    possible: Candidates,
    ways: Ways,
    jetty: Floats,
    wind: Wind,
    speed_m_s: float,
    settings: Settings,
    *,
    afloat_s: float | None = None,
) -> DayPlan:
    """Choose and order the drifts of one pair's day.

    Parameters
    ----------
    possible
        The drifts that it could make.
    ways
        The water that it runs over.
    jetty
        Where it leaves from and comes back to, shape (2,).
    wind, speed_m_s
        The wind, and how fast the boat drifts in it.
    afloat_s
        From leaving to being back; else as the settings say.
    """
    day = settings.day
    afloat_s = day.afloat_s if afloat_s is None else afloat_s
    limit_s = afloat_s - day.lunch_s - day.spare_s
    service_s = possible.lengths_m / speed_m_s
    reachable = _reachable(possible, ways, jetty)
    some = _promising(possible, service_s, reachable, jetty)
    sketch = possible.of(some)
    choice = _choice(sketch, service_s[some], ways, jetty, wind, settings)
    order = best_order(choice, limit_s)
    stops: list[Stop] = []
    home: Way | None = None
    while order:
        stops, home = _with_ways(
            sketch.of(order), ways, jetty, wind, speed_m_s, settings
        )
        if _time_s(stops, home, wind, settings) <= limit_s:
            break
        order = _without_least(choice, order)
    else:
        stops, home = [], None
    used_s = _time_s(stops, home, wind, settings) if home else 0.0
    lunch_after = _lunch_after(stops, afloat_s)
    return DayPlan(
        _numbered(stops, lunch_after, day.lunch_s),
        home,
        used_s + day.lunch_s if stops else 0.0,
        lunch_after,
        _rests(possible, some, choice, order, service_s, settings),
        _bank_time_s(possible, service_s, settings),
    )


def union(shapes: Sequence[Area]) -> Area:
    """Return the water of several shapes together."""
    if not len(shapes):
        return Polygon()
    return polygonal(shapely.union_all(list(shapes), grid_size=GRID_M))


def _reachable(possible: Candidates, ways: Ways, jetty: Floats) -> Floats:
    """Return the way from the jetty to each start, infinite where no water leads."""
    if not possible.drifts:
        return np.zeros(0)
    return ways.lengths_m(jetty[None], possible.starts)[0]


def _promising(
    possible: Candidates, service_s: Floats, reach_m: Floats, jetty: Floats
) -> list[int]:
    """Return the drifts that bring most for their time and their run, best first."""
    run_s = 2 * reach_m / DAYS_RUNS
    rate = possible.worth / (service_s + 60.0 + run_s)
    order = np.argsort(-rate, kind="stable")
    return [int(i) for i in order if np.isfinite(reach_m[i])][:MOST]


def _choice(
    some: Candidates,
    service_s: Floats,
    ways: Ways,
    jetty: Floats,
    wind: Wind,
    settings: Settings,
) -> Choice:
    ends, starts = (np.vstack([jetty[None], p]) for p in (some.ends, some.starts))
    ways_m = ways.lengths_m(ends, starts)
    ways_m[~np.isfinite(ways_m)] = 1e7
    time_s = times_between_s(ways_m, ends, starts, wind, settings.boat)
    return Choice(time_s, service_s, some.worth)


def _with_ways(
    chosen: Candidates,
    ways: Ways,
    jetty: Floats,
    wind: Wind,
    speed_m_s: float,
    settings: Settings,
) -> tuple[list[Stop], Way]:
    """Return the stops of a round; no way leads over what is still to be fished."""
    stops: list[Stop] = []
    here, now_s = jetty, 0.0
    coming = _still_to_come(list(chosen.swept))
    for number, (drift, swept, avoid) in enumerate(
        zip(chosen.drifts, chosen.swept, coming, strict=True), 1
    ):
        way = ways.way(here, drift.places[0], avoid=avoid)
        now_s += _passed_s(way, wind, settings, first=not stops)
        end_s = now_s + drift.length_m / speed_m_s
        back = ways.way(drift.places[-1], jetty)
        home_s = way_s(shapely.get_coordinates(back.line), wind, settings.boat)
        stops.append(Stop(number, drift, swept, way, now_s, end_s, home_s))
        here, now_s = drift.places[-1], end_s
    return stops, ways.way(here, jetty)


def _still_to_come(swept: Sequence[Area]) -> list[Area]:
    """Return for each drift its water, and that of all after it with a margin."""
    avoid: list[Area] = []
    later: Area = Polygon()
    for shape in reversed(swept):
        avoid.append(union([shape, later]))
        later = union([later, shape.buffer(WIDE_M, quad_segs=2)])
    return avoid[::-1]


def _passed_s(way: Way, wind: Wind, settings: Settings, *, first: bool) -> float:
    under_way_s = way_s(shapely.get_coordinates(way.line), wind, settings.boat)
    if first:
        return under_way_s + settings.boat.reset_s / 2
    return float(between_s(under_way_s, settings.boat))


def _time_s(
    stops: Sequence[Stop], home: Way | None, wind: Wind, settings: Settings
) -> float:
    if home is None or not stops:
        return 0.0
    return stops[-1].end_s + _passed_s(home, wind, settings, first=True)


def _without_least(choice: Choice, order: Sequence[int]) -> list[int]:
    """Return a round without the drift that brings least for the time it takes."""
    whole_s = choice.time_s(order)

    def rate(drift: int) -> float:
        saved_s = whole_s - choice.time_s([d for d in order if d != drift])
        return float(choice.worth[drift] / max(saved_s, 1.0))

    least = min(order, key=rate)
    return [drift for drift in order if drift != least]


def _lunch_after(stops: Sequence[Stop], afloat_s: float) -> int:
    """Return the number of the last drift that ends before the middle of the day."""
    return sum(stop.end_s <= afloat_s / 2 for stop in stops)


def _numbered(
    stops: Sequence[Stop], lunch_after: int, lunch_s: float
) -> tuple[Stop, ...]:
    def later(stop: Stop) -> float:
        return lunch_s if stop.number > lunch_after else 0.0

    return tuple(
        Stop(
            stop.number,
            stop.drift,
            stop.swept,
            stop.way,
            stop.start_s + later(stop),
            stop.end_s + later(stop),
            stop.home_s,
        )
        for stop in stops
    )


def _rests(
    possible: Candidates,
    some: Sequence[int],
    choice: Choice,
    order: Sequence[int],
    service_s: Floats,
    settings: Settings,
) -> tuple[Rest, ...]:
    """Return what is left, bank by bank, in the order in which it would come next."""
    put: list[int] = []
    filled(choice, order, np.inf, free=np.ones(len(some), dtype=bool), put=put)
    left = [some[i] for i in put]
    taken = {some[i] for i in order}
    left += [i for i in range(len(possible.drifts)) if i not in taken | set(left)]
    groups: dict[tuple[int | None, str], list[int]] = {}
    for i in left:
        drift = possible.drifts[i]
        groups.setdefault((drift.bank, drift.pattern), []).append(i)
    reset_s = settings.boat.reset_s
    return tuple(
        Rest(
            bank,
            pattern,
            len(these),
            float(service_s[these].sum()) + len(these) * reset_s,
            float(possible.new_m2[these].sum()),
        )
        for (bank, pattern), these in groups.items()
    )


def _bank_time_s(possible: Candidates, service_s: Floats, settings: Settings) -> float:
    along = np.array([drift.bank is not None for drift in possible.drifts], dtype=bool)
    if not along.any():
        return 0.0
    return float((service_s[along] + settings.boat.reset_s).sum())
