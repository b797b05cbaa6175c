"""Where the next hours do most good: for each pair which water, how deep, and why."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import shapely

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError
from sweptwater.jobs.finds import FindLine, find_lines
from sweptwater.jobs.next_boats import Boat, Hours, boats_of, share_boats
from sweptwater.jobs.next_words import lesson_texts, remarks, why_confirm, why_text
from sweptwater.jobs.opened import Opened, Watch, open_folder, parse_day, unwatched
from sweptwater.jobs.searched_by import SearchedPatch, patch_text, searched_patches
from sweptwater.jobs.searching import Searching, look_at_searching
from sweptwater.offers.noted import wind_at
from sweptwater.offers.sky import Sky, parse_sky
from sweptwater.offers.wind import Wind, parse_wind
from sweptwater.plan.hours import Spell, even_hours
from sweptwater.practice.outing import Drogue
from sweptwater.search.belief import Belief
from sweptwater.search.finds import Find
from sweptwater.water.shapes import polygonal

MOST_HOURS = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AskNext:
    """What the captain asks for.

    Parameters
    ----------
    hours
        Boat-hours of all boats together, lunch and motoring included; else a day of
        each boat as the settings have it.
    day
        The day to come, like 2027-06-09; else the next.
    wind, sky
        Of that day, as far as they are known.
    pair
        Only this one.
    drogue
        Where it usually is; else as the settings say.
    across
        Whether pairs may go beyond their own sectors.
    """

    hours: float | None = None
    day: str | None = None
    wind: str | None = None
    sky: str | None = None
    pair: str | None = None
    drogue: Drogue | None = None
    across: bool = False


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
        How likely fish there would have shown themselves by now, and after it.
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


@dataclass(frozen=True, slots=True)
class PairHours:
    """How a pair's hours are spent."""

    pair: str
    sectors: tuple[str, ...]
    hours: float
    search_hours: float
    confirm_hours: float
    motoring_hours: float
    """For running out, from one water to the next, and home."""
    idle_hours: float
    """For lunch, and kept in hand."""


@dataclass(frozen=True, slots=True)
class Next:
    """Where the next hours do most good.

    Parameters
    ----------
    day, hours, wind_from_deg, wind_m_s, sky
        What it is for; None where it is not known.
    pairs, rows
        How each pair's hours are spent, and on what.
    chance_now, chance_after
        Of fish that may be anywhere in this water: how likely one would have shown
        itself by now, and after these hours.
    even_hours
        So many hours spread evenly over water and layers would do as much; None if none
        would.
    searched
        Piece by piece of the water, how surely it has been searched.
    finds
        What was found, and what it is worth by now.
    lessons
        What offers have taught, a sentence each.
    remarks
        What was supposed, or could not be counted with.
    """

    practice: str
    day: date
    hours: float
    wind_from_deg: float | None
    wind_m_s: float | None
    sky: str | None
    across: bool
    pairs: tuple[PairHours, ...]
    rows: tuple[NextRow, ...]
    chance_now: float
    chance_after: float
    even_hours: float | None
    searched: tuple[SearchedPatch, ...]
    finds: tuple[FindLine, ...]
    lessons: tuple[str, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class NextSight:
    """All that a page of where to go next shows.

    Parameters
    ----------
    searching
        What was searched and is believed.
    shared
        How the hours are spent.
    report
        The figures.
    patches
        The patch of water that each row of the report is about.
    """

    searching: Searching
    shared: Hours
    report: Next
    patches: tuple[int, ...]

    @property
    def opened(self) -> Opened:
        """The practice."""
        return self.searching.opened

    def water_of(self, patch: int) -> Area:
        """Return the water of a patch, in metres: its bank's, or its squares'."""
        squares, opened = self.searching.squares, self.opened
        told = squares.patches[patch]
        if told.bank is None:
            return squares.water_of(squares.patch == patch)
        water = next(bank.water for bank in opened.banks if bank.number == told.bank)
        if told.sector is None:
            return water
        sector = opened.sectors[told.sector]
        return polygonal(shapely.intersection(water, sector))


def look_ahead(folder: Path, ask: AskNext, *, watch: Watch = unwatched) -> NextSight:
    """Return where the next hours do most good.

    Raises
    ------
    SweptwaterError
        If the folder is unusable, or day, wind, sky, hours or pair are none.
    """
    day = parse_day(ask.day) if ask.day else None
    sky = parse_sky(ask.sky) if ask.sky else None
    wind = parse_wind(ask.wind) if ask.wind else None
    opened = open_folder(folder)
    pair = opened.settings.pair_named(ask.pair) if ask.pair else None
    searching = look_at_searching(opened, day=day, sky=sky, wind=wind, watch=watch)
    wind = wind or _noted_wind(searching)
    finds = find_lines(searching)
    boats = boats_of(
        searching,
        [one.find for one in finds if one.confirm],
        hours=_hours(ask.hours),
        pair=pair,
        drogue=ask.drogue or opened.settings.boat.drogue,
        wind=wind,
        across=ask.across,
    )
    shared = share_boats(searching, boats)
    rows = list(_rows(searching, shared, finds))
    report = _report(searching, shared, finds, (wind, sky), ask.across)
    report = replace(report, rows=tuple(row for row, _ in rows))
    return NextSight(searching, shared, report, tuple(patch for _, patch in rows))


def _hours(hours: float | None) -> float | None:
    if hours is not None and not 0 < hours <= MOST_HOURS:
        raise PracticeError(
            f"{hours:g} hours cannot be shared out: say how many boat-hours there are, "
            "like --hours 24 for three boats and eight hours"
        )
    return hours


def _noted_wind(searching: Searching) -> Wind | None:
    """Return the wind that was noted of the day to come, if somebody did."""
    noon_s = searching.now_s + searching.opened.settings.day.afloat_s / 2
    return wind_at(searching.noted, searching.day, noon_s, "")


def _report(
    searching: Searching,
    shared: Hours,
    finds: Sequence[FindLine],
    weather: tuple[Wind | None, Sky | None],
    across: bool,
) -> Next:
    wind, sky = weather
    belief, after = searching.belief, shared.after
    gain = after.chance - belief.chance
    even_h = even_hours(belief, shared.boats[0].rates_m2_h, gain) if gain > 0 else None
    return Next(
        practice=searching.opened.settings.name,
        day=searching.day,
        hours=sum(boat.hours for boat in shared.boats),
        wind_from_deg=wind.from_deg if wind else None,
        wind_m_s=wind.speed_m_s if wind else None,
        sky=sky,
        across=across,
        pairs=tuple(_pair_hours(boat, shared) for boat in shared.boats),
        rows=(),
        chance_now=belief.chance,
        chance_after=after.chance,
        even_hours=even_h if even_h and np.isfinite(even_h) else None,
        searched=searched_patches(searching),
        finds=tuple(finds),
        lessons=tuple(lesson_texts(searching)),
        remarks=(*remarks(searching, wind), *searching.remarks),
    )


def _pair_hours(boat: Boat, shared: Hours) -> PairHours:
    spells = shared.spells[boat.pair]
    return PairHours(
        pair=boat.pair,
        sectors=boat.sectors,
        hours=boat.hours,
        search_hours=sum(spell.hours for spell in spells),
        confirm_hours=sum(hours for _, hours in boat.confirms),
        motoring_hours=shared.run_h[boat.pair],
        idle_hours=boat.idle_h,
    )


def _rows(
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
    layer = _layer_of(find, squares.layers)
    way = boat.ways[patch, layer]
    lon, lat = searching.opened.venue.frame.to_degrees(find.easting, find.northing)
    here = (squares.patch == patch) & (away <= 150.0)
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
        line=line.line or way.line,
        sink_in_s=way.sink_in_s,
        count_s=way.count_s,
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
