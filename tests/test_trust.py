"""Whether a find can be trusted: its states and the reasons for them, at the edges.

The states and how long a rest lasts: common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from sweptwater.practice.search import DAY_S, SearchRules
from sweptwater.search.ageing import Night
from sweptwater.search.finds import Find, Pricked
from sweptwater.search.trust import BoatsSeen, trusted_by

RULES = SearchRules(pressed_fish=6, pressed_boats=3, rest_s=DAY_S)
HOUR_S = 3600.0
DAY = date(2027, 6, 8)
FIND = Find(
    number=1,
    easting=0.0,
    northing=0.0,
    bank=3,
    sector="A",
    drifts=((DAY, "Heron", 1),),
    offers=9,
    pricked=0,
    rod_hours=4 / 3,
    rate=6.75,
    low=3.1,
    high=12.8,
    first_s=0.0,
    last_s=HOUR_S,
)


def pricked(*spells: tuple[float, int]) -> Find:
    """Return the find with fish pricked at some hours."""
    pricks = tuple(
        Pricked(DAY + timedelta(hours / 24), hours * HOUR_S, count)
        for hours, count in spells
    )
    last_s = max(one.time_s for one in pricks)
    return replace(FIND, pricks=pricks, pricked=9, last_s=last_s)


def seen(hours: float, count: int, clock: str = "") -> BoatsSeen:
    """Return other boats on the find."""
    return BoatsSeen(hours * HOUR_S, 0.0, 0.0, count, clock)


def states(find: Find, hours: float, *boats: BoatsSeen) -> tuple[str, ...]:
    """Return the states of a find at an hour."""
    return trusted_by(find, hours * HOUR_S, (), boats, RULES).states


@pytest.mark.parametrize(("left", "state"), [(0.5, "fresh"), (0.499, "stale")])
def test_stale_below_a_half(left: float, state: str) -> None:
    assert states(replace(FIND, left=left), 20) == (state,)


@pytest.mark.parametrize(
    ("fish", "state"), [(5, "fresh"), (6, "pressed"), (9, "pressed")]
)
def test_pressed_by_our_own_fish(fish: int, state: str) -> None:
    assert states(pricked((1, fish)), 20) == (state,)


@pytest.mark.parametrize(
    ("spells", "hours", "state"),
    [
        ([(1, 3), (20, 3)], 30, "pressed"),  # both within a rest
        ([(1, 3), (26, 3)], 30, "fresh"),  # three fish, a rest, and three more
        ([(1, 5), (50, 1)], 60, "fresh"),  # what was long ago presses no more
        ([(1, 6)], 24.9, "pressed"),
        ([(1, 6)], 25, "resting"),
        ([(1, 6), (24, 1)], 30, "pressed"),  # it was not left alone
        ([(1, 6), (24, 1), (47, 1)], 60, "pressed"),  # nor for a whole rest
        ([(1, 6), (26, 1)], 30, "resting"),  # it had rested by then
        ([(1, 6)], 72.9, "resting"),
        ([(1, 6)], 73, "fresh"),
    ],
)
def test_pressed_until_it_was_left_alone(
    spells: list[tuple[float, int]], hours: float, state: str
) -> None:
    assert states(pricked(*spells), hours) == (state,)


@pytest.mark.parametrize(
    ("boats", "hours", "state"),
    [
        ([(6, 2)], 20, "fresh"),
        ([(6, 3)], 20, "pressed"),
        ([(6, 2), (7, 2)], 20, "fresh"),  # may be the same two
        ([(6, 3)], 29.9, "pressed"),
        ([(6, 3)], 30, "resting"),
        ([(6, 3), (29, 1)], 40, "pressed"),  # one stayed on
        ([(21, 3)], 20, "fresh"),  # not yet
        ([(-23, 3)], 0.9, "pressed"),  # they were there just before us
        ([(-25, 3)], 0.9, "fresh"),
    ],
)
def test_pressed_by_other_boats(
    boats: list[tuple[float, int]], hours: float, state: str
) -> None:
    assert states(FIND, hours, *(seen(*one) for one in boats)) == (state,)


def test_fish_that_came_later_press_nothing_yet() -> None:
    assert states(pricked((1, 2), (25, 9)), 10) == ("fresh",)


def test_stale_and_pressed_with_the_reasons_in_words() -> None:
    find = replace(pricked((2, 7)), left=0.2)
    nights = [Night(15 * HOUR_S, swing_deg=120, cold=True)]
    boats = [seen(4, 6, "14:30"), seen(5, 4)]
    found = trusted_by(find, 24 * HOUR_S, nights, boats, RULES)
    assert found.states == ("stale", "pressed")
    assert found.why == (
        "the wind swung 120 degrees overnight",
        "it turned cold",
        "7 fish pricked on Tue 8 Jun",
        "6 other boats at 14:30",
    )


def test_fish_of_two_days_are_told_since_the_first() -> None:
    found = trusted_by(pricked((12, 3), (30, 4)), 31 * HOUR_S, (), (), RULES)
    assert found.why == ("7 fish pricked since Tue 8 Jun",)


@pytest.mark.parametrize(
    ("hours", "reason"),
    [(11, "10 hours ago"), (25, "a day ago"), (49, "2 days ago"), (97, "4 days ago")],
)
def test_a_find_is_stale_by_its_age_alone(hours: float, reason: str) -> None:
    found = trusted_by(replace(FIND, left=0.1), hours * HOUR_S, (), (), RULES)
    assert found.why == (reason,)


def test_a_night_before_the_find_is_no_reason() -> None:
    before = Night(-12 * HOUR_S, swing_deg=120, cold=True)
    find = replace(FIND, left=0.1)
    found = trusted_by(find, 48 * HOUR_S, [before], (), RULES)
    assert found.why == ("2 days ago",)


@pytest.mark.parametrize(
    ("drifts", "trusted"),
    [
        ([(0, "Heron", 1)], False),
        ([(0, "Heron", 1), (0, "Heron", 2)], False),
        ([(0, "Heron", 1), (0, "Grebe", 1)], True),
        ([(0, "Heron", 1), (1, "Heron", 1)], True),
    ],
)
def test_two_boats_or_two_days_make_it_trusted(
    drifts: list[tuple[int, str, int]], trusted: bool
) -> None:
    met = tuple((DAY + timedelta(day), pair, drift) for day, pair, drift in drifts)
    find = replace(FIND, drifts=met)
    assert find.trusted == trusted
    assert find.good == trusted
    assert not replace(find, states=("stale",)).good
