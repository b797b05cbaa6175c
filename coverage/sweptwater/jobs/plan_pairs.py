"""The day of each pair that is planned for."""

from collections.abc import Iterator, Mapping, Sequence

import shapely

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError
from sweptwater.jobs.opened import Watch, unwatched
from sweptwater.jobs.planning import PairDay, Planning
from sweptwater.jobs.wording import and_text, day_text
from sweptwater.plan.candidates import possible_drifts
from sweptwater.plan.day import plan_day, union
from sweptwater.water.shapes import GRID_M, polygonal


def pair_days(plan: Planning, *, watch: Watch = unwatched) -> Iterator[PairDay]:
    """Yield the day of each pair that is planned for, in the order of the settings.

    Raises
    ------
    PracticeError
        If the pair that was asked for has no boat out, or no water.
    """
    unfished, belief = plan.unfished, None
    for pair, sectors in watch(list(_crews(plan)), "planning"):
        sector = _water_of(plan, sectors)
        lay = plan.lay(plan.wind, plan.leeway(pair))
        possible = possible_drifts(
            lay,
            sector,
            plan.bands,
            plan.bank_water,
            sector if plan.orders else unfished,
            wish=plan.ask.pattern,
        )
        fish: Mapping[int, tuple[int, ...]] = {}
        if plan.orders:
            found = plan.orders.valued(pair, possible, lay.speed_m_s, belief)
            possible = found.possible
            fish = {
                id(drift): tuple(layers)
                for drift, layers in zip(
                    possible.drifts, found.layers.tolist(), strict=True
                )
            }
        day = plan_day(
            possible,
            plan.ways,
            plan.jetty,
            plan.wind,
            lay.speed_m_s,
            plan.opened.settings,
            afloat_s=plan.afloat_s,
        )
        new = polygonal(
            shapely.intersection(day.swept, plan.unfished, grid_size=GRID_M)
        )
        layers = tuple(fish[id(stop.drift)] for stop in day.stops) if fish else ()
        yield PairDay(pair, sectors, sector, lay, possible, day, new, layers)
        if plan.orders and plan.ask.across:  # what one will have searched, likewise
            belief = plan.orders.after(belief, day.stops, layers, lay.speed_m_s)
        if plan.ask.across:  # what one will have fished is no other's to fish
            unfished = polygonal(
                shapely.difference(unfished, day.swept, grid_size=GRID_M)
            )


def without_water(plan: Planning, days: Sequence[PairDay]) -> str:
    """Return who is afloat without a plan, as a sentence; empty if nobody is."""
    planned = {day.pair for day in days}
    left = [
        pair
        for pair in plan.opened.settings.afloat_on(plan.day)
        if pair not in planned and not plan.ask.pair
    ]
    if not left:
        return ""
    has = "has" if len(left) == 1 else "have"
    return f"{and_text(left)} {has} no sector on {day_text(plan.day)}, and no plan"


def _crews(plan: Planning) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield the pairs to plan for, with the names of their sectors."""
    opened, ask = plan.opened, plan.ask
    wanted = opened.settings.pair_named(ask.pair) if ask.pair else None
    whose = opened.pairs_on(plan.day)
    afloat = opened.settings.afloat_on(plan.day)
    if wanted and wanted not in afloat:
        raise PracticeError(
            f"{wanted} stays ashore on {day_text(plan.day)}, as practice.toml says "
            f"below [rods.{plan.day.isoformat()}]"
        )
    found = False
    for pair in afloat:
        sectors = tuple(n for n in opened.sectors if whose.get(n) == pair)
        if wanted in (None, pair) and (sectors or ask.across):
            found = True
            yield pair, () if ask.across else sectors
    if not found:
        who = f"{wanted} has no sector" if wanted else "nobody has a sector"
        raise PracticeError(
            f"{who} on {day_text(plan.day)}: give one with sweptwater divide, or plan "
            "with --across"
        )


def _water_of(plan: Planning, sectors: Sequence[str]) -> Area:
    if plan.ask.across:
        return plan.opened.venue.fishable
    return union([plan.opened.sectors[name] for name in sectors])
