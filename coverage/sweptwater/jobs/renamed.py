"""Names that are no pair's any more, and still have tracks or sectors."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from sweptwater.jobs.faults import Fault
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.wording import counted, or_text
from sweptwater.practice.folder import SECTORS, SETTINGS
from sweptwater.practice.geojson import SectorShape
from sweptwater.practice.originals import TRACKS
from sweptwater.practice.strays import unclaimed_folders


@dataclass(frozen=True, slots=True)
class _Unknown:
    """A pair's name that the settings do not have, and what still has it."""

    name: str
    folder: str
    tracks: int
    sectors: tuple[str, ...]


def unknown_pairs(opened: Opened) -> Iterator[Fault]:
    """Tell of each name that is no pair's and still has tracks or sectors."""
    pairs = opened.settings.pairs
    unknown = list(_unknown(opened))
    other = [item for item in unknown if not _by_capitals(item.name, pairs)]
    for item in unknown:
        new = _by_capitals(item.name, pairs)
        if new:
            yield _other_capitals(opened, item, new)
        else:
            free = _free_pairs(opened, item)
            yield _no_such_pair(item, free, sure=len(free) == len(other) == 1)


def _unknown(opened: Opened) -> Iterator[_Unknown]:
    practice, pairs = opened.practice, opened.settings.pairs
    folders = unclaimed_folders(practice.folder, pairs)
    sectors = _sectors_by_unknown(practice.sectors, pairs)
    names = {name.casefold(): name for name in (*folders, *sectors)}
    for key, name in sorted(names.items()):
        folder = next((f for f in folders if f.casefold() == key), "")
        yield _Unknown(
            name,
            f"{TRACKS}/{folder}" if folder else "",
            folders.get(folder, 0),
            tuple(s for p in sectors if p.casefold() == key for s in sectors[p]),
        )


def _sectors_by_unknown(
    sectors: Sequence[SectorShape], pairs: Sequence[str]
) -> Mapping[str, list[str]]:
    """Return the names of the sectors of each pair that there is not."""
    found: dict[str, list[str]] = {}
    for sector in sectors:
        for pair in sorted({sector.pair, *sector.days.values()} - {"", *pairs}):
            found.setdefault(pair, []).append(sector.name)
    return found


def _by_capitals(name: str, pairs: Sequence[str]) -> str:
    """Return the pair that a name is, but for its capitals."""
    return next((pair for pair in pairs if pair.casefold() == name.casefold()), "")


def _free_pairs(opened: Opened, unknown: _Unknown) -> list[str]:
    """Return the pairs that have none of what an unknown one has."""
    practice = opened.practice
    busy: set[str] = set()
    if unknown.folder:
        busy |= {original.pair for original in practice.originals}
    if unknown.sectors:
        busy |= {
            pair
            for sector in practice.sectors
            for pair in (sector.pair, *sector.days.values())
        }
    return [pair for pair in opened.settings.pairs if pair not in busy]


def _other_capitals(opened: Opened, unknown: _Unknown, pair: str) -> Fault:
    do = []
    if unknown.folder:
        there = (opened.practice.folder / TRACKS / pair).exists()
        do.append(
            f"move what is in {unknown.folder} to {TRACKS}/{pair}"
            if there
            else f"rename the folder to {TRACKS}/{pair}"
        )
    if unknown.sectors:
        do.append(f"write {pair} for {unknown.name} in {SECTORS}")
    return Fault(
        unknown.folder or SECTORS,
        f"the pair is called {pair}, with other capitals, so that {_lost(unknown)}",
        " and ".join(do),
    )


def _no_such_pair(unknown: _Unknown, free: Sequence[str], *, sure: bool) -> Fault:
    return Fault(
        unknown.folder or SECTORS,
        f"there is no pair {unknown.name} in {SETTINGS}, so that {_lost(unknown)}",
        f"{_way_on(unknown, free, sure=sure)}; or write {unknown.name} among the pairs "
        f"in {SETTINGS}, if that is a pair's name",
    )


def _way_on(unknown: _Unknown, free: Sequence[str], *, sure: bool) -> str:
    """Return what to do if the name was changed, or never was a pair's."""
    new = free[0] if sure else "that name" if free else "a pair's name"
    ways = []
    if unknown.folder and free:
        to = f"{TRACKS}/{new}" if sure else new
        ways.append(f"rename the folder to {to}")
    elif unknown.folder:
        ways.append("move its tracks to the folder of the pair they belong to")
    if unknown.sectors:
        ways.append(f"write {new} for {unknown.name} in {SECTORS}")
    todo = " and ".join(ways)
    if sure:
        return f"if {unknown.name} is now {new}, {todo}"
    if free:
        return f"if {unknown.name} is now called {or_text(free)}, {todo}"
    return todo if unknown.folder else f"{todo}, or divide the water again"


def _lost(unknown: _Unknown) -> str:
    """Return what comes of a name that no pair has."""
    lost = []
    if unknown.tracks:
        verb = "is" if unknown.tracks == 1 else "are"
        tracks = counted(unknown.tracks, "track")
        lost.append(f"{tracks} in {unknown.folder} {verb} not counted")
    if unknown.sectors:
        several = len(unknown.sectors) > 1
        lost.append(
            f"sector{'s' if several else ''} {', '.join(unknown.sectors)} "
            f"{'are' if several else 'is'} nobody's"
        )
    return " and ".join(lost)
