"""What the plans of a day rest on, in metres."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from pathlib import Path

import shapely

from sweptwater.arrays import Area, Floats
from sweptwater.errors import PracticeError
from sweptwater.jobs.boats import Boats, Reader, read_boat_days
from sweptwater.jobs.learned import Learned, learned, leeway_for
from sweptwater.jobs.merging import merged_stack
from sweptwater.jobs.next import AskNext
from sweptwater.jobs.next_plan import Orders, orders_for
from sweptwater.jobs.note import read_noted
from sweptwater.jobs.opened import Opened, Watch, open_folder, parse_day, unwatched
from sweptwater.jobs.recall import Memory, recall
from sweptwater.jobs.searching import day_after
from sweptwater.jobs.warming import warm
from sweptwater.jobs.wording import day_text
from sweptwater.offers.noted import wind_at
from sweptwater.offers.wind import Wind, parse_wind
from sweptwater.plan.candidates import Candidates
from sweptwater.plan.day import DayPlan, union
from sweptwater.plan.laid import missed_m2 as missed_m2_of
from sweptwater.plan.lay import Lay, Wish
from sweptwater.plan.leeway import Leeway
from sweptwater.plan.turns import Turn, wind_turns
from sweptwater.practice.outing import Drogue
from sweptwater.practice.plans import read_plans
from sweptwater.swept.memory import beyond, with_memory
from sweptwater.swept.unfished import unfished_water
from sweptwater.water.ways import Ways

LONGEST_DAY_S = 24 * 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What the captain asks for.

    Parameters
    ----------
    day
        The day to plan, like 2027-06-09; else the next one of the rota.
    wind
        Like SW4 or 240@12mph; else what was noted of that day.
    hours
        Afloat, lunch and motoring included; else as the settings say.
    pattern
        How to lay drifts along banks.
    pair
        Only this one.
    drogue
        Whether it is in; else as the settings say.
    across
        Whether pairs may fish beyond their own sectors.
    where_next
        Whether drifts are laid where the next hours do most good, not over what nobody
        has fished.
    sky
        The light of that day, as far as that matters to it.
    """

    day: str | None = None
    wind: str | None = None
    hours: float | None = None
    pattern: Wish = "auto"
    pair: str | None = None
    drogue: Drogue | None = None
    across: bool = False
    where_next: bool = False
    sky: str | None = None


@dataclass(frozen=True)
class PairDay:
    """What one pair is to do, in metres: what its sheet and its report are made from.

    Parameters
    ----------
    pair, sectors
        Whose, and the names of its sectors on that day.
    sector
        Their fishable water.
    lay
        How its drifts are laid: the wind, and how its boat goes.
    possible
        The drifts among which was chosen.
    plan
        The day.
    new
        The unfished water that it sweeps.
    layers
        Where drifts are laid for what they may meet: for each, the layers of both rods.
    """

    pair: str
    sectors: tuple[str, ...]
    sector: Area
    lay: Lay
    possible: Candidates
    plan: DayPlan
    new: Area
    layers: tuple[tuple[int, ...], ...] = ()

    @property
    def expected_m2(self) -> float:
        """The unfished water to be expected of it, since no boat keeps its line."""
        drifts = [stop.drift for stop in self.plan.stops]
        swept_m2 = self.plan.swept.area
        if not swept_m2 > 0:
            return 0.0
        missed_m2 = missed_m2_of(self.lay, drifts, self.lay.leeway.off_sd_deg)
        return self.new.area * max(0.0, 1 - missed_m2 / swept_m2)


@dataclass(frozen=True)
class Planning:
    """All that the plans of one day rest on.

    Parameters
    ----------
    opened, ask
        The practice, and what was asked.
    day, wind
        For which the drifts are laid.
    unfished
        What no boat of an earlier day has swept, recorded or remembered.
    learned
        What the boats' own drifts say of their speed.
    orders
        Where the next hours do most good; None if that was not asked.
    """

    opened: Opened
    ask: Ask
    day: date
    wind: Wind
    unfished: Area
    learned: Learned
    orders: Orders | None = None

    @property
    def drogue(self) -> Drogue:
        """Whether drifts are planned with the drogue in the water."""
        usual = self.opened.settings.boat.drogue
        return self.ask.drogue or (self.orders.drogue if self.orders else usual)

    @property
    def afloat_s(self) -> float:
        """The time from leaving the jetty to being back."""
        hours, day = self.ask.hours, self.opened.settings.day
        if hours is None:
            return day.afloat_s
        least_s = day.lunch_s + day.spare_s
        if not least_s < 3600 * hours <= LONGEST_DAY_S:
            raise PracticeError(
                f"{hours:g} hours cannot be planned: lunch and what is kept in hand "
                f"take {least_s / 60:.0f} minutes of them, and a day has 24"
            )
        return 3600 * hours

    @property
    def leave(self) -> datetime:
        """When the boats leave the jetty, in the practice's zone."""
        settings = self.opened.settings
        return datetime.combine(self.day, settings.day.leave, settings.zone)

    @cached_property
    def bank_water(self) -> Area:
        """The water of all banks."""
        return union([bank.water for bank in self.opened.banks])

    @cached_property
    def bands(self) -> Mapping[int, Area]:
        """Each bank's band along which a boat drifts."""
        return {bank.number: bank.band for bank in self.opened.banks}

    @cached_property
    def ways(self) -> Ways:
        """The water that boats run over: not through zones out of bounds."""
        return Ways(self.opened.venue.fishable)

    @property
    def jetty(self) -> Floats:
        """Where the boats leave from; without a jetty, a place on the shore."""
        return self.opened.jetty

    def lay(self, wind: Wind, leeway: Leeway) -> Lay:
        """Return how drifts are laid in a wind."""
        venue = self.opened.venue
        keep_off = shapely.union(venue.out_of_bounds, venue.bank_anglers)
        return Lay(
            venue.water,
            venue.fishable,
            keep_off,
            self.opened.settings,
            wind,
            leeway,
        )

    def leeway(self, pair: str, drogue: Drogue | None = None) -> Leeway:
        """Return how a pair's boat drifts, with the drogue as planned or otherwise."""
        return leeway_for(self.learned, pair, drogue or self.drogue)

    def turns(self, day: PairDay) -> tuple[Turn, ...]:
        """Return what the pair could do if the wind blew from elsewhere."""
        leeway = day.lay.leeway
        return wind_turns(
            lambda wind: self.lay(wind, leeway),
            day.sector,
            self.bands,
            self.ways,
            self.jetty,
            self.wind.speed_m_s,
        )


def planning(folder: Path, ask: Ask, *, watch: Watch = unwatched) -> Planning:
    """Return what the plans of a day rest on.

    Raises
    ------
    SweptwaterError
        If the folder is unusable, the water is not divided, or day or wind are not
        known.
    """
    opened = open_folder(folder)
    if not opened.sectors and not ask.across:
        raise PracticeError(
            "the water is not divided, so nobody knows whose is which: run sweptwater "
            "divide first, or plan with --across"
        )
    reader, originals = Reader(opened), opened.practice.originals
    warm(reader, originals, watch=watch)
    boats = read_boat_days(opened, originals, reader=reader, watch=watch)
    memory = recall(opened, boats.days)
    fished = {boat.day for boat in boats.days} | {told.day for told in memory.days}
    day = parse_day(ask.day) if ask.day else opened.day_to_come(fished)
    if day is None and ask.where_next and boats.days:
        day = day_after(opened, boats.days)
    if day is None:
        raise PracticeError(
            "the day to plan is not known: say it, like --day 2027-06-09"
        )
    plans, _ = read_plans(folder)
    given = {p.day: Wind(p.wind_from_deg, p.wind_m_s) for p in plans if p.day != day}
    known = learned(opened, boats.days, given=given)
    unfished = _unfished(opened, boats, memory, day)
    base = Planning(opened, ask, day, _wind(opened, ask, day), unfished, known)
    return _with_orders(folder, base, watch) if ask.where_next else base


def _with_orders(folder: Path, base: Planning, watch: Watch) -> Planning:
    """Return the same with where the next hours do most good."""
    ask, wind = base.ask, base.wind
    boats = base.opened.settings.afloat_on(base.day)
    asked = AskNext(
        hours=base.afloat_s / 3600 * (1 if ask.pair else max(len(boats), 1)),
        day=base.day.isoformat(),
        wind=f"{wind.from_deg:g}@{wind.speed_m_s:g}m/s",
        sky=ask.sky,
        pair=ask.pair,
        drogue=ask.drogue,
        across=ask.across,
    )
    usual = ask.drogue or base.opened.settings.boat.drogue
    return replace(base, orders=orders_for(folder, asked, usual=usual, watch=watch))


def stay_ashore(plan: Planning) -> bool:
    """Tell whether there is more wind than this practice goes afloat in."""
    return plan.wind.speed_m_s > plan.opened.settings.day.most_wind_m_s


def _wind(opened: Opened, ask: Ask, day: date) -> Wind:
    if ask.wind:
        return parse_wind(ask.wind)
    settings = opened.settings
    noon = datetime.combine(day, settings.day.leave, settings.zone) + timedelta(
        seconds=settings.day.afloat_s / 2
    )
    wind = wind_at(read_noted(opened), day, noon.timestamp(), "")
    if wind is None:
        raise PracticeError(
            f"the wind of {day_text(day)} is not known: say it, like --wind SW4 or "
            "--wind 240@12mph"
        )
    return wind


def _unfished(opened: Opened, boats: Boats, memory: Memory, day: date) -> Area:
    """Return what nobody has swept before a day: its own tracks do not count yet."""
    before = [boat for boat in boats.days if boat.day < day]
    recorded = merged_stack(boats, before).once
    told = [one for one in memory.days if one.day < day]
    swept = with_memory(recorded, beyond(told, recorded))
    return unfished_water(opened.venue.fishable, swept)
