"""How often the ranges of rates hold the truth, by kind of practice.

Run it as ``python tests/benchmarks/rates_table.py [--practices 1000] [--first 1]``: it
prints a markdown table of shares in per cent. A practice is three pairs, three days, 63
drifts (tests/rates_made.py); "good" and "poor" are banks whose rate is half as much
again as the mean, or the mean over 1.5; "clear" is the share of practices where
anything was called clear.
"""

import argparse
import sys
from pathlib import Path

import numpy as np

if __name__ == "__main__":
    # The tests' helpers, as pytest has them.
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from rates_held import Counted, counted
from rates_made import WAYS, World

WORLDS = {
    "nothing matters": World(differs=0),
    "nothing matters, leave at 2": World(differs=0, leave_at=2),
    "nothing matters, some shoals": World(differs=0, shoals=1.0),
    "places, layers and light differ": World(),
    "the same, 0.15 an hour": World(mean=0.15),
    "the same, 1 an hour": World(mean=1.0),
    "leave at 1": World(leave_at=1),
    "leave at 2": World(leave_at=2),
    "leave at 3": World(leave_at=3),
    "leave at 4": World(leave_at=4),
    "some shoals": World(shoals=1.0),
    "hard shoals": World(shoals=0.5),
    "some shoals, 1 an hour": World(mean=1.0, shoals=1.0),
    "some shoals, leave at 2": World(shoals=1.0, leave_at=2),
}
COLUMNS = (*WAYS, "good", "poor")


def row(name: str, counts: Counted) -> str:
    """Return a line of the table."""
    shares = [
        f"{100 * counts.share(of):.1f}" if counts.held[of] else "" for of in COLUMNS
    ]
    clear = f"{100 * counts.clear / counts.practices:.1f}"
    return f"| {' | '.join([name, *shares, f'{np.mean(counts.factors):.2f}', clear])} |"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--practices", type=int, default=1000)
    parser.add_argument("--first", type=int, default=1)
    said = parser.parse_args()
    print(f"| practices | {' | '.join(COLUMNS)} | clusters | clear |")
    print(f"|---|{'---|' * (len(COLUMNS) + 2)}")
    for name, world in WORLDS.items():
        print(row(name, counted(world, said.practices, seed=said.first)), flush=True)


if __name__ == "__main__":
    main()
