"""What a file is, its contents say, whatever its name ends with."""

import pytest

from sweptwater.errors import TrackError
from sweptwater.practice.originals import SUFFIXES
from sweptwater.tracks.read import read_gpx, read_track
from track_files import (
    definition,
    fit,
    fit_minutes,
    gpx,
    holds_minutes,
    kml,
    tcx,
    zipped,
)

FILES = {
    ".gpx": gpx().encode(),
    ".fit": fit(definition(0, 20), fit_minutes()),
    ".tcx": tcx().encode(),
    ".kml": kml().encode(),
    ".kmz": zipped(doc__kml=kml().encode()),
}


def test_there_is_a_reader_for_each_suffix() -> None:
    assert tuple(FILES) == SUFFIXES


@pytest.mark.parametrize("named", SUFFIXES)
@pytest.mark.parametrize("real", SUFFIXES)
def test_contents_count(real: str, named: str) -> None:
    recording = read_track(FILES[real], name=f"heron{named}")
    assert holds_minutes(recording)
    assert recording.remarks == ()
    assert recording.kind == real[1:].upper().replace("KMZ", "KML")


def test_xml_that_fakes_the_signature_of_fit() -> None:
    data = FILES[".gpx"].replace(b"<gpx>", b'<gpx n=".FIT">')
    assert data[8:12] == b".FIT"
    assert holds_minutes(read_track(data, name="heron"))


@pytest.mark.parametrize("kind", [".gpx", ".tcx", ".kml"])
@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_encodings(kind: str, encoding: str) -> None:
    recording = read_track(FILES[kind].decode().encode(encoding), name="heron")
    assert holds_minutes(recording)
    assert recording.remarks == ()


@pytest.mark.parametrize("named", SUFFIXES)
@pytest.mark.parametrize(
    ("data", "match"),
    [
        (b"", "is empty: copy it again"),
        (
            bytes(5000),
            "GPX, FIT, TCX, KML or KMZ; it looks like nothing but zero bytes",
        ),
        (b"%PDF-1.7\n", "is not GPX, FIT, TCX, KML or KMZ; it looks like a PDF"),
        (b"time,lat,lon\n", "is not GPX, FIT, TCX, KML or KMZ; it looks like plain te"),
        (
            b"$GPRMC,100000,A\r\n",
            "KML or KMZ; it looks like a log of NMEA sentences; e",
        ),
        (b'{"type": "Point"}', "GPX, FIT, TCX, KML or KMZ; it looks like JSON; export"),
        (
            b"<html><body/></html>",
            "is a web page, not GPX, TCX or KML: export the track",
        ),
        (
            b"<fixes/>",
            "begins with <fixes>, not GPX, TCX or KML: export the track as on",
        ),
    ],
)
def test_what_is_no_track_is_told_what_would_be(
    data: bytes, match: str, named: str
) -> None:
    with pytest.raises(TrackError, match=match) as caught:
        read_track(data, name=f"heron{named}")
    assert str(caught.value).startswith(f"heron{named} is ")


@pytest.mark.parametrize("kind", [".fit", ".tcx", ".kml", ".kmz"])
def test_gpx_alone_where_that_is_asked_for(kind: str) -> None:
    with pytest.raises(TrackError, match=r"as GPX|unpack it first"):
        read_gpx(FILES[kind])
    assert holds_minutes(read_gpx(FILES[".gpx"]))
