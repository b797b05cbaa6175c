"""What a phone or a handheld would have recorded of a true day."""

from dataclasses import dataclass

import numpy as np

from sweptwater.arrays import Bools, Floats, Ints
from sweptwater_demo.truth import Truth
from sweptwater_demo.weather import wander


@dataclass(frozen=True, slots=True)
class GpsError:
    """How a receiver errs; the figures are common experience, without a source.

    Parameters
    ----------
    wander_m, wander_time_s
        Standard deviation of the slow error on each axis, and how long it keeps.
    white_m
        Standard deviation on each axis of what differs from fix to fix.
    spikes_an_hour, spike_m
        How often one or two fixes are far off, and how far at most.
    dropouts_a_day, dropout_s
        How many short gaps there are, and their shortest and longest.
    long_dropout_s
        One longer gap, somewhere in the middle of the day; 0 for none.
    step_s
        Seconds from fix to fix.
    uneven
        Whether steps vary, from one second to twice `step_s`.
    dies_at_s
        Seconds since 1970 in UTC when the phone goes dead; None for never.
    """

    wander_m: float = 2.0
    wander_time_s: float = 180.0
    white_m: float = 0.4
    spikes_an_hour: float = 0.7
    spike_m: float = 250.0
    dropouts_a_day: float = 5.0
    dropout_s: tuple[int, int] = (10, 40)
    long_dropout_s: int = 0
    step_s: int = 1
    uneven: bool = False
    dies_at_s: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Fixes:
    """Recorded fixes: whole seconds since 1970 in UTC, and metres; shape (n,) each."""

    time_s: Floats
    easting: Floats
    northing: Floats


def observe(truth: Truth, *, gps: GpsError, seed: int) -> Fixes:
    """Return the fixes that a receiver with these errors makes of a true day.

    Parameters
    ----------
    truth
        The day.
    gps
        The errors.
    seed
        The same seed makes the same errors.
    """
    rng = np.random.default_rng(seed)
    count = len(truth.time_s)
    offset = gps.white_m * rng.standard_normal((count, 2))
    for axis in (0, 1):
        offset[:, axis] += gps.wander_m * wander(count, gps.wander_time_s, rng)
    offset += _spikes(count, gps, rng)
    kept = _sampled(count, gps, rng)
    for first, seconds in _dropouts(count, gps, rng):
        kept[first : first + seconds] = False
    if gps.dies_at_s is not None:
        kept &= truth.time_s < gps.dies_at_s
    path = (truth.path + offset)[kept]
    return Fixes(np.rint(truth.time_s[kept]), path[:, 0], path[:, 1])


def _spikes(count: int, gps: GpsError, rng: np.random.Generator) -> Floats:
    offset = np.zeros((count, 2))
    for first in rng.integers(0, count, rng.poisson(gps.spikes_an_hour * count / 3600)):
        far_m = gps.spike_m * rng.uniform(0.08, 1)
        turn = rng.uniform(0, 2 * np.pi)
        offset[first : first + rng.integers(1, 3)] += far_m * np.array(
            [np.cos(turn), np.sin(turn)]
        )
    return offset


def _sampled(count: int, gps: GpsError, rng: np.random.Generator) -> Bools:
    kept = np.zeros(count, dtype=np.bool_)
    if gps.uneven:
        steps = rng.integers(1, 2 * gps.step_s + 1, count)
        rows = np.r_[0, np.cumsum(steps)]
        kept[rows[rows < count]] = True
    else:
        kept[:: gps.step_s] = True
    return kept


def _dropouts(count: int, gps: GpsError, rng: np.random.Generator) -> list[Ints]:
    shortest, longest = gps.dropout_s
    number = rng.poisson(gps.dropouts_a_day)
    firsts = rng.integers(0, count, number)
    seconds = rng.integers(shortest, longest + 1, number)
    gaps = list(np.column_stack([firsts, seconds]))
    if gps.long_dropout_s:
        first = rng.integers(count // 4, 3 * count // 4)
        gaps.append(np.array([first, gps.long_dropout_s]))
    return gaps
