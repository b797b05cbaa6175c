"""Which drifts fit into the hours, and in which order: the most worth in the time.

This is the orienteering problem: places with a worth, a way back, a limit of time. It
is answered by insertion (the drift that brings most for each further second goes
where it costs least), then by taking stretches of the round out and filling it up
again, many times, and keeping what is better. Held against a well-kept routing solver
with guided local search for 3 s: see `tests/benchmarks/orders_table.py`.

References
----------
Ruin and recreate: Schrimpf et al. 2000, Record breaking optimization results using the
ruin and recreate principle (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sweptwater.arrays import Bools, Floats

ROUNDS = 400
"""How often a round is taken apart and filled up again."""

NOISE = 0.25
"""By how much the worth of each drift is shaken meanwhile, as a standard deviation."""


@dataclass(frozen=True)
class Choice:
    """Drifts to choose among.

    Parameters
    ----------
    between_s
        From the end of each to the start of each, in seconds, (n + 1, n + 1): the
        first row is from the jetty, the first column to it.
    service_s
        What each takes itself, (n,).
    worth
        What each brings, (n,), of any one unit.
    """

    between_s: Floats
    service_s: Floats
    worth: Floats

    def time_s(self, order: Sequence[int]) -> float:
        """Return what a round takes, from the jetty and back.

        Examples
        --------
        >>> way = np.array([[0.0, 60, 90], [60, 0, 30], [90, 30, 0]])
        >>> choice = Choice(way, np.array([600.0, 600.0]), np.array([1.0, 1.0]))
        >>> choice.time_s([0, 1]), choice.time_s([])
        (1380.0, 0.0)
        """
        if not order:
            return 0.0
        stops = [0, *(drift + 1 for drift in order), 0]
        under_way_s = self.between_s[stops[:-1], stops[1:]].sum()
        return float(under_way_s + self.service_s[list(order)].sum())


def best_order(
    choice: Choice, limit_s: float, *, seed: int = 1, rounds: int = ROUNDS
) -> list[int]:
    """Return the drifts that bring most within a limit of time, in their order.

    The same choice always gives the same order.

    Parameters
    ----------
    rounds
        How often the round is taken apart and filled up again.

    Examples
    --------
    Three drifts of ten minutes, of which two fit: the two that are side by side.

    >>> way = 60 * np.array(
    ...     [[0.0, 5, 6, 20], [5, 0, 4, 25], [6, 4, 0, 26], [20, 25, 26, 0]])
    >>> choice = Choice(way, np.full(3, 600.0), np.ones(3))
    >>> sorted(best_order(choice, 40 * 60))
    [0, 1]
    """
    rng = np.random.default_rng(seed)
    count = len(choice.worth)
    free = np.ones(count, dtype=bool)
    order = filled(choice, [], limit_s, free=free)
    best, best_key = order, _key(choice, order)
    for _ in range(rounds if len(order) else 0):
        rest = _ruined(order, rng)
        shaken = choice.worth * np.exp(NOISE * rng.standard_normal(count))
        tried = filled(choice, rest, limit_s, free=free, worth=shaken)
        tried = filled(choice, _untangled(choice, tried), limit_s, free=free)
        key = _key(choice, tried)
        if key >= _key(choice, order):
            order = tried
        if key > best_key:
            best, best_key = tried, key
    return best


def filled(
    choice: Choice,
    order: Sequence[int],
    limit_s: float,
    *,
    free: Bools,
    worth: Floats | None = None,
    put: list[int] | None = None,
) -> list[int]:
    """Return a round filled up: what brings most a second goes where it costs least.

    Parameters
    ----------
    order
        The round so far.
    free
        Which drifts may be put in.
    worth
        To choose by, instead of what they bring.
    put
        Takes down what was put in, in that order.
    """
    worth = choice.worth if worth is None else worth
    order = list(order)
    open_ = np.array(free) & (worth > 0)
    open_[order] = False
    between, service_s = choice.between_s, choice.service_s
    into, out = between[:, 1:], between[1:].T
    stops = [0, *(drift + 1 for drift in order), 0]
    # What each drift would cost after each stop: a row for each leg of the round.
    extra = np.empty((len(stops) + int(open_.sum()), len(worth)))
    extra[: len(stops) - 1] = into[stops[:-1]] + out[stops[1:]]
    extra[: len(stops) - 1] -= between[stops[:-1], stops[1:], None]
    if not order:
        extra[0] += between[0, 0]
    time_s = choice.time_s(order)
    while open_.any():
        legs = extra[: len(stops) - 1]
        cost_s = legs.min(axis=0) + service_s
        fits = open_ & (time_s + cost_s <= limit_s)
        if not fits.any():
            break
        rate = np.where(fits, worth / np.maximum(cost_s, 1.0), -np.inf)
        pick = int(rate.argmax())
        leg, stop = int(legs[:, pick].argmin()), pick + 1
        before, after = stops[leg], stops[leg + 1]
        extra[leg + 2 : len(stops)] = extra[leg + 1 : len(stops) - 1].copy()
        extra[leg] = into[before] + out[stop] - between[before, stop]
        extra[leg + 1] = into[stop] + out[after] - between[stop, after]
        stops.insert(leg + 1, stop)
        time_s += float(cost_s[pick])
        open_[pick] = False
        if put is not None:
            put.append(pick)
    return [stop - 1 for stop in stops[1:-1]]


def _key(choice: Choice, order: Sequence[int]) -> tuple[float, float]:
    return float(choice.worth[list(order)].sum()), -choice.time_s(order)


def _ruined(order: Sequence[int], rng: np.random.Generator) -> list[int]:
    """Return a round without a stretch of it, or without some drifts here and there."""
    count = len(order)
    some = int(rng.integers(1, max(2, count // 2 + 1)))
    if rng.random() < 0.5:
        start = int(rng.integers(0, count))
        out = {(start + k) % count for k in range(some)}
    else:
        out = set(rng.choice(count, size=min(some, count), replace=False).tolist())
    return [drift for place, drift in enumerate(order) if place not in out]


def _untangled(choice: Choice, order: Sequence[int]) -> list[int]:
    """Return the round with each drift moved to where it costs least."""
    between = choice.between_s
    stops = [0, *(drift + 1 for drift in order), 0]
    for stop in stops[1:-1]:
        at = stops.index(stop, 1)
        before, after = stops[at - 1], stops[at + 1]
        saved = between[before, stop] + between[stop, after] - between[before, after]
        rest = stops[:at] + stops[at + 1 :]
        extra = between[rest[:-1], stop] + between[stop, rest[1:]]
        extra -= between[rest[:-1], rest[1:]]
        best = int(extra.argmin())
        if extra[best] < saved - 1e-9:
            stops = [*rest[: best + 1], stop, *rest[best + 1 :]]
    return [stop - 1 for stop in stops[1:-1]]
