"""Divide the water among the pairs."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from string import ascii_uppercase

import shapely
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.errors import SectorError
from sweptwater.jobs.opened import Opened, open_folder, rounding_m2
from sweptwater.practice.files import writing
from sweptwater.practice.folder import check_practice, save_sectors
from sweptwater.practice.geojson import SectorShape
from sweptwater.units import area_text
from sweptwater.water.outline import NamedShape, read_features
from sweptwater.water.sectors import (
    Division,
    adopt_sectors,
    divide_by_area,
    divide_by_lines,
)
from sweptwater.water.shapes import polygonal


@dataclass(frozen=True, slots=True)
class SectorShare:
    """One sector: whose it is, and its share of the fishable water."""

    sector: str
    pair: str
    water_m2: float
    share: float


@dataclass(frozen=True, slots=True)
class End:
    """One end of a cut, in degrees."""

    lat: float
    lon: float
    near: str


@dataclass(frozen=True, slots=True)
class CutLine:
    """One straight cut; its length over water in metres."""

    from_: End
    to: End
    length_m: float


@dataclass(frozen=True, slots=True)
class Divided:
    """The sectors and the cuts between them."""

    sectors: tuple[SectorShare, ...]
    cuts: tuple[CutLine, ...]
    without: tuple[str, ...]
    """The pairs that have no sector."""
    kept: str | None
    """Where the sectors of before are kept."""


def divide(
    folder: Path,
    *,
    shares: Sequence[float] | None = None,
    lines: Path | None = None,
    shapes: Path | None = None,
) -> Divided:
    """Divide the fishable water among the pairs and write the sectors.

    Parameters
    ----------
    folder
        The practice.
    shares
        The pairs' shares by area, in their order; equal, if not given.
    lines
        A file of lines that the captain drew, to divide along instead.
    shapes
        A file of ready-made sectors instead; a feature named like a pair is its.

    Raises
    ------
    SweptwaterError
        If the water cannot be divided so.
    """
    check_practice(folder)  # no lock is left in a folder that is none
    with writing(folder):
        opened = open_folder(folder)
        division, names = _divided(opened, shares, lines, shapes)
        _check_all_divided(opened, division)
        sectors = _named(opened, division, names)
        kept = save_sectors(folder, sectors)
    return _report(opened, division, sectors, kept)


def _divided(
    opened: Opened,
    shares: Sequence[float] | None,
    lines: Path | None,
    shapes: Path | None,
) -> tuple[Division, list[str]]:
    """Return the division that was asked for, and the names of ready-made sectors."""
    fishable = opened.venue.fishable
    if shapes is not None:
        areas = _in_metres(opened, shapes, ("Polygon", "MultiPolygon"))
        division = adopt_sectors(
            fishable,
            [polygonal(shape) for _, shape in areas],
            system=opened.settings.units,
        )
        return division, [item.name for item, _ in areas]
    if lines is not None:
        drawn = _in_metres(opened, lines, ("LineString", "MultiLineString"))
        parts = [part for _, shape in drawn for part in shapely.get_parts(shape)]
        return divide_by_lines(fishable, parts), []
    return divide_by_area(fishable, _shares(opened, shares)), []


def _shares(opened: Opened, shares: Sequence[float] | None) -> Sequence[float]:
    pairs = opened.settings.pairs
    if shares is None:
        return [1.0] * len(pairs)
    if len(shares) != len(pairs):
        raise SectorError(
            f"there are {len(shares)} shares for {len(pairs)} pairs "
            f"({', '.join(pairs)}): give one for each"
        )
    return shares


def _in_metres(
    opened: Opened, file: Path, kinds: tuple[str, ...]
) -> list[tuple[NamedShape, BaseGeometry]]:
    features = [item for item in read_features(file) if item.shape.geom_type in kinds]
    if not features:
        wanted = "lines" if "LineString" in kinds else "areas"
        raise SectorError(f"{file.name} holds no {wanted}: draw them and save again")
    return [(item, opened.venue.frame.metres(item.shape)) for item in features]


def _named(
    opened: Opened, division: Division, names: list[str]
) -> tuple[SectorShape, ...]:
    """Return the sectors with letters, or their own names, and their pairs.

    Pairs take the sectors in order; a sector named like a pair is that pair's.
    """
    pairs = opened.settings.pairs
    own = {name.casefold(): pair for pair in pairs for name in names if _is(name, pair)}
    free = [pair for pair in pairs if pair not in own.values()]
    _check_names(names)
    letters = _letters({name.casefold() for name in names})
    result = []
    for index, shape in enumerate(division.sectors):
        name = names[index] if index < len(names) else ""
        pair = own.get(name.casefold()) or (free.pop(0) if free else "")
        degrees = opened.venue.frame.degrees(shape)
        result.append(SectorShape(name or next(letters), pair, degrees))
    return tuple(result)


def _check_all_divided(opened: Opened, division: Division) -> None:
    """Refuse a division that would lose water without a word."""
    fishable = opened.venue.fishable
    lost_m2 = fishable.area - sum(shape.area for shape in division.sectors)
    if abs(lost_m2) > rounding_m2(fishable):
        lost = area_text(abs(lost_m2), opened.settings.units)
        raise SectorError(
            f"the sectors would be {lost} {'less' if lost_m2 > 0 else 'more'} than "
            "the water: draw the lines yourself (--lines), and look whether zones and "
            "outline cross oddly"
        )


def _letters(taken: set[str]) -> Iterator[str]:
    """Yield A to Z, then AA to ZZ, and so on, without what is taken."""
    for many in count(1):
        for letter in ascii_uppercase:
            if (name := letter * many).casefold() not in taken:
                yield name


def _is(name: str, pair: str) -> bool:
    return name.casefold() == pair.casefold()


def _check_names(names: list[str]) -> None:
    told = Counter(name.casefold() for name in names if name)
    twice = [name for name in names if told[name.casefold()] > 1]
    if twice:
        raise SectorError(
            f"two sectors are called {twice[0]!r}: give each a name of its own"
        )


def _report(
    opened: Opened,
    division: Division,
    sectors: tuple[SectorShape, ...],
    kept: Path | None,
) -> Divided:
    total_m2 = sum(shape.area for shape in division.sectors)

    def share(sector: SectorShape, shape: Area) -> SectorShare:
        return SectorShare(sector.name, sector.pair, shape.area, shape.area / total_m2)

    def end(easting: float, northing: float) -> End:
        lon, lat = opened.venue.frame.to_degrees(easting, northing)
        place = opened.venue.nearest_place(easting, northing, 400.0)
        return End(float(lat), float(lon), place.name if place else "")

    return Divided(
        tuple(share(s, a) for s, a in zip(sectors, division.sectors, strict=True)),
        tuple(
            CutLine(end(*cut.coords[0]), end(*cut.coords[-1]), cut.length)
            for cut in division.cuts
        ),
        tuple(
            pair
            for pair in opened.settings.pairs
            if pair not in {sector.pair for sector in sectors}
        ),
        kept.name if kept else None,
    )
