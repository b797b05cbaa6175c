"""How to fish a layer: which line, for what count, with the drogue or without."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from sweptwater.offers.casts import Cast, overrun
from sweptwater.practice.outing import BoatRules, Drogue, PlanRules
from sweptwater.practice.reach import Spread
from sweptwater.practice.search import SearchRules
from sweptwater.practice.tackle import INCH_M, Line, TackleRules
from sweptwater.search.width import search_rate_m2_s

DEEPEST_M = 1.5
"""Flies in the deepest layer are fished so far below its top."""

OFF_BED_M = 0.3
"""And never nearer to the bed."""

BOTHER = 1.15
"""A drogue is put out, or taken in, where it searches so many times as much."""

NEARLY = 0.75
"""A line with which so much is searched as with the best is as good."""

RODS = 2


@dataclass(frozen=True, slots=True)
class WayToFish:
    """How two rods fish a layer from one boat.

    Parameters
    ----------
    line, sink_in_s, count_s
        The line, its rate in inches a second, and for how long it is let sink.
    drogue, drift_m_s
        Whether it is in, and how fast the boat then drifts.
    depth_m
        At what depth the flies are to work.
    reaches
        Whether they get there; else it is the line that comes nearest.
    search_m2_s
        How much water both rods search while they fish, overlaps counted again.
    """

    line: str
    sink_in_s: float
    count_s: float
    drogue: Drogue
    drift_m_s: float
    depth_m: float
    reaches: bool
    search_m2_s: float


def way_to_fish(
    layer: int,
    speeds_m_s: Mapping[Drogue, float],
    tackle: TackleRules,
    rules: SearchRules,
    spread: Spread,
    *,
    usual: Drogue = "out",
    bed_m: float = inf,
) -> WayToFish:
    """Return how a layer is searched best.

    Of the lines that usefully work at its middle the slowest with which nearly as much
    is searched as with any: one that has to be let sink for long leaves little of a
    cast, and one that sinks fast does not stay in the layer. With the drogue
    otherwise than usual only where that is worth the bother. Where no line gets there,
    the fastest with the drogue in.

    Parameters
    ----------
    layer
        Its place from the top.
    speeds_m_s
        How fast the boat drifts with the drogue in and out.
    bed_m
        How deep the water is.

    Examples
    --------
    >>> speeds = {"out": 0.4, "in": 0.22}
    >>> rest = (speeds, TackleRules(), SearchRules(), Spread())
    >>> top, deep = way_to_fish(0, *rest), way_to_fish(2, *rest)
    >>> top.line, top.drogue, deep.line, deep.drogue, deep.reaches
    ('floating', 'in', '6 in/s', 'in', True)
    """
    depth_m = working_depth_m(layer, tackle, bed_m)
    found = [
        _way(line, depth_m, drogue, speed_m_s, tackle, rules, spread)
        for drogue, speed_m_s in speeds_m_s.items()
        for line in tackle.lines
        if layer or line.sink_m_s == min(one.sink_m_s for one in tackle.lines)
    ]
    reaching = [one for one in found if one.reaches]
    if not reaching:
        return max(found, key=lambda one: (one.sink_in_s, one.drogue == "in"))
    most = max(one.search_m2_s for one in reaching)
    as_usual = [one for one in reaching if one.drogue == usual]
    plain = max((one.search_m2_s for one in as_usual), default=0.0)
    some = reaching if not as_usual or most > BOTHER * plain else as_usual
    enough = NEARLY * max(one.search_m2_s for one in some)
    return min(
        (one for one in some if one.search_m2_s >= enough),
        key=lambda one: (one.sink_in_s, -one.search_m2_s),
    )


def working_depth_m(layer: int, tackle: TackleRules, bed_m: float = inf) -> float:
    """Return at what depth flies are to work in a layer: its middle, off the bed.

    Examples
    --------
    >>> tackle = TackleRules(layers_m=(1, 3))
    >>> [working_depth_m(layer, tackle) for layer in range(3)]
    [0.0, 2.0, 4.5]
    >>> working_depth_m(1, tackle, bed_m=1.8)
    1.5
    """
    if layer == 0:
        return 0.0
    edges_m = tackle.layers_m
    top_m = edges_m[layer - 1]
    middle_m = top_m + DEEPEST_M
    if layer < len(edges_m):
        middle_m = (top_m + edges_m[layer]) / 2
    return max(min(middle_m, bed_m - OFF_BED_M), min(top_m, bed_m))


def fishing_share(
    length_m: float, drift_m_s: float, boat: BoatRules, plan: PlanRules
) -> float:
    """Return what part of the time on some water is spent drifting.

    The rest goes between drifts: re-sets, or motoring back over a longer way on top of
    half a re-set.

    Parameters
    ----------
    length_m
        How far one can drift there.

    Examples
    --------
    A drift of ten minutes and four minutes to the next:

    >>> share = fishing_share(180, 0.3, BoatRules(), PlanRules())
    >>> round(share, 3)
    0.714
    """
    if not drift_m_s > 0:
        return 1.0
    drift_m = min(max(length_m, plan.shortest_m), plan.longest_s * drift_m_s)
    drift_s = drift_m / drift_m_s
    back_s = boat.reset_s / 2 + drift_m / boat.motoring_up_m_s
    return drift_s / (drift_s + max(boat.reset_s, back_s))


def _way(
    line: Line,
    depth_m: float,
    drogue: Drogue,
    speed_m_s: float,
    tackle: TackleRules,
    rules: SearchRules,
    spread: Spread,
) -> WayToFish:
    count_s, reaches = 0.0, depth_m == 0
    if depth_m > 0 and line.sink_m_s > 0:
        cast = Cast(tackle.cast_m, line.sink_m_s, max(speed_m_s, 1e-3))
        reaches = tackle.useful * overrun(cast).depth_m >= depth_m
        count_s = depth_m / line.sink_m_s
    rate = search_rate_m2_s(
        RODS,
        cast_m=spread.cast_m,
        drift_m_s=speed_m_s,
        rules=rules,
        count_s=count_s if reaches else 0.0,
    )
    return WayToFish(
        line=line.name,
        sink_in_s=line.sink_m_s / INCH_M,
        count_s=count_s,
        drogue=drogue,
        drift_m_s=speed_m_s,
        depth_m=depth_m,
        reaches=reaches,
        search_m2_s=min(rate, spread.width_m * max(speed_m_s, 1e-3)),
    )
