"""A boat's day of practice: what time each drift takes, and what its rods meet.

Whatever way of practising chooses the drifts, the hours are counted in one way: runs by
water at the speeds of the settings, re-sets, lunch, drifts that scatter as boats do, no
drift begun after which the boat would not be home in time.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache

import numpy as np
import shapely
from shapely import LineString, Polygon

from days_drifted import USUAL, drifted
from fish_hidden import Casts, Shoals, expected, met
from plan_made import SETTINGS
from sweptwater.arrays import Area, Floats, Ints
from sweptwater.offers.flies import layer_at
from sweptwater.offers.wind import Wind
from sweptwater.plan.ground import bearing_vector
from sweptwater.plan.legs import between_s, motoring_s, way_s
from sweptwater.plan.planned import PlannedDrift
from sweptwater.plan.setups import WayToFish, way_to_fish
from sweptwater.plan.sinking import Throw, line_reach
from sweptwater.practice.search import SearchRules
from sweptwater.swept.boats import clipped_sweep
from sweptwater.tracks.drifts import Drift
from sweptwater.water.ways import Ways
from waters_searched import LAYERS, TACKLE, Searched, deepest_layer

SEARCH = SearchRules()
FIRST = date(2027, 6, 8)
LEAVE_H = SETTINGS.day.leave.hour
RODS = 2
BITS = 3
"""A cast is told in so many bits of the water over which its fly is worked."""

TRIES = 4
"""So many drifts in a row that do not fit into what is left end a day."""

USUAL_LAYERS = (0.5, 0.35, 0.15, 0.0)
"""Most rods fish near the top most of the time (common practice, no source)."""

REMEMBERED_M = 20.0
"""Where an offer came is told so well, each way (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Proposal:
    """A drift to make.

    Parameters
    ----------
    drift
        Where.
    layers
        Which layer each rod means to fish.
    way
        Under motor to its start; None for the shortest by water.
    """

    drift: PlannedDrift
    layers: tuple[int, ...]
    way: LineString | None = None


@dataclass(frozen=True, eq=False)
class Fished:
    """A drift as it came out.

    Parameters
    ----------
    day, pair
        Which day, from 0, and whose.
    drift
        Times in seconds after leaving the jetty.
    swept
        The fishable water that its rods reached.
    layers
        Which layer each rod meant to fish.
    casts, rod
        What flies were worked over, and which rod's each bit is.
    offer_places, offer_rod, offer_shoal
        Where the boat's rods remember each offer, whose it was, and of which shoal: -1
        of none. Nobody afloat knows the last.
    shoal_mean
        The offers that were to be expected of each shoal.
    """

    day: int
    pair: str
    drift: Drift
    swept: Area
    layers: tuple[int, ...]
    casts: Casts
    rod: Ints
    offer_places: Floats
    offer_rod: Ints
    offer_shoal: Ints
    shoal_mean: Floats

    @property
    def date(self) -> date:
        """The day by the calendar."""
        return FIRST + timedelta(days=self.day)

    @property
    def hours(self) -> float:
        """Of each rod."""
        return float(self.drift.time_s[-1] - self.drift.time_s[0]) / 3600


@dataclass(frozen=True, eq=False)
class Afloat:
    """What all boats share on one day."""

    water: Searched
    wind: Wind
    day: int
    shoals: Shoals

    @property
    def speed_m_s(self) -> float:
        """The expected speed of drifts."""
        return self.water.lay(self.wind).speed_m_s


@dataclass(eq=False)
class Boat:
    """One boat as its day goes on: where it is, and how late.

    Parameters
    ----------
    start
        Where it leaves from and comes back to.
    now_s
        Since it left, lunch included.
    """

    pair: str
    start: Floats
    here: Floats
    now_s: float = 0.0
    home_s: float = 0.0
    lunched: bool = False
    fished: list[Fished] = field(default_factory=list)


Propose = Callable[[Boat], Proposal | None]
"""What a boat means to do next, given where it is and what it has done; None: home."""


def spend_day(
    rng: np.random.Generator,
    afloat: Afloat,
    pair: str,
    propose: Propose,
    *,
    sweep: bool = True,
) -> Boat:
    """Return a boat after its day; without the water that it swept if not asked."""
    start = afloat.water.waters.jetty
    boat = Boat(pair, start, start)
    missed = 0
    while missed < TRIES:
        proposal = propose(boat)
        if proposal is None:
            break
        passed_s = _passed_s(afloat, boat, proposal)
        made_s = proposal.drift.length_m / afloat.speed_m_s
        back_s = home_s(afloat, proposal.drift.places[-1])
        day = afloat.water.settings.day
        lunch_s = 0.0 if boat.lunched else day.lunch_s
        if boat.now_s + passed_s + made_s + back_s + lunch_s > day.afloat_s:
            missed += 1
            continue
        missed = 0
        boat.now_s += passed_s * max(0.5, 1 + USUAL.reset * rng.standard_normal())
        one = fish_drift(rng, afloat, pair, proposal, boat.now_s, sweep=sweep)
        boat.now_s = float(one.drift.time_s[-1])
        boat.here = np.array([one.drift.easting[-1], one.drift.northing[-1]])
        boat.fished.append(one)
        if not boat.lunched and boat.now_s >= day.afloat_s / 2 - day.lunch_s:
            boat.now_s, boat.lunched = boat.now_s + day.lunch_s, True
    boat.home_s = boat.now_s + home_s(afloat, boat.here)
    return boat


def home_s(afloat: Afloat, here: Floats) -> float:
    """Return how long the run home takes from a place, handling included."""
    water, boat = afloat.water, afloat.water.settings.boat
    step = water.waters.jetty - here
    bearing_deg = float(np.degrees(np.arctan2(step[0], step[1])))
    under_way_s = motoring_s(water.home_m(here), bearing_deg, afloat.wind, boat)
    return float(under_way_s) + boat.reset_s / 2


def shortest(ways: Ways, water: Searched, here: Floats, there: Floats) -> LineString:
    """Return the shortest way by water; straight on where that is all water."""
    straight = LineString([here, there])
    if shapely.contains_properly(water.fishable, straight):
        return straight
    return ways.way(here, there).line


def _passed_s(afloat: Afloat, boat: Boat, proposal: Proposal) -> float:
    water, rules = afloat.water, afloat.water.settings.boat
    line = proposal.way
    if line is None:
        line = shortest(water.waters.ways, water, boat.here, proposal.drift.places[0])
    under_way_s = way_s(shapely.get_coordinates(line), afloat.wind, rules)
    if not boat.fished:
        return under_way_s + rules.reset_s / 2
    return float(between_s(under_way_s, rules))


def fish_drift(
    rng: np.random.Generator,
    afloat: Afloat,
    pair: str,
    proposal: Proposal,
    start_s: float,
    *,
    sweep: bool = True,
) -> Fished:
    """Return a drift that begins at a time as it came out, with what was met."""
    water, wind = afloat.water, afloat.wind
    went = drifted(rng, proposal.drift, afloat.speed_m_s, wind, USUAL)
    drift = short_of_land(water, start_s, went)
    facing_deg = wind.downwind_deg + rng.normal(0, 3)
    swept: Area = Polygon()
    if sweep:
        swept = clipped_sweep(
            drift, water.settings.spread, water.fishable, downwind_deg=facing_deg
        )
    casts, rod = cast_all(rng, water, drift, proposal.layers, facing_deg)
    mean = expected(casts, afloat.shoals)
    bit, shoal = met(rng, mean)
    places = casts.places[bit] + rng.normal(0, REMEMBERED_M, (len(bit), 2))
    return Fished(
        afloat.day,
        pair,
        drift,
        swept,
        proposal.layers,
        casts,
        rod,
        places,
        rod[bit],
        shoal,
        mean.sum(axis=0)[:-1],
    )


def short_of_land(water: Searched, start_s: float, went: Drift) -> Drift:
    """Return a drift from a time on, ended where it would go ashore."""
    afloat = shapely.contains_xy(water.fishable, went.easting, went.northing)
    ashore = np.flatnonzero(~afloat[1:])
    end = max(int(ashore[0]) + 1 if len(ashore) else len(afloat), 2)
    return Drift(start_s + went.time_s[:end], went.easting[:end], went.northing[:end])


@lru_cache(maxsize=4096)
def set_up(layer: int, drift_m_s: float) -> tuple[WayToFish, int]:
    """Return how a rod fishes for a layer, and the layer in which its fly then is."""
    way = way_to_fish(layer, {"out": drift_m_s}, TACKLE, SEARCH, SETTINGS.spread)
    if way.reaches:
        return way, layer
    line = next(one for one in TACKLE.lines if one.name == way.line)
    reach = line_reach(line, Throw(drift_m_s, TACKLE.cast_m), TACKLE)
    return way, layer_at(reach.useful_depth_m, TACKLE)


def cast_all(
    rng: np.random.Generator,
    water: Searched,
    drift: Drift,
    layers: Sequence[int],
    facing_deg: float,
) -> tuple[Casts, Ints]:
    """Return what the flies of a drift were worked over, and whose each bit is.

    A rod casts as often as its count leaves time for, anywhere within the fan; the fly
    lands a cast ahead and is worked from there until the boat has closed in by what it
    drifts meanwhile. What falls on land is not counted.
    """
    speed_m_s = max(drift.length_m / (drift.time_s[-1] - drift.time_s[0]), 0.01)
    found: list[tuple[Floats, Floats, Ints, Floats, Ints, Ints]] = []
    count = 0
    for rod, layer in enumerate(layers):
        way, fly_layer = set_up(layer, round(speed_m_s, 2))
        count_s = way.count_s if way.reaches else 0.0
        cycle_s = SEARCH.cycle_s + count_s
        time_s = np.arange(
            drift.time_s[0] + cycle_s * (rng.random() - 1), drift.time_s[-1], cycle_s
        )
        time_s = time_s[time_s >= drift.time_s[0]]
        places, length_m = _worked(
            rng,
            water,
            drift,
            time_s,
            facing_deg,
            speed_m_s * (count_s + SEARCH.working_s),
        )
        depth_m = water.bed.depth_at(places)
        afloat = depth_m > 0
        area_m2 = np.full(len(places), length_m * SEARCH.shows_m / BITS)
        hour = LEAVE_H + np.repeat(time_s, BITS) / 3600
        found.append(
            (
                places[afloat],
                area_m2[afloat],
                np.minimum(fly_layer, deepest_layer(depth_m[afloat])),
                hour[afloat],
                count + np.repeat(np.arange(len(time_s)), BITS)[afloat],
                np.full(int(afloat.sum()), rod),
            )
        )
        count += len(time_s)
    places, area_m2, layer_of, hour, cast, rods = (
        np.concatenate(each) for each in zip(*found, strict=True)
    )
    return Casts(places, area_m2, layer_of, hour, cast), rods


def _worked(
    rng: np.random.Generator,
    water: Searched,
    drift: Drift,
    time_s: Floats,
    facing_deg: float,
    closed_m: float,
) -> tuple[Floats, float]:
    """Return bits of the way of each cast's fly, and how long all of it is."""
    spread = water.settings.spread
    boat = np.column_stack(
        [np.interp(time_s, drift.time_s, of) for of in (drift.easting, drift.northing)]
    )
    half = spread.half_angle_deg
    turn = rng.uniform(-half, half, len(time_s))
    ahead = np.array([bearing_vector(facing_deg + deg) for deg in turn]).reshape(-1, 2)
    lands = boat + spread.cast_m * ahead
    ends = boat + closed_m * bearing_vector(facing_deg)
    part = (np.arange(BITS) + 0.5) / BITS
    bits = lands[:, None] + part[:, None] * (ends - lands)[:, None]
    return bits.reshape(-1, 2), max(0.0, spread.cast_m - closed_m)


def shoals_found(fished: Sequence[Fished]) -> set[int]:
    """Return the shoals of which at least one fish showed."""
    met_ = {int(shoal) for one in fished for shoal in one.offer_shoal}
    return met_ - {-1}


def shoals_to_find(fished: Sequence[Fished]) -> float:
    """Return how many shoals were to be expected to show, drift by drift.

    The chance of each drift to meet each shoal that had not shown before it, added up:
    its mean is that of `shoals_found`, also for ways that go back to what they found,
    and it scatters less.
    """
    total, shown = 0.0, np.zeros(len(fished[0].shoal_mean), dtype=bool)
    for one in fished:
        total += float(-np.expm1(-one.shoal_mean[~shown]).sum())
        shown[one.offer_shoal[one.offer_shoal >= 0]] = True
    return total


def offers_made(fished: Sequence[Fished]) -> int:
    """Return how many offers came in all."""
    return sum(len(one.offer_shoal) for one in fished)


def usual_layers(rng: np.random.Generator) -> tuple[int, ...]:
    """Return the layers that two rods fish who take the lines that they usually do."""
    return tuple(int(layer) for layer in rng.choice(LAYERS, RODS, p=USUAL_LAYERS))
