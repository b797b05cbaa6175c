"""A pair's plan as a page for the boat's phone: its drifts, and where the boat is."""

from collections.abc import Iterator
from datetime import timedelta

from sweptwater.jobs.day_words import closed_texts
from sweptwater.jobs.map_layers import (
    feature,
    places_layer,
    sectors_layer,
    water_layer,
    zones_layers,
)
from sweptwater.jobs.plan_fish import fish_texts
from sweptwater.jobs.plan_places import spot_text
from sweptwater.jobs.plan_words import ashore_text, cautions, possible_text
from sweptwater.jobs.planning import PairDay, Planning, stay_ashore
from sweptwater.jobs.wording import day_text
from sweptwater.offers.wind import wind_text
from sweptwater.paper import looks
from sweptwater.paper.layers import Afloat, Column, Finding, Layer, Page, Row, Table
from sweptwater.paper.sheet import GENERAL
from sweptwater.plan.day import Stop
from sweptwater.units import YARD_M, compass_point


def afloat_page(base: Planning, day: PairDay) -> Page:
    """Return the page that a pair takes afloat on its phone."""
    settings = base.opened.settings
    home_by = base.leave + timedelta(seconds=base.afloat_s)
    ashore = ashore_text(base) if stay_ashore(base) else ""
    fish = tuple(fish_texts(base, day))
    return Page(
        title=f"{day.pair}, {day_text(base.day)}",
        lead=ashore or possible_text(base, day),
        date_line=f"{settings.name}, wind {wind_text(base.wind, settings.units)}",
        units=settings.units,
        facts=(
            (f"{base.leave:%H:%M}", "leave the jetty"),
            (f"{home_by:%H:%M}", "be back"),
            *(((settings.day.ring, "ring in need"),) if settings.day.ring else ()),
        ),
        findings=(Finding("How to fish", fish),) if fish else (),
        layers=tuple(_layers(base, day)),
        tables=(_drifts(base, day),),
        cautions=(
            *cautions(base),
            *_closed(base),
            f"{GENERAL[:1].upper()}{GENERAL[1:]}",
        ),
        afloat=Afloat(
            instead=f"load {day.pair}.gpx into the handheld, or into the phone's own "
            "maps.",
            keep_off_m=settings.plan.keep_off_m,
            words=tuple(_words(base)),
        ),
    )


def _words(base: Planning) -> Iterator[str]:
    yield (
        "What a phone knows of its place is an aid only: the buoys and the rangers "
        "decide. Nothing is kept, and nothing is sent."
    )
    if not base.opened.settings.match.phones:
        yield "For practice days: the match bans phones."


def _closed(base: Planning) -> Iterator[str]:
    closed = tuple(closed_texts(base.opened, base.opened.settings.plan.keep_off_m))
    if closed:
        yield f"Out of bounds: {'; '.join(closed)}."


def _layers(base: Planning, day: PairDay) -> Iterator[Layer]:
    opened = base.opened
    yield water_layer(opened)
    yield from zones_layers(opened)
    yield sectors_layer(opened, base.day)
    yield Layer(
        "planned",
        "Planned drifts",
        tuple(
            feature(
                opened,
                stop.drift.line,
                label=str(stop.number),
                tip=f"Drift {stop.number}\n{_way(base, stop)}",
                key=f"drift-{stop.number}",
            )
            for stop in day.plan.stops
        ),
        looks.PLANNED,
        labels="numbers",
        note="dot to arrow",
    )
    yield places_layer(opened, "jetty", "Jetties", looks.JETTY)
    yield places_layer(opened, "mark", "Marks", looks.MARK)


def _way(base: Planning, stop: Stop) -> str:
    start, end = (spot_text(base.opened, p) for p in stop.drift.places[[0, -1]])
    return f"{start} to {end}"


def _drifts(base: Planning, day: PairDay) -> Table:
    units = base.opened.settings.units
    unit_m, unit = (YARD_M, "yards") if units == "imperial" else (1.0, "metres")
    rows = []
    for stop in day.plan.stops:
        begins = base.leave + timedelta(seconds=round(stop.start_s))
        start, end = (spot_text(base.opened, p) for p in stop.drift.places[[0, -1]])
        course = stop.drift.course_deg
        rows.append(
            Row(
                (
                    str(stop.number),
                    f"{begins:%H:%M}",
                    start,
                    end,
                    f"{round(course) % 360:03d} {compass_point(course)}",
                    f"{stop.drift.length_m / unit_m:.0f}",
                    f"{(stop.end_s - stop.start_s) / 60:.0f}",
                ),
                key=f"drift-{stop.number}",
            )
        )
    return Table(
        "Drifts, in their order",
        (
            *(Column("No", numeric=True), Column("begins"), Column("from")),
            *(Column("to"), Column("course"), Column(unit, numeric=True)),
            Column("min", numeric=True),
        ),
        tuple(rows),
        beside=True,
    )
