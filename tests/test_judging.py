"""What rows of several tables are held against. Against `compare`, table by table."""

from collections.abc import Mapping

import pytest

from sweptwater.offers.compare import verdicts
from sweptwater.offers.grouping import Group
from sweptwater.offers.judging import judge


def group(by: Mapping[str, str], offers: int, hours: float) -> Group:
    return Group(by, (), offers, hours, 0.0, hours)


def test_a_row_is_held_against_all_others_of_its_table() -> None:
    table = [
        group({"sky": sky}, *met)
        for sky, met in (
            ("bright", (2, 30.0)),
            ("broken", (5, 20.0)),
            ("dull", (25, 25)),
        )
    ]
    (judged,), comparisons = judge([table], 1.0)
    family = verdicts([(one.offers, one.hours) for one in table])
    assert [one.held for one in judged] == list(family.tables[0])
    assert comparisons == family.comparisons == 3
    assert [(one.offers, one.hours) for one in judged] == [(30, 45), (27, 55), (7, 50)]
    assert judged[2].held is not None
    assert (judged[2].held.verdict, judged[2].held.direction) == ("clear", "more")


def test_of_two_things_those_that_share_the_second_are_compared() -> None:
    # The deep is better in sun and worse under cloud, by as much: over both skies there
    # is nothing to see.
    table = [
        group({"layer": "0-3 ft", "sky": "bright"}, 2, 20),
        group({"layer": "0-3 ft", "sky": "dull"}, 22, 20),
        group({"layer": "8-15 ft", "sky": "bright"}, 22, 20),
        group({"layer": "8-15 ft", "sky": "dull"}, 2, 20),
    ]
    over_both = [group({"layer": layer}, 24, 40) for layer in ("0-3 ft", "8-15 ft")]
    (two, one), comparisons = judge([table, over_both], 1.0)
    # Of two rows that are held against each other both are told, as one comparison.
    assert comparisons == 3
    told = [(row.held.verdict, row.held.direction) for row in two if row.held]
    assert told == [("clear", way) for way in ("fewer", "more", "more", "fewer")]
    assert [(row.offers, row.hours) for row in two] == [
        *((22, 20), (2, 20), (2, 20), (22, 20))
    ]
    assert all(row.held and row.held.verdict == "too little to tell" for row in one)


@pytest.mark.parametrize("what", ["not told", "depth not known"])
def test_what_nobody_knows_is_compared_with_nothing(what: str) -> None:
    table = [
        group({"depth": "0-8 ft"}, 9, 10),
        group({"depth": what}, 90, 10),
        group({"depth": "8+ ft"}, 9, 10),
        group({"depth": "25+ ft"}, 0, 0.0),
    ]
    (judged,), comparisons = judge([table], 1.0)
    assert comparisons == 1
    assert [one.held is not None for one in judged] == [True, False, True, False]
    assert (judged[0].offers, judged[0].hours) == (9, 10)
