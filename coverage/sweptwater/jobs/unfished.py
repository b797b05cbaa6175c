"""The water that nobody has visited, largest first, and where to go for each piece."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError
from sweptwater.jobs.boats import Reader, read_boat_days
from sweptwater.jobs.check import quick_faults
from sweptwater.jobs.discreet import without_file_names
from sweptwater.jobs.merging import merged_stack
from sweptwater.jobs.opened import Opened, Watch, check_place, open_folder, unwatched
from sweptwater.jobs.places import OPEN_WATER, nearest_mark, place_text
from sweptwater.jobs.recall import recall
from sweptwater.jobs.warming import warm
from sweptwater.paper.gpx import Mark, marks_gpx
from sweptwater.practice.files import write_whole
from sweptwater.practice.geojson import collection_text
from sweptwater.practice.targets import (
    CREATOR,
    check_geojson_target,
    check_gpx_target,
    check_outside,
    is_report,
)
from sweptwater.swept.memory import beyond, with_memory
from sweptwater.swept.unfished import (
    Piece,
    sector_of,
    unfished_pieces,
    unfished_water,
)
from sweptwater.units import area_text, length_text
from sweptwater.water.banks import nearest_bank


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One piece of unfished water, and the place in its middle to go to.

    `diameter_m` is the width there, `bank` the number of the nearest one, `mark` the
    nearest mark or jetty, with the bearing from it to the place. `near` tells it short.
    """

    number: int
    area_m2: float
    lat: float
    lon: float
    diameter_m: float
    sector: str | None
    pair: str
    bank: int | None
    bank_m: float | None
    mark: str
    mark_m: float | None
    mark_bearing_deg: float | None
    near: str


@dataclass(frozen=True, slots=True)
class Unfished:
    """The unfished pieces, and how much water they and the rest are, in m2.

    `remembered_m2` is what only drifts from memory have swept: it is not unfished.
    """

    practice: str
    pairs_day: date | None
    """The day for which the pieces' pairs are told; none if they do not change."""
    unfished_m2: float
    listed_m2: float
    remembered_m2: float
    at_least_m2: float
    pieces: tuple[PieceLine, ...]
    faults: tuple[str, ...]


def unfished(
    folder: Path,
    *,
    at_least_m2: float | None = None,
    gpx: Path | None = None,
    geojson: Path | None = None,
    watch: Watch = unwatched,
) -> Unfished:
    """Return the unfished pieces, and write them to files if asked.

    Parameters
    ----------
    at_least_m2
        Smaller pieces are not listed; else as the settings say.
    gpx
        For the pieces' middles, as waypoints.
    geojson
        For the pieces themselves, with their figures.

    Raises
    ------
    SweptwaterError
        If the folder is unusable, or a file cannot be written, or would replace one
        that is not ours.
    """
    opened = open_folder(folder)
    if gpx is not None and geojson is not None and gpx.resolve() == geojson.resolve():
        raise PracticeError(
            f"{gpx.name} cannot hold both waypoints and areas: name two files"
        )
    for file, check in ((gpx, check_gpx_target), (geojson, check_geojson_target)):
        if file is not None:
            _check_target(folder, file)
            check(file)
    reader, originals = Reader(opened), opened.practice.originals
    warm(reader, originals, watch=watch)
    boats = read_boat_days(opened, originals, reader=reader, watch=watch)
    recorded = merged_stack(boats, boats.days).once
    memory = recall(opened, boats.days)
    remembered = beyond(memory.days, recorded)
    swept = with_memory(recorded, remembered)
    least = opened.settings.unfished_m2 if at_least_m2 is None else at_least_m2
    days = {boat.day for boat in boats.days} | {told.day for told in memory.days}
    coming = opened.day_to_come(days)
    water, pieces, lines = found_pieces(opened, swept, coming, at_least_m2=least)
    if gpx is not None:
        write_whole(gpx, pieces_gpx(opened, lines))
    if geojson is not None:
        write_whole(geojson, pieces_geojson(opened, pieces, lines))
    return Unfished(
        practice=opened.settings.name,
        pairs_day=coming,
        unfished_m2=water.area,
        listed_m2=sum(line.area_m2 for line in lines),
        remembered_m2=remembered.area,
        at_least_m2=least,
        pieces=lines,
        faults=(
            *without_file_names(boats.faults, opened.practice.originals),
            *quick_faults(opened),
            *map(str, memory.faults),
        ),
    )


def _check_target(folder: Path, file: Path) -> None:
    check_outside(folder, file)
    if not is_report(folder, file):
        check_place(file)


def found_pieces(
    opened: Opened, swept: Area, day: date | None, *, at_least_m2: float | None = None
) -> tuple[Area, tuple[Piece, ...], tuple[PieceLine, ...]]:
    """Return the unfished water, its pieces sector by sector, and a line for each.

    Parameters
    ----------
    swept
        All that was fished, as recorded or as remembered.
    day
        The day for which to tell whose job a piece is.
    """
    settings = opened.settings
    water = unfished_water(opened.venue.fishable, swept)
    pieces = unfished_pieces(
        water,
        tuple(opened.sectors.values()),
        at_least_m2=settings.unfished_m2 if at_least_m2 is None else at_least_m2,
        narrowest_m=settings.unfished_wide_m,
    )
    pairs = opened.pairs_on(day)
    return water, pieces, tuple(_line(opened, piece, pairs) for piece in pieces)


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
                f"{length_text(line.diameter_m, units)} wide, {whereabouts(line)}"
                + (f", sector {line.sector}" if line.sector else "")
                + (f", {line.pair}" if line.pair else ""),
            )
            for line in lines
        ],
    )


def whereabouts(line: PieceLine) -> str:
    """Return the place of a piece with its bank, if that is not the place already."""
    bank = f"bank {line.bank}" if line.bank else ""
    if not bank or line.near == bank:
        return line.near
    return f"{line.near}{' off ' if line.near == OPEN_WATER else ', '}{bank}"


def pieces_geojson(
    opened: Opened, pieces: tuple[Piece, ...], lines: tuple[PieceLine, ...]
) -> str:
    """Return pieces as GeoJSON areas, with the figures of their lines."""
    return collection_text(
        (
            (asdict(line), opened.degrees(piece.shape))
            for piece, line in zip(pieces, lines, strict=True)
        ),
        creator=CREATOR,
    )


def _line(opened: Opened, piece: Piece, pairs: Mapping[str, str]) -> PieceLine:
    easting, northing = piece.middle.x, piece.middle.y
    lon, lat = opened.venue.frame.to_degrees(easting, northing)
    sector = sector_of(piece.middle, opened.sectors)
    bank = nearest_bank(opened.banks, easting, northing)
    mark = nearest_mark(opened.venue, easting, northing)
    return PieceLine(
        number=piece.number,
        area_m2=piece.area_m2,
        lat=float(lat),
        lon=float(lon),
        diameter_m=piece.diameter_m,
        sector=sector,
        pair=pairs.get(sector or "", ""),
        bank=bank.number if bank else None,
        bank_m=bank.shore.distance(piece.middle) if bank else None,
        mark=mark[0] if mark else "",
        mark_m=mark[1] if mark else None,
        mark_bearing_deg=mark[2] if mark else None,
        near=place_text(opened, easting, northing),
    )
