"""Reading KML, against lxml and GDAL's reader.

What elements mean: OGC KML 2.3 (12-007r2, from memory), of which gx:Track is the older
spelling of Track; GDAL's LIBKML driver keeps of a track's times the first and the last.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pyogrio
import pytest

from promises import check_cut_anywhere
from sweptwater.errors import TrackError
from sweptwater.tracks import content
from sweptwater.tracks.read import read_track
from sweptwater.tracks.recording import NO_NUMBER, NO_POSITION
from track_files import (
    COUNT,
    TEN_S,
    clock,
    holds_minutes,
    kml,
    kml_track,
    lat,
    lon,
    placemark,
    zipped,
)

PLAIN = kml()


def tuples(which: range = range(COUNT)) -> str:
    return " ".join(f"{lon(i):.4f},{lat(i):.4f},61.2" for i in which)


def marked(i: int, time: str) -> str:
    stamp = f"<TimeStamp><when>{time}</when></TimeStamp>" if time else ""
    where = f"<Point><coordinates>{tuples(range(i, i + 1))}</coordinates></Point>"
    return placemark(stamp + where, f"at {i}")


def interleaved() -> str:
    pairs = "".join(
        f"<when>{clock(i)}</when><gx:coord>{lon(i):.4f} {lat(i):.4f}</gx:coord>"
        for i in range(COUNT)
    )
    return placemark(f"<gx:Track>{pairs}</gx:Track>")


ODDITIES = {
    "plain": PLAIN,
    "namespaces": PLAIN.replace(
        "<kml>",
        '<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="urn:example:gx">',
    ),
    "KML 2.3": PLAIN.replace("gx:", ""),
    "prefix": PLAIN.replace("gx:", "")
    .replace("</", "</k:")
    .replace("<", "<k:")
    # Closing tags were met twice.
    .replace("<k:/k:", "</k:"),
    "each time beside its place": kml(interleaved()),
    "several tracks in one": kml(
        placemark(
            f"<gx:MultiTrack>{kml_track(range(4))}{kml_track(range(4, 10))}"
            "</gx:MultiTrack>"
        )
    ),
    "folders": kml(f"<Folder><Folder>{placemark(kml_track())}</Folder></Folder>"),
    "in a shape of several": kml(
        placemark(f"<MultiGeometry>{kml_track()}</MultiGeometry>")
    ),
    "a place a fix": kml(*(marked(i, clock(i)) for i in range(COUNT))),
    "white space in tuples": kml(*(marked(i, clock(i)) for i in range(COUNT))).replace(
        "<coordinates>", "<coordinates>\n\t "
    ),
    "data of other origin": PLAIN.replace(
        "</gx:Track>",
        "<ExtendedData><when>noon</when><gx:coord>1 1</gx:coord></ExtendedData>"
        "</gx:Track>",
    ),
    "without a document": PLAIN.replace("<Document>", "").replace("</Document>", ""),
}


@pytest.mark.parametrize("text", ODDITIES.values(), ids=ODDITIES)
def test_oddities_read_like_plain_files(text: str) -> None:
    recording = read_track(text.encode(), name="heron.kml")
    assert holds_minutes(recording)
    assert (recording.kind, recording.dropped, recording.remarks) == ("KML", {}, ())


def test_kmz() -> None:
    packed = zipped(doc__kml=PLAIN.encode(), photo__jpg=b"\xff\xd8\xff")
    recording = read_track(packed, name="heron.kmz")
    assert holds_minutes(recording)
    assert (recording.kind, recording.remarks) == ("KML", ())


def test_tracks_are_segments() -> None:
    text = kml(placemark(kml_track(range(2)) + "<gx:Track/>" + kml_track(range(2, 4))))
    assert read_track(text.encode(), name="x").fixes.segment.tolist() == [0, 0, 2, 2]


def test_places_beside_a_track_are_waypoints() -> None:
    text = kml(marked(3, clock(3)), placemark(kml_track()), marked(4, ""))
    recording = read_track(text.encode(), name="x")
    assert holds_minutes(recording)
    first, second = recording.waypoints
    assert (first.name, first.lon, first.lat) == ("at 3", lon(3), lat(3))
    assert first.time_s == TEN_S + 180
    assert second.name == "at 4"
    assert np.isnan(second.time_s)


def test_untimed_places_beside_timed_ones_are_waypoints() -> None:
    text = kml(marked(0, clock(0)), marked(7, ""), marked(1, clock(1)))
    recording = read_track(text.encode(), name="x")
    assert holds_minutes(recording, range(2))
    assert [mark.name for mark in recording.waypoints] == ["at 7"]


def test_places_without_end() -> None:
    marks = marked(0, "") * (content.MOST_MARKS + 2)
    recording = read_track(kml(placemark(kml_track()), marks).encode(), name="x")
    assert len(recording.waypoints) == content.MOST_MARKS
    assert recording.remarks == ("2 waypoints were left out as too many",)


def line(which: range = range(COUNT)) -> str:
    coordinates = f"<coordinates>\n{tuples(which)}\n</coordinates>"
    return placemark(f"<LineString>{coordinates}</LineString>")


def test_lines_are_tracks_without_times_like_those_of_gpx() -> None:
    recording = read_track(kml(line(range(4)), line(range(4, 10))).encode(), name="x")
    assert np.allclose(recording.fixes.lon, [lon(i) for i in range(COUNT)], atol=1e-9)
    assert np.allclose(recording.fixes.lat, [lat(i) for i in range(COUNT)], atol=1e-9)
    assert recording.fixes.segment.tolist() == [0] * 4 + [1] * 6
    assert recording.remarks == ("no fix has a time",)


def test_lines_beside_times_are_left_out() -> None:
    recording = read_track(kml(line(), placemark(kml_track())).encode(), name="x")
    assert holds_minutes(recording)
    assert recording.remarks == (
        "1 line was left out (10 points): only what has times was taken",
    )


def test_long_lines_are_read_in_pieces() -> None:
    count = 30_000
    coordinates = " ".join(f"{i / 1000:.3f},52.5" for i in range(1, count + 1))
    text = kml(
        placemark(f"<LineString><coordinates>{coordinates}</coordinates></LineString>")
    )
    fixes = read_track(text.encode(), name="x").fixes
    assert np.allclose(fixes.lon, np.arange(1, count + 1) / 1000, rtol=0, atol=1e-9)


def test_an_endless_tuple_ends() -> None:
    text = line().replace("</coordinates>", " " + "1" * 10**6 + " 1,2</coordinates>")
    recording = read_track(kml(text).encode(), name="x")
    assert recording.dropped == {NO_POSITION: 1}
    assert len(recording.fixes) == COUNT + 1


@pytest.mark.parametrize(
    ("coord", "reason"),
    [("", NO_POSITION), ("1", NO_POSITION), ("-0,6,5 52,65 9", NO_NUMBER)],
)
def test_points_that_are_nowhere(coord: str, reason: str) -> None:
    # A missing value is an empty element (KML 2.3, 9.23).
    place = f"<gx:coord>{lon(3):.4f} {lat(3):.4f} 61.2</gx:coord>"
    text = PLAIN.replace(place, f"<gx:coord>{coord}</gx:coord>")
    recording = read_track(text.encode(), name="x")
    assert holds_minutes(recording, [i for i in range(COUNT) if i != 3])
    assert recording.dropped == {reason: 1}


def test_commas_for_points_are_understood_where_no_other_comma_is() -> None:
    text = PLAIN.replace("-0.", "-0,").replace(" 52.", " 52,")
    assert holds_minutes(read_track(text.encode(), name="x"))
    # "-0,65,52,65" would else be a place off Norway.
    text = kml(marked(0, clock(0)), marked(1, clock(1)).replace(".", ","))
    recording = read_track(text.encode(), name="x")
    assert holds_minutes(recording, [0])
    assert recording.dropped == {NO_NUMBER: 1}


def test_times_that_do_not_pair_are_not_trusted() -> None:
    text = PLAIN.replace(f"<when>{clock(3)}</when>\n", "")
    recording = read_track(text.encode(), name="x")
    assert len(recording.fixes) == COUNT
    assert np.isnan(recording.fixes.time_s).all()
    assert recording.remarks[0].startswith("1 track was without as many times as place")


def test_shapes_are_no_tracks() -> None:
    ring = f"<outerBoundaryIs><coordinates>{tuples()}</coordinates></outerBoundaryIs>"
    text = kml(placemark(f"<Polygon>{ring}</Polygon>"), marked(1, ""))
    with pytest.raises(
        TrackError, match=r"^x holds no track point \(1 waypoint, 0 rou"
    ):
        read_track(text.encode(), name="x")


# ---- broken files


def test_a_file_cut_anywhere_keeps_what_is_complete() -> None:
    check_cut_anywhere(PLAIN.encode(), b"</gx:coord>")


def test_a_file_of_places_cut_anywhere_keeps_what_is_complete() -> None:
    data = kml(*(marked(i, clock(i)) for i in range(COUNT))).encode()
    for length in range(200, len(data), 7):
        cut = data[:length]
        complete = cut.count(b"</coordinates>")
        recording = read_track(cut, name="x") if complete else None
        assert recording is None or holds_minutes(recording, range(complete))


DAMAGED = {
    "bare ampersand in the name": kml(placemark(kml_track(), "Heron & Co")),
    "bare ampersand in folders": kml(
        f"<Folder><name>&</name><Folder>{placemark(kml_track())}</Folder></Folder>"
    ),
    "between tracks": kml(
        placemark(kml_track(range(4))), "\1", placemark(kml_track(range(4, 10)))
    ),
    "head overwritten": "\0" * 9 + PLAIN[9:],
    "among places": kml(
        *(marked(i, clock(i)) for i in range(4)),
        "<b>&</b>",
        *(marked(i, clock(i)) for i in range(4, 10)),
    ),
}


@pytest.mark.parametrize("text", DAMAGED.values(), ids=DAMAGED)
def test_damage_beside_the_points_costs_none(text: str) -> None:
    recording = read_track(text.encode(), name="x")
    assert holds_minutes(recording)
    assert recording.remarks[0].startswith("the file is damaged at line")
    assert "other place" not in recording.remarks[0]


def test_damage_in_a_track_costs_its_rest() -> None:
    half = kml_track(range(5))
    text = kml(placemark(half.replace(f"{lon(3):.4f} ", "\1")), marked(9, clock(9)))
    recording = read_track(text.encode(), name="x")
    assert holds_minutes(recording, range(3))
    assert "at least 2 track points were lost" in recording.remarks[0]


# ---- against GDAL


def test_places_with_times_read_as_by_gdal(tmp_path: Path) -> None:
    if "LIBKML" not in pyogrio.list_drivers():
        pytest.skip("this GDAL is without LIBKML")
    times = [clock(0), "2027-06-08T12:01:00+02:00", "2027-06-08T10:02:00.5Z"]
    text = kml(*(marked(i, time) for i, time in enumerate(times)))
    path = tmp_path / "heron.kml"
    path.write_text(ODDITIES["namespaces"].split("<Document>")[0] + text[5:])
    frame = pyogrio.read_dataframe(path)
    fixes = read_track(path.read_bytes(), name="x").fixes
    assert np.allclose(frame.geometry.x, fixes.lon, rtol=0, atol=1e-12)
    assert np.allclose(frame.geometry.y, fixes.lat, rtol=0, atol=1e-12)
    moments = pd.to_datetime(frame["timestamp"], utc=True)
    since = (moments - pd.Timestamp(0, tz="UTC")).dt.total_seconds()
    assert np.allclose(since, fixes.time_s, rtol=0, atol=1e-3)
