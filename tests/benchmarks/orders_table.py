"""How much our order of drifts brings beside a routing solver's, and beside a bound.

Run it as ``python tests/benchmarks/orders_table.py [--seconds 3] [--most 150]``. It
needs OR-Tools (package ortools), which the project does not depend on, and the lakes of
../shared/data/lakes (see INDEX.md there).

Each row is one pair's day on a real lake: worth in acres, a bank's counted twice, as
the planner counts. Columns:

greedy
    Filled up once: what brings most a second goes where it costs least.
ours, s
    `best_order`, and the seconds of one core that it takes.
routing
    OR-Tools' routing library: parallel cheapest insertion, then guided local search
    for the seconds told, from scratch; times in tenths of a second.
from greedy, from ours
    The same search, begun from our rounds: what it still finds.
bound
    No order can bring more: a knapsack in which each drift costs itself, and half of
    the cheapest way in and half of the cheapest way out (each way of a round is one
    drift's way out and the next one's way in), solved by HiGHS through
    scipy.optimize.milp to a gap of 0.1 %.
"""

import argparse
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from ortools.constraint_solver import pywrapcp, routing_enums_pb2
from scipy.optimize import Bounds, LinearConstraint, milp

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # the tests' helpers

from plan_made import FORCE_4, Waters, real_water
from sweptwater.offers.wind import Wind
from sweptwater.plan.candidates import possible_drifts
from sweptwater.plan.day import _choice, _promising, _reachable
from sweptwater.plan.order import Choice, best_order, filled
from sweptwater.units import ACRE_M2

LAKES = (
    ("caputh_wgs84", None),
    ("nhd_pokegama_lake", None),
    ("cz_slapy", None),
    ("nhd_lake_mendota", 14.16e6),
)
WINDS = (45.0, 225.0)


def choices(waters: Waters, from_deg: float, most: int) -> Iterator[Choice]:
    """Yield what the pairs of a water choose from."""
    lay = waters.lay(Wind(from_deg, FORCE_4))
    for sector in waters.sectors[:2]:
        possible = possible_drifts(
            lay, sector, waters.bands, waters.bank_water, waters.venue.fishable
        )
        service_s = possible.lengths_m / lay.speed_m_s
        reach = _reachable(possible, waters.ways, waters.jetty)
        some = _promising(possible, service_s, reach, waters.jetty)[:most]
        yield _choice(
            possible.of(some),
            service_s[some],
            waters.ways,
            waters.jetty,
            lay.wind,
            waters.settings,
        )


def routed(
    choice: Choice, limit_s: float, seconds: float, first: Sequence[int] | None = None
) -> list[int]:
    """Return the order of OR-Tools' routing library."""
    count = len(choice.worth)
    manager = pywrapcp.RoutingIndexManager(count + 1, 1, 0)
    model = pywrapcp.RoutingModel(manager)
    passed = choice.between_s.copy()
    passed[1:] += choice.service_s[:, None]
    transit = model.RegisterTransitMatrix(np.rint(10 * passed).astype(int).tolist())
    cost = model.RegisterTransitMatrix(
        np.rint(10 * choice.between_s).astype(int).tolist()
    )
    model.SetArcCostEvaluatorOfAllVehicles(cost)
    model.AddDimension(transit, 0, int(10 * limit_s), True, "time")
    for drift in range(count):
        penalty = int(100 * choice.worth[drift])
        model.AddDisjunction([manager.NodeToIndex(drift + 1)], penalty)
    how = pywrapcp.DefaultRoutingSearchParameters()
    how.first_solution_strategy = (
        routing_enums_pb2.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
    )
    how.local_search_metaheuristic = (
        routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    )
    how.time_limit.FromMilliseconds(int(1000 * seconds))
    model.CloseModelWithParameters(how)
    if first is None:
        found = model.SolveWithParameters(how)
    else:
        route = [[manager.NodeToIndex(drift + 1) for drift in first]]
        begun = model.ReadAssignmentFromRoutes(route, True)
        found = model.SolveFromAssignmentWithParameters(begun, how)
    if found is None:
        return []
    order, at = [], model.Start(0)
    while not model.IsEnd(at):
        if node := manager.IndexToNode(at):
            order.append(node - 1)
        at = found.Value(model.NextVar(at))
    return order


def bound(choice: Choice, limit_s: float) -> float:
    """Return a worth that no order exceeds."""
    way = choice.between_s.copy()
    np.fill_diagonal(way, np.inf)
    into, out = way.min(axis=0), way.min(axis=1)
    cost = choice.service_s + (into[1:] + out[1:]) / 2
    left = limit_s - (into[0] + out[0]) / 2
    found = milp(
        -choice.worth,
        integrality=np.ones(len(cost), dtype=np.int64),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(cost[None], ub=left),
        options={"mip_rel_gap": 1e-3, "time_limit": 30},
    )
    assert found.mip_dual_bound is not None
    return -float(found.mip_dual_bound)


def main() -> None:
    """Print the table."""
    told = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    told.add_argument("--seconds", type=float, default=3.0)
    told.add_argument("--most", type=int, default=240)
    ask = told.parse_args()
    print(
        "| lake, wind | drifts | chosen | greedy | ours | s | routing | from greedy "
        "| from ours | bound | ours of routing | of bound |"
    )
    print("|" + "---|" * 12)
    shares = []
    for name, area_m2 in LAKES:
        waters = real_water(name, area_m2)
        rules = waters.settings.day
        limit_s = rules.afloat_s - rules.lunch_s - rules.spare_s
        for from_deg in WINDS:
            for choice in choices(waters, from_deg, ask.most):
                free = np.ones(len(choice.worth), dtype=bool)
                greedy = filled(choice, [], limit_s, free=free)
                began = time.process_time()
                ours = best_order(choice, limit_s)
                took_s = time.process_time() - began
                orders = [greedy, ours]
                orders.append(routed(choice, limit_s, ask.seconds))
                orders.append(routed(choice, limit_s, ask.seconds, greedy))
                orders.append(routed(choice, limit_s, ask.seconds, ours))
                acres = [float(choice.worth[order].sum()) / ACRE_M2 for order in orders]
                most = bound(choice, limit_s) / ACRE_M2
                best = max(acres[2:])
                shares.append((acres[1] / acres[2], acres[1] / best, acres[1] / most))
                cells = [f"{name} {from_deg:.0f}", len(choice.worth), len(ours)]
                cells += [f"{acres[0]:.2f}", f"{acres[1]:.2f}", f"{took_s:.2f}"]
                cells += [f"{one:.2f}" for one in [*acres[2:], most]]
                cells += [f"{shares[-1][0]:.3f}", f"{shares[-1][2]:.3f}"]
                print("| " + " | ".join(str(cell) for cell in cells) + " |", flush=True)
    table = np.array(shares)
    print(
        "\nours of routing from scratch, of the best that routing found, of the bound"
    )
    print("median", np.median(table, axis=0).round(3).tolist())
    print("least ", table.min(axis=0).round(3).tolist())


if __name__ == "__main__":
    main()
