"""Where the next hours do most good: for each pair which water, how deep, and why."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import shapely

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError
from sweptwater.jobs.finds import FindLine, find_lines
from sweptwater.jobs.next_boats import Boat, Hours, boats_of, share_boats
from sweptwater.jobs.next_rows import NextRow, next_rows
from sweptwater.jobs.next_words import lesson_texts, remarks
from sweptwater.jobs.opened import Opened, Watch, open_folder, parse_day, unwatched
from sweptwater.jobs.searched_by import SearchedPatch, searched_patches
from sweptwater.jobs.searching import Searching, look_at_searching
from sweptwater.offers.noted import wind_at
from sweptwater.offers.sky import Sky, parse_sky
from sweptwater.offers.wind import Wind, parse_wind
from sweptwater.plan.hours import even_hours
from sweptwater.practice.outing import Drogue
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
        Of small shoals that may be anywhere in this water: how likely one would have
        shown itself by now, and after these hours.
    even_hours
        So many hours of searching, spread evenly over water and layers, would do as
        much; None if none would.
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
    rows = list(next_rows(searching, shared, finds))
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
