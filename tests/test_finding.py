"""What makes a find: which offers belong together, and what it is worth.

Drifts here are straight, an hour long, of two rods, and sweep a strip 30 m wide.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chi2

from sweptwater.arrays import Area, Floats
from sweptwater.offers.effort import cut_pieces
from sweptwater.offers.rates import rate_of
from sweptwater.offers.stints import Placed, Stint, Way
from sweptwater.practice.tally import Counts
from sweptwater.search.finding import Told, finds_in
from sweptwater.search.finds import Find, Pricked

DAY = date(2027, 6, 8)
LENGTH_M, HOUR_S, WIDE_M = 600.0, 3600.0, 30.0


def rod(
    north_m: float,
    *,
    pulls: int | None = None,
    east_m: float = 0.0,
    number: int = 1,
    day: int = 0,
    pair: str = "Heron",
    length_m: float = LENGTH_M,
    lasted_s: float = HOUR_S,
) -> Stint:
    """Return a rod on a drift to the east; nobody told of it where pulls are None."""
    begin_s = 86400.0 * day + 7200 * number
    way = Way(
        np.array([begin_s, begin_s + lasted_s]),
        np.array([east_m, east_m + length_m]),
        np.array([north_m, north_m]),
    )
    return Stint(
        day=DAY + timedelta(day),
        pair=pair,
        drift=number,
        rod="bow",
        way=way,
        fishing_s=lasted_s,
        source="track",
        told="" if pulls is None else "tallied" if pulls else "blank",
        counts=Counts(pull=pulls or 0),
    )


def swept(stint: Stint) -> Area:
    """Return the strip that a drift swept."""
    way = stint.way
    north_m = float(way.northing[0])
    return shapely.box(
        float(way.easting[0]),
        north_m - WIDE_M / 2,
        float(way.easting[-1]) + 20,
        north_m + WIDE_M / 2,
    )


def found(
    *stints: Stint,
    mean: float | None = 0.5,
    widen: float = 1.0,
    left: Callable[[Floats], Floats] = np.ones_like,
    words: Sequence[str] = (),
) -> list[Find]:
    """Return the finds of some stints."""
    pieces = cut_pieces(stints, {})
    told = list(words) or ["not told"] * len(stints)
    known = Told(
        stints=stints,
        swept=[swept(one) for one in stints],
        layers=told,
        skies=told,
        lines=told,
        minute_stint=pieces["stint"].to_numpy(),
        minute_easting=pieces["easting"].to_numpy(),
        minute_northing=pieces["northing"].to_numpy(),
        minute_hours=pieces["hours"].to_numpy(),
    )
    finds = finds_in(
        known,
        mean=mean,
        widen=widen,
        place=lambda east, north: (int(east // 1000), "A" if north < 5000 else None),
        left=left,
    )
    return [find for find, _ in finds]


def placed(stint: Stint, *offers: tuple[float, float]) -> Stint:
    """Return a rod whose pulls were at some places."""
    singles = tuple(Placed(Counts(pull=1), *at, None) for at in offers)
    counts = stint.counts.at_least(Counts(pull=len(singles)))
    return replace(stint, told="tallied", counts=counts, placed=singles)


def test_nothing_met_is_no_find() -> None:
    assert found() == []
    assert found(rod(0), rod(0, pulls=0, number=2)) == []


@pytest.mark.parametrize(
    ("apart_m", "finds"), [(0, 1), (100, 1), (150, 1), (151, 2), (1000, 2)]
)
def test_drifts_near_each_other_are_one_find(apart_m: float, finds: int) -> None:
    two = rod(0, pulls=2), rod(apart_m, pulls=3, number=2)
    assert len(found(*two)) == finds


@pytest.mark.parametrize(("on_m", "finds"), [(400, 1), (450, 2)])
def test_drifts_over_the_same_water_are_one_find(on_m: float, finds: int) -> None:
    # Strips of 620 m one after the other: 220 m in common are 35 %, 170 m are 27 %;
    # the middles are further apart than what is near.
    two = rod(0, pulls=2), rod(0, pulls=3, east_m=on_m, number=2)
    assert len(found(*two)) == finds


def test_what_hangs_together_for_miles_is_parted() -> None:
    # A ladder: each drift met one, 100 m from the last. 600 m is as wide as a find is.
    ladder = [rod(100.0 * at, pulls=1, number=at + 1) for at in range(31)]
    finds = found(*ladder)
    assert len(finds) >= 5
    assert sum(one.offers for one in finds) == 31
    for one in finds:
        norths = [100 * (drift - 1) for _, _, drift in one.drifts]
        assert max(norths) - min(norths) <= 600
    assert len(found(*ladder[:7])) == 1


def test_a_find_counts_blanks_but_never_what_nobody_told() -> None:
    met = rod(0, pulls=3)
    (alone,) = found(met)
    assert alone.offers == 3
    assert alone.rod_hours == pytest.approx(1)
    blank = rod(5, pulls=0, number=2)
    (with_blank,) = found(met, blank)
    assert with_blank.rod_hours == pytest.approx(2)
    assert with_blank.rate == pytest.approx(1.5)
    assert with_blank.drifts == alone.drifts
    (with_silence,) = found(met, replace(blank, told=""))
    assert with_silence.rod_hours == pytest.approx(1)
    (elsewhere,) = found(met, rod(400, pulls=0, number=2))
    assert elsewhere.rod_hours == pytest.approx(1)


def test_a_blank_counts_as_far_as_it_went_over_the_ground() -> None:
    # Its first 320 m lie on the other's strip: 32 of its 60 minutes.
    half = rod(0, pulls=0, east_m=300, number=2)
    (find,) = found(rod(0, pulls=3), half)
    assert find.rod_hours == pytest.approx(1 + 32 / 60, abs=1.1 / 60)


def test_all_of_a_drift_counts_where_its_offers_may_be_anywhere_on_it() -> None:
    met = rod(0, pulls=3)
    bent = Way(met.way.time_s, met.way.easting, np.array([0.0, 60.0]))
    (find,) = found(replace(met, way=bent))  # for most of it beside the strip
    assert find.rod_hours == pytest.approx(1)


def test_an_offer_with_a_place_has_the_water_about_it() -> None:
    # 150 m about it: 300 m of the drift's 600, half an hour of a rod.
    (find,) = found(placed(rod(0), (300, 0)))
    assert (find.easting, find.northing) == (300, 0)
    assert find.rod_hours == pytest.approx(0.5, abs=1.1 / 60)
    ends = found(placed(rod(0, length_m=1000), (0, 0), (1000, 0)))
    assert sorted(one.easting for one in ends) == [0, 1000]


def test_no_offer_is_lost_beside_one_with_a_place() -> None:
    three = rod(0, length_m=2000)
    three = replace(three, told="tallied", counts=Counts(pull=1, unsaid=2))
    three = replace(three, placed=(Placed(Counts(pull=1), 0.0, 0.0, None),))
    finds = found(three)
    assert sum(one.offers for one in finds) == 3


def test_a_place_without_an_offer_is_no_find() -> None:
    none = Placed(Counts(), 300.0, 0.0, None)
    assert found(replace(rod(0), told="tallied", placed=(none,))) == []


def test_offers_without_hours_have_no_rate_and_come_last() -> None:
    untimed = replace(rod(2000, pulls=9, number=2), fishing_s=0.0)
    sure, unsure = found(untimed, rod(0, pulls=1))
    assert (sure.offers, unsure.offers) == (1, 9)
    assert (unsure.rate, unsure.low, unsure.high) == (None, None, None)
    assert unsure.rod_hours == 0


def test_only_fish_that_were_pricked_are_told_as_such() -> None:
    counts = Counts(follow=4, pull=3, lost=2, boated=1, unsaid=5)
    one = replace(rod(0), told="tallied", counts=counts)
    other = rod(10, pulls=2, number=2, day=1)
    (find,) = found(one, other)
    assert (find.offers, find.pricked) == (17, 8)
    assert find.pricks == (
        Pricked(DAY, 7200 + HOUR_S, 6),
        Pricked(DAY + timedelta(1), 86400 + 5 * HOUR_S, 2),
    )


def test_the_range_is_that_of_all_rates_and_clusters_make_it_wide() -> None:
    met = rod(0, pulls=9, lasted_s=2400)
    blank = rod(0, pulls=0, number=2, lasted_s=2400)
    (find,) = found(met, blank, mean=0.9, widen=1.5)
    same = rate_of(9, 4 / 3, mean=0.9, widen=1.5)
    assert find.rate == pytest.approx(6.75)
    assert (find.low, find.high) == pytest.approx((same.low, same.high))
    # Garwood's interval (Biometrika 28, 1936): halves of chi squared with 18 and 20
    # degrees of freedom, 4.115 to 17.085 offers.
    exact = [chi2.ppf(p, n) / 2 for p, n in ((0.025, 18), (0.975, 20))]
    assert exact == pytest.approx([4.115373, 17.084803], abs=1e-6)
    assert find.low is not None
    assert find.high is not None
    assert find.low < exact[0] / (4 / 3) < exact[1] / (4 / 3) < find.high


def test_finds_are_in_the_order_of_what_they_are_surely_worth() -> None:
    lucky = rod(0, pulls=1, lasted_s=300)  # 12 an hour, but only one
    good = rod(2000, pulls=6, number=2)
    poor = rod(4000, pulls=1, number=3)
    finds = found(lucky, good, poor)
    assert [one.northing for one in finds] == [2000, 0, 4000]
    assert [one.number for one in finds] == [1, 2, 3]


def test_what_is_stale_comes_later() -> None:
    old, new = rod(0, pulls=6), rod(2000, pulls=5, number=2, day=2)

    def left(then_s: Floats) -> Floats:
        return np.where(then_s < 86400, 0.1, 1.0)

    assert [one.northing for one in found(old, new)] == [0, 2000]
    finds = found(old, new, left=left)
    assert [(one.northing, one.left) for one in finds] == [(2000, 1.0), (0, 0.1)]


def test_a_find_tells_where_when_and_in_what() -> None:
    stints = (
        rod(0, pulls=1),
        rod(20, pulls=4, number=2),
        rod(0, pulls=2, pair="Grebe", day=1),
    )
    words = ("0-3 ft", "3-8 ft", "3-8 ft")
    (find,) = found(*stints, words=words)
    assert find.drifts == (
        (DAY, "Heron", 1),
        (DAY, "Heron", 2),
        (DAY + timedelta(1), "Grebe", 1),
    )
    assert (find.bank, find.sector) == (0, "A")
    assert (find.easting, find.northing) == (300, 20)
    assert (find.first_s, find.last_s) == (7200, 86400 + 7200 + HOUR_S)
    assert list(find.by_layer.items()) == [("3-8 ft", 6), ("0-3 ft", 1)]
    assert find.trusted


places = st.tuples(st.integers(-2000, 2000), st.integers(-2000, 2000))


@settings(max_examples=50)
@given(st.lists(st.tuples(places, st.integers(0, 5)), max_size=12))
def test_each_offer_is_in_one_find(drifts: list[tuple[tuple[int, int], int]]) -> None:
    stints = [
        rod(north, pulls=pulls, east_m=east, number=number)
        for number, ((east, north), pulls) in enumerate(drifts, 1)
    ]
    finds = found(*stints)
    assert sum(one.offers for one in finds) == sum(pulls for _, pulls in drifts)
    met = [drift for one in finds for drift in one.drifts]
    assert len(met) == len(set(met)) == sum(pulls > 0 for _, pulls in drifts)
    for one in finds:
        assert one.rate is not None
        assert one.low is not None
        assert one.high is not None
        assert 0 < one.low <= one.rate <= one.high
