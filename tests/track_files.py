"""Small files of every kind that hold the same ten minutes, written for tests."""

import io
import struct
import zipfile
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

import numpy as np

from sweptwater.tracks.read import Recording

TEN_S = datetime(2027, 6, 8, 10, tzinfo=UTC).timestamp()
COUNT = 10

# The FIT profile counts from here (their public description, from memory).
FIT_EPOCH_S = datetime(1989, 12, 31, tzinfo=UTC).timestamp()
TIME = (253, 4, 0x86)
LAT = (0, 4, 0x85)
LON = (1, 4, 0x85)
Field = tuple[int, int, int]


def clock(i: int) -> str:
    """Return the time of the i-th point of the ten minutes."""
    return f"2027-06-08T10:{i:02d}:00Z"


def lon(i: int) -> float:
    return -0.65 - i / 10_000


def lat(i: int) -> float:
    return 52.65 + i / 10_000


def holds_minutes(recording: Recording, which: Iterable[int] = range(COUNT)) -> bool:
    """Tell whether a recording holds these of the ten minutes and no other."""
    steps = np.array(list(which))
    fixes = recording.fixes
    return (
        np.array_equal(fixes.time_s, TEN_S + 60 * steps)
        # FIT steps by 8e-8 degrees.
        and np.allclose(fixes.lat, 52.65 + steps / 10_000, rtol=0, atol=5e-8)
        and np.allclose(fixes.lon, -0.65 - steps / 10_000, rtol=0, atol=5e-8)
    )


# ---- XML


def gpx(which: Iterable[int] = range(COUNT)) -> str:
    points = "".join(
        f'<trkpt lat="{lat(i):.4f}" lon="{lon(i):.4f}">'
        f"<time>{clock(i)}</time></trkpt>\n"
        for i in which
    )
    return f"<gpx><trk><trkseg>{points}</trkseg></trk></gpx>"


def trackpoints(which: Iterable[int] = range(COUNT)) -> str:
    return "".join(
        f"<Trackpoint><Time>{clock(i)}</Time><Position>"
        f"<LatitudeDegrees>{lat(i):.4f}</LatitudeDegrees>"
        f"<LongitudeDegrees>{lon(i):.4f}</LongitudeDegrees></Position>"
        "<AltitudeMeters>61.2</AltitudeMeters></Trackpoint>\n"
        for i in which
    )


def tcx(*laps: str) -> str:
    """Return TCX of an activity with laps of a track each, by default all in one."""
    inside = "".join(
        f'<Lap StartTime="{clock(0)}"><DistanceMeters>9</DistanceMeters>'
        f"<Track>{lap}</Track></Lap>"
        for lap in laps or (trackpoints(),)
    )
    return (
        "<TrainingCenterDatabase><Activities><Activity Sport='Other'>"
        f"<Id>{clock(0)}</Id>{inside}</Activity></Activities></TrainingCenterDatabase>"
    )


def kml_track(which: Sequence[int] = range(COUNT)) -> str:
    whens = "".join(f"<when>{clock(i)}</when>\n" for i in which)
    coords = "".join(
        f"<gx:coord>{lon(i):.4f} {lat(i):.4f} 61.2</gx:coord>\n" for i in which
    )
    return f"<gx:Track>{whens}{coords}</gx:Track>"


def placemark(inside: str, name: str = "") -> str:
    return f"<Placemark><name>{name}</name>{inside}</Placemark>\n"


def kml(*inside: str) -> str:
    """Return KML of placemarks, by default one with a track of all ten minutes."""
    held = "".join(inside) or placemark(kml_track())
    return f"<kml><Document><name>day</name>{held}</Document></kml>"


# ---- archives


def zipped(**members: bytes) -> bytes:
    """Return a zip archive; names have a double underscore for the dot."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name.replace("__", "."), content)
    return held.getvalue()


# ---- FIT


def fit(*parts: bytes, size: int | None = None) -> bytes:
    """Return a FIT file of messages, without check sums, which are 0 if not known."""
    body = b"".join(parts)
    size = len(body) if size is None else size
    head = struct.pack("<2BHI4sH", 14, 0x20, 2100, size, b".FIT", 0)
    return head + body + b"\0\0"


def definition(
    local: int,
    message: int,
    fields: Sequence[Field] = (TIME, LAT, LON),
    *,
    big: bool = False,
    made_up: Sequence[Field] = (),
) -> bytes:
    head = bytes([0x40 | (0x20 if made_up else 0) | local, 0, big])
    head += struct.pack(">H" if big else "<H", message) + bytes([len(fields)])
    head += b"".join(map(bytes, fields))
    if made_up:
        head += bytes([len(made_up)]) + b"".join(map(bytes, made_up))
    return head


def semicircles(degrees: float) -> int:
    return round(degrees * 2**31 / 180)


def fit_minute(i: int, *, local: int = 0, big: bool = False) -> bytes:
    """Return the record of the i-th point, with time, latitude and longitude."""
    time = int(TEN_S - FIT_EPOCH_S) + 60 * i
    place = semicircles(lat(i)), semicircles(lon(i))
    return bytes([local]) + struct.pack(">Iii" if big else "<Iii", time, *place)


def fit_minutes(which: Iterable[int] = range(COUNT)) -> bytes:
    return b"".join(map(fit_minute, which))
