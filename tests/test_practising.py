"""What the study of practising rests on: the truth that is hidden, hours, and ways.

Expected numbers are worked out by hand from what a cast searches; that counts scatter
about them as Poisson's do is the model itself (from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache, partial

import numpy as np
import pytest
import shapely
from shapely import box

from fish_hidden import (
    BAND_M,
    BANK_M,
    BETTER,
    EVERYWHERE,
    NIGHT_M,
    RULES,
    USUAL_DRIFT_M_S,
    USUAL_M2_H,
    WORSE,
    Rule,
    Shoals,
    expected,
    hide,
    met,
    overnight,
    winds,
)
from match_fished import MATCH, Place, fish_match, places_found, starts
from plan_made import SETTINGS, Waters, plain_venue
from practice_next import ByNext
from practice_ways import (
    PAIRS,
    ByPlan,
    FavouriteBanks,
    Laddering,
    Practising,
    RandomDrifts,
    practise,
)
from practices_compared import OURS, WAYS, mean_of, world
from practising import (
    SEARCH,
    Afloat,
    Boat,
    Fished,
    Proposal,
    cast_all,
    offers_made,
    set_up,
    shoals_found,
    shoals_to_find,
    spend_day,
)
from sweptwater.arrays import Area, Floats
from sweptwater.offers.wind import Wind
from sweptwater.plan.day import union
from sweptwater.plan.planned import PlannedDrift
from sweptwater.tracks.drifts import Drift
from sweptwater.water.banks import lay_banks
from sweptwater.water.sectors import divide_by_area
from sweptwater.water.shapes import polygonal
from sweptwater.water.ways import Ways
from waters_searched import Searched, deepest_layer, lay_bed

NORTHERLY = Wind(0.0, 6.0)
HOUR_S = 3600.0


def made(water: Area, depth: Callable[[Floats], Floats]) -> Searched:
    """Return a water to practise on, its jetty in the south-west."""
    venue = plain_venue(water)
    banks = lay_banks(venue, SETTINGS.banks)
    west, south, *_ = water.bounds
    waters = Waters(
        venue,
        SETTINGS,
        {bank.number: bank.band for bank in banks},
        union([bank.water for bank in banks]),
        tuple(divide_by_area(water, [1, 1, 1]).sectors),
        Ways(water),
        np.array([west + 10, south + 10]),
    )
    return Searched("made", waters, tuple(banks), lay_bed(water, depth))


@lru_cache(maxsize=1)
def pool() -> Searched:
    """Return a square mile or so, 6 m deep."""
    return made(box(0, 0, 1600, 1600), lambda places: np.full(len(places), 6.0))


@lru_cache(maxsize=1)
def pond() -> Searched:
    """Return a smaller one, to be fished in a day."""
    return made(box(0, 0, 1000, 700), lambda places: np.full(len(places), 6.0))


def shoal(rate: float, layer: int, radius_m: float = 3000.0) -> Shoals:
    """Return one shoal in the middle of the pool."""
    return Shoals(
        np.array([[800.0, 800.0]]),
        np.array([radius_m]),
        np.array([layer]),
        np.array([rate]),
    )


def southward(hours: float, speed_m_s: float = USUAL_DRIFT_M_S) -> Drift:
    """Return a drift down the middle of the pool."""
    time_s = np.linspace(0, hours * HOUR_S, 200)
    return Drift(time_s, np.full(200, 800.0), 1500 - speed_m_s * time_s)


@pytest.mark.parametrize("rods", [1, 2])
def test_a_rod_inside_a_shoal_meets_what_its_rate_says(rods: int) -> None:
    # By hand: at the usual pace 90 casts an hour, each L - v t long and w wide.
    long_m = SETTINGS.spread.cast_m - USUAL_DRIFT_M_S * SEARCH.working_s
    assert pytest.approx(90 * long_m * SEARCH.shows_m) == USUAL_M2_H
    rng = np.random.default_rng(1)
    casts, _ = cast_all(rng, pool(), southward(1.0), (0,) * rods, 180.0)
    inside, everywhere = expected(casts, shoal(5.0, 0)).sum(axis=0)
    # From ten to eleven in the morning, a little better than most of the day.
    early = (casts.hour < 11).mean()
    takes = BETTER * early + WORSE * (1 - early)
    assert inside == pytest.approx(5.0 * rods * takes, rel=0.02)
    assert everywhere == pytest.approx(EVERYWHERE * rods * takes, rel=0.02)


def test_offers_scatter_as_counts_do() -> None:
    rng = np.random.default_rng(2)
    casts, _ = cast_all(rng, pool(), southward(0.5), (0,), 180.0)
    mean = expected(casts, shoal(4.0, 0))
    counts = np.array([(met(rng, mean)[1] == 0).sum() for _ in range(2000)])
    true = mean[:, 0].sum()
    assert abs(counts.mean() - true) < 3 * np.sqrt(true / len(counts))
    # A Poisson count's variance is its mean; that of the estimate, from memory.
    assert abs(counts.var() - true) < 3 * true * np.sqrt((2 + 1 / true) / len(counts))


def test_half_a_way_in_a_shoal_meets_half_of_it() -> None:
    rng = np.random.default_rng(3)
    drift = southward(1.0)
    # The shoal's edge is as far down the drift as half of its casts.
    middle = 1500 - USUAL_DRIFT_M_S * HOUR_S / 2 - SETTINGS.spread.cast_m / 2
    half = Shoals(
        np.array([[800.0, middle - 1e5]]),
        np.array([1e5]),
        np.array([0]),
        np.array([5.0]),
    )
    casts, _ = cast_all(rng, pool(), drift, (0, 0), 180.0)
    there = expected(casts, half)[:, 0].sum()
    whole = expected(casts, shoal(5.0, 0))[:, 0].sum()
    assert there == pytest.approx(whole / 2, rel=0.06)


@pytest.mark.parametrize("layer", range(4))
def test_a_rod_meets_its_own_layer_alone(layer: int) -> None:
    rng = np.random.default_rng(4)
    casts, _ = cast_all(rng, pool(), southward(0.5, 0.2), (layer,), 180.0)
    here = [expected(casts, shoal(5.0, one))[:, 0].sum() for one in range(4)]
    assert here[layer] > 0
    assert sum(here) == here[layer]


@pytest.mark.parametrize("layer", range(4))
def test_a_line_that_sinks_is_cast_less_often_and_worked_less_far(layer: int) -> None:
    rng = np.random.default_rng(5)
    casts, _ = cast_all(rng, pool(), southward(1.0), (layer,), 180.0)
    way, _ = set_up(layer, USUAL_DRIFT_M_S)
    assert way.reaches
    # By hand: a cast every T + c seconds, worked over L - v (c + t).
    count = HOUR_S / (SEARCH.cycle_s + way.count_s)
    assert len(np.unique(casts.cast)) == pytest.approx(count, abs=1)
    closed_m = USUAL_DRIFT_M_S * (way.count_s + SEARCH.working_s)
    each_m2 = (SETTINGS.spread.cast_m - closed_m) * SEARCH.shows_m
    assert casts.area_m2.sum() == pytest.approx(count * each_m2, rel=0.02)


def test_flies_below_the_bed_are_just_above_it() -> None:
    water = made(box(0, 0, 400, 900), lambda places: np.full(len(places), 1.5))
    drift = Drift(np.array([0.0, 600]), np.full(2, 200.0), np.array([800.0, 680]))
    casts, _ = cast_all(np.random.default_rng(6), water, drift, (2,), 180.0)
    assert set(casts.layer) == {1}
    depths_m = np.array([0.5, 0.92, 2.0, 3.0, 9.0])
    assert deepest_layer(depths_m).tolist() == [0, 1, 1, 2, 3]


def test_nothing_is_met_on_land() -> None:
    drift = Drift(np.array([0.0, 600]), np.full(2, 800.0), np.array([130.0, 10]))
    casts, _ = cast_all(np.random.default_rng(7), pool(), drift, (0, 0), 180.0)
    assert len(casts.places)
    assert (pool().bed.depth_at(casts.places) > 0).all()
    whole, _ = cast_all(np.random.default_rng(7), pool(), southward(1 / 6), (0, 0), 180)
    assert len(casts.places) < len(whole.places)


@lru_cache(maxsize=1)
def trough() -> Searched:
    """Return a water that deepens from two shores to 8 m in the middle."""
    return made(
        box(0, 0, 2400, 1200),
        lambda places: 0.05 + 8 * np.minimum(places[:, 1], 1200 - places[:, 1]) / 600,
    )


@pytest.mark.parametrize("rule", RULES)
def test_fish_are_hidden_by_their_rule(rule: Rule) -> None:
    water = trough()
    found = hide(np.random.default_rng(8), water, rule)
    assert 12 <= len(found) <= 30
    depth_m = water.bed.depth_at(found.places)
    assert (found.layer <= deepest_layer(depth_m)).all()
    assert (depth_m > 0).all()
    shore_m = shapely.distance(
        shapely.points(found.places), shapely.boundary(water.fishable)
    )
    near = (shore_m >= BANK_M[0] - 1) & (shore_m <= BANK_M[1] + 1)
    assert near.all() == (rule == "banks")
    assert (np.ptp(depth_m) <= BAND_M) == (rule == "depth")


def test_shoals_go_with_the_wind_overnight_and_stay_afloat() -> None:
    water, rng = pool(), np.random.default_rng(9)
    before = hide(rng, water, "wind")
    after = overnight(rng, before, water.bed, NORTHERLY)
    step = after.places - before.places
    assert (water.bed.depth_at(after.places) > 0).all()
    free = before.places[:, 1] > NIGHT_M[1] + 50
    assert (step[free, 1] < -NIGHT_M[0] / 3).all()
    assert np.hypot(*step.T).max() <= NIGHT_M[1] + 25
    assert (after.layer <= before.layer).all()


FAVOURITES = (1, 3, 4, 5, 7)
WAYS_HERE: dict[str, Callable[[Searched, np.random.Generator], Practising]] = {
    "favourite banks": lambda water, rng: FavouriteBanks(water, rng, FAVOURITES),
    "laddering": Laddering,
    "random drifts": RandomDrifts,
    "unfished water": ByPlan,
    "this program": ByNext,
}


@pytest.mark.parametrize("name", WAYS_HERE)
def test_boats_stay_afloat_and_within_their_hours(name: str) -> None:
    water, rng = pond(), np.random.default_rng(10)
    fish = hide(rng, water, "anywhere")
    way = WAYS_HERE[name](water, rng)
    afloat = Afloat(water, NORTHERLY, 0, fish)
    rules, day = SETTINGS.boat, SETTINGS.day
    for number, pair in enumerate(PAIRS[:2]):
        boat = spend_day(rng, afloat, pair, way.day(afloat, number, ()))
        assert len(boat.fished) >= 5
        # No drift is begun that would end too late; how long it takes is chance.
        assert boat.home_s <= day.afloat_s + 900
        ends_s = [float(one.drift.time_s[-1]) for one in boat.fished]
        starts_s = [float(one.drift.time_s[0]) for one in boat.fished]
        waits_s = np.subtract(starts_s[1:], ends_s[:-1])
        assert waits_s.min() >= 0.5 * rules.reset_s
        if starts_s[-1] > day.afloat_s / 2:
            assert (waits_s >= day.lunch_s).sum() >= 1
        # Hours add up: drifts, what passes between, out and home.
        fishing_s = sum(3600 * one.hours for one in boat.fished)
        out_s, back_s = starts_s[0], boat.home_s - ends_s[-1]
        assert fishing_s + waits_s.sum() + out_s + back_s == pytest.approx(boat.home_s)
        assert fishing_s > 0.15 * day.afloat_s
        for one in boat.fished:
            places = np.column_stack([one.drift.easting, one.drift.northing])
            ashore = ~shapely.contains_xy(water.fishable, places)
            assert ashore[1:-1].sum() == 0
            assert 0 < one.swept.area <= water.fishable.area
            # Down the wind, but for a boat's scatter along a rail.
            assert one.drift.northing[-1] < one.drift.northing[0]


def day_of(name: str, day: int, so_far: Sequence[Fished] = ()) -> list[Fished]:
    """Return what the first pair does on a day of northerly wind."""
    water, rng = pond(), np.random.default_rng(12)
    afloat = Afloat(water, NORTHERLY, day, hide(rng, water, "anywhere"))
    way = WAYS_HERE[name](water, rng)
    return spend_day(rng, afloat, PAIRS[0], way.day(afloat, 0, so_far)).fished


def share_of(fished: Sequence[Fished], water: Area) -> float:
    """Return what part of the water that was swept lies in some water."""
    swept = union([one.swept for one in fished])
    return swept.intersection(water).area / swept.area


def test_favourite_banks_are_fished_alone() -> None:
    fished = day_of("favourite banks", 0)
    banks = pond().banks
    favourites = union([b.water for b in banks if b.number in FAVOURITES])
    others = union([b.water for b in banks if b.number not in FAVOURITES])
    assert share_of(fished, favourites) > 3 * share_of(fished, others)
    # Over and over: far more is drifted than there is of it.
    swept_m2 = sum(one.swept.area for one in fished)
    assert swept_m2 > 1.5 * union([one.swept for one in fished]).area


def test_a_ladder_goes_along_the_banks_of_a_sector_and_on() -> None:
    water, rng = pool(), np.random.default_rng(12)
    way = Laddering(water, rng)
    afloat = Afloat(water, NORTHERLY, 0, hide(rng, water, "anywhere"))
    first = spend_day(rng, afloat, PAIRS[0], way.day(afloat, 0, ())).fished[:8]
    on = spend_day(rng, afloat, PAIRS[0], way.day(afloat, 0, ())).fished[:8]
    sector = next(iter(water.sectors.values()))
    for fished in (first, on):
        assert share_of(fished, union([bank.water for bank in water.banks])) > 0.8
        assert share_of(fished, sector) > 0.8
    assert share_of(on, union([one.swept for one in first])) < 0.2


def test_drifts_at_random_begin_anywhere_in_the_sector() -> None:
    sector = list(pond().sectors.values())[1]
    fished = day_of("random drifts", 1)
    for one in fished:
        start = shapely.Point(one.drift.easting[0], one.drift.northing[0])
        assert sector.distance(start) < 30
    beyond = polygonal(sector - union([bank.water for bank in pond().banks]))
    assert share_of(fished, beyond) > 0.5 * beyond.area / sector.area


def test_plans_go_where_nobody_has_fished() -> None:
    first = day_of("unfished water", 0)
    second = day_of("unfished water", 3, first)  # in the same sector again
    water = union([one.swept for one in first])
    by_chance = water.area / pond().waters.sectors[0].area
    assert share_of(second, water) < 0.75 * by_chance


def test_a_find_is_where_offers_came_and_rods_start_there() -> None:
    water = pool()
    fish = Shoals(
        np.array([[400.0, 900.0], [1200.0, 700.0]]),
        np.array([60.0, 60.0]),
        np.array([0, 0]),
        np.array([40.0, 40.0]),
    )
    way = Laddering(water, np.random.default_rng(13))
    drifts = []
    for easting in (400.0, 1200.0):
        afloat = Afloat(water, NORTHERLY, 0, fish)
        boat = spend_day(
            way.rng,
            afloat,
            PAIRS[0],
            partial(_through, easting),
        )
        drifts += boat.fished
    assert shoals_found(drifts) == {0, 1}
    found = places_found(water, drifts, 1)
    for place in found[:2]:
        away = np.hypot(*(fish.places - place.at).T)
        assert away.min() < 60
        assert set(place.layers) == {0}
    chosen = starts(np.random.default_rng(14), water, found)
    firsts = [first.bank for first, _ in chosen]
    assert all(firsts.count(bank) <= MATCH.most_on_bank for bank in firsts)
    assert all(first.bank != second.bank for first, second in chosen)
    assert set(firsts[:4]) == {place.bank for place in found[:2]}


def _through(easting: float, boat: Boat) -> Proposal:
    places = np.array([[easting, 1100.0], [easting, 500.0]])
    return Proposal(PlannedDrift(places, "open"), (0, 0))


def test_rods_that_start_on_fish_seldom_blank() -> None:
    water = pool()
    fish = shoal(3.0, 0, 100.0)
    on = Place(np.array([800.0, 800.0]), "A", (0,))
    off = Place(np.array([300.0, 300.0]), "B", (0,))
    fared = [
        fish_match(np.random.default_rng(15), water, NORTHERLY, fish, [(one, two)] * 3)
        for one, two in ((on, off), (off, Place(off.at + 200, "C", (0,))))
    ]
    assert fared[0].blanks <= 1 < 2 <= fared[1].blanks
    assert fared[0].offers > 4 * fared[1].offers


def test_all_fish_that_were_met_were_told() -> None:
    fished = day_of("laddering", 0)
    assert offers_made(fished) == sum(len(one.offer_places) for one in fished)
    shoals = [shoal for one in fished for shoal in one.offer_shoal if shoal >= 0]
    assert shoals_found(fished) == set(shoals)
    for one in fished:
        assert set(one.offer_shoal) <= {*np.flatnonzero(one.shoal_mean), -1}


def test_a_mean_has_the_range_of_student() -> None:
    # Student 1908, table of t: 2.776 at 97.5 % and 4 degrees of freedom (from memory).
    values = [1.0, 3.0, 2.0, 5.0, 4.0]
    found = mean_of(values)
    assert found.mean == 3.0
    assert found.off == pytest.approx(2.776 * np.std(values, ddof=1) / 5**0.5, rel=1e-3)


def test_winds_are_seeded() -> None:
    one, two = (winds(np.random.default_rng(3), 4) for _ in range(2))
    assert one == two
    assert len({wind.from_deg for wind in one}) == 4


def test_the_chances_of_drifts_add_up_to_what_is_found() -> None:
    # Three drifts through one of two shoals, the other never: 1 - exp(-3 x 0.4) by
    # hand, though once it has shown all go back to it for long.
    rng, way = np.random.default_rng(18), day_of("laddering", 0)[0]
    found, chances = [], []
    for _ in range(3000):
        fished: list[Fished] = []
        for _ in range(3):
            mean = np.array([4.0 if shoals_found(fished) else 0.4, 0.0])
            shoal = np.zeros(rng.poisson(mean[0]), dtype=int)
            fished.append(replace(way, shoal_mean=mean, offer_shoal=shoal))
        found.append(len(shoals_found(fished)))
        chances.append(shoals_to_find(fished))
    off = 3 / len(found) ** 0.5
    true = 1 - np.exp(-1.2)
    assert abs(np.mean(found) - true) < off * np.std(found)
    assert abs(np.mean(chances) - true) < off * np.std(chances)
    assert np.std(chances) < np.std(found)


@pytest.mark.slow
def test_the_program_finds_more_than_favourite_banks() -> None:
    # The aim is 1.5 times over many practices; two leave some slack.
    found = dict.fromkeys((OURS, "favourite banks"), 0.0)
    cases: tuple[tuple[int, Rule], ...] = ((1, "banks"), (2, "wind"))
    for seed, rule in cases:
        one = world("Ashlode", rule, seed)
        for way in found:
            rng = np.random.default_rng(seed)
            made_ = WAYS[way](one.water, rng, one.favourites)
            fished = practise(made_, one.shoals[:3], one.winds[:3], sweep=False)
            found[way] += shoals_to_find(fished)
    assert found[OURS] >= 1.3 * found["favourite banks"]
