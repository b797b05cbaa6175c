"""The water that nobody has visited, largest first, and where to go for each piece."""

from dataclasses import dataclass
from pathlib import Path

from sweptwater.arrays import Area
from sweptwater.jobs.afloat import read_boat_days
from sweptwater.jobs.check import quick_faults
from sweptwater.jobs.opened import Opened, Watch, check_place, open_folder, unwatched
from sweptwater.paper.gpx import Mark, marks_gpx
from sweptwater.practice.files import write_whole
from sweptwater.practice.targets import check_gpx_target, check_outside, is_report
from sweptwater.swept.layered import merge_stacks
from sweptwater.swept.unfished import (
    Piece,
    sector_of,
    unfished_pieces,
    unfished_water,
)
from sweptwater.units import area_text, length_text
from sweptwater.water.banks import nearest_bank

MARK_M = 400.0


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One piece of unfished water, and the place in its middle to go to.

    `diameter_m` is the width there; `bank` is the number of the nearest one.
    """

    number: int
    area_m2: float
    lat: float
    lon: float
    diameter_m: float
    sector: str | None
    pair: str
    bank: int | None
    near: str


@dataclass(frozen=True, slots=True)
class Unfished:
    """The unfished pieces, and how much water they and the rest are, in m2."""

    practice: str
    unfished_m2: float
    listed_m2: float
    at_least_m2: float
    pieces: tuple[PieceLine, ...]
    faults: tuple[str, ...]


def unfished(
    folder: Path,
    *,
    at_least_m2: float | None = None,
    gpx: Path | None = None,
    watch: Watch = unwatched,
) -> Unfished:
    """Return the unfished pieces, and write their middles as waypoints if asked.

    Raises
    ------
    SweptwaterError
        If the folder is unusable, or the GPX file cannot be written, or would
        replace one that is not ours.
    """
    opened = open_folder(folder)
    if gpx is not None:
        _check_target(folder, gpx)
    boats = read_boat_days(opened, opened.practice.originals, watch=watch)
    swept = merge_stacks([boat.stack for boat in boats.days]).once
    least = opened.settings.unfished_m2 if at_least_m2 is None else at_least_m2
    water, _, lines = found_pieces(opened, swept, at_least_m2=least)
    if gpx is not None:
        write_whole(gpx, pieces_gpx(opened, lines))
    return Unfished(
        practice=opened.settings.name,
        unfished_m2=water.area,
        listed_m2=sum(line.area_m2 for line in lines),
        at_least_m2=least,
        pieces=lines,
        faults=(*boats.faults, *quick_faults(opened)),
    )


def _check_target(folder: Path, gpx: Path) -> None:
    check_outside(folder, gpx)
    if not is_report(folder, gpx):
        check_place(gpx)
    check_gpx_target(gpx)


def found_pieces(
    opened: Opened, swept: Area, *, at_least_m2: float | None = None
) -> tuple[Area, tuple[Piece, ...], tuple[PieceLine, ...]]:
    """Return the unfished water, its pieces sector by sector, and a line for each."""
    least = opened.settings.unfished_m2 if at_least_m2 is None else at_least_m2
    water = unfished_water(opened.venue.fishable, swept)
    pieces = unfished_pieces(water, tuple(opened.sectors.values()), at_least_m2=least)
    return water, pieces, tuple(_line(opened, piece) for piece in pieces)


def pieces_gpx(opened: Opened, lines: tuple[PieceLine, ...]) -> bytes:
    """Return the middles of pieces as GPX waypoints."""
    units = opened.settings.units
    return marks_gpx(
        f"{opened.settings.name}: unfished water",
        [
            Mark(
                f"U{line.number}",
                line.lon,
                line.lat,
                f"{area_text(line.area_m2, units)}, "
                f"{length_text(line.diameter_m, units)} wide, {line.near}",
            )
            for line in lines
        ],
    )


def _line(opened: Opened, piece: Piece) -> PieceLine:
    easting, northing = piece.middle.x, piece.middle.y
    lon, lat = opened.venue.frame.to_degrees(easting, northing)
    sector = sector_of(piece.middle, opened.sectors)
    bank = nearest_bank(opened.banks, easting, northing)
    mark = opened.venue.nearest_place(easting, northing, MARK_M)
    return PieceLine(
        number=piece.number,
        area_m2=piece.area_m2,
        lat=float(lat),
        lon=float(lon),
        diameter_m=piece.diameter_m,
        sector=sector,
        pair=opened.pair_of.get(sector or "", ""),
        bank=bank.number if bank else None,
        near=mark.name if mark else bank.name if bank else "open water",
    )
