"""What sectors are called, and whose they are at first."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import count
from string import ascii_uppercase

from sweptwater.errors import SectorError
from sweptwater.jobs.opened import Opened
from sweptwater.practice.geojson import SectorShape
from sweptwater.water.sectors import Division

LONGEST_NAME = 40


def renamed(
    sectors: tuple[SectorShape, ...], names: Sequence[tuple[str, str]]
) -> tuple[SectorShape, ...]:
    """Return the sectors with the new names; they may change places."""
    new: dict[str, str] = {}
    told = Counter(old.strip().casefold() for old, _ in names)
    if twice := [old for old, count in told.items() if count > 1]:
        raise SectorError(f"sector {twice[0]!r} is given two names: give it one")
    known = {sector.name.casefold(): sector.name for sector in sectors}
    for old, name in names:
        if old.strip().casefold() not in known:
            raise SectorError(
                f"there is no sector {old!r}: the sectors are "
                f"{', '.join(known.values())}"
            )
        new[known[old.strip().casefold()]] = _check_name(name)
    renamed = tuple(replace(s, name=new.get(s.name, s.name)) for s in sectors)
    check_names([sector.name for sector in renamed])
    return renamed


def named(
    opened: Opened,
    division: Division,
    names: list[str],
    shares: Sequence[float] | None,
) -> tuple[SectorShape, ...]:
    """Return the sectors with letters, or their own names, and their pairs.

    Pairs take the sectors in order; a sector named like a pair is that pair's.
    """
    pairs = opened.settings.pairs
    own = {name.casefold(): pair for pair in pairs for name in names if _is(name, pair)}
    free = [pair for pair in pairs if pair not in own.values()]
    check_names(names)
    letters = _letters({name.casefold() for name in names})
    result = []
    for index, area in enumerate(division.sectors):
        name = names[index] if index < len(names) else ""
        pair = own.get(name.casefold()) or (free.pop(0) if free else "")
        degrees = opened.venue.frame.degrees(area)
        weight = shares[index] if shares else 1.0
        shape = SectorShape(name or next(letters), pair, degrees, weight=weight)
        result.append(shape)
    return tuple(result)


def _check_name(name: str) -> str:
    name = " ".join(name.split())
    if not 0 < len(name) <= LONGEST_NAME or not name.isprintable():
        raise SectorError(
            f"a sector cannot be called {name[:60]!r}: give it a name of 1 to "
            f"{LONGEST_NAME} letters, such as Dam end"
        )
    return name


def check_names(names: Sequence[str]) -> None:
    """Refuse names that two sectors have, whatever their capitals."""
    told = Counter(name.casefold() for name in names if name)
    twice = [name for name in names if told[name.casefold()] > 1]
    if twice:
        raise SectorError(
            f"two sectors are called {twice[0]!r}: give each a name of its own"
        )


def _letters(taken: set[str]) -> Iterator[str]:
    """Yield A to Z, then AA to ZZ, and so on, without what is taken."""
    for many in count(1):
        for letter in ascii_uppercase:
            if (name := letter * many).casefold() not in taken:
                yield name


def _is(name: str, pair: str) -> bool:
    return name.casefold() == pair.casefold()
