"""Which boat tries which find again: at most one boat a find, and none too many."""

from collections.abc import Sequence

import pytest

from sweptwater.jobs.next_boats import shared_out
from sweptwater.search.finds import Find


def finds(*sectors: str | None) -> list[Find]:
    """Return finds in some sectors, the one that is worth most first."""
    return [
        Find(number, 0, 0, None, sector, (), 3, 3, 1.0, 3.0, 1.0, 7.0, 0.0, 3600.0)
        for number, sector in enumerate(sectors, 1)
    ]


WATER = {"Heron": ("A", "B"), "Grebe": ("C",), "Teal": ()}


# By hand: each its own first, as many as it has time for.
@pytest.mark.parametrize(
    ("sectors", "most", "across", "tried"),
    [
        ("CAB", 1, False, ([2], [1], [])),
        ("CAB", 2, False, ([2, 3], [1], [])),
        ("CAB", 0, True, ([], [], [])),
        ("CAB", 1, True, ([2], [1], [3])),  # the third boat takes what is left
        ("AAAA", 1, True, ([1], [2], [3])),  # and the fourth find is for another day
        ("AAAA", 2, True, ([1, 2], [3], [4])),
        ([None, "C"], 1, False, ([], [2], [])),
        ([None, "C"], 1, True, ([1], [2], [])),
    ],
)
def test_each_find_is_tried_by_one_boat(
    sectors: Sequence[str | None],
    most: int,
    across: bool,
    tried: tuple[list[int], ...],
) -> None:
    shared = shared_out(finds(*sectors), WATER, most, across=across)
    assert tuple([one.number for one in mine] for mine in shared.values()) == tried
    assert list(shared) == list(WATER)
