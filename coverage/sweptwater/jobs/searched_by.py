"""Piece by piece of the water: how surely it was searched, in which layer and light."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sweptwater.jobs.opened import Opened
from sweptwater.jobs.places import OPEN_WATER, place_text
from sweptwater.jobs.searching import Searching
from sweptwater.search.belief import Belief
from sweptwater.search.passes import Passed, searched
from sweptwater.search.squares import Patch


@dataclass(frozen=True, slots=True)
class SearchedLayer:
    """How surely one layer of a piece of water was searched.

    Parameters
    ----------
    layer
        Its name.
    chance, at_best
        How likely a small shoal there would have shown itself: taken cautiously, and if
        the drifts were laid as regularly as can be.
    by_sky
        The former by what was fished in each light alone.
    """

    layer: str
    chance: float
    at_best: float
    by_sky: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class SearchedPatch:
    """How surely a piece of water was searched.

    Parameters
    ----------
    sector, bank, place
        Where: the bank's number, None in open water; and the same in words.
    area_m2
        Its water.
    looked_share
        The share of it that was fished in as many different ways, by layer and light,
        as the settings want of water that counts as searched.
    layers
        Layer by layer, those that are there.
    """

    sector: str | None
    bank: int | None
    place: str
    area_m2: float
    looked_share: float
    layers: tuple[SearchedLayer, ...]


def searched_patches(searching: Searching) -> tuple[SearchedPatch, ...]:
    """Return how surely each piece of the water was searched."""
    squares, belief = searching.squares, searching.belief
    skies = sorted({one.sky for one in searching.passed.passes})
    lit = {sky: _only(searching, sky) for sky in skies}
    looked = searching.looks >= searching.opened.settings.search.looks
    found = []
    for number, patch in enumerate(squares.patches):
        here = squares.patch == number
        layers = []
        for layer in np.flatnonzero(squares.there[here].any(axis=0)).tolist():
            by_sky = {sky: one.chance_in(here, layer) for sky, one in lit.items()}
            layers.append(
                SearchedLayer(
                    squares.layers[layer],
                    belief.chance_in(here, layer),
                    belief.at_best_in(here, layer),
                    {sky: chance for sky, chance in by_sky.items() if chance > 0},
                )
            )
        found.append(
            SearchedPatch(
                sector=patch.sector,
                bank=patch.bank,
                place=patch_text(searching.opened, patch),
                area_m2=patch.area_m2,
                looked_share=float(looked[here].mean()),
                layers=tuple(layers),
            )
        )
    return tuple(found)


def patch_text(opened: Opened, patch: Patch) -> str:
    """Return where a piece of water is, in a few words."""
    if patch.bank is not None:
        return next(b.title for b in opened.banks if b.number == patch.bank)
    told = place_text(opened, patch.easting, patch.northing)
    if told == OPEN_WATER:
        return told
    beside = any(told == bank.name for bank in opened.banks)
    return f"{OPEN_WATER} off {told}" if beside else f"{OPEN_WATER}, {told}"


def _only(searching: Searching, sky: str) -> Belief:
    """Return what would be believed if only one light's drifts had been made."""
    passed = searching.passed
    mine = np.array([one.sky == sky for one in passed.passes], dtype=bool)
    kept = np.flatnonzero(mine)
    place = np.full(len(mine), -1)
    place[kept] = np.arange(len(kept))
    those = mine[passed.number]
    only = Passed(
        tuple(passed.passes[number] for number in kept.tolist()),
        place[passed.number[those]],
        passed.square[those],
        passed.part[those],
    )
    factor = searched(
        only,
        searching.squares,
        searching.left[kept],
        searching.opened.settings.search,
        since_s=searching.stocked_s,
    )
    return Belief(searching.squares, searching.belief.before, factor)
