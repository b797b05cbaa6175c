"""Feed files bred by a coverage-guided fuzzer to the readers of tracks.

Not a test that pytest collects: it runs for as long as one lets it. It needs atheris
(``pip install atheris``, 3.0 or later, Linux and macOS), which nothing else here does::

    python tests/fuzz/fuzz_readers.py tcx corpus/tcx -max_total_time=3600

The first argument is the kind of file to breed (gpx, tcx, kml, kmz, fit or any), the
second a folder that keeps what was bred; small seeds are put there at the start, and
all else goes to libFuzzer. Whatever bytes come, a reader ends in a recording that keeps
its promises or in a TrackError with one sentence, within five seconds and without one
allocation over 512 MB: any other end stops the run and leaves the input in the folder
it was started in. The fuzzer itself keeps some 40 kB an execution (the same inputs read
without it keep none), so a run ends at 3 GB; start it again, the corpus stays.
"""

import gzip
import io
import struct
import sys
import zipfile
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["sweptwater.tracks", "zipfile"]):
    # The last two are else only loaded when they are needed.
    for module in ("read", "archive", "fit"):
        import_module(f"sweptwater.tracks.{module}")

from sweptwater.errors import TrackError
from sweptwater.tracks import fit
from sweptwater.tracks.read import Recording, read_track

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
LARGEST_SEED = 12_000
SLOWEST_S = 5
MOST_MB = 512
WHOLE_MB = 3072

POINTS = 4


def gpx() -> bytes:
    points = "".join(
        f'<trkpt lat="52.65{i}" lon="-0.65{i}"><ele>61</ele>'
        f"<time>2027-06-08T10:0{i}:00Z</time></trkpt>\n"
        for i in range(POINTS)
    )
    mark = '<wpt lat="52.6" lon="-0.6"><name>Off the tower</name></wpt>'
    route = '<rte><rtept lat="1" lon="2"/></rte>'
    return f"<gpx>{mark}{route}<trk><trkseg>{points}</trkseg></trk></gpx>".encode()


def tcx() -> bytes:
    points = "".join(
        f"<Trackpoint><Time>2027-06-08T10:0{i}:00Z</Time><Position><LatitudeDegrees>"
        f"52.65{i}</LatitudeDegrees><LongitudeDegrees>-0.65{i}</LongitudeDegrees>"
        "</Position></Trackpoint>\n"
        for i in range(POINTS)
    )
    lap = f"<Lap><Track>{points}</Track></Lap>"
    plan = f"<Courses><Course><Track>{points}</Track></Course></Courses>"
    return (
        f"<TrainingCenterDatabase><Activities><Activity>{lap}</Activity></Activities>"
        f"{plan}</TrainingCenterDatabase>"
    ).encode()


def kml() -> bytes:
    whens = "".join(f"<when>2027-06-08T10:0{i}:00Z</when>" for i in range(POINTS))
    coords = "".join(
        f"<gx:coord>-0.65{i} 52.65{i} 61</gx:coord>" for i in range(POINTS)
    )
    return (
        f"<kml><Document><Placemark><gx:Track>{whens}{coords}</gx:Track></Placemark>"
        "<Placemark><TimeStamp><when>2027-06-08T10:00:00Z</when></TimeStamp><Point>"
        "<coordinates>-0.6,52.6</coordinates></Point></Placemark><Placemark>"
        "<LineString><coordinates>-0.6,52.6 -0.61,52.61</coordinates></LineString>"
        "</Placemark></Document></kml>"
    ).encode()


def kmz() -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("doc.kml", kml())
    return held.getvalue()


def fit_file() -> bytes:
    fields = bytes([253, 4, 0x86, 0, 4, 0x85, 1, 4, 0x85])
    body = b"\x40\0\0" + struct.pack("<HB", 20, 3) + fields
    for i in range(POINTS):
        place = (628_000_000 + i, -7_700_000 - i)
        body += b"\0" + struct.pack("<Iii", 1_181_383_200 + 60 * i, *place)
    # One whose time comes with its header.
    body += b"\x41\0\0" + struct.pack("<HB", 20, 2) + fields[3:]
    body += b"\xa5" + struct.pack("<ii", 628_000_100, -7_700_100)
    return struct.pack("<2BHI4s", 12, 32, 2100, len(body), b".FIT") + body + b"\0\0"


TOKENS = (
    *("<trkpt lat='1' lon='2'>", "</trkpt>", "<trkseg>", "</trkseg>", "</gpx>"),
    *("<wpt>", "<rtept/>", "<time>", "encoding='utf-16'", "-0.65 52.65"),
    *("<Trackpoint>", "<Track>", "</Track>", "<Time>", "</Time>", "<Position>"),
    *("<LatitudeDegrees>", "<LongitudeDegrees>", "<Courses>", "</Lap>", "<Lap>"),
    *("<gx:Track>", "</gx:Track>", "<when>", "</when>", "<gx:coord>", "</gx:coord>"),
    *("<Placemark>", "</Placemark>", "<Point>", "<coordinates>", "<LineString>"),
    *("<Folder>", "<name>", "<![CDATA[", "<!--", "<!DOCTYPE g [", "<?xml ", "&amp;"),
    *("2027-06-08T10:00:00Z", r"\xff\xfe", ".FIT", r"\x40\x00\x00\x14\x00\x03"),
    *(r"\xfd\x04\x86", r"PK\x03\x04", r"PK\x01\x02", r"PK\x05\x06", "doc.kml"),
    r"\x1f\x8b\x08",
)
"""Pieces that the fuzzer may put in, as libFuzzer writes them."""

SEEDS = {"gpx": gpx, "tcx": tcx, "kml": kml, "kmz": kmz, "fit": fit_file}


def seeds(kind: str) -> Iterator[bytes]:
    """Yield small files of a kind, made here and by others."""
    for known, make in SEEDS.items():
        if kind in (known, "any"):
            yield make()
            if known == "kmz":
                yield gzip.compress(kml())
    for path in sorted(DATA.glob("*/*")):
        if kind in (path.suffix[1:], "any") and path.suffix[1:] in SEEDS:
            yield path.read_bytes()[:LARGEST_SEED]


def check(data: bytes) -> None:
    """Read bytes, and fail where a reader breaks its word."""
    for read in (read_track, fit.read_fit) if data[8:12] == b".FIT" else (read_track,):
        try:
            recording = read(data, name="heron")
        except TrackError as error:
            refusal = str(error)
        else:
            refusal = "heron "
            check_promises(recording)
        assert refusal.startswith("heron "), refusal
        assert "\n" not in refusal, refusal


def check_promises(recording: Recording) -> None:
    fixes = recording.fixes
    count = len(fixes)
    assert count > 0
    assert len(fixes.lat) == len(fixes.time_s) == len(fixes.segment) == count
    assert (abs(fixes.lat) <= 90).all()
    assert ((fixes.lon >= -180) & (fixes.lon < 180)).all()
    timed = fixes.time_s[fixes.time_s == fixes.time_s]
    assert ((timed >= 631_152_000) & (timed < 4_133_980_800)).all()
    assert (fixes.segment >= 0).all()
    assert (fixes.segment[1:] >= fixes.segment[:-1]).all()
    assert all(number > 0 for number in recording.dropped.values())
    assert all("\n" not in remark for remark in recording.remarks)


def main() -> None:
    if len(sys.argv) < 3 or sys.argv[1] not in (*SEEDS, "any"):
        sys.exit(f"usage: {sys.argv[0]} {{{','.join(SEEDS)},any}} FOLDER [options]")
    kind, folder = sys.argv[1], Path(sys.argv[2])
    folder.mkdir(parents=True, exist_ok=True)
    for i, seed in enumerate(seeds(kind)):
        (folder / f"seed-{kind}-{i}").write_bytes(seed)
    dictionary = folder.with_suffix(".dict")
    dictionary.write_text("".join(f'"{token}"\n' for token in TOKENS))
    options = [
        f"-dict={dictionary}",
        f"-timeout={SLOWEST_S}",
        f"-malloc_limit_mb={MOST_MB}",
        f"-rss_limit_mb={WHOLE_MB}",
        "-max_len=16384",
        *sys.argv[3:],
    ]
    atheris.Setup([sys.argv[0], str(folder), *options], check)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
