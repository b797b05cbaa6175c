"""Divide the water among the pairs."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import count
from pathlib import Path
from string import ascii_uppercase

import shapely
from shapely.geometry.base import BaseGeometry

from sweptwater.errors import SectorError
from sweptwater.jobs.cuts import CutLine, cut_lines, parse_move, told_cuts
from sweptwater.jobs.opened import Opened, open_folder, rounding_m2
from sweptwater.practice.files import writing
from sweptwater.practice.folder import check_practice, save_sectors
from sweptwater.practice.geojson import SectorShape, parse_sectors, sectors_text
from sweptwater.practice.rota import change_round, rota, rota_days
from sweptwater.units import area_text
from sweptwater.water.outline import NamedShape, read_features
from sweptwater.water.recutting import move_end, redo_around
from sweptwater.water.sectors import (
    Division,
    adopt_sectors,
    divide_by_area,
    divide_by_lines,
)
from sweptwater.water.shapes import polygonal

LONGEST_NAME = 40


@dataclass(frozen=True, slots=True)
class SectorShare:
    """One sector: whose it is, and its share of the fishable water."""

    sector: str
    pair: str
    water_m2: float
    share: float


@dataclass(frozen=True, slots=True)
class DayPairs:
    """The pair of each sector on one day; nobody's is empty."""

    day: date
    pairs: dict[str, str]


@dataclass(frozen=True, slots=True)
class Divided:
    """The sectors, the cuts between them, and who has which on which day."""

    sectors: tuple[SectorShare, ...]
    cuts: tuple[CutLine, ...]
    days: tuple[DayPairs, ...]
    without: tuple[str, ...]
    """The pairs that have no sector."""
    kept: str | None
    """Where the sectors of before are kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How the captain wants the water divided.

    With `lines` or `shapes`, with `shares` and nothing held, or where there are no
    sectors yet, the water is divided anew; a rota goes on for the same days. All else
    changes the sectors there are.

    Parameters
    ----------
    shares
        The pairs' shares by area, in their order; equal, if not given.
    bank_to_bank
        Whether no cut may end on another, even where that would be much shorter.
    lines
        A file of lines that the captain drew, to divide along.
    shapes
        A file of ready-made sectors; a feature named like a pair is its.
    hold
        The numbers of cuts to keep where they are, while the others are made again.
    moves
        Ends of cuts, like 1a, and the places they go to.
    names
        Old and new names of sectors.
    rotate
        Whether the pairs change round from day to day, on `days`, else on those that
        the settings know.
    """

    shares: Sequence[float] | None = None
    bank_to_bank: bool = False
    lines: Path | None = None
    shapes: Path | None = None
    hold: Sequence[int] = ()
    moves: Sequence[tuple[str, str]] = ()
    names: Sequence[tuple[str, str]] = ()
    rotate: bool = False
    days: Sequence[date] = ()

    @property
    def anew(self) -> bool:
        """Whether the water is divided anew even if there are sectors."""
        drawn = self.lines is not None or self.shapes is not None or self.bank_to_bank
        other = self.hold or self.moves or self.names or self.rotate
        return drawn or (self.shares is not None and not self.hold) or not other


def divide(folder: Path, wish: Wish) -> Divided:
    """Divide the fishable water among the pairs, or change how it is divided.

    Raises
    ------
    SweptwaterError
        If the water cannot be divided so.
    """
    check_practice(folder)  # no lock is left in a folder that is none
    with writing(folder):
        opened = open_folder(folder)
        sectors = _wished(opened, wish)
        kept = None
        if sectors_text(sectors) != sectors_text(opened.practice.sectors):
            kept = save_sectors(folder, sectors)
    return _report(opened, sectors, kept)


def _wished(opened: Opened, wish: Wish) -> tuple[SectorShape, ...]:
    there = opened.practice.sectors
    if wish.anew or not there:
        division, names = _divided(opened, wish)
        sectors = _named(opened, division, names)
    else:
        division, sectors = _as_it_stands(opened), there
    changed = _changed(opened, division, wish)
    if changed is not division or sectors is not there:
        _check_all_divided(opened, changed)
        sectors = tuple(
            replace(sector, shape=opened.venue.frame.degrees(shape))
            for sector, shape in zip(sectors, changed.sectors, strict=True)
        )
    sectors = _renamed(sectors, wish.names)
    days = _days(opened, wish) if wish.rotate else rota_days(there)
    if wish.rotate or (days and sectors is not there and wish.anew):
        sectors = change_round(sectors, opened.settings.pairs, days)
    return sectors


def _as_it_stands(opened: Opened) -> Division:
    """Return the sectors there are, made to fit if something else wrote them."""
    shapes = list(opened.drawn.values())
    if len(shapes) < len(opened.practice.sectors):
        raise SectorError("two sectors have one name: divide the water again")
    cuts = told_cuts(shapes)
    if len(shapes) > 1 and not cuts:
        system = opened.settings.units
        shapes = list(
            adopt_sectors(opened.venue.fishable, shapes, system=system).sectors
        )
        cuts = told_cuts(shapes)
    return Division(tuple(shapes), cuts)


def _changed(opened: Opened, division: Division, wish: Wish) -> Division:
    """Return the division with some cuts held and the rest redone, and ends moved."""
    fishable = opened.venue.fishable
    if wish.hold:
        shares = _shares(wish.shares, len(division.sectors), opened)
        division = redo_around(fishable, division, wish.hold, shares)
    for end, place in wish.moves:
        division = Division(division.sectors, told_cuts(division.sectors))
        move = parse_move(opened, end, place)
        division = move_end(fishable, division, move.cut, move.end, move.to_xy)
    return division


def _renamed(
    sectors: tuple[SectorShape, ...], names: Sequence[tuple[str, str]]
) -> tuple[SectorShape, ...]:
    """Return the sectors with the new names; they may change places."""
    new: dict[str, str] = {}
    known = {sector.name.casefold(): sector.name for sector in sectors}
    for old, name in names:
        if old.strip().casefold() not in known:
            raise SectorError(
                f"there is no sector {old!r}: the sectors are "
                f"{', '.join(known.values())}"
            )
        new[known[old.strip().casefold()]] = _check_name(name)
    told = tuple(replace(s, name=new.get(s.name, s.name)) for s in sectors)
    _check_names([sector.name for sector in told])
    return told


def _check_name(name: str) -> str:
    name = " ".join(name.split())
    if not 0 < len(name) <= LONGEST_NAME or not name.isprintable():
        raise SectorError(
            f"a sector cannot be called {name[:60]!r}: give it a name of 1 to "
            f"{LONGEST_NAME} letters, such as Dam end"
        )
    return name


def _days(opened: Opened, wish: Wish) -> Sequence[date]:
    days = wish.days or opened.settings.days or rota_days(opened.practice.sectors)
    if not days:
        raise SectorError(
            "the practice days are not known: name them, like --rotate "
            "2027-06-08,2027-06-09, or write them as days in practice.toml"
        )
    return days


def _divided(opened: Opened, wish: Wish) -> tuple[Division, list[str]]:
    """Return the water divided anew, and the names of ready-made sectors."""
    fishable = opened.venue.fishable
    if wish.shapes is not None:
        areas = _in_metres(opened, wish.shapes, ("Polygon", "MultiPolygon"))
        division = adopt_sectors(
            fishable,
            [polygonal(shape) for _, shape in areas],
            system=opened.settings.units,
        )
        return division, [item.name for item, _ in areas]
    if wish.lines is not None:
        drawn = _in_metres(opened, wish.lines, ("LineString", "MultiLineString"))
        parts = [part for _, shape in drawn for part in shapely.get_parts(shape)]
        return divide_by_lines(fishable, parts), []
    shares = _shares(wish.shares, len(opened.settings.pairs), opened)
    return divide_by_area(fishable, shares, junctions=not wish.bank_to_bank), []


def _shares(
    shares: Sequence[float] | None, count: int, opened: Opened
) -> Sequence[float]:
    """Return the shares that were told, or as many equal ones as there are sectors."""
    if shares is None:
        return [1.0] * count
    if len(shares) != count:
        pairs = opened.settings.pairs
        for_whom = f"pairs ({', '.join(pairs)})" if count == len(pairs) else "sectors"
        raise SectorError(
            f"there are {len(shares)} shares for {count} {for_whom}: give one for each"
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
    opened: Opened, sectors: tuple[SectorShape, ...], kept: Path | None
) -> Divided:
    # As they are kept, rounded: so a later look at them tells the same.
    kept_as = parse_sectors(sectors_text(sectors))
    areas = {s.name: polygonal(opened.venue.frame.metres(s.shape)) for s in kept_as}
    total_m2 = sum(area.area for area in areas.values())
    told = {pair for sector in sectors for pair in (sector.pair, *sector.days.values())}
    return Divided(
        tuple(
            SectorShare(
                s.name, s.pair, areas[s.name].area, areas[s.name].area / total_m2
            )
            for s in sectors
        ),
        cut_lines(opened, areas),
        tuple(DayPairs(day, dict(pairs)) for day, pairs in rota(sectors).items()),
        tuple(pair for pair in opened.settings.pairs if pair not in told),
        kept.name if kept else None,
    )
