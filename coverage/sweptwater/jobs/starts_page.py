"""The page of where to start a match: cautions, rods, map, and the other winds."""

from collections.abc import Iterator

import numpy as np
from shapely import LineString, Point

from sweptwater.jobs.discreet import near_water
from sweptwater.jobs.map_layers import (
    feature,
    places_layer,
    sectors_layer,
    water_layer,
    zones_layers,
)
from sweptwater.jobs.saved import Saved, save
from sweptwater.jobs.starts import StartsSight
from sweptwater.jobs.starts_report import Spot
from sweptwater.jobs.starts_tables import spot_key, starts_tables
from sweptwater.jobs.starts_words import (
    chance_text,
    drift_text,
    if_boats_text,
    lead_text,
    propose_text,
    title_text,
)
from sweptwater.paper import looks
from sweptwater.paper.layers import Feature, Finding, Layer, Page

PAGE = "starts"

CHANCES = (
    "A place is taken to hold its fish, or not, for all rods on it at once: what is "
    "left of a find is the chance that it does. Offers come as often as was told "
    "there, with all the doubt that few offers leave; rods on one place share its fish "
    "(two have two thirds each of what one would have: common practice, no source). "
    "What the other rod in the boat meets is not reckoned.",
    "The longest drift is the one through the place, straight down the boat's usual "
    "course, that keeps off all that the rules ask for; it ends a cast short of land. "
    "Minutes and depths are for the speed at which the boats drifted in practice, or "
    "open boats usually do. Printed sink rates are good to some 25 %.",
)


def save_page(sight: StartsSight) -> Saved:
    """Write the page of where to start, and return where it is.

    Raises
    ------
    PracticeError
        If the folder cannot be written to.
    """
    return save(sight.opened.practice.folder, PAGE, page_of(sight))


def page_of(sight: StartsSight) -> Page:
    """Return what the page of where to start shows."""
    report, units = sight.report, sight.opened.settings.units
    gusts, *others = report.cautions
    return Page(
        title=f"{report.practice}: where to start the match",
        lead=gusts,
        date_line=title_text(report, units),
        units=units,
        missing=tuple(text[:1].upper() + text[1:] for text in report.remarks),
        facts=tuple(_facts(sight)),
        findings=(
            Finding("Bear in mind", tuple(others)),
            _each_rod(sight),
            Finding("The rules", report.rules),
        ),
        layers=tuple(starts_layers(sight)),
        tables=tuple(starts_tables(report, units)),
        notes=(lead_text(report), *CHANCES),
    )


def _facts(sight: StartsSight) -> Iterator[tuple[str, str]]:
    report = sight.report
    yield f"{report.expected_without:.1f}", "rods without an offer, on average"
    yield chance_text(report.three_or_more), "that three or more go without"
    yield (
        f"{report.all_on_best.expected_without:.1f}",
        f"on average, were all at {report.all_on_best.place}",
    )


def _each_rod(sight: StartsSight) -> Finding:
    """Return what holds for every rod."""
    match, units = sight.opened.settings.match, sight.opened.settings.units
    go_on = "your second choice"
    return Finding(
        "Each rod",
        (
            propose_text(
                "your start", go_on, match.stay_s, drawn=match.boats == "drawn"
            ),
            if_boats_text(go_on, match, units),
            "Begin no drift that would end after the time to leave.",
        ),
    )


def starts_layers(sight: StartsSight) -> Iterator[Layer]:
    """Yield what the map of starts shows, bottom layer first."""
    opened, report = sight.opened, sight.report
    yield water_layer(opened)
    yield from zones_layers(opened)
    yield sectors_layer(opened, report.day)
    spots = {row.first.place: row.first for row in report.starts}
    seconds = {row.second.place: row.second for row in report.starts if row.second}
    yield Layer(
        "drifts",
        "Longest drifts in this wind",
        tuple(
            _drift(sight, spot)
            for spot in {**seconds, **spots}.values()
            if spot.drift is not None
        ),
        looks.PLANNED,
        note="dot to arrow",
    )
    yield places_layer(opened, "jetty", "Jetties", looks.JETTY)
    yield places_layer(opened, "mark", "Marks", looks.MARK)
    yield Layer(
        "seconds",
        "Second choices",
        tuple(
            _spot(sight, spot, "")
            for name, spot in seconds.items()
            if name not in spots
        ),
        looks.FIND_IN_DOUBT,
    )
    yield Layer(
        "starts",
        "Starts",
        tuple(
            _spot(
                sight,
                spot,
                ", ".join(r.rod for r in report.starts if r.first.place == name),
            )
            for name, spot in spots.items()
        ),
        looks.FIND,
        labels="numbers",
        note="by the rods that start there",
    )


def _drift(sight: StartsSight, spot: Spot) -> Feature:
    frame, drift = sight.opened.venue.frame, spot.drift
    assert drift is not None
    ends = frame.to_metres(
        np.array([drift.from_lon, drift.to_lon]),
        np.array([drift.from_lat, drift.to_lat]),
    )
    told = drift_text(drift, sight.opened.settings.units)
    return feature(
        sight.opened,
        LineString(np.column_stack(ends)),
        tip=f"{spot.place}\n{told}",
        key=spot_key(spot),
    )


def _spot(sight: StartsSight, spot: Spot, label: str) -> Feature:
    at = Point(
        *(float(v) for v in sight.opened.venue.frame.to_metres(spot.lon, spot.lat))
    )
    at = at if near_water(sight.opened).covers(at) else Point()
    return feature(
        sight.opened,
        at,
        label=label,
        tip=f"{spot.place}\n{spot.doubt}",
        key=spot_key(spot),
    )
