"""Reading FIT, against fitdecode, which reads sound files only.

Bytes of test files are laid out after the FIT protocol, version 2.0
(its public description, from memory).
"""

import struct
import warnings
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sweptwater.errors import TrackError
from sweptwater.tracks import fit as reader
from sweptwater.tracks import fit_walk
from sweptwater.tracks.check_sum import crc16
from sweptwater.tracks.read import Recording, read_track
from sweptwater.tracks.recording import BEYOND_POLES, NO_POSITION, NO_SATELLITES
from track_files import (
    COUNT,
    FIT_EPOCH_S,
    LAT,
    LON,
    TEN_S,
    TIME,
    definition,
    fit,
    fit_minute,
    fit_minutes,
    holds_minutes,
    lat,
    lon,
    semicircles,
)

DATA = Path(__file__).resolve().parents[2] / "shared" / "data"
RECORD = 20
HEART = (3, 1, 0x02)
NOW = int(TEN_S - FIT_EPOCH_S)
NONE = 0x7FFFFFFF
PLAIN = fit(definition(0, RECORD), fit_minutes())


def read(data: bytes) -> Recording:
    return read_track(data, name="heron.fit")


def place(i: int) -> bytes:
    return struct.pack("<ii", semicircles(lat(i)), semicircles(lon(i)))


def file_id(kind: int) -> bytes:
    return definition(5, 0, [(0, 1, 0x00), (3, 4, 0x8C)]) + struct.pack(
        "<BBI", 5, kind, 123_456
    )


def compressed() -> bytes:
    """Return ten minutes of which all but the first have times of five bits."""
    # These count up to 32 seconds, so events with a full time stand between.
    parts = [definition(0, RECORD), fit_minute(0), definition(1, RECORD, [LAT, LON])]
    parts += [definition(2, 21, [TIME, (0, 1, 0x00)])]
    for i in range(1, COUNT):
        parts += [struct.pack("<BIB", 2, NOW + 60 * i - 20, 0)]
        parts += [bytes([0xA0 | (NOW + 60 * i) & 31]), place(i)]
    return fit(*parts)


ODDITIES = {
    "plain": PLAIN,
    "header of twelve bytes": bytes([12]) + PLAIN[1:12] + PLAIN[14:],
    "big numbers first": fit(
        definition(3, RECORD, big=True),
        *(fit_minute(i, local=3, big=True) for i in range(COUNT)),
    ),
    "other fields between": fit(
        definition(0, RECORD, [HEART, LAT, (2, 2, 0x84), LON, TIME, (5, 4, 0x86)]),
        *(
            struct.pack("<BB", 0, 91)
            + struct.pack(
                "<iHiII",
                *(semicircles(lat(i)), 9, semicircles(lon(i))),
                NOW + 60 * i,
                7,
            )
            for i in range(COUNT)
        ),
    ),
    "fields of an application": fit(
        definition(0, RECORD, made_up=[(0, 3, 0), (1, 2, 0)]),
        *(fit_minute(i) + b"\x01\x40\xff\x80\x13" for i in range(COUNT)),
    ),
    "other messages between": fit(
        file_id(4),
        definition(0, RECORD),
        *(fit_minute(i) + struct.pack("<BBI", 5, 4, i) for i in range(COUNT)),
    ),
    "defined again": fit(
        *(definition(i % 3, RECORD) + fit_minute(i, local=i % 3) for i in range(COUNT))
    ),
    "times in headers": compressed(),
    "zeros after the end": PLAIN + bytes(512),
    "other bytes after the end": PLAIN + b"-- end of card --",
    "two layouts": fit(
        definition(0, RECORD),
        fit_minutes(range(5)),
        definition(1, RECORD, [TIME, LON, LAT]),
        *(
            struct.pack(
                "<BIii", 1, NOW + 60 * i, semicircles(lon(i)), semicircles(lat(i))
            )
            for i in range(5, COUNT)
        ),
    ),
}


@pytest.mark.parametrize("data", ODDITIES.values(), ids=ODDITIES)
def test_oddities_read_like_plain_files(data: bytes) -> None:
    recording = read(data)
    assert holds_minutes(recording)
    assert (recording.kind, recording.dropped, recording.remarks) == ("FIT", {}, ())


def test_files_on_end_are_segments() -> None:
    first = fit(definition(0, RECORD), fit_minutes(range(4)))
    recording = read(
        first
        + fit(definition(1, RECORD), *(fit_minute(i, local=1) for i in range(4, COUNT)))
    )
    assert holds_minutes(recording)
    assert recording.fixes.segment.tolist() == [0] * 4 + [1] * 6


@pytest.mark.parametrize(
    ("latitude", "longitude", "reason"),
    [
        (NONE, NONE, NO_POSITION),
        (NONE, 5, NO_POSITION),
        (0, 0, NO_SATELLITES),
        (2**30 + 1, 0, BEYOND_POLES),
        (-(2**31), 0, BEYOND_POLES),
    ],
)
def test_points_that_are_nowhere(latitude: int, longitude: int, reason: str) -> None:
    bad = struct.pack("<BIii", 0, NOW, latitude, longitude)
    recording = read(fit(definition(0, RECORD), bad, fit_minutes(), bad))
    assert holds_minutes(recording)
    assert recording.dropped == {reason: 2}


def test_records_without_a_position_are_dropped() -> None:
    within = definition(1, RECORD, [TIME, HEART]) + struct.pack("<BIB", 1, NOW, 90)
    recording = read(fit(definition(0, RECORD), fit_minutes(), within))
    assert holds_minutes(recording)
    assert recording.dropped == {NO_POSITION: 1}


def test_the_ends_of_the_earth() -> None:
    # 2^31 units are 180 degrees, so the poles are at 2^30.
    ends = [(2**30, -(2**31)), (-(2**30), 2**31 - 2)]
    records = [struct.pack("<BIii", 0, NOW, *end) for end in ends]
    fixes = read(fit(definition(0, RECORD), *records)).fixes
    assert fixes.lat.tolist() == [90, -90]
    assert fixes.lon.tolist() == [-180, (2**31 - 2) * 180 / 2**31]


@pytest.mark.parametrize(
    ("time", "remark"),
    [
        (0xFFFFFFFF, "1 fix of 11 without a time"),  # not valid
        (0, "1 time was before 1990 or after 2100, like '1970-01-01T00:00:00Z'"),
        # Smaller than 0x10000000: seconds since the device was switched on.
        (0x0FFFFFFF, "1 time was before 1990 or after 2100"),
        (0xFFFFFFFE, "1 time was before 1990 or after 2100, like '2126-"),
    ],
)
def test_clocks_that_were_not_set(time: int, remark: str) -> None:
    bad = struct.pack("<BI", 0, time) + place(1)
    recording = read(fit(definition(0, RECORD), fit_minutes(), bad))
    assert np.isnan(recording.fixes.time_s[-1])
    assert recording.remarks[0].startswith(remark)


def test_times_of_five_bits_without_a_full_one_before() -> None:
    data = fit(definition(0, RECORD, [LAT, LON]), b"\x85" + place(1))
    assert read(data).remarks == ("no fix has a time",)


def test_a_course_was_planned() -> None:
    data = fit(file_id(6), definition(0, RECORD), fit_minutes())
    with pytest.raises(
        TrackError, match=r"^heron\.fit is a planned course of 10 point"
    ):
        read(data)
    assert holds_minutes(read(data + PLAIN))


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (fit(), "is damaged at byte 14, before its first record"),
        (fit(file_id(4)), "holds no record of where it was"),
        (fit(b"\x03"), "is damaged at byte 14, before its first record"),
        (fit(definition(0, RECORD))[:20], "is damaged at byte 14, before its first"),
        (
            fit(definition(0, RECORD), struct.pack("<BIii", 0, NOW, NONE, NONE)),
            r"usable position \(1 with no position\): look whether",
        ),
        (fit()[:12], "is damaged at byte 12"),
        (b"\x0e" + bytes(7) + b".FIT", "is damaged at byte 12"),
        (b"\x0b" + fit()[1:], "is not GPX, FIT, TCX, KML or KMZ"),
    ],
)
def test_refusals(data: bytes, match: str) -> None:
    with pytest.raises(TrackError, match=match) as caught:
        read(data)
    assert str(caught.value).startswith("heron.fit ")


# ---- broken files


def test_a_file_cut_anywhere_keeps_what_is_complete() -> None:
    size = len(fit_minute(0))
    start = PLAIN.index(fit_minute(0))
    for length in range(12, len(PLAIN) - 2):
        complete = (length - start) // size
        if complete > 0:
            recording = read(PLAIN[:length])
            assert holds_minutes(recording, range(complete)), length
            assert recording.remarks[0].startswith("the file breaks off at byte ")
        else:
            with pytest.raises(TrackError, match="is damaged at byte"):
                read(PLAIN[:length])


def test_a_file_that_was_never_closed() -> None:
    # As after a dead battery: the header says that nothing follows.
    data = fit(definition(0, RECORD), fit_minutes(), size=0)[:-2]
    recording = read(data)
    assert holds_minutes(recording)
    assert recording.remarks[0].startswith(f"the file breaks off at byte {len(data)} ")


def test_a_file_that_says_it_is_shorter() -> None:
    head = definition(0, RECORD) + fit_minutes(range(5))
    recording = read(fit(head, fit_minutes(range(5, COUNT)), size=len(head)))
    # The last has no message after it that would prove it.
    assert holds_minutes(recording)
    assert "the file is damaged at byte" in recording.remarks[0]


@pytest.mark.parametrize(
    ("gone", "put", "kept"),
    [
        # From within the fourth record to within the sixth.
        (slice(3 * 13 + 6, 5 * 13 + 5), b"", [0, 1, 2, 6, 7, 8, 9]),
        (slice(3 * 13 + 6, 5 * 13 + 6), b"\xff" * 26, [0, 1, 2, 6, 7, 8, 9]),
        (slice(3 * 13 + 6, 5 * 13 + 6), b"\xff" * 9, [0, 1, 2, 6, 7, 8, 9]),
        (slice(3 * 13, 3 * 13), b"\x0f", [0, 1, 3, 4, 5, 6, 7, 8, 9]),
    ],
)
def test_a_hole_costs_the_records_in_it(
    gone: slice, put: bytes, kept: list[int]
) -> None:
    records = bytearray(fit_minutes())
    records[gone] = put
    recording = read(fit(definition(0, RECORD), bytes(records)))
    wanted = {TEN_S + 60 * i for i in kept}
    sure = np.isin(recording.fixes.time_s, list(wanted))
    assert wanted == set(recording.fixes.time_s[sure])
    assert sure.sum() >= len(recording.fixes) - 1
    assert "the file is damaged at byte" in recording.remarks[0]


def test_damage_everywhere_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fit_walk, "MOST_PLACES", 3)
    pairs = [fit_minute(i) + fit_minute(i + 1) + b"\x0f" for i in range(0, COUNT, 2)]
    recording = read(fit(definition(0, RECORD), *pairs))
    assert len(recording.fixes) == 3
    assert "in 2 other places" in recording.remarks[0]


def test_too_much(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(TrackError, match="has 33 MB and of FIT at most 32 MB are read"):
        read(PLAIN + bytes(33 * 2**20 - len(PLAIN)))
    monkeypatch.setattr(fit_walk, "MOST_POINTS", COUNT)
    assert holds_minutes(read(PLAIN))
    with pytest.raises(TrackError, match="more than 10 track points"):
        read(fit(definition(0, RECORD), fit_minutes(), fit_minute(0)))
    monkeypatch.setattr(fit_walk, "MOST_LAYOUTS", 1)
    with pytest.raises(TrackError, match="more than 1 ways"):
        read(fit(definition(0, RECORD), definition(0, RECORD, [TIME, HEART])))


@pytest.mark.parametrize(
    "fields",
    [
        [],
        [TIME, LAT, (1, 0, 0x85)],  # a field of no bytes
        [TIME, LAT, (1, 4, 0x25)],  # a type with reserved bits
    ],
)
def test_definitions_that_cannot_be(fields: list[tuple[int, int, int]]) -> None:
    data = fit(definition(0, RECORD), fit_minutes(), definition(0, RECORD, fields))
    recording = read(data)
    assert "the file is damaged at byte" in recording.remarks[0]
    odd = bytearray(fit(definition(0, RECORD)))
    odd[16] = 2  # an order of bytes that is none
    with pytest.raises(TrackError, match="is damaged at byte 14"):
        read(bytes(odd))


def summed(data: bytes) -> bytes:
    """Return a FIT file with its check sum, which fitdecode computes."""
    fitdecode = pytest.importorskip("fitdecode")
    return data[:-2] + struct.pack("<H", fitdecode.utils.compute_crc(data[:-2]))


@pytest.mark.parametrize("where", [2, 40, -20, -1])
def test_a_wrong_check_sum_is_told(where: int) -> None:
    data = summed(PLAIN)
    assert read(data).remarks == ()
    assert read(data + data).remarks[0].startswith("the times run back")
    flipped = bytearray(data)
    flipped[where] ^= 4
    recording = read(bytes(flipped))
    assert "the check sum of the file is wrong, so something" in recording.remarks[0]
    assert "the check sum" in read(data + bytes(flipped)).remarks[0]


@given(st.binary(min_size=1, max_size=5000))
def test_check_sums_agree_with_fitdecode(data: bytes) -> None:
    fitdecode = pytest.importorskip("fitdecode")
    assert crc16(data) == fitdecode.utils.compute_crc(data)


# ---- against fitdecode


def rows_of(data: bytes) -> list[list[float]]:
    """Return times, latitudes and longitudes that fitdecode finds, NaN if missing."""
    fitdecode = pytest.importorskip("fitdecode")
    rows = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with fitdecode.FitReader(data) as frames:
            for frame in frames:
                if (
                    frame.frame_type == fitdecode.FIT_FRAME_DATA
                    and frame.name == "record"
                ):
                    time, *place = (
                        frame.get_value(field, fallback=None)
                        for field in ("timestamp", "position_lat", "position_long")
                    )
                    degrees = [
                        np.nan if units is None else units * 180 / 2**31
                        for units in place
                    ]
                    rows.append([time.timestamp() if time else np.nan, *degrees])
    return rows


def files() -> list[Path]:
    return sorted(DATA.glob("tracks/*.fit"))


@pytest.mark.parametrize("path", files() or [None], ids=lambda p: p.name if p else "")
def test_files_of_others_read_as_by_fitdecode(path: Path | None) -> None:
    if path is None:
        pytest.skip(f"no files of others under {DATA}")
    check_as_fitdecode(path.read_bytes())


def check_as_fitdecode(data: bytes) -> None:
    recording = read(data)
    rows = np.array(rows_of(data))
    placed = rows[np.isfinite(rows[:, 1:]).all(axis=1)]
    fixes = recording.fixes
    assert np.array_equal(fixes.time_s, placed[:, 0], equal_nan=True)
    assert np.allclose(fixes.lat, placed[:, 1], rtol=0, atol=1e-9)
    assert np.allclose(fixes.lon, placed[:, 2], rtol=0, atol=1e-9)
    assert recording.dropped.get(NO_POSITION, 0) == len(rows) - len(placed)


@pytest.mark.parametrize("name", ODDITIES)
def test_oddities_read_as_by_fitdecode(name: str) -> None:
    if "bytes after" in name or "zeros after" in name:
        pytest.skip("fitdecode reads nothing of these")
    check_as_fitdecode(ODDITIES[name])


values = st.integers(0x10000000, 0xD0000000)
units = st.integers(-(2**30), 2**30).filter(bool)
more = st.lists(
    # Numbers that the profile leaves free: on some that it knows fitdecode fails.
    st.tuples(st.integers(200, 250), st.integers(1, 9), st.sampled_from([0, 2, 7, 13])),
    max_size=4,
    unique_by=lambda field: field[0],
)


@settings(max_examples=60, deadline=None)
@given(data=st.data(), big=st.booleans(), fields=more)
def test_any_layout_reads_as_by_fitdecode(
    data: st.DataObject, big: bool, fields: list[tuple[int, int, int]]
) -> None:
    layout = data.draw(st.permutations([TIME, LAT, LON, *fields]))
    body = definition(7, RECORD, layout, big=big)
    for _ in range(data.draw(st.integers(1, 4))):
        body += b"\x07"
        for number, width, _ in layout:
            if number == TIME[0]:
                body += struct.pack(">I" if big else "<I", data.draw(values))
            elif number < 2:
                body += struct.pack(">i" if big else "<i", data.draw(units))
            else:
                body += b"\1" * width
    check_as_fitdecode(fit(body))


# ---- what is none of a captain's business


def test_only_records_are_looked_at() -> None:
    # What the reader gives is the same whatever else the file says of its wearer.
    fields = [(0, 16, 0x07), (1, 4, 0x8C)]
    profile = definition(9, 3, fields)
    for told in (b"Heron's own watch", bytes(17)):
        wearer = profile + b"\x09" + told[:16] + struct.pack("<I", 99)
        recording = read(fit(file_id(4), wearer, definition(0, RECORD), fit_minutes()))
        assert holds_minutes(recording)
        assert "Heron" not in repr(recording)
    assert reader.MOST_BYTES == 32 * 2**20
