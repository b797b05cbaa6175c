"""Where next, after a season: the whole command as a ratio to `coverage` in that run.

The bars: `next` for three boats takes no longer than RATIO times what the same practice
takes to tell its coverage again, start-up included in both, in under 1.5 GB. Run with

    pytest tests/benchmarks/bench_next.py -o addopts='' -s

BOAT_DAYS chooses how many there were; SECONDS=0 drops the bars.
"""

import json
import os
import resource
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sweptwater.jobs.divide import Wish, divide
from sweptwater.jobs.extend import extend_venue
from sweptwater.jobs.start import start
from sweptwater.practice.originals import keep_original
from sweptwater.practice.said import Said
from sweptwater_demo import ashlode
from sweptwater_demo.build import files_of_ashlode
from sweptwater_demo.scenario import PAIRS, boat_days

BOAT_DAYS = int(os.environ.get("BOAT_DAYS", "90"))
COUNTS = os.environ.get("SECONDS", "1") == "1"
COMMAND = [sys.executable, "-c", "from sweptwater_cli.main import cli; cli()"]
RATIO, MOST_MB = 2.5, 1500.0


def _run(folder: Path, *words: object) -> tuple[float, str]:
    """Run a command, and return how long it took and what it printed."""
    began = time.perf_counter()
    told = subprocess.run(
        [*COMMAND, "-C", str(folder), *map(str, words)],
        check=True,
        capture_output=True,
        text=True,
    )
    return time.perf_counter() - began, told.stdout


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a divided practice with its boat-days, three a day."""
    folder = tmp_path_factory.mktemp("season") / "ashlode"
    files = files_of_ashlode()
    start(folder, files["outline"], name=ashlode.NAME, pairs=PAIRS)
    for kind in ("out-of-bounds", "jetty", "mark"):
        extend_venue(folder, kind, files[kind])
    divide(folder, Wish())
    for number in range(-(-BOAT_DAYS // 9)):
        three_days_s = 3 * 86400.0 * number
        for boat in boat_days(seed=100 + number)[: BOAT_DAYS - 9 * number]:
            said = Said(boat.file_name, shift_s=three_days_s)
            keep_original(folder, boat.pair, said, boat.gpx)
    return folder


def test_where_next_after_a_season(season: Path) -> None:
    _run(season, "coverage", "--json")  # from cold: what it keeps serves both
    words = ("next", "--wind", "SW4", "--json")
    _run(season, *words)
    coverage_s, next_s = [], []
    for _ in range(3):
        coverage_s.append(_run(season, "coverage", "--json")[0])
        lasted_s, told = _run(season, *words)
        next_s.append(lasted_s)
    again_s, best_s = min(coverage_s), min(next_s)
    most_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    page_mb = (season / "reports" / "next.html").stat().st_size / 2**20
    figures = json.loads(told)
    print(
        "\n"
        + json.dumps(
            {
                "boat-days": BOAT_DAYS,
                "coverage again, s": round(again_s, 2),
                "next, s": round(best_s, 2),
                "next over coverage": round(best_s / again_s, 2),
                "rows": len(figures["rows"]),
                "most memory, MB": round(most_mb),
                "page, MB": round(page_mb, 2),
            },
            indent=1,
        )
    )
    assert figures["rows"]
    assert page_mb < 2
    if COUNTS:
        assert best_s < RATIO * again_s
        assert most_mb < MOST_MB
