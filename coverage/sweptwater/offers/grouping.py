"""From stints and pieces of effort to what each row of a table counts."""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from sweptwater.offers.effort import fished_hours, mostly
from sweptwater.offers.sky import SKIES
from sweptwater.offers.stints import NOT_TOLD, Loose, Stint

UNKNOWN = (NOT_TOLD, "depth not known")
"""What stands where nobody knows."""

LAST = (*UNKNOWN, "open water", "no sector")
"""What comes after all that has a name of its own."""

_NUMBERS = re.compile(r"(\d+)")


@dataclass(frozen=True, slots=True)
class Group:
    """The stints that one row counts.

    Parameters
    ----------
    by
        The circumstances that they have in common.
    told
        The stints that were told, by their place in the list.
    offers, hours
        What was met on them, and their rod-hours.
    untold_hours
        Rod-hours of those of which nobody told.
    fished_hours
        All rod-hours under these circumstances, told or not, to the minute.
    """

    by: Mapping[str, str]
    told: tuple[int, ...]
    offers: int
    hours: float
    untold_hours: float
    fished_hours: float


def groups(
    stints: Sequence[Stint],
    pieces: pd.DataFrame,
    by: Sequence[str],
    loose: Iterable[Loose] = (),
) -> tuple[tuple[Group, ...], tuple[Loose, ...]]:
    """Return the groups of stints under the same circumstances, in order of name.

    A stint counts where most of it was. A pair's loose offers count in a group if all
    drifts that they may belong to were told and lie in it; the others are returned.
    Stints that were not fished as in a match count nowhere, and where no drift counts
    there is no row.

    Parameters
    ----------
    pieces
        The table of `effort.cut_pieces`.
    by
        Which circumstances to tell apart.
    """
    where = {
        number: key
        for number, key in mostly(pieces, by).items()
        if stints[number].match
    }
    told: defaultdict[tuple[str, ...], list[int]] = defaultdict(list)
    untold_h: defaultdict[tuple[str, ...], float] = defaultdict(float)
    for number, key in where.items():
        if stints[number].told:
            told[key].append(number)
        else:
            untold_h[key] += stints[number].hours
    more: defaultdict[tuple[str, ...], int] = defaultdict(int)
    left = list[Loose]()
    for one in loose:
        home = _home(one, stints, where)
        if home is None:
            left.append(one)
        else:
            more[home] += one.counts.offers
    all_h = fished_hours(pieces, by)
    return tuple(
        Group(
            by=dict(zip(by, key, strict=True)),
            told=tuple(told[key]),
            offers=sum(stints[number].counts.offers for number in told[key])
            + more[key],
            hours=sum(stints[number].hours for number in told[key]),
            untold_hours=untold_h[key],
            fished_hours=hours,
        )
        for key, hours in sorted(all_h.items(), key=lambda item: _order(item[0]))
        if key in told or key in untold_h
    ), tuple(left)


def _order(key: Sequence[str]) -> list[object]:
    """Return what sorts circumstances as people would: what nobody knows comes last."""
    return [
        (
            text in LAST,
            SKIES.index(text) if text in SKIES else -1,
            [int(part) if part.isdigit() else 0 for part in _NUMBERS.split(text)],
            text,
        )
        for text in key
    ]


def total(stints: Sequence[Stint], loose: Iterable[Loose] = ()) -> tuple[int, float]:
    """Return the offers and rod-hours of all stints that were told.

    Loose offers count if all drifts that they may belong to were told.
    """
    whole = dict.fromkeys(
        (number for number, stint in enumerate(stints) if stint.match), ()
    )
    told = [stints[number] for number in whole if stints[number].told]
    offers = sum(stint.counts.offers for stint in told)
    offers += sum(
        one.counts.offers for one in loose if _home(one, stints, whole) is not None
    )
    return offers, sum(stint.hours for stint in told)


def _home(
    loose: Loose, stints: Sequence[Stint], where: Mapping[int, tuple[str, ...]]
) -> tuple[str, ...] | None:
    """Return the only circumstances in which loose offers can have come, if told."""
    mine = [
        (number, stint)
        for number, stint in enumerate(stints)
        if (stint.day, stint.pair) == (loose.day, loose.pair)
        and stint.drift in loose.drifts
        and loose.rod in ("", stint.rod)
    ]
    homes = {where.get(number) for number, _ in mine}
    if not mine or len(homes) > 1 or not all(stint.told for _, stint in mine):
        return None
    return homes.pop()
