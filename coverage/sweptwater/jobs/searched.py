"""In which layers, and in which light, each drift was fished; and only some of them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TypeAlias

import numpy as np
import pandas as pd
import shapely

from sweptwater.arrays import Area
from sweptwater.errors import PracticeError
from sweptwater.jobs.circumstances import layer_text, tellings
from sweptwater.jobs.met import read_stints
from sweptwater.jobs.note import read_noted
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.recall import Memory
from sweptwater.offers.effort import cut_pieces, mostly
from sweptwater.offers.flies import layer_names
from sweptwater.offers.ledger import LayerShare, layer_shares, within_depth
from sweptwater.offers.sky import SKIES
from sweptwater.offers.stints import NOT_TOLD, Stint
from sweptwater.practice.settings import Spread
from sweptwater.practice.tally import SetUp
from sweptwater.swept.boats import BoatDay, sweep_drifts
from sweptwater.swept.layered import EMPTY, Stack, merge_stacks
from sweptwater.swept.memory import MemoryDay
from sweptwater.swept.shore import BankLine
from sweptwater.water.depth import grid_in
from sweptwater.water.shapes import polygonal

Which: TypeAlias = tuple[date, str, float]
"""A drift by its day, its pair and its start, in seconds since 1970 UTC."""

PLACES = 30
"""At so many places of a bank's water its depth is looked up."""

SoFished: TypeAlias = tuple[frozenset[str], str]
"""The layers that a drift's rods fished, and the sky for most of it."""

NOT_KNOWN: SoFished = (frozenset([NOT_TOLD]), NOT_TOLD)
"""Of a drift of which nobody told anything."""


@dataclass(frozen=True, slots=True)
class Only:
    """What a report of swept water is confined to.

    Parameters
    ----------
    layers
        The layers of which a drift must have fished one; all if empty.
    sky
        What the sky must have been; any if empty.
    layers_text
        The layers in words.
    """

    layers: frozenset[str] = frozenset()
    sky: str = ""
    layers_text: str = ""

    def takes(self, fished: SoFished) -> bool:
        """Tell whether a drift that was fished so counts."""
        layers, sky = fished
        return (not self.layers or bool(self.layers & layers)) and (
            not self.sky or self.sky == sky
        )


def parse_only(opened: Opened, layer: str | None, light: str | None) -> Only | None:
    """Return what a layer and a light confine a report to; None if neither is told.

    Raises
    ------
    PracticeError
        If there is no such layer or light.
    """
    if not layer and not light:
        return None
    settings = opened.settings
    names = layer_names(settings.tackle, settings.units)
    layers = layers_meant(layer, names) if layer else frozenset[str]()
    sky = (light or "").strip().casefold()
    if sky and sky not in SKIES:
        raise PracticeError(
            f"there is no light {light!r}: it can be {', '.join(SKIES)}, as noted of "
            "the sky"
        )
    return Only(layers, sky, _layers_text([name for name in names if name in layers]))


def _layers_text(names: Sequence[str]) -> str:
    """Return one layer's name, or below which depth several lie.

    Examples
    --------
    >>> _layers_text(["3-8 ft"]), _layers_text(["8-15 ft", "15+ ft"]), _layers_text([])
    ('3-8 ft', 'below 8 ft', '')
    """
    if len(names) < 2:
        return "".join(names)
    between, _, unit = names[0].rpartition(" ")
    return f"below {between.partition('-')[0]} {unit}"


def layers_meant(text: str, names: Sequence[str]) -> frozenset[str]:
    """Return the layers that a text means: one by its name, or all below a depth.

    Raises
    ------
    PracticeError
        If it means none.

    Examples
    --------
    >>> names = ["0-3 ft", "3-8 ft", "8-15 ft", "15+ ft"]
    >>> sorted(layers_meant("3-8", names)), sorted(layers_meant("Below 8 ft", names))
    (['3-8 ft'], ['15+ ft', '8-15 ft'])
    """
    unit = names[0].rpartition(" ")[2]
    said = text.casefold().replace(unit, "").strip()
    plain = [name.rpartition(" ")[0] for name in names]
    if said in plain:
        return frozenset([names[plain.index(said)]])
    tops = [name.partition("-")[0].rstrip("+") for name in plain]
    below = said.removeprefix("below").removesuffix("+").strip()
    if below != said and below in tops:
        return frozenset(names[tops.index(below) :])
    raise PracticeError(
        f"there is no layer {text!r}: the layers are {', '.join(names)}, or write "
        f"below {tops[-2]} for all from there on ([tackle] of practice.toml has them)"
    )


def fished_layers(
    opened: Opened, boats: Sequence[BoatDay], memory: Memory
) -> Mapping[Which, SoFished]:
    """Return for each drift the layers that its rods fished, and the sky over it."""
    stints = read_stints(opened, boats, memory.days).stints
    noted = read_noted(opened)
    if not noted.skies and not any(stint.setup != SetUp() for stint in stints):
        return {}  # nobody told: it is so of all drifts
    told = tellings(opened, noted)
    pieces = cut_pieces(stints, {"sky": told["sky"]})
    found = fished_in(opened, stints, pieces)
    return {which: _without_untold(fished) for which, fished in found.items()}


def fished_in(
    opened: Opened, stints: Sequence[Stint], pieces: pd.DataFrame
) -> Mapping[Which, SoFished]:
    """Return the same of some stints; a layer that a rod did not tell is one of them.

    Parameters
    ----------
    pieces
        The table of `effort.cut_pieces` with the sky.
    """
    skies = mostly(pieces, ["sky"])
    found: dict[Which, SoFished] = {}
    for number, stint in enumerate(stints):
        which = (stint.day, stint.pair, float(stint.way.time_s[0]))
        (sky,) = skies.get(number, (NOT_TOLD,))
        layers, _ = found.get(which, (frozenset[str](), ""))
        found[which] = (layers | {layer_text(opened, stint)}, sky)
    return found


def _without_untold(fished: SoFished) -> SoFished:
    """Return a drift's layers; that one rod did not tell matters only if none did."""
    layers, sky = fished
    return (layers - {NOT_TOLD} or layers, sky)


def only_boats(
    boats: Iterable[BoatDay], how: Mapping[Which, SoFished], only: Only
) -> list[BoatDay]:
    """Return the boat-days with those drifts alone that count."""
    left = []
    for boat in boats:
        kept = [
            (drift, swept)
            for drift, swept in zip(boat.afloat.drifts, boat.swept, strict=True)
            if _counts(how, only, boat.day, boat.pair, drift.start_s)
        ]
        drifts = tuple(drift for drift, _ in kept)
        hours_s = sum(drift.end_s - drift.start_s for drift in drifts if drift.timed)
        left.append(
            replace(
                boat,
                afloat=replace(boat.afloat, drifts=drifts, fishing_s=hours_s),
                swept=tuple(swept for _, swept in kept),
            )
        )
    return left


def only_memory(
    days: Iterable[MemoryDay], how: Mapping[Which, SoFished], only: Only
) -> list[MemoryDay]:
    """Return what is remembered of those drifts alone that count."""
    left = [
        replace(
            day,
            drifts=tuple(
                one
                for one in day.drifts
                if _counts(how, only, day.day, day.pair, one.drift.start_s)
            ),
        )
        for day in days
    ]
    return [day for day in left if day.drifts]


def stack_of(boats: Sequence[BoatDay]) -> Stack:
    """Return the water that boat-days swept once, twice and three times."""
    return merge_stacks([boat.stack for boat in boats]) if boats else EMPTY


def swept_so(boats: Sequence[BoatDay], spread: Spread, fishable: Area) -> Area:
    """Return the water that boat-days would have swept with another cast spread."""
    shapes = [
        shape
        for boat in boats
        for shape in sweep_drifts(boat.afloat.drifts, spread, fishable)
    ]
    return polygonal(shapely.union_all(shapes))


def bank_layers(
    opened: Opened,
    boats: Sequence[BoatDay],
    how: Mapping[Which, SoFished],
) -> list[tuple[LayerShare, ...]]:
    """Return for each bank what share of it was recorded as swept in each layer."""
    swept, fished = [], list[SoFished]()
    for boat in boats:
        for drift, shape in zip(boat.afloat.drifts, boat.swept, strict=True):
            swept.append(shape)
            fished.append(_of(how, boat.day, boat.pair, drift.start_s))
    settings = opened.settings
    names = layer_names(settings.tackle, settings.units)
    return layer_shares([bank.water for bank in opened.banks], swept, fished, names)


def with_layers(
    opened: Opened,
    lines: Sequence[BankLine],
    layers: Sequence[tuple[LayerShare, ...]],
) -> tuple[BankLine, ...]:
    """Return the lines of banks with what was swept in each layer that is there.

    A layer below the bed of a bank's water is no part of it, where depths are known.
    """
    tops_m = (0.0, *opened.settings.tackle.layers_m)
    told = any(one.share for shares in layers for one in shares)
    depths_m = _bank_depths_m(opened) if told else [None] * len(lines)
    found = []
    for line, shares, depth_m in zip(lines, layers, depths_m, strict=True):
        whole = {one.layer: one.share for one in shares}
        there = within_depth(whole, tops_m, depth_m)
        by_sky = {
            sky: {one.layer: one.by_sky.get(sky, 0.0) for one in shares}
            for sky in sorted({sky for one in shares for sky in one.by_sky})
        }
        lit = {sky: within_depth(of, tops_m, depth_m) for sky, of in by_sky.items()}
        found.append(replace(line, layers=there, layers_by_light=lit))
    return tuple(found)


def _bank_depths_m(opened: Opened) -> list[float | None]:
    """Return how deep the water of each bank is, but for its deepest tenth."""
    surface = opened.depths
    if surface is None:
        return [None] * len(opened.banks)
    grids = [grid_in(bank.water, PLACES) for bank in opened.banks]
    depth_m = surface.depth_m(*np.vstack([np.zeros((0, 2)), *grids]).T)
    ends = np.cumsum([len(grid) for grid in grids])
    parts = np.split(depth_m, ends[:-1]) if len(grids) else []
    return [
        float(np.quantile(known, 0.9))
        if len(known := part[np.isfinite(part)]) and 2 * len(known) >= len(part)
        else None
        for part in parts
    ]


def _of(
    how: Mapping[Which, SoFished], day: date, pair: str, start_s: float
) -> SoFished:
    return how.get((day, pair, start_s), NOT_KNOWN)


def _counts(
    how: Mapping[Which, SoFished], only: Only, day: date, pair: str, start_s: float
) -> bool:
    return only.takes(_of(how, day, pair, start_s))
