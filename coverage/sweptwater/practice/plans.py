"""The plans of days to come: `plans/<day>/<pair>`, as files for boats and for people.

All of it can be made again; the GeoJSON is read back, to hold a plan against what was
done, and for the wind that a day was planned with.
"""

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from shapely import LineString
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from sweptwater.errors import PracticeError
from sweptwater.practice.files import entries, read_whole, write_whole
from sweptwater.practice.folder import check_practice
from sweptwater.practice.geojson import collection_text
from sweptwater.practice.targets import (
    CREATOR,
    check_geojson_target,
    check_gpx_target,
)

PLANS = "plans"
DAY = re.compile(r"\d{4}-\d\d-\d\d")
AGAIN = "move it away and plan that day again"


@dataclass(frozen=True, slots=True)
class KeptDrift:
    """One planned drift as it is kept: its number, bank and way in degrees."""

    number: int
    bank: int | None
    line: LineString


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A pair's plan of a day, and the wind that it was made for."""

    day: date
    pair: str
    wind_from_deg: float
    wind_m_s: float
    drifts: tuple[KeptDrift, ...]


def plan_folder(folder: Path, day: date) -> Path:
    """Return where the plans of a day lie."""
    return folder / PLANS / day.isoformat()


def save_plan(
    folder: Path,
    day: date,
    pair: str,
    *,
    features: Iterable[tuple[dict[str, Any], BaseGeometry]],
    gpx: bytes,
    sheet: str,
    afloat: str,
    picture: bytes,
) -> tuple[Path, ...]:
    """Write a pair's plan of a day: GeoJSON, GPX, sheet, page for the phone, picture.

    They are returned in this order. No pair's name has a full stop, so that no file is
    of two pairs.

    Raises
    ------
    PracticeError
        If the folder cannot be written to, or something of another hand is there.
    """
    check_practice(folder)
    place = plan_folder(folder, day)
    geojson_file = place / f"{pair}.geojson"
    gpx_file, sheet_file = place / f"{pair}.gpx", place / f"{pair}.html"
    afloat_file, picture_file = place / f"{pair}.afloat.html", place / f"{pair}.png"
    check_geojson_target(geojson_file)
    check_gpx_target(gpx_file)
    write_whole(geojson_file, collection_text(features, creator=CREATOR))
    write_whole(gpx_file, gpx)
    write_whole(sheet_file, sheet)
    write_whole(afloat_file, afloat)
    write_whole(picture_file, picture)
    return geojson_file, gpx_file, sheet_file, afloat_file, picture_file


def read_plans(
    folder: Path, *, day: date | None = None
) -> tuple[tuple[KeptPlan, ...], tuple[str, ...]]:
    """Return the plans that are kept, by day and pair, and what is wrong with others.

    Parameters
    ----------
    day
        Only of this day.
    """
    plans, faults = [], []
    for file, on in _files(folder):
        if day is not None and on != day:
            continue
        try:
            plans.append(_parsed(file, on))
        except PracticeError as error:
            faults.append(str(error))
    return tuple(plans), tuple(faults)


def _files(folder: Path) -> Iterator[tuple[Path, date]]:
    for place in entries(folder / PLANS):
        if place.is_dir() and DAY.fullmatch(place.name):
            try:
                on = date.fromisoformat(place.name)
            except ValueError:
                continue
            for file in entries(place):
                if file.suffix == ".geojson":
                    yield file, on


def _parsed(file: Path, day: date) -> KeptPlan:
    name = f"{PLANS}/{day.isoformat()}/{file.name}"
    try:
        items = json.loads(read_whole(file))["features"]
        told = [item["properties"] for item in items]
        drifts = [
            _drift(properties, shape(item["geometry"]))
            for properties, item in zip(told, items, strict=True)
            if properties.get("kind") == "drift"
        ]
        head = next(p for p in told if p.get("kind") == "plan")
        return KeptPlan(
            day,
            str(head["pair"]),
            float(head["wind_from_deg"]),
            float(head["wind_m_s"]),
            tuple(sorted(drifts, key=lambda drift: drift.number)),
        )
    except (KeyError, TypeError, ValueError, StopIteration, RecursionError) as error:
        raise PracticeError(f"{name} is not as it was written: {AGAIN}") from error


def _drift(properties: Mapping[str, Any], line: BaseGeometry) -> KeptDrift:
    if not isinstance(line, LineString) or line.is_empty:
        raise ValueError("a planned drift is a line")
    bank = properties.get("bank")
    return KeptDrift(
        int(properties["number"]), None if bank is None else int(bank), line
    )
