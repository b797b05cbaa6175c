"""The practice folder: whole writes, one writer, originals, GeoJSON."""

import errno
import hashlib
import json
import os
import signal
import subprocess
import sys
import threading
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import shapely
from filelock import FileLock
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPoint, MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from shapes import ANNULUS, RECTANGLE, TWO_ISLANDS, TWO_PARTS, degrees
from sweptwater.errors import PracticeError
from sweptwater.frame import Frame
from sweptwater.practice import files
from sweptwater.practice.files import LOCK, PART, read_whole, write_whole, writing
from sweptwater.practice.folder import (
    begin_practice,
    open_practice,
    save_report,
    save_sectors,
    save_venue,
)
from sweptwater.practice.geojson import (
    KINDS,
    SHAPES,
    Feature,
    SectorShape,
    parse_sectors,
    parse_venue,
    sectors_text,
    venue_text,
)
from sweptwater.practice.originals import digest_of, keep_original, list_originals
from sweptwater.practice.said import Said
from sweptwater.practice.settings import Settings
from sweptwater.practice.soundings import sounding_shape
from sweptwater.practice.strays import stray_files
from sweptwater.water.shapes import water_frame

ASHLODE = Settings("Ashlode Water", ("Heron", "Grebe", "Teal"), "Europe/London")
WATER = Feature("water", "Ashlode Water", degrees(RECTANGLE))
GPX = b"<gpx><trk><trkseg/></trk></gpx>\r\n\x00\xff not even text"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    begin_practice(tmp_path / "ashlode", ASHLODE, [WATER])
    return tmp_path / "ashlode"


def leftovers(folder: Path) -> list[str]:
    return [path.name for path in folder.rglob("*") if path.name.endswith(PART)]


# Whole or not at all


def test_what_is_written_is_there(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "er" / "notes.csv"
    write_whole(path, "day\n")
    assert path.read_bytes() == b"day\n"
    write_whole(path, b"\x00\r\n")
    assert read_whole(path) == b"\x00\r\n"
    assert [item.name for item in path.parent.iterdir()] == ["notes.csv"]


def fails(error_number: int) -> Callable[..., Any]:
    def failing(*_: object, **__: object) -> None:
        raise OSError(error_number, os.strerror(error_number))

    return failing


class FullDisk:
    """A file that takes half of what is written."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def __enter__(self) -> "FullDisk":
        return self

    def __exit__(self, *_: object) -> None:
        assert self.path.stat().st_size > 0

    def write(self, data: bytes) -> None:
        """Write half, and fail."""
        self.path.write_bytes(data[: len(data) // 2])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def break_write(patch: pytest.MonkeyPatch) -> None:
    usual = Path.open

    def half(path: Path, *args: Any, **options: Any) -> Any:
        if path.name.endswith(PART):
            patch.setattr(Path, "open", usual)
            return FullDisk(path)
        return usual(path, *args, **options)

    patch.setattr(Path, "open", half)


def break_open(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(Path, "open", fails(errno.EROFS))


def break_fsync(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(os, "fsync", fails(errno.EIO))


def break_replace(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(Path, "replace", fails(errno.EACCES))
    patch.setattr(time, "sleep", lambda _: None)


@pytest.mark.parametrize(
    ("broken", "why"),
    [
        (break_open, "Read-only file system"),
        (break_write, "No space left on device"),
        (break_fsync, "Input/output error"),
        (break_replace, "Permission denied"),
    ],
)
def test_a_write_that_fails_leaves_the_old_file(
    broken: Callable[[pytest.MonkeyPatch], None], why: str, tmp_path: Path
) -> None:
    path = tmp_path / "venue.geojson"
    write_whole(path, b"old")
    with pytest.MonkeyPatch.context() as patch:
        broken(patch)
        told = (
            rf"venue\.geojson could not be written \({why}\): "
            "(is the folder read-only|the disk is full)"
        )
        with pytest.raises(PracticeError, match=told):
            write_whole(path, b"new, and longer than the old")
    assert path.read_bytes() == b"old"
    assert leftovers(tmp_path) == []
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "tracks").write_text("a file in the way")
    with pytest.raises(PracticeError, match="could not be written"):
        write_whole(tmp_path / "tracks" / "Heron" / "a.gpx", b"")


def test_a_spreadsheet_that_lets_go_in_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, tries, usual = tmp_path / "tally.csv", [], Path.replace

    def held_twice(part: Path, target: Path) -> Path:
        tries.append(part)
        if len(tries) < 3:
            raise PermissionError(errno.EACCES, "Access is denied")
        return usual(part, target)

    monkeypatch.setattr(Path, "replace", held_twice)
    monkeypatch.setattr(time, "sleep", lambda _: None)
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert len(tries) == 3


def test_a_folder_that_cannot_be_flushed_is_no_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "open", fails(errno.EACCES))
    write_whole(tmp_path / "a.txt", b"new")
    assert (tmp_path / "a.txt").read_bytes() == b"new"


def test_the_file_is_flushed_before_it_is_renamed_and_the_folder_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []
    flush, rename = os.fsync, Path.replace

    def noting_flush(descriptor: int) -> None:
        done.append(
            "folder" if os.path.isdir(f"/proc/self/fd/{descriptor}") else "file"
        )
        flush(descriptor)

    def noting_rename(part: Path, target: Path) -> Path:
        done.append("renamed")
        return rename(part, target)

    monkeypatch.setattr(os, "fsync", noting_flush)
    monkeypatch.setattr(Path, "replace", noting_rename)
    write_whole(tmp_path / "tracks" / "Heron" / "a.gpx", b"x")
    # Two new folders, each flushed into the one above it; then the file.
    want = ["folder", "folder", "file", "renamed", "folder"]
    if not Path("/proc/self/fd").exists():
        pytest.skip("needs /proc to tell folders from files")
    assert done == want


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(
        PracticeError, match=r"gone\.gpx could not be read \(No such file"
    ):
        read_whole(tmp_path / "gone.gpx")


# Leftovers and the lock


def test_what_a_crash_left_is_ignored_by_readers_and_cleared_by_writers(
    folder: Path,
) -> None:
    keep_original(folder, "Heron", Said("evening.gpx"), GPX)
    left = [
        folder / f".practice.toml.77{PART}",
        folder / "tracks" / "Heron" / f".1f0c9a2e-a.gpx.77{PART}",
        folder / "reports" / "deep" / f".coverage.html.77{PART}",
    ]
    for path in left:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"half")
    mine = folder / f"my-own{PART}"
    mine.write_bytes(b"no leftover of ours")
    practice = open_practice(folder)
    assert len(practice.originals) == 1
    assert all(path.exists() for path in left)
    with writing(folder):
        assert not any(path.exists() for path in left)
    assert mine.exists()


def test_a_second_writer_waits(folder: Path) -> None:
    order: list[str] = []
    inside, go_on = threading.Event(), threading.Event()

    def first() -> None:
        with writing(folder):
            inside.set()
            go_on.wait(5)
            order.append("first")

    thread = threading.Thread(target=first)
    thread.start()
    inside.wait(5)
    threading.Timer(0.2, go_on.set).start()
    with writing(folder):
        order.append("second")
    thread.join()
    assert order == ["first", "second"]


def test_a_second_writer_gives_up_with_a_sentence(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "PATIENCE_S", 0.1)
    with (
        FileLock(folder / LOCK),
        pytest.raises(PracticeError, match="another command is writing to "),
        writing(folder),
    ):
        pytest.fail("two writers at once")
    with writing(folder):
        pass


def test_the_lock_is_let_go_when_the_work_fails(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "PATIENCE_S", 0.1)
    # Its own failure is not blamed on the folder.
    with pytest.raises(PermissionError, match="elsewhere"), writing(folder):
        raise PermissionError("elsewhere")
    with writing(folder):
        pass


@pytest.mark.parametrize(
    "error",
    [
        PermissionError(errno.EACCES, "Permission denied"),
        OSError(errno.EROFS, "Read-only file system"),
        OSError(errno.ENOSPC, "No space left on device"),
        NotImplementedError("this file system has no locks"),
    ],
)
def test_a_folder_that_cannot_be_locked(
    error: Exception, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(FileLock, "acquire", failing)
    told = r"ashlode cannot be written to \(.*\): is it read-only or full\?"
    with pytest.raises(PracticeError, match=told), writing(folder):
        pytest.fail("written without a lock")


# Beginning, opening, saving


def test_a_new_practice_opens_as_it_was_begun(folder: Path) -> None:
    practice = open_practice(folder)
    assert practice.settings.name == "Ashlode Water"
    assert practice.settings.pairs == ASHLODE.pairs
    assert [item.kind for item in practice.features] == ["water"]
    assert practice.sectors == ()
    assert practice.originals == ()


def test_a_practice_is_begun_once(folder: Path) -> None:
    before = (folder / "venue.geojson").read_bytes()
    with pytest.raises(PracticeError, match="is a practice already: choose another"):
        begin_practice(folder, ASHLODE, [])
    assert (folder / "venue.geojson").read_bytes() == before


def test_two_that_begin_at_once_do_not_mix(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The other one ends between the look and the lock.
    folder, usual = tmp_path / "ashlode", FileLock.acquire

    def late(lock: FileLock, *args: Any, **options: Any) -> Any:
        monkeypatch.setattr(FileLock, "acquire", usual)
        begin_practice(folder, ASHLODE, [WATER])
        return lock.acquire(*args, **options)

    monkeypatch.setattr(FileLock, "acquire", late)
    other = Settings("Other", ("A",))
    with pytest.raises(PracticeError, match="is a practice already"):
        begin_practice(folder, other, [])
    assert open_practice(folder).settings.name == "Ashlode Water"


def test_a_crash_while_beginning_can_be_begun_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "ashlode"
    monkeypatch.setattr("sweptwater.practice.folder.settings_text", fails(errno.EIO))
    with pytest.raises(OSError, match="Input/output"):
        begin_practice(folder, ASHLODE, [WATER])
    monkeypatch.undo()
    with pytest.raises(PracticeError, match=r"practice\.toml is missing in"):
        open_practice(folder)
    begin_practice(folder, ASHLODE, [WATER])
    assert open_practice(folder).settings.name == "Ashlode Water"


@pytest.mark.parametrize("left", ["venue.geojson", "sectors.geojson", "tracks"])
def test_what_is_left_of_a_practice_is_not_begun_over(
    left: str, tmp_path: Path
) -> None:
    place = tmp_path / "ashlode"
    if left == "tracks":
        (place / left / "Heron").mkdir(parents=True)
    else:
        place.mkdir()
        (place / left).write_text("mine")
    before = sorted(place.rglob("*"))
    with pytest.raises(
        PracticeError,
        match=rf"{left} .*practice\.toml is missing there: put it back, or",
    ):
        begin_practice(place, ASHLODE, [WATER])
    assert sorted(place.rglob("*")) == before
    with pytest.raises(PracticeError, match=r"practice\.toml is missing") as told:
        open_practice(place)
    assert "sweptwater start" not in str(told.value)


def test_a_folder_is_named_as_a_shell_wants_it(tmp_path: Path) -> None:
    place = tmp_path / "my folder"
    begin_practice(place, ASHLODE, [WATER])
    with pytest.raises(PracticeError, match=f"sweptwater -C '{place}' "):
        begin_practice(place, ASHLODE, [WATER])


def test_a_place_where_no_folder_can_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    for place in (tmp_path / "file", tmp_path / "file" / "deeper"):
        with pytest.raises(
            PracticeError, match=r"cannot be made .*: choose another place"
        ):
            begin_practice(place, ASHLODE, [WATER])


def test_no_practice_folder_is_told_with_the_way_out(tmp_path: Path) -> None:
    with pytest.raises(PracticeError, match=r"is no practice folder: go to one.*start"):
        open_practice(tmp_path)


def test_a_byte_order_mark_is_no_matter(folder: Path) -> None:
    for name in ("practice.toml", "venue.geojson"):
        path = folder / name
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert open_practice(folder).settings.pairs == ASHLODE.pairs


@pytest.mark.parametrize("name", ["practice.toml", "venue.geojson", "sectors.geojson"])
@pytest.mark.parametrize("encoding", ["utf-16", "latin-1"])
def test_text_that_is_not_utf_8(name: str, encoding: str, folder: Path) -> None:
    save_sectors(folder, [SectorShape("1", "Heron", WATER.shape)])
    text = (folder / name).read_text().replace("Ashlode", "Eßlod").replace("Heron", "Ä")
    (folder / name).write_bytes(text.encode(encoding))
    with pytest.raises(
        PracticeError, match=rf"{name} is not UTF-8 text \(byte \d+\): save"
    ):
        open_practice(folder)


def test_a_missing_venue_is_named(folder: Path) -> None:
    (folder / "venue.geojson").unlink()
    with pytest.raises(
        PracticeError, match=r"venue\.geojson is missing in .*: put it back"
    ):
        open_practice(folder)


def test_the_venue_and_reports_are_saved(folder: Path) -> None:
    jetty = Feature("jetty", "Lodge", Point(10, 50))
    with writing(folder):
        save_venue(folder, [WATER, jetty])
        path = save_report(folder, "coverage.html", "<html>")
    assert open_practice(folder).features[1] == jetty
    assert path == folder / "reports" / "coverage.html"
    assert path.read_text() == "<html>"


def test_older_sectors_are_kept(folder: Path) -> None:
    def save(name: str) -> Path | None:
        return save_sectors(folder, [SectorShape(name, "Heron", WATER.shape)])

    def kept(number: int) -> str:
        text = (folder / f"sectors-before-{number}.geojson").read_text()
        return parse_sectors(text)[0].name

    assert save("first") is None
    assert save("second") == folder / "sectors-before-1.geojson"
    assert save("third") == folder / "sectors-before-2.geojson"
    assert (kept(1), kept(2)) == ("first", "second")
    assert open_practice(folder).sectors[0].name == "third"
    # After the first was tidied away, the second must still not be written over.
    (folder / "sectors-before-1.geojson").unlink()
    (folder / "sectors-before-the-match.geojson").write_text("mine")
    assert save("fourth") == folder / "sectors-before-3.geojson"
    assert (kept(2), kept(3)) == ("second", "third")


# Originals

ODD_NAMES = [
    "evening.gpx",
    "two words & more.gpx",
    "../../../etc/passwd",
    "..",
    "/absolute/evening.gpx",
    r"C:\tracks\evening.gpx",
    "Übung am Wasser Ω.gpx",
    "漁" * 200 + ".gpx",
    "x" * 300 + ".gpx",
    ".hidden.gpx",
    ".gpx",
    "track",
    "track.",
    "no.end.",
    "practice.toml",
    "x.toml",
    "EVENING.GPX",
    'quo"te\\.gpx',
    "tab\there\nline.gpx",
    "bell\x7f.gpx",
    "tr\udce4ck.gpx",
    "",
    "con.gpx",
    "-rf.gpx",
]


@pytest.mark.parametrize("name", ODD_NAMES)
def test_an_original_is_kept_byte_for_byte_whatever_its_name(
    name: str, folder: Path
) -> None:
    kept = keep_original(folder, "Heron", Said(name, shift_s=-90), GPX)
    assert kept.path.parent == folder / "tracks" / "Heron"
    assert kept.path.read_bytes() == GPX == kept.read()
    assert kept.digest == hashlib.sha256(GPX).hexdigest()
    assert kept.path.name.startswith(kept.digest[:8] + "-")
    assert len(kept.path.name.encode()) <= 120
    assert {path.name for path in kept.path.parent.iterdir()} == {
        kept.path.name,
        kept.path.with_suffix(".toml").name,
    }
    assert list_originals(folder, ASHLODE.pairs) == (kept,)


@pytest.mark.parametrize("name", [r"C:\tracks\evening.gpx", "/tracks/evening.gpx"])
def test_where_it_came_from_is_not_kept(name: str, folder: Path) -> None:
    kept = keep_original(folder, "Heron", Said(name), GPX)
    assert kept.name == "evening.gpx"
    assert "tracks" not in kept.path.with_suffix(".toml").read_text()


@given(name=st.text(max_size=120))
@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_any_name_stays_in_the_folder(name: str, tmp_path: Path) -> None:
    kept = keep_original(tmp_path, "Heron", Said(name), name.encode("utf-8", "replace"))
    assert kept.path.resolve().parent == (tmp_path / "tracks" / "Heron").resolve()
    assert kept in list_originals(tmp_path, ("Heron",))
    assert {path.name for path in tmp_path.iterdir()} == {"tracks"}


@pytest.mark.parametrize(
    "shift_s", [0.0, -3600.0, 61.0, 1 / 3, 86400.0 * 365.25 * 20 + 1]
)
def test_the_sidecar_says_name_hash_and_shift(shift_s: float, folder: Path) -> None:
    kept = keep_original(folder, "Heron", Said("évening one.gpx", shift_s=shift_s), GPX)
    said = tomllib.loads(kept.path.with_suffix(".toml").read_text(encoding="utf-8"))
    assert said["name"] == "évening one.gpx"
    assert said["sha256"] == hashlib.sha256(GPX).hexdigest()
    assert said["shift_min"] == pytest.approx(shift_s / 60, rel=1e-15)
    (listed,) = list_originals(folder, ASHLODE.pairs)
    assert listed.shift_s == pytest.approx(shift_s, rel=1e-15)
    text = kept.path.with_suffix(".toml").read_text(encoding="utf-8")
    assert text.startswith("# What was said of the track beside this file")


@pytest.mark.parametrize("shift_s", [float("nan"), float("inf")])
def test_a_shift_that_is_no_number(shift_s: float, folder: Path) -> None:
    with pytest.raises(PracticeError, match="a clock cannot be put forward by"):
        keep_original(folder, "Heron", Said("a.gpx", shift_s=shift_s), GPX)
    assert not (folder / "tracks").exists()


@pytest.mark.parametrize("stopped_at", [".toml", ".gpx"])
def test_an_upload_that_is_stopped_leaves_nothing_that_counts(
    folder: Path, monkeypatch: pytest.MonkeyPatch, stopped_at: str
) -> None:
    def dying(part: Path, path: Path) -> None:
        if path.suffix == stopped_at:
            raise KeyboardInterrupt  # as much as a kill: nobody clears up
        part.replace(path)

    monkeypatch.setattr("sweptwater.practice.files._replace", dying)
    with pytest.raises(KeyboardInterrupt):
        keep_original(folder, "Heron", Said("a.gpx"), GPX)
    monkeypatch.undo()
    assert list_originals(folder, ASHLODE.pairs) == ()
    assert list(stray_files(folder, ASHLODE.pairs, ())) == []
    left = list((folder / "tracks" / "Heron").iterdir())
    assert len(left) == {".toml": 2, ".gpx": 2}[stopped_at]
    with writing(folder):
        assert list((folder / "tracks" / "Heron").iterdir()) == []
        keep_original(folder, "Heron", Said("a.gpx"), GPX)
    assert len(list_originals(folder, ASHLODE.pairs)) == 1


def test_the_same_file_twice_is_one_original(folder: Path) -> None:
    one = keep_original(folder, "Heron", Said("a.gpx"), GPX)
    assert keep_original(folder, "Heron", Said("a.gpx"), GPX) == one
    assert len(list_originals(folder, ASHLODE.pairs)) == 1


def test_files_that_begin_with_the_same_hash_are_two(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def alike(data: bytes) -> str:
        return "1f0c9a2e" + hashlib.sha256(data).hexdigest()[8:]

    monkeypatch.setattr("sweptwater.practice.originals.digest_of", alike)
    one = keep_original(folder, "Heron", Said("a.gpx"), b"one")
    two = keep_original(folder, "Heron", Said("a.gpx"), b"two")
    assert (one.path.read_bytes(), two.path.read_bytes()) == (b"one", b"two")
    assert len(list_originals(folder, ASHLODE.pairs)) == 2


def test_files_put_there_by_hand_count(folder: Path) -> None:
    here = folder / "tracks" / "Grebe"
    here.mkdir(parents=True)
    (here / "Morning.GPX").write_bytes(GPX)
    (here / "notes.txt").write_text("no track")
    (here / ".hidden.gpx").write_bytes(GPX)
    (here / "folder.gpx").mkdir()
    (folder / "tracks" / "Coot").mkdir()
    (folder / "tracks" / "Coot" / "a.gpx").write_bytes(GPX)
    (only,) = list_originals(folder, ASHLODE.pairs)
    assert (only.name, only.pair, only.shift_s) == ("Morning.GPX", "Grebe", 0.0)
    assert only.digest == digest_of(GPX)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("shift_min = ten", r"line 1"),
        ('shift_min = "ten"', "shift_min must be a number of minutes, not 'ten'"),
        ("shift_min = true", "must be a number of minutes, not True"),
        ("shift_min = nan", "must be a number of minutes, not nan"),
        ("shift_min = [1]", "must be a number of minutes"),
        ("a = 1\na = 2\n", r"line 2|end of document"),
    ],
)
def test_a_broken_sidecar_is_told_with_the_way_out(
    said: str, told: str, folder: Path
) -> None:
    kept = keep_original(folder, "Heron", Said("a.gpx"), GPX)
    kept.path.with_suffix(".toml").write_text(said)
    other = keep_original(folder, "Grebe", Said("b.gpx"), b"another")
    broken, whole = list_originals(folder, ASHLODE.pairs)
    assert whole == other
    assert whole.read() == b"another"
    with pytest.raises(
        PracticeError, match=rf"a\.toml cannot be read \(.*{told}.*\): mend"
    ):
        broken.read()


def test_a_sidecar_in_another_encoding_is_told(folder: Path) -> None:
    kept = keep_original(folder, "Heron", Said("a.gpx"), GPX)
    side = kept.path.with_suffix(".toml")
    side.write_bytes('name = "é"'.encode("latin-1"))
    (broken,) = list_originals(folder, ASHLODE.pairs)
    with pytest.raises(PracticeError, match=r"cannot be read .*: mend that line"):
        broken.read()
    side.write_bytes('name = "é"\nshift_min = 3'.encode("utf-8-sig"))
    (only,) = list_originals(folder, ASHLODE.pairs)
    assert (only.name, only.shift_s, only.digest) == ("é", 180.0, digest_of(GPX))


# GeoJSON


def test_what_is_written_is_geojson_as_the_standard_has_it() -> None:
    text = venue_text([Feature("water", "A", degrees(TWO_ISLANDS).reverse())])
    table = json.loads(text)
    assert table["type"] == "FeatureCollection"
    (feature,) = table["features"]
    assert feature["properties"] == {"kind": "water", "name": "A"}
    outer, *holes = feature["geometry"]["coordinates"]
    # RFC 7946, section 3.1.6: outer rings counterclockwise, holes clockwise, closed.
    assert shapely.LinearRing(outer).is_ccw
    assert not any(shapely.LinearRing(hole).is_ccw for hole in holes)
    assert all(ring[0] == ring[-1] for ring in (outer, *holes))
    assert "crs" not in table  # section 4


@pytest.mark.parametrize("shape", [RECTANGLE, ANNULUS, TWO_ISLANDS, TWO_PARTS])
def test_sectors_come_back(shape: Polygon | MultiPolygon) -> None:
    sectors = (SectorShape("North, Ü", "Heron", degrees(shape)),)
    (again,) = parse_sectors(sectors_text(sectors))
    assert (again.name, again.pair) == ("North, Ü", "Heron")
    assert again.shape.normalize().equals_exact(sectors[0].shape.normalize(), 1e-9)


lons = st.floats(-179.9, 179.9)
lats = st.floats(-85, 85)
points = st.builds(Point, lons, lats)
areas = st.builds(
    lambda lon, lat, w, h: box(lon - w, lat - h, lon + w, lat + h),
    *(st.floats(-179.5, 179.5), st.floats(-80, 80)),
    *(st.floats(1e-5, 0.3), st.floats(1e-5, 0.3)),
)


lines = st.builds(
    lambda lon, lat, w, h: LineString([(lon, lat), (lon + w, lat), (lon + w, lat + h)]),
    *(st.floats(-179.5, 179.5), st.floats(-80, 80)),
    *(st.floats(1e-5, 0.3), st.floats(1e-5, 0.3)),
)


@st.composite
def features(draw: st.DrawFn) -> Feature:
    kind = draw(st.sampled_from(KINDS))
    of_type: dict[str, st.SearchStrategy[BaseGeometry]] = {
        "Point": points,
        "LineString": lines,
        "Polygon": areas,
    }
    shape = draw(of_type[draw(st.sampled_from(SHAPES[kind][::2]))])
    depth_m = draw(st.floats(0.1, 300)) if kind == "contour" else None
    if kind == "sounding":  # they are kept with their heights
        lon, lat = shapely.get_coordinates(shape)[0]
        shape = sounding_shape([lon], [lat], [draw(st.floats(0, 300))])
    return Feature(kind, draw(st.text(max_size=20)), shape, depth_m)


@given(st.lists(features(), max_size=6))
@example([Feature("mark", '"\\\u2028', Point(-0.0, 0.0))])
def test_a_venue_comes_back(items: list[Feature]) -> None:
    again = parse_venue(venue_text(items))
    assert [(f.kind, f.name) for f in again] == [(f.kind, f.name) for f in items]
    for one, other in zip(again, items, strict=True):
        assert one.shape.normalize().equals_exact(other.shape.normalize(), 1e-9)
    assert venue_text(again) == venue_text(parse_venue(venue_text(again)))


@pytest.mark.parametrize("lon", [179.996, -179.996])
def test_water_across_the_antimeridian_is_cut_there_and_joined_again(
    lon: float,
) -> None:
    frame = Frame(lon=lon, lat=-16.8)
    water = frame.degrees(box(-1000, -400, 1000, 400))
    text = venue_text([Feature("water", "", water)])
    (feature,) = json.loads(text)["features"]
    # RFC 7946, section 3.1.9: cut in two, so that neither part crosses.
    assert feature["geometry"]["type"] == "MultiPolygon"
    parts = [Polygon(part[0]) for part in feature["geometry"]["coordinates"]]
    assert all(abs(lon) <= 180 for p in parts for lon, _ in p.exterior.coords)
    assert sorted(round(p.bounds[2] - p.bounds[0], 3) for p in parts) == [0.005, 0.013]
    (again,) = parse_venue(text)
    assert isinstance(again.shape, Polygon)
    assert water_frame([again.shape]).metres(again.shape).area == pytest.approx(
        1.6e6, rel=1e-5
    )


OPEN = '{"type": "Polygon", "coordinates": [[[0, 0], [1, 1]]]}'


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "venue.geojson is not as it was written"),
        ("[]", "is not as it was written"),
        ("{}", "is not as it was written .*features"),
        ('{"features": 3}', "is not as it was written"),
        ('{"features": [3]}', "is not as it was written"),
        ('{"features": [{"properties": 3, "geometry": null}]}', "is not as it was"),
        ('{"features": [{"properties": {}, "geometry": null}]}', "is not as it was"),
        (
            '{"features": [{"geometry": {"type": "Blob", "coordinates": []}}]}',
            "is not as",
        ),
        ("[" * 100_000, "is not as it was written: put a saved copy back"),
        ("{\n\n[", "written from line 3, column 1 on: put a saved copy"),
        ('{"features": [{"geometry": {"type": "Point"}}]}', "is not as it was written"),
        (f'{{"features": [{{"geometry": {OPEN}}}]}}', "is not as it was written"),
    ],
)
def test_text_that_is_no_venue(text: str, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        parse_venue(text)


def one_feature(kind: str, shape: str) -> str:
    properties = json.dumps({"kind": kind, "name": None})
    return f'{{"features": [{{"properties": {properties}, "geometry": {shape}}}]}}'


@pytest.mark.parametrize(
    ("kind", "shape", "told"),
    [
        ("pond", Point(0, 0), "feature 1 has the kind 'pond'; it must be one of water"),
        ("water", Point(0, 0), "feature 1 is a Point, and water must be a Polygon"),
        (
            "out-of-bounds",
            LineString([(0, 0), (1, 1)]),
            "a LineString, and out-of-bounds must be a Polygon: draw it so, or delete",
        ),
        ("jetty", box(0, 0, 1, 1), "feature 1 is a Polygon, and jetty must be a Point"),
        ("water", Polygon(), "feature 1 has no shape: draw it, or delete it"),
        (
            "mark",
            Point(451_000, 5_600_000),
            "coordinates up to 5,600,000, which are no",
        ),
        ("mark", Point(52, 95), "coordinates up to 95, which are no degrees"),
    ],
)
def test_a_feature_that_cannot_be(kind: str, shape: Any, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        parse_venue(one_feature(kind, shapely.to_geojson(shape)))


def test_numbers_that_are_none() -> None:
    for word in ("NaN", "Infinity", "-Infinity"):
        text = one_feature("mark", f'{{"type": "Point", "coordinates": [{word}, 50]}}')
        with pytest.raises(PracticeError, match=f"{word} is no number"):
            parse_venue(text)


def test_a_multipoint_is_several_places_and_no_name_is_none() -> None:
    text = one_feature("mark", shapely.to_geojson(MultiPoint([(0, 0), (1, 1)])))
    assert parse_venue(text)[0].name == ""


def test_a_sector_that_is_no_area_is_named() -> None:
    text = sectors_text([SectorShape("2", "Heron", Point(0, 0))])
    with pytest.raises(
        PracticeError, match=r"sector 2 is a Point, not a Polygon: move .* and"
    ):
        parse_sectors(text)


def test_damaged_sectors_are_told_without_jargon() -> None:
    with pytest.raises(PracticeError) as told:
        parse_sectors('{"features": [')
    assert str(told.value) == (
        "sectors.geojson is not as it was written from line 1, column 15 on: move the "
        "file away and divide the water again"
    )


def test_sectors_without_names_are_numbered() -> None:
    text = sectors_text([SectorShape("", "", WATER.shape)] * 2)
    assert [(s.name, s.pair) for s in parse_sectors(text)] == [("1", ""), ("2", "")]


# A kill at any instant

WRITER = """
import sys
from pathlib import Path
from sweptwater.practice.files import write_whole, writing

folder = Path(sys.argv[1])
number = 0
print("ready", flush=True)
while True:
    number += 1
    with writing(folder):
        write_whole(folder / "tally.csv", f"{number % 10}" * 300_000)
"""


@pytest.mark.slow
def test_a_kill_at_any_instant_leaves_the_old_file_or_the_new(tmp_path: Path) -> None:
    path = tmp_path / "tally.csv"
    write_whole(path, "0" * 300_000)
    seen, left = set(), 0
    for attempt in range(60):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(tmp_path)], stdout=subprocess.PIPE
        ) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == b"ready\n"
            # Instants over many writes, by a step that shares no period with them.
            time.sleep(0.002 + (attempt * 0.0061803) % 0.05)
            writer.send_signal(signal.SIGKILL)
        text = path.read_text()
        assert len(text) == 300_000
        assert len(set(text)) == 1
        seen.add(text[0])
        left += len(leftovers(tmp_path))
        with writing(tmp_path):
            write_whole(path, "0" * 300_000)
        assert leftovers(tmp_path) == []
        assert {item.name for item in tmp_path.iterdir()} == {"tally.csv", LOCK}
    # The kills did fall in the midst of writing, or this proves nothing.
    assert len(seen) > 3
    assert left > 0
