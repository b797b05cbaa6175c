"""Opening archives; what is packed in them is written by Python's zipfile and gzip."""

import gzip
import io
import zipfile

import pytest

from sweptwater.errors import TrackError
from sweptwater.tracks import archive, read
from sweptwater.tracks.read import Recording, read_track
from track_files import (
    COUNT,
    definition,
    fit,
    fit_minutes,
    gpx,
    holds_minutes,
    kml,
    tcx,
    zipped,
)

GPX = gpx().encode()
FIT = fit(definition(0, 20), fit_minutes())
DAMAGED = "the archive is damaged: what could be unpacked of it was read"


def opened(data: bytes) -> Recording:
    return read_track(data, name="heron.kmz")


def packed(method: int, content: bytes = GPX) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", method) as made:
        made.writestr("heron.gpx", content)
    return held.getvalue()


def unseekable() -> bytes:
    """Return an archive with sizes after its members, as programs write to a pipe."""

    class Pipe(io.BytesIO):
        def seekable(self) -> bool:
            return False

    held = Pipe()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("heron.gpx", GPX)
    return held.getvalue()


def shadowed() -> bytes:
    """Return an archive as macOS makes it, with a shadow of its track."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("day/heron.gpx", GPX)
        made.writestr("__MACOSX/day/._heron.gpx", b"\0\5\x16\7")
    return held.getvalue()


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (gzip.compress(GPX), "GPX"),
        (gzip.compress(FIT), "FIT"),
        (zipped(heron__gpx=GPX), "GPX"),
        (zipped(heron__FIT=FIT, notes__txt=b"-"), "FIT"),
        (zipped(heron__tcx=tcx().encode()), "TCX"),
        (zipped(doc__kml=kml().encode(), other__kml=b"<kml/>"), "KML"),
        # Whatever its name says.
        (zipped(heron__kml=FIT), "FIT"),
        (packed(zipfile.ZIP_STORED), "GPX"),
        (unseekable(), "GPX"),
        (shadowed(), "GPX"),
    ],
)
def test_archives(data: bytes, kind: str) -> None:
    recording = opened(data)
    assert holds_minutes(recording)
    assert (recording.kind, recording.remarks) == (kind, ())


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (
            zipped(a__gpx=GPX, b__fit=FIT),
            "that holds 2 tracks, such as a.gpx, b.fit: un",
        ),
        (zipped(a__txt=GPX), "is a zip archive without a track in it: unpack"),
        (zipped(), "is not GPX, FIT, TCX, KML or KMZ"),
        (zipped(a__gpx=zipped(a__gpx=GPX)), "zip archive within which is another"),
        (zipped(a__kmz=zipped(a__gpx=GPX)), "zip archive within which is another"),
        (gzip.compress(zipped(a__gpx=GPX)), "gzip file within which is another"),
        (gzip.compress(gzip.compress(GPX)), "gzip file within which is another"),
        (gzip.compress(b"", mtime=0), "of which nothing can be unpacked"),
        (b"PK\3\4", "is a zip archive of which nothing can be unpacked"),
        (b"\x1f\x8b\x08", "is a gzip file of which nothing can be unpacked"),
        (
            gzip.compress(b"lat,lon", mtime=0),
            "is not GPX, FIT, TCX, KML or KMZ; it looks like pl",
        ),
        (packed(zipfile.ZIP_BZIP2), "is packed in an unusual way: unpack it first"),
        (packed(zipfile.ZIP_LZMA), "is packed in an unusual way: unpack it first"),
        (zipped(a__gpx=b" "), "is empty"),
    ],
)
def test_refusals(data: bytes, match: str) -> None:
    with pytest.raises(TrackError, match=match) as caught:
        opened(data)
    assert str(caught.value).startswith("heron.kmz ")


def test_locked_archives() -> None:
    data = bytearray(zipped(heron__gpx=GPX))
    # APPNOTE 4.4.4: bit 0 of the flags, in the header and in the list of members.
    data[6] |= 1
    data[data.index(b"PK\1\2") + 8] |= 1
    with pytest.raises(TrackError, match="is locked with a password: unpack it first"):
        opened(bytes(data))


def test_too_many_members() -> None:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as made:
        for i in range(archive.MOST_MEMBERS + 1):
            made.writestr(f"{i}.gpx", b"")
    with pytest.raises(TrackError, match="zip archive of more than 2,000 files"):
        opened(held.getvalue())


@pytest.mark.parametrize("pack", [gzip.compress, lambda held: zipped(a__gpx=held)])
def test_bombs_are_counted_while_they_unpack(
    pack: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert callable(pack)
    monkeypatch.setattr(read, "MOST_BYTES", 2**20)
    with pytest.raises(TrackError, match="unpacks to more than 1 MB, the most that is"):
        opened(pack(b"<gpx>" + bytes(2 * 2**20)))
    bomb = bytearray(pack(bytes(2 * 2**20)))
    # Sizes that lie: APPNOTE 4.3.7 and 4.3.12, RFC 1952 at the end.
    for mark, offset in ((b"PK\3\4", 22), (b"PK\1\2", 24)):
        if mark in bomb:
            at = bomb.index(mark) + offset
            bomb[at : at + 4] = b"\5\0\0\0"
    with pytest.raises(TrackError, match="unpacks to more than 1 MB"):
        opened(bytes(bomb))


# ---- broken archives


@pytest.mark.parametrize(
    "whole",
    [
        gzip.compress(GPX, 1),
        zipped(heron__gpx=GPX),
        packed(zipfile.ZIP_STORED),
        unseekable(),
    ],
    ids=["gzip", "deflated", "stored", "sizes after"],
)
def test_an_archive_cut_anywhere_gives_the_start_of_its_track(whole: bytes) -> None:
    kept = []
    for length in range(4, len(whole) - 4, 3):
        try:
            recording = opened(whole[:length])
        except TrackError:
            kept.append(0)
            continue
        kept.append(len(recording.fixes))
        assert holds_minutes(recording, range(kept[-1]))
        assert recording.remarks[0] == DAMAGED
    assert kept == sorted(kept)
    assert kept[-1] == COUNT


def test_a_track_that_is_not_what_was_packed() -> None:
    data = packed(zipfile.ZIP_STORED).replace(b"52.6500", b"52.6600")
    recording = opened(data)
    assert recording.remarks == (DAMAGED,)
    check = bytearray(gzip.compress(GPX))
    check[-8] ^= 1
    recording = opened(bytes(check))
    assert holds_minutes(recording)
    assert recording.remarks == (DAMAGED,)
