"""A made-up water with sectors, drifts and unfished pieces, for the tests of paper."""

import math
from dataclasses import replace
from itertools import pairwise

import shapely
from shapely import LineString, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from sweptwater.frame import Frame
from sweptwater.paper import looks
from sweptwater.paper.layers import Column, Feature, Layer, Page, Row, Table
from sweptwater.paper.looks import Look
from sweptwater.units import ACRE_M2, YARD_M, area_text, length_text, share_text

FRAME = Frame(lon=-3.2, lat=54.1)
REACH_M = 26.0
PAIRS = ("Heron", "Grebe", "Teal")


def wiggly(radius_m: float, *, vertices: int = 360, phase: float = 0) -> Polygon:
    """Return a lake-like shape in metres around the origin."""
    turns = [2 * math.pi * step / vertices for step in range(vertices)]
    return Polygon(
        (
            1.7 * radius_m * _bulge(turn + phase) * math.cos(turn),
            radius_m * _bulge(turn + phase) * math.sin(turn),
        )
        for turn in turns
    )


def _bulge(turn: float) -> float:
    return (
        1
        + 0.16 * math.sin(3 * turn)
        + 0.1 * math.sin(5 * turn + 1)
        + (0.035 * math.sin(17 * turn) + 0.02 * math.sin(31 * turn))
    )


ISLAND = affinity.translate(wiggly(70, vertices=80, phase=2), 210, 60)
OUT_OF_BOUNDS = affinity.rotate(box(-1150, -190, -690, 170), 12)
WATER = wiggly(640) - ISLAND
FISHABLE = WATER - OUT_OF_BOUNDS
SECTORS = tuple(
    FISHABLE & box(west, -3000, east, 3000)
    for west, east in [(-4000, -290), (-290, 330), (330, 4000)]
)
CUTS = tuple(a.boundary & b.boundary for a, b in pairwise(SECTORS))


def path(number: int, *, vertices: int = 60) -> LineString:
    """Return the number-th drift's path in metres."""
    sector, row = number % 3, number // 3
    east = (-830, -230, 420)[sector] + 47 * (row % 7) + 26 * (row // 7)
    north = (480, 520, 560)[sector] - 34 * (row % 7) - 130 * (row // 7 % 5)
    stride = 9 - 2.4 * (number % 4 == 1)
    return LineString(
        (
            east + 0.5 * stride * step + 9 * math.sin(step / 9 + number),
            north - stride * step + 5 * math.cos(step / 7),
        )
        for step in range(vertices)
    )


REMEMBERED = affinity.translate(path(2), 340, -60).buffer(45) & FISHABLE


def sample_page(*, drifts: int = 30) -> Page:
    """Return a page such as a captain reads at night."""
    paths = [path(number) & FISHABLE for number in range(drifts)]
    swept = [line.buffer(REACH_M, cap_style="flat") & FISHABLE for line in paths]
    over = _by_drifts_over(swept)
    pieces = _pieces(FISHABLE - shapely.union_all(swept) - REMEMBERED)
    return Page(
        title="Ashlode Water: fished and not fished",
        date_line="Practice of 8 and 9 June 2027. A boat reaches 28 yd to each side.",
        lead=(
            f"{len(pieces)} pieces of water have been left alone; the largest lies in "
            "Grebe's sector, 1,037 yd by boat from the jetty."
        ),
        units="imperial",
        facts=(
            (share_text(sum(s.area for s in over) / FISHABLE.area), "of the water"),
            (area_text(FISHABLE.area), "can be fished"),
            (str(drifts), "drifts"),
            ("41 h 20", "fished by three boats"),
        ),
        layers=_layers(paths, over, pieces),
        tables=(_pieces_table(pieces), _sectors_table(swept)),
        cautions=(
            "Grebe's record stops at 14:10 on 9 June: what they fished after it is "
            "not on this map.",
            "Four drifts of Teal have not been told.",
        ),
        notes=(
            "Swept water is what two rods can reach from the boat while it drifts; "
            "water that a boat only motored across does not count.",
        ),
    )


def _layers(
    paths: list[BaseGeometry], over: list[BaseGeometry], pieces: list[BaseGeometry]
) -> tuple[Layer, ...]:
    times = ("once", "twice", "three times or more")
    return (
        Layer("water", "Water", (_feature(WATER),), looks.WATER),
        *(
            Layer(
                f"swept-{number}",
                f"Fished {time}",
                (_feature(shape, tip=f"Fished {time}\n{area_text(shape.area)}"),),
                looks.swept(number),
            )
            for number, (time, shape) in enumerate(zip(times, over, strict=True), 1)
        ),
        Layer(
            "memory",
            "Fished, from memory",
            (_feature(REMEMBERED, tip="From memory\nTeal, 9 June"),),
            looks.REMEMBERED,
            note="drawn by hand, no track",
        ),
        Layer(
            "out-of-bounds",
            "Out of bounds",
            (_feature(OUT_OF_BOUNDS & WATER, tip="Out of bounds\nNature reserve"),),
            looks.OUT_OF_BOUNDS,
        ),
        Layer(
            "unfished",
            "Nobody has been here",
            tuple(
                _feature(
                    piece,
                    label=str(number),
                    tip=f"Piece {number}\n{area_text(piece.area)}",
                    key=f"piece-{number}",
                )
                for number, piece in enumerate(pieces, 1)
            ),
            looks.UNFISHED,
            labels="numbers",
            note="numbered as in the table",
        ),
        Layer(
            "drifts",
            "Drifts",
            tuple(
                _feature(
                    line,
                    tip=f"{PAIRS[number % 3]}, drift {number + 1}\n"
                    f"{length_text(line.length)}, 24 minutes",
                )
                for number, line in enumerate(paths)
            ),
            looks.DRIFT,
            note="dot to arrow",
        ),
        Layer(
            "sectors",
            "Sectors",
            (
                *(_feature(cut) for cut in CUTS),
                *(
                    replace(
                        _feature(sector, label=pair, key=f"sector-{pair}"), look=Look()
                    )
                    for sector, pair in zip(SECTORS, PAIRS, strict=True)
                ),
            ),
            looks.SECTOR,
            labels="names",
        ),
        Layer(
            "offers",
            "Offers",
            tuple(
                _feature(Point(line.centroid), tip="2 offers\n14 ft, dark sky")
                for line in paths[::7]
            ),
            looks.OFFER,
        ),
        Layer(
            "jetties",
            "Jetty",
            (_feature(Point(-80, 640), label="Jetty"),),
            looks.JETTY,
            labels="names",
        ),
        Layer(
            "marks",
            "Marks",
            tuple(
                _feature(Point(x, y), label=name)
                for name, x, y in [
                    ("The tower", 640, 530),
                    ("Boathouse bay", -560, 520),
                    ("Stony point", 880, -215),
                ]
            ),
            looks.MARK,
            labels="names",
        ),
        Layer(
            "planned",
            "Planned for tomorrow",
            (_feature(path(37), tip="Planned\nfirst drift of Grebe"),),
            looks.PLANNED,
            shown=False,
        ),
    )


def _feature(
    shape: BaseGeometry, *, label: str = "", tip: str = "", key: str = ""
) -> Feature:
    return Feature(FRAME.degrees(shape), label=label, tip=tip, key=key)


def _by_drifts_over(swept: list[BaseGeometry]) -> list[BaseGeometry]:
    """Return the water swept once, twice, and three times or more."""
    at_least: list[BaseGeometry] = [shapely.Polygon() for _ in range(3)]
    for shape in swept:
        for times in (2, 1):
            at_least[times] |= at_least[times - 1] & shape
        at_least[0] |= shape
    return [at_least[0] - at_least[1], at_least[1] - at_least[2], at_least[2]]


def _pieces(unfished: BaseGeometry) -> list[BaseGeometry]:
    """Return the dozen largest pieces that are not mere slivers, cut by the sectors."""
    wide = [(unfished & sector).buffer(-28).buffer(27) for sector in SECTORS]
    parts = [part for shape in wide for part in shapely.get_parts(shape)]
    return sorted(parts, key=lambda piece: -piece.area)[:12]


def _pieces_table(pieces: list[BaseGeometry]) -> Table:
    return Table(
        "Unfished water, largest first",
        (
            Column("Piece", numeric=True),
            Column("Acres", numeric=True),
            Column("Sector"),
            Column("From the jetty", numeric=True),
        ),
        tuple(
            Row(
                (
                    str(number),
                    f"{piece.area / ACRE_M2:.1f}",
                    PAIRS[number % 3],
                    length_text(piece.centroid.distance(Point(-80, 640))),
                ),
                key=f"piece-{number}",
            )
            for number, piece in enumerate(pieces, 1)
        ),
        note="Pieces under half an acre are not listed.",
        beside=True,
    )


def _sectors_table(swept: list[BaseGeometry]) -> Table:
    fished = shapely.union_all(swept)
    heads = ("Acres", "Fished", "Once", "Twice", "Three times", "Bank", "Bank fished")
    rows = [
        Row(
            (
                pair,
                f"{sector.area / ACRE_M2:,.0f}",
                share_text((fished & sector).area / sector.area),
                *("22 %", "7.1 %", "2.4 %"),
                length_text(sector.length / 2),
                f"{sector.length / 6 / YARD_M:,.0f} yd",
            ),
            key=f"sector-{pair}",
        )
        for pair, sector in zip(PAIRS, SECTORS, strict=True)
    ]
    total = Row(
        ("All", f"{FISHABLE.area / ACRE_M2:,.0f}", "31 %", *["-"] * 5), total=True
    )
    return Table(
        "The sectors",
        (Column("Sector"), *(Column(head, numeric=True) for head in heads)),
        (*rows, total),
    )
