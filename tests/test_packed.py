"""A boat-day goes to arrays and comes back the same."""

from dataclasses import fields
from datetime import date

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.arrays import Area
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.packed import (
    pack_day,
    pack_shapes,
    pack_swept,
    unpack_day,
    unpack_shapes,
    unpack_swept,
)
from sweptwater.tracks.drifts import DayAfloat, Drift
from sweptwater.water.shapes import polygonal

DAY = date(2027, 6, 8)
HOURS = fields(DayAfloat)[2:]

numbers = st.floats(-1e7, 1e7, allow_nan=False)


@st.composite
def drifts(draw: st.DrawFn) -> Drift:
    count = draw(st.integers(1, 5))
    places = np.array(
        draw(st.lists(numbers, min_size=3 * count, max_size=3 * count))
    ).reshape(3, count)
    time_s, easting, northing = places
    anchored = tuple(draw(st.lists(st.tuples(numbers, numbers), max_size=3)))
    return Drift(time_s, easting, northing, doubtful_s=draw(numbers), anchored=anchored)


@st.composite
def boats(draw: st.DrawFn) -> BoatDay:
    made = tuple(draw(st.lists(drifts(), max_size=4)))
    ways = tuple(
        np.full((n, 2), draw(numbers)) for n in draw(st.lists(st.integers(2, 5)))
    )
    hours = [draw(numbers) for _ in range(10)]
    swept: tuple[Area, ...] = tuple(
        shapely.box(0, 0, 1 + i, 1) if i % 2 else shapely.MultiPolygon()
        for i in range(len(made))
    )
    return BoatDay("Heron", DAY, DayAfloat(made, ways, *hours), swept)


@given(boats())
def test_a_boat_day_comes_back_to_the_last_bit(boat: BoatDay) -> None:
    afloat = unpack_day(pack_day(boat.afloat))
    assert repr(afloat) == repr(boat.afloat)
    back = unpack_swept(pack_swept(boat), "Heron", DAY, afloat)
    assert len(back.swept) == len(boat.swept)
    assert all(
        one.wkb == other.wkb for one, other in zip(back.swept, boat.swept, strict=True)
    )
    assert back.stack.once.wkb == boat.stack.once.wkb


def test_shapes_of_every_kind_come_back() -> None:
    holed = polygonal(shapely.box(0, 0, 9, 9) - shapely.box(1, 1, 2, 2))
    shapes = (holed, shapely.Polygon(), shapely.MultiPolygon([shapely.box(0, 0, 1, 1)]))
    back = unpack_shapes("x", pack_shapes("x", shapes))
    assert [shape.wkb for shape in back] == [shape.wkb for shape in shapes]
    assert unpack_shapes("x", pack_shapes("x", ())) == ()


def test_what_is_no_boat_day_is_told() -> None:
    nothing = DayAfloat((), (), *(0.0 for _ in HOURS))
    whole = pack_day(nothing)
    with pytest.raises(KeyError):
        unpack_day({k: v for k, v in whole.items() if k != "place"})
    with pytest.raises((ValueError, TypeError)):
        unpack_day({**whole, "day": np.zeros(3)})
    swept = pack_swept(BoatDay("Heron", DAY, nothing, (shapely.box(0, 0, 1, 1),)))
    with pytest.raises(ValueError, match="another number of drifts"):
        unpack_swept(swept, "Heron", DAY, nothing)
