"""What became of the plans: each planned drift is fished, partly fished or not."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import shapely

from sweptwater.arrays import Area
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.wording import day_text
from sweptwater.offers.wind import Wind
from sweptwater.plan.day import union
from sweptwater.plan.done import Verdict, done_drifts
from sweptwater.plan.planned import PlannedDrift, sweep_planned
from sweptwater.practice.plans import KeptPlan, read_plans
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.memory import MemoryDay


@dataclass(frozen=True, slots=True)
class PlannedShare:
    """One planned drift of a day that is over, and the share of it that was swept."""

    number: int
    bank: int | None
    share: float
    done: Verdict


@dataclass(frozen=True, slots=True)
class PlanDone:
    """What became of a pair's plan of one day."""

    day: date
    pair: str
    fished: int
    partly: int
    not_fished: int
    drifts: tuple[PlannedShare, ...]


def plans_done(
    opened: Opened, boats: Iterable[BoatDay], memory: Iterable[MemoryDay] = ()
) -> tuple[PlanDone, ...]:
    """Return what became of each plan for whose day and pair something is known.

    Parameters
    ----------
    boats, memory
        What was recorded and what was told: either counts.
    """
    swept: dict[tuple[date, str], list[Area]] = {}
    for boat in boats:
        swept.setdefault((boat.day, boat.pair), []).append(boat.stack.once)
    for told in memory:
        swept.setdefault((told.day, told.pair), []).append(told.stack.once)
    if not swept:
        return ()
    plans, _ = read_plans(opened.practice.folder)
    return tuple(
        _done(opened, plan, union(swept[plan.day, plan.pair]))
        for plan in plans
        if (plan.day, plan.pair) in swept and plan.drifts
    )


def done_text(done: PlanDone) -> str:
    """Return what became of a plan, as a sentence.

    Examples
    --------
    >>> from datetime import date
    >>> lines = tuple(PlannedShare(n, 1, 0.0, "not") for n in (3, 4, 5, 9))
    >>> done_text(PlanDone(date(2027, 6, 9), "Heron", 5, 0, 4, lines))
    'Of 9 drifts planned for Heron on 9 June, 5 were fished; not: 3-5, 9'
    """
    total = done.fished + done.partly + done.not_fished
    told = (
        f"Of {total} drifts planned for {done.pair} on {day_text(done.day)}, "
        f"{done.fished} {'was' if done.fished == 1 else 'were'} fished"
    )
    for verdict, word in (("partly", "partly"), ("not", "not")):
        numbers = [line.number for line in done.drifts if line.done == verdict]
        if numbers:
            told += f"; {word}: {numbers_text(numbers)}"
    return told


def numbers_text(numbers: Sequence[int]) -> str:
    """Return numbers with runs drawn together.

    Examples
    --------
    >>> numbers_text([1, 2, 3, 7, 9, 10])
    '1-3, 7, 9-10'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        f"{run[0]}-{run[-1]}" if len(run) > 1 else str(run[0]) for run in runs
    )


def _done(opened: Opened, plan: KeptPlan, swept: Area) -> PlanDone:
    metres = opened.venue.frame.metres
    drifts = [
        PlannedDrift(
            np.asarray(shapely.get_coordinates(metres(kept.line))), "open", kept.bank
        )
        for kept in plan.drifts
    ]
    wind = Wind(plan.wind_from_deg, plan.wind_m_s)
    fishable = opened.venue.fishable
    planned = sweep_planned(drifts, opened.settings.spread, fishable, wind)
    lines = tuple(
        PlannedShare(kept.number, kept.bank, one.share, one.verdict)
        for kept, one in zip(plan.drifts, done_drifts(planned, swept), strict=True)
    )
    verdicts = [line.done for line in lines]
    return PlanDone(
        plan.day,
        plan.pair,
        verdicts.count("fished"),
        verdicts.count("partly"),
        verdicts.count("not"),
        lines,
    )
