"""Which line reaches which depth from a boat that drifts: metres, seconds."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sweptwater.offers.casts import Cast, countdown_s, fly_path, layer_times_s, overrun
from sweptwater.offers.flies import layer_names
from sweptwater.practice.tackle import INCH_M, Line, TackleRules
from sweptwater.units import System


@dataclass(frozen=True, slots=True)
class Count:
    """For how long a line is let sink to a depth.

    `in_time` is whether that is over before the boat is above the fly.
    """

    depth_m: float
    s: float
    in_time: bool


@dataclass(frozen=True, slots=True)
class LayerTime:
    """For how long of a cast the fly is in a layer."""

    layer: str
    s: float


@dataclass(frozen=True, slots=True)
class LineReach:
    """How deep a line fishes.

    Parameters
    ----------
    line, sink_in_s
        Its name, and its nominal rate in inches a second.
    overrun_s, overrun_depth_m
        When the boat is over the fly, and how deep that is by then at the most.
    useful_depth_m
        How deep it usefully works: so large a part of that as the settings say.
    useful_low_m, useful_high_m
        The same by the doubt of its rate.
    countdown
        The counts to some depths; none of a line that floats.
    layers
        How long the fly is in each layer through a cast that is worked from the
        start, the top one first.
    """

    line: str
    sink_in_s: float
    overrun_s: float
    overrun_depth_m: float
    useful_depth_m: float
    useful_low_m: float
    useful_high_m: float
    countdown: tuple[Count, ...]
    layers: tuple[LayerTime, ...]


@dataclass(frozen=True, slots=True)
class Throw:
    """How a rod fishes, but for its line: m/s, m.

    Parameters
    ----------
    drift_m_s
        How fast the boat closes in on the fly.
    cast_m
        How far ahead the fly lands.
    retrieve_m_s
        How fast line is taken in, for the reach; 0 leaves the fly alone.
    worked_m_s
        The same, for the time in each layer.
    """

    drift_m_s: float
    cast_m: float
    retrieve_m_s: float = 0.0
    worked_m_s: float = 0.0


def line_reach(
    line: Line,
    throw: Throw,
    tackle: TackleRules,
    *,
    depths_m: Sequence[float] = (),
    system: System = "imperial",
) -> LineReach:
    """Return how deep a line fishes.

    Parameters
    ----------
    depths_m
        The depths to tell the counts to.
    system
        The units in which layers are called.

    Examples
    --------
    >>> throw = Throw(drift_m_s=0.4, cast_m=20)
    >>> reach = line_reach(Line("3 in/s", 0.0762), throw, TackleRules(), depths_m=[3])
    >>> round(reach.overrun_depth_m, 2), round(reach.useful_depth_m, 3)
    (3.81, 2.286)
    >>> round(reach.countdown[0].s, 2), reach.countdown[0].in_time
    (39.37, True)
    """

    def reach_m(part: float) -> float:
        sinks = part * line.sink_m_s
        cast = Cast(throw.cast_m, sinks, throw.drift_m_s, 0.0, throw.retrieve_m_s)
        return tackle.useful * overrun(cast).depth_m

    cast = Cast(
        throw.cast_m, line.sink_m_s, throw.drift_m_s, retrieve_m_s=throw.retrieve_m_s
    )
    worked = Cast(
        throw.cast_m, line.sink_m_s, throw.drift_m_s, retrieve_m_s=throw.worked_m_s
    )
    times_s = layer_times_s(fly_path(worked), tackle.layers_m)
    over = overrun(cast)
    return LineReach(
        line=line.name,
        sink_in_s=line.sink_m_s / INCH_M,
        overrun_s=over.time_s,
        overrun_depth_m=over.depth_m,
        useful_depth_m=reach_m(1.0),
        useful_low_m=reach_m(1 - tackle.doubt),
        useful_high_m=reach_m(1 + tackle.doubt),
        countdown=tuple(
            Count(
                depth_m,
                countdown_s(depth_m, line.sink_m_s),
                in_time=depth_m <= over.depth_m,
            )
            for depth_m in depths_m
            if line.sink_m_s > 0
        ),
        layers=tuple(
            LayerTime(name, time_s)
            for name, time_s in zip(layer_names(tackle, system), times_s, strict=True)
        ),
    )


def lines_for(reaches: Iterable[LineReach], depth_m: float) -> tuple[LineReach, ...]:
    """Return the lines that usefully work at a depth, the one that sinks slowest first.

    A slower one keeps the flies there for longer.

    Examples
    --------
    >>> throw, tackle = Throw(drift_m_s=0.4, cast_m=20), TackleRules()
    >>> reaches = [line_reach(line, throw, tackle) for line in tackle.lines]
    >>> [reach.line for reach in lines_for(reaches, 4)]
    ['6 in/s', '7 in/s']
    """
    good = (reach for reach in reaches if reach.useful_depth_m >= depth_m)
    return tuple(sorted(good, key=lambda reach: reach.sink_in_s))


def slowest_drift_m_s(
    line: Line, depth_m: float, cast_m: float, tackle: TackleRules
) -> float:
    """Return how slowly a boat must drift for a line to work usefully at a depth.

    From useful depth = useful x rate x cast / speed; the fly is left alone.

    Examples
    --------
    >>> round(slowest_drift_m_s(Line("3 in/s", 0.0762), 2.286, 20, TackleRules()), 3)
    0.4
    """
    return tackle.useful * line.sink_m_s * cast_m / depth_m
