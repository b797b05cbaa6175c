"""Planned against done: which planned drifts were fished."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import shapely

from sweptwater.arrays import Area

Verdict: TypeAlias = Literal["fished", "partly", "not"]

FISHED, PARTLY = 0.6, 0.15
"""A planned drift was fished if so much of what it would sweep is swept; partly, if so
much is. A boat that drifts 10 degrees off its line over 200 yd still sweeps half of
it."""


@dataclass(frozen=True, slots=True)
class Done:
    """How much of the water of one planned drift was swept, and what that means."""

    share: float
    verdict: Verdict


def done_drifts(planned: Sequence[Area], swept: Area) -> tuple[Done, ...]:
    """Return for each planned drift whether it was fished.

    Parameters
    ----------
    planned
        The water that each would sweep, in metres.
    swept
        The water that the pair swept on that day.

    Examples
    --------
    >>> strips = [shapely.box(0, 0, 30, 100), shapely.box(30, 0, 60, 100)]
    >>> [one.verdict for one in done_drifts(strips, shapely.box(0, 0, 36, 100))]
    ['fished', 'partly']
    """
    shapely.prepare(swept)
    return tuple(_done(area, swept) for area in planned)


def _done(area: Area, swept: Area) -> Done:
    if not area.area > 0 or not swept.intersects(area):
        return Done(0.0, "not")
    share = float(swept.intersection(area).area / area.area)
    verdict: Verdict = (
        "fished" if share >= FISHED else "partly" if share >= PARTLY else "not"
    )
    return Done(share, verdict)
