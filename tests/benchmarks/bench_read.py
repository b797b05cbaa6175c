"""Reading a boat-day, against a bare pass of the XML parser over the same bytes.

Run with ``pytest tests/benchmarks/bench_read.py``; the ratio stands in ``extra_info``.
FIT, which is no XML, is set against fitdecode, and must not take longer than it.
"""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from struct import pack
from time import perf_counter
from xml.parsers import expat

import fitdecode
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from sweptwater.tracks.read import Recording, read_track
from track_files import FIT_EPOCH_S, LAT, LON, TIME, definition, fit, semicircles

FIXES = 28_800
"""Eight hours at one fix a second."""

MOST = 4.0
"""How many times a bare pass reading may take."""

MOST_KML = 10.0
"""The same for KML, whose two elements a fix cost a bare pass next to nothing."""

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


TRACKPOINT = """\
   <Trackpoint>
    <Time>{time}</Time>
    <Position>
     <LatitudeDegrees>{lat:.7f}</LatitudeDegrees>
     <LongitudeDegrees>{lon:.7f}</LongitudeDegrees>
    </Position>
    <AltitudeMeters>61.2</AltitudeMeters>
   </Trackpoint>
"""
TCX = "TrainingCenterDatabase", "Activities", "Activity", "Lap", "Track"
WHEN = "<when>{time}</when>\n"
COORD = "<gx:coord>{lon:.7f} {lat:.7f} 61.2</gx:coord>\n"
KML = "kml", "Document", "Placemark", "gx:Track"
GPX = "gpx", "trk", "trkseg"


def read(data: bytes) -> Recording:
    return read_track(data, name="day")


def boat_day(form: str, ending: str = "Z", around: tuple[str, ...] = GPX) -> bytes:
    start_s = datetime(2027, 6, 8, 8, tzinfo=UTC).timestamp()
    points = []
    for i in range(FIXES):
        moment = datetime.fromtimestamp(start_s + i, UTC)
        time = f"{moment:%Y-%m-%dT%H:%M:%S}{ending}"
        points.append(
            form.format(lat=52.6 + i * 1.7e-6, lon=-0.6 - i * 9e-6, time=time)
        )
    head = '<?xml version="1.0" encoding="UTF-8"?>\n'
    opened = "".join(f"<{tag}>" for tag in around)
    closed = "".join(f"</{tag}>" for tag in reversed(around))
    return f"{head}{opened}{''.join(points)}{closed}".encode()


def fit_day() -> bytes:
    """Return a day whose records have the fields that most watches write."""
    fields = [TIME, LAT, LON, (5, 4, 0x86), (2, 2, 0x84), (6, 2, 0x84), (3, 1, 2)]
    start_s = int(datetime(2027, 6, 8, 8, tzinfo=UTC).timestamp() - FIT_EPOCH_S)
    records = (
        pack(
            "<BIiiIHHB",
            *(0, start_s + i, semicircles(52.6 + i * 1.7e-6)),
            *(semicircles(-0.6 - i * 9e-6), i * 60, 2806, 600, 91),
        )
        for i in range(FIXES)
    )
    return fit(definition(0, 20, fields), *records)


def decode_all(data: bytes) -> int:
    """Return how many records fitdecode finds."""
    with fitdecode.FitReader(data, check_crc=fitdecode.CrcCheck.DISABLED) as frames:
        return sum(
            frame.frame_type == fitdecode.FIT_FRAME_DATA and frame.name == "record"
            for frame in frames
        )


def count_elements(data: bytes) -> int:
    count = 0

    def start(tag: str, attributes: Mapping[str, str]) -> None:
        nonlocal count
        count += 1

    parser = expat.ParserCreate()
    parser.StartElementHandler = start
    parser.Parse(data, True)
    return count


def ratio_of(data: bytes, other: Callable[[bytes], object], turns_each: int) -> float:
    """Return how many times as long as another reading takes, at best each."""
    # By turns, so that a busy machine slows both.
    turns = [(seconds(read, data), seconds(other, data)) for _ in range(turns_each)]
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
        pytest.param(boat_day(TRACKPOINT, around=TCX), id="TCX"),
        pytest.param(boat_day(WHEN + COORD, around=KML), id="KML"),
    ],
)
def test_boat_day(benchmark: BenchmarkFixture, data: bytes) -> None:
    recording = benchmark(read, data)
    assert len(recording.fixes) == FIXES
    assert recording.remarks == ()
    ratio = ratio_of(data, count_elements, 15)
    benchmark.extra_info["ratio"] = round(ratio, 2)
    assert ratio < (MOST_KML if b"<kml>" in data else MOST)


def test_boat_day_of_fit(benchmark: BenchmarkFixture) -> None:
    data = fit_day()
    recording = benchmark(read, data)
    assert len(recording.fixes) == decode_all(data) == FIXES
    ratio = ratio_of(data, decode_all, 3)
    benchmark.extra_info["ratio"] = round(ratio, 3)
    assert ratio < 1
