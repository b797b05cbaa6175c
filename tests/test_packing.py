"""Zips that mean harm, are damaged, or were made by other programs."""

import errno
import io
import stat
import struct
from collections.abc import Callable, Mapping
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from practices_made import refused, run, tree, write
from sweptwater.errors import PracticeError
from sweptwater.jobs.unpack import unpack
from sweptwater.practice import files as practice_files
from sweptwater.practice import packing
from sweptwater.practice.packing import is_practice_file, packed

Make = Callable[[dict[str, bytes]], bytes]


def unpacked(folder: Path, file: Path) -> tuple[str, ...]:
    """Unpack a zip, and return the names of what was not taken."""
    return unpack(folder, file).not_taken


@pytest.fixture
def files(_fished: Path) -> dict[str, bytes]:
    """Return the files of a practice by name."""
    return {
        path.relative_to(_fished).as_posix(): path.read_bytes()
        for path in _fished.rglob("*")
        if path.is_file() and is_practice_file(path.relative_to(_fished).as_posix())
    }


def zipped(files: Mapping[str, bytes], *more: tuple[ZipInfo, bytes]) -> bytes:
    data = io.BytesIO()
    with ZipFile(data, "w", ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
        for info, content in more:
            archive.writestr(info, content)
    return data.getvalue()


def link(name: str, to: str) -> tuple[ZipInfo, bytes]:
    info = ZipInfo(name)
    info.create_system = 3
    info.external_attr = (stat.S_IFLNK | 0o777) << 16
    return info, to.encode()


def bare(name: str) -> ZipInfo:
    """Return a member whose name is written as it stands."""
    info = ZipInfo("x")
    info.filename = name
    return info


STRANGE = (
    *("../evil.toml", "/evil.toml", "C:/evil.toml", "C:\\evil.toml", "..\\evil.toml"),
    *("tracks/../evil.gpx", "tracks/Heron/../../evil.gpx", "tracks/.evil/x.gpx"),
    *("tracks/Heron/.evil.gpx", "tracks/Heron/x.exe", "tracks/removed/x.gpx"),
    *("tracks/Heron/deep/x.gpx", "reports/x.html", ".cache/x", "plans/evil/x.gpx"),
    *("tracks/Heron/a:b.gpx", "tracks/Heron/x.gpx/", "tracks/Heron/x.gpx ", "a\tb"),
    *("tracks/Heron/x.gpx.", "TRACKS/Heron/x.gpx", "tally-before.csv", "run.sh"),
)


@pytest.mark.parametrize("name", STRANGE)
def test_what_is_no_practice_s_file_is_not_taken(
    files: dict[str, bytes], tmp_path: Path, name: str
) -> None:
    file = write(tmp_path / "p.zip", zipped(files, (bare(name), b"evil")))
    place = tmp_path / "deep" / "new"
    place.parent.mkdir()
    not_taken = unpacked(place, file)
    assert len(not_taken) == (0 if name.endswith("/") else 1)
    assert sorted(files) == sorted(n for n in tree(place) if (place / n).is_file())
    assert {p.name for p in tmp_path.iterdir()} == {"p.zip", "deep"}
    assert {p.name for p in place.parent.iterdir()} == {"new"}


@given(st.text(alphabet=st.characters(codec="utf-8"), max_size=60))
def test_no_name_leads_out_of_the_folder(name: str) -> None:
    for whole in (name, f"tracks/Heron/{name}", f"plans/2027-06-09/{name}"):
        if is_practice_file(whole):
            assert Path("/a/b", whole).resolve().is_relative_to("/a/b")
            assert not any(p in ("", ".", "..") for p in whole.split("/"))
            assert not set(whole) & set('<>:"\\|?*\x00')


def test_links_are_not_followed(files: dict[str, bytes], tmp_path: Path) -> None:
    more = (link("tracks/Heron/x.gpx", "/etc/passwd"), link("tracks/Teal", "/etc"))
    file = write(tmp_path / "p.zip", zipped(files, *more))
    names = unpacked(tmp_path / "new", file)
    assert set(names) == {"tracks/Heron/x.gpx", "tracks/Teal"}
    assert not any(path.is_symlink() for path in (tmp_path / "new").rglob("*"))


def _without(name: str) -> Make:
    return lambda files: zipped({n: data for n, data in files.items() if n != name})


def _with(name: str, data: bytes) -> Make:
    return lambda files: zipped({**files, name: data})


def _locked(files: dict[str, bytes]) -> bytes:
    """Return a zip whose members say that they are encrypted (APPNOTE 4.4.4, bit 0)."""
    data = bytearray(zipped(files))
    for signature, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = data.find(signature)
        while at >= 0:
            (flags,) = struct.unpack_from("<H", data, at + offset)
            struct.pack_into("<H", data, at + offset, flags | 1)
            at = data.find(signature, at + 4)
    return bytes(data)


def _flipped(files: dict[str, bytes]) -> bytes:
    data = bytearray(zipped({"practice.toml": files["practice.toml"], **files}))
    data[200] ^= 0xFF  # in the first member's compressed bytes
    return bytes(data)


def _method(files: dict[str, bytes]) -> bytes:
    """Return a zip that says of its first member a method that nobody has."""
    data = bytearray(zipped(files))
    for signature, offset in ((b"PK\x03\x04", 8), (b"PK\x01\x02", 10)):
        struct.pack_into("<H", data, data.find(signature) + offset, 77)
    return bytes(data)


NO_WATER = b'{"type": "FeatureCollection", "features": []}'

BAD: Mapping[str, tuple[Make, str]] = {
    "empty": (lambda _: b"", "no whole zip"),
    "text": (lambda _: b"practice.toml", "no whole zip"),
    "cut": (lambda files: zipped(files)[:-300], "no whole zip"),
    "flipped": (_flipped, "no whole zip"),
    "unknown method": (_method, "no whole zip"),
    "locked": (_locked, "locked"),
    "nothing in it": (lambda _: zipped({}), "holds no practice"),
    "no settings": (_without("practice.toml"), "practice.toml is not in it"),
    "no venue": (_without("venue.geojson"), "venue.geojson is not in it"),
    "broken settings": (_with("practice.toml", b"pairs = ["), "practice.toml"),
    "broken venue": (_with("venue.geojson", b"{"), "venue.geojson"),
    "no water": (_with("venue.geojson", NO_WATER), "the venue has no water"),
}


@pytest.mark.parametrize("kind", BAD)
def test_bad_ones_are_refused_and_leave_nothing(
    files: dict[str, bytes], tmp_path: Path, kind: str
) -> None:
    make, why = BAD[kind]
    file = write(tmp_path / "p.zip", make(files))
    told = refused(None, "start", tmp_path / "new", "--from", file, kept=tmp_path)
    assert why in told
    assert str(tmp_path / ".") not in told.replace(str(tmp_path / "new"), "")
    assert [p.name for p in tmp_path.iterdir()] == ["p.zip"]


def test_two_of_a_name_but_for_capitals(
    files: dict[str, bytes], tmp_path: Path
) -> None:
    """Where the file system tells none, one would replace the other."""
    (name,) = [n for n in files if n.startswith("tracks/Grebe") and n.endswith("gpx")]
    twin = {name.replace("Grebe", "GREBE"): b"other"}
    file = write(tmp_path / "p.zip", zipped({**files, **twin}))
    with pytest.raises(PracticeError, match="twice"):
        unpacked(tmp_path / "new", file)
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    ("limit", "value"), [("MOST_BYTES", 10**6), ("MOST_MEMBERS", 3)]
)
def test_bombs_are_stopped_while_unpacking(
    files: dict[str, bytes],
    tmp_path: Path,
    limit: str,
    value: int,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    bomb = {**files, "tracks/Heron/x.gpx": bytes(10**7)}
    file = write(tmp_path / "p.zip", zipped(bomb))
    assert file.stat().st_size < 10**6
    monkeypatch.setattr(packing, limit, value)
    with pytest.raises(PracticeError, match=r"than any practice|unpacks to more"):
        unpacked(tmp_path / "new", file)
    with pytest.raises(PracticeError, match="copy its folder"):
        packed(bomb.items())
    assert [p.name for p in tmp_path.iterdir()] == ["p.zip"]


def test_a_size_that_lies_is_not_believed(
    files: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The head says that a member is small; it is counted as it comes out."""
    data = bytearray(zipped({"tracks/Heron/x.gpx": bytes(10**7), **files}))
    struct.pack_into("<L", data, data.find(b"PK\x01\x02") + 24, 10)  # APPNOTE 4.4.9
    file = write(tmp_path / "p.zip", bytes(data))
    monkeypatch.setattr(packing, "MOST_BYTES", 10**6)
    with pytest.raises(PracticeError):
        unpacked(tmp_path / "new", file)
    assert [p.name for p in tmp_path.iterdir()] == ["p.zip"]


@pytest.mark.parametrize("around", ["ashlode/", "next year/ashlode/", "ashlode\\"])
def test_one_that_a_file_manager_packed(
    files: dict[str, bytes], tmp_path: Path, around: str
) -> None:
    """It puts the folder around all, and some write backslashes."""
    mark = around[-1]
    renamed = {around + n.replace("/", mark): data for n, data in files.items()}
    more = {f"{around}.DS_Store": b"", f"{around}reports{mark}x.html": b""}
    file = write(tmp_path / "p.zip", zipped({**renamed, **more}))
    assert len(unpacked(tmp_path / "new", file)) == 2
    assert sorted(files) == sorted(
        name for name in tree(tmp_path / "new") if (tmp_path / "new" / name).is_file()
    )


def test_the_folder_must_be_new(files: dict[str, bytes], tmp_path: Path) -> None:
    file = write(tmp_path / "p.zip", zipped(files))
    (tmp_path / "there").mkdir()
    told = refused(None, "start", tmp_path / "there", "--from", file, kept=tmp_path)
    assert "is there already" in told
    deep = tmp_path / "not" / "yet"
    assert run(None, "start", deep, "--from", file).exit_code == 0
    assert (deep / "practice.toml").is_file()


@pytest.mark.parametrize("nth", [1, 2, 5])
def test_a_disk_that_fills_leaves_nothing(
    files: dict[str, bytes],
    tmp_path: Path,
    nth: int,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    file = write(tmp_path / "p.zip", zipped(files))
    fill, written = practice_files._fill, []

    def full(part: Path, data: bytes | str) -> None:
        written.append(part)
        if len(written) == nth:
            raise OSError(errno.ENOSPC, "No space left on device")
        fill(part, data)

    monkeypatch.setattr(practice_files, "_fill", full)
    told = refused(None, "start", tmp_path / "new", "--from", file, kept=tmp_path)
    assert "the disk is full" in told
    assert [p.name for p in tmp_path.iterdir()] == ["p.zip"]


def test_what_a_crash_left_is_no_hindrance(
    files: dict[str, bytes], tmp_path: Path
) -> None:
    write(tmp_path / ".new.unpacking~" / "tracks" / "Heron" / "old.gpx", b"old")
    unpacked(tmp_path / "new", write(tmp_path / "p.zip", zipped(files)))
    assert not list(tmp_path.rglob("old.gpx"))
    assert {p.name for p in tmp_path.iterdir()} == {"new", "p.zip"}
