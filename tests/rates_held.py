"""How often the ranges hold the truth, over many practices made up."""

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

from rates_made import NUMBERS, WAYS, Made, World, practice, truth
from sweptwater.offers.clusters import clusters_of
from sweptwater.offers.compare import verdicts
from sweptwater.offers.rates import rate_of


@dataclass(slots=True)
class Counted:
    """What came up in so many practices.

    Parameters
    ----------
    held
        Of each way to class stints, and of banks with many offers (`good`) and few
        (`poor`): whether the range held the truth.
    clear, leaning
        In how many practices some row was called so; of leaning ones, how many rows.
    """

    practices: int = 0
    clear: int = 0
    leaning: int = 0
    rows: int = 0
    factors: list[float] = field(default_factory=list)
    held: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))

    def share(self, of: str) -> float:
        """Return how often ranges held the truth."""
        return float(np.mean(self.held[of]))


def counted(world: World, practices: int, *, seed: int = 1) -> Counted:
    """Return how practices of a world came out, as a page would show them."""
    rng = np.random.default_rng(seed)
    counts = Counted(practices)
    for _ in range(practices):
        _count(counts, world, practice(rng, world))
    return counts


def _count(counts: Counted, world: World, made: Made) -> None:
    mean = float(made.offers.sum() / made.hours.sum())
    ways = [made.ways[way].tolist() for way in ("sector", "layer", "light")]
    clusters = clusters_of(
        made.offers.astype(float), made.hours, *ways, drifts=made.drift.tolist()
    )
    counts.factors.append(clusters.factor)
    tables = []
    for way in WAYS:
        rows = []
        for name in range(NUMBERS[way]):
            on = made.ways[way] == name
            offers, hours = int(made.offers[on].sum()), float(made.hours[on].sum())
            rows.append((offers, hours))
            if not hours:
                continue
            rate = rate_of(offers, hours, mean=mean, widen=clusters.widen)
            true = truth(made, on)
            counts.held[way].append(rate.low <= true <= rate.high)
            if way == "bank" and (true > 1.5 * world.mean or true < world.mean / 1.5):
                good = "good" if true > world.mean else "poor"
                counts.held[good].append(rate.low <= true <= rate.high)
        tables.append(rows)
    family = verdicts(*tables, factor=clusters.factor)
    found = [held.verdict for table in family.tables for held in table]
    counts.clear += "clear" in found
    counts.leaning += found.count("leaning")
    counts.rows += len(found)
