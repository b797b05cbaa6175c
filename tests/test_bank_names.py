"""Which stretch of shore takes which name."""

import pytest
import shapely
from shapely import LineString, MultiPoint, Point, box
from shapely.geometry.base import BaseGeometry

from shapes import zoo_venue
from sweptwater.practice.settings import BankRules
from sweptwater.water.bank_names import NameLost, name_stretches
from sweptwater.water.banks import lay_banks, lost_names
from sweptwater.water.venue import BankName

# A lake of 2,000 by 800: five stretches of 400 along the south shore, from the west.
SOUTH = [LineString([(x, 0), (x + 400, 0)]) for x in range(0, 2000, 400)]
NORTH = [LineString([(x, 800), (x + 400, 800)]) for x in range(0, 2000, 400)]
SHORES = SOUTH + NORTH


def named(*names: tuple[str, BaseGeometry]) -> tuple[dict[int, str], list[NameLost]]:
    given, lost = name_stretches(SHORES, [BankName(n, shape) for n, shape in names])
    return {i: name for i, name in enumerate(given) if name}, list(lost)


def test_a_point_names_the_nearest_stretch() -> None:
    assert named(("Gorse", Point(500, 30))) == ({1: "Gorse"}, [])
    assert named(("Far", Point(1900, 790))) == ({9: "Far"}, [])


def test_each_of_several_points_names_one() -> None:
    assert named(("Reeds", MultiPoint([(10, 5), (1700, -9)]))) == (
        {0: "Reeds", 4: "Reeds"},
        [],
    )


def test_a_line_names_what_it_covers_more_than_half_of() -> None:
    # From 210 to 1,390: 190 of the first stretch, all of two, 190 of the fourth.
    assert named(("Long", LineString([(210, 40), (1390, 40)]))) == (
        {1: "Long", 2: "Long"},
        [],
    )
    given, _ = named(("Long", LineString([(150, 40), (1390, 40)])))
    assert given == {0: "Long", 1: "Long", 2: "Long"}


def test_a_short_line_names_the_stretch_it_lies_at() -> None:
    assert named(("Steps", LineString([(590, 10), (640, 10)]))) == ({1: "Steps"}, [])


def test_a_line_along_one_shore_does_not_name_the_other() -> None:
    creek = [
        LineString([(0, 0), (400, 0)]),
        LineString([(400, 30), (0, 30)]),
    ]
    line = BankName("South", LineString([(0, 2), (400, 2)]))
    given, _ = name_stretches(creek, [line])
    assert given == ("South", "")


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_names_the_nearer_or_the_longer_counts(turned: bool) -> None:
    points = [("Near", Point(500, 10)), ("Off", Point(600, 50))]
    given, lost = named(*(points[::-1] if turned else points))
    assert given == {1: "Near"}
    assert lost == [NameLost(1, "Off", "Near")]
    lines = [
        ("Most", LineString([(400, 9), (800, 9)])),
        ("Half", LineString([(400, 5), (650, 5)])),
    ]
    given, lost = named(*(lines[::-1] if turned else lines))
    assert given == {1: "Most"}
    assert lost == [NameLost(1, "Half", "Most")]
    both = [lines[0], points[0]]
    assert named(*both)[0] == {1: "Most"}
    assert named(*both)[1] == [NameLost(1, "Near", "Most")]


def test_one_name_told_twice_is_no_quarrel() -> None:
    assert named(("Gorse", Point(500, 9)), ("Gorse", Point(600, 9)))[1] == []


def test_no_shore_no_names() -> None:
    assert name_stretches([], [BankName("X", Point(0, 0))]) == ((), ())


def test_a_bank_of_a_venue_has_its_name() -> None:
    venue = zoo_venue(
        box(-1000, -400, 1000, 400),
        ("bank", "Gorse Bank", Point(100, -390)),
        ("bank", "The Wall", Point(130, -330)),
    )
    banks = lay_banks(venue, BankRules())
    (gorse,) = [bank for bank in banks if bank.told]
    assert (gorse.name, gorse.title) == (
        "Gorse Bank",
        f"bank {gorse.number}, Gorse Bank",
    )
    place = venue.bank_names[0].shape
    assert gorse.shore.distance(place) == min(b.shore.distance(place) for b in banks)
    assert {bank.name == bank.title for bank in banks if not bank.told} == {True}
    (lost,) = lost_names(venue, BankRules())
    assert (lost.name, lost.instead) == ("The Wall", "Gorse Bank")


def test_strips_of_bank_anglers_are_water_to_fish() -> None:
    water = box(-1000, -400, 1000, 400)
    plain = zoo_venue(water)
    venue = zoo_venue(
        water,
        ("bank-anglers", "North", LineString([(-500, 400), (500, 400)])),
        ("bank-anglers", "", box(-1000, -420, -800, -390)),
    )
    assert venue.fishable.equals(plain.fishable)
    assert shapely.get_num_geometries(venue.bank_anglers) == 2
    assert venue.bank_anglers.length == pytest.approx(1000 + 460, rel=1e-6)
    assert plain.bank_anglers.is_empty
