"""The coverage page: what is missing, the map, and the same figures in tables."""

from collections.abc import Iterator

import shapely
from shapely import MultiLineString
from shapely.geometry.base import BaseGeometry

from sweptwater.jobs.boat_tables import drift_key, memory_key
from sweptwater.jobs.coverage_tables import coverage_tables, last_drifts
from sweptwater.jobs.coverage_views import swept_layers, views_of, visible
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
from sweptwater.paper.layers import Feature, Layer, Page
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
from sweptwater.water.shapes import polygonal

DRIFT_M, WAY_M = 0.2, 2.0
"""Drifts, and the ways between them, are drawn no finer than this."""


def page_of(sight: Sight) -> Page:
    """Return what the page of what has been fished shows."""
    return _Builder(sight).page()


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
            views=views_of(self.sight),
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
        yield from swept_layers(self.sight)
        yield from self.memory_layers()
        yield from zones_layers(self.opened)
        yield self.ways_layer()
        yield from self.drifts_layers()
        yield from self.banks_layers()
        yield sectors_layer(self.opened, self.sight.report.pairs_day)
        yield places_layer(self.opened, "jetty", "Jetties", looks.JETTY)
        yield places_layer(self.opened, "mark", "Marks", looks.MARK)

    def unfished_layers(self) -> Iterator[Layer]:
        only = only_text(self.sight.report)
        pieces = shapely.union_all([piece.shape for piece, _ in self.pieces])
        bits = visible(self.unfished.difference(pieces))
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
            if not (drawn := visible(new)).is_empty:
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
