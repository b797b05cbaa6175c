"""The coverage page: what is missing, the map, and the same figures in tables."""

from collections.abc import Iterator

import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Point
from shapely.geometry.base import BaseGeometry

from sweptwater.jobs.coverage_tables import coverage_tables, drift_key, last_drifts
from sweptwater.jobs.coverage_words import (
    cautions,
    date_line,
    lead_text,
    notes,
    only_text,
)
from sweptwater.jobs.places import DriftLine, drift_lines
from sweptwater.jobs.sight import Sight
from sweptwater.jobs.unfished import PieceLine, found_pieces
from sweptwater.paper import looks
from sweptwater.paper.layers import Feature, Layer, Page
from sweptwater.paper.looks import Look
from sweptwater.paper.page import render_page
from sweptwater.swept.unfished import Piece
from sweptwater.units import (
    System,
    area_text,
    compass_point,
    duration_text,
    length_text,
    share_text,
)

WAY_M = 2.0
"""Ways between drifts are drawn no finer than this."""

BIT_M2 = 10.0
"""Smaller bits of water are no more than a dot on paper and are not drawn."""


def coverage_page(sight: Sight) -> str:
    """Return the page of what has been fished, as one HTML file."""
    return render_page(_Builder(sight).page())


class _Builder:
    """What the parts of one page share: the sight, its units and its frame."""

    def __init__(self, sight: Sight) -> None:
        self.sight = sight
        self.opened = sight.opened
        self.units: System = sight.opened.settings.units
        self.unfished, pieces, lines = found_pieces(
            sight.opened, sight.stack.once, sight.report.pairs_day
        )
        self.pieces: list[tuple[Piece, PieceLine]] = list(
            zip(pieces, lines, strict=True)
        )
        self.drifts = drift_lines(sight.opened, sight.boats)

    def page(self) -> Page:
        report, settings = self.sight.report, self.opened.settings
        pieces = [line for _, line in self.pieces]
        return Page(
            title=f"{report.practice}: fished and not fished",
            lead=lead_text(report, pieces, self.units),
            date_line=date_line(report, settings),
            units=self.units,
            facts=(
                (share_text(report.fished_share), "of the water fished"),
                (area_text(report.water_m2 - report.fished_m2, self.units), "unfished"),
                (str(report.drifts), "drifts"),
                (
                    duration_text(sum(line.fishing_s for line in report.boats)),
                    f"fished by {report.pair or 'all boats'}",
                ),
            ),
            layers=tuple(self.layers()),
            tables=coverage_tables(report, pieces, self.drifts, settings),
            cautions=tuple(cautions(report)),
            notes=notes(report, settings),
        )

    def layers(self) -> Iterator[Layer]:
        venue, stack = self.opened.venue, self.sight.stack
        yield Layer("water", "Water", (self.feature(venue.water),), looks.WATER)
        yield from self.unfished_layers()
        for number, (band, shape) in enumerate(stack.bands.items(), 1):
            title = ("Fished once", "Fished twice", "Fished three times or more")
            tip = f"{title[number - 1]}\n{area_text(shape.area, self.units)}"
            drawn = _visible(shape)
            features = () if drawn.is_empty else (self.feature(drawn, tip=tip),)
            yield Layer(
                f"swept-{band.rstrip('+')}",
                title[number - 1],
                features,
                looks.swept(number),
            )
        closed = venue.out_of_bounds
        yield Layer(
            "out-of-bounds",
            "Out of bounds",
            () if closed.is_empty else (self.feature(closed, tip="Out of bounds"),),
            looks.OUT_OF_BOUNDS,
        )
        yield self.ways_layer()
        yield from self.drifts_layers()
        yield from self.banks_layers()
        yield self.sectors_layer()
        yield self.places_layer("jetty", "Jetties", looks.JETTY)
        yield self.places_layer("mark", "Marks", looks.MARK)

    def unfished_layers(self) -> Iterator[Layer]:
        only = only_text(self.sight.report)
        pieces = shapely.union_all([piece.shape for piece, _ in self.pieces])
        bits = _visible(self.unfished.difference(pieces))
        yield Layer(
            "unfished",
            f"Not fished {only}" if only else "Nobody has been here",
            tuple(
                self.feature(
                    piece.shape,
                    label=str(line.number),
                    tip=f"Piece {line.number}\n{area_text(line.area_m2, self.units)}, "
                    f"{length_text(line.diameter_m, self.units)} wide, {line.near}"
                    + (f"\nsector {line.sector}" if line.sector else ""),
                    key=f"piece-{line.number}",
                )
                for piece, line in self.pieces
            ),
            looks.UNFISHED,
            labels="numbers",
            note="numbered as in the table",
        )
        yield Layer(
            "unfished-bits",
            f"Bits not fished {only}".strip(),
            () if bits.is_empty else (self.feature(bits),),
            looks.UNFISHED_BIT,
            note="too small or too narrow to be numbered",
        )

    def ways_layer(self) -> Layer:
        ways = [
            (
                MultiLineString([way for way in boat.afloat.motoring if len(way) > 1]),
                f"{boat.pair}, under way\n{boat.day.day} {boat.day:%B}",
            )
            for boat in self.sight.boats
        ]
        return Layer(
            "under-way",
            "Under way",
            tuple(
                self.feature(way.simplify(WAY_M, preserve_topology=False), tip=tip)
                for way, tip in ways
            ),
            looks.UNDER_WAY,
            shown=False,
        )

    def drifts_layers(self) -> Iterator[Layer]:
        """Yield the drifts of the last days above the quieter ones before."""
        paths = [
            LineString(list(zip(drift.easting, drift.northing, strict=True)))
            for boat in self.sight.boats
            for drift in boat.afloat.drifts
        ]
        days = {line.day for line in last_drifts(self.drifts)}
        drawn = [
            (
                line.day in days,
                self.feature(path, tip=self.drift_tip(line), key=drift_key(line)),
            )
            for path, line in zip(paths, self.drifts, strict=True)
        ]
        yield Layer(
            "drifts-earlier",
            "Earlier drifts",
            tuple(feature for last, feature in drawn if not last),
            looks.EARLIER_DRIFT,
            note="before those in the table",
        )
        yield Layer(
            "drifts",
            "Drifts",
            tuple(feature for last, feature in drawn if last),
            looks.DRIFT,
            note="dot to arrow",
        )

    def drift_tip(self, line: DriftLine) -> str:
        return (
            f"{line.pair}, drift {line.number}\n{line.day.day} {line.day:%B}, "
            f"{line.start[11:16]} to {line.end[11:16]}\n"
            f"{length_text(line.length_m, self.units)} to the "
            f"{compass_point(line.course_deg)}"
        )

    def banks_layers(self) -> Iterator[Layer]:
        banks = list(zip(self.opened.banks, self.sight.report.banks, strict=True))
        yield Layer(
            "banks",
            "Banks",
            tuple(
                self.feature(
                    bank.shore,
                    label=str(line.bank),
                    tip=f"Bank {line.bank}\n{length_text(line.length_m, self.units)}, "
                    f"{length_text(line.done_m, self.units)} of it done",
                    key=f"bank-{line.bank}",
                )
                for bank, line in banks
            ),
            looks.BANK,
            shown=False,
            labels="names",
        )

    def sectors_layer(self) -> Layer:
        sectors = self.opened.sectors
        pairs = self.opened.pairs_on(self.sight.report.pairs_day)
        names = list(sectors)
        edges = [
            self.feature(edge)
            for index, name in enumerate(names)
            for other in names[index + 1 :]
            if (edge := _edge(sectors[name], sectors[other])) is not None
        ]
        areas = [
            Feature(
                self.opened.degrees(shape),
                label=f"{name} {pairs.get(name, '')}".strip(),
                key=f"sector-{name}",
                look=Look(),
            )
            for name, shape in sectors.items()
        ]
        return Layer(
            "sectors", "Sectors", (*edges, *areas), looks.SECTOR, labels="names"
        )

    def places_layer(self, kind: str, title: str, look: Look) -> Layer:
        return Layer(
            kind,
            title,
            tuple(
                self.feature(Point(place.easting, place.northing), label=place.name)
                for place in self.opened.venue.places
                if place.kind == kind
            ),
            look,
            labels="names",
        )

    def feature(
        self, shape: BaseGeometry, *, label: str = "", tip: str = "", key: str = ""
    ) -> Feature:
        degrees = self.opened.degrees(shape)
        return Feature(degrees, label=label, tip=tip, key=key)


def _visible(bits: BaseGeometry) -> BaseGeometry:
    parts = shapely.get_parts(bits)
    return MultiPolygon(list(parts[shapely.area(parts) >= BIT_M2]))


def _edge(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry | None:
    """Return the line between two sectors, if they meet along one."""
    shared = one.boundary.intersection(other.boundary.buffer(0.05))
    return shared if shared.length > 1 else None
