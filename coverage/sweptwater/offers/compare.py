"""Whether one rate differs from others, by more than chance would bring up."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf, nan
from typing import Literal, TypeAlias

import numpy as np
from scipy.special import betainc, betaincinv

from sweptwater.arrays import Floats
from sweptwater.offers.rates import LEVEL

Verdict: TypeAlias = Literal["clear", "leaning", "too little to tell"]
Direction: TypeAlias = Literal["", "more", "fewer"]
Row: TypeAlias = tuple[float, float]
"""Offers and rod-hours."""

RULE = (
    "Each row is held against all others of its table together, and where a table "
    "tells two things apart against those that share the second: a difference is clear "
    "if chance alone would bring up so large a one, anywhere among all comparisons "
    "made, in fewer than 1 practice in 20; it is leaning if that is so only of this "
    "comparison by itself; all else is too little to tell."
)
"""What the verdicts mean, for paper."""

SELDOM = 0.05
"""Chance seldom brings up what it brings up in less than this share of practices."""


@dataclass(frozen=True, slots=True)
class Held:
    """A row held against all others of its table together.

    Parameters
    ----------
    verdict
        As `RULE` says.
    direction
        Whether the row has more or fewer offers a rod-hour than the others; empty where
        there is too little to tell.
    p
        How often chance alone would bring up so large a difference; NaN where there was
        nothing to compare with.
    p_of_all
        The same anywhere among all comparisons made.
    ratio, low, high
        The row's rate over that of the others, and its 95 % range.
    """

    verdict: Verdict
    direction: Direction
    p: float
    p_of_all: float
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Family:
    """Tables whose comparisons were counted together.

    Parameters
    ----------
    tables
        A `Held` a row, in the order of the rows.
    comparisons
        How many were made.
    """

    tables: tuple[tuple[Held, ...], ...]
    comparisons: int


def verdicts(*tables: Sequence[Row], factor: float | Sequence[float] = 1.0) -> Family:
    """Return which rows of one page differ from the others of their table.

    The p-values are exact conditional ones (`central_p`), made up by Holm's rule for
    all tables together: over all of them chance brings up a false "clear" in under one
    of twenty practices. Two rows of one table are one comparison, told on both. A row
    without hours, or with nothing beside it, is not compared.

    Parameters
    ----------
    tables
        Rows of offers and rod-hours each.
    factor
        How clustered the offers are (`Clusters.factor`), of all tables or of each.

    Examples
    --------
    >>> family = verdicts([(14, 10), (4, 16), (5, 12)], [(10, 20), (13, 18)])
    >>> [held.verdict for held in family.tables[0]], family.comparisons
    (['clear', 'leaning', 'too little to tell'], 4)
    >>> [held.direction for held in family.tables[0]]
    ['more', 'fewer', '']
    """
    factors = (
        [float(factor)] * len(tables)
        if isinstance(factor, (int, float))
        else list(factor)
    )
    plain = [list(_held(rows, by)) for rows, by in zip(tables, factors, strict=True)]
    made = [
        (table, row)
        for table, rows in enumerate(plain)
        for row, held in enumerate(rows)
        if held.p == held.p and not (len(rows) == 2 and row == 1)
    ]
    of_all = holm([plain[table][row].p for table, row in made]).tolist()
    for (table, row), p_of_all in zip(made, of_all, strict=True):
        rows = plain[table]
        for each in range(2) if len(rows) == 2 else [row]:
            rows[each] = _judged(rows[each], p_of_all)
    return Family(tuple(map(tuple, plain)), len(made))


def central_p(
    offers: float,
    hours: float,
    others: float,
    others_hours: float,
    factor: float = 1.0,
) -> float:
    """Return how often chance alone parts two equal rates so far: two-sided, exact.

    Twice the smaller tail of offers ~ Binomial(all offers, share of the hours), at most
    1. Not the sum of all outcomes as unlikely, which can contradict the interval. With
    a factor, offers count over it; the tails are then the binomial's as beta integrals,
    which take fractions. Nothing parts rates one of which has no hours.

    References
    ----------
    M. P. Fay, Testing the ratio of two Poisson rates, 2022: vignette of an R package.

    Examples
    --------
    >>> round(central_p(2, 17877, 9, 16660), 5)
    0.05011
    >>> central_p(0, 10, 3, 10)
    0.25
    """
    if not (hours > 0 and others_hours > 0):
        return 1.0
    share = hours / (hours + others_hours)
    mine, theirs = offers / factor, others / factor
    up = float(betainc(mine, theirs + 1, share)) if mine else 1.0
    down = float(betainc(theirs, mine + 1, 1 - share)) if theirs else 1.0
    return min(1.0, 2 * min(up, down))


def ratio_interval(
    offers: float,
    hours: float,
    others: float,
    others_hours: float,
    factor: float = 1.0,
    *,
    level: float = LEVEL,
) -> tuple[float, float]:
    """Return the exact interval of one rate over another.

    By Clopper and Pearson's interval of the share of offers that is the first one's. It
    ends at 0 where that has none, and at infinity where the other has none. It holds 1
    exactly where `central_p` is over 1 less the level.

    Examples
    --------
    >>> [round(end, 4) for end in ratio_interval(2, 17877, 9, 16660)]
    [0.0218, 1.0005]
    >>> ratio_interval(0, 10, 0, 10)
    (0.0, inf)
    """
    if not (hours > 0 and others_hours > 0):
        return 0.0, inf
    tail = (1 - level) / 2
    mine, theirs = offers / factor, others / factor
    low = float(betaincinv(mine, theirs + 1, tail)) if mine else 0.0
    high = float(betaincinv(mine + 1, theirs, 1 - tail)) if theirs else 1.0
    odds = [share / (1 - share) if share < 1 else inf for share in (low, high)]
    return odds[0] * others_hours / hours, odds[1] * others_hours / hours


def holm(p_values: Sequence[float]) -> Floats:
    """Return (n,) p-values that hold over all n comparisons, whatever they share.

    References
    ----------
    S. Holm, A simple sequentially rejective multiple test procedure, Scandinavian
    Journal of Statistics 6, 1979 (from memory).

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03]).round(2).tolist()
    [0.03, 0.06, 0.06]
    """
    plain = np.asarray(p_values, float)
    order = np.argsort(plain, kind="stable")
    steps = np.maximum.accumulate(plain[order] * np.arange(len(plain), 0, -1))
    made = np.empty_like(plain)
    made[order] = np.minimum(1.0, steps)
    return made


def _held(rows: Sequence[Row], factor: float) -> Iterator[Held]:
    all_offers = sum(offers for offers, _ in rows)
    for row, (offers, hours) in enumerate(rows):
        others, rest = (
            all_offers - offers,
            sum(spent for other, (_, spent) in enumerate(rows) if other != row),
        )
        if not (hours > 0 and rest > 0):
            yield Held("too little to tell", "", nan, nan, nan, 0.0, inf)
            continue
        yield Held(
            "too little to tell",
            "",
            central_p(offers, hours, others, rest, factor),
            nan,
            _ratio(offers * rest, others * hours),
            *ratio_interval(offers, hours, others, rest, factor),
        )


def _judged(held: Held, p_of_all: float) -> Held:
    verdict: Verdict = "too little to tell"
    direction: Direction = ""
    if held.p < SELDOM:
        verdict = "clear" if p_of_all < SELDOM else "leaning"
        direction = "more" if held.ratio > 1 else "fewer"
    return Held(verdict, direction, held.p, p_of_all, held.ratio, held.low, held.high)


def _ratio(mine: float, theirs: float) -> float:
    if theirs:
        return mine / theirs
    return inf if mine else nan
