"""Soundings and contours out of the files that people have of them."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shapely

from sweptwater.arrays import Floats
from sweptwater.errors import PracticeError, VenueError
from sweptwater.practice.files import read_whole
from sweptwater.practice.geojson import Feature
from sweptwater.practice.sheets import Form, parse_number, parse_sheet, understood
from sweptwater.practice.soundings import DEEPEST_M
from sweptwater.units import FOOT_M, YARD_M
from sweptwater.water.outline import Table, read_tables

UNITS_M = {"m": 1.0, "ft": FOOT_M, "yd": YARD_M}
TABLES = (".csv", ".tsv", ".txt")
"""Files that end so are tables of soundings, a row each; all others are maps."""

LAT, LON = ("lat", "latitude", "y"), ("lon", "lng", "long", "longitude", "x")
ROUNDED = 3
"""Decimals of a metre that are kept."""

_UNIT = r"(m|met(?:re|er)s?|ft|foot|feet|yd|yds|yards?)"
_COLUMN = re.compile(
    rf"(?:water[ _]?)?(depth|z|elev|elevation)(?:[ _.(\[-]*{_UNIT}[)\]]?)?", re.I
)
_DEPTH = re.compile(rf"(\d+(?:[.,]\d+)?)\s*{_UNIT}", re.I)
_UPWARDS = ("z", "elev", "elevation")


@dataclass(frozen=True, slots=True)
class Depths:
    """What a file tells of depths.

    Parameters
    ----------
    soundings
        Longitude, latitude and depth in metres, shape (n, 3).
    contours
        Each with its depth.
    faults
        What in it cannot be, a sentence each.
    """

    soundings: Floats = field(default_factory=lambda: np.zeros((0, 3)))
    contours: tuple[Feature, ...] = ()
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Column:
    """The column with the depths: its unit, and whether it counts upwards."""

    name: str
    unit_m: float
    upwards: bool

    def depth_m(self, told: float) -> float:
        """Return the depth that a number in it means.

        Raises
        ------
        PracticeError
            If there is no such depth.
        """
        if not np.isfinite(told):
            raise PracticeError("there is no depth: write a number")
        down = 0.0 - told if self.upwards else told
        if down < 0:
            raise PracticeError(
                f"{self.name} {told:g} lies above the water: heights count up, so a "
                "depth is below 0 there"
                if self.upwards
                else f"{self.name} {told:g} is below 0: depths count down from the "
                "surface, so write it without its sign"
            )
        if down * self.unit_m > DEEPEST_M:
            raise PracticeError(
                f"{self.name} {told:g} is deeper than any such water: mend the number, "
                "or the unit"
            )
        return round(down * self.unit_m, ROUNDED)


def parse_depth(text: str) -> float:
    """Return the metres that a text like 10ft means.

    Raises
    ------
    PracticeError
        If it means none, or tells no unit.

    Examples
    --------
    >>> round(parse_depth("10ft"), 3), parse_depth("2,5 m")
    (3.048, 2.5)
    """
    found = _DEPTH.fullmatch(text.strip())
    depth_m = parse_number(found[1]) * _unit_m(found[2]) if found else np.nan
    if not depth_m <= DEEPEST_M:
        raise PracticeError(f"{text!r} is no depth: write it like 10ft or 3m")
    return float(depth_m)


def read_depths(
    path: Path,
    *,
    soundings: bool,
    unit: str | None = None,
    all_m: float | None = None,
    crs: str | None = None,
) -> Depths:
    """Return the soundings of a file, or its contours.

    Parameters
    ----------
    unit
        m, ft or yd, where the file does not say it.
    all_m
        The one depth of everything in the file, in metres.
    crs
        The coordinate system of a map file that does not say its own.

    Raises
    ------
    SweptwaterError
        If the file cannot be read, holds nothing of the kind, or does not say where
        the depths are, or their unit.
    """
    if path.suffix.lower() in TABLES:
        if not soundings:
            raise VenueError(
                f"{path.name} is a table, and contours are lines: give a map file"
            )
        if crs or all_m is not None:
            raise VenueError(
                f"{path.name} is a table, with a depth a row and positions in degrees: "
                f"leave {'--crs' if crs else '--depth'} out"
            )
        return _read_sheet(path, unit)
    tables = read_tables(path, crs=crs)
    read = _points if soundings else _contours
    parts = [read(path, table, unit, all_m) for table in tables if len(table.shapes)]
    return Depths(
        np.concatenate([np.zeros((0, 3)), *(part.soundings for part in parts)]),
        tuple(line for part in parts for line in part.contours),
        tuple(fault for part in parts for fault in part.faults),
    )


def _read_sheet(path: Path, unit: str | None) -> Depths:
    sheet = parse_sheet(read_whole(path), Form(path.name, (*LAT, *LON, "depth"), ()))
    head = [cell.strip().casefold() for cell in sheet.rows[0]]
    lat, lon = (
        next((name for name in names if name in head), "") for names in (LAT, LON)
    )
    if not lat or not lon:
        raise VenueError(
            f"{path.name} has no column {'lon' if lat else 'lat'}: its first row must "
            "name them, like lat,lon,depth_m"
        )
    column = _column(path, head, unit)

    def row(values: Mapping[str, str], _: int) -> tuple[float, float, float]:
        there = parse_number(values[lon]), parse_number(values[lat])
        if not (abs(there[0]) <= 180 and abs(there[1]) <= 90):
            raise PracticeError(
                f"{values[lat]!r}, {values[lon]!r} is no latitude and longitude: write "
                "them in degrees"
            )
        told = values[column.name]
        number = parse_number(told)
        if not np.isfinite(number):
            raise PracticeError(f"{told!r} is no depth: write a number")
        return *there, column.depth_m(number)

    rows, faults = understood(sheet, Form(path.name, (), (lat, lon, column.name)), row)
    soundings = np.array(rows, dtype=np.float64).reshape(-1, 3)
    return Depths(soundings, faults=tuple(map(str, faults)))


def _points(path: Path, table: Table, unit: str | None, all_m: float | None) -> Depths:
    """Return the soundings of a layer; what is no point is passed over."""
    where, feature = shapely.get_coordinates(table.shapes, return_index=True)
    points = np.isin(shapely.get_type_id(table.shapes[feature]), (0, 4))
    if not points.any():
        return Depths()
    told, column = _told(path, table, unit, all_m)
    numbers = table.heights if told is None else told[feature]
    rows, faults = _each(
        path, (int(at) for at in np.flatnonzero(points)), feature, numbers, column
    )
    soundings = np.array([(*where[at], depth_m) for at, depth_m in rows])
    return Depths(soundings.reshape(-1, 3), faults=faults)


def _contours(
    path: Path, table: Table, unit: str | None, all_m: float | None
) -> Depths:
    """Return the contours of a layer; what is no line or area is passed over."""
    drawn = shapely.get_type_id(table.shapes)
    lines = np.flatnonzero(np.isin(drawn, (1, 3, 5, 6)))
    if not len(lines):
        return Depths()
    told, column = _told(path, table, unit, all_m)
    if told is None:
        _, feature = shapely.get_coordinates(table.shapes, return_index=True)
        told = _level(table.heights, feature, len(table.shapes))
    rows, faults = _each(
        path, map(int, lines), np.arange(len(table.shapes)), told, column
    )
    contours = tuple(Feature("contour", "", table.shapes[at], m) for at, m in rows)
    return Depths(contours=contours, faults=faults)


def _each(
    path: Path,
    chosen: Iterator[int],
    feature: np.ndarray,
    numbers: Floats,
    column: _Column,
) -> tuple[list[tuple[int, float]], tuple[str, ...]]:
    """Return which of some have what depth, and what is wrong with the others."""
    rows, faults = [], []
    for at in chosen:
        try:
            rows.append((at, column.depth_m(float(numbers[at]))))
        except PracticeError as error:
            what, _, do = str(error).rpartition(": ")
            faults.append(f"{path.name}, shape {feature[at] + 1}: {what}; {do}")
    return rows, tuple(faults)


def _told(
    path: Path, table: Table, unit: str | None, all_m: float | None
) -> tuple[Floats | None, _Column]:
    """Return the depths that a layer tells a feature; None where its heights do."""
    names = [name for name in table.columns if _COLUMN.fullmatch(name.strip())]
    if all_m is not None:
        if any("depth" in name.casefold() for name in names):
            raise VenueError(
                f"{path.name} says its depths itself, in {names[0]}: leave --depth out"
            )
        return np.full(len(table.shapes), all_m), _Column("depth", 1.0, upwards=False)
    high = bool((np.nan_to_num(table.heights) != 0).any())
    if not names and high:
        return None, _Column("height", _given(path, unit, "heights"), upwards=True)
    column = _column(path, list(table.columns), unit)
    return _numbers(table.columns[column.name]), column


def _column(path: Path, names: list[str], unit: str | None) -> _Column:
    """Return the column with the depths: one that tells its unit before others."""
    found = [(name, m) for name in names if (m := _COLUMN.fullmatch(name.strip()))]
    if not found:
        raise VenueError(
            f"{path.name} does not say how deep it is: name a column depth_m or "
            "depth_ft, or give --depth for a file of one depth"
        )
    name, match = min(
        found, key=lambda one: (one[1][1].casefold() in _UPWARDS, one[1][2] is None)
    )
    upwards = match[1].casefold() in _UPWARDS
    if match[2] is None:
        return _Column(name, _given(path, unit, name), upwards)
    if unit is not None and UNITS_M[unit] != _unit_m(match[2]):
        raise VenueError(
            f"{path.name} has its depths in {name}, and --unit says {unit}: leave "
            "--unit out, or rename the column"
        )
    return _Column(name, _unit_m(match[2]), upwards)


def _given(path: Path, unit: str | None, name: str) -> float:
    if unit is None:
        raise VenueError(
            f"{path.name} does not say the unit of its {name}: give --unit m, --unit "
            "ft or --unit yd"
        )
    return UNITS_M[unit]


def _unit_m(text: str) -> float:
    """Return how many metres a unit is, by its first letter."""
    return UNITS_M[{"m": "m", "f": "ft", "y": "yd"}[text[0].casefold()]]


def _numbers(values: np.ndarray) -> Floats:
    """Return a column as numbers, also one that was saved as text."""
    if values.dtype.kind in "iuf":
        return values.astype(np.float64)
    return np.array([parse_number(str(value).strip()) for value in values])


def _level(heights: Floats, feature: np.ndarray, count: int) -> Floats:
    """Return the height of each line that is level, and NaN of any other."""
    level = np.full(count, np.nan)
    for which in np.unique(feature):
        own = heights[feature == which]
        if np.ptp(own) < 0.01:
            level[which] = own[0]
    return level
