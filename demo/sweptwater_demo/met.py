"""What the invented rods met on each drift: the truth, whatever was told of it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

import numpy as np

from sweptwater.arrays import Floats
from sweptwater.practice.tally import Counts
from sweptwater_demo.bed import depth_m
from sweptwater_demo.fish import rate
from sweptwater_demo.scenario import DAYS, PAIRS, SUMMER_TIME, BoatDay
from sweptwater_demo.sky import sky_of
from sweptwater_demo.tackle import ENDS, Rig, rig_of
from sweptwater_demo.truth import Drift, Truth

FOLLOWED = 0.25
"""How often an offer is followed by another to the same rod: shoals, mildly."""

KINDS = {"follow": 0.3, "pull": 0.34, "lost": 0.12, "boated": 0.24}
"""The shares of the kinds of offers."""

_LATER_S = (20.0, 150.0)
_LOOK_S = 10


@dataclass(frozen=True, slots=True)
class Offer:
    """One true offer: when, in seconds since 1970 in UTC, where in metres, and what."""

    time_s: float
    easting: float
    northing: float
    kind: str


@dataclass(frozen=True, slots=True)
class Fished:
    """One rod on one true drift: the truth, whatever was told of it.

    Parameters
    ----------
    day, pair, rod
        Whose, and when.
    number, drift
        The drift counted from 1, and its times.
    rig
        What the rod fished.
    expected
        How many offers were to be expected, by `fish.rate` along the drift.
    offers
        Those that came.
    """

    day: date
    pair: str
    rod: str
    number: int
    drift: Drift
    rig: Rig
    expected: float
    offers: tuple[Offer, ...]

    @property
    def counts(self) -> Counts:
        """The offers by their kinds."""
        kinds = [offer.kind for offer in self.offers]
        return Counts(**{kind: kinds.count(kind) for kind in KINDS})

    @property
    def start(self) -> time:
        """When the drift began, local, to the minute."""
        return (
            datetime.fromtimestamp(self.drift.start_s, SUMMER_TIME)
            .time()
            .replace(second=0, microsecond=0)
        )


def fished(days: Iterable[BoatDay], *, seed: int = 1) -> list[Fished]:
    """Return the truth: every rod on every drift of some boat-days."""
    return [stint for boat in days for stint in _boat(boat, seed)]


def _boat(boat: BoatDay, seed: int) -> Iterator[Fished]:
    truth = boat.truth
    drifts = zip(truth.drifts, truth.drift_rows(), strict=True)
    for number, (drift, rows) in enumerate(drifts, 1):
        seen = slice(rows.start, rows.stop, _LOOK_S)
        places, time_s = truth.path[seen], truth.time_s[seen]
        water_m = depth_m(places)
        for rod in ENDS:
            rig = rig_of(rod, number, sky_of(drift.start_s))
            an_hour = _rates(places, time_s, water_m, rig)
            expected = float(an_hour.mean() * (drift.end_s - drift.start_s) / 3600)
            key = (DAYS.index(boat.day), PAIRS.index(boat.pair), number)
            rng = np.random.default_rng((seed, *key, ENDS.index(rod)))
            times_s = _times(time_s, an_hour, expected, drift.end_s, rng)
            yield Fished(
                day=boat.day,
                pair=boat.pair,
                rod=rod,
                number=number,
                drift=drift,
                rig=rig,
                expected=expected,
                offers=tuple(_offers(truth, times_s, rng)),
            )


def _rates(places: Floats, time_s: Floats, water_m: Floats, rig: Rig) -> Floats:
    """Return the offers an hour at the places of a drift, shape (n,)."""
    middle = datetime.fromtimestamp(float(time_s.mean()), SUMMER_TIME)
    return rate(
        places,
        water_m=water_m,
        fly_m=np.full(len(places), rig.fly_m),
        sky=sky_of(float(time_s[0])),
        hour=middle.hour + middle.minute / 60,
    )


def _times(
    time_s: Floats,
    an_hour: Floats,
    expected: float,
    end_s: float,
    rng: np.random.Generator,
) -> list[float]:
    """Return when offers came: a Poisson process, some of its events doubled.

    A share `FOLLOWED` of events brings a second one, so there are fewer of them by as
    much, and the mean is what was expected; the variance is (1 + 3 q) / (1 + q) times
    the mean, q that share.
    """
    first = rng.poisson(expected / (1 + FOLLOWED))
    until = np.append(time_s[1:], end_s)
    share = np.r_[0, np.cumsum(an_hour * (until - time_s))]
    alone_s = np.interp(rng.random(first) * share[-1], share, np.r_[time_s, end_s])
    again = rng.random(first) < FOLLOWED
    later_s = alone_s[again] + rng.uniform(*_LATER_S, int(again.sum()))
    return sorted(np.r_[alone_s, np.minimum(later_s, end_s)].tolist())


def _offers(
    truth: Truth, times_s: Sequence[float], rng: np.random.Generator
) -> Iterator[Offer]:
    kinds = rng.choice(list(KINDS), len(times_s), p=list(KINDS.values()))
    for time_s, kind in zip(times_s, kinds, strict=True):
        row = int(np.searchsorted(truth.time_s, time_s, side="right")) - 1
        where = float(truth.easting[row]), float(truth.northing[row])
        yield Offer(time_s, *where, str(kind))
