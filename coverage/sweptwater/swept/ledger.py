"""Shares of the water fished: by sector, by bank and by boat."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
import shapely
from shapely import Polygon

from sweptwater.arrays import Area, Bools, Floats
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.layered import Stack
from sweptwater.swept.pace import bank_pace, rest_of_banks
from sweptwater.water.banks import Bank
from sweptwater.water.overlap import Known, Overlay
from sweptwater.water.shapes import GRID_M, polygonal

DONE = 0.5
"""A piece of shore is done when this share of the water before it is swept."""


@dataclass(frozen=True, slots=True)
class SectorLine:
    """How much of one sector has been fished; areas in m2, lengths in m."""

    sector: str
    pair: str
    water_m2: float
    fished_m2: float
    fished_share: float
    drifts_over: Mapping[str, float]
    bank_m: float
    bank_fished_m: float
    bank_left_drifts: int | None
    bank_left_s: float | None
    """What the rest of its banks would take, at the pace so far; None without one."""
    share_if_cast: Mapping[str, float] = field(default_factory=dict)
    """Its fished share with other casts."""
    remembered_m2: float = 0.0
    remembered_share: float = 0.0
    """What only drifts from memory swept; none of it is in the figures above."""
    bank_remembered_m: float = 0.0
    """The shore that is done only with those."""
    depth_low_m: float | None = None
    depth_high_m: float | None = None
    """What eight of ten depths of its water lie between; None where nobody knows."""


@dataclass(frozen=True, slots=True)
class BoatLine:
    """What one boat did on one day, and what that added to all before it."""

    day: date
    pair: str
    start_s: float
    end_s: float
    fishing_s: float
    motoring_s: float
    ashore_s: float
    unknown_s: float
    doubtful_s: float
    anchored_s: float
    drifts: int
    drift_m: float
    drift_error: float
    """The share by which `drift_m` is expected to be too long."""
    swept_m2: float
    new_m2: float


@dataclass(frozen=True, slots=True)
class BankPieces:
    """Which sector each bank, and each piece of it, lies in."""

    banks: Sequence[Bank]
    bank_sector: tuple[str | None, ...]
    piece_water: tuple[Area, ...]
    piece_bank: np.ndarray
    piece_m: Floats
    piece_sector: tuple[str | None, ...]

    def lie_in(self, sector: str) -> Bools:
        """Return which pieces lie in a sector."""
        return np.array([name == sector for name in self.piece_sector], dtype=bool)


@dataclass(frozen=True, slots=True)
class FromMemory:
    """What drifts from memory add to the recorded ones.

    Parameters
    ----------
    water
        What only they swept.
    done
        For each piece of shore, whether it is done only with them; empty if none is.
    """

    water: Area = field(default_factory=Polygon)
    done: Bools = field(default_factory=lambda: np.zeros(0, dtype=bool))

    def done_of(self, pieces: "BankPieces") -> Bools:
        """Return for each piece of shore whether it is done only from memory."""
        if len(self.done):
            return self.done
        return np.zeros(len(pieces.piece_water), dtype=bool)


NOTHING = FromMemory()


@dataclass(frozen=True, slots=True)
class Fished:
    """The boat-days that count, the water they swept, and the shore that did.

    `done` tells for each piece of shore whether it is done; what drifts from memory
    add is kept apart.
    """

    boats: Sequence[BoatDay]
    stack: Stack
    done: Bools
    memory: FromMemory = NOTHING


def assign_banks(banks: Sequence[Bank], sectors: Mapping[str, Area]) -> BankPieces:
    """Return the sector that holds most of the water before each bank and piece."""
    pieces = tuple(piece for bank in banks for piece in bank.piece_water)
    return BankPieces(
        banks,
        _sectors_of([bank.water for bank in banks], sectors),
        pieces,
        np.repeat(np.arange(len(banks)), [len(bank.piece_water) for bank in banks]),
        np.concatenate([bank.piece_m for bank in banks] or [np.zeros(0)]),
        _sectors_of(pieces, sectors),
    )


def done_pieces(pieces: BankPieces, fished: Area) -> Bools:
    """Tell which pieces of shore have at least half the water before them swept."""
    waters = pieces.piece_water
    if not waters:
        return np.zeros(0, dtype=bool)
    return Overlay(fished).areas_m2(waters) >= DONE * shapely.area(waters)


def from_memory(
    pieces: BankPieces, done: Bools, recorded: Area, water: Area
) -> FromMemory:
    """Return what drifts from memory add to the shore that is done.

    Parameters
    ----------
    pieces, done
        The pieces of shore, and which of them are done as recorded.
    recorded
        The water that was swept as recorded.
    water
        What only drifts from memory swept.
    """
    if water.is_empty:
        return NOTHING
    both = polygonal(shapely.union(recorded, water, grid_size=GRID_M))
    return FromMemory(water, done_pieces(pieces, both) & ~done)


def sector_lines(
    sectors: Mapping[str, Area],
    pair_of: Mapping[str, str],
    fished: Fished,
    pieces: BankPieces,
    *,
    reset_s: float,
) -> tuple[SectorLine, ...]:
    """Return a line for each sector.

    Parameters
    ----------
    sectors, pair_of
        The sectors' shapes in metres, and whose each is.
    fished
        The drifts and what they swept.
    pieces
        The banks, and which sector each piece of them lies in.
    reset_s
        The time from the end of a drift to the start of the next.
    """
    shapes = list(sectors.values())
    by_band = {
        band: Overlay(shape).areas_m2(shapes)
        for band, shape in fished.stack.bands.items()
    }
    memory, told = fished.memory, fished.memory.done_of(pieces)
    remembered_m2 = Overlay(memory.water).areas_m2(shapes)
    return tuple(
        replace(
            _sector_line(
                (name, pair_of.get(name, ""), shape.area),
                {band: float(areas[index]) for band, areas in by_band.items()},
                fished,
                _Shore.of_sector(name, pieces, fished.done),
                reset_s,
            ),
            remembered_m2=float(remembered_m2[index]),
            remembered_share=float(remembered_m2[index]) / shape.area,
            bank_remembered_m=float(pieces.piece_m[told & pieces.lie_in(name)].sum()),
        )
        for index, (name, shape) in enumerate(sectors.items())
    )


@dataclass(frozen=True, slots=True)
class _Shore:
    """The shore of one sector, in metres, and the water before it."""

    length_m: float
    done_m: float
    water: Area

    @classmethod
    def of_sector(cls, name: str, pieces: BankPieces, done: Bools) -> "_Shore":
        mine = pieces.lie_in(name)
        waters = np.array(pieces.piece_water, dtype=object)[mine]
        return cls(
            float(pieces.piece_m[mine].sum()),
            float(pieces.piece_m[mine & done].sum()),
            polygonal(shapely.union_all(waters)),
        )


def _sector_line(
    sector: tuple[str, str, float],
    over: Mapping[str, float],
    fished: Fished,
    shore: _Shore,
    reset_s: float,
) -> SectorLine:
    name, pair, water_m2 = sector
    fished_m2 = sum(over.values())
    rest = rest_of_banks(
        bank_pace(fished.boats, shore.water),
        bank_m=shore.length_m,
        done_m=shore.done_m,
        reset_s=reset_s,
    )
    return SectorLine(
        sector=name,
        pair=pair,
        water_m2=water_m2,
        fished_m2=fished_m2,
        fished_share=fished_m2 / water_m2,
        drifts_over=over,
        bank_m=shore.length_m,
        bank_fished_m=shore.done_m,
        bank_left_drifts=rest.drifts if rest else None,
        bank_left_s=rest.hours_s if rest else None,
    )


def shares_of(shapes: Sequence[Area], fished: Area) -> list[float]:
    """Return how much of each shape has been fished, as a share of it."""
    if not shapes:
        return []
    shares = Overlay(fished).areas_m2(shapes) / shapely.area(shapes)
    return [float(share) for share in shares]


def boat_lines(boats: Sequence[BoatDay]) -> tuple[BoatLine, ...]:
    """Return a line for each boat-day, in the order of time.

    Water is new to the first boat-day that swept it.
    """
    ordered = sorted(boats, key=lambda boat: (boat.day, boat.afloat.start_s))
    known = Known()
    return tuple(boat_line(boat, new_m2=known.add(boat.stack.once)) for boat in ordered)


def boat_line(boat: BoatDay, *, new_m2: float) -> BoatLine:
    """Return the line of one boat-day."""
    afloat = boat.afloat
    return BoatLine(
        day=boat.day,
        pair=boat.pair,
        start_s=afloat.start_s,
        end_s=afloat.end_s,
        fishing_s=afloat.fishing_s,
        motoring_s=afloat.motoring_s,
        ashore_s=afloat.ashore_s,
        unknown_s=afloat.unknown_s,
        doubtful_s=afloat.doubtful_s,
        anchored_s=afloat.anchored_s,
        drifts=len(afloat.drifts),
        drift_m=sum(drift.length_m for drift in afloat.drifts),
        drift_error=afloat.length_error,
        swept_m2=boat.stack.once.area,
        new_m2=new_m2,
    )


def _sectors_of(
    shapes: Sequence[Area], sectors: Mapping[str, Area]
) -> tuple[str | None, ...]:
    if not sectors or not shapes:
        return (None,) * len(shapes)
    shared = np.stack([Overlay(sector).areas_m2(shapes) for sector in sectors.values()])
    names = list(sectors)
    return tuple(
        names[index] if shared[index, shape] > 0 else None
        for shape, index in enumerate(shared.argmax(axis=0))
    )
