"""How each bank has been searched: layer by light, in rod-hours and drifts.

What was met does not matter here: a floating line at noon over deep water has searched
the top of it, fish or no fish.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd
import shapely

from sweptwater.arrays import Area
from sweptwater.offers.stints import NOT_TOLD, Stint
from sweptwater.water.overlap import Overlay
from sweptwater.water.shapes import GRID_M, polygonal

DONE = 0.5
"""A layer is done where this share of a bank's water was swept with flies in it."""


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """How long one bank was fished in one layer, in one light.

    Parameters
    ----------
    bank, layer, sky
        Where, how deep, and in which light, each as it was told.
    rod_hours
        To the minute.
    drifts
        How many drifts had a part in it.
    """

    bank: str
    layer: str
    sky: str
    rod_hours: float
    drifts: int


@dataclass(frozen=True, slots=True)
class LayerShare:
    """How much of a bank's water was swept with flies in one layer.

    Parameters
    ----------
    layer
        Its name.
    share
        Of the bank's water, as if seen from above.
    by_sky
        The same by what the sky was.
    """

    layer: str
    share: float
    by_sky: Mapping[str, float]


def ledger_rows(stints: Sequence[Stint], pieces: pd.DataFrame) -> tuple[LedgerRow, ...]:
    """Return the ledger of all banks, in order of bank, layer and sky.

    Parameters
    ----------
    pieces
        The table of `effort.cut_pieces` with bank, layer and sky.
    """
    if not len(pieces):
        return ()
    drift = [(stint.day, stint.pair, stint.drift) for stint in stints]
    of_drift = pieces.assign(drift=[drift[number] for number in pieces["stint"]])
    grouped = of_drift.groupby(["bank", "layer", "sky"])
    sums = grouped.agg(hours=("hours", "sum"), drifts=("drift", "nunique"))
    return tuple(
        LedgerRow(str(key[0]), str(key[1]), str(key[2]), float(hours), int(drifts))
        for key, hours, drifts in zip(
            sums.index.to_list(), sums["hours"], sums["drifts"], strict=True
        )
    )


def layer_shares(
    waters: Sequence[Area],
    swept: Sequence[Area],
    fished: Sequence[tuple[frozenset[str], str]],
    layers: Sequence[str],
) -> list[tuple[LayerShare, ...]]:
    """Return for each bank how much of its water was swept in each layer.

    Parameters
    ----------
    waters
        The banks' water.
    swept, fished
        What each drift swept, and the layers and the sky that it was fished in.
    layers
        All layers, from the top; what was not told comes after them, if there is some.
    """
    skies = sorted({sky for _, sky in fished})
    told = {layer for those, _ in fished for layer in those}
    found: list[list[LayerShare]] = [[] for _ in waters]
    for layer in [*layers, *([NOT_TOLD] if NOT_TOLD in told else [])]:
        shares = {
            sky: _shares(
                waters,
                [
                    shape
                    for shape, (those, at) in zip(swept, fished, strict=True)
                    if layer in those and (sky is None or at == sky)
                ],
            )
            for sky in (None, *skies)
        }
        for number, of_bank in enumerate(found):
            by_sky = {sky: shares[sky][number] for sky in skies if shares[sky][number]}
            of_bank.append(LayerShare(layer, shares[None][number], by_sky))
    return [tuple(of_bank) for of_bank in found]


def within_depth(
    shares: Mapping[str, float], tops_m: Sequence[float], depth_m: float | None
) -> dict[str, float]:
    """Return the layers that a bank's water is deep enough for.

    Parameters
    ----------
    shares
        By layer, from the top; what was not told is last.
    tops_m
        The upper edge of each layer.
    depth_m
        How deep the water is; None if nobody knows, so that all layers count.
    """
    return {
        layer: share
        for number, (layer, share) in enumerate(shares.items())
        if depth_m is None or number >= len(tops_m) or tops_m[number] < depth_m
    }


def layers_words(shares: Mapping[str, float]) -> str:
    """Return how far the layers of a bank's water are done, in words.

    Layers below each other of which the same can be said are told together.

    Examples
    --------
    >>> layers_words({"0-3 ft": 0.8, "3-8 ft": 0.0, "8-15 ft": 0.0})
    '0-3 ft: done; below 3 ft: never'
    >>> layers_words({"3-8 ft": 0.0, "8+ ft": 0.0})
    'never fished'
    >>> layers_words({"0-3 ft": 0.2, "3-8 ft": 0.0})
    '0-3 ft: 20 %; 3-8 ft: never'
    """
    layers = {layer: share for layer, share in shares.items() if layer != NOT_TOLD}
    untold = shares.get(NOT_TOLD, 0.0) > 0
    if not any(layers.values()):
        return "layer not told" if untold else "never fished"
    names, words = list(layers), [_word(share) for share in layers.values()]
    while len(words) > 2 and words[-1] == words[-2] == "never":
        words.pop()
    told = [f"{name}: {word}" for name, word in zip(names, words, strict=False)]
    if len(words) < len(layers):
        between, _, unit = names[len(words) - 2].rpartition(" ")
        told[-1] = f"below {between.rpartition('-')[2]} {unit}: never"
    return "; ".join([*told, *(["some not told"] if untold else [])])


def _word(share: float) -> str:
    if not share > 0.005:
        return "never"
    return "done" if share >= DONE else f"{100 * share:.0f} %"


def _shares(waters: Sequence[Area], swept: Sequence[Area]) -> list[float]:
    if not swept or not waters:
        return [0.0] * len(waters)
    both = polygonal(shapely.union_all(swept, grid_size=GRID_M))
    return [
        float(area)
        for area in Overlay(both).areas_m2(waters) / shapely.area(list(waters))
    ]
