"""How far hours, distance and swept water are off the truth, on hard days.

Run it as ``python tests/benchmarks/truth_table.py [--seeds 4] [--first 0] [--worst 0]
[--kinds A,B]``: it makes up days of each kind (tests/hard_days.py), on the demo's water
and on the real lakes in ../shared/data/lakes where they are at hand, lets a receiver
record them at several samplings, and prints medians and worst days as a markdown table.

A silence that nothing bridges is told as unknown: such a day is judged against the
truth outside of the silence. Errors are shares of the day's truth, the median of their
sizes and the worst; "told" is the mean error of distance that the engine expects,
and "right" the share of days with the right number of drifts.
"""

import argparse
import json
import sys
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import shapely

HERE = Path(__file__).resolve()
if __name__ == "__main__":
    sys.path.insert(0, str(HERE.parents[1]))  # the tests' helpers, as pytest has them

from hard_days import (  # noqa: E402
    SAMPLINGS,
    HardDay,
    Sampling,
    Seen,
    counts,
    drifted_m,
    hard_day,
    observed,
    silences_of,
    without,
)
from hard_stories import (  # noqa: E402
    STORIES,
    Place,
    ashlode_place,
    lake_place,
)
from sweptwater.frame import Frame  # noqa: E402
from sweptwater.practice.settings import Rules, Spread  # noqa: E402
from sweptwater.swept.boats import BoatDay, sweep_day  # noqa: E402
from sweptwater.tracks.drifts import day_afloat  # noqa: E402
from sweptwater.tracks.record import clean_record  # noqa: E402
from sweptwater.water.shapes import polygonal  # noqa: E402
from sweptwater_demo.scenario import DAYS  # noqa: E402
from sweptwater_demo.truth import FISHING  # noqa: E402

LAKES = HERE.parents[3] / "shared" / "data" / "lakes"
WATERS = (
    *("caputh_wgs84", "nhd_crystal_lake", "nhd_crab_lake", "nhd_lake_mendota"),
    *("nhd_pokegama_lake", "cz_vranov", "ne10m_na_lake_corpus_christi"),
)
SPREAD = Spread()


@dataclass(frozen=True)
class Errors:
    """How far one recorded day is off its truth, as shares, but for the drifts.

    `drift_m_s` is how fast the boat drifted, `told` the error of distance that the
    engine expects, `doubt` its doubtful time.
    """

    kind: str
    sampling: Sampling
    where: str
    seed: int
    wander_m: float
    drift_m_s: float
    area: float
    hours: float
    length: float
    told: float
    doubt: float
    drifts: int
    true_drifts: tuple[int, int]

    @property
    def right(self) -> bool:
        """Whether the number of drifts is right."""
        least, most = self.true_drifts
        return least <= self.drifts <= most


@lru_cache(maxsize=1)
def places() -> tuple[Place, ...]:
    """Return the demo's water and the real ones that are at hand."""
    found = [ashlode_place()]
    for name in WATERS:
        path = LAKES / f"{name}.geojson"
        if path.exists():
            items = json.loads(path.read_text(encoding="utf-8"))["features"]
            shape = shapely.force_2d(
                shapely.from_geojson(json.dumps(items[0]["geometry"]))
            )
            at = shape.centroid
            water = polygonal(Frame(lon=at.x, lat=at.y).metres(shape))
            found.append(lake_place(name, water))
    return tuple(found)


def on_a_lake(kind: str, seed: int) -> bool:
    """Return whether a day is one of the half that are on real lakes."""
    return bool((seed // 2 + list(STORIES).index(kind)) % 2)


def made(kind: str, seed: int) -> HardDay:
    """Return a day of a kind; on the demo's water too, where no lake is at hand."""
    number = list(STORIES).index(kind)
    waters = places()
    lakes = waters[1:] or waters
    lake = lakes[(number + seed) % len(lakes)]
    place = lake if on_a_lake(kind, seed) else waters[0]
    return hard_day(place, STORIES[kind], seed=1000 * number + seed)


def seen_by_engine(day: HardDay, seen: Seen) -> BoatDay:
    """Return what the engine makes of the fixes."""
    record = clean_record(seen.time_s, seen.easting, seen.northing)
    place = day.place
    afloat = day_afloat(record, place.water, place.jetties, Rules())
    return sweep_day("Heron", DAYS[0], afloat, SPREAD, place.fishable)


def unbridged(boat: BoatDay, seen: Seen) -> list[tuple[float, float]]:
    """Return the silences of a record that no drift goes on across."""
    return [
        (a, b)
        for a, b in silences_of(seen.time_s, 61.0)
        if not any(d.start_s <= a and b <= d.end_s for d in boat.afloat.drifts)
    ]


def judged(kind: str, seed: int, samplings: Sequence[Sampling]) -> Iterator[Errors]:
    """Yield how far a day is off, as recorded at each sampling."""
    day = made(kind, seed)
    swept_m2: dict[tuple[tuple[float, float], ...], float] = {}
    for sampling in samplings:
        seen = observed(day, sampling)
        boat = seen_by_engine(day, seen)
        silences = tuple(unbridged(boat, seen))
        true = without(day, list(silences)) if silences else day
        if silences not in swept_m2:
            swept = true.truth.swept(
                day.place.fishable, cast_m=SPREAD.cast_m, boat_m=SPREAD.boat_m
            )
            swept_m2[silences] = swept.area
        afloat = boat.afloat
        length_m = sum(d.length_m for d in afloat.drifts)
        fishing = true.truth.state == FISHING
        drifting_s = float((fishing & ~true.anchored).sum())
        told_m = sum(d.length_error * d.length_m for d in afloat.drifts)
        yield Errors(
            kind=kind,
            sampling=sampling,
            where=day.place.name,
            seed=seed,
            wander_m=seen.wander_m,
            drift_m_s=drifted_m(true) / drifting_s,
            area=boat.stack.once.area / swept_m2[silences] - 1,
            hours=afloat.fishing_s / true.truth.fishing_s - 1,
            length=length_m / drifted_m(true) - 1,
            told=told_m / max(length_m, 1.0),
            doubt=afloat.doubtful_s / max(afloat.fishing_s, 1.0),
            drifts=len(afloat.drifts),
            true_drifts=counts(true),
        )


def all_judged(
    kinds: Sequence[str],
    seeds: Sequence[int],
    samplings: Sequence[Sampling] = SAMPLINGS,
) -> Iterator[Errors]:
    """Yield how far all days of some kinds and seeds are off."""
    for kind in kinds:
        for seed in seeds:
            yield from judged(kind, seed, samplings)


def table(found: Sequence[Errors]) -> str:
    """Return a markdown table: a row for each kind of day and sampling."""
    rows = [
        "| kind of day | sampling | days | area % | hours % | distance % | told % |"
        " doubtful % | right |",
        "| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
    ]
    groups: dict[tuple[str, str], list[Errors]] = defaultdict(list)
    for errors in found:
        groups[errors.kind, errors.sampling].append(errors)
        groups["all", errors.sampling].append(errors)
    ordered = sorted(groups, key=lambda g: (g[0] == "all", *map(str, g)))
    for kind, sampling in ordered:
        rows.append(_row(kind, sampling, groups[kind, sampling]))
    return "\n".join(rows)


def _row(kind: str, sampling: str, group: Sequence[Errors]) -> str:
    cells = [kind, sampling, str(len(group))]
    for name in ("area", "hours", "length"):
        off = 100 * np.array([getattr(errors, name) for errors in group])
        worst = off[np.abs(off).argmax()]
        cells.append(f"{np.median(np.abs(off)):.1f} / {worst:+.1f}")
    for name in ("told", "doubt"):
        cells.append(f"{100 * np.mean([getattr(e, name) for e in group]):.1f}")
    cells.append(f"{np.mean([errors.right for errors in group]):.0%}")
    return "| " + " | ".join(cells) + " |"


def main() -> None:
    """Print the table, and the worst days if asked."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--seeds", type=int, default=4)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--step", type=int, default=1)
    parser.add_argument("--kinds", default=",".join(STORIES))
    parser.add_argument("--samplings", default=",".join(SAMPLINGS))
    parser.add_argument("--worst", type=int, default=0)
    asked = parser.parse_args()
    seeds = range(asked.first, asked.first + asked.seeds * asked.step, asked.step)
    samplings = [s for s in SAMPLINGS if s in asked.samplings.split(",")]
    found = list(all_judged(asked.kinds.split(","), seeds, samplings))
    print(table(found))
    by_error = sorted(found, key=lambda e: -max(abs(e.area), abs(e.hours)))
    for errors in by_error[: asked.worst]:
        print(errors)


if __name__ == "__main__":
    main()
