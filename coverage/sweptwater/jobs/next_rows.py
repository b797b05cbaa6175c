"""What each pair is to do next: its hours, water by water."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from sweptwater.jobs.finds import FindLine
from sweptwater.jobs.next_boats import Boat, Hours
from sweptwater.jobs.next_words import why_confirm, why_text
from sweptwater.jobs.searched_by import patch_text
from sweptwater.jobs.searching import Searching
from sweptwater.offers.flies import line_named
from sweptwater.offers.rate_map import BANDWIDTH_M
from sweptwater.plan.hours import Spell
from sweptwater.practice.outing import Drogue
from sweptwater.practice.tackle import INCH_M
from sweptwater.search.belief import Belief
from sweptwater.search.finds import Find


@dataclass(frozen=True, slots=True)
class NextRow:
    """Some hours of one pair on one piece of water: hours, metres, m/s, degrees.

    Parameters
    ----------
    pair, sector, bank
        Whose, and where: the bank's number, None in open water.
    place, lat, lon
        The same in words, and a place within it.
    what
        `search`, or `confirm` for a find that is tried again.
    find
        The number of that find.
    layer
        How deep to fish.
    hours
        How long, what passes between drifts included.
    chance_now, chance_after
        How likely a small shoal there would have shown itself by now, and after it.
    line, sink_in_s, count_s, drogue, drift_m_s, reaches
        What to fish it with: see `plan.setups`.
    bed_low_m, bed_high_m
        Between which depths most of the water is; None if nobody knows.
    before
        When it is to be done, by the clock; empty if it does not matter.
    why
        Why, in a few words.
    """

    pair: str
    sector: str | None
    bank: int | None
    place: str
    lat: float
    lon: float
    what: str
    find: int | None
    layer: str
    hours: float
    chance_now: float
    chance_after: float
    line: str
    sink_in_s: float
    count_s: float
    drogue: Drogue
    drift_m_s: float
    reaches: bool
    bed_low_m: float | None
    bed_high_m: float | None
    before: str
    why: str


def next_rows(
    searching: Searching, shared: Hours, finds: Sequence[FindLine]
) -> Iterator[tuple[NextRow, int]]:
    """Yield what each pair is to do, with the patch of water that it is about."""
    by_number = {one.find.number: one for one in finds}
    for boat in shared.boats:
        for number, hours in boat.confirms:
            yield _confirm_row(searching, boat, by_number[number], hours)
        for spell in sorted(shared.spells[boat.pair], key=lambda one: -one.gain):
            yield _search_row(searching, boat, spell)


def _search_row(searching: Searching, boat: Boat, spell: Spell) -> tuple[NextRow, int]:
    squares, opened = searching.squares, searching.opened
    patch = squares.patches[spell.patch]
    way = boat.ways[spell.patch, spell.layer]
    lon, lat = opened.venue.frame.to_degrees(patch.easting, patch.northing)
    bed = squares.bed_m(spell.patch)
    row = NextRow(
        pair=boat.pair,
        sector=patch.sector,
        bank=patch.bank,
        place=patch_text(opened, patch),
        lat=float(lat),
        lon=float(lon),
        what="search",
        find=None,
        layer=squares.layers[spell.layer],
        hours=spell.hours,
        chance_now=spell.now,
        chance_after=spell.after,
        line=way.line,
        sink_in_s=way.sink_in_s,
        count_s=way.count_s,
        drogue=way.drogue,
        drift_m_s=way.drift_m_s,
        reaches=way.reaches,
        bed_low_m=bed[0] if bed else None,
        bed_high_m=bed[1] if bed else None,
        before="",
        why=why_text(searching, spell.patch, spell.layer),
    )
    return row, spell.patch


def _confirm_row(
    searching: Searching, boat: Boat, line: FindLine, hours: float
) -> tuple[NextRow, int]:
    find, squares = line.find, searching.squares
    away = np.hypot(squares.easting - find.easting, squares.northing - find.northing)
    square = int(np.argmin(away))
    patch = int(squares.patch[square])
    # A fly that was let sink below the bed met them on it.
    deepest = int(squares.there[square].sum()) - 1
    layer = min(_layer_of(find, squares.layers), deepest)
    way = boat.ways[patch, layer]
    line_in_s, count_s = way.sink_in_s, way.count_s
    meant = line_named(line.line, searching.opened.settings.tackle.lines)
    if meant is not None:  # with the line that met them it is another count
        line_in_s = meant.sink_m_s / INCH_M
        count_s = way.depth_m / meant.sink_m_s if meant.sink_m_s else 0.0
    lon, lat = searching.opened.venue.frame.to_degrees(find.easting, find.northing)
    here = (squares.patch == patch) & (away <= BANDWIDTH_M)
    now = searching.belief.chance_in(here, layer)
    more = hours * boat.rates_m2_h[patch, layer] / max(here.sum(), 1)
    after = Belief(
        squares,
        searching.belief.before,
        searching.belief.factor + more / squares.area_m2,
    )
    bed = squares.bed_m(patch)
    row = NextRow(
        pair=boat.pair,
        sector=find.sector,
        bank=find.bank,
        place=line.place,
        lat=float(lat),
        lon=float(lon),
        what="confirm",
        find=find.number,
        layer=squares.layers[layer],
        hours=hours,
        chance_now=now,
        chance_after=after.chance_in(here, layer),
        line=line.line if meant is not None else way.line,
        sink_in_s=line_in_s,
        count_s=count_s,
        drogue=way.drogue,
        drift_m_s=way.drift_m_s,
        reaches=way.reaches,
        bed_low_m=bed[0] if bed else None,
        bed_high_m=bed[1] if bed else None,
        before=line.before,
        why=why_confirm(line),
    )
    return row, patch


def _layer_of(find: Find, layers: Sequence[str]) -> int:
    """Return the layer that met most of a find; the top one if nobody told."""
    known = [layers.index(name) for name in find.by_layer if name in layers]
    return known[0] if known else 0
