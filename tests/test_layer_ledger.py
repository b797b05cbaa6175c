"""The ledger of each bank: layer by light. Against arithmetic by hand."""

from datetime import date

import numpy as np
import pytest
import shapely

from sweptwater.offers.effort import cut_pieces
from sweptwater.offers.ledger import (
    layer_shares,
    layers_words,
    ledger_rows,
    within_depth,
)
from sweptwater.offers.stints import NOT_TOLD, Stint, Way

LAYERS = ("0-3 ft", "3-8 ft", "8-15 ft", "15+ ft")


def test_a_ledger_has_hours_and_drifts_by_layer_and_light() -> None:
    way = Way(np.array([0.0, 1800.0]), np.array([0.0, 100.0]), np.zeros(2))
    stints = [
        Stint(date(2027, 6, 8), "Heron", drift, rod, way, 1800.0, "track")
        for drift in (1, 2)
        for rod in ("bow", "stern")
    ]
    pieces = cut_pieces(
        stints,
        {
            "bank": lambda minutes: ["bank 7"] * len(minutes.number),
            "layer": lambda minutes: [
                "0-3 ft" if stints[number].rod == "bow" else "3-8 ft"
                for number in minutes.number
            ],
            "sky": lambda minutes: [
                "bright" if at < 600 else NOT_TOLD for at in minutes.time_s
            ],
        },
    )
    rows = ledger_rows(stints, pieces)
    found = {(row.layer, row.sky): (row.rod_hours, row.drifts) for row in rows}
    # Two drifts of half an hour: twenty bright minutes a rod, forty of no noted sky.
    assert found == {
        (layer, sky): pytest.approx((hours, 2))
        for layer in ("0-3 ft", "3-8 ft")
        for sky, hours in (("bright", 1 / 3), (NOT_TOLD, 2 / 3))
    }
    assert ledger_rows([], cut_pieces([], {"bank": lambda *_: []})) == ()


def test_shares_of_a_bank_by_layer_are_of_its_whole_water() -> None:
    banks = [shapely.box(0, 0, 100, 100), shapely.box(100, 0, 200, 100)]
    swept = [
        shapely.box(0, 0, 60, 100),
        shapely.box(40, 0, 80, 100),
        shapely.box(90, 0, 120, 100),
    ]
    fished = [
        (frozenset(["0-3 ft"]), "bright"),
        (frozenset(["0-3 ft", "3-8 ft"]), "dull"),
        (frozenset([NOT_TOLD]), NOT_TOLD),
    ]
    first, second = layer_shares(banks, swept, fished, LAYERS)
    assert [one.layer for one in first] == [*LAYERS, NOT_TOLD]
    assert [one.share for one in first] == pytest.approx([0.8, 0.4, 0, 0, 0.1])
    assert first[0].by_sky == {"bright": pytest.approx(0.6), "dull": pytest.approx(0.4)}
    assert [one.share for one in second] == pytest.approx([0, 0, 0, 0, 0.2])


@pytest.mark.parametrize(
    ("shares", "words"),
    [
        ((0.8, 0, 0, 0), "0-3 ft: done; below 3 ft: never"),
        ((0.8, 0.2, 0, 0), "0-3 ft: done; 3-8 ft: 20 %; below 8 ft: never"),
        (
            (0.5, 0.5, 0.5, 0.1),
            "0-3 ft: done; 3-8 ft: done; 8-15 ft: done; 15+ ft: 10 %",
        ),
        ((0, 0, 0, 0), "never fished"),
        ((0, 0, 0.6, 0), "0-3 ft: never; 3-8 ft: never; 8-15 ft: done; 15+ ft: never"),
        ((0, 0, 0, 0, 0.3), "layer not told"),
        ((0.9, 0, 0, 0, 0.3), "0-3 ft: done; below 3 ft: never; some not told"),
    ],
)
def test_layers_in_words(shares: tuple[float, ...], words: str) -> None:
    told = dict(zip([*LAYERS, NOT_TOLD], shares, strict=False))
    assert layers_words(told) == words


@pytest.mark.parametrize(("depth_m", "left"), [(2.0, 2), (None, 4), (0.5, 1), (9, 4)])
def test_layers_below_the_bed_are_not_missed(depth_m: float | None, left: int) -> None:
    tops_m = (0.0, 0.9144, 2.4384, 4.572)
    told = dict.fromkeys([*LAYERS, NOT_TOLD], 0.0)
    assert list(within_depth(told, tops_m, depth_m)) == [*LAYERS[:left], NOT_TOLD]
