"""What rods do when light, wind or luck change: when something is so, what to do."""

from collections.abc import Iterator

from sweptwater.jobs.brief_report import Trigger
from sweptwater.jobs.starts import StartsSight
from sweptwater.jobs.starts_report import LineFor, Spot
from sweptwater.jobs.starts_words import speed_text
from sweptwater.jobs.wording import pace_text
from sweptwater.offers.flies import layer_names
from sweptwater.plan.setups import working_depth_m
from sweptwater.plan.sinking import slowest_drift_m_s
from sweptwater.units import duration_text, length_text

MOST_PACES = 2
"""Of so many lines it is told how fast a boat may drift with them."""

FASTEST_M_S = 0.75
"""Boats that fish seldom drift faster (common practice, no source)."""


def trigger_texts(sight: StartsSight) -> Iterator[Trigger]:
    """Yield what to do when something changes, what happens most often first."""
    match, units = sight.opened.settings.match, sight.opened.settings.units
    yield from _light(sight)
    stay = duration_text(match.stay_s)
    yield Trigger(f"No offer for {stay}, or boats on your start", "your second choice")
    yield Trigger(
        "Two offers on one drift",
        "the same drift again: lines in, motor back wide of the water, begin "
        f"{length_text(sight.opened.settings.plan.apart_m, units)} to the side",
    )
    yield from _pace(sight)
    yield Trigger(
        "The wind swings by 45 degrees or more",
        "the table of winds says how far each place can then be drifted; where it has "
        "a dash, go to one where it has a number",
    )
    most = speed_text(sight.opened.settings.day.most_wind_m_s, units)
    yield Trigger(f"White horses all over, or gusts of {most}", "come in")
    yield Trigger("Thunder", "lines in, rods down, ashore at once")


def _light(sight: StartsSight) -> Iterator[Trigger]:
    """Yield what sun and cloud ask for: fish go down and out in bright light.

    Common practice, no source; the lines are those that met fish in such light, as far
    as that was told.
    """
    match, units = sight.opened.settings.match, sight.opened.settings.units
    wait = duration_text(match.light_s)
    out = length_text(match.further_out_m, units)
    spots = [spot for row in sight.report.starts for spot in (row.first, row.second)]
    found = [spot for spot in spots if spot is not None]
    differ = any(_other(spot) for spot in found)
    lines = "your line for sun" if differ else "the same line, and let it sink longer"
    banks = any(spot.bank is not None for spot in found)
    further = f"; along a bank {out} further out" if banks else ""
    yield Trigger(f"Sun out for {wait}", f"{lines}{further}")
    back = "your line for cloud" if differ else "the same line, and a shorter count"
    closer = "; back in along a bank" if banks else ""
    yield Trigger(f"Clouded over for {wait}", f"{back}{closer}")


def _other(spot: Spot) -> bool:
    return (spot.sun.line, spot.sun.count_s) != (spot.cloud.line, spot.cloud.count_s)


def _pace(sight: StartsSight) -> Iterator[Trigger]:
    """Yield how fast a boat may drift before flies no longer reach their depth.

    From useful depth = useful x rate x cast / speed: see `plan.sinking`. It is told
    in seconds a boat's length too, since phones and sounders may be banned.
    """
    settings = sight.opened.settings
    tackle, units = settings.tackle, settings.units
    names = layer_names(tackle, units)
    lines = {line.name: line for line in tackle.lines}
    told: dict[str, tuple[float, bool]] = {}
    for row in sight.report.starts:
        spot = row.first
        fished: LineFor = spot.cloud if sight.report.sky == "dull" else spot.sun
        line = lines.get(fished.line)
        if line is None or spot.layer not in names:
            continue
        depth_m = working_depth_m(names.index(spot.layer), tackle)
        if not (depth_m > 0 and line.sink_m_s > 0):
            continue
        speed_m_s = slowest_drift_m_s(line, depth_m, tackle.cast_m, tackle)
        if speed_m_s <= FASTEST_M_S:
            what = f"{line.name} at {spot.layer}"
            told.setdefault(what, (speed_m_s, _faster(spot, speed_m_s)))
    for what, (speed_m_s, at_once) in list(told.items())[:MOST_PACES]:
        length_s = settings.spread.boat_m / speed_m_s
        yield Trigger(
            f"Drifting faster than {pace_text(speed_m_s, units)} with {what} (a boat's "
            f"length in under {length_s:.0f} s)",
            "drogue in, as this wind asks from the first drift; else a faster line"
            if at_once
            else "drogue in; if that is not enough, the next faster line",
        )
    yield Trigger(
        "The wind drops and the boat hardly moves",
        "drogue out, a line that sinks slower, shorter counts",
    )


def _faster(spot: Spot, speed_m_s: float) -> bool:
    """Tell whether the forecast's wind alone drives a boat faster there."""
    drift = spot.drift
    return drift is not None and drift.length_m > speed_m_s * drift.drogue_out_s
