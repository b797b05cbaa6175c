"""Who has which sector on which day."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from sweptwater.errors import PracticeError
from sweptwater.practice.geojson import SectorShape, parse_sectors, sectors_text
from sweptwater.practice.rota import change_round, day_to_come, rota

FIRST = date(2027, 6, 8)
PAIRS = ("Heron", "Grebe", "Teal", "Coot", "Swift")


def _sectors(count: int, pairs: int) -> list[SectorShape]:
    return [
        SectorShape("ABCDE"[n], PAIRS[n] if n < pairs else "", box(n, 0, n + 1, 1))
        for n in range(count)
    ]


def _days(count: int) -> list[date]:
    return [FIRST + timedelta(days=n) for n in range(count)]


@given(st.integers(1, 5), st.integers(1, 5), st.integers(1, 9))
def test_each_pair_sees_as_many_sectors_as_days_allow(
    sectors: int, pairs: int, days: int
) -> None:
    """A cyclic Latin square: no pair is twice in a row or column of the first round."""
    told = rota(change_round(_sectors(sectors, pairs), PAIRS[:pairs], _days(days)))
    assert sorted(told) == _days(days)
    for on_day in told.values():
        busy = [pair for pair in on_day.values() if pair]
        assert len(set(busy)) == len(busy) == min(sectors, pairs)
    full = max(sectors, pairs)
    for pair in PAIRS[:pairs]:
        seen = [s for on_day in told.values() for s, p in on_day.items() if p == pair]
        if days <= full:
            assert len(set(seen)) == len(seen)
        if days >= full:
            assert len(set(seen)) == sectors


def test_the_first_day_is_as_divided_whatever_the_order_of_days() -> None:
    sectors = _sectors(3, 3)
    told = change_round(sectors, PAIRS[:3], [*reversed(_days(3)), FIRST])
    assert [s.pair_on(FIRST) for s in told] == [s.pair for s in sectors]
    assert [s.pair_on(date(2030, 1, 1)) for s in told] == [s.pair for s in sectors]


def test_the_rota_survives_the_file() -> None:
    sectors = change_round(_sectors(3, 2), PAIRS[:2], _days(3))
    assert parse_sectors(sectors_text(sectors)) == sectors
    assert '"days"' not in sectors_text(_sectors(2, 2))


@pytest.mark.parametrize("days", ['["Heron"]', '{"Tuesday": "Heron"}', "3"])
def test_days_that_are_none(days: str) -> None:
    text = sectors_text(_sectors(1, 1)).replace(
        '"pair": "Heron"', f'"pair": "Heron", "days": {days}'
    )
    with pytest.raises(PracticeError, match="sector A has days that are none"):
        parse_sectors(text)


@pytest.mark.parametrize(
    ("fished", "coming"),
    [
        ([], FIRST),
        ([FIRST], FIRST + timedelta(days=1)),
        ([FIRST - timedelta(days=9)], FIRST),
        (_days(3), FIRST + timedelta(days=2)),
    ],
)
def test_the_day_to_come(fished: list[date], coming: date) -> None:
    sectors = change_round(_sectors(3, 3), PAIRS[:3], _days(3))
    assert day_to_come(sectors, fished) == coming
    assert day_to_come(_sectors(3, 3), fished) is None
