"""The coverage page: what is missing, the map, and the same figures in tables."""

from collections.abc import Iterator

import shapely
from shapely import MultiLineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.jobs.boat_tables import drift_key, memory_key, pair_key
from sweptwater.jobs.coverage_tables import coverage_tables, last_drifts
from sweptwater.jobs.coverage_words import (
    cautions,
    date_line,
    deep_text,
    lead_text,
    missing,
    not_told,
    notes,
    only_text,
    title_text,
    unswept_text,
)
from sweptwater.jobs.covered import Sight
from sweptwater.jobs.discreet import drift_path, motoring_ways, near_water
from sweptwater.jobs.listed import ToldDrift, span_text, told_drifts
from sweptwater.jobs.map_layers import (
    feature,
    places_layer,
    sectors_layer,
    water_layer,
    zones_layers,
)
from sweptwater.jobs.seasons import MOST_APART, by_boat_day
from sweptwater.jobs.unfished import PieceLine, found_pieces
from sweptwater.jobs.wording import day_text
from sweptwater.paper import looks
from sweptwater.paper.layers import Feature, Layer, Page, View
from sweptwater.paper.looks import Look
from sweptwater.paper.page import render_page
from sweptwater.swept.totals import first_come
from sweptwater.swept.unfished import Piece
from sweptwater.units import (
    System,
    area_text,
    compass_point,
    duration_text,
    length_text,
    share_text,
)
from sweptwater.water.shapes import GRID_M, polygonal

VIEWS = (
    View("often", "how often"),
    View("day", "its last day"),
    View("pair", "which pair"),
)

DRIFT_M, WAY_M = 0.2, 2.0
"""Drifts, and the ways between them, are drawn no finer than this."""

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
            sight.opened, sight.visited, sight.report.pairs_day
        )
        self.pieces: list[tuple[Piece, PieceLine]] = list(
            zip(pieces, lines, strict=True)
        )
        self.drifts = told_drifts(sight.opened, sight.boats, sight.memory)
        parts = sight.parts
        several = {"day": len(parts.by_day) > 1, "pair": len(parts.by_pair) > 1}
        self.ways = ["often", *(way for way, there in several.items() if there)]
        if len(self.ways) == 1:
            self.ways = []

    def page(self) -> Page:
        report, settings = self.sight.report, self.opened.settings
        pieces = [line for _, line in self.pieces]
        return Page(
            title=title_text(report),
            lead=lead_text(report, pieces, self.units),
            date_line=date_line(report, settings),
            units=self.units,
            missing=(
                *missing(report),
                *not_told([told.line for told in self.drifts]),
            ),
            facts=tuple(self.facts()),
            views=tuple(view for view in VIEWS if view.key in self.ways),
            views_title="Fished water by",
            layers=tuple(self.layers()),
            tables=coverage_tables(
                report,
                pieces,
                [told.line for told in self.drifts],
                settings,
                self.opened.practice.sectors,
            ),
            cautions=tuple(cautions(report)),
            notes=notes(report, settings),
        )

    def facts(self) -> Iterator[tuple[str, str]]:
        report = self.sight.report
        yield share_text(report.fished_share), "of the water fished"
        told = sum(line.drifts for line in report.remembered)
        if told:
            yield f"+ {share_text(report.remembered_share)}", "from memory"
        yield area_text(self.unfished.area, self.units), "unfished"
        drifts = f"{report.drifts:,} + {told:,}" if told else f"{report.drifts:,}"
        yield drifts, "drifts recorded + from memory" if told else "drifts"
        yield (
            duration_text(sum(line.fishing_s for line in report.boats)),
            f"fished by {report.pair or 'all boats'} {deep_text(report)}".strip(),
        )

    def layers(self) -> Iterator[Layer]:
        yield water_layer(self.opened)
        yield from self.unfished_layers()
        yield from self.often_layers()
        if "day" in self.ways:
            yield from self.days_layers()
        if "pair" in self.ways:
            yield from self.pairs_layers()
        yield from self.memory_layers()
        yield from zones_layers(self.opened)
        yield self.ways_layer()
        yield from self.drifts_layers()
        yield from self.banks_layers()
        yield sectors_layer(self.opened, self.sight.report.pairs_day)
        yield places_layer(self.opened, "jetty", "Jetties", looks.JETTY)
        yield places_layer(self.opened, "mark", "Marks", looks.MARK)

    def often_layers(self) -> Iterator[Layer]:
        bands = self.sight.stack.bands
        for number, (band, shape) in enumerate(bands.items(), 1):
            title = ("Fished once", "Fished twice", "Fished three times or more")
            yield self.swept_layer(
                (f"swept-{band.rstrip('+')}", title[number - 1]),
                shape,
                looks.swept(number),
                view="often" if self.ways else "",
            )

    def days_layers(self) -> Iterator[Layer]:
        """Yield the swept water by its last day: the last few days, then all before."""
        by_day = self.sight.parts.by_day
        named = sorted(by_day, reverse=True)[: len(looks.NEWEST)]
        last = first_come({day: by_day[day] for day in named})
        for day, look in zip(named, looks.NEWEST, strict=False):
            told = (f"day-{day}", f"Last fished on {day_text(day)}")
            yield self.swept_layer(told, last[day], look, view="day")
        lately = shapely.union_all([by_day[day] for day in named], grid_size=GRID_M)
        yield self.swept_layer(
            ("day-before", f"Last fished before {day_text(named[-1])}"),
            polygonal(
                shapely.difference(self.sight.stack.once, lately, grid_size=GRID_M)
            ),
            looks.EARLIER,
            view="day",
        )

    def pairs_layers(self) -> Iterator[Layer]:
        parts = self.sight.parts
        for number, (pair, shape) in enumerate(parts.alone.items()):
            told = (pair_key(pair), f"Fished by {pair} alone")
            look = looks.PAIRS[number % len(looks.PAIRS)]
            yield self.swept_layer(told, shape, look, view="pair", key=pair_key(pair))
        yield self.swept_layer(
            ("pairs", "Fished by several pairs"),
            parts.shared,
            looks.SEVERAL_PAIRS,
            view="pair",
        )

    def swept_layer(
        self,
        told: tuple[str, str],
        shape: Area,
        look: Look,
        *,
        view: str,
        key: str = "",
    ) -> Layer:
        """Return a layer of swept water from its key and its title."""
        drawn = _visible(shape)
        tip = f"{told[1]}\n{area_text(shape.area, self.units)}"
        features = () if drawn.is_empty else (self.feature(drawn, tip=tip, key=key),)
        shown = view in ("", "often")
        return Layer(*told, features, look, shown=shown, view=view)

    def unfished_layers(self) -> Iterator[Layer]:
        only = only_text(self.sight.report)
        pieces = shapely.union_all([piece.shape for piece, _ in self.pieces])
        bits = _visible(self.unfished.difference(pieces))
        yield Layer(
            "unfished",
            f"Not fished {only}".strip() if only else "Unfished",
            tuple(
                self.feature(
                    piece.shape,
                    label=str(line.number),
                    tip=f"Piece {line.number}\n{area_text(line.area_m2, self.units)}, "
                    f"{length_text(line.diameter_m, self.units)} wide, {line.near}"
                    + (f"\nsector {line.sector}" if line.sector else "")
                    + (f", {line.pair}" if line.sector and line.pair else ""),
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
            f"Bits not fished {only}" if only else "Unfished bits",
            () if bits.is_empty else (self.feature(bits),),
            looks.UNFISHED_BIT,
            note="too small or too narrow to be numbered",
        )

    def ways_layer(self) -> Layer:
        boats = self.sight.boats
        told = motoring_ways(boats, near_water(self.opened))
        ways = [
            (
                MultiLineString(parts),
                f"{boat.pair}, motoring\n{day_text(boat.day)}",
            )
            for boat, parts in zip(boats, told, strict=True)
        ]
        return Layer(
            "under-way",
            "Motoring",
            tuple(
                self.feature(way.simplify(WAY_M, preserve_topology=False), tip=tip)
                for way, tip in ways
            ),
            looks.UNDER_WAY,
            shown=False,
        )

    def memory_layers(self) -> Iterator[Layer]:
        """Yield the water that only memory knows to be swept, by who told of it."""
        told = {(one.day, one.pair): one.stack.once for one in self.sight.memory}
        features, unswept = [], unswept_text(self.sight.report)
        for (day, pair), shape in first_come(told).items():
            new = polygonal(shape.difference(self.sight.stack.once))
            if not (drawn := _visible(new)).is_empty:
                tip = (
                    f"From memory\n{pair}, {day_text(day)}\n"
                    f"{area_text(new.area, self.units)} that {unswept}"
                )
                key = memory_key(day, pair)
                features.append(self.feature(drawn, tip=tip, key=key))
        yield Layer(
            "memory",
            "From memory",
            tuple(features),
            looks.REMEMBERED,
            note=f"that {unswept}",
        )

    def drifts_layers(self) -> Iterator[Layer]:
        """Yield the drifts of the last days above the quieter ones before."""
        days = {line.day for line in last_drifts([told.line for told in self.drifts])}
        layers: dict[str, list[Feature]] = {"last": [], "earlier": [], "memory": []}
        crowded, crowd = len(self.drifts) > MOST_APART, []
        near = near_water(self.opened)
        for told in self.drifts:
            line, path = told.line, drift_path(told.drift, near)
            thin = path.simplify(DRIFT_M, preserve_topology=False)
            recorded = "last" if line.day in days else "earlier"
            kind = "memory" if line.source == "memory" else recorded
            if thin.is_empty:  # nowhere near the water
                continue
            if crowded and kind == "earlier":
                crowd.append((line, thin))
            else:
                tip, key = self.drift_tip(told), drift_key(line)
                layers[kind].append(self.feature(thin, tip=tip, key=key))
        for ways, tip, key in by_boat_day(crowd):
            layers["earlier"].append(self.feature(ways, tip=tip, key=key))
        yield Layer(
            "drifts-earlier",
            "Earlier drifts",
            tuple(layers["earlier"]),
            looks.EARLIER_DRIFT,
            note="before those in the table",
        )
        yield Layer(
            "drifts",
            "Drifts",
            tuple(layers["last"]),
            looks.DRIFT,
            note="dot to arrow",
        )
        yield Layer(
            "drifts-memory",
            "Drifts from memory",
            tuple(layers["memory"]),
            looks.REMEMBERED_DRIFT,
            note="straight from place to place",
        )

    def drift_tip(self, told: ToldDrift) -> str:
        line = told.line
        memory = f", from memory\n{told.way}" if told.way else ""
        return (
            f"{line.pair}, drift {line.number}{memory}\n{day_text(line.day)}, "
            f"{span_text(line)}\n"
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
                    label=line.name or str(line.bank),
                    tip=f"B{bank.title[1:]}\n{length_text(line.length_m, self.units)}, "
                    f"{length_text(line.done_m, self.units)} of it done",
                    key=f"bank-{line.bank}",
                )
                for bank, line in banks
            ),
            looks.BANK,
            shown=False,
            labels="names",
        )

    def feature(
        self, shape: BaseGeometry, *, label: str = "", tip: str = "", key: str = ""
    ) -> Feature:
        return feature(self.opened, shape, label=label, tip=tip, key=key)


def _visible(bits: BaseGeometry) -> BaseGeometry:
    parts = shapely.get_parts(bits)
    return MultiPolygon(list(parts[shapely.area(parts) >= BIT_M2]))
