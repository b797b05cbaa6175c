"""The boats of a day to come, and where the hours of each do most good."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, sqrt

import numpy as np

from sweptwater.arrays import Bools, Floats
from sweptwater.errors import PracticeError
from sweptwater.jobs.learned import learned, leeway_for
from sweptwater.jobs.searching import Searching
from sweptwater.jobs.wording import day_text
from sweptwater.offers.wind import Wind, force_speed_m_s
from sweptwater.plan.hours import Spell, share_hours
from sweptwater.plan.setups import (
    WayToFish,
    fishing_share,
    way_to_fish,
    working_depth_m,
)
from sweptwater.practice.outing import Drogue
from sweptwater.search.belief import Belief
from sweptwater.search.finds import Find
from sweptwater.search.squares import Squares
from sweptwater.water.ways import Ways

USUAL_FORCE = 4.0
"""The wind that is supposed where nobody knows it."""

LUNCH_FROM_H = 5.0
"""A boat that is out for less has no lunch."""

HALF_DAY_H = 3.0
"""A boat that is out for so long has time for one find, whatever its share."""

DROGUES: tuple[Drogue, ...] = ("out", "in")


@dataclass(frozen=True, eq=False)
class Boat:
    """One boat of the day to come.

    Parameters
    ----------
    pair, sectors
        Whose, and the names of its sectors; none if it may go anywhere.
    hours, idle_h
        Afloat; and of that for lunch and kept in hand.
    mine
        The patches that it may go to, (patches,).
    ways
        How it fishes each patch and layer.
    rates_m2_h
        How much it searches there in an hour, re-sets included, (patches, layers), as
        often over as fish lie together.
    to_finds
        The patches in which these finds are, (patches,).
    confirms
        The finds that it tries again, by their numbers, with the hours for each.
    """

    pair: str
    sectors: tuple[str, ...]
    hours: float
    idle_h: float
    mine: Bools
    ways: Mapping[tuple[int, int], WayToFish]
    rates_m2_h: Floats
    to_finds: Bools
    confirms: tuple[tuple[int, float], ...] = ()

    @property
    def search_h(self) -> float:
        """What is left for running about and searching."""
        confirm_h = sum(hours for _, hours in self.confirms)
        return max(0.0, self.hours - self.idle_h - confirm_h)


@dataclass(frozen=True, eq=False)
class Hours:
    """How the hours of all boats are spent.

    Parameters
    ----------
    boats
        In the order of the settings.
    spells, run_h
        By pair: what each searches, and how long it motors from water to water.
    after
        What is believed when all that is searched.
    """

    boats: tuple[Boat, ...]
    spells: Mapping[str, tuple[Spell, ...]]
    run_h: Mapping[str, float]
    after: Belief


def boats_of(
    searching: Searching,
    confirms: Sequence[Find],
    *,
    hours: float | None,
    pair: str | None,
    drogue: Drogue,
    wind: Wind | None,
    across: bool,
) -> tuple[Boat, ...]:
    """Return the boats of the day, each with its water and the finds that it tries.

    Parameters
    ----------
    confirms
        The finds that are to be tried again, the one that is worth most first.
    hours
        Of all boats together; None for a whole day of each.
    pair
        Only this one.
    drogue
        Where it usually is.
    wind
        None if nobody knows it.

    Raises
    ------
    PracticeError
        If no boat is out that has water to search.
    """
    opened, squares = searching.opened, searching.squares
    settings = opened.settings
    whose = opened.pairs_on(searching.day)
    water = {
        name: tuple(one for one in opened.sectors if whose.get(one) == name)
        for name in settings.afloat_on(searching.day)
        if pair in (None, name)
    }
    if not across:
        water = {name: mine for name, mine in water.items() if mine}
    if not water:
        who = f"{pair} has" if pair else "nobody has"
        raise PracticeError(
            f"{who} water to search on {day_text(searching.day)}: give out sectors "
            "with sweptwater divide, or ask with --across"
        )
    each_h = settings.day.afloat_s / 3600 if hours is None else hours / len(water)
    idle_h = settings.day.spare_s / 3600
    idle_h += settings.day.lunch_s / 3600 if each_h > LUNCH_FROM_H else 0.0
    known = learned(opened, searching.boats, noted=searching.noted)
    usual = wind or Wind(0.0, force_speed_m_s(USUAL_FORCE))
    spans_m = _spans_m(squares, wind)
    confirm_h = settings.search.confirm_s / 3600
    most = int(settings.search.confirm_share * each_h / confirm_h + 1e-9)
    if each_h >= HALF_DAY_H and settings.search.confirm_share > 0:
        most = max(most, 1)  # a find is tried again before it is trusted
    tried, boats = shared_out(confirms, water, most, across=across), []
    for name, sectors in water.items():
        speeds: dict[Drogue, float] = {
            way: leeway_for(known, name, way).speed_m_s(usual) for way in DROGUES
        }
        mine = np.array([across or p.sector in sectors for p in squares.patches])
        ways, rates = _ways(searching, speeds, spans_m, drogue)
        to_finds = _patches_of(tried[name], squares)
        boats.append(
            Boat(
                *(name, sectors, each_h, idle_h, mine, ways, rates, to_finds),
                confirms=tuple((f.number, confirm_h) for f in tried[name]),
            )
        )
    return tuple(boats)


def share_boats(searching: Searching, boats: Iterable[Boat]) -> Hours:
    """Return how the hours of each boat do most good.

    Where boats may go beyond their own sectors, they do so only if that does more good
    than to stay: motoring about may cost more than it brings.
    """
    boats = tuple(boats)
    shared = _one_by_one(searching, boats)
    patches = searching.squares.patches
    home = tuple(
        replace(
            boat,
            mine=boat.mine
            & np.array([not boat.sectors or p.sector in boat.sectors for p in patches]),
        )
        for boat in boats
    )
    if all(
        (one.mine == other.mine).all() for one, other in zip(home, boats, strict=True)
    ):
        return shared
    stayed = _one_by_one(searching, home)
    return stayed if stayed.after.chance > shared.after.chance else shared


def _one_by_one(searching: Searching, boats: tuple[Boat, ...]) -> Hours:
    """Return how hours are spent if each boat in turn does what is best for it.

    What one boat is to search the next one takes as searched; the best hours of all
    together are the same (see `allocate`), but for spells that are too short and for
    motoring.
    """
    squares, settings = searching.squares, searching.opened.settings
    runs_h = _runs_h(searching)
    belief, spells, run_h = searching.belief, dict[str, tuple[Spell, ...]](), {}
    for boat in boats:
        shared = share_hours(
            belief,
            boat.rates_m2_h,
            boat.mine,
            runs_h,
            boat.search_h,
            least_h=settings.search.least_s / 3600,
            also=boat.to_finds,
        )
        spells[boat.pair], run_h[boat.pair] = shared.spells, shared.run_h
        belief = Belief(squares, belief.before, shared.after.factor)
    return Hours(boats, spells, run_h, belief)


def _patches_of(finds: Iterable[Find], squares: Squares) -> Bools:
    """Return the patches in which some finds are."""
    there = np.zeros(len(squares.patches), dtype=bool)
    for find in finds:
        away = np.hypot(
            squares.easting - find.easting, squares.northing - find.northing
        )
        there[squares.patch[int(np.argmin(away))]] = True
    return there


def shared_out(
    finds: Sequence[Find],
    water: Mapping[str, Sequence[str]],
    most: int,
    *,
    across: bool,
) -> dict[str, list[Find]]:
    """Return the finds that each boat tries again; no two boats try one.

    Each has those of its own sectors, as many as it has time for. Where boats may go
    beyond them, each other find goes to the boat that tries the fewest.

    Parameters
    ----------
    finds
        The one that is worth most first.
    water
        The sectors of each pair.
    most
        How many a boat has time for.
    """
    tried = {
        name: [find for find in finds if find.sector in sectors][:most]
        for name, sectors in water.items()
    }
    taken = {find.number for mine in tried.values() for find in mine}
    for find in finds if across else ():
        fewest = min(tried.values(), key=len)
        if find.number not in taken and len(fewest) < most:
            fewest.append(find)
    return tried


def _ways(
    searching: Searching,
    speeds: Mapping[Drogue, float],
    spans_m: Floats,
    drogue: Drogue,
) -> tuple[dict[tuple[int, int], WayToFish], Floats]:
    """Return how each patch and layer is fished, and how much that searches an hour."""
    squares, settings = searching.squares, searching.opened.settings
    rates = np.zeros((len(squares.patches), len(squares.layers)))
    ways: dict[tuple[int, int], WayToFish] = {}
    known: dict[tuple[int, float], WayToFish] = {}
    for patch, span_m in enumerate(spans_m.tolist()):
        here = squares.patch == patch
        bed = squares.bed_m(patch)
        for layer in np.flatnonzero(squares.there[here].any(axis=0)).tolist():
            bed_m = round(bed[1], 1) if bed else inf
            depth_m = working_depth_m(layer, settings.tackle, bed_m)
            if (layer, depth_m) not in known:
                known[layer, depth_m] = way_to_fish(
                    layer,
                    speeds,
                    settings.tackle,
                    settings.search,
                    settings.spread,
                    usual=drogue,
                    bed_m=bed_m,
                )
            way = known[layer, depth_m]
            share = fishing_share(span_m, way.drift_m_s, settings.boat, settings.plan)
            ways[patch, layer] = way
            searched_m2 = 3600 * way.search_m2_s * share
            rates[patch, layer] = settings.search.together * searched_m2
    return ways, rates


def _spans_m(squares: Squares, wind: Wind | None) -> Floats:
    """Return how far a boat can drift down the wind over each patch, about."""
    if wind is None:
        return np.array([sqrt(patch.area_m2) for patch in squares.patches])
    angle = np.radians(wind.downwind_deg)
    along = squares.easting * np.sin(angle) + squares.northing * np.cos(angle)
    side_m = sqrt(squares.area_m2)
    return np.array(
        [
            side_m + np.ptp(along[squares.patch == patch])
            for patch in range(len(squares.patches))
        ]
    )


def _runs_h(searching: Searching) -> Floats:
    """Return the hours to motor between any two of the jetty and the patches."""
    opened = searching.opened
    places = np.array(
        [
            opened.jetty,
            *((p.easting, p.northing) for p in searching.squares.patches),
        ]
    )
    lengths_m = Ways(opened.venue.fishable).lengths_m(places, places)
    return np.asarray(lengths_m / opened.settings.boat.motoring_up_m_s / 3600)
