"""All layers of a practice as one GeoPackage."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
from shapely import Point
from shapely.geometry.base import BaseGeometry

from sweptwater.errors import PracticeError
from sweptwater.jobs.circumstances import line_text
from sweptwater.jobs.covered import Sight
from sweptwater.jobs.discreet import drift_path, near_water
from sweptwater.jobs.listed import told_drifts
from sweptwater.jobs.met import read_stints
from sweptwater.jobs.opened import Watch, check_place, unwatched
from sweptwater.jobs.sight import look
from sweptwater.jobs.unfished import found_pieces
from sweptwater.offers.ledger import layers_words
from sweptwater.offers.places import offer_places
from sweptwater.paper.geopackage import geopackage
from sweptwater.practice.files import write_whole
from sweptwater.practice.plans import read_plans
from sweptwater.practice.targets import (
    check_geopackage_target,
    check_outside,
    is_report,
)
from sweptwater.swept.shore import BankLine

KINDS = {
    "water": "MultiPolygon",
    "out_of_bounds": "MultiPolygon",
    "bank_anglers": "Unknown",
    "sectors": "MultiPolygon",
    "banks": "MultiPolygon",
    "drifts": "LineString",
    "swept": "MultiPolygon",
    "unfished": "MultiPolygon",
    "offers": "Point",
    "planned": "LineString",
}

Rows = Sequence[tuple[dict[str, Any], BaseGeometry]]


@dataclass(frozen=True, slots=True)
class Exported:
    """Where the layers were written, and how many features each holds."""

    file: str
    layers: dict[str, int]
    faults: tuple[str, ...]


def export(folder: Path, file: Path, *, watch: Watch = unwatched) -> Exported:
    """Write all layers of a practice as one GeoPackage.

    Raises
    ------
    SweptwaterError
        If the folder is unusable, or the file is no GeoPackage, is something else
        than an older one of ours, or cannot be written.
    """
    if file.suffix.lower() != ".gpkg":
        raise PracticeError(
            f"{file.name} is no GeoPackage's name: give one that ends in .gpkg"
        )
    check_outside(folder, file)
    if not is_report(folder, file):
        check_place(file)
    check_geopackage_target(file, KINDS, later=("bank_anglers",))
    sight = look(folder, watch=watch)
    layers = {name: _table(sight, rows) for name, rows in _layers(sight).items()}
    write_whole(file, geopackage(layers, KINDS))
    return Exported(
        str(file), {name: len(t) for name, t in layers.items()}, sight.report.faults
    )


def _table(sight: Sight, rows: Rows) -> gpd.GeoDataFrame:
    degrees = [sight.opened.degrees(shape) for _, shape in rows]
    columns: dict[str, list[Any]] = {
        name: [properties[name] for properties, _ in rows]
        for name in (rows[0][0] if rows else ())
    }
    return gpd.GeoDataFrame(columns, geometry=degrees, crs="EPSG:4326")


def _layers(sight: Sight) -> dict[str, Rows]:
    opened, venue = sight.opened, sight.opened.venue
    closed = venue.out_of_bounds
    return {
        "water": [({"name": opened.settings.name}, venue.water)],
        "out_of_bounds": [] if closed.is_empty else [({"name": ""}, closed)],
        "bank_anglers": [
            ({"name": item.name}, venue.frame.metres(item.shape))
            for item in opened.practice.features
            if item.kind == "bank-anglers"
        ],
        "sectors": [
            (_plain(asdict(line)), opened.sectors[line.sector])
            for line in sight.report.sectors
        ],
        "banks": [
            (_bank(line), bank.water)
            for line, bank in zip(sight.report.banks, opened.banks, strict=True)
        ],
        "drifts": _drifts(sight),
        "swept": _swept(sight),
        "unfished": _unfished(sight),
        "offers": _offers(sight),
        "planned": _planned(sight),
    }


def _bank(line: BankLine) -> dict[str, Any]:
    """Return a bank's line, with the layers that were searched in words."""
    told = asdict(line)
    del told["layers_by_light"]
    return _plain({**told, "layers": layers_words(line.layers)})


def _offers(sight: Sight) -> Rows:
    """Return what was met, drift by drift and rod, where it was or may have been."""
    near = near_water(sight.opened)
    met = read_stints(sight.opened, sight.boats, sight.memory)
    rows = [(one, Point(one.easting, one.northing)) for one in offer_places(met.stints)]
    return [
        (
            {
                "day": one.stint.day.isoformat(),
                "pair": one.stint.pair,
                "drift": one.stint.drift,
                "rod": one.stint.rod,
                **asdict(one.counts),
                "line": line_text(one.stint),
                "depth_m": _depth_m(sight, place),
                "placed": "told" if one.exact else "middle of the drift",
            },
            place,
        )
        for one, place in rows
        if near.covers(place)
    ]


def _depth_m(sight: Sight, place: Point) -> float | None:
    """Return how deep the water is at a place; None where nobody knows."""
    surface = sight.opened.depths
    if surface is None:
        return None
    (depth_m,) = surface.depth_m(np.array([place.x]), np.array([place.y]))
    return float(depth_m) if np.isfinite(depth_m) else None


def _swept(sight: Sight) -> Rows:
    """Return the water by how often it was swept, and what only memory knows of."""
    recorded = [
        ({"drifts_over": band, "source": "track"}, shape)
        for band, shape in sight.stack.bands.items()
    ]
    told = ({"drifts_over": "", "source": "memory"}, sight.remembered)
    return [(of, shape) for of, shape in (*recorded, told) if not shape.is_empty]


def _drifts(sight: Sight) -> Rows:
    near = near_water(sight.opened)
    return [
        (_plain(asdict(told.line)), drift_path(told.drift, near).simplify(0.2))
        for told in told_drifts(sight.opened, sight.boats, sight.memory)
    ]


def _unfished(sight: Sight) -> Rows:
    _, pieces, lines = found_pieces(sight.opened, sight.visited, sight.report.pairs_day)
    return [
        (_plain(asdict(line)), piece.shape)
        for line, piece in zip(lines, pieces, strict=True)
    ]


def _planned(sight: Sight) -> Rows:
    """Return all planned drifts, and of days that are over what became of them."""
    opened = sight.opened
    plans, _ = read_plans(opened.practice.folder)
    done = {
        (plan.day, plan.pair, drift.number): drift
        for plan in sight.report.planned
        for drift in plan.drifts
    }
    rows = []
    for plan in plans:
        for kept in plan.drifts:
            became = done.get((plan.day, plan.pair, kept.number))
            told = {
                "day": plan.day.isoformat(),
                "pair": plan.pair,
                "number": kept.number,
                "bank": kept.bank,
                "share": became.share if became else None,
                "done": became.done if became else "",
            }
            rows.append((told, opened.venue.frame.metres(kept.line)))
    return rows


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    """Return values that a table's cell can hold: maps become columns, days text."""
    flat: dict[str, Any] = {}
    for name, value in values.items():
        if isinstance(value, dict):
            flat |= {f"{name}_{key}": item for key, item in value.items()}
        else:
            flat[name] = value.isoformat() if hasattr(value, "isoformat") else value
    return flat
