"""What a report of sinking lines says in words."""

from collections.abc import Sequence

from sweptwater.jobs.wording import counted, pace_text
from sweptwater.offers.casts import countdown_s
from sweptwater.plan.sinking import LineReach, Throw, lines_for, slowest_drift_m_s
from sweptwater.practice.tackle import INCH_M, Line, TackleRules
from sweptwater.units import System, depth_text, length_text


def pace_text_of_tracks(
    drifts: int, pair: str | None, drogue: str, *, turned: bool
) -> str:
    """Return of which drifts a speed is the middle.

    Parameters
    ----------
    pair
        Whose they were; None for those of all boats.
    turned
        Whether they were made with the drogue the other way.

    Examples
    --------
    >>> pace_text_of_tracks(18, "Heron", "in", turned=False)
    "the middle of 18 drifts of Heron's boat with the drogue in"
    >>> pace_text_of_tracks(18, None, "in", turned=True)
    'from 18 drifts of all boats without the drogue, by what a drogue usually leaves'
    """
    whose = f"{pair}'s boat" if pair else "all boats"
    told = f"{counted(drifts, 'drift')} of {whose}"
    if not turned:
        return f"the middle of {told} with the drogue {drogue}"
    other = "without the drogue" if drogue == "in" else "with the drogue in"
    return f"from {told} {other}, by what a drogue usually leaves"


def pace_text_of_wind(wind: str, drogue: str, drifts: int) -> str:
    """Return why a boat drifts so fast in a wind.

    Examples
    --------
    >>> pace_text_of_wind("SW 4 (15 mph)", "out", 0)
    'in SW 4 (15 mph) with the drogue out, as open boats usually do'
    >>> pace_text_of_wind("SW 4 (15 mph)", "in", 12)
    'in SW 4 (15 mph) with the drogue in, by 12 drifts of before'
    """
    known = (
        f"by {counted(drifts, 'drift')} of before"
        if drifts
        else "as open boats usually do"
    )
    return f"in {wind} with the drogue {drogue}, {known}"


def advice_text(
    reaches: Sequence[LineReach],
    with_drogue: Sequence[LineReach],
    throw: Throw,
    depth_m: float,
    tackle: TackleRules,
    units: System,
) -> str:
    """Return which line to take for a depth, and what else would do.

    Parameters
    ----------
    reaches, with_drogue
        How deep the lines fish as it is, and with the drogue put in; none if it is in.
    """
    depth = depth_text(depth_m, units)
    good = lines_for(reaches, depth_m)
    short = [one for one in reaches if one not in good and one.sink_in_s > 0]
    best_short = max(short, key=lambda one: one.useful_depth_m, default=None)
    slower = lines_for(with_drogue, depth_m)
    how = f"at {pace_text(throw.drift_m_s, units)} and a {_cast(throw, units)} cast"
    parts = []
    if best_short:
        reach = depth_text(best_short.useful_depth_m, units)
        parts.append(f"{how} {best_short.line} works to about {reach}")
        how = ""
    if good:
        take = f"{how} for {depth} take {good[0].line}".strip()
        if slower and slower[0].sink_in_s < good[0].sink_in_s:
            take += f", or put the drogue in: then {slower[0].line} does"
        parts.append(take)
    elif left := _left_alone(reaches, throw, depth_m, tackle):
        count_s = countdown_s(depth_m, left.sink_m_s)
        parts.append(
            f"nothing that you carry works at {depth} if it is pulled in so fast from "
            f"the start: count {left.name} down for {count_s:.0f} seconds first, or "
            "work it more slowly"
        )
    elif slower:
        parts.append(
            f"nothing that you carry works at {depth} so fast: put the drogue in and "
            f"take {slower[0].line}"
        )
    elif best_short:
        line = _line(best_short)
        slow = slowest_drift_m_s(line, depth_m, throw.cast_m, tackle)
        at = pace_text(slow, units)
        also = ", even with the drogue in" if with_drogue else ""
        parts.append(
            f"nothing that you carry works at {depth}{also}: {best_short.line} needs a "
            f"drift of {at} for that, or a longer cast"
        )
    else:
        parts.append(f"{how} nothing that you carry works at {depth}: no line sinks")
    told = "; ".join(parts)
    return f"{told[:1].upper()}{told[1:]}."


def _left_alone(
    reaches: Sequence[LineReach], throw: Throw, depth_m: float, tackle: TackleRules
) -> Line | None:
    """Return the slowest line that would reach a depth but for its retrieve."""
    if throw.retrieve_m_s <= throw.drift_m_s:
        return None
    lines = sorted(map(_line, reaches), key=lambda line: line.sink_m_s)
    for line in lines:
        slowest_m_s = slowest_drift_m_s(line, depth_m, throw.cast_m, tackle)
        if slowest_m_s >= throw.drift_m_s:
            return line
    return None


def _line(reach: LineReach) -> Line:
    return Line(reach.line, reach.sink_in_s * INCH_M)


def _cast(throw: Throw, units: System) -> str:
    return length_text(throw.cast_m, units)
