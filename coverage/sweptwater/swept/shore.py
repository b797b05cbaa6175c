"""How much of each bank's water has been fished, how often and when last."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import shapely

from sweptwater.arrays import Area, Bools, Ints
from sweptwater.swept.ledger import NOTHING, BankPieces, FromMemory
from sweptwater.water.overlap import Overlay

VISITED = 0.01
"""A drift, or a day, that swept more than this share of a bank's water was there."""


@dataclass(frozen=True, slots=True)
class BankLine:
    """How much of one bank's water has been fished, and when last."""

    bank: int
    name: str
    """What people call it; empty if they do not."""
    sector: str | None
    length_m: float
    done_m: float
    water_m2: float
    fished_m2: float
    fished_share: float
    drifts: int
    """How many separate drifts swept more than `VISITED` of its water."""
    last_day: date | None
    remembered_m2: float = 0.0
    remembered_share: float = 0.0
    done_remembered_m: float = 0.0
    """What drifts from memory add; none of it is in the figures above."""
    layers: Mapping[str, float] = field(default_factory=dict)
    """The share of its water that was swept with flies in each layer."""
    layers_by_light: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    """The same by what the sky was."""


def bank_lines(
    pieces: BankPieces,
    done: Bools,
    fished: Area,
    days: Mapping[date, Area],
    *,
    drifts: Sequence[Area] = (),
    memory: FromMemory = NOTHING,
) -> tuple[BankLine, ...]:
    """Return a line for each bank.

    Parameters
    ----------
    pieces, done
        The banks, and which of their pieces are done.
    fished
        All swept water.
    days
        The swept water of each day.
    drifts
        The water that each drift swept.
    memory
        What drifts from memory add.
    """
    waters = [bank.water for bank in pieces.banks]
    if not waters:
        return ()
    water_m2 = shapely.area(waters)
    fished_m2 = Overlay(fished).areas_m2(waters)
    last: list[date | None] = [None] * len(waters)
    for day in sorted(days):
        swept_m2 = Overlay(days[day]).areas_m2(waters)
        for index in np.flatnonzero(swept_m2 > VISITED * water_m2):
            last[index] = day
    over = _drifts_over(waters, drifts)
    remembered_m2 = Overlay(memory.water).areas_m2(waters)
    done_m, told_m = (
        np.bincount(
            pieces.piece_bank, weights=pieces.piece_m * which, minlength=len(waters)
        )
        for which in (done, memory.done_of(pieces))
    )
    return tuple(
        BankLine(
            bank=bank.number,
            name=bank.told,
            sector=pieces.bank_sector[index],
            length_m=bank.length_m,
            done_m=float(done_m[index]),
            water_m2=float(water_m2[index]),
            fished_m2=float(fished_m2[index]),
            fished_share=float(fished_m2[index] / water_m2[index]),
            drifts=int(over[index]),
            last_day=last[index],
            remembered_m2=float(remembered_m2[index]),
            remembered_share=float(remembered_m2[index] / water_m2[index]),
            done_remembered_m=float(told_m[index]),
        )
        for index, bank in enumerate(pieces.banks)
    )


def _drifts_over(waters: Sequence[Area], drifts: Sequence[Area]) -> Ints:
    """Return how many drifts swept more than a little of each water."""
    array, swept = np.array(waters, dtype=object), np.array(drifts, dtype=object)
    if not len(swept):
        return np.zeros(len(array), dtype=np.int64)
    one, water = shapely.STRtree(array).query(swept, predicate="intersects")
    least_m2 = VISITED * shapely.area(array)[water]
    # A drift that is smaller as a whole need not be measured there.
    likely = shapely.area(swept)[one] > least_m2
    one, water, least_m2 = one[likely], water[likely], least_m2[likely]
    shared_m2 = shapely.area(shapely.intersection(swept[one], array[water]))
    return np.bincount(water[shared_m2 > least_m2], minlength=len(array))
