"""What has been fished: the figures of a coverage report, and the shapes behind it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import shapely

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError
from sweptwater.jobs.boats import Reader, read_boat_days
from sweptwater.jobs.check import quick_faults
from sweptwater.jobs.covered import Covered, Parts, Sight
from sweptwater.jobs.discreet import without_file_names
from sweptwater.jobs.done import plans_done
from sweptwater.jobs.merging import merged_stack, swept_with
from sweptwater.jobs.opened import Opened, Watch, open_folder, parse_day, unwatched
from sweptwater.jobs.recall import Memory, recall
from sweptwater.jobs.searched import (
    bank_layers,
    fished_layers,
    only_boats,
    only_memory,
    parse_only,
    stack_of,
    swept_so,
    with_layers,
)
from sweptwater.jobs.warming import warm
from sweptwater.jobs.wording import day_text
from sweptwater.practice.rota import rota_days
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.layered import Stack
from sweptwater.swept.ledger import (
    BoatLine,
    Fished,
    SectorLine,
    assign_banks,
    boat_lines,
    done_pieces,
    from_memory,
    sector_lines,
    shares_of,
)
from sweptwater.swept.memory import (
    MemoryDay,
    MemoryLine,
    beyond,
    memory_lines,
)
from sweptwater.swept.shore import bank_lines
from sweptwater.swept.spread import path_line
from sweptwater.swept.totals import (
    alone,
    day_lines,
    pair_lines,
    swept_by_day,
    swept_by_pair,
)
from sweptwater.units import length_text
from sweptwater.water.depth import depth_range_m

SURELY_M = 15.0
"""Nearer to a zone's edge than this, a receiver cannot tell on which side it was."""

CASTS = {"shorter": 0.75, "longer": 1.25}
"""The cast is a judgement: shares are also told for one so much shorter and longer."""


def look(
    folder: Path,
    *,
    day: str | None = None,
    pair: str | None = None,
    layer: str | None = None,
    light: str | None = None,
    watch: Watch = unwatched,
) -> Sight:
    """Return what a coverage map shows, of all boat-days or of some.

    Parameters
    ----------
    layer, light
        Only drifts with flies in this layer, under this sky.

    Raises
    ------
    SweptwaterError
        If the folder, a track, the day, the pair, the layer or the light is unusable.
    """
    opened = open_folder(folder)
    only = parse_only(opened, layer, light)
    wanted = (
        parse_day(day) if day else None,
        opened.settings.pair_named(pair) if pair else None,
    )
    reader, originals = Reader(opened), opened.practice.originals
    spreads = {change: opened.settings.spread.scaled(f) for change, f in CASTS.items()}
    warm(reader, originals, tuple(spreads.values()), watch=watch)
    everyone = read_boat_days(opened, originals, reader=reader, watch=watch)
    memory = recall(opened, everyone.days)
    boats = chosen_boats(everyone.days, *wanted, told=memory.days)
    told = memory.of(*wanted)
    how = fished_layers(opened, everyone.days, memory)
    layers = bank_layers(opened, boats, how)
    if only:
        boats = only_boats(boats, how, only)
        told = tuple(only_memory(told, how, only))
        stack = stack_of(boats)
    else:
        stack = merged_stack(everyone, boats)
    parts, remembered = _parts(opened, boats), beyond(told, stack.once)
    other_casts = {
        change: swept_so(boats, spread, opened.venue.fishable)
        if only
        else swept_with(everyone, boats, spread)
        for change, spread in watch(spreads.items(), "trying other casts")
    }
    report = _report(opened, _Chosen(wanted, boats, stack, parts, told, remembered))
    lines = _boat_lines(everyone.days, boats, apart=only is not None)
    report = replace(
        _with_boats(report, lines, parts),
        layer=only.layers_text or None if only else None,
        light=only.sky or None if only else None,
        banks=with_layers(opened, report.banks, layers),
        share_if_cast={
            change: swept.area / report.water_m2
            for change, swept in other_casts.items()
        },
        sectors=_with_depths(
            opened, _with_other_casts(opened, report.sectors, other_casts)
        ),
        remembered=_memory_lines(everyone.days, memory, told),
        planned=plans_done(opened, boats, told),
        remarks=memory.remarks_on(*wanted),
        faults=(
            *without_file_names(everyone.faults, opened.practice.originals),
            *quick_faults(opened),
            *map(str, memory.faults),
            *_drifts_out_of_bounds(opened, boats),
        ),
    )
    if wanted == (None, None) and not only:  # all that is kept was asked for
        everyone.reader.tidy()
    return Sight(opened, tuple(boats), stack, parts, how, told, remembered, report)


def _boat_lines(
    everyone: Sequence[BoatDay], boats: Sequence[BoatDay], *, apart: bool
) -> tuple[BoatLine, ...]:
    """Return the lines of some boats; new is what nobody had swept before.

    Parameters
    ----------
    apart
        Whether only some of their drifts count: then new is so among those.
    """
    if apart:
        return boat_lines(boats)
    there = {(boat.day, boat.pair) for boat in boats}
    return tuple(
        line for line in boat_lines(everyone) if (line.day, line.pair) in there
    )


def _with_boats(report: Covered, lines: tuple[BoatLine, ...], parts: Parts) -> Covered:
    return replace(
        report,
        days=day_lines(lines, parts.by_day, report.water_m2),
        pairs=pair_lines(lines, parts.by_pair, parts.alone),
        boats=lines,
    )


def _memory_lines(
    everyone: Sequence[BoatDay], memory: Memory, told: Sequence[MemoryDay]
) -> tuple[MemoryLine, ...]:
    """Return the lines of what was told; new is what nobody had swept before."""
    if not told:
        return ()
    there = {(one.day, one.pair) for one in told}
    lines = memory_lines(memory.days, [boat.stack.once for boat in everyone])
    return tuple(line for line in lines if (line.day, line.pair) in there)


def _parts(opened: Opened, boats: Sequence[BoatDay]) -> Parts:
    by_pair = swept_by_pair(boats, opened.settings.pairs)
    apart, shared = alone(by_pair)
    return Parts(swept_by_day(boats), by_pair, apart, shared)


def _drifts_out_of_bounds(opened: Opened, boats: Sequence[BoatDay]) -> Iterator[str]:
    """Tell of drifts that went well into a zone out of bounds."""
    inside = opened.venue.out_of_bounds.buffer(-SURELY_M)
    if inside.is_empty:
        return
    for boat in boats:
        ways = [path_line(drift) for drift in boat.afloat.drifts]
        metres = float(shapely.length(shapely.intersection(ways, inside)).sum())
        if metres > SURELY_M:
            length = length_text(metres, opened.settings.units)
            yield (
                f"{boat.pair} on {day_text(boat.day)} drifted {length} inside "
                "a zone out of bounds: is the zone right, and does the pair know it?"
            )


def chosen_boats(
    boats: Sequence[BoatDay],
    day: date | None,
    pair: str | None,
    *,
    told: Sequence[MemoryDay] = (),
) -> list[BoatDay]:
    """Return the boat-days of a day and of a pair.

    Parameters
    ----------
    told
        What is known from memory: where there is some, there need be no track.

    Raises
    ------
    PracticeError
        If there are none of that day or pair, and nothing was told of it.
    """
    chosen = [
        boat
        for boat in boats
        if (day is None or boat.day == day) and (pair is None or boat.pair == pair)
    ]
    known = any(
        (day is None or one.day == day) and (pair is None or one.pair == pair)
        for one in told
    )
    if not chosen and not known and (day or pair):
        days = ", ".join(sorted({boat.day.isoformat() for boat in boats}))
        who = f"{pair} has no track" if pair else "there is no track"
        there = f"there are tracks of {days}" if days else "there are no tracks yet"
        raise PracticeError(f"{who}{f' of {day}' if day else ''}: {there}")
    return chosen


def _with_other_casts(
    opened: Opened, lines: Sequence[SectorLine], casts: Mapping[str, Area]
) -> tuple[SectorLine, ...]:
    """Return the lines with the sectors' shares by what other casts would sweep."""
    shapes = [opened.sectors[line.sector] for line in lines]
    shares = {change: shares_of(shapes, swept) for change, swept in casts.items()}
    return tuple(
        replace(
            line, share_if_cast={change: of[index] for change, of in shares.items()}
        )
        for index, line in enumerate(lines)
    )


def _with_depths(opened: Opened, lines: Sequence[SectorLine]) -> tuple[SectorLine, ...]:
    """Return the lines with how deep the sectors' water is, where that is known."""
    deep = [depth_range_m(opened.depths, opened.sectors[it.sector]) for it in lines]
    return tuple(
        replace(line, depth_low_m=of[0], depth_high_m=of[1]) if of else line
        for line, of in zip(lines, deep, strict=True)
    )


@dataclass(frozen=True, slots=True)
class _Chosen:
    """What a report is to tell of: the day and pair that were asked for, if any."""

    wanted: tuple[date | None, str | None]
    boats: Sequence[BoatDay]
    stack: Stack
    parts: Parts
    told: Sequence[MemoryDay]
    remembered: Area

    @property
    def days(self) -> set[date]:
        """The days on which somebody was out."""
        return {boat.day for boat in self.boats} | {one.day for one in self.told}


def _report(opened: Opened, chosen: _Chosen) -> Covered:
    """Return the figures, but for those that need more than what was chosen."""
    fishable, stack = opened.venue.fishable, chosen.stack
    pairs_day = chosen.wanted[0] or opened.day_to_come(chosen.days)
    pieces = assign_banks(opened.banks, opened.sectors)
    done = done_pieces(pieces, stack.once)
    memory = from_memory(pieces, done, stack.once, chosen.remembered)
    return Covered(
        practice=opened.settings.name,
        day=chosen.wanted[0],
        pair=chosen.wanted[1],
        layer=None,
        light=None,
        pairs_day=pairs_day if rota_days(opened.practice.sectors) else None,
        water_m2=fishable.area,
        fished_m2=stack.once.area,
        fished_share=stack.once.area / fishable.area,
        share_if_cast={},
        drifts=sum(len(boat.afloat.drifts) for boat in chosen.boats),
        drifts_over={band: shape.area for band, shape in stack.bands.items()},
        sectors=sector_lines(
            opened.sectors,
            opened.pairs_on(pairs_day),
            Fished(chosen.boats, stack, done, memory),
            pieces,
            reset_s=opened.settings.boat.reset_s,
        ),
        banks=bank_lines(
            pieces,
            done,
            stack.once,
            chosen.parts.by_day,
            drifts=[swept for boat in chosen.boats for swept in boat.swept],
            memory=memory,
        ),
        days=(),
        pairs=(),
        boats=(),
        remembered_m2=chosen.remembered.area,
        remembered_share=chosen.remembered.area / fishable.area,
        remembered=(),
        planned=(),
        remarks=(),
        missing=_missing(opened, chosen),
        faults=(),
    )


def _missing(opened: Opened, chosen: _Chosen) -> tuple[str, ...]:
    """Return the boats without a track, also those of which something was told."""
    there = {(boat.day, boat.pair) for boat in chosen.boats}
    wanted, days = chosen.wanted, chosen.days
    if not wanted[0]:  # practice days that have passed and nobody has a track of
        planned = {*opened.settings.days, *rota_days(opened.practice.sectors)}
        days |= {day for day in planned if day < max(days, default=date.min)}
    pairs = [wanted[1]] if wanted[1] else opened.settings.pairs
    return tuple(
        f"{pair} on {day.isoformat()}"
        for day in sorted(days)
        for pair in pairs
        if (day, pair) not in there and opened.settings.rods_on(pair, day)
    )
