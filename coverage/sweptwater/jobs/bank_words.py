"""What is said of the names of banks."""

from collections.abc import Iterator

import shapely

from sweptwater.practice.settings import BankRules
from sweptwater.water.banks import Bank, lost_names
from sweptwater.water.venue import Venue


def lost_sentences(venue: Venue, rules: BankRules) -> tuple[str, ...]:
    """Return a sentence for each name of a bank that another stands before."""
    return tuple(
        dict.fromkeys(
            f"{lost.name} and {lost.instead} name the same stretch of shore, and "
            f"{lost.instead} counts there: move one of the two, or delete it"
            for lost in lost_names(venue, rules)
        )
    )


def named_middles(banks: tuple[Bank, ...]) -> Iterator[tuple[str, shapely.Point]]:
    """Yield each bank's name that people gave, with the middle of its shore.

    Of a name that several stretches have, the middle one's.
    """
    by_name: dict[str, list[Bank]] = {}
    for bank in banks:
        if bank.told:
            by_name.setdefault(bank.told, []).append(bank)
    for name, mine in by_name.items():
        shore = mine[len(mine) // 2].shore
        yield name, shore.interpolate(0.5, normalized=True)
