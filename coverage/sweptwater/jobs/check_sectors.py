"""What is wrong with the sectors, and with the places that they and the venue name."""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date

import shapely
from shapely.geometry.base import BaseGeometry

from sweptwater.jobs.bank_words import lost_sentences
from sweptwater.jobs.faults import Fault, fault_from
from sweptwater.jobs.opened import Opened, rounding_m2
from sweptwater.jobs.wording import day_text
from sweptwater.practice.folder import SECTORS, VENUE
from sweptwater.practice.rota import rota_days
from sweptwater.units import area_text, length_text
from sweptwater.water.venue import FURTHEST_M, furthest_m

WRONG_WAY = "latitude and longitude are the wrong way round"


def sector_faults(opened: Opened) -> Iterator[Fault]:
    """Yield all that is wrong with the sectors, but for names that are no pair's."""
    if not opened.drawn:
        yield Fault(SECTORS, "the water is not divided yet", "run sweptwater divide")
        return
    yield from misfits(opened)
    yield from same_names(opened)
    turned = turned_sectors(opened)
    for name in {sector.name: None for sector in opened.practice.sectors}:
        if name not in opened.sectors and name not in turned:
            yield Fault(
                SECTORS,
                f"there is no water to fish in sector {name}",
                "divide the water again",
            )
    yield from _pairs_in_two_sectors(opened)
    yield from _pairs_without(opened)


def misfits(opened: Opened) -> Iterator[Fault]:
    """Tell of sectors that are not the water to fish, each part of it once."""
    if not opened.drawn:
        return
    if turned := turned_sectors(opened):
        yield _turned(opened, turned)
        return
    fishable, units = opened.venue.fishable, opened.settings.units
    shapes = list(opened.drawn.values())
    whole = shapely.union_all(shapes)
    sizes_m2 = {
        "of water is in no sector": fishable.difference(whole).area,
        "of the sectors is not fishable water: a zone was added or the outline "
        "changed after dividing": whole.difference(fishable).area,
        "of water is in two sectors": sum(s.area for s in shapes) - whole.area,
    }
    for what, size_m2 in sizes_m2.items():
        if size_m2 > rounding_m2(fishable):
            told = f"{area_text(size_m2, units)} {what}"
            yield Fault(SECTORS, told, "divide the water again")


def same_names(opened: Opened) -> Iterator[Fault]:
    """Tell of sectors that have one name."""
    told = Counter(sector.name.casefold() for sector in opened.practice.sectors)
    for name, count in told.items():
        if count > 1:
            yield Fault(
                SECTORS,
                f"{count} sectors are called {name.upper()}",
                "divide the water again",
            )


def name_faults(opened: Opened) -> Iterator[Fault]:
    """Tell of names of banks that no bank took."""
    for told in lost_sentences(opened.venue, opened.settings.banks):
        yield fault_from(VENUE, told)


def place_faults(opened: Opened) -> Iterator[Fault]:
    """Tell of places and zones of the venue that are nowhere near its water."""
    water, frame = opened.venue.water, opened.venue.frame
    for item in opened.practice.features:
        if item.kind == "water":
            continue
        if _away_m(opened, item.shape) <= furthest_m(item.kind):
            continue
        called = f"the {item.kind} {item.name}".strip()
        if water.distance(frame.metres(swapped(item.shape))) <= FURTHEST_M:
            yield Fault(
                VENUE,
                f"{WRONG_WAY} in {called}, so that it lies elsewhere",
                "write its longitude first",
            )
        else:
            metres = length_text(_away_m(opened, item.shape), opened.settings.units)
            yield Fault(
                VENUE,
                f"{called} lies {metres} from the water",
                "put its coordinates right, longitude first, or delete it",
            )


def swapped(shape: BaseGeometry) -> BaseGeometry:
    """Return a shape with its two coordinates in the other order."""
    return shapely.transform(shapely.force_2d(shape), lambda where: where[:, ::-1])


def _away_m(opened: Opened, degrees: BaseGeometry) -> float:
    """Return how far a shape is from the water; infinite on the globe's other side."""
    metres = opened.venue.frame.metres(degrees)
    there = shapely.get_coordinates(metres)
    if not (abs(there) < float("inf")).all():
        return float("inf")
    return float(opened.venue.water.distance(metres))


def turned_sectors(opened: Opened) -> list[str]:
    """Return the sectors that would lie on the water the other way round."""
    water, frame = opened.venue.water, opened.venue.frame
    return [
        sector.name
        for sector in opened.practice.sectors
        if not opened.drawn[sector.name].intersects(water)
        and frame.metres(swapped(sector.shape)).intersects(water)
    ]


def _turned(opened: Opened, names: Sequence[str]) -> Fault:
    if len(names) == len(opened.practice.sectors):
        return Fault(
            SECTORS,
            f"no sector lies on the water: {WRONG_WAY} there, or in {VENUE}",
            "put a saved copy back of the one that was changed, or divide the water "
            "again",
        )
    return Fault(
        SECTORS,
        f"{WRONG_WAY} in sector {', '.join(names)}",
        "put a saved copy back, or divide the water again",
    )


def _pairs_in_two_sectors(opened: Opened) -> Iterator[Fault]:
    """Tell of pairs that have two sectors on one day."""
    sectors = opened.practice.sectors
    days: list[date | None] = [*rota_days(sectors)]
    for day in days or [None]:
        told = Counter(
            sector.pair_on(day) if day else sector.pair for sector in sectors
        )
        for pair, count in told.items():
            if pair and count > 1:
                when = f" on {day_text(day)}" if day else ""
                yield Fault(
                    SECTORS,
                    f"{pair} has {count} sectors{when}",
                    "mend the pairs there, or run divide --rotate",
                )


def _pairs_without(opened: Opened) -> Iterator[Fault]:
    """Tell of sectors that are nobody's while a pair has none."""
    sectors = opened.practice.sectors
    have = {pair for s in sectors for pair in (s.pair, *s.days.values())}
    without = [pair for pair in opened.settings.pairs if pair not in have]
    for sector in sectors:
        if without and not sector.pair and not any(sector.days.values()):
            yield Fault(
                SECTORS,
                f"sector {sector.name} has no pair, and {', '.join(without)} no sector",
                f'write "pair": "{without[0]}" for sector {sector.name} there, or '
                "divide the water again",
            )
