"""Effort in minutes, and what each row of a table counts.

Sums are against arithmetic by hand.
"""

from collections.abc import Sequence
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.errors import PracticeError
from sweptwater.offers.effort import Minutes, cut_pieces, fished_hours, mostly, parse_by
from sweptwater.offers.grouping import groups, total
from sweptwater.offers.stints import Loose, Stint, Way
from sweptwater.practice.tally import Counts, ToldOf

DAY = date(2027, 6, 8)
HOUR_S = 3600.0


def stint(
    drift: int,
    start_h: float,
    end_h: float,
    *,
    rod: str = "bow",
    told: ToldOf = "blank",
    offers: int = 0,
    pair: str = "Heron",
    match: bool = True,
) -> Stint:
    """Return a rod on a drift that goes due east, a kilometre an hour."""
    time_s = np.array([start_h, end_h]) * HOUR_S
    way = Way(time_s, time_s / 3.6, np.zeros(2))
    return Stint(
        DAY,
        pair,
        drift,
        rod,
        way,
        float(time_s[1] - time_s[0]),
        "track",
        told="tallied" if offers else told,
        counts=Counts(pull=offers),
        match=match,
    )


def side(minutes: Minutes) -> list[str]:
    """Tell west from east of the tenth kilometre."""
    return ["west" if x < 10_000 else "east" for x in minutes.easting]


def sky(minutes: Minutes) -> list[str]:
    """Tell bright from dull: dull from eleven on."""
    return ["bright" if at < 11 * HOUR_S else "dull" for at in minutes.time_s]


TELLINGS = {"side": side, "sky": sky}


def test_hours_are_parted_to_the_minute_and_drifts_by_their_longer_part() -> None:
    # From 9:30 to 10:10 by two rods: 30 minutes each in the west, 10 in the east.
    two = [stint(1, 9.5, 10 + 1 / 6), stint(1, 9.5, 10 + 1 / 6, rod="stern")]
    pieces = cut_pieces(two, TELLINGS)
    hours = fished_hours(pieces, ["side"])
    assert hours == {("west",): pytest.approx(1.0), ("east",): pytest.approx(1 / 3)}
    assert mostly(pieces, ["side"]) == {0: ("west",), 1: ("west",)}
    assert mostly(pieces, ["side", "sky"]) == dict.fromkeys((0, 1), ("west", "bright"))


def test_a_row_counts_the_told_and_keeps_the_untold_apart() -> None:
    stints = [
        stint(1, 9, 9.5, offers=2),
        stint(1, 9, 9.5, rod="stern"),  # blank
        stint(2, 9.5, 9.9, told=""),
        stint(3, 10.5, 11.5, offers=1),
        stint(4, 9, 9.5, match=False, offers=7),
    ]
    pieces = cut_pieces(stints, TELLINGS)
    rows, loose = groups(stints, pieces, ["side"])
    assert [row.by for row in rows] == [{"side": "east"}, {"side": "west"}]
    east, west = rows
    assert (east.offers, east.hours, east.untold_hours) == pytest.approx((1, 1, 0))
    assert (west.offers, west.told) == (2, (0, 1))
    assert west.hours == pytest.approx(1.0)
    assert west.untold_hours == pytest.approx(0.4)
    assert west.fished_hours == pytest.approx(1.9)  # at anchor too
    assert loose == ()
    assert total(stints) == pytest.approx((3, 2.0))


@pytest.mark.parametrize(
    ("drifts", "told", "counted"),
    [
        ((1, 2), "blank", True),  # both in the west, both told
        ((1, 3), "blank", False),  # one on each side
        ((1, 2), "", False),  # one of them not told
        ((9,), "blank", False),  # there is no such drift
    ],
)
def test_loose_offers_count_where_they_cannot_but_be(
    drifts: Sequence[int], told: ToldOf, *, counted: bool
) -> None:
    stints = [stint(1, 9, 9.5), stint(2, 9.5, 9.9, told=told), stint(3, 10.5, 11)]
    one = Loose(DAY, "Heron", "", Counts(pull=3), "before lunch", tuple(drifts))
    pieces = cut_pieces(stints, TELLINGS)
    rows, left = groups(stints, pieces, ["side"], [one])
    assert sum(row.offers for row in rows) == (3 if counted else 0)
    assert left == (() if counted else (one,))


def test_a_loose_offer_of_one_rod_does_not_wait_for_the_other() -> None:
    stints = [stint(1, 9, 9.5), stint(1, 9, 9.5, rod="stern", told="")]
    pieces = cut_pieces(stints, TELLINGS)
    bow = Loose(DAY, "Heron", "bow", Counts(lost=1), "early", (1,))
    anyone = Loose(DAY, "Heron", "", Counts(lost=1), "early", (1,))
    assert groups(stints, pieces, ["side"], [bow])[1] == ()
    assert groups(stints, pieces, ["side"], [anyone])[1] == (anyone,)
    assert total(stints, [bow, anyone])[0] == 1


def test_nothing_is_nothing() -> None:
    pieces = cut_pieces([], TELLINGS)
    assert list(pieces.columns) == [
        *("stint", "time_s", "easting", "northing", "hours", "side", "sky")
    ]
    assert fished_hours(pieces, ["side"]) == {}
    assert mostly(pieces, ["side", "sky"]) == {}
    assert groups([], pieces, ["side"]) == ((), ())


def test_a_track_without_times_has_no_hours() -> None:
    way = Way(np.array([0.0, 1.0, 2.0]), np.arange(3.0), np.zeros(3))
    timeless = Stint(DAY, "Teal", 1, "bow", way, 0.0, "track", told="blank")
    assert len(cut_pieces([timeless], TELLINGS)) == 0


spans = st.tuples(st.floats(6, 20), st.floats(0.001, 4)).map(lambda s: (s[0], sum(s)))


@given(st.lists(spans, max_size=6))
def test_pieces_add_up_and_none_is_over_a_minute(
    ends: list[tuple[float, float]],
) -> None:
    stints = [stint(number, *span) for number, span in enumerate(ends, 1)]
    pieces = cut_pieces(stints, TELLINGS)
    for number, one in enumerate(stints):
        mine = pieces[pieces["stint"] == number]
        assert mine["hours"].sum() == pytest.approx(one.hours)
        assert (mine["hours"] <= 1 / 60 + 1e-9).all()
        assert mine["time_s"].between(one.way.time_s[0], one.way.time_s[-1]).all()
    hours = fished_hours(pieces, ["side", "sky"])
    assert sum(hours.values()) == pytest.approx(sum(one.hours for one in stints))
    assert set(mostly(pieces, ["sky"])) == set(range(len(stints)))


@pytest.mark.parametrize("text", ["", "moon", "sky,sky", "sky,layer,sector", ","])
def test_what_rates_cannot_be_told_by(text: str) -> None:
    with pytest.raises(PracticeError, match="rates can"):
        parse_by(text)
