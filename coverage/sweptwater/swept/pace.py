"""What is left of the banks, at the pace at which they were fished so far."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from sweptwater.arrays import Area
from sweptwater.swept.boats import BoatDay
from sweptwater.water.overlap import Overlay

MOSTLY = 0.5
"""A drift is one along a bank if so much of what it swept is the banks' water."""

FEWEST, LEAST_DONE = 3, 0.05
"""Fewer drifts, or a smaller part done, are no pace to reckon with."""


@dataclass(frozen=True, slots=True)
class Pace:
    """The drifts that were made along some banks: how many, and how long in all."""

    drifts: int
    fishing_s: float


@dataclass(frozen=True, slots=True)
class Rest:
    """The drifts that the rest of the banks would take, and the time, re-sets too."""

    drifts: int
    hours_s: float


def bank_pace(boats: Sequence[BoatDay], bank_water: Area) -> Pace:
    """Return the drifts that mostly swept the water of some banks."""
    shapes = [shape for boat in boats for shape in boat.swept]
    if not shapes or bank_water.is_empty:
        return Pace(0, 0.0)
    near_m2 = Overlay(bank_water).areas_m2(shapes)
    drifts = [drift for boat in boats for drift in boat.afloat.drifts]
    along = [
        drift.end_s - drift.start_s
        for shape, near, drift in zip(shapes, near_m2, drifts, strict=True)
        if drift.timed and shape.area > 0 and near >= MOSTLY * shape.area
    ]
    return Pace(len(along), sum(along))


def rest_of_banks(
    pace: Pace, *, bank_m: float, done_m: float, reset_s: float
) -> Rest | None:
    """Return what the rest of some banks would take at a pace.

    None where too little was done to tell (see `FEWEST`).

    Parameters
    ----------
    pace
        The drifts that did `done_m` of the banks.
    bank_m, done_m
        The length of the banks, and how much of it is done, in metres.
    reset_s
        The time from the end of one drift to the start of the next.

    Examples
    --------
    A mile of bank, 22 drifts of 195 s done on 660 of its 1,760 yards: 37 more.

    >>> rest = rest_of_banks(Pace(22, 22 * 195), bank_m=1760, done_m=660, reset_s=240)
    >>> rest.drifts, round(rest.hours_s / 3600, 1)
    (37, 4.5)
    >>> rest_of_banks(Pace(0, 0), bank_m=1760, done_m=0, reset_s=240) is None
    True
    """
    if pace.drifts < FEWEST or done_m < LEAST_DONE * bank_m:
        return None
    drifts = ceil((bank_m - done_m) * pace.drifts / done_m - 1e-9)
    each_s = pace.fishing_s / pace.drifts + reset_s
    return Rest(drifts, drifts * each_s)
