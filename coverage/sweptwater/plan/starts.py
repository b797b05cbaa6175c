"""Where rods start a match: so that as few as can be go without an offer."""

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations_with_replacement
from math import ceil, inf

import numpy as np
from scipy.optimize import linear_sum_assignment

from sweptwater.arrays import Bools, Floats, Ints
from sweptwater.plan.start_risk import (
    Choice,
    MatchTimes,
    Risk,
    StartPlace,
    place_blank,
    risk_of,
    shared,
)

EQUAL = 1e-9
"""Of two ways to start whose expected blanks differ by less the first one is taken."""

NEVER = 1e6
"""What a choice costs that is not open."""


@dataclass(frozen=True, slots=True)
class Starts:
    """Where the boats start, and what they risk.

    Parameters
    ----------
    choices, risk
        One choice a boat, the one that is least likely to go without first.
    best, all_on_best
        The place that is best for a boat that has it to itself, all day; and what they
        would risk if all started there and went on to the next best.
    most_on_bank, bold
        How many rods start on one bank at the most, and how many start boldly: as was
        asked for, or as near as the places allow.
    """

    choices: tuple[Choice, ...]
    risk: Risk
    best: int
    all_on_best: Risk
    most_on_bank: int
    bold: int


def choose_starts(
    places: Sequence[StartPlace],
    times: MatchTimes,
    *,
    boats: int = 6,
    rods_in_boat: int = 1,
    most_on_bank: int = 2,
    bold: int = 2,
) -> Starts:
    """Return a start and a second choice for each boat, the best that there are.

    Those by which the expected number of rods without an offer is least: all ways to
    start are gone through, but those that could not be better even if each boat had the
    best second choice to itself; and for each the second choices likewise. So the best
    is found, and of equals the one whose places come first. The second choice is on
    another bank. No more than `most_on_bank` rods start on one bank, nor go on to one;
    with too few places it is as many more as must be. Where too few places are bold, or
    too many, it is as near as may be.

    Parameters
    ----------
    places
        Where they may start; a dozen is quick.
    times
        How long rods are where.
    boats, rods_in_boat
        How many boats there are, with so many of the team's rods in each.
    most_on_bank, bold
        So many rods start on one bank at the most, and on bold places.

    Raises
    ------
    ValueError
        If there is no place.

    Examples
    --------
    >>> import numpy as np
    >>> good = StartPlace("A", 0, 0, 1, None, 1, 20, 10, holds=0.9)
    >>> fair = StartPlace("B", 0, 0, 2, None, 2, 10, 10, holds=0.9)
    >>> poor = StartPlace("C", 0, 0, 3, None, 3, 1, 10)
    >>> nothing = np.zeros(3)
    >>> times = MatchTimes(4, 1, nothing, nothing, np.zeros((3, 3)), (1, 10))
    >>> found = choose_starts([good, fair, poor], times, boats=3, bold=0)
    >>> [(choice.first, choice.second) for choice in found.choices]
    [(0, 1), (1, 0), (1, 0)]
    """
    if not places:
        raise ValueError("there is no place to start at")
    size = rods_in_boat
    most = max(most_on_bank, size)
    chooser = _Chooser(places, times, boats, size)
    wanted = min(boats, ceil(bold / size))
    total = boats * size
    for limit in range(most, max(total, most) + 1):
        for bold_boats in sorted(range(boats + 1), key=lambda b: (abs(b - wanted), -b)):
            choices = chooser.best(limit // size, bold_boats)
            if choices is not None:
                return _starts(chooser, choices, limit, bold_boats * size)
    raise AssertionError("one place can take all boats")  # pragma: no cover


def _starts(
    chooser: "_Chooser", choices: tuple[Choice, ...], limit: int, bold: int
) -> Starts:
    places, times = chooser.places, chooser.times
    without = risk_of(places, times, choices).without[:: chooser.size]
    order = sorted(range(len(choices)), key=lambda boat: (without[boat], boat))
    ordered = tuple(choices[boat] for boat in order)
    best = chooser.best_alone
    return Starts(
        choices=ordered,
        risk=risk_of(places, times, ordered),
        best=best.first,
        all_on_best=risk_of(places, times, [best] * chooser.boats),
        most_on_bank=limit,
        bold=bold,
    )


class _Chooser:
    """Goes through the ways to start; all is counted in boats."""

    def __init__(
        self, places: Sequence[StartPlace], times: MatchTimes, boats: int, size: int
    ) -> None:
        self.places, self.times, self.boats, self.size = places, times, boats, size
        many = range(len(places))
        stretches = [place.stretch for place in places]
        self._elsewhere = np.array([[a != b for b in stretches] for a in stretches])
        self._banks = [stretches.index(stretch) for stretch in stretches]
        there_h = [[times.second_h(a, b) for b in many] for a in many]
        self._open: Bools = np.asarray(self._elsewhere & (np.array(there_h) > 0))
        self._start = np.array([self._starting(first) for first in many])
        """The chance of nothing at a start with so many boats there, from 1 on."""
        self._second = np.full((len(places), len(places), 2 * boats), inf)
        for first, second in zip(*np.nonzero(self._open), strict=True):
            for count in range(1, 2 * boats + 1):
                chance = self._blank(second, there_h[first][second], count)
                self._second[first, second, count - 1] = chance

    def _starting(self, first: int) -> list[float]:
        second = first if self._open[first].any() else None
        hours = self.times.first_h(first, second)
        return [self._blank(first, hours, count + 1) for count in range(self.boats)]

    def _blank(self, place: int, hours: float, boats: int) -> float:
        there_h = hours * self.places[place].fishes
        spent_h = there_h * shared(boats * self.size)
        return place_blank(self.places[place], self.times.background, spent_h, there_h)

    @cached_property
    def best_alone(self) -> Choice:
        """The choice of a boat for the place that is best for a whole match."""
        whole = [
            self._blank(first, self.times.first_h(first, None), 1)
            for first in range(len(self.places))
        ]
        first = int(np.argmin(whole))
        second = int(np.argmin(self._second[first, :, 0]))
        return Choice(first, second if self._open[first].any() else None, self.size)

    def best(self, limit: int, bold: int) -> tuple[Choice, ...] | None:
        """Return the best choices with so many boats on a bank, and so many bold.

        None if the places do not allow them.
        """
        ways = list(self._ways(limit, bold))
        # Second choices crowd on one bank only as far as there are too few.
        for most in range(limit, self.boats + 1) if ways else ():
            best, found = inf, None
            tried = [_Seconds(self, counts, most) for counts in ways]
            for one in sorted(tried, key=lambda one: one.least):
                if one.least >= best - EQUAL:
                    break
                # Good ones first: then fewer have to be gone through.
                if one.allows(one.good) and one.cost(one.good) < best - EQUAL:
                    best, found = one.cost(one.good), (one.counts, one.good)
                value, seconds = one.below(best)
                if seconds:
                    best, found = value, (one.counts, seconds)
            if found is not None:
                return tuple(
                    Choice(first, second, self.size)
                    for first, second in zip(boats_at(found[0]), found[1], strict=True)
                )
        return None

    def _ways(self, limit: int, bold: int) -> Iterator[tuple[int, ...]]:
        """Yield how many boats start at each place, in all ways that are allowed."""
        counts = [0] * len(self.places)
        on_bank: dict[Hashable, int] = {}

        def fill(place: int, left: int, bold_left: int) -> Iterator[tuple[int, ...]]:
            if left == 0:
                if bold_left == 0:
                    yield tuple(counts)
                return
            if place == len(self.places):
                return
            here = self.places[place]
            used = on_bank.get(here.stretch, 0)
            room = min(left, limit - used)
            room = min(room, bold_left if here.bold else left - bold_left)
            for count in range(room, -1, -1):
                counts[place], on_bank[here.stretch] = count, used + count
                more = bold_left - count if here.bold else bold_left
                yield from fill(place + 1, left - count, more)
            counts[place], on_bank[here.stretch] = 0, used

        yield from fill(0, self.boats, bold)


class _Seconds:
    """The second choices of boats whose starts are known.

    `least` is what no choices can better, and `good` some that are good.
    """

    def __init__(self, chooser: _Chooser, counts: tuple[int, ...], most: int) -> None:
        self._most, self._banks = most, chooser._banks
        self._boats = boats_at(counts)
        self._there = np.array(counts)
        count = self._there[self._boats]
        self._start = chooser.size * chooser._start[self._boats, count - 1]
        self._second = chooser._second[self._boats]
        self._goes: Bools = np.asarray(chooser._open[self._boats].any(axis=1))
        self.counts = counts
        self.least, self.good = self._bound()

    def cost(self, chosen: Sequence[int | None]) -> float:
        """Return what the boats' choices cost."""
        seconds = np.array([[-1 if one is None else one for one in chosen]])
        coming = np.bincount(seconds[seconds >= 0], minlength=len(self._there))
        return float(self._costs(seconds, coming[None])[0])

    def allows(self, chosen: Sequence[int | None]) -> bool:
        """Tell whether no bank has more of the chosen than it may."""
        banks = [self._banks[second] for second in chosen if second is not None]
        return all(banks.count(bank) <= self._most for bank in set(banks))

    def _bound(self) -> tuple[float, tuple[int | None, ...]]:
        """Return what no choices can better, and some that are good.

        As if the first who comes to a place had less company there than the second, and
        so on: in truth all have as much as the last. So it is a problem of assignment.
        """
        going = np.flatnonzero(self._goes)
        sure = float(self._start[~self._goes].sum())
        found: list[int | None] = [None] * len(self._boats)
        if not len(going):
            return sure, tuple(found)
        slots = np.arange(self._most)
        at = np.minimum(self._there[:, None] + slots, self._second.shape[2] - 1)
        places = np.arange(len(self._there))[:, None]
        costs = self._start[going, None, None] * self._second[going][:, places, at]
        table = np.minimum(costs.reshape(len(going), -1), NEVER)
        rows, columns = linear_sum_assignment(table)
        total = float(table[rows, columns].sum())
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
            found[int(going[row])] = column // len(slots)
        return (inf if total >= NEVER else sure + total), tuple(found)

    def below(self, value: float) -> tuple[float, tuple[int | None, ...]]:
        """Return the best second choices if they cost less than a value, else none.

        All are gone through side by side, the boats of one start after those of the
        other, without those that cost too much already: company only adds to it.
        """
        many = len(self._there)
        banks = np.array(self._banks)
        chosen, coming = np.zeros((1, 0), int), np.zeros((1, many), int)
        alone = self._start * np.where(
            self._goes, self._second[:, range(many), self._there].min(axis=1), 1.0
        )
        cost = np.zeros(1)
        for first in dict.fromkeys(self._boats):
            options = self._options(first)
            chosen = np.hstack(
                [
                    np.repeat(chosen, len(options), axis=0),
                    np.tile(options, (len(chosen), 1)),
                ]
            )
            come = np.array(
                [np.bincount(one[one >= 0], minlength=many) for one in options]
            )
            coming = (coming[:, None] + come[None]).reshape(-1, many)
            on_bank = np.zeros_like(coming)
            np.add.at(on_bank.T, banks, coming.T)
            cost = self._costs(chosen, coming) + alone[chosen.shape[1] :].sum()
            kept = (on_bank <= self._most).all(axis=1) & (cost < value - EQUAL)
            chosen, coming, cost = chosen[kept], coming[kept], cost[kept]
            if not len(chosen):
                return value, ()
        best = int(np.argmin(cost))
        found = tuple(None if at < 0 else at for at in chosen[best].tolist())
        return float(cost[best]), found

    def _costs(self, chosen: Ints, coming: Ints) -> Floats:
        """Return what choices of the first boats cost, (n,)."""
        cost = np.zeros(len(chosen))
        rows = np.arange(len(chosen))
        for boat, seconds in enumerate(chosen.T):
            if not self._goes[boat]:
                cost += self._start[boat]
                continue
            there = self._there[seconds] + coming[rows, seconds] - 1
            cost += self._start[boat] * self._second[boat, seconds, there]
        return cost

    def _options(self, first: int) -> Ints:
        """Return all second choices of the boats that start at a place.

        They are alike, so that their order does not matter.
        """
        boat, count = self._boats.index(first), self._boats.count(first)
        seconds = np.flatnonzero(np.isfinite(self._second[boat, :, 0])).tolist() or [-1]
        return np.array(list(combinations_with_replacement(seconds, count)))


def boats_at(counts: Sequence[int]) -> list[int]:
    """Return the place of each boat.

    Examples
    --------
    >>> boats_at([2, 0, 1])
    [0, 0, 2]
    """
    return [place for place, count in enumerate(counts) for _ in range(count)]
