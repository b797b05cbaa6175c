"""Plan a day: for each pair drifts that the wind allows and that fit into the hours."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from sweptwater.jobs.opened import Watch, unwatched
from sweptwater.jobs.plan_afloat import afloat_page
from sweptwater.jobs.plan_files import plan_features, plan_gpx
from sweptwater.jobs.plan_fish import Fish, fish_of, fish_texts
from sweptwater.jobs.plan_pairs import pair_days, without_water
from sweptwater.jobs.plan_places import spot_text
from sweptwater.jobs.plan_sheet import around, boat_sheet
from sweptwater.jobs.plan_ways import BankWays, bank_ways
from sweptwater.jobs.planning import (
    Ask,
    PairDay,
    Planning,
    planning,
    stay_ashore,
)
from sweptwater.paper.page import render_page
from sweptwater.paper.picture import render_picture
from sweptwater.paper.sheet import render_sheet
from sweptwater.plan.day import Stop
from sweptwater.plan.turns import Turn
from sweptwater.practice.files import writing
from sweptwater.practice.plans import save_plan
from sweptwater.water.depth import mean_depth_m

__all__ = ["Ask", "Plan", "plan"]

WORTH_M2 = 1000.0
"""Less unfished water than a short drift sweeps is nothing to plan for."""


@dataclass(frozen=True, slots=True)
class PlannedLine:
    """One planned drift: metres, degrees, seconds.

    `begins` is when it should start, local; `drift_s` what it takes as planned, the
    other two what it takes with the drogue in the water and without.
    """

    number: int
    pattern: str
    bank: int | None
    begins: datetime
    from_lat: float
    from_lon: float
    from_near: str
    to_lat: float
    to_lon: float
    to_near: str
    course_deg: float
    length_m: float
    drift_s: float
    drogue_in_s: float
    drogue_out_s: float
    sweeps_m2: float
    depth_m: float | None
    """The mean depth of the water under it; None where nobody knows."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Drifts that did not fit, of one bank or of open water."""

    bank: int | None
    pattern: str
    drifts: int
    hours: float
    new_m2: float


@dataclass(frozen=True, slots=True)
class PairPlan:
    """What one pair is to do: m2, hours, m/s.

    Parameters
    ----------
    hours_asked, hours
        From leaving the jetty to being back: as long as it may be, what is kept in
        hand included; and as planned, lunch included.
    fishing_hours
        Of that, drifting.
    sweeps_m2, new_m2, expected_m2
        The water that its drifts sweep, what of it nobody has, and what of that is to
        be expected, since no boat keeps its line.
    sector_share
        The latter as a share of its sector.
    bank_hours
        What all drifts along its banks would take, with what passes between them.
    left_out
        What does not fit, in the order in which it would come next.
    fish
        How to fish, drift by drift, if they are laid for what they may meet.
    fish_texts
        The same in words, with the finds to try again.
    """

    pair: str
    sectors: tuple[str, ...]
    hours_asked: float
    hours: float
    fishing_hours: float
    drifts: int
    sweeps_m2: float
    new_m2: float
    expected_m2: float
    sector_m2: float
    sector_share: float
    bank_hours: float
    drift_m_s: float
    drift_learned_from: int
    home_by: datetime
    lunch_after: int
    planned: tuple[PlannedLine, ...]
    bank_ways: tuple[BankWays, ...]
    turns: tuple[Turn, ...]
    left_out: tuple[LeftOut, ...]
    fish: tuple[Fish, ...]
    fish_texts: tuple[str, ...]
    files: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The plans of one day.

    Parameters
    ----------
    wind_from_deg, wind_m_s
        The wind that they are made for.
    stay_ashore
        Whether it blows harder than this practice goes afloat in.
    remarks
        What the captain should know besides.
    """

    practice: str
    day: date
    wind_from_deg: float
    wind_m_s: float
    stay_ashore: bool
    drogue: str
    pairs: tuple[PairPlan, ...]
    remarks: tuple[str, ...]


def plan(folder: Path, ask: Ask, *, watch: Watch = unwatched) -> Plan:
    """Plan a day, and write each pair's plan, routes and sheet.

    Raises
    ------
    SweptwaterError
        If the folder is unusable, day, wind or pair is none, or nothing can be written.
    """
    base = planning(folder, ask, watch=watch)
    days = list(pair_days(base, watch=watch))
    told = [(day, base.turns(day)) for day in days]
    with writing(folder):
        pairs = [_saved(folder, base, day, turns) for day, turns in told]
    return Plan(
        practice=base.opened.settings.name,
        day=base.day,
        wind_from_deg=base.wind.from_deg,
        wind_m_s=base.wind.speed_m_s,
        stay_ashore=stay_ashore(base),
        drogue=base.drogue,
        pairs=tuple(pairs),
        remarks=tuple(_remarks(base, days)),
    )


def _saved(
    folder: Path, base: Planning, day: PairDay, turns: Sequence[Turn]
) -> PairPlan:
    afloat = afloat_page(base, day)
    files = save_plan(
        folder,
        base.day,
        day.pair,
        features=plan_features(base, day),
        gpx=plan_gpx(base, day),
        sheet=render_sheet(boat_sheet(base, day, turns)),
        afloat=render_page(afloat),
        picture=render_picture(
            afloat, around=around(base, day), wind_to_deg=base.wind.downwind_deg
        ),
    )
    names = tuple(file.relative_to(folder).as_posix() for file in files)
    return _pair_plan(base, day, turns, names)


def _pair_plan(
    base: Planning, day: PairDay, turns: Sequence[Turn], files: tuple[str, ...]
) -> PairPlan:
    plan = day.plan
    return PairPlan(
        pair=day.pair,
        sectors=day.sectors,
        hours_asked=base.afloat_s / 3600,
        hours=plan.afloat_s / 3600,
        fishing_hours=sum(stop.end_s - stop.start_s for stop in plan.stops) / 3600,
        drifts=len(plan.stops),
        sweeps_m2=plan.swept.area,
        new_m2=day.new.area,
        expected_m2=day.expected_m2,
        sector_m2=day.sector.area,
        sector_share=day.new.area / day.sector.area,
        bank_hours=plan.bank_time_s / 3600,
        drift_m_s=day.lay.speed_m_s,
        drift_learned_from=day.lay.leeway.drifts,
        home_by=base.leave + timedelta(seconds=base.afloat_s),
        lunch_after=plan.lunch_after,
        planned=tuple(_line(base, day, stop) for stop in plan.stops),
        bank_ways=bank_ways(base, day),
        turns=tuple(turns),
        left_out=tuple(
            LeftOut(r.bank, r.pattern, r.drifts, r.time_s / 3600, r.new_m2)
            for r in plan.rests
        ),
        fish=fish_of(base, day),
        fish_texts=tuple(fish_texts(base, day)),
        files=files,
    )


def _line(base: Planning, day: PairDay, stop: Stop) -> PlannedLine:
    places = stop.drift.places
    lon, lat = base.opened.venue.frame.to_degrees(
        places[[0, -1], 0], places[[0, -1], 1]
    )
    with_, without = (
        stop.drift.length_m / base.leeway(day.pair, way).speed_m_s(base.wind)
        for way in ("in", "out")
    )
    near = [spot_text(base.opened, place) for place in places[[0, -1]]]
    return PlannedLine(
        number=stop.number,
        pattern=stop.drift.pattern,
        bank=stop.drift.bank,
        begins=base.leave + timedelta(seconds=round(stop.start_s)),
        from_lat=float(lat[0]),
        from_lon=float(lon[0]),
        from_near=near[0],
        to_lat=float(lat[1]),
        to_lon=float(lon[1]),
        to_near=near[1],
        course_deg=stop.drift.course_deg,
        length_m=stop.drift.length_m,
        drift_s=stop.end_s - stop.start_s,
        drogue_in_s=with_,
        drogue_out_s=without,
        sweeps_m2=stop.swept.area,
        depth_m=mean_depth_m(base.opened.depths, *places.T),
    )


def _remarks(base: Planning, days: Sequence[PairDay]) -> Iterator[str]:
    if left := without_water(base, days):
        yield left
    if not base.opened.venue.of_kind("jetty"):
        yield (
            "no jetty is known, so runs count from a place on the shore: sweptwater "
            "venue add --kind jetty FILE"
        )
    for day in days:
        left_m2 = base.unfished.intersection(day.sector).area
        if left_m2 < WORTH_M2 and base.orders is None:
            yield f"all of {day.pair}'s water is fished: nothing is left to plan there"
        elif not day.plan.stops:
            yield (
                f"{day.pair} has no drift that can be drifted in this wind and fits "
                "into the hours"
            )
        elif any(stop.way.through for stop in day.plan.stops):
            yield (
                f"{day.pair} cannot but motor over some water that is still to be "
                "fished: go slowly there"
            )
