"""Archives that hold one track: zip, of which KMZ is one, and gzip.

Nothing that they say of themselves is trusted: sizes are counted while unpacking, what
is packed within is not unpacked again, and of a broken archive what can be had is.

References
----------
PKWARE APPNOTE 6.3, sections 4.3.7 and 4.4.4: the header of a member. OGC KML 2.3
(12-007r2), annex C: the KML of a KMZ is its doc.kml. RFC 1951, 1952: deflate and gzip.
"""

import io
import struct
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from sweptwater.errors import TrackError
from sweptwater.practice.originals import SUFFIXES
from sweptwater.tracks.sniff import GZIP, ZIP, is_packed

MOST_MEMBERS = 2_000
"""Archives with more members are refused."""

_LISTED = b"PK\1\2"
_HEADER = struct.Struct("<4s2xHH8xI4xHH")
_ENCRYPTED, _SIZE_FOLLOWS = 1, 8
_ADVICE = "unpack it and add the track that you want"
_RAW, _GZIPPED = -15, 31
_CHUNK = 2**12
_CHECK = 8
_BROKEN = (
    BadZipFile,
    EOFError,
    NotImplementedError,
    OSError,
    OverflowError,
    RuntimeError,
    ValueError,
    struct.error,
    zlib.error,
)
"""What comes of unpacking damaged archives."""


@dataclass(frozen=True, slots=True)
class Unpacked:
    """What an archive held, and whether that is all of it."""

    content: bytes
    whole: bool


def unpacked(data: bytes, *, name: str, most_bytes: int) -> Unpacked:
    """Return the one track that an archive holds.

    Parameters
    ----------
    data
        The archive, for which `is_packed` holds.
    name
        What to call it in errors.
    most_bytes
        How much it may unpack to.

    Raises
    ------
    TrackError
        If it holds no track or several, another archive, too much, or is broken from
        its start.
    """
    kind = "gzip file" if data.startswith(GZIP) else "zip archive"
    source = _zipped(data, name) if kind[0] == "z" else _inflated(data, _GZIPPED)
    content = bytearray()
    whole = False
    try:
        for piece in source:
            content += piece
            if len(content) > most_bytes:
                raise TrackError(
                    f"{name} unpacks to more than {most_bytes / 2**20:,.0f} MB, the "
                    "most that is read: export one day at a time"
                )
        whole = True
    except TrackError:
        raise
    except _BROKEN:
        pass  # what came until then counts
    if not content:
        raise TrackError(
            f"{name} is a {kind} of which nothing can be unpacked: copy it again from "
            "the device"
        )
    held = Unpacked(bytes(content), whole)
    if is_packed(held.content):
        raise TrackError(f"{name} is a {kind} within which is another: unpack it first")
    return held


def _inflated(data: bytes | memoryview, form: int) -> Iterator[bytes]:
    """Yield what a deflated stream holds, piece by piece.

    Raises
    ------
    zlib.error, EOFError
        If it is damaged or ends early.
    """
    unpacker = zlib.decompressobj(form)
    view = memoryview(data)
    # The check at the end comes alone, lest it takes the last piece with it.
    last = max(0, len(view) - _CHECK)
    for at in (*range(0, last, _CHUNK), last):
        packed = bytes(view[at : min(at + _CHUNK, last) if at < last else None])
        while packed and not unpacker.eof:
            yield unpacker.decompress(packed, 256 * _CHUNK)
            packed = unpacker.unconsumed_tail
        if unpacker.eof:
            return
    yield unpacker.flush()
    raise EOFError("the stream ends early")


def _zipped(data: bytes, name: str) -> Iterator[bytes]:
    """Yield what the one track in a zip archive holds, piece by piece."""
    if data.count(_LISTED) > MOST_MEMBERS:
        raise TrackError(
            f"{name} is a zip archive of more than {MOST_MEMBERS:,} files: unpack it "
            "and add the track alone"
        )
    try:
        with ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
    except _BROKEN:
        yield from _salvaged(data)
        raise
    member = _chosen(members, name)
    check = 0
    for piece in _member(data, member.header_offset, member.compress_size):
        check = zlib.crc32(piece, check)
        yield piece
    if check != member.CRC:
        raise BadZipFile("the track is not what was packed")


def _member(data: bytes, at: int, size: int) -> Iterable[bytes]:
    """Return what a member of a zip archive holds, piece by piece.

    Parameters
    ----------
    data
        The archive.
    at
        Where the member's own header begins.
    size
        How many bytes it is packed in.

    Raises
    ------
    BadZipFile, struct.error
        If there is no such header.
    """
    mark, _, method, _, name_size, extra_size = _HEADER.unpack_from(data, at)
    start = at + _HEADER.size + name_size + extra_size
    if mark != ZIP or start > len(data):
        raise BadZipFile("no header where the list says")
    rest = memoryview(data)[start:]
    return _inflated(rest, _RAW) if method == ZIP_DEFLATED else [bytes(rest[:size])]


def _chosen(members: Sequence[ZipInfo], name: str) -> ZipInfo:
    tracks = [member for member in members if _is_track(member.filename)]
    documents = [each for each in tracks if each.filename.lower() == "doc.kml"]
    if not tracks:
        raise TrackError(f"{name} is a zip archive without a track in it: {_ADVICE}")
    if len(documents or tracks) > 1:
        names = ", ".join(PurePosixPath(each.filename).name for each in tracks[:3])
        raise TrackError(
            f"{name} is a zip archive that holds {len(tracks)} tracks, such as "
            f"{names}: {_ADVICE}"
        )
    member = (documents or tracks)[0]
    if member.flag_bits & _ENCRYPTED:
        raise TrackError(f"{name} is locked with a password: unpack it first")
    if member.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
        raise TrackError(f"{name} is packed in an unusual way: unpack it first")
    return member


def _is_track(path: str) -> bool:
    """Tell whether a member may be a track; macOS adds a shadow to each file."""
    name = PurePosixPath(path).name.lower()
    return name.endswith(SUFFIXES) and not name.startswith("._")


def _salvaged(data: bytes) -> Iterable[bytes]:
    """Return the first track in an archive that has lost its list of members."""
    at = 0
    for _ in range(MOST_MEMBERS):
        at = data.find(ZIP, at)
        if at < 0 or at + _HEADER.size > len(data):
            break
        _, flags, method, size, name_size, _ = _HEADER.unpack_from(data, at)
        path = data[at + _HEADER.size : at + _HEADER.size + name_size]
        plain = not flags & _ENCRYPTED and method in (ZIP_DEFLATED, ZIP_STORED)
        if plain and _is_track(path.decode("utf-8", "replace")):
            return _member(data, at, len(data) if flags & _SIZE_FOLLOWS else size)
        at += len(ZIP)
    return []
