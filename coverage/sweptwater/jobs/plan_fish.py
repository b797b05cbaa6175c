"""How the drifts of a plan are to be fished: which layers, with which lines."""

from collections.abc import Iterator
from dataclasses import dataclass

from sweptwater.jobs.done import numbers_text
from sweptwater.jobs.next_words import fish_text
from sweptwater.jobs.planning import PairDay, Planning
from sweptwater.search.squares import ANY_DEPTH


@dataclass(frozen=True, slots=True)
class Fish:
    """How one drift is to be fished: a layer and a line for each rod.

    Parameters
    ----------
    layers, lines, counts_s
        For each rod: the layer's name, the line, and for how long it is let sink.
    """

    layers: tuple[str, ...]
    lines: tuple[str, ...]
    counts_s: tuple[float, ...]


def fish_of(base: Planning, day: PairDay) -> tuple[Fish, ...]:
    """Return how each drift is to be fished; none where a plan is laid for water."""
    if base.orders is None:
        return ()
    ways = base.orders.ways(day.lay.speed_m_s)
    names = base.orders.sight.searching.squares.layers
    return tuple(
        Fish(
            tuple(names[layer] for layer in layers),
            tuple(ways[layer].line for layer in layers),
            tuple(ways[layer].count_s for layer in layers),
        )
        for layers in day.layers
    )


def fish_texts(base: Planning, day: PairDay) -> Iterator[str]:
    """Yield how to fish, a few words for all drifts that are fished alike."""
    if base.orders is None:
        return
    alike: dict[Fish, list[int]] = {}
    for stop, fish in zip(day.plan.stops, fish_of(base, day), strict=True):
        alike.setdefault(fish, []).append(stop.number)
    for fish, numbers in alike.items():
        rods = list(dict.fromkeys(map(_rod_text, *_columns(fish))))
        both = f"both rods {rods[0]}" if len(rods) == 1 else " and ".join(rods)
        yield f"drifts {numbers_text(numbers)}: {both}"
    for row in base.orders.rows(day.pair):
        yield fish_text(row)


def _columns(fish: Fish) -> tuple[tuple[str, ...], tuple[str, ...], tuple[float, ...]]:
    return fish.layers, fish.lines, fish.counts_s


def _rod_text(layer: str, line: str, count_s: float) -> str:
    deep = "" if layer == ANY_DEPTH else f"{layer}: "
    count = f", count {count_s:.0f}" if count_s >= 1 else ""
    return f"{deep}{line}{count}"
