"""What each invented rod fished on each drift, and how deep its flies then were."""

from dataclasses import dataclass

from sweptwater.practice.tally import SetUp
from sweptwater_demo.sky import Sky

ENDS = ("bow", "stern")


@dataclass(frozen=True, slots=True)
class Rig:
    """A line and how it is fished.

    Parameters
    ----------
    setup
        What a rod tells of it.
    fly_m
        How deep the flies really fish, in the middle.
    """

    setup: SetUp
    fly_m: float


def _rig(
    line: str, sink_in_s: float, count_s: float | None, retrieve: str, fly_m: float
) -> Rig:
    return Rig(SetUp(line, sink_in_s, count_s, retrieve), fly_m)


TOP = _rig("floating", 0, None, "slow", 0.3)
MIDDLE = _rig("intermediate", 1.5, 20, "steady", 1.6)
DEEP = _rig("3 in/s", 3, 30, "steady", 3.4)
DEEPEST = _rig("7 in/s", 7, 35, "steady", 9.0)
RIGS = (TOP, MIDDLE, DEEP, DEEPEST)

_CHANGES: dict[Sky, tuple[tuple[Rig, ...], tuple[Rig, ...]]] = {
    "bright": ((TOP, MIDDLE, DEEP), (DEEP, DEEP, DEEPEST, MIDDLE)),
    "broken": ((MIDDLE, TOP, DEEP), (DEEP, MIDDLE)),
    "dull": ((TOP, TOP, MIDDLE), (MIDDLE, DEEP)),
}
"""What bow and stern go through, drift by drift, while the sky is so."""


def rig_of(end: str, number: int, sky: Sky) -> Rig:
    """Return what a rod fished on a drift, counted from 1, under a sky.

    The two rods of a boat fish different layers on most drifts, and change lines when
    the sky does.

    Examples
    --------
    >>> [rig_of(end, 2, "dull").setup.line for end in ENDS]
    ['floating', '3 in/s']
    """
    rigs = _CHANGES[sky][ENDS.index(end)]
    return rigs[(number - 1) % len(rigs)]
