"""The coverage page: what is missing, the map, and the same figures in tables."""

from collections.abc import Callable, Iterator

from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from sweptwater.jobs.coverage import Sight
from sweptwater.jobs.opened import local_time
from sweptwater.jobs.places import DriftLine, drift_lines
from sweptwater.jobs.unfished import PieceLine, found_pieces
from sweptwater.paper import looks
from sweptwater.paper.layers import Column, Feature, Layer, Page, Row, Table
from sweptwater.paper.looks import Look
from sweptwater.paper.page import render_page
from sweptwater.practice.settings import Spread
from sweptwater.swept.unfished import Piece
from sweptwater.units import (
    System,
    area_text,
    compass_point,
    duration_text,
    length_text,
    share_text,
)

LISTED = 40
"""So many unfished pieces stand in the table; the map shows them all."""

SAFETY = (
    "Before anyone goes out: buoyancy aids worn and kill cord on; no boat out in more "
    "wind than its crew and the venue allow; off the water and carbon rods down at the "
    "first thunder; cold water disables within minutes; ashore before dark. The "
    "venue's rules and its rangers decide."
)


def coverage_page(sight: Sight) -> str:
    """Return the page of what has been fished, as one HTML file."""
    return render_page(_Builder(sight).page())


class _Builder:
    """What the parts of one page share: the sight, its units and its frame."""

    def __init__(self, sight: Sight) -> None:
        self.sight = sight
        self.opened = sight.opened
        self.units: System = sight.opened.settings.units
        _, pieces, lines = found_pieces(sight.opened, sight.stack.once)
        self.pieces: list[tuple[Piece, PieceLine]] = list(
            zip(pieces, lines, strict=True)
        )
        self.drifts = drift_lines(sight.opened, sight.boats)

    def page(self) -> Page:
        report = self.sight.report
        return Page(
            title=f"{report.practice}: fished and not fished",
            lead=self.lead(),
            date_line=self.date_line(),
            units=self.units,
            facts=(
                (share_text(report.fished_share), "of the water fished"),
                (area_text(report.water_m2 - report.fished_m2, self.units), "unfished"),
                (str(report.drifts), "drifts"),
                (
                    duration_text(sum(line.fishing_s for line in report.boats)),
                    "fished by all boats",
                ),
            ),
            layers=tuple(self.layers()),
            tables=(
                self.pieces_table(),
                self.sectors_table(),
                self.boats_table(),
                self.banks_table(),
                self.drifts_table(),
            ),
            cautions=tuple(self.cautions()),
            notes=self.notes(),
        )

    def lead(self) -> str:
        if not self.sight.boats:
            return "No boat has been out yet: all of the water is unfished."
        if not self.pieces:
            return "No piece of water worth a visit has been left alone."
        _, first = self.pieces[0]
        count = len(self.pieces)
        where = f"in sector {first.sector}" if first.sector else f"near {first.near}"
        whose = f", {first.pair}'s" if first.pair else ""
        left = "piece of water has" if count == 1 else "pieces of water have"
        return (
            f"{count} {left} been left alone; the largest, "
            f"{area_text(first.area_m2, self.units)}, lies {where}{whose}."
        )

    def date_line(self) -> str:
        report = self.sight.report
        days = sorted({boat.day for boat in self.sight.boats})
        when = "No day yet"
        if days:
            when = " and ".join(
                f"{day.day} {day:%B %Y}" for day in dict.fromkeys((days[0], days[-1]))
            ).replace(" and ", " to ")
        who = f", {report.pair} only" if report.pair else ""
        return f"{when}{who}. {spread_text(self.opened.settings.spread, self.units)}"

    def cautions(self) -> Iterator[str]:
        report = self.sight.report
        for fault in report.faults:
            yield f"Not counted: {fault.rstrip('.?')}."
        for boat in report.missing:
            yield f"There is no track from {boat}: what they fished is not here."
        for line in report.boats:
            who = f"{line.pair} on {line.day.day} {line.day:%B}"
            if line.unknown_s >= 300:
                yield (
                    f"{who}: {duration_text(line.unknown_s)} of the record are missing."
                )
            if line.doubtful_s >= 300:
                yield (
                    f"{who}: {duration_text(line.doubtful_s)} counted as fishing may "
                    "have been slow motoring."
                )
        if not self.opened.sectors:
            yield "The water is not divided yet, so that no piece is anybody's job."

    def notes(self) -> tuple[str, ...]:
        shares = self.sight.report.share_if_cast
        return (
            "Fished is what the rods could reach from the boat while it drifted; water "
            "that a boat only motored across does not count. With casts a quarter "
            f"shorter {share_text(shares['shorter'])} of the water would be fished, a "
            f"quarter longer {share_text(shares['longer'])}.",
            "Fished once and blank proves little: other light, or another depth, may "
            "tell otherwise.",
            f"A bank's water reaches from the stones to "
            f"{length_text(self.opened.settings.banks.water_m, self.units)} out; bank "
            "is done where at least half of the water before it is fished.",
            SAFETY,
        )

    def layers(self) -> Iterator[Layer]:
        venue, stack = self.opened.venue, self.sight.stack
        yield Layer("water", "Water", (self.feature(venue.water),), looks.WATER)
        yield self.unfished_layer()
        for number, (band, shape) in enumerate(stack.bands.items(), 1):
            title = ("Fished once", "Fished twice", "Fished three times or more")
            tip = f"{title[number - 1]}\n{area_text(shape.area, self.units)}"
            features = () if shape.is_empty else (self.feature(shape, tip=tip),)
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
        yield self.drifts_layer()
        yield from self.banks_layers()
        yield self.sectors_layer()
        yield self.places_layer("jetty", "Jetties", looks.JETTY)
        yield self.places_layer("mark", "Marks", looks.MARK)

    def unfished_layer(self) -> Layer:
        return Layer(
            "unfished",
            "Nobody has been here",
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

    def drifts_layer(self) -> Layer:
        paths = [
            LineString(list(zip(drift.easting, drift.northing, strict=True)))
            for boat in self.sight.boats
            for drift in boat.afloat.drifts
        ]
        return Layer(
            "drifts",
            "Drifts",
            tuple(
                self.feature(path, tip=self.drift_tip(line), key=_drift_key(line))
                for path, line in zip(paths, self.drifts, strict=True)
            ),
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
        names = list(sectors)
        edges = [
            self.feature(edge)
            for index, name in enumerate(names)
            for other in names[index + 1 :]
            if (edge := _edge(sectors[name], sectors[other])) is not None
        ]
        areas = [
            Feature(
                self.opened.venue.frame.degrees(shape),
                label=f"{name} {self.opened.pair_of.get(name, '')}".strip(),
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

    def pieces_table(self) -> Table:
        rows = [
            Row(
                (
                    str(line.number),
                    area_text(line.area_m2, self.units),
                    length_text(line.diameter_m, self.units),
                    "\u00a0".join(filter(None, (line.sector, line.pair))) or "-",
                    line.near,
                ),
                key=f"piece-{line.number}",
            )
            for _, line in self.pieces[:LISTED]
        ]
        more = len(self.pieces) - len(rows)
        least = area_text(self.opened.settings.unfished_m2, self.units)
        return Table(
            "Unfished water, largest first",
            _columns("Piece>", "Area>", "Width>", "Whose", "Near"),
            tuple(rows),
            note=f"Pieces under {least} are not listed."
            + (f" {more} more are on the map." if more else ""),
            beside=True,
        )

    def sectors_table(self) -> Table:
        report = self.sight.report
        area: Callable[[float], str] = lambda m2: area_text(m2, self.units)  # noqa: E731
        rows = [
            Row(
                (
                    f"{line.sector} {line.pair}".strip(),
                    area(line.water_m2),
                    share_text(line.fished_share),
                    *(area(line.drifts_over[band]) for band in ("1", "2", "3+")),
                    length_text(line.bank_m, self.units),
                    length_text(line.bank_fished_m, self.units),
                ),
                key=f"sector-{line.sector}",
            )
            for line in report.sectors
        ]
        total = Row(
            (
                "All",
                area(report.water_m2),
                share_text(report.fished_share),
                *(area(report.drifts_over[band]) for band in ("1", "2", "3+")),
                length_text(sum(b.length_m for b in report.banks), self.units),
                length_text(sum(b.done_m for b in report.banks), self.units),
            ),
            total=True,
        )
        return Table(
            "The sectors",
            _columns(
                *("Sector", "Water>", "Fished>", "Once>", "Twice>", "3 or more>"),
                *("Bank>", "Bank done>"),
            ),
            (*rows, total),
        )

    def boats_table(self) -> Table:
        return Table(
            "The boats, day by day",
            _columns(
                *("Boat", "Out>", "Back>", "Fishing>", "Motoring>", "Ashore>"),
                *("Unknown>", "Drifts>", "Drifted>", "Swept>", "New>"),
            ),
            tuple(
                Row(
                    (
                        f"{line.pair}, {line.day.day} {line.day:%b}",
                        f"{local_time(line.start_s, self.opened.settings):%H:%M}",
                        f"{local_time(line.end_s, self.opened.settings):%H:%M}",
                        duration_text(line.fishing_s),
                        duration_text(line.motoring_s),
                        duration_text(line.ashore_s),
                        duration_text(line.unknown_s),
                        str(line.drifts),
                        length_text(line.drift_m, self.units),
                        area_text(line.swept_m2, self.units),
                        area_text(line.new_m2, self.units),
                    )
                )
                for line in self.sight.report.boats
            ),
        )

    def banks_table(self) -> Table:
        return Table(
            "The banks",
            _columns("Bank", "Sector", "Length>", "Done>", "Water fished>", "Last"),
            tuple(
                Row(
                    (
                        str(line.bank),
                        line.sector or "-",
                        length_text(line.length_m, self.units),
                        length_text(line.done_m, self.units),
                        share_text(line.fished_m2 / line.water_m2),
                        f"{line.last_day.day} {line.last_day:%b}"
                        if line.last_day
                        else "never",
                    ),
                    key=f"bank-{line.bank}",
                )
                for line in self.sight.report.banks
            ),
            note="Numbered from the first jetty, clockwise; then the islands.",
        )

    def drifts_table(self) -> Table:
        return Table(
            "The drifts",
            _columns(
                *("Drift", "From>", "To>", "Length>", "Towards", "Swept>"),
                "From near",
            ),
            tuple(
                Row(
                    (
                        f"{line.pair} {line.number}, {line.day.day} {line.day:%b}",
                        line.start[11:16],
                        line.end[11:16],
                        length_text(line.length_m, self.units),
                        compass_point(line.course_deg),
                        area_text(line.swept_m2, self.units),
                        line.near,
                    ),
                    key=_drift_key(line),
                )
                for line in self.drifts
            ),
        )

    def feature(
        self, shape: BaseGeometry, *, label: str = "", tip: str = "", key: str = ""
    ) -> Feature:
        degrees = self.opened.venue.frame.degrees(shape)
        return Feature(degrees, label=label, tip=tip, key=key)


def spread_text(spread: Spread, units: System) -> str:
    """Return what a boat's rods are taken to reach, in a sentence."""
    if spread.shape == "round":
        return f"Rods reach {length_text(spread.reach_m, units)} all round the boat."
    return (
        f"Two rods cast {length_text(spread.cast_m, units)}, up to "
        f"{spread.half_angle_deg:.0f} degrees either side of downwind: a strip "
        f"{length_text(spread.width_m, units)} wide."
    )


def _drift_key(line: DriftLine) -> str:
    return f"drift-{line.pair}-{line.day}-{line.number}"


def _columns(*titles: str) -> tuple[Column, ...]:
    """Return columns; a title that ends in > is of figures."""
    return tuple(Column(t.removesuffix(">"), numeric=t.endswith(">")) for t in titles)


def _edge(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry | None:
    """Return the line between two sectors, if they meet along one."""
    shared = one.boundary.intersection(other.boundary.buffer(0.05))
    return shared if shared.length > 1 else None
