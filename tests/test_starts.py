"""Where rods start: chances against scipy and by draws, choices against all there are.

That rods on one place share its fish, as they are taken to do, is common practice
without a source.
"""

from collections import Counter
from collections.abc import Iterator
from itertools import combinations_with_replacement, product

import numpy as np
import pytest
from scipy.stats import binom, gamma, nbinom

from sweptwater.plan.start_risk import (
    Choice,
    MatchTimes,
    Risk,
    StartPlace,
    blank_chance,
    risk_of,
    shared,
)
from sweptwater.plan.starts import Starts, choose_starts

LITTLE = 1e-9


def place(
    number: int,
    bank: int | None = None,
    *,
    shape: float = 4.0,
    hours: float = 4.0,
    holds: float = 1.0,
    bold: bool = False,
    fishes: float = 1.0,
) -> StartPlace:
    """Return a place; its own bank by its number."""
    return StartPlace(
        name=f"place {number}",
        easting=100.0 * number,
        northing=0.0,
        bank=number if bank is None else bank,
        sector="A",
        find=None if bold else number,
        shape=shape,
        hours=hours,
        holds=holds,
        fishes=fishes,
    )


def times_of(
    count: int,
    *,
    match_h: float = 8.0,
    stay_h: float = 0.75,
    run_h: float = 0.0,
    background: tuple[float, float] = (1.0, 20.0),
) -> MatchTimes:
    """Return the hours of a match on places that are all as far from each other."""
    each = np.full(count, run_h)
    return MatchTimes(
        match_h, stay_h, each, each, run_h * (1 - np.eye(count)), background
    )


@pytest.mark.parametrize(
    ("shape", "hours", "spent_h"), [(9, 4 / 3, 0.75), (0.5, 3, 6), (40, 10, 0.1)]
)
def test_a_rod_has_nothing_as_often_as_scipy_says(
    shape: float, hours: float, spent_h: float
) -> None:
    """The negative binomial of scipy; and its Gamma with exp(-rate x hours)."""
    told = blank_chance(shape, hours, spent_h)
    assert told == pytest.approx(nbinom.pmf(0, shape, hours / (hours + spent_h)))
    rate = gamma(shape, scale=1 / hours)
    assert told == pytest.approx(rate.expect(lambda r: np.exp(-r * spent_h)), rel=1e-6)


def test_one_rods_chance_is_that_of_both_its_places() -> None:
    """By hand: 0.5 h out, 0.75 h there, 0.5 h on, and 0.5 h home of 8 leave 5.75 h."""
    places = [place(1, holds=0.6), place(2, shape=2, hours=5, fishes=0.5)]
    times = times_of(2, run_h=0.5)
    (told,) = risk_of(places, times, [Choice(0, 1)]).without
    first = 0.6 * (4 / 4.75) ** 4 + 0.4 * (20 / 20.75)
    second = (5 / (5 + 0.5 * 5.75)) ** 2
    assert told == pytest.approx(first * second)
    (alone,) = risk_of(places, times, [Choice(0, None)]).without
    assert alone == pytest.approx(0.6 * (4 / 11) ** 4 + 0.4 * 20 / 27)


def test_places_apart_fail_apart() -> None:
    """Two rods on each of their own places: scipy's binomial of equal chances."""
    places = [place(number, holds=0.7) for number in range(1, 5)]
    found = risk_of(places, times_of(4), [Choice(number, None) for number in range(4)])
    chance = found.without[0]
    assert found.without == pytest.approx([chance] * 4)
    assert found.counts == pytest.approx(binom.pmf(range(5), 4, chance))
    assert found.at_least(3) == pytest.approx(binom.sf(2, 4, chance))
    assert found.expected == pytest.approx(4 * chance)


def test_rods_on_a_place_that_may_be_empty_fail_together() -> None:
    """By hand: a sure rate, so that all is empty or else all go with exp(-r h)."""
    sure = place(1, shape=1e9, hours=1e9, holds=0.8)
    times = times_of(1, background=(1e-9, 1e9))
    found = risk_of([sure], times, [Choice(0, None)] * 3)
    lucky = np.exp(-8 * shared(3))
    expected = 0.8 * np.asarray(binom.pmf(range(4), 3, lucky)) + [0, 0, 0, 0.2]
    assert found.counts == pytest.approx(expected, abs=1e-7)


def test_chances_are_those_of_matches_that_are_drawn() -> None:
    """A hundred thousand matches: is the place empty, how good is it, who has luck."""
    places = [place(1, holds=0.5, shape=2), place(2, shape=1, hours=3, holds=0.7)]
    places.append(place(3, shape=3, hours=20, fishes=0.6))
    times = times_of(3, run_h=0.25, background=(1.0, 30.0))
    choices = [Choice(0, 1), Choice(0, 2), Choice(1, 0), Choice(2, 1, rods=2)]
    told = risk_of(places, times, choices)
    rng, number = np.random.default_rng(5), 100_000
    holds = rng.random((number, 3)) < [p.holds for p in places]
    rate = np.array([rng.gamma(p.shape, 1 / p.hours, number) for p in places]).T
    other = rng.gamma(1.0, 1 / 30.0, (number, 3))
    first, second = Counter({0: 2, 1: 1, 2: 2}), Counter({1: 3, 2: 1, 0: 1})
    blank = np.ones((number, 5), dtype=bool)
    for rod, choice in enumerate([*choices, choices[-1]]):
        assert choice.second is not None
        for at, hours, company in (
            (choice.first, times.first_h(0, 1), first[choice.first]),
            (choice.second, times.second_h(0, 1), first[choice.second]),
        ):
            if at == choice.second:
                company += second[at]
            mean = np.where(holds[:, at], rate[:, at] * shared(company), other[:, at])
            blank[:, rod] &= rng.poisson(mean * hours * places[at].fishes) == 0
    counts = np.bincount(blank.sum(axis=1), minlength=6) / number
    slack = 4 * np.sqrt(0.25 / number)
    assert blank.mean(axis=0) == pytest.approx(told.without, abs=slack)
    assert counts == pytest.approx(told.counts, abs=slack)


def test_chances_of_all_numbers_add_up() -> None:
    places = [place(1, holds=0.3), place(2, holds=0.9, shape=0.4)]
    found = risk_of(places, times_of(2), [Choice(0, 1)] * 3 + [Choice(1, 0)] * 3)
    assert sum(found.counts) == pytest.approx(1)
    mean = sum(number * chance for number, chance in enumerate(found.counts))
    assert mean == pytest.approx(found.expected)
    assert found.at_least(0) == pytest.approx(1)


def test_more_company_is_never_better() -> None:
    each = [shared(rods) for rods in range(1, 13)]
    together = [rods * part for rods, part in enumerate(each, 1)]
    assert each == sorted(each, reverse=True)
    assert together == sorted(together)
    assert together[-1] < 2  # two rods' worth at the most


def test_too_many_rods_are_refused() -> None:
    with pytest.raises(ValueError, match="13 rods are more than 12"):
        risk_of([place(1)], times_of(1), [Choice(0, None)] * 13)


def all_choices(
    places: list[StartPlace], times: MatchTimes, boats: int, size: int = 1
) -> Iterator[tuple[Choice, ...]]:
    """Yield all ways to start and to go on."""
    ways = [
        Choice(first, second, size)
        for first, second in product(range(len(places)), repeat=2)
        if places[first].stretch != places[second].stretch
        and times.second_h(first, second) > 0
    ]
    alone = {way.first for way in ways}
    ways += [Choice(f, None, size) for f in range(len(places)) if f not in alone]
    yield from combinations_with_replacement(ways, boats)


def most_on_bank(
    places: list[StartPlace], choices: tuple[Choice, ...]
) -> tuple[int, int]:
    """Return how many rods start on one bank at the most, and go on to one."""
    starts: Counter[object] = Counter()
    seconds: Counter[object] = Counter()
    for choice in choices:
        starts[places[choice.first].stretch] += choice.rods
        if choice.second is not None:
            seconds[places[choice.second].stretch] += choice.rods
    return max(starts.values()), max(seconds.values(), default=0)


def bold_rods(places: list[StartPlace], choices: tuple[Choice, ...]) -> int:
    return sum(choice.rods for choice in choices if places[choice.first].bold)


def made_up(
    rng: np.random.Generator, count: int
) -> tuple[list[StartPlace], MatchTimes]:
    """Return some places on few banks, and the hours between them."""
    places = [
        place(
            number,
            int(rng.integers(1, count + 1)),
            shape=float(rng.uniform(0.5, 8)),
            hours=float(rng.uniform(1, 9)),
            holds=float(rng.uniform(0.2, 1)),
            fishes=float(rng.uniform(0.4, 1)),
            bold=bool(rng.random() < 0.4),
        )
        for number in range(1, count + 1)
    ]
    xy = rng.uniform(0, 3, (count, 2))
    out_h = np.hypot(*xy.T) / 6
    runs_h = np.hypot(*(xy[:, None] - xy).T) / 6
    return places, MatchTimes(8, 0.75, out_h, out_h + 1 / 6, runs_h, (1.0, 12.0))


@pytest.mark.parametrize("seed", range(12))
def test_nothing_is_better_than_what_is_chosen(seed: int) -> None:
    """Against all ways to start, four rods at four places, or six at three."""
    rng = np.random.default_rng(seed)
    count, boats, size = [(4, 4, 1), (3, 6, 1), (5, 3, 1), (4, 3, 2)][seed % 4]
    places, times = made_up(rng, count)
    found = choose_starts(places, times, boats=boats, rods_in_boat=size, bold=2)
    starts, seconds = most_on_bank(places, found.choices)
    assert starts <= found.most_on_bank
    assert bold_rods(places, found.choices) == found.bold
    least = min(
        risk_of(places, times, choices).expected
        for choices in all_choices(places, times, boats, size)
        if most_on_bank(places, choices)[0] <= found.most_on_bank
        and most_on_bank(places, choices)[1] <= max(seconds, found.most_on_bank)
        and bold_rods(places, choices) == found.bold
    )
    assert found.risk.expected == pytest.approx(least, abs=1e-7)


def chosen(places: list[StartPlace], **wishes: int) -> Starts:
    return choose_starts(places, times_of(len(places), run_h=0.1), **wishes)


def many() -> list[StartPlace]:
    """Return five good places on three banks, and three bold ones elsewhere."""
    good = [
        place(1, 1, shape=12, hours=4, holds=0.8),
        place(2, 1, shape=10, hours=4, holds=0.8),
        place(3, 2, shape=8, hours=4, holds=0.7),
        place(4, 2, shape=6, hours=4, holds=0.7),
        place(5, 3, shape=4, hours=4, holds=0.7),
    ]
    tried = [place(n, n, shape=1, hours=1, holds=0.3, bold=True) for n in (6, 7, 8)]
    return [*good, *tried]


@pytest.mark.parametrize(("most", "bold"), [(1, 0), (2, 2), (2, 0), (3, 1), (6, 6)])
def test_rods_are_spread_as_asked(most: int, bold: int) -> None:
    places = many()
    found = chosen(places, most_on_bank=most, bold=bold)
    starts, seconds = most_on_bank(places, found.choices)
    assert len(found.choices) == 6
    for choice in found.choices:
        assert choice.second is not None
        assert places[choice.first].stretch != places[choice.second].stretch
    assert starts <= found.most_on_bank
    assert seconds <= found.most_on_bank
    assert bold_rods(places, found.choices) == found.bold
    if (most, bold) == (1, 0):  # three banks have finds: three more start boldly
        assert (found.most_on_bank, found.bold) == (1, 3)
    else:
        assert (found.most_on_bank, found.bold) == (most, bold)


def test_spread_rods_risk_less_than_all_at_the_best() -> None:
    found = chosen(many())
    assert many()[found.best].find == 1
    assert found.risk.expected < found.all_on_best.expected
    assert found.risk.at_least(3) < 0.6 * found.all_on_best.at_least(3)
    assert list(found.risk.without) == sorted(found.risk.without)


def test_with_too_few_banks_more_rods_start_on_one() -> None:
    found = chosen([place(1), place(2)])
    assert (found.most_on_bank, found.bold) == (3, 0)
    alone = chosen([place(1)], boats=3)
    assert alone.most_on_bank == 3
    assert alone.choices == (Choice(0, None),) * 3


def test_boats_of_their_own_have_two_rods_on_a_bank() -> None:
    found = chosen(many(), boats=3, rods_in_boat=2, most_on_bank=1, bold=1)
    assert [choice.rods for choice in found.choices] == [2, 2, 2]
    assert len(found.risk.without) == 6
    assert (found.most_on_bank, found.bold) == (2, 2)
    firsts = {many()[choice.first].bank for choice in found.choices}
    assert len(firsts) == 3


def test_a_place_too_far_for_the_rest_of_the_day_is_no_second_choice() -> None:
    """Of 2 h and 0.75 h spent, a run of 1.3 h leaves nothing."""
    places = [place(1), place(2), place(3, shape=50)]
    runs_h = np.array([[0, 0.1, 1.3], [0.1, 0, 1.3], [1.3, 1.3, 0]])
    times = MatchTimes(2, 0.75, np.zeros(3), np.zeros(3), runs_h, (1, 20))
    found = choose_starts(places, times, boats=2, bold=0)
    for choice in found.choices:
        assert choice.second != 2


def test_without_a_place_nobody_starts() -> None:
    with pytest.raises(ValueError, match="no place"):
        choose_starts([], times_of(0))


def test_at_least_stays_a_chance() -> None:
    assert Risk((1.0,), (0.0, 1.0 + LITTLE)).at_least(1) == 1.0
