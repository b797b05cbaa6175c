"""Divide the water among the pairs."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import shapely
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.errors import SectorError
from sweptwater.jobs.cuts import CutLine, cut_lines, parse_move, told_cuts
from sweptwater.jobs.effort import (
    By,
    Effort,
    SectorShare,
    off_sentences,
    sector_share,
)
from sweptwater.jobs.naming import check_names, named, renamed
from sweptwater.jobs.opened import Opened, open_folder, rounding_m2
from sweptwater.practice.files import read_whole, writing
from sweptwater.practice.folder import check_practice, save_sectors
from sweptwater.practice.geojson import (
    SectorShape,
    is_sectors,
    parse_sectors,
    sectors_text,
)
from sweptwater.practice.rota import change_round, rota, rota_days
from sweptwater.swept.ledger import assign_banks
from sweptwater.units import area_text, share_text
from sweptwater.water.balance import NEAR, divide_by_weight
from sweptwater.water.holding import redo_around
from sweptwater.water.outline import NamedShape, read_features
from sweptwater.water.recutting import move_end
from sweptwater.water.sectors import (
    SMALL,
    Division,
    adopt_sectors,
    divide_by_area,
    divide_by_lines,
)
from sweptwater.water.shapes import polygonal, valid

OFF = 0.005
"""A share that is this far from what was asked is remarked on."""


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
    remarks: tuple[str, ...]
    """What came out otherwise than was asked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How the captain wants the water divided.

    With `lines` or `shapes`, with `shares` and nothing held, or where there are no
    sectors yet, the water is divided anew; a rota goes on for the same days. All else
    changes the sectors there are.

    Parameters
    ----------
    by
        What is shared out: the water, its shore, or the hours to cover it once.
    shares
        The pairs' shares of that, in their order; equal, if not given.
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

    by: By = "area"
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
        drawn = drawn or self.by != "area"
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
    return _report(opened, sectors, kept, wish)


def _wished(opened: Opened, wish: Wish) -> tuple[SectorShape, ...]:
    there = opened.practice.sectors
    kept = _kept_before(wish)
    if kept:
        division, sectors = _as_they_stand(opened, kept), kept
    elif wish.anew or not there:
        if wish.hold or wish.moves:
            raise SectorError("the water is not divided yet: run sweptwater divide")
        division, names = _divided(opened, wish)
        sectors = named(opened, division, names, wish.shares)
    else:
        division, sectors = _as_they_stand(opened, there), there
    changed = _changed(opened, division, sectors, wish)
    _check_all_divided(opened, changed)
    if changed is not division or sectors not in (there, kept):
        sectors = _reshaped(opened, sectors, changed, wish)
    sectors = renamed(sectors, wish.names)
    days = rota_days(there)
    if wish.rotate:
        days = sorted({*days, *_days(opened, wish)})
    if wish.rotate or (days and wish.anew and not kept):
        sectors = change_round(sectors, opened.settings.pairs, days)
    return sectors


def _kept_before(wish: Wish) -> tuple[SectorShape, ...] | None:
    """Return the sectors of a file of ours, to be taken as they are, names and all."""
    if wish.shapes is None:
        return None
    try:
        text = read_whole(wish.shapes).decode("utf-8-sig")
    except UnicodeDecodeError:
        return None
    return parse_sectors(text) if is_sectors(text) else None


def _reshaped(
    opened: Opened, sectors: tuple[SectorShape, ...], division: Division, wish: Wish
) -> tuple[SectorShape, ...]:
    """Return the sectors with the shapes of a division, and the shares asked for."""
    weights = [sector.weight for sector in sectors]
    if wish.hold and wish.shares is not None:
        weights = list(wish.shares)
    return tuple(
        replace(sector, shape=opened.venue.frame.degrees(shape), weight=weight)
        for sector, shape, weight in zip(
            sectors, division.sectors, weights, strict=True
        )
    )


def _as_they_stand(opened: Opened, sectors: Sequence[SectorShape]) -> Division:
    """Return sectors as they are kept, made to fit if something else wrote them."""
    check_names([sector.name for sector in sectors])
    metres = opened.venue.frame.metres
    shapes = [polygonal(valid(metres(sector.shape))) for sector in sectors]
    cuts = told_cuts(shapes)
    if len(shapes) > 1 and not cuts:
        system = opened.settings.units
        shapes = list(
            adopt_sectors(opened.venue.fishable, shapes, system=system).sectors
        )
        cuts = told_cuts(shapes)
    return Division(tuple(shapes), cuts)


def _changed(
    opened: Opened, division: Division, sectors: Sequence[SectorShape], wish: Wish
) -> Division:
    """Return the division with some cuts held and the rest redone, and ends moved."""
    fishable = opened.venue.fishable
    if wish.hold:
        shares = [sector.weight for sector in sectors]
        if wish.shares is not None:
            shares = list(_shares(wish.shares, len(sectors), opened))
        division = redo_around(fishable, division, wish.hold, shares)
    for end, place in wish.moves:
        division = Division(division.sectors, told_cuts(division.sectors))
        move = parse_move(opened, end, place)
        division = move_end(fishable, division, move.cut, move.end, move.to_xy)
        _check_worth_a_boat(division, sectors, end)
    return division


def _check_worth_a_boat(
    division: Division, sectors: Sequence[SectorShape], end: str
) -> None:
    total_m2 = sum(shape.area for shape in division.sectors)
    for sector, shape in zip(sectors, division.sectors, strict=True):
        if shape.area < SMALL * total_m2:
            raise SectorError(
                f"with end {end} there, sector {sector.name} would be "
                f"{share_text(shape.area / total_m2)} of the water: move it to a "
                "place nearer to where it was"
            )


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
    junctions = not wish.bank_to_bank
    if wish.by == "area":
        return divide_by_area(fishable, shares, junctions=junctions), []
    effort = Effort(opened)
    found = divide_by_weight(
        fishable, shares, lambda part: effort.weight(part, wish.by), junctions=junctions
    )
    return found.division, []


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


def _report(
    opened: Opened, sectors: tuple[SectorShape, ...], kept: Path | None, wish: Wish
) -> Divided:
    # As they are kept, rounded: so a later look at them tells the same.
    kept_as = parse_sectors(sectors_text(sectors))
    areas = {s.name: polygonal(opened.venue.frame.metres(s.shape)) for s in kept_as}
    total_m2 = sum(area.area for area in areas.values())
    told = {pair for sector in sectors for pair in (sector.pair, *sector.days.values())}
    effort = Effort(opened)
    pieces = assign_banks(opened.banks, areas)
    return Divided(
        tuple(
            sector_share(effort, s, areas[s.name], total_m2, pieces) for s in sectors
        ),
        cut_lines(opened, areas),
        tuple(DayPairs(day, dict(pairs)) for day, pairs in rota(sectors).items()),
        tuple(pair for pair in opened.settings.pairs if pair not in told),
        kept.name if kept else None,
        (
            *_remarks(sectors, areas, wish),
            *_off(sectors, areas, wish, effort),
            *_without_jetty(opened, wish),
        ),
    )


def _off(
    sectors: tuple[SectorShape, ...],
    areas: Mapping[str, Area],
    wish: Wish,
    effort: Effort,
) -> Iterator[str]:
    """Yield which shares of shore or hours the water does not allow."""
    if wish.by != "area":
        got = [effort.weight(areas[sector.name], wish.by) for sector in sectors]
        wanted = [sector.weight for sector in sectors]
        yield from off_sentences(
            [sector.name for sector in sectors], got, wanted, wish.by, NEAR
        )


def _without_jetty(opened: Opened, wish: Wish) -> Iterator[str]:
    """Tell that hours have no run out in them, if nobody knows from where."""
    if wish.by == "hours" and not opened.venue.of_kind("jetty"):
        yield (
            "No jetty is known, so no run out to a sector is in the hours: sweptwater "
            "venue add --kind jetty FILE, then divide again."
        )


def _remarks(
    sectors: tuple[SectorShape, ...], areas: Mapping[str, Area], wish: Wish
) -> Iterator[str]:
    """Yield which shares the held cuts leave otherwise than asked."""
    if not wish.hold or wish.shares is None:
        return
    total_m2 = sum(area.area for area in areas.values())
    weights = sum(sector.weight for sector in sectors)
    for sector in sectors:
        got, asked = areas[sector.name].area / total_m2, sector.weight / weights
        if abs(got - asked) > OFF:
            yield (
                f"The held cuts leave sector {sector.name} {share_text(got)} of the "
                f"water, not {share_text(asked)}."
            )
