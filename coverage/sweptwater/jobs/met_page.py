"""The page of what the boats met: what is missing, what is clear, plots and map."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from shapely import Point

from sweptwater.jobs.discreet import near_water
from sweptwater.jobs.map_layers import (
    feature,
    places_layer,
    sectors_layer,
    water_layer,
    zones_layers,
)
from sweptwater.jobs.met_sight import LooseOffers, Met, PlacedOffers
from sweptwater.jobs.met_tables import MOST_ROWS, met_tables, with_hours
from sweptwater.jobs.met_words import (
    by_title,
    cautions,
    counted_text,
    counts_words,
    date_line,
    lead_text,
    loose_text,
    missing,
    notes,
    row_label,
    sentences,
    title_text,
)
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.wording import counted
from sweptwater.offers.table import RateRow
from sweptwater.paper import looks
from sweptwater.paper.interval_plots import interval_svg
from sweptwater.paper.intervals import (
    Interval,
    IntervalPlot,
    hours_text,
    rate_text,
    scale_end,
)
from sweptwater.paper.layers import Feature, Figure, Finding, Layer, Page
from sweptwater.paper.looks import RateClass

UNIT = "offers a rod-hour"

AREAS: dict[RateClass, str] = {
    "surely more": "Surely more offers than elsewhere",
    "more": "More, not sure",
    "about": "About as elsewhere, or too little to tell",
    "fewer": "Fewer, not sure",
    "surely fewer": "Surely fewer offers than elsewhere",
}

MUCH = 0.05
"""Rows with this share of the hours make the scale of the plots."""

MOST_SAID = 12
"""Of more sentences that lean, the rest are in the tables."""


def page_of(met: Met, opened: Opened) -> Page:
    """Return what the page shows."""
    units = opened.settings.units
    return Page(
        title=title_text(met),
        lead=lead_text(met),
        date_line=date_line(met),
        units=units,
        missing=missing(met),
        facts=tuple(_facts(met)),
        findings=tuple(_findings(met)),
        figures=tuple(_figures(met)),
        figures_note="A dot is a rate, and its line the range in which the true rate "
        "lies 95 times in 100. The broken line is the rate of all that was told. "
        "Plots have one scale, unless they say so; a line that goes beyond it ends in "
        "an arrow.",
        layers=tuple(_layers(met, opened)),
        tables=tuple(met_tables(met)),
        cautions=tuple(cautions(met)),
        notes=notes(met, units),
    )


def _facts(met: Met) -> Iterator[tuple[str, str]]:
    if met.mean is not None:
        yield rate_text(met.mean), "offers a rod-hour"
    yield f"{met.offers:,}", "offers"
    yield hours_text(met.rod_hours), "rod-hours told"
    yield hours_text(met.untold_rod_hours), "rod-hours not told"
    yield f"{met.drifts:,}", "drifts told"


def _findings(met: Met) -> Iterator[Finding]:
    """Yield what is clear and what leans; how often it was looked stands with it."""
    said = list(sentences(met.tables.values()))
    clear = tuple(one.text for one in said if one.verdict == "clear")
    leaning = tuple(one.text for one in said if one.verdict == "leaning")
    yield Finding(
        "Clear",
        clear or ("Nothing yet: what differs may be luck.",),
        note=counted_text(met),
    )
    if leaning:
        more = len(leaning) - MOST_SAID
        yield Finding(
            "Leaning: worth trying again, not worth relying on",
            leaning[:MOST_SAID],
            note=f"{more} more in the tables." if more > 0 else "",
        )
    if met.comparisons:
        yield Finding(
            "Too little to tell",
            (
                "All other rows of the plots and tables: the hours there are too few, "
                "or the rates too much alike, to part them.",
            ),
        )


def _figures(met: Met) -> Iterator[Figure]:
    """Yield a plot for each table, all to one scale but for those that go beyond it.

    The scale is made by what much was told of: a row of few hours may have any rate.
    """
    plotted = {by: _plotted(rows) for by, rows in met.tables.items()}
    much = [
        row
        for rows in plotted.values()
        for row in rows
        if row.rod_hours >= MUCH * met.rod_hours
    ]
    most = scale_end(map(_interval, much), met.mean)
    for by, rows in plotted.items():
        if not rows:
            continue
        beyond = any((row.rate or 0.0) > most for row in rows)
        plot = IntervalPlot(
            title=by_title(by),
            unit=UNIT,
            mean=met.mean,
            rows=tuple(map(_interval, rows)),
            most=None if beyond else most,
        )
        notes = []
        if len(with_hours(met.tables[by])) > len(rows):
            notes.append(f"The {len(rows)} with the most hours; all are in the table.")
        if beyond:
            notes.append("On a scale of its own.")
        yield Figure(
            plot.title,
            interval_svg(plot, name=f"plot-{by.replace(',', '-')}"),
            note=" ".join(notes),
        )


def _plotted(rows: Sequence[RateRow]) -> list[RateRow]:
    """Return the rows with the most hours, as many as a plot holds, as they stand."""
    known = with_hours(rows)
    if len(known) <= MOST_ROWS:
        return known
    by_hours = sorted(known, key=lambda row: -row.rod_hours - row.untold_rod_hours)
    longest = {id(row) for row in by_hours[:MOST_ROWS]}
    return [row for row in known if id(row) in longest]


def _interval(row: RateRow) -> Interval:
    return Interval(
        label=row_label(row),
        value=row.rate,
        low=row.low,
        high=row.high,
        offers=row.offers,
        hours=row.rod_hours,
        untold_hours=row.untold_rod_hours,
        verdict=row.verdict,
        direction=row.direction,
    )


def _layers(met: Met, opened: Opened) -> Iterator[Layer]:
    yield water_layer(opened)
    for number, (name, title) in enumerate(AREAS.items()):
        area = met.areas.get(name)
        drawn = () if area is None else (feature(opened, area, tip=title),)
        yield Layer(f"rate-{number}", title, drawn, looks.RATES[name])
    yield from zones_layers(opened)
    yield _loose_layer(met.loose, opened)
    yield sectors_layer(opened, None)
    yield places_layer(opened, "jetty", "Jetties", looks.JETTY)
    yield places_layer(opened, "mark", "Marks", looks.MARK)
    yield from _offers_layers(met.placed, opened)


def _loose_layer(loose: Sequence[LooseOffers], opened: Opened) -> Layer:
    return Layer(
        "loose",
        "Offers somewhere here",
        tuple(
            feature(opened, one.area, tip=f"Somewhere here\n{loose_text(one)}")
            for one in loose
            if one.area is not None and not one.area.is_empty
        ),
        looks.LOOSE_OFFER,
        note="told of no one drift",
    )


def _offers_layers(placed: Sequence[PlacedOffers], opened: Opened) -> Iterator[Layer]:
    """Yield the offers of which the drift is known, then those with a place."""
    near = near_water(opened)
    shown = [one for one in placed if near.covers(Point(one.easting, one.northing))]
    yield Layer(
        "offers-drift",
        "Offers on a drift",
        tuple(_offers([one for one in shown if not one.sure], opened)),
        looks.OFFER_ON_DRIFT,
        note="half-way along; where on it, nobody told",
    )
    yield Layer(
        "offers",
        "Offers at a place",
        tuple(_offers([one for one in shown if one.sure], opened)),
        looks.OFFER,
        note="larger for more, whatever the hours",
    )


def _offers(placed: Sequence[PlacedOffers], opened: Opened) -> list[Feature]:
    """Return offers, those at one place together, the larger marks first: below."""

    def place(one: PlacedOffers) -> tuple[float, float]:
        return one.easting, one.northing

    groups = [
        (Point(at), list(group))
        for at, group in groupby(sorted(placed, key=place), place)
    ]
    groups.sort(key=lambda group: -_count(group[1]))
    return [_offer(at, group, opened) for at, group in groups]


def _count(group: Sequence[PlacedOffers]) -> int:
    return sum(one.counts.offers for one in group)


def _offer(at: Point, group: Sequence[PlacedOffers], opened: Opened) -> Feature:
    count = _count(group)
    told = [f"{one.text}: {counts_words(one.counts)}" for one in group]
    return feature(
        opened,
        at,
        tip="\n".join([counted(count, "offer"), *told]),
        look=looks.offer(count, sure=group[0].sure),
    )
