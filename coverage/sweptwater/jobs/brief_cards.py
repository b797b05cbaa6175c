"""Rod cards: what each rod of a match learns by heart."""

import re
from collections.abc import Iterator

from sweptwater.jobs.brief_report import Card
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.places import from_mark, nearest_mark
from sweptwater.jobs.starts import StartsSight
from sweptwater.jobs.starts_report import DriftLine, LineFor, Spot, StartRow, WindRow
from sweptwater.jobs.starts_words import ENDS_BEFORE, line_text
from sweptwater.jobs.wording import and_text
from sweptwater.units import FOOT_M, System, compass_point, duration_text, length_text

_NUMBERED = re.compile(r"bank \d+$")


def cards(sight: StartsSight) -> Iterator[Card]:
    """Yield a card for each rod, in the order of the starts."""
    for row in sight.report.starts:
        yield Card(row.rod, row.boat, tuple(_lines(sight, row)))


def _lines(sight: StartsSight, row: StartRow) -> Iterator[tuple[str, str]]:
    opened, report = sight.opened, sight.report
    if report.stay_ashore:
        yield "First", "stay ashore unless the wind is less than forecast"
    yield "Start", place_text(opened, row.first)
    yield "Drift", _drift_text(opened, row.first.drift)
    yield from _fish(opened, row.first)
    if winds := _no_drift(report.winds, row.first):
        yield "Not in", f"a {and_text(winds)} wind: no drift there then"
    if row.second is not None:
        stay = duration_text(opened.settings.match.stay_s)
        yield "If", f"boats are there, or no offer for {stay}"
        yield "Go to", place_text(opened, row.second)
        yield from _fish(opened, row.second)
    if row.leave_by is not None:
        yield "Leave", f"{row.leave_by:%H:%M}"


def _fish(opened: Opened, spot: Spot) -> Iterator[tuple[str, str]]:
    """Yield the line for sun and for cloud, each with its depth; once if alike."""
    sun, cloud = (way_text(opened, spot, one) for one in (spot.sun, spot.cloud))
    if sun == cloud:
        yield "Fish", sun
    else:
        yield "Sun", sun
        yield "Cloud", cloud


def way_text(opened: Opened, spot: Spot, line: LineFor) -> str:
    """Return a line with its count, and how deep the flies then are.

    That is by rate and count; where nobody told a count, the layer of the place.
    """
    tackle, units = opened.settings.tackle, opened.settings.units
    known = next((one for one in tackle.lines if one.name == line.line), None)
    if known is not None and not known.sink_m_s:
        deep = "at the top"
    elif known is not None and line.count_s:
        deep = f"{_about(known.sink_m_s * line.count_s, units)} down"
    else:
        deep = spot.layer
    return ", ".join(filter(None, (line_text(line), deep)))


def _about(depth_m: float, units: System) -> str:
    """Return a depth no finer than sink rates are good for: to a foot, or half a metre.

    Examples
    --------
    >>> _about(2.5, "imperial"), _about(0.1, "imperial"), _about(2.3, "metric")
    ('8 ft', '1 ft', '2.5 m')
    """
    if units == "imperial":
        return f"{max(1, round(depth_m / FOOT_M))} ft"
    return f"{max(1, round(2 * depth_m)) / 2:g} m"


def place_text(opened: Opened, spot: Spot) -> str:
    """Return where a place is, as somebody without a map finds it.

    A bank that has only a number is told from the nearest mark too.
    """
    if not _NUMBERED.match(spot.place):
        return spot.place
    easting, northing = opened.venue.frame.to_metres(spot.lon, spot.lat)
    found = nearest_mark(opened.venue, float(easting), float(northing))
    if found is None:
        return spot.place
    return f"{spot.place}, {from_mark(*found, opened.settings.units)}"


def _drift_text(opened: Opened, drift: DriftLine | None) -> str:
    if drift is None:
        return "none in this wind"
    end = ""
    if drift.cut_by != "land":
        short = length_text(drift.short_m, opened.settings.units)
        end = f", stop {short} before {ENDS_BEFORE[drift.cut_by]}"
    return f"{compass_point(drift.course_deg)}{end}"


def _no_drift(winds: tuple[WindRow, ...], spot: Spot) -> list[str]:
    """Return in which winds a place cannot be drifted."""
    return [
        wind.wind
        for wind in winds
        for one in wind.finds
        if one.place == spot.place and one.drift is None
    ]
