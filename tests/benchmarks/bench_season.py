"""A season of boat-days through whole commands: from cold, and with one track more.

The bars: 90 boat-days at one fix a second from cold in under 40 s on two cores and
under 1.5 GB; one more track on top of them within 2.5 s, start-up included, and within
6 s on 300. Each is also told as a ratio to the naive way in the same run: the same
upload where nothing was kept. Run with

    pytest tests/benchmarks/bench_season.py -o addopts='' -s

BOAT_DAYS chooses how many; SECONDS=0 drops the bars in seconds on a slow machine.
"""

import json
import os
import resource
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sweptwater.jobs.divide import Wish, divide
from sweptwater.jobs.extend import extend_venue
from sweptwater.jobs.start import start
from sweptwater.practice.cache import CACHE
from sweptwater.practice.originals import keep_original
from sweptwater.practice.said import Said
from sweptwater_demo import ashlode
from sweptwater_demo.build import files_of_ashlode
from sweptwater_demo.scenario import PAIRS, boat_days

BOAT_DAYS = int(os.environ.get("BOAT_DAYS", "90"))
COUNTS = os.environ.get("SECONDS", "1") == "1"
COMMAND = [sys.executable, "-c", "from sweptwater_cli.main import cli; cli()"]

COLD_S, MOST_MB = 40.0, 1500.0
MORE_S = 2.5 if BOAT_DAYS <= 90 else 6.0
NAIVE_OVER_OURS = BOAT_DAYS / 15


def _run(folder: Path, *words: object) -> tuple[float, float]:
    """Run a command, and return how long it took and the most memory in MB."""
    began = time.perf_counter()
    subprocess.run(
        [*COMMAND, "-C", str(folder), *map(str, words)],
        check=True,
        capture_output=True,
    )
    lasted_s = time.perf_counter() - began
    return lasted_s, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a divided practice with its boat-days, three a day, and nothing kept."""
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


def test_a_season_and_one_track_more(season: Path, tmp_path: Path) -> None:
    more = tmp_path / "one-more.gpx"
    more.write_bytes(boat_days(seed=99)[0].gpx)
    shift_min = 1440 * 3 * (BOAT_DAYS // 9 + 1)
    cold_s, cold_mb = _run(season, "coverage", "--json")
    warm_s, _ = _run(season, "coverage", "--json")
    naive = Path(shutil.copytree(season, tmp_path / "naive"))
    words = ("upload", "--pair", "Heron", "--shift", shift_min, "--json", more)
    more_s, _ = _run(season, *words)
    shutil.rmtree(naive / CACHE)
    naive_s, _ = _run(naive, *words)
    again_s, _ = _run(season, "coverage", "--json")
    size_mb = sum(p.stat().st_size for p in (season / CACHE).iterdir()) / 2**20
    page_mb = (season / "reports" / "coverage.html").stat().st_size / 2**20
    print(
        "\n"
        + json.dumps(
            {
                "boat-days": BOAT_DAYS,
                "coverage from cold, s": round(cold_s, 1),
                "most memory, MB": round(cold_mb),
                "coverage again, s": round(warm_s, 1),
                "one more track, s": round(more_s, 2),
                "the same with nothing kept, s": round(naive_s, 1),
                "naive over ours": round(naive_s / more_s, 1),
                "coverage after it, s": round(again_s, 1),
                "cache, MB": round(size_mb),
                "page, MB": round(page_mb, 2),
            },
            indent=1,
        )
    )
    assert naive_s > NAIVE_OVER_OURS * more_s
    assert cold_mb < MOST_MB
    assert page_mb < 2
    if COUNTS:
        assert more_s < MORE_S
        assert BOAT_DAYS > 90 or cold_s < COLD_S
