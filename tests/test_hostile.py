"""Nothing that a file does can break a reader, or end in anything but one sentence.

Attacks on parsers of XML and archives are those of W3C XML 1.0, section 4, the CWE
entries 400, 409, 611 and 776 (from memory), and what each format leaves open.
"""

import gzip
import io
import re
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from promises import check_sane
from sweptwater.errors import TrackError
from sweptwater.tracks import recording as holdings
from sweptwater.tracks import scan
from sweptwater.tracks.read import read_track
from track_files import (
    definition,
    fit,
    fit_minutes,
    gpx,
    holds_minutes,
    kml,
    kml_track,
    placemark,
    tcx,
    trackpoints,
    zipped,
)

ROOTS = ("gpx", "TrainingCenterDatabase", "kml")


# ---- any bytes at all

FIT = fit(definition(0, 20), fit_minutes(range(4)))
MARK = "<TimeStamp><when>2027-06-08T10:00:00Z</when></TimeStamp><Point><coordinates>1,2"
SEEDS = {
    "GPX": gpx(range(4)).encode(),
    "TCX": tcx(trackpoints(range(3)), trackpoints(range(3, 5))).encode(),
    "KML": kml(placemark(kml_track(range(4)))).encode(),
    "KML of places": kml(placemark(MARK + "</coordinates></Point>") * 3).encode(),
    "KMZ": zipped(doc__kml=kml(placemark(kml_track(range(4)))).encode()),
    "gzip": gzip.compress(gpx(range(4)).encode()),
    "FIT": FIT,
    "FIT on end": FIT + fit(definition(3, 20, big=True), FIT[14:20]),
}
SHREDS = [
    *(b"", b"\0", b"<", b">", b"&", b'"', b"\xff\xfe", b"<!--", b"<?x", b"<![CDATA["),
    *(b"<!DOCTYPE g [", b"<trkpt ", b"</trkseg>", b"<Trackpoint>", b"</Track>"),
    *(b"<gx:Track>", b"<when>", b"<gx:coord>", b"<Placemark>", b"<Courses>"),
    *(b"PK\3\4", b"PK\1\2", b"PK\5\6", b"\x40\0\0\x14\0\3", b"\xfd\4\x86", b".FIT"),
]


@given(st.binary(max_size=300))
@example(b"PK\3\4")
@example(b"\x1f\x8b\x08\0")
@example(bytes([255] * 8) + b".FIT" + bytes(9))
@example(b"<kml><Placemark><Track><coord/>")
def test_any_bytes(data: bytes) -> None:
    check_sane(data, read_track)
    check_sane(b"\x0e\x20\x54\x08\xff\xff\0\0.FIT\0\0" + data, read_track)
    check_sane(b"PK\3\4\x14\0" + data, read_track)


@pytest.mark.parametrize("kind", SEEDS)
@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_any_change_of_a_file(kind: str, data: st.DataObject) -> None:
    content = SEEDS[kind]
    other = SEEDS[data.draw(st.sampled_from(sorted(SEEDS)))]
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content)))
        gone = data.draw(st.integers(0, 40))
        start = data.draw(st.integers(0, len(other)))
        put = data.draw(
            st.sampled_from(SHREDS)
            | st.binary(max_size=6)
            | st.just(other[start : start + data.draw(st.integers(0, 60))])
        )
        content = content[:at] + put + content[at + gone :]
    end = data.draw(st.integers(0, len(content)) | st.just(len(content)))
    check_sane(content[:end], read_track)


@settings(max_examples=150, deadline=None)
@given(
    kind=st.sampled_from(sorted(SEEDS)),
    flips=st.lists(st.integers(0, 7999), min_size=1),
)
def test_any_flip_of_bits(kind: str, flips: list[int]) -> None:
    content = bytearray(SEEDS[kind])
    for flip in flips:
        content[flip // 8 % len(content)] ^= 1 << flip % 8
    check_sane(bytes(content), read_track)


# ---- attacks by XML, on every kind of it


@pytest.mark.parametrize("root", ROOTS)
@pytest.mark.parametrize(
    ("declared", "used"),
    [
        ('<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">', "&b;"),
        ('<!ENTITY e SYSTEM "file:///etc/hostname">', "&e;"),
        ('<!ENTITY % p SYSTEM "http://invalid.invalid/x"> %p;', ""),
        ('<!ATTLIST gpx a CDATA "x">', ""),
        (" ", ""),
    ],
)
def test_entities_are_refused(root: str, declared: str, used: str) -> None:
    text = f"<!DOCTYPE {root} [{declared}]><{root}>{used}</{root}>"
    for data in (text.encode(), zipped(doc__kml=text.encode())):
        with pytest.raises(
            TrackError, match=r"^heron brings a document type with cont"
        ):
            read_track(data, name="heron")


@pytest.mark.parametrize("tag", ["Folder", "Document", "x"])
def test_deep_nesting_is_refused(tag: str) -> None:
    deep = f"<{tag}>" * 100_000
    with pytest.raises(
        TrackError, match=r"^heron nests its elements more than 64 deep"
    ):
        read_track(f"<kml>{deep}".encode(), name="heron")


@pytest.mark.parametrize("form", ["<n{}/>", "<a n{}='1'/>"])
def test_names_without_end_are_refused(form: str) -> None:
    # The parser keeps every name that it meets.
    names = "".join(form.format(i) for i in range(2 * scan.MOST_NAMES))
    with pytest.raises(TrackError, match="more than 10,000 names of elements"):
        read_track(f"<gpx>{names}</gpx>".encode(), name="heron")


@pytest.mark.parametrize(
    ("head", "point"),
    [
        ("<gpx><trk><trkseg>", "<trkpt/>"),
        (tcx("").split("</Track>")[0], "<Trackpoint/>"),
        ("<kml><Placemark><Track>", "<coord/>"),
        ("<kml><Placemark><Track>", "<when/>"),
        ("<kml>", "<Placemark><Point><coordinates>1</coordinates></Point></Placemark>"),
        ("<kml><Placemark><LineString><coordinates>", "1 "),
    ],
)
def test_points_without_end_are_refused(
    head: str, point: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(scan, "MOST_POINTS", 1000)
    with pytest.raises(
        TrackError, match="more than 1,000 track points: export one day"
    ):
        read_track((head + point * 70_000).encode(), name="heron")
    assert holdings.MOST_POINTS == 2_000_000


def test_huge_attributes_and_comments_end_the_reading() -> None:
    huge = "1" * (3 * scan.LONGEST_TAG)
    for text in (
        gpx().replace("</trkseg>", f'<trkpt lat="{huge}"/></trkseg>'),
        tcx().replace("</Track>", f"<!-- {huge} --></Track>"),
        kml().replace("</Document>", f"<Placemark id='{huge}'/></Document>"),
    ):
        recording = read_track(text.encode(), name="heron")
        assert holds_minutes(recording)
        assert "is damaged at line" in recording.remarks[0]


# ---- within bounds of memory and time

BOUNDED = """\
import resource, sys, time
from sweptwater.errors import TrackError
from sweptwater.tracks.read import read_track
data = open(sys.argv[1], "rb").read()
resource.setrlimit(resource.RLIMIT_AS, (2**30, 2**30))
began = time.process_time()
try:
    print("fixes", len(read_track(data, name="heron").fixes))
except TrackError as error:
    print(error)
print(time.process_time() - began)
"""
MOST = 256 * 2**20
LONGEST_S = 150


def xml_of(head: str, part: str) -> bytes:
    return head.encode() + part.encode() * ((MOST - len(head)) // len(part.encode()))


def names() -> bytes:
    return b"<gpx>" + b"".join(b"<a%x/>" % i for i in range(2**20))


def fit_of(head: bytes, part: bytes) -> bytes:
    body = head + part * ((32 * 2**20 - 16 - len(head)) // len(part))
    return fit(body)[: 32 * 2**20]


def definitions() -> bytes:
    fields = bytes([253, 4, 0x86, 0, 4, 0x85, 1, 4, 0x85])
    return b"".join(
        b"\x40\0\0\x14\0\4" + fields + bytes([9, i % 255 + 1, 2]) for i in range(10**6)
    )


def bomb() -> bytes:
    held = io.BytesIO()
    with (
        zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as made,
        made.open("doc.kml", "w", force_zip64=True) as member,
    ):
        for _ in range(2048):
            member.write(bytes(2**20))
    return held.getvalue()


def listing() -> bytes:
    return b"PK\3\4" + b"PK\1\2".ljust(46, b"\0") * 10**6


def most(head: str, part: str, count: int = holdings.MOST_POINTS) -> bytes:
    """Return as many points as are read, each with a time of its own."""
    day = "".join(
        part.format(f"2027-06-08T{i // 3600:02d}:{i // 60 % 60:02d}:{i % 60:02d}.25Z")
        for i in range(86_400)
    )
    return (head + day * (count // 86_400)).encode()


TIMED = "<trkpt lat='1.5' lon='2.5'><time>{}</time></trkpt>"
TRACKPOINT = (
    "<Trackpoint><Time>{}</Time><Position><LatitudeDegrees>1</LatitudeDegrees>"
    "<LongitudeDegrees>2</LongitudeDegrees></Position></Trackpoint>"
)
POINT = '<trkpt lat="1.5" lon="2.5"/>'
ATTACKS: dict[str, Callable[[], bytes]] = {
    "as much GPX as may be": lambda: most("<gpx><trk><trkseg>", TIMED),
    "as much TCX as may be": lambda: most(
        tcx("").split("</Track>")[0], TRACKPOINT, MOST // 175
    ),
    "as much KML as may be": lambda: most(
        "<kml><Placemark><Track>",
        "<when>{}</when><coord>1.5 2.5</coord>",
        holdings.MOST_POINTS // 2,
    ),
    "as much KMZ as may be": lambda: zipped(
        doc__kml=most(
            "<kml>",
            "<Placemark><TimeStamp><when>{}</when></TimeStamp><Point><coordinates>1,2"
            "</coordinates></Point></Placemark>",
        )
    ),
    "as much FIT as may be": lambda: fit(
        definition(0, 20), fit_minutes([1]) * holdings.MOST_POINTS
    ),
    "a billion GPX points": lambda: xml_of("<gpx><trk><trkseg>", POINT),
    "a billion TCX points": lambda: xml_of(
        tcx("").split("</Track>")[0], "<Trackpoint></Trackpoint>"
    ),
    "a billion KML places": lambda: xml_of("<kml><Placemark><Track>", "<coord/>"),
    "a billion KML marks": lambda: xml_of(
        "<kml>", "<Placemark><Point><coordinates>1,2</coordinates></Point></Placemark>"
    ),
    "a billion KML tuples": lambda: xml_of(
        "<kml><Placemark><LineString><coordinates>", "1,2 "
    ),
    "a billion folders": lambda: xml_of("<kml>", "<Folder>"),
    "a billion damaged places": lambda: xml_of("<gpx><trk><trkseg>", POINT + "</x>"),
    "a billion damaged places of KML": lambda: xml_of("<kml>", "<Placemark></x>"),
    "a billion waypoints": lambda: xml_of("<gpx>", '<wpt lat="1" lon="2"/>'),
    "a billion letters": lambda: xml_of("<gpx><wpt><name>", "letters "),
    "one tag": lambda: xml_of("<gpx><trk a='", "long"),
    "one tuple": lambda: xml_of("<kml><Placemark><LineString><coordinates>", "1"),
    "wide characters": lambda: (
        xml_of("<gpx>", "<a/>\n").decode()[: 2**27].encode("utf-16")[:MOST]
    ),
    "names": names,
    "FIT records": lambda: fit_of(definition(0, 20, [(253, 1, 2)]), b"\0\0"),
    "FIT messages": lambda: fit_of(definition(0, 21, [(253, 1, 2)]), b"\0\0"),
    "FIT definitions": lambda: fit(definitions()),
    "FIT layouts": lambda: fit_of(definition(0, 20), definition(1, 20)),
    "FIT damage": lambda: fit_of(definition(0, 20) + fit_minutes([0]), b"\0\x0f\0\0"),
    "FIT sizes": lambda: fit_of(
        definition(0, 20, [(9, 255, 2)] * 255, made_up=[(1, 255, 0)] * 255), b"\0"
    ),
    "FIT files": lambda: struct.pack("<2BHI4s3x", 12, 0, 0, 1, b".FIT") * 2_000_000,
    "FIT files with sums": lambda: (
        fit(definition(0, 20), fit_minutes([1]) * 10**5) * 20
    ),
    "zip bomb": bomb,
    "gzip bomb": lambda: gzip.compress(bytes(1024 * 2**20)),
    "zipped points": lambda: zipped(a__gpx=xml_of("<gpx><trk><trkseg>", POINT)),
    "zip listing": listing,
    "too large": lambda: bytes(MOST + 1),
}


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="limits of memory are Linux's")
@pytest.mark.parametrize("attack", ATTACKS)
def test_attacks_end_within_bounds(attack: str, tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.write_bytes(ATTACKS[attack]())
    try:
        done = subprocess.run(
            [sys.executable, "-c", BOUNDED, str(path)],
            capture_output=True,
            text=True,
            timeout=10 * LONGEST_S,
        )
    finally:
        path.unlink()
    assert done.returncode == 0, done.stderr[-500:]
    said, seconds = done.stdout.splitlines()
    print(f"{attack}: {float(seconds):.1f} s, {said}")
    assert re.match(r"heron \w+|fixes \d+$", said)
    assert float(seconds) < LONGEST_S
