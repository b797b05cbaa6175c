"""Reading a boat-day, against a bare pass of the XML parser over the same bytes.

Run with ``pytest tests/benchmarks/bench_read.py``; the ratio stands in ``extra_info``.
"""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from time import perf_counter
from xml.parsers import expat

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from sweptwater.tracks.read import read_gpx

FIXES = 28_800
"""Eight hours at one fix a second."""

MOST = 4.0
"""How many times a bare pass reading may take."""

LEAN = '<trkpt lat="{lat:.7f}" lon="{lon:.7f}"><time>{time}</time></trkpt>\n'
USUAL = LEAN.replace("<time>", "<ele>61.2</ele><time>")
EXTENDED = """\
   <trkpt lat="{lat}" lon="{lon}">
    <ele>61.2</ele>
    <time>{time}</time>
    <extensions>
     <x:point>
      <x:hr>91</x:hr>
      <x:atemp>14</x:atemp>
     </x:point>
    </extensions>
   </trkpt>
"""


def boat_day(form: str, ending: str = "Z") -> bytes:
    start_s = datetime(2027, 6, 8, 8, tzinfo=UTC).timestamp()
    points = []
    for i in range(FIXES):
        moment = datetime.fromtimestamp(start_s + i, UTC)
        time = f"{moment:%Y-%m-%dT%H:%M:%S}{ending}"
        points.append(
            form.format(lat=52.6 + i * 1.7e-6, lon=-0.6 - i * 9e-6, time=time)
        )
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1"><trk><trkseg>\n'
    return f"{head}{''.join(points)}</trkseg></trk></gpx>".encode()


def count_elements(data: bytes) -> int:
    count = 0

    def start(tag: str, attributes: Mapping[str, str]) -> None:
        nonlocal count
        count += 1

    parser = expat.ParserCreate()
    parser.StartElementHandler = start
    parser.Parse(data, True)
    return count


def ratio_of(data: bytes) -> float:
    """Return how many times a bare pass reading takes, the best of some turns each."""
    # By turns, so that a busy machine slows both.
    turns = [
        (seconds(read_gpx, data), seconds(count_elements, data)) for _ in range(15)
    ]
    reading_s, bare_s = (min(lasted) for lasted in zip(*turns, strict=True))
    return reading_s / bare_s


def seconds(work: Callable[[bytes], object], data: bytes) -> float:
    began = perf_counter()
    work(data)
    return perf_counter() - began


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(boat_day(LEAN), id="lean"),
        pytest.param(boat_day(USUAL), id="usual"),
        pytest.param(boat_day(USUAL, ".25Z"), id="fractions"),
        pytest.param(boat_day(USUAL, "+01:00"), id="offsets"),
        pytest.param(boat_day(USUAL, "Z\n   "), id="white space"),
        pytest.param(boat_day(EXTENDED), id="extensions"),
    ],
)
def test_boat_day(benchmark: BenchmarkFixture, data: bytes) -> None:
    recording = benchmark(read_gpx, data)
    assert len(recording.fixes) == FIXES
    ratio = ratio_of(data)
    benchmark.extra_info["ratio"] = round(ratio, 2)
    assert ratio < MOST
