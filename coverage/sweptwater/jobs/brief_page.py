"""The match brief on paper: from what is told to the page, and its map."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiPoint, Point
from shapely.geometry.base import BaseGeometry

from sweptwater.jobs.brief import BriefSight
from sweptwater.jobs.brief_cards import place_text, way_text
from sweptwater.jobs.brief_report import KnownPlace
from sweptwater.jobs.saved import Saved
from sweptwater.jobs.starts_page import starts_layers
from sweptwater.jobs.starts_report import DriftLine, Spot, StartRow
from sweptwater.jobs.starts_tables import spot_key, turns_table
from sweptwater.jobs.starts_words import ENDS_BEFORE, chance_text, lead_text
from sweptwater.paper.brief import Brief, Place, Rod, RodCard, render_brief
from sweptwater.paper.layers import Column, Layer, Page, Row, Table
from sweptwater.paper.picture import render_picture
from sweptwater.practice.folder import save_report
from sweptwater.units import System, compass_point, duration_text, length_text

PAGE = "brief"

MOST_TURNS = 9
"""So many places are told in other winds, those of the rods before others."""


def save_page(sight: BriefSight) -> Saved:
    """Write the brief, and return where it is.

    Raises
    ------
    PracticeError
        If the folder cannot be written to.
    """
    brief, folder = brief_of(sight), sight.starts.opened.practice.folder
    drawn = replace(
        brief.map,
        title=f"{brief.title}, {brief.map.title[0].lower()}{brief.map.title[1:]}",
        date_line=brief.day_text,
    )
    picture = render_picture(drawn, around=brief.around, wind_to_deg=brief.wind_to_deg)
    return Saved(
        save_report(folder, f"{PAGE}.html", render_brief(brief)),
        save_report(folder, f"{PAGE}.png", picture),
    )


def brief_of(sight: BriefSight) -> Brief:
    """Return what the brief shows."""
    report, starts = sight.report, sight.starts.report
    units = sight.starts.opened.settings.units
    wind = sight.starts.wind
    links = _links(starts.starts)
    return Brief(
        title=f"{report.practice}: match brief",
        day_text=f"{report.day:%A} {report.day.day} {report.day:%B %Y}",
        first=report.first,
        stay_ashore=report.stay_ashore,
        conditions=report.conditions,
        times=report.times,
        rules=report.rules,
        rods=tuple(_rods(sight, links)),
        lead=lead_text(starts),
        triggers=tuple((one.when, one.do) for one in report.triggers),
        turns=_turns(sight),
        known=report.known,
        places=_places(report.places),
        unknown=report.unknown,
        closed=report.closed,
        cautions=report.cautions,
        cards=tuple(
            RodCard(f"Rod {card.rod}" if card.rod.isdigit() else card.rod, card.lines)
            for card in report.cards
        ),
        on_card=_on_card(sight),
        map=Page(
            title="Where the rods start",
            lead="Starts by the rods that start there, second choices, and the longest "
            "drifts from dot to arrow; the table of rods tells all of it.",
            date_line="",
            units=units,
            layers=tuple(_layers(sight, links)),
        ),
        wind_to_deg=wind.downwind_deg if wind.speed_m_s > 0 else None,
        around=_around(sight),
    )


def _links(rows: tuple[StartRow, ...]) -> Mapping[str, str]:
    """Return to which rod's rows the number of each start leads."""
    links: dict[str, str] = {}
    for number, row in enumerate(rows, 1):
        links.setdefault(spot_key(row.first), f"rod-{number}")
    return links


def _rods(sight: BriefSight, links: Mapping[str, str]) -> Iterator[Rod]:
    for number, row in enumerate(sight.starts.report.starts, 1):
        yield Rod(
            key=f"rod-{number}",
            link=links[spot_key(row.first)],
            name=row.rod,
            risk=chance_text(row.chance_without),
            bold=row.bold,
            start=_place(sight, row.first),
            then=None if row.second is None else _place(sight, row.second),
        )


def _place(sight: BriefSight, spot: Spot) -> Place:
    opened = sight.starts.opened
    return Place(
        name=place_text(opened, spot),
        why=spot.why[0] if spot.why else "",
        sun=way_text(opened, spot, spot.sun),
        cloud=way_text(opened, spot, spot.cloud),
        drift=_drift_text(spot.drift, opened.settings.units),
        leave=f"{spot.leave_by:%H:%M}" if spot.leave_by else "-",
    )


def _drift_text(drift: DriftLine | None, units: System) -> str:
    """Return where the longest drift goes, its time, and where a rule ends it."""
    if drift is None:
        return "none in this wind"
    end = ""
    if drift.cut_by != "land":
        short = length_text(drift.short_m, units)
        end = f"; stop {short} before {ENDS_BEFORE[drift.cut_by]}"
    point = compass_point(drift.course_deg)
    took = duration_text(drift.drogue_out_s)
    return f"{point} {length_text(drift.length_m, units)}, {took}{end}"


def _turns(sight: BriefSight) -> Table | None:
    """Return how far each place can be drifted in other winds."""
    starts = sight.starts.report
    if not starts.winds or not starts.winds[0].finds:
        return None
    rods = {s.place for row in starts.starts for s in (row.first, row.second) if s}
    order = sorted(
        range(len(starts.winds[0].finds)),
        key=lambda at: starts.winds[0].finds[at].place not in rods,
    )[:MOST_TURNS]
    winds = [
        replace(wind, finds=tuple(replace(wind.finds[at], find=None) for at in order))
        for wind in starts.winds
    ]
    return turns_table(winds, sight.starts.opened.settings.units)


def _places(places: tuple[KnownPlace, ...]) -> Table:
    return Table(
        "Where fish were met, the best first, and what is tried boldly",
        (
            *(Column("place"), Column("rods"), Column("mostly on")),
            *(Column("known"), Column("how sure")),
        ),
        tuple(
            Row((one.place, one.rods or "-", one.line or "-", one.met, one.sure))
            for one in places
        ),
    )


def _on_card(sight: BriefSight) -> str:
    ring = sight.starts.opened.settings.day.ring
    learn = "" if sight.starts.report.phones else "Learn this and leave it ashore. "
    return (
        f"{learn}Buoyancy aid on, kill cord clipped, sit down. Thunder: ashore. In "
        f"need ring {ring or '________'}. The rangers decide."
    )


def _layers(sight: BriefSight, links: Mapping[str, str]) -> Iterator[Layer]:
    for layer in starts_layers(sight.starts):
        if layer.key == "sectors":
            continue  # on match day all water is everybody's
        if layer.key != "starts":
            yield layer
            continue
        yield replace(
            layer,
            features=tuple(
                replace(one, link=links.get(one.key, "")) for one in layer.features
            ),
        )


def _around(sight: BriefSight) -> BaseGeometry:
    """Return what the map has to show: places, their drifts, and the way home."""
    opened, frame = sight.starts.opened, sight.starts.opened.venue.frame
    shapes: list[BaseGeometry] = [Point(sight.starts.home.place)]
    rows = sight.starts.report.starts
    for spot in [s for row in rows for s in (row.first, row.second) if s]:
        lons, lats = [spot.lon], [spot.lat]
        if spot.drift is not None:
            lons += [spot.drift.from_lon, spot.drift.to_lon]
            lats += [spot.drift.from_lat, spot.drift.to_lat]
        points = np.column_stack(frame.to_metres(np.array(lons), np.array(lats)))
        shapes.append(MultiPoint(points))
    return opened.degrees(shapely.union_all(shapes))
