"""Who has which sector on which day: the pairs change round."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from sweptwater.practice.geojson import SectorShape


def change_round(
    sectors: Sequence[SectorShape], pairs: Sequence[str], days: Sequence[date]
) -> tuple[SectorShape, ...]:
    """Return the sectors with a pair for each day, so that each pair sees each one.

    On the first day everyone has what they have; each day after, each goes one sector
    on. As many days as there are sectors, or pairs if those are more, bring every pair
    to every sector once: the rows of a cyclic Latin square. Fewer days bring each pair
    to as many different sectors as there are days.

    Parameters
    ----------
    sectors
        With their pairs; those of nobody are taken in turn like the others.
    pairs
        All pairs. Those without a sector wait for a day, then take their turn.
    days
        In any order; told twice is told once.

    Examples
    --------
    >>> from shapely import box
    >>> two = [SectorShape("A", "Heron", box(0, 0, 1, 1)),
    ...        SectorShape("B", "Grebe", box(1, 0, 2, 1))]
    >>> days = [date(2027, 6, 8), date(2027, 6, 9)]
    >>> [list(s.days.values()) for s in change_round(two, ["Heron", "Grebe"], days)]
    [['Heron', 'Grebe'], ['Grebe', 'Heron']]
    """
    turn = [sector.pair for sector in sectors]
    turn += [pair for pair in pairs if pair not in turn]
    return tuple(
        replace(
            sector,
            days={
                day: turn[(place + late) % len(turn)]
                for late, day in enumerate(sorted(set(days)))
            },
        )
        for place, sector in enumerate(sectors)
    )


def pairs_on(sectors: Sequence[SectorShape], day: date) -> dict[str, str]:
    """Return the pair of each sector on a day."""
    return {sector.name: sector.pair_on(day) for sector in sectors}


def rota_days(sectors: Sequence[SectorShape]) -> list[date]:
    """Return the days for which pairs are told, in order."""
    return sorted({day for sector in sectors for day in sector.days})


def day_to_come(sectors: Sequence[SectorShape], fished: Sequence[date]) -> date | None:
    """Return the first day of the rota after all that were fished, else its last.

    None without a rota: the pairs are then the same on every day.
    """
    days = rota_days(sectors)
    coming = [day for day in days if day > max(fished, default=date.min)]
    return next(iter(coming or days[-1:]), None)


def rota(sectors: Sequence[SectorShape]) -> Mapping[date, Mapping[str, str]]:
    """Return for each day the pair of each sector."""
    return {day: pairs_on(sectors, day) for day in rota_days(sectors)}
