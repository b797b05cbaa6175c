"""Reading GPX: odd files, damaged files, hostile files.

What a file should say is taken from gpxpy, lxml, the GPX 1.1 schema
(topografix.com/GPX/1/1/gpx.xsd) and Python's datetime.
"""

import re
from datetime import UTC, datetime
from pathlib import Path

import gpxpy
import gpxpy.gpx
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from lxml import etree

from promises import check_sane
from sweptwater.errors import TrackError
from sweptwater.tracks import content, read, scan
from sweptwater.tracks.clock import read_times
from sweptwater.tracks.read import Recording, read_gpx
from sweptwater.tracks.recording import (
    BEYOND_GLOBE,
    BEYOND_POLES,
    NO_NUMBER,
    NO_POSITION,
    NO_SATELLITES,
)

DATA = Path(__file__).resolve().parents[2] / "shared" / "data"
"""Files that others wrote; licences and origins are listed in its INDEX.md."""

TEN_S = datetime(2027, 6, 8, 10, tzinfo=UTC).timestamp()
NAN = float("nan")


def point(lon: object, lat: object, time: str = "") -> str:
    held = f"<ele>61.2</ele><time>{time}</time>" if time else "<ele>61.2</ele>"
    return f'<trkpt lat="{lat}" lon="{lon}">{held}</trkpt>\n'


def track(*segments: str) -> str:
    inside = "".join(f"<trkseg>{segment}</trkseg>" for segment in segments)
    return f"<trk>{inside}</trk>"


def gpx(inside: str, head: str = "", root: str = 'gpx version="1.1"') -> str:
    return f"{head}<{root}>{inside}</{root.split()[0]}>"


def minutes(count: int, start: int = 0) -> str:
    """Return points a minute and a ten-thousandth of a degree apart."""
    return "".join(
        point(f"-0.{6500 + i}", f"52.{6500 + i}", f"2027-06-08T10:{i:02d}:00Z")
        for i in range(start, start + count)
    )


def same(recording: Recording, count: int = 10) -> bool:
    """Tell whether a recording holds what `minutes` writes."""
    steps = np.arange(count)
    fixes = recording.fixes
    return (
        np.array_equal(fixes.time_s, TEN_S + 60 * steps)
        and np.allclose(fixes.lat, 52.65 + steps / 10_000, rtol=0, atol=1e-12)
        and np.allclose(fixes.lon, -0.65 - steps / 10_000, rtol=0, atol=1e-12)
    )


DECLARED = '<?xml version="1.0" encoding="{}"?>\n'
PLAIN = gpx(track(minutes(10)))
NAMED = gpx(f"<metadata><name>Höhe</name></metadata>{track(minutes(10))}")
V11 = "http://www.topografix.com/GPX/1/1"

# ---- one case an oddity: each holds the ten points of `minutes`

ODDITIES = {
    "no declaration, no namespace": PLAIN,
    "declared": DECLARED.format("UTF-8") + PLAIN,
    # GPX 1.1 schema: target namespace.
    "GPX 1.1": gpx(track(minutes(10)), root=f'gpx version="1.1" xmlns="{V11}"'),
    "GPX 1.0": gpx(
        track(minutes(10)), root='gpx xmlns="http://www.topografix.com/GPX/1/0"'
    ),
    "odd version": gpx(track(minutes(10)), root='gpx version="7.7.5-play"'),
    "wrong namespace": gpx(track(minutes(10)), root='gpx xmlns="urn:other"'),
    "no version": gpx(track(minutes(10)), root="gpx"),
    "prefix": re.sub(r"<(/?)(?=[a-z])", r"<\1g:", PLAIN),
    "CRLF": PLAIN.replace("\n", "\r\n"),
    "single quotes": PLAIN.replace('"', "'"),
    "blank lines before the declaration": "\n \n" + DECLARED.format("UTF-8") + PLAIN,
    "comments": PLAIN.replace("<ele>", "<!-- <trkpt lat='1' lon='1'/> --><ele>"),
    "comment within a time": PLAIN.replace("T10:", "<!-- ten -->T10:"),
    "CDATA time": re.sub("<time>(.*?)</time>", r"<time><![CDATA[\1]]></time>", PLAIN),
    "white space around": PLAIN.replace('lat="', 'lat=" \t').replace(
        "</time>", "\n  </time>"
    ),
    "lower-case letters in times": re.sub(r"T(10:\d\d:00)Z", r"t\1z", PLAIN),
    "space for T": PLAIN.replace("T10:", " 10:"),
    "one o'clock on the continent": re.sub(r"T10:(\d\d:00)Z", r"T12:\1+02:00", PLAIN),
    "offset without colon": re.sub(r"T10:(\d\d:00)Z", r"T05:\1-0500", PLAIN),
    "offset of hours": re.sub(r"T10:(\d\d:00)Z", r"T11:\1+01", PLAIN),
    "fractions": PLAIN.replace(":00Z", ":00.000Z"),
    "comma in seconds": PLAIN.replace(":00Z", ":00,000Z"),
    "without seconds": PLAIN.replace(":00Z", "Z"),
    "UTC spelt out": PLAIN.replace(":00Z", ":00 UTC"),
    "slashes in dates": PLAIN.replace("2027-06-08T", "2027/06/08 "),
    "basic format": re.sub(r"2027-06-08T10:(\d\d):00Z", r"20270608T10\g<1>00Z", PLAIN),
    "exponents": re.sub(r'"-0\.65(\d\d)"', r'"-65\1E-4"', PLAIN),
    "commas for points": re.sub(r'"(-?\d+)\.(\d+)"', r'"\1,\2"', PLAIN),
    "no elevation": PLAIN.replace("<ele>61.2</ele>", ""),
    "plus signs": PLAIN.replace('lat="', 'lat="+'),
    "extensions with points": PLAIN.replace(
        "</trkpt>",
        '<extensions xmlns:x="urn:x"><x:hr>90</x:hr><time>1999-01-01T00:00:00Z</time>'
        '<trkpt lat="1" lon="1"/><trk><trkseg><trkpt lat="1" lon="1"/></trkseg></trk>'
        "</extensions></trkpt>",
    ),
    "extensions of the file with a track": PLAIN.replace(
        "<trk>", f"<extensions>{track(point(1, 1))}</extensions><trk>", 1
    ),
    "a second time of other origin": PLAIN.replace(
        "</trkpt>", '<x:time xmlns:x="urn:x">noon</x:time></trkpt>'
    ),
    "points outside segments": PLAIN.replace("<trk>", point(1, 1) + "<trk>")
    .replace("<trkseg>", point(1, 1) + "<trkseg>")
    .replace("</gpx>", f"<trkseg>{point(1, 1)}</trkseg></gpx>"),
    "empty segments": gpx(track("", minutes(10), "") + track() + track("")),
    "several tracks": gpx(
        track(minutes(4), minutes(2, 4)) + "<trk/>" + track(minutes(4, 6))
    ),
    "outside document type": "<!DOCTYPE gpx SYSTEM 'http://invalid.invalid/gpx.dtd'>"
    + PLAIN,
}


@pytest.mark.parametrize("text", ODDITIES.values(), ids=ODDITIES)
def test_oddities_read_like_plain_files(text: str) -> None:
    recording = read_gpx(text.encode())
    assert same(recording)
    assert recording.dropped == {}
    assert recording.remarks == ()
    assert not recording.loose_times


@pytest.mark.parametrize(
    ("encoding", "declared"),
    [
        ("utf-8", "UTF-8"),
        ("utf-8", "utf8"),
        ("utf-8", "utf-16"),  # what a program says that builds text in memory
        ("utf-8", "no-such-code"),
        ("utf-8", "hex"),  # known to Python, but no encoding of text
        ("utf-8-sig", "UTF-8"),
        ("utf-8-sig", "ISO-8859-1"),  # the mark is right
        ("utf-16", "UTF-16"),
        ("utf-16-le", "UTF-16"),
        ("utf-16-be", "UTF-16"),
        ("utf-16", "UTF-8"),
        ("latin-1", "ISO-8859-1"),
        ("latin-1", "latin1"),
        ("cp1252", "windows-1252"),
        ("cp437", "IBM437"),
        ("mac-roman", "macintosh"),
        ("gb18030", "GB18030"),
    ],
)
def test_encodings(encoding: str, declared: str) -> None:
    waypoint = '<wpt lat="1" lon="2"><name>Höhe</name></wpt></gpx>'
    text = DECLARED.format(declared) + NAMED.replace("</gpx>", waypoint)
    recording = read_gpx(text.encode(encoding))
    assert same(recording)
    assert recording.waypoints[0].name == "Höhe"
    assert recording.remarks == ()


def test_utf16_with_a_mark_of_the_other_order() -> None:
    data = b"\xfe\xff" + (DECLARED.format("UTF-16") + PLAIN).encode("utf-16-be")
    assert same(read_gpx(data))


def test_segments_count_over_the_file_and_over_empty_ones() -> None:
    text = gpx(track(minutes(2), "", minutes(1)) + track(minutes(3)))
    assert read_gpx(text.encode()).fixes.segment.tolist() == [0, 0, 2, 3, 3, 3]


# ---- positions

# GPX 1.1 schema, latitudeType and longitudeType: -90 <= lat <= 90, -180 <= lon < 180.
# The four of them that were tried on a validating parser: (90, -180) and (-90,
# 179.999999) are valid, (90, 180) and (90.0001, 0) are not.
SCHEMA_CASES = [
    (-180.0, 90.0, None),
    (179.999999, -90.0, None),
    (0.0, 90.0001, BEYOND_POLES),
    (0.0, -90.0001, BEYOND_POLES),
    (180.0001, 0.0, BEYOND_GLOBE),
    (-180.0001, 0.0, BEYOND_GLOBE),
]


@pytest.mark.parametrize(("lon", "lat", "reason"), SCHEMA_CASES)
def test_ranges_of_the_schema(lon: float, lat: float, reason: str | None) -> None:
    text = gpx(track(point(lon, lat) + point(1, 2)))
    recording = read_gpx(text.encode())
    assert recording.dropped == ({reason: 1} if reason else {})
    assert recording.fixes.lon.tolist() == ([1] if reason else [lon, 1])
    assert recording.fixes.lat.tolist() == ([2] if reason else [lat, 2])


def test_longitude_180_is_the_same_meridian() -> None:
    # The schema excludes 180 (see above), devices write it.
    recording = read_gpx(gpx(track(point("180.0", 90))).encode())
    assert (recording.fixes.lon.tolist(), recording.fixes.lat.tolist()) == (
        [-180],
        [90],
    )
    assert recording.dropped == {}


@pytest.mark.parametrize(
    ("attributes", "reason"),
    [
        ("", NO_POSITION),
        ('lat="52.6"', NO_POSITION),
        ('lon="52.6"', NO_POSITION),
        ('lat="" lon="1"', NO_POSITION),
        ('lat="52.6" lon=" "', NO_POSITION),
        ('lat="nan" lon="1"', NO_NUMBER),
        ('lat="1" lon="inf"', NO_NUMBER),
        ('lat="1e999" lon="1"', NO_NUMBER),
        ('lat="undefined" lon="undefined"', NO_NUMBER),
        ('lat="52,6,1" lon="1"', NO_NUMBER),
        ('lat="5,2,6" lon="1"', NO_NUMBER),
        ('lat="1234,5" lon="1"', NO_NUMBER),
        ('lat="954.1" lon="1"', BEYOND_POLES),
        ('lat="1" lon="-999"', BEYOND_GLOBE),
        ('lat="0.000" lon="-0.0"', NO_SATELLITES),
    ],
)
def test_points_that_are_nowhere(attributes: str, reason: str) -> None:
    bad = f"<trkpt {attributes}><time>1999-01-01T00:00:00Z</time></trkpt>"
    middle = len(minutes(5))
    points = minutes(10)
    text = gpx(track(points[:middle] + bad + points[middle:] + bad))
    recording = read_gpx(text.encode())
    assert same(recording)
    assert recording.dropped == {reason: 2}


def test_on_the_equator_or_the_meridian_is_a_place() -> None:
    recording = read_gpx(gpx(track(point(0, 51.5) + point(32.5, 0))).encode())
    assert len(recording.fixes) == 2


def test_blocks_join_seamlessly() -> None:
    # More points than are held as text at once, with losses on both sides of the seam.
    count = 2 * scan._BLOCK + 7
    late = scan._BLOCK + 5000
    bad = {0, 777, scan._BLOCK - 1, scan._BLOCK, scan._BLOCK + 1, count - 1}
    starts = {scan._BLOCK // 2, scan._BLOCK, scan._BLOCK + 3, late, late + 1}
    parts = []
    for i in range(count):
        # Before the last of the segments the file is damaged, but no point with it.
        parts.append("\1" * (i > late) + "</trkseg><trkseg>" if i in starts else "")
        moment = datetime.fromtimestamp(TEN_S + i, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        parts.append(point(1 + i * 1e-5, 95 if i in bad else 2, moment))
    recording = read_gpx(gpx(track("".join(parts))).encode())
    kept = np.array([i for i in range(count) if i not in bad])
    assert np.array_equal(recording.fixes.time_s, TEN_S + kept)
    assert np.allclose(recording.fixes.lon, 1 + kept * 1e-5, rtol=0, atol=1e-12)
    expected = sum((kept >= start).astype(int) for start in starts)
    assert np.array_equal(recording.fixes.segment, expected)
    assert recording.dropped == {BEYOND_POLES: len(bad)}


# ---- times


@pytest.mark.parametrize(
    "text",
    [
        "2027-06-08T10:00:00Z",
        "2024-02-29T23:59:59.999999Z",
        "2000-02-29T00:00:00Z",
        "1990-01-01T00:00:00Z",
        "2100-12-31T23:59:59Z",
        "2027-06-08T10:00:00.5Z",
        "2027-06-08T10:00:00.123456+05:30",
        "2027-06-08T10:00:00-00:30",
        "2027-06-08 10:00:00+00:00",
        "20270608T100000.25Z",
        "2027-W23-2T10:00:00Z",
    ],
)
def test_times_agree_with_datetime(text: str) -> None:
    expected = datetime.fromisoformat(text).timestamp()
    assert read_times([text]).time_s[0] == pytest.approx(expected, abs=1e-6)


@given(
    moment=st.datetimes(datetime(1990, 1, 2), datetime(2100, 12, 30)),
    offset=st.none() | st.integers(-14 * 60, 14 * 60),
    places=st.sampled_from(["seconds", "milliseconds", "microseconds"]),
)
def test_any_time_agrees_with_datetime(
    moment: datetime, offset: int | None, places: str
) -> None:
    text = moment.isoformat(timespec=places)
    hours, rest = divmod(abs(offset or 0), 60)
    text += "Z" if offset is None else f"{offset:+}"[0] + f"{hours:02d}:{rest:02d}"
    expected = datetime.fromisoformat(text).timestamp()
    assert read_times([text, text]).time_s == pytest.approx(expected, abs=1e-6)


def test_more_places_than_a_clock_has() -> None:
    # xsd:dateTime allows any number of them.
    texts = [f"1990-01-01T00:00:00.{'123456789012345'[:n]}Z" for n in range(1, 16)]
    expected = [631152000 + float("0." + "123456789012345"[:n]) for n in range(1, 16)]
    assert read_times(texts).time_s == pytest.approx(expected, abs=1e-6)
    offsets = [f"1990-01-01T01:00:00.{'25'.ljust(n, '0')}+01:00" for n in range(2, 40)]
    assert set(read_times(offsets).time_s) == {631152000.25}


def test_the_ends_of_days() -> None:
    # xsd:dateTime: 24:00:00 is the first instant of the next day; ISO 8601: a leap
    # second is :60, which seconds since 1970 count as the next one.
    texts = ["2016-12-31T24:00:00Z", "2016-12-31T23:59:60Z", "2017-01-01T00:00:00Z"]
    assert len(set(read_times(texts).time_s.tolist())) == 1


@pytest.mark.parametrize(
    "text",
    [
        "noon",
        "2027-06-08",  # midnight would be made up
        "10:00:00Z",
        "2027-02-29T10:00:00Z",
        "2027-13-01T10:00:00Z",
        "2027-00-01T10:00:00Z",
        "2027-06-00T10:00:00Z",
        "2027-06-31T10:00:00Z",
        "2027-06-08T25:00:00Z",
        "2027-06-08T10:60:00Z",
        "2027-06-08T10:00:61Z",
        "2027-06-08T10:00:00X",
        "2027-06-08T10:00:00Zulu",
        "2027-06-08T10:00:00.Z.",
        "2027-06-08T10:00:00+99:00",
        "2027-06-08T10:00:00+01:75",
        "2027-06-08T10:00:00+0175",
        "2027-06-08T10:00:00+01:00h",
        "2027-06-08T10:00:0oZ",
        "\u0662\u0660\u0662\u0667-06-08T10:00:00Z",  # digits of another script
        "9999-12-31T24:00:00Z",
        "now",
        "today",
        "NaT",
        "1" * 10_000,
    ],
)
def test_unreadable_times_leave_the_place(text: str) -> None:
    points = minutes(3).replace("2027-06-08T10:01:00Z", text)
    recording = read_gpx(gpx(track(points)).encode())
    assert recording.fixes.time_s.tolist() == pytest.approx(
        [TEN_S, NAN, TEN_S + 120], nan_ok=True
    )
    assert any(
        remark.startswith(f"1 time was unreadable, like {text[:40]!r}")
        for remark in recording.remarks
    )


@pytest.mark.parametrize(
    "text",
    [
        "1970-01-01T00:00:00Z",
        "1989-12-31T23:59:59Z",
        "1980-01-06 0:00",
        "2101-01-01T00:00:00Z",
    ],
)
def test_clocks_that_were_not_set(text: str) -> None:
    recording = read_gpx(gpx(track(point(1, 2, text) + minutes(1))).encode())
    assert recording.fixes.time_s.tolist() == pytest.approx([NAN, TEN_S], nan_ok=True)
    assert f"1 time was before 1990 or after 2100, like {text!r}" in " ".join(
        recording.remarks
    )


def test_missing_times() -> None:
    text = gpx(track(point(1, 2) + "<trkpt lat='1' lon='2'/>" + minutes(1)))
    recording = read_gpx(text.encode())
    assert np.isnan(recording.fixes.time_s).tolist() == [True, True, False]
    assert recording.remarks == ("2 fixes of 3 without a time",)
    assert read_gpx(gpx(track(point(1, 2))).encode()).remarks == ("no fix has a time",)


def test_times_without_a_zone_are_utc_and_told() -> None:
    text = PLAIN.replace(":00Z", ":00", 2).replace(":00Z", "", 2)
    recording = read_gpx(text.encode())
    assert same(recording)
    assert recording.loose_times
    assert recording.remarks[0].startswith("4 times were without a zone and taken as U")


def test_times_out_of_order_keep_the_order_of_the_file_and_are_told() -> None:
    text = gpx(track(minutes(5, 5), minutes(5)))
    recording = read_gpx(text.encode())
    order = [5, 6, 7, 8, 9, 0, 1, 2, 3, 4]
    assert recording.fixes.time_s.tolist() == [TEN_S + 60 * i for i in order]
    assert recording.remarks == (
        "the times run back in 1 place: the fixes are taken in the order of their "
        "times",
    )


def test_a_clock_that_stuck_costs_no_fix_here() -> None:
    # Which of them can be used, and what the captain is told, is for the day's record.
    points = "".join(point(1, 2 + i, "2027-06-08T10:00:00Z") for i in range(25))
    recording = read_gpx(gpx(track(points)).encode())
    assert recording.fixes.time_s.tolist() == [TEN_S] * 25
    assert recording.remarks == ()


# ---- waypoints and routes


def test_waypoints() -> None:
    text = gpx(
        '<wpt lat="52.65" lon="-0.65"><ele>1</ele><time>2027-06-08T10:00:00Z</time>'
        "<name> Off the\n tower &amp; <![CDATA[<2 fish>]]> </name><desc>-</desc></wpt>"
        '<wpt lat="0" lon="0"><name>nowhere</name></wpt><wpt><name>lost</name></wpt>'
        '<wpt lat="1" lon="180"/>' + track(minutes(10))
    )
    recording = read_gpx(text.encode())
    assert same(recording)
    first, second = recording.waypoints
    assert first == read.Waypoint("Off the tower & <2 fish>", -0.65, 52.65, TEN_S)
    assert (second.name, second.lon, second.lat) == ("", -180, 1)
    assert np.isnan(second.time_s)
    assert recording.remarks == (
        "2 waypoints were left out for want of a usable position",
    )
    assert recording.dropped == {}


def test_waypoints_without_end() -> None:
    surplus = '<wpt lat="1" lon="2"/>' * (content.MOST_MARKS + 2)
    recording = read_gpx(gpx(track(minutes(10)) + surplus).encode())
    assert len(recording.waypoints) == content.MOST_MARKS
    assert recording.remarks == ("2 waypoints were left out as too many",)


def test_routes_are_counted_only() -> None:
    route = (
        '<rte><name>plan</name><rtept lat="1" lon="2"/><rtept lat="1" lon="2"/></rte>'
    )
    recording = read_gpx(gpx(route + track(minutes(10)) + route).encode())
    assert same(recording)
    assert recording.remarks == (
        "2 routes were left out (4 points): only what a boat recorded counts",
    )


def test_endless_texts_are_given_up() -> None:
    long = "x" * (2 * content.LONGEST_TEXT)
    text = gpx(
        f'<wpt lat="1" lon="2"><name>{long}</name></wpt>'
        + track(minutes(10) + point(1, 2, long))
    )
    recording = read_gpx(text.encode())
    assert recording.waypoints[0].name == "(too long)"
    assert "1 time was unreadable, like '(too long)'" in recording.remarks[0]
    assert len(recording.fixes) == 11


# ---- broken files


def test_a_file_cut_anywhere_keeps_what_is_complete() -> None:
    data = (DECLARED.format("UTF-8") + PLAIN).encode()
    for length in range(len(data)):
        cut = data[:length]
        complete = cut.count(b"</time>")
        if complete:
            recording = read_gpx(cut)
            assert same(recording, complete), length
            line = 1 + cut.count(b"\n")
            were = "fix was" if complete == 1 else "fixes were"
            assert recording.remarks == (
                f"the file breaks off at line {line} in the middle of the record: "
                f"{complete} {were} kept up to there; copy it again from the device if "
                "you can",
            )
        else:
            with pytest.raises(TrackError, match=r"is damaged|is empty|not GPX"):
                read_gpx(cut)


def test_a_file_cut_in_two_byte_characters() -> None:
    data = PLAIN.encode("utf-16")
    recording = read_gpx(data[: len(data) // 2 | 1])
    complete = PLAIN[: len(PLAIN) // 2].count("</time>")
    assert same(recording, complete)
    assert recording.remarks[0].startswith("the file breaks off at line ")


@pytest.mark.parametrize(
    "end", [b"\xc3", b"<![CDATA[\n", b"<!-- ", b"<a b='", b"&am", b""]
)
def test_a_file_cut_after_its_points(end: bytes) -> None:
    data = b"\n\n" + DECLARED.format("UTF-8").encode() + PLAIN.encode()
    recording = read_gpx(data.replace(b"</gpx>", b"<extensions>" + end))
    assert same(recording)
    # Two blank lines, the declaration, ten points; the break is told where it begins.
    line = 15 if b"CDATA" in end else 14
    assert recording.remarks[0].startswith(f"the file breaks off at line {line} ")


def test_points_in_an_endless_comment_are_not_read() -> None:
    comment = f"<!--{'x' * scan.LONGEST_TAG}{point(1, 1) * 5000}-->"
    recording = read_gpx(PLAIN.replace("</trk>", f"{comment}</trk>").encode())
    assert same(recording)
    assert "at least 5,000 track points were lost" in recording.remarks[0]


DAMAGED = {
    "bare ampersand": NAMED.replace("Höhe", "Heron & Co").encode(),
    "undefined entity": NAMED.replace("Höhe", "Heron&nbsp;1").encode(),
    "undeclared Latin-1": NAMED.encode("latin-1"),
    "control character": NAMED.replace("Höhe", "\x01").encode(),
    "wrong end tag": NAMED.replace("</name>", "</title>").encode(),
    "two attributes of one name": NAMED.replace("<name>", "<name a='' a=''>").encode(),
    "head overwritten": b"\0" * 20 + PLAIN.encode()[20:],
    "zeros after the end": PLAIN.encode() + b"\0" * 4096,
    "two files in one": (gpx(track(minutes(6))) + gpx(track(minutes(4, 6)))).encode(),
    "prefix and bare ampersand": re.sub(r"<(/?)(?=[a-z])", r"<\1g:", NAMED)
    .replace("Höhe", "&")
    .encode(),
    "bad UTF-16 character": NAMED.replace("Höhe", "\ud800").encode(
        "utf-16", "surrogatepass"
    ),
}


@pytest.mark.parametrize("data", DAMAGED.values(), ids=DAMAGED)
def test_damage_beside_the_points_costs_none(data: bytes) -> None:
    recording = read_gpx(data)
    assert same(recording)
    assert recording.fixes.segment[0] == 0


def test_damage_is_told() -> None:
    recording = read_gpx(DAMAGED["bare ampersand"])
    assert recording.remarks == (
        "the file is damaged at line 1: 10 fixes were kept and what stood there was "
        "lost; copy it again from the device if you can",
    )


def test_a_hole_in_the_middle() -> None:
    # As a bad block on a card leaves it: zeros from within the fourth point to within
    # the sixth, and another within the ninth.
    points = minutes(10).encode()
    size = len(points) // 10
    data = bytearray(gpx(track(points.decode())).encode())
    start = data.index(b"<trkpt")
    for first, last in ((3 * size + 20, 5 * size + 20), (8 * size + 5, 8 * size + 9)):
        data[start + first : start + last] = bytes(last - first)
    recording = read_gpx(bytes(data))
    kept = [0, 1, 2, 6, 7, 9]
    assert np.array_equal(recording.fixes.time_s, TEN_S + 60 * np.array(kept))
    assert recording.fixes.segment.tolist() == [0] * 6
    # Tags that stand whole or in part in what is left: the fourth and the sixth.
    assert "at line 4 and in 1 other place: 6 fixes were kept" in recording.remarks[0]


def test_a_hole_over_the_seam_of_segments_keeps_them_apart() -> None:
    text = gpx(track(minutes(5) + "\1", minutes(5, 5)))
    recording = read_gpx(text.encode())
    assert same(recording)
    assert recording.fixes.segment.tolist() == [0] * 5 + [1] * 5


def test_damage_everywhere_ends() -> None:
    count = scan.MOST_PLACES + 50
    recording = read_gpx(gpx(track((point(1, 2, "x") + "</x>") * count)).encode())
    assert len(recording.fixes) == scan.MOST_PLACES
    assert "at least 50 track points were lost" in recording.remarks[0]


def test_an_endless_tag_ends_the_reading() -> None:
    # A real tag has some 60 bytes; older parsers need time quadratic in its length.
    text = gpx(track(minutes(10) + f'<trkpt lat="{"1" * 2 * scan.LONGEST_TAG}"/>'))
    recording = read_gpx(text.encode())
    assert same(recording)
    assert "at least 1 track point was lost" in recording.remarks[0]


# ---- files that are refused


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (b"", r"^grebe\.gpx is empty"),
        (b" \n\t ", r"^grebe\.gpx is empty"),
        (b"\0" * 5000, r"^grebe\.gpx is not GPX.*zero bytes"),
        (b"PK\x03\x04\x14\0", "zip archive"),
        (b"\x1f\x8b\x08\0", "gzip"),
        (b"\x0e\x20\x54\x08\x10\x10\0\0.FIT\0\0", "FIT recording; export it as GPX"),
        (b"%PDF-1.7\n", "PDF"),
        (b"\x89PNG\r\n\x1a\n", "picture"),
        (b"SQLite format 3\0", "database"),
        (b"$GPRMC,100000,A,5239.00,N,00039.00,W\r\n", "NMEA"),
        (b'{"type": "FeatureCollection"}', "JSON"),
        (b"time,lat,lon\n10:00,52.6,-0.6\n", "plain text"),
        (b"\x80\x81\x82\x83" * 9, "binary"),
        (b"<!doctype html><p>log in", "web page"),
        (b"<!DOCTYPE html><html><body><br></html>", "web page"),
        (b"<html><body/></html>", "web page"),
        (b'<kml xmlns="urn:k"><Placemark/></kml>', "is KML, not GPX"),
        (b"<TrainingCenterDatabase/>", "is TCX, not GPX"),
        (b"<fixes><trk/></fixes>", r"begins with <fixes>, not GPX: export"),
        (b"<gpx/>", r"no track point \(0 waypoints, 0 route points\)"),
        (b'<gpx><wpt lat="1" lon="2"/></gpx>', r"\(1 waypoint, 0 route points\)"),
        (
            b"<gpx><wpt/><wpt/><rte><rtept/><rtept/></rte><trk><trkseg/></trk></gpx>",
            r"\(2 waypoints, 2 route points\)",
        ),
        (b'<gpx>\n<trk><trkseg>\n<trkpt lat="5', "line 3, before its first track"),
        (
            gpx(track(point(0, 0) * 2 + point(0, 99))).encode(),
            r"\(1 with a latitude beyond the poles, 2 with no satellite fix \(0, 0\)\)",
        ),
        # Defences against entities: W3C XML 1.0, section 4.2 to 4.4, is what they use.
        (
            b'<!DOCTYPE gpx [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]><gpx>&b;</gpx>',
            "document type with contents",
        ),
        (
            b'<!DOCTYPE gpx [<!ENTITY e SYSTEM "file:///etc/hosts">]><gpx>&e;</gpx>',
            "document type with contents",
        ),
        (
            b'<!DOCTYPE gpx [<!ENTITY % p SYSTEM "http://invalid.invalid/x"> %p;]><a/>',
            "document type with contents",
        ),
        (b"<!DOCTYPE gpx SYSTEM 'x' [ ]><gpx/>", "document type with contents"),
        (
            b"<gpx><extensions>"
            + b"<a>" * 100
            + b"</a>" * 100
            + b"</extensions></gpx>",
            "more than 64 deep",
        ),
    ],
)
def test_refusals(data: bytes, match: str) -> None:
    with pytest.raises(TrackError, match=match) as caught:
        read_gpx(data, name="grebe.gpx")
    assert str(caught.value).startswith("grebe.gpx ")


def test_depth_up_to_the_limit() -> None:
    deep = content.DEEPEST - 2
    nest = f"<extensions>{'<a>' * deep}{'</a>' * deep}</extensions>"
    assert same(read_gpx(PLAIN.replace("</gpx>", nest + "</gpx>").encode()))
    deeper = PLAIN.replace("</gpx>", nest.replace("<a></a>", "<a><b/></a>") + "</gpx>")
    with pytest.raises(TrackError, match="more than 64 deep"):
        read_gpx(deeper.encode())


def test_size(monkeypatch: pytest.MonkeyPatch) -> None:
    assert read.MOST_BYTES == 256 * 2**20
    with pytest.raises(TrackError, match="has 257 MB and at most 256 MB are read"):
        read_gpx(bytes(257 * 2**20))
    monkeypatch.setattr(read, "MOST_BYTES", len(PLAIN))
    assert same(read_gpx(PLAIN.encode()))


# ---- any bytes at all


@given(st.binary(max_size=300))
@example(b"<?xml version='1.0' encoding='x-user-defined'?><gpx/>")
@example(b"<?xml version='1.0' encoding='unicode_escape'?><gpx>\\x</gpx>")
def test_any_bytes(data: bytes) -> None:
    check_sane(data, read_gpx)


SEEDS = [
    (DECLARED.format("UTF-8") + gpx('<wpt lat="1" lon="2"/>' + track(minutes(4)))),
    (DECLARED.format("UTF-16") + NAMED),
    "<!DOCTYPE gpx>" + gpx(track(minutes(2), minutes(2)) + "<rte><rtept/></rte>"),
]


SHREDS = [
    *(b"", b"\0", b"<", b">", b"&", b'"', b"nan", b"\xff\xfe", b"<!--", b"<?x"),
    *(b"<![CDATA[", b"<!DOCTYPE g [", b"<trkpt ", b"<wpt>", b"</trkseg>", b"</gpx>"),
]


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_any_change_of_a_file(data: st.DataObject) -> None:
    encoding = data.draw(st.sampled_from(["utf-8", "utf-16", "utf-16-le", "latin-1"]))
    content = data.draw(st.sampled_from(SEEDS)).encode(encoding)
    shreds = st.sampled_from(SHREDS)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content)))
        gone = data.draw(st.integers(0, 40))
        put = data.draw(shreds | st.binary(max_size=6))
        content = content[:at] + put + content[at + gone :]
    check_sane(content, read_gpx)


# ---- against gpxpy

UNREADABLE = {
    "georust__with_accuracy.gpx": "a <fix> that the schema does not list",
    "jpx__ISSUE-86.gpx": "white space in <fix>",
    "jpx__GPX_invalid_extensions.gpx": "a wrong end tag",
}
"""Files that gpxpy refuses as a whole; lxml's recovering parser stands in for it."""

NO_TRACK_POINT = {
    "georust__empty_name_tag.gpx",
    "gpxpy__gpx1.1_with_extensions_without_namespaces.gpx",
    "gpxpy__gpx_with_garmin_extension.gpx",
    "gpxpy__route.gpx",
    "gpxpy__unicode.gpx",
    "gpxpy__unicode_with_bom.gpx",
    "gpxpy__unicode_with_bom_noencoding.gpx",
    "jpx__Austria.gpx",
    "jpx__ISSUE-78.gpx",
    "togeojson__empty_trk.gpx",
    "togeojson__opencpn.gpx",
    "togeojson__trek.gpx",
    "togeojson__trek_no_rtept.gpx",
    "togeojson__wpt.gpx",
}


def files() -> list[Path]:
    """Return the files of others that gpxpy can read."""
    refused = {*UNREADABLE, "togeojson__bad.gpx"}
    paths = [*DATA.glob("odd-files/*.gpx"), *DATA.glob("tracks/*.gpx")]
    return sorted(path for path in paths if path.name not in refused)


def seconds(moment: datetime | None) -> float:
    """Return seconds since 1970; gpxpy leaves a time without a zone naive."""
    if moment is None:
        return NAN
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()


def check_rows(
    recording: Recording, rows: list[tuple[float, float, float, int]]
) -> None:
    fixes = recording.fixes
    lon, lat, time_s, segment = np.array(rows).T
    assert np.allclose(fixes.lon, lon, rtol=0, atol=6e-11)
    assert np.allclose(fixes.lat, lat, rtol=0, atol=6e-11)
    assert np.allclose(fixes.time_s, time_s, rtol=0, atol=5e-4, equal_nan=True)
    assert np.array_equal(fixes.segment, segment)


def rows_of(parsed: gpxpy.gpx.GPX) -> list[tuple[float, float, float, int]]:
    segments = [segment for trk in parsed.tracks for segment in trk.segments]
    return [
        (float(p.longitude), float(p.latitude), seconds(p.time), i)
        for i, segment in enumerate(segments)
        for p in segment.points
    ]


@pytest.mark.parametrize("path", files() or [None], ids=lambda p: p.name if p else "")
def test_files_of_others_read_as_by_gpxpy(path: Path | None) -> None:
    if path is None:
        pytest.skip(f"no files of others under {DATA}")
    content = path.read_bytes()
    parsed = gpxpy.parse(content)
    rows = rows_of(parsed)
    assert (not rows) == (path.name in NO_TRACK_POINT)
    if not rows:
        with pytest.raises(TrackError, match=r"holds no track point \("):
            read_gpx(content)
        return
    recording = read_gpx(content)
    check_rows(recording, rows)
    assert recording.dropped == {}
    assert [(w.lon, w.lat, w.name) for w in recording.waypoints] == [
        (w.longitude, w.latitude, " ".join((w.name or "").split()))
        for w in parsed.waypoints
    ]
    places = [*parsed.waypoints, *(place for place, *_ in parsed.walk())]
    naive = any(place.time and not place.time.tzinfo for place in places)
    assert recording.loose_times == naive


@pytest.mark.parametrize("name", UNREADABLE)
def test_files_that_gpxpy_refuses_read_as_by_lxml(name: str) -> None:
    path = DATA / "odd-files" / name
    if not path.exists():
        pytest.skip(f"no {path}")
    root = etree.fromstring(path.read_bytes(), etree.XMLParser(recover=True))
    rows = []
    for i, segment in enumerate(root.iter("{*}trkseg")):
        for trkpt in segment.iter("{*}trkpt"):
            text = trkpt.findtext("{*}time").strip()
            time_s = datetime.fromisoformat(text).timestamp()
            # One is of 1985, before there was the satellite system.
            time_s = time_s if time_s >= 631152000 else NAN
            rows.append((float(trkpt.get("lon")), float(trkpt.get("lat")), time_s, i))
    assert rows
    check_rows(read_gpx(path.read_bytes()), rows)


def test_a_file_of_others_without_one_usable_position() -> None:
    # gpxpy refuses it: its latitudes are "undefined".
    path = DATA / "odd-files" / "togeojson__bad.gpx"
    if not path.exists():
        pytest.skip(f"no {path}")
    with pytest.raises(TrackError, match=r"\(2 with a position that is not a number\)"):
        read_gpx(path.read_bytes())


# gpxpy writes ten decimals: what they round to 0, 0 or 180 has cases of its own above.
positions = st.tuples(st.floats(-180, 179.9999999), st.floats(-90, 90)).filter(
    lambda place: max(map(abs, place)) > 1e-9
)
moments = st.none() | st.datetimes(datetime(1990, 1, 1), datetime(2100, 12, 31))


@pytest.mark.parametrize("version", ["1.0", "1.1"])
@settings(max_examples=60, deadline=None)
@given(
    segments=st.lists(
        st.lists(st.tuples(positions, moments), min_size=1, max_size=5),
        min_size=1,
        max_size=3,
    )
)
def test_what_gpxpy_writes(
    version: str, segments: list[list[tuple[tuple[float, float], datetime | None]]]
) -> None:
    written = gpxpy.gpx.GPX()
    trk = gpxpy.gpx.GPXTrack()
    written.tracks.append(trk)
    expected = []
    for i, segment in enumerate(segments):
        trk.segments.append(gpxpy.gpx.GPXTrackSegment())
        for (lon, lat), naive in segment:
            moment = naive.replace(tzinfo=UTC) if naive else None
            trk.segments[-1].points.append(
                gpxpy.gpx.GPXTrackPoint(latitude=lat, longitude=lon, time=moment)
            )
            expected.append((lon, lat, seconds(moment), i))
    recording = read_gpx(written.to_xml(version=version).encode())
    check_rows(recording, expected)
