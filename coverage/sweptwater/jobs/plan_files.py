"""A pair's plan as files: routes for the boat's GPS, and GeoJSON."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

from shapely.geometry.base import BaseGeometry

from sweptwater.jobs.plan_places import spot_text
from sweptwater.jobs.planning import PairDay, Planning
from sweptwater.jobs.wording import day_text
from sweptwater.offers.wind import wind_text
from sweptwater.paper.gpx import Mark, Route, routes_gpx, short_names
from sweptwater.units import duration_text, length_text


def plan_features(
    base: Planning, day: PairDay
) -> Iterator[tuple[dict[str, Any], BaseGeometry]]:
    """Yield a pair's plan as properties and shapes in degrees.

    First the water that it sweeps, with what the plan is for; then each drift, and the
    way under motor to it. Lengths are in metres, times in seconds.
    """
    degrees = base.opened.degrees
    yield (
        {
            "kind": "plan",
            "pair": day.pair,
            "day": base.day.isoformat(),
            "wind_from_deg": base.wind.from_deg,
            "wind_m_s": base.wind.speed_m_s,
            "drift_m_s": round(day.lay.speed_m_s, 4),
            "sweeps_m2": round(day.plan.swept.area),
            "new_m2": round(day.new.area),
        },
        degrees(day.plan.swept if day.plan.stops else day.sector),
    )
    for stop in day.plan.stops:
        begins = base.leave + timedelta(seconds=round(stop.start_s))
        yield (
            {
                "kind": "drift",
                "number": stop.number,
                "pattern": stop.drift.pattern,
                "bank": stop.drift.bank,
                "begins": begins.isoformat(),
                "drift_s": round(stop.end_s - stop.start_s),
                "length_m": round(stop.drift.length_m, 1),
                "course_deg": round(stop.drift.course_deg, 1),
            },
            degrees(stop.drift.line),
        )
        if stop.way.length_m > 0:
            yield {"kind": "motoring", "to": stop.number}, degrees(stop.way.line)


def plan_gpx(base: Planning, day: PairDay) -> bytes:
    """Return a pair's drifts as routes, with waypoints at their ends and the jetty."""
    opened = base.opened
    short = short_names(opened.settings.pairs)[day.pair]
    frame = opened.venue.frame
    routes = []
    for stop in day.plan.stops:
        lon, lat = frame.to_degrees(*stop.drift.places.T)
        start, end = (spot_text(opened, place) for place in stop.drift.places[[0, -1]])
        routes.append(
            Route(
                f"{short}{stop.number}",
                tuple(zip(lon.tolist(), lat.tolist(), strict=True)),
                f"{start} to {end}: "
                f"{length_text(stop.drift.length_m, opened.settings.units)}, "
                f"{duration_text(stop.end_s - stop.start_s)}",
            )
        )
    marks = []
    for jetty in opened.venue.of_kind("jetty"):
        lon, lat = frame.to_degrees(jetty.easting, jetty.northing)
        marks.append(Mark(jetty.name or "Jetty", float(lon), float(lat)))
    title = (
        f"{opened.settings.name}: {day.pair}, {day_text(base.day)} {base.day.year}, "
        f"{wind_text(base.wind, opened.settings.units)}"
    )
    return routes_gpx(title, routes, marks)
