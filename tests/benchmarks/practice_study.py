"""Whether planned practice pays: shoals found, and how six rods fare in the match.

Run it as ``python tests/benchmarks/practice_study.py [--seeds 20] [--first 1]
[--waters Ashlode,crab] [--rules banks,wind]``: it prints markdown tables, a water and a
rule by which fish are hidden at a time, and of all together. Three boats practise for
three days of eight hours afloat, by five ways that share all accounting of hours
(tests/practising.py); fish are hidden by four rules (tests/fish_hidden.py); the match
is fished on the fourth day (tests/match_fished.py). What stands after a mean is half
of its 95 % range. Differences are paired: the same fish and the same winds.
"""

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

if __name__ == "__main__":
    # The tests' helpers, as pytest has them.
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from fish_hidden import RULES
from outside import DATA
from practices_compared import (
    OURS,
    OWN_STARTS,
    WAYS,
    Mean,
    Outcome,
    compare,
    mean_of,
    world,
)
from waters_searched import WATERS

Table = dict[str, list[Outcome]]

EXPECTED = "to be expected"
ROWS = (*WAYS, OWN_STARTS)

COLUMNS: dict[str, Callable[[Outcome], float]] = {
    "found": lambda one: one.found,
    EXPECTED: lambda one: one.to_find,
    "offers": lambda one: one.offers,
    "blanks of 6": lambda one: one.blanks,
    "match offers": lambda one: one.match_offers,
    "hours fished": lambda one: one.hours,
}
PAIRED = ("found", EXPECTED, "blanks of 6")


def shown(value: Mean) -> str:
    """Return a mean with half its range."""
    return f"{value.mean:.2f} ± {value.off:.2f}"


def print_table(title: str, table: Table) -> None:
    """Print means by way of practising, and differences of ours to each other."""
    shoals = np.mean([one.of for one in table[OURS]])
    print(f"\n### {title}: {len(table[OURS])} practices, {shoals:.0f} shoals\n")
    print(f"| way | {' | '.join(COLUMNS)} |")
    print(f"|---|{'---|' * len(COLUMNS)}")
    for way, outcomes in table.items():
        cells = [shown(_mean(outcomes, name)) for name in COLUMNS]
        print(f"| {way} | {' | '.join(cells)} |")
    print(f"\n| {OURS} less | {' | '.join(PAIRED)} | found, times |")
    print(f"|---|{'---|' * (len(PAIRED) + 1)}")
    for way, outcomes in table.items():
        if way == OURS:
            continue
        cells = [shown(_less(table[OURS], outcomes, name)) for name in PAIRED]
        mine, theirs = (_mean(of, EXPECTED).mean for of in (table[OURS], outcomes))
        times = mine / max(theirs, 1e-9)
        print(f"| {way} | {' | '.join(cells)} | {times:.2f} |")
    sys.stdout.flush()


def _mean(outcomes: Sequence[Outcome], name: str) -> Mean:
    return mean_of([COLUMNS[name](one) for one in outcomes])


def _less(ours: Sequence[Outcome], theirs: Sequence[Outcome], name: str) -> Mean:
    of = COLUMNS[name]
    pairs = zip(ours, theirs, strict=True)
    return mean_of([of(one) - of(other) for one, other in pairs])


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--waters", default=",".join(WATERS))
    parser.add_argument("--rules", default=",".join(RULES))
    said = parser.parse_args()
    seeds = range(said.first, said.first + said.seeds)
    rules = [rule for rule in RULES if rule in said.rules.split(",")]
    everything: Table = {way: [] for way in ROWS}
    for name in said.waters.split(","):
        if name != "Ashlode" and not DATA.exists():
            print(f"\n{name}: left out, ../shared/data is not at hand")
            continue
        tables: dict[str, Table] = {rule: {way: [] for way in ROWS} for rule in rules}
        began_s = time.process_time()
        for seed in seeds:
            for rule in rules:
                outcomes = compare(world(name, rule, seed), seed)
                for way, found in outcomes.items():
                    tables[rule][way].append(found)
                    everything[way].append(found)
        each_s = (time.process_time() - began_s) / len(seeds) / len(rules)
        for rule in rules:
            print_table(f"{name}, {rule}", tables[rule])
        print(f"\n{each_s:.1f} s of processor time a practice by all ways")
    print_table("all", everything)


if __name__ == "__main__":
    main()
