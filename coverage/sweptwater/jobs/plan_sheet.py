"""A pair's plan as its boat sheet: what is printed, in words."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

import numpy as np
import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from sweptwater.jobs.day_words import closed_texts, sun_texts, sunset_on
from sweptwater.jobs.done import numbers_text
from sweptwater.jobs.plan_fish import fish_texts
from sweptwater.jobs.plan_places import spot_text
from sweptwater.jobs.plan_words import (
    ashore_text,
    cautions,
    left_out_text,
    possible_text,
    sectors_text,
)
from sweptwater.jobs.planning import PairDay, Planning, stay_ashore
from sweptwater.jobs.wording import pace_text
from sweptwater.offers.wind import wind_text
from sweptwater.paper import looks
from sweptwater.paper.layers import Feature, Layer, Page
from sweptwater.paper.looks import Look
from sweptwater.paper.sheet import DriftRow, Sheet, TurnRow
from sweptwater.plan.turns import Turn
from sweptwater.practice.geojson import Kind
from sweptwater.units import (
    YARD_M,
    System,
    compass_point,
    depth_text,
    duration_text,
)
from sweptwater.water.depth import mean_depth_m

_PLACES: tuple[tuple[Kind, str, Look], ...] = (
    ("jetty", "Jetties", looks.JETTY),
    ("mark", "Marks", looks.MARK),
)

LIGHT_S = 1800.0
"""Home so long before sunset: what can go wrong then goes wrong in daylight."""


def boat_sheet(base: Planning, day: PairDay, turns: Sequence[Turn]) -> Sheet:
    """Return the sheet of a pair's day, to be rendered."""
    units = base.opened.settings.units
    home_by = base.leave + timedelta(seconds=base.afloat_s)
    ring = base.opened.settings.day.ring
    return Sheet(
        pair=day.pair,
        day_text=f"{base.day:%A} {base.day.day} {base.day:%B %Y}",
        water=base.opened.settings.name,
        sector=sectors_text(day),
        wind=wind_text(base.wind, units),
        wind_to_deg=base.wind.downwind_deg if base.wind.speed_m_s > 0 else None,
        hours=_hours(base, day, home_by),
        possible=possible_text(base, day),
        map=_map(base, day),
        around=around(base, day),
        drifts=tuple(_rows(base, day)),
        fish=tuple(fish_texts(base, day)),
        closed=tuple(closed_texts(base.opened, base.opened.settings.plan.keep_off_m)),
        sun=tuple(sun_texts(base.opened, base.leave, home_by)),
        home=_home(base, day, home_by),
        ring=ring,
        cautions=tuple(_cautions(base, home_by)),
        turns=tuple(_turn_row(turn, units) for turn in turns),
        left_out=tuple(left_out_text(base, rest) for rest in day.plan.rests),
        stay_ashore=ashore_text(base) if stay_ashore(base) else "",
    )


def _hours(base: Planning, day: PairDay, home_by: datetime) -> str:
    lunch = f"lunch after {day.plan.lunch_after}, " if day.plan.lunch_after else ""
    return f"Leave {base.leave:%H:%M}, {lunch}home by {home_by:%H:%M}"


def _rows(base: Planning, day: PairDay) -> Iterator[DriftRow]:
    units = base.opened.settings.units
    unit_m = YARD_M if units == "imperial" else 1.0
    for stop in day.plan.stops:
        start, finish = (
            spot_text(base.opened, place, short=True)
            for place in stop.drift.places[[0, -1]]
        )
        minutes = {
            way: stop.drift.length_m / base.leeway(day.pair, way).speed_m_s(base.wind)
            for way in ("in", "out")
        }
        course = stop.drift.course_deg
        begins = base.leave + timedelta(seconds=stop.start_s)
        depth_m = mean_depth_m(base.opened.depths, *stop.drift.places.T)
        yield DriftRow(
            number=str(stop.number),
            start=start,
            finish=finish,
            bearing=f"{round(course) % 360:03d} {compass_point(course)}",
            length=f"{stop.drift.length_m / unit_m:.0f}",
            drogue_in=f"{minutes['in'] / 60:.0f}",
            drogue_out=f"{minutes['out'] / 60:.0f}",
            begins=f"{begins:%H:%M}",
            depth="" if depth_m is None else depth_text(depth_m, units),
        )


def _cautions(base: Planning, home_by: datetime) -> Iterator[str]:
    yield from cautions(base)
    sunset = sunset_on(base.opened, base.leave)
    if sunset is not None and (sunset - home_by).total_seconds() < LIGHT_S:
        yield (
            f"The sun sets at {sunset:%H:%M}: be home half an hour before, whatever "
            "the hours above say."
        )


def _home(base: Planning, day: PairDay, home_by: datetime) -> str:
    """Return when to turn for home, wherever the pair then is."""
    spare_s = base.opened.settings.day.spare_s
    far_s = max((stop.home_s for stop in day.plan.stops), default=0.0)
    turn = home_by - timedelta(seconds=far_s + spare_s)
    return (
        f"Turn for home by {turn:%H:%M}: {duration_text(far_s)} from the far end, "
        f"{duration_text(spare_s)} in hand. Begin no drift that would end later."
    )


def _turn_row(turn: Turn, units: System) -> TurnRow:
    unit_m = YARD_M if units == "imperial" else 1.0
    parts = [
        f"{word} {numbers_text(banks)}"
        for word, banks in (("along", turn.along), ("across", turn.across))
        if banks
    ]
    return TurnRow(
        wind=compass_point(turn.wind.from_deg),
        banks="; ".join(parts) or "none",
        longest=f"{turn.longest_m / unit_m:.0f}",
        minutes=f"{turn.longest_s / 60:.0f}",
        home=duration_text(turn.home_s),
    )


def _map(base: Planning, day: PairDay) -> Page:
    """Return the layers of the sheet's map."""
    opened, venue = base.opened, base.opened.venue
    degrees = opened.degrees
    closed, anglers = venue.out_of_bounds, venue.bank_anglers
    banks = {stop.drift.bank for stop in day.plan.stops}
    layers = [
        Layer(
            "water",
            "Water",
            (Feature(degrees(venue.water)),),
            looks.WATER,
            in_legend=False,
        ),
        Layer(
            "out-of-bounds",
            "Out of bounds",
            () if closed.is_empty else (Feature(degrees(closed)),),
            looks.OUT_OF_BOUNDS,
        ),
        Layer(
            "bank-anglers",
            "Bank anglers",
            () if anglers.is_empty else (Feature(degrees(anglers)),),
            looks.ANGLERS,
        ),
        Layer(
            "banks",
            "Banks",
            tuple(
                Feature(degrees(bank.shore), label=f"bank {bank.number}")
                for bank in opened.banks
                if bank.number in banks
            ),
            looks.BANK,
            labels="names",
            in_legend=False,
        ),
        Layer(
            "sector",
            "Sector",
            (Feature(degrees(day.sector.boundary)),),
            looks.SECTOR,
            shown=not base.ask.across,
        ),
        Layer(
            "planned",
            "Planned drifts",
            tuple(
                Feature(degrees(stop.drift.line), label=str(stop.number))
                for stop in day.plan.stops
            ),
            looks.PLANNED,
            labels="numbers",
            note="dot to arrow",
        ),
        *(
            Layer(
                kind,
                title,
                tuple(
                    Feature(degrees(Point(p.easting, p.northing)), label=p.name)
                    for p in venue.of_kind(kind)
                ),
                look,
                labels="names",
            )
            for kind, title, look in _PLACES
        ),
    ]
    pace = pace_text(day.lay.speed_m_s, opened.settings.units)
    return Page(
        title=f"The drifts of {day.pair}",
        lead=f"{len(day.plan.stops)} planned drifts, from dot to arrow, at {pace}.",
        date_line="",
        units=opened.settings.units,
        layers=tuple(layers),
    )


def around(base: Planning, day: PairDay) -> BaseGeometry:
    """Return what the map has to show: the drifts, and the jetty they leave from."""
    if not day.plan.stops:
        return base.opened.degrees(day.sector)
    ways = [stop.drift.line for stop in day.plan.stops]
    shown = shapely.union_all([*ways, Point(np.asarray(base.jetty))])
    return base.opened.degrees(shown)
