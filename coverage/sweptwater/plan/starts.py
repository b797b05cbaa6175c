"""Where rods start a match: so that as few as can be go without an offer."""

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil, inf

from sweptwater.plan.start_risk import (
    Choice,
    MatchTimes,
    Risk,
    StartPlace,
    place_blank,
    risk_of,
    shared,
)

EQUAL = 1e-12
"""Of two ways to start whose expected blanks differ by less the first one is taken."""


@dataclass(frozen=True, slots=True)
class Starts:
    """Where the boats start, and what they risk.

    Parameters
    ----------
    choices, risk
        One choice a boat, the one that is least likely to go without first.
    best, all_on_best
        The place that is best for one boat alone; and what they would risk if all
        started there and went on to the next best.
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
    alone = {c: risk_of(places, times, [c]).expected for c in set(choices)}
    ordered = sorted(choices, key=lambda c: (alone[c], c.first, c.second or 0))
    risk = risk_of(places, times, ordered)
    # In the order of what each risks with all the others there.
    each = list(zip(ordered, risk.without[:: chooser.size], strict=True))
    each.sort(key=lambda one: one[1])
    best = chooser.best_alone
    return Starts(
        choices=tuple(choice for choice, _ in each),
        risk=risk_of(places, times, [choice for choice, _ in each]),
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
        self._seconds = [list(self._open_to(first)) for first in range(len(places))]

    def _open_to(self, first: int) -> Iterator[int]:
        for second, place in enumerate(self.places):
            elsewhere = place.stretch != self.places[first].stretch
            if elsewhere and self.times.second_h(first, second) > 0:
                yield second

    @cached_property
    def _starting(self) -> list[list[float]]:
        """The chance of nothing at a start with so many boats there, from 1 on."""
        return [
            [
                self._blank(
                    first,
                    self.times.first_h(first, (self._seconds[first] or [None])[0]),
                    count,
                )
                for count in range(1, self.boats + 1)
            ]
            for first in range(len(self.places))
        ]

    @cached_property
    def _going_on(self) -> list[dict[int, list[float]]]:
        """The same of second choices, by start and second."""
        return [
            {
                second: [
                    self._blank(second, self.times.second_h(first, second), count)
                    for count in range(1, 2 * self.boats + 1)
                ]
                for second in self._seconds[first]
            }
            for first in range(len(self.places))
        ]

    def _blank(self, place: int, hours: float, boats: int) -> float:
        there_h = hours * self.places[place].fishes
        spent_h = there_h * shared(boats * self.size)
        return place_blank(
            self.places[place], self.times.background, spent_h, there_h
        )

    @cached_property
    def best_alone(self) -> Choice:
        """The best choice of one boat that has the water to itself."""
        found = []
        for first in range(len(self.places)):
            start = self._starting[first][0]
            found += [
                (start * chances[0], first, second)
                for second, chances in self._going_on[first].items()
            ] or [(start, first, -1)]
        _, first, second = min(found)
        return Choice(first, None if second < 0 else second, self.size)

    def best(self, limit: int, bold: int) -> tuple[Choice, ...] | None:
        """Return the best choices with so many boats on a bank, and so many bold.

        None if the places do not allow them.
        """
        starts = sorted(
            (self._least(counts), counts) for counts in self._ways(limit, bold)
        )
        if not starts:
            return None
        # Second choices crowd on one bank only as far as there are too few.
        for most in range(limit, self.boats + 1):
            best, found = inf, None
            for least, counts in starts:
                if least >= best - EQUAL:
                    break
                value, seconds = self._best_seconds(counts, most, best)
                if seconds is not None and value < best - EQUAL:
                    best, found = value, (counts, seconds)
            if found is not None:
                return tuple(
                    Choice(first, second, self.size)
                    for first, second in zip(_boats(found[0]), found[1], strict=True)
                )
        raise AssertionError("any second choices are allowed")  # pragma: no cover

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

    def _least(self, counts: tuple[int, ...]) -> float:
        """Return what no second choices can better: each boat has the best alone."""
        return self.size * sum(
            count
            * self._starting[first][count - 1]
            * min(
                (
                    chances[counts[second]]
                    for second, chances in self._going_on[first].items()
                ),
                default=1.0,
            )
            for first, count in enumerate(counts)
            if count
        )

    def _best_seconds(
        self, counts: tuple[int, ...], most: int, below: float
    ) -> tuple[float, tuple[int | None, ...] | None]:
        """Return the best second choices of some starts, if they are below a value."""
        boats = _boats(counts)
        coming = [0] * len(self.places)
        on_bank: dict[Hashable, int] = {}
        chosen: list[int | None] = []
        best: tuple[float, tuple[int | None, ...] | None] = (below, None)

        def cost(first: int, second: int | None, more: int) -> float:
            start = self._starting[first][counts[first] - 1]
            if second is None:
                return self.size * start
            there = counts[second] + coming[second] + more
            return self.size * start * self._going_on[first][second][there - 1]

        def least(depth: int) -> float:
            """Return what the choices so far cost, and the rest at the least."""
            sure = sum(cost(boats[b], chosen[b], 0) for b in range(depth))
            rest = sum(
                min(
                    (cost(first, s, 1) for s in self._open(first, on_bank, most)),
                    default=inf,
                )
                if self._seconds[first]
                else cost(first, None, 0)
                for first in boats[depth:]
            )
            return sure + rest

        def go(depth: int) -> None:
            nonlocal best
            if least(depth) >= best[0] - EQUAL:
                return
            if depth == len(boats):
                best = (least(depth), tuple(chosen))
                return
            first = boats[depth]
            if not self._seconds[first]:
                chosen.append(None)
                go(depth + 1)
                chosen.pop()
                return
            alike = depth > 0 and boats[depth - 1] == first
            options = sorted(
                (cost(first, second, 1), second)
                for second in self._open(first, on_bank, most)
                # Boats that start together are alike: their order does not matter.
                if not alike or second >= (chosen[depth - 1] or 0)
            )
            for _, second in options:
                bank = self.places[second].stretch
                coming[second] += 1
                on_bank[bank] = on_bank.get(bank, 0) + 1
                chosen.append(second)
                go(depth + 1)
                chosen.pop()
                on_bank[bank] -= 1
                coming[second] -= 1

        go(0)
        return best

    def _open(
        self, first: int, on_bank: dict[Hashable, int], most: int
    ) -> list[int]:
        return [
            second
            for second in self._seconds[first]
            if on_bank.get(self.places[second].stretch, 0) < most
        ]


def _boats(counts: Sequence[int]) -> list[int]:
    return [place for place, count in enumerate(counts) for _ in range(count)]
