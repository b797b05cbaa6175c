"""What plots of rates show: a dot for each, and a line for where it may lie.

How sure a difference is shows in the shape of the dot, so that a grey print says the
same as the screen; how much each rests on stands beside it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor, log10

from sweptwater.offers.compare import Direction, Verdict

STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
MOST_TICKS = 5

LEAST_H = 0.05
"""Fewer hours are not worth a word."""

LEAST_RATE = 0.005
"""Lower rates are told as 0."""

WIDEST = 2.0
"""A scale goes no further than so many times the highest rate, but for ranges that tell
something: others that go beyond it end in an arrow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """One row of a plot.

    Parameters
    ----------
    value, low, high
        A rate and its range; None where nothing was told.
    offers, hours
        What it rests on.
    untold_hours
        Fished as well, but nobody told what happened.
    verdict, direction
        Whether it differs from the others, and how.
    """

    label: str
    value: float | None
    low: float | None
    high: float | None
    offers: int
    hours: float
    untold_hours: float = 0.0
    verdict: Verdict = "too little to tell"
    direction: Direction = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalPlot:
    """Rows that are compared, and how they are to be read.

    Parameters
    ----------
    unit
        Of the rates, as the axis is to tell it.
    mean
        The rate of all rows together, drawn as a line; None if there is none.
    most
        Where the scale ends; by the rows themselves if it is not given.
    """

    title: str
    unit: str
    rows: tuple[Interval, ...]
    mean: float | None = None
    most: float | None = None


def scale_end(rows: Iterable[Interval], mean: float | None = None) -> float:
    """Return where the scale of some rows ends, a round number.

    A range goes beyond it only where there is too little to tell, and by `WIDEST`: so
    a row with few hours does not press the others together.

    Examples
    --------
    >>> row = Interval(label="dull", value=1.1, low=0.7, high=1.8, offers=14, hours=12)
    >>> scale_end([row]), scale_end([], mean=0.3), scale_end([])
    (2.0, 0.4, 1.0)
    """
    told = [row for row in rows if row.value is not None]
    highest = max([mean or 0.0, *(row.value or 0.0 for row in told)])
    ends = [row.high or 0.0 for row in told]
    sure = [row.high or 0.0 for row in told if row.direction]
    if highest < LEAST_RATE:
        most = max(ends, default=0.0)
        most = most if most >= LEAST_RATE else 1.0
    else:
        most = max(min(max(ends, default=0.0), WIDEST * highest), 1.05 * highest, *sure)
    step = round_step(most)
    return round(ceil(most / step - 1e-9) * step, 9)


def told_of(row: Interval) -> str:
    """Return a row in words, for whoever does not see the plot.

    Examples
    --------
    >>> told_of(Interval(label="A", value=None, low=None, high=None, offers=0, hours=0,
    ...                  untold_hours=3.2))
    'A: not told, 3.2 h'
    """
    if row.value is None or row.low is None or row.high is None:
        return f"{row.label}: {untold_text(row)}"
    differs = f", {row.verdict}: {row.direction}" if row.direction else ""
    untold = f", {untold_text(row)}" if row.untold_hours >= LEAST_H else ""
    return (
        f"{row.label}: {rate_text(row.value)}, {rate_text(row.low)} to "
        f"{rate_text(row.high)}, {counts_text(row)}{differs}{untold}"
    )


def rate_text(rate: float) -> str:
    """Return a rate with as many figures as it can bear.

    Examples
    --------
    >>> rate_text(1.14), rate_text(0.224), rate_text(0.04), rate_text(0), rate_text(12)
    ('1.1', '0.22', '0.04', '0', '12')
    """
    if rate < LEAST_RATE:
        return "0"
    places = 2 if rate < 0.995 else 1 if rate < 9.95 else 0
    return f"{rate:.{places}f}"


def hours_text(hours: float) -> str:
    """Return hours as a table tells them.

    Examples
    --------
    >>> hours_text(12.34), hours_text(0.02), hours_text(0), hours_text(1200.2)
    ('12.3', '0.1', '0', '1,200')
    """
    if hours >= 99.95:
        return f"{hours:,.0f}"
    shown = max(hours, 0.1) if hours > 0 else 0.0
    return f"{shown:.1f}".removesuffix(".0")


def counts_text(row: Interval) -> str:
    """Return how many offers in how many hours, like "7 in 12.4 h"."""
    return f"{row.offers:,} in {hours_text(row.hours)} h"


def untold_text(row: Interval) -> str:
    """Return how many hours nobody told of, in words."""
    return f"not told, {hours_text(row.untold_hours)} h"


def round_step(most: float) -> float:
    """Return a round step of which a few reach so far."""
    ten = 10.0 ** floor(log10(most / MOST_TICKS))
    return next(
        round(step * ten, 12)
        for step in STEPS
        if step * ten * MOST_TICKS >= most * (1 - 1e-9)
    )
