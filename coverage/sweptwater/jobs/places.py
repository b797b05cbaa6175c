"""Saying where on the water something is, and which drift it was."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sweptwater.arrays import Area
from sweptwater.jobs.opened import Opened, local_time
from sweptwater.swept.boats import BoatDay
from sweptwater.tracks.drifts import Drift
from sweptwater.water.banks import nearest_bank

MARK_M = 300.0
BANK_M = 150.0


@dataclass(frozen=True, slots=True)
class DriftLine:
    """One drift as it is listed; times are local, with their offset from UTC."""

    day: date
    pair: str
    number: int
    start: str
    end: str
    minutes: float
    length_m: float
    course_deg: float
    swept_m2: float
    near: str
    doubtful_s: float
    source: str
    told: bool


def place_text(opened: Opened, easting: float, northing: float) -> str:
    """Return the nearest mark or bank of a place, as people would say it."""
    mark = opened.venue.nearest_place(easting, northing, MARK_M)
    if mark:
        return mark.name
    bank = nearest_bank(opened.banks, easting, northing, BANK_M)
    return bank.name if bank else "open water"


def drift_lines(opened: Opened, boats: Sequence[BoatDay]) -> tuple[DriftLine, ...]:
    """Return the drifts of boat-days, numbered within each in the order of time."""
    return tuple(
        _line(opened, boat, number, drift, swept)
        for boat in boats
        for number, (drift, swept) in enumerate(
            zip(boat.afloat.drifts, boat.swept, strict=True), 1
        )
    )


def _line(
    opened: Opened, boat: BoatDay, number: int, drift: Drift, swept: Area
) -> DriftLine:
    settings = opened.settings
    return DriftLine(
        day=boat.day,
        pair=boat.pair,
        number=number,
        start=local_time(drift.start_s, settings).isoformat(timespec="seconds"),
        end=local_time(drift.end_s, settings).isoformat(timespec="seconds"),
        minutes=(drift.end_s - drift.start_s) / 60,
        length_m=drift.length_m,
        course_deg=drift.course_deg,
        swept_m2=swept.area,
        near=place_text(opened, float(drift.easting[0]), float(drift.northing[0])),
        doubtful_s=drift.doubtful_s,
        source="track",
        told=False,
    )
