"""A kill or a power cut at any instant leaves the old state or the new."""

import errno
import json
import os
import shutil
import signal
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from beside import (
    CLI,
    HERE,
    python,
    sound,
    tracks_of,
)
from practices_made import done, grebe, heron, report, tree, write
from sweptwater.errors import PracticeError
from sweptwater.jobs.check import check
from sweptwater.practice import cache
from sweptwater.practice.cache import CACHE, Cache
from sweptwater.practice.files import (
    LOCK,
    PAIRED,
    move_together,
    write_together,
    writing,
)
from sweptwater.practice.folder import open_practice, save_report


@pytest.fixture
def fast() -> Iterator[Path]:
    """Return a folder in memory where there is one: a kill does not ask the disk."""
    memory = Path("/dev/shm")
    where = memory if os.access(memory, os.W_OK) else None
    with tempfile.TemporaryDirectory(dir=where) as folder:
        yield Path(folder)


# A kill at any instant


def killed(scratch: Path, *commands: str) -> dict[str, Any]:
    with python(HERE / "killing.py", scratch, 7, *commands) as process:
        out, err = process.communicate()
    assert process.returncode == 0, err
    found = json.loads(out)
    assert found["wrong"] == []
    return dict(found["kills"])


@pytest.mark.slow
def test_a_removing_killed_at_any_of_its_calls(fast: Path) -> None:
    kills = killed(fast, "remove")["remove"]
    assert kills["inside"] > 8


@pytest.mark.slow
def test_commands_killed_at_any_instant_and_again_while_clearing_up(
    fast: Path,
) -> None:
    kills = {name: Counter(told) for name, told in killed(fast).items()}
    total = sum(sum(told.values()) - told.get("too late", 0) for told in kills.values())
    assert total >= 400
    most = [name for name in kills if name.startswith(("upload", "divide"))]
    assert sum(kills[n].total() - kills[n]["too late"] for n in most) >= 300
    inside = {name: told["inside"] for name, told in kills.items()}
    assert min(inside.values()) > 0
    assert sum(inside.values()) > total / 2


@pytest.mark.slow
def test_the_real_command_killed(begun: Path, tmp_path: Path) -> None:
    # A large original, so that writing it takes a while; None: killed as it starts.
    track = write(tmp_path / "large.gpx", grebe() + b" " * 20_000_000)
    before, left = tree(begun), 0
    for wait_s in (None, 0.4, 0.0, 0.002, 0.005, 0.01):
        folder = Path(shutil.copytree(begun, tmp_path / f"killed-{wait_s}"))
        place = folder / "tracks" / "Heron"
        with python(
            "-c", CLI, "-C", folder, "upload", "--pair", "Heron", track
        ) as process:
            while wait_s is not None and process.poll() is None and not place.exists():
                pass
            time.sleep(wait_s or 0)
            process.send_signal(signal.SIGKILL)
        left += len(list(place.glob(f".*{PAIRED}")))
        assert before.items() <= tree(folder).items()
        assert check(folder).faults == ()
        done(folder, "upload", "--pair", "Heron", track)
        assert sound(folder)
        (original,) = open_practice(folder).originals
        assert original.read() == track.read_bytes()
    assert left > 0  # some kills did fall inside the writing


# A power cut: what was not flushed may be there or not, in any order


class Disk:
    """What a folder would hold after a power cut, by the calls that were made.

    The names that a folder gained or lost since it was last flushed may have been kept
    or not, each by itself; bytes are there once the file was flushed. Harsher than any
    file system in use: from POSIX, `fsync` and `rename`, from memory.
    """

    def __init__(self, patch: pytest.MonkeyPatch, folder: Path) -> None:
        self.kept: dict[Path, int] = {
            path: path.stat().st_ino for path in folder.rglob("*") if path.is_file()
        }
        self.whole = set(self.kept.values())
        self.loose: list[dict[Path, int | None]] = []
        self.after: list[dict[Path, int | None]] = []
        self.seen: list[dict[Path, int]] = []
        flush, rename, unlink = os.fsync, Path.replace, Path.unlink

        def flushing(descriptor: int) -> None:
            flush(descriptor)
            path = Path(os.readlink(f"/proc/self/fd/{descriptor}"))
            if path.is_dir():
                self._flush(path)
            else:
                self.whole.add(path.stat().st_ino)
                self.loose.append({path: path.stat().st_ino})
            self._cut()

        def renaming(path: Path, target: Path) -> Path:
            number = path.stat().st_ino
            rename(path, target)
            self.loose.append({path: None, target: number})
            self._cut()
            return target

        def unlinking(path: Path, missing_ok: bool = False) -> None:
            there = path.exists()
            unlink(path, missing_ok=missing_ok)
            if there:
                self.loose.append({path: None})
                self._cut()

        patch.setattr(os, "fsync", flushing)
        patch.setattr(Path, "replace", renaming)
        patch.setattr(Path, "unlink", unlinking)

    def _flush(self, folder: Path) -> None:
        for change in list(self.loose):
            if any(path.parent == folder for path in change):
                self.kept = _changed(self.kept, change)
                self.loose.remove(change)

    def _cut(self) -> None:
        for chosen in product((False, True), repeat=len(self.loose)):
            now = self.kept
            for change, is_kept in zip(self.loose, chosen, strict=True):
                now = _changed(now, change) if is_kept else now
            self.seen.append(now)


def _changed(names: dict[Path, int], change: dict[Path, int | None]) -> dict[Path, int]:
    now = {**names, **{path: number for path, number in change.items() if number}}
    return {path: n for path, n in now.items() if change.get(path, n) is not None}


def shown(names: dict[Path, int], suffix: str) -> set[Path]:
    return {p for p in names if p.suffix == suffix and not p.name.startswith(".")}


needs_proc = pytest.mark.skipif(
    not Path("/proc/self/fd").exists(), reason="needs /proc to know what is flushed"
)


@needs_proc
def test_a_power_cut_while_a_track_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = Disk(monkeypatch, tmp_path)
    write_together(tmp_path / "a.gpx", b"track", "said")
    monkeypatch.undo()
    assert len(disk.seen) > 8
    for names in disk.seen:
        assert set(names.values()) <= disk.whole
        for track in shown(names, ".gpx"):
            assert track.with_suffix(".toml") in names
        alone = shown(names, ".toml") and not shown(names, ".gpx")
        accounted = any(path.name.endswith(PAIRED) for path in names)
        assert accounted or not alone
    assert disk.kept.keys() == {tmp_path / "a.gpx", tmp_path / "a.toml"}
    assert disk.loose == []


@needs_proc
def test_a_power_cut_while_a_track_is_moved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "aside").mkdir()
    write_together(tmp_path / "a.gpx", b"track", "said")
    disk = Disk(monkeypatch, tmp_path)
    move_together(tmp_path / "a.gpx", tmp_path / "aside" / "a.gpx")
    monkeypatch.undo()
    for names in disk.seen:
        assert shown(names, ".gpx")
        for track in shown(names, ".gpx"):
            assert track.with_suffix(".toml") in names
    assert disk.kept.keys() == {tmp_path / "aside" / f"a.{s}" for s in ("gpx", "toml")}
    assert disk.loose == []


@needs_proc
def test_a_power_cut_while_a_crash_is_cleared_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path / f".a.gpx.77{PAIRED}", b"half")
    write(tmp_path / "a.toml", b"said")
    disk = Disk(monkeypatch, tmp_path)
    with writing(tmp_path):
        pass
    monkeypatch.undo()
    for names in disk.seen:
        accounted = any(path.name.endswith(PAIRED) for path in names)
        assert accounted or not shown(names, ".toml")
    assert not list(tmp_path.glob("*.toml"))


# What a crash leaves, and what it does not


def test_a_report_is_written_though_a_writer_clears_its_part_away(
    begun: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = Path.replace
    cleared: list[Path] = []

    def late(path: Path, target: Path) -> Path:
        if not cleared:
            cleared.append(path)
            with writing(begun):
                assert not path.exists()
        return usual(path, target)

    monkeypatch.setattr(Path, "replace", late)
    assert save_report(begun, "a.html", "all of it").read_text() == "all of it"
    assert cleared


def test_a_practice_inside_another_is_left_alone(begun: Path) -> None:
    inner = write(begun / "old" / "tracks" / "Heron" / f".a.gpx.77{PAIRED}", b"live")
    said = write(inner.with_name("a.toml"), b"said")
    write(begun / "old" / LOCK, b"")
    mine = write(begun / "tracks" / "Heron" / f".b.gpx.77{PAIRED}", b"half")
    with writing(begun):
        assert inner.exists()
        assert said.exists()
        assert not mine.exists()


def test_a_moving_that_was_stopped_goes_on_where_it_was(fished: Path) -> None:
    before = tracks_of(fished)
    track = next((fished / "tracks" / "Grebe").glob("*.gpx"))
    aside = fished / "tracks" / "removed" / "Grebe"
    aside.mkdir(parents=True)
    said = track.with_suffix(".toml")
    shutil.copy(said, aside / said.name)  # stopped before the track was moved
    assert sound(fished)
    done(fished, "remove", "--pair", "Grebe", track.name)
    assert {path.name for path in aside.iterdir()} == {track.name, said.name}
    shutil.copy(aside / said.name, said)  # stopped after
    assert sound(fished)
    done(fished, "restore", "--pair", "Grebe", track.name)
    assert sound(fished)
    assert before.items() <= tracks_of(fished).items()


def test_what_was_said_outlives_the_track(fished: Path, tmp_path: Path) -> None:
    track = write(tmp_path / "late.gpx", heron(10))
    done(fished, "upload", "--pair", "Heron", "--shift", "30", track)
    before = tracks_of(fished)
    first = report(fished, "coverage")
    next((fished / "tracks" / "Heron").glob("*-late.gpx")).unlink()
    assert any("is not there" in fault.what for fault in check(fished).faults)
    again = write(tmp_path / "late-2.gpx", heron(10))
    (line,) = report(fished, "upload", "--pair", "Heron", again)["tracks"]
    assert any("was still there" in remark for remark in line["remarks"])
    assert tracks_of(fished) == before
    assert report(fished, "coverage") == first


def test_a_writing_that_fails_keeps_what_was_said_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = write(tmp_path / "a.toml", b"said long ago")
    usual = Path.replace

    def failing(path: Path, target: Path) -> Path:
        if target.suffix == ".gpx":
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        return usual(path, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(PracticeError, match=r"a\.gpx could not be written"):
        write_together(tmp_path / "a.gpx", b"track", "said long ago, and now")
    assert said.read_text() == "said long ago, and now"


def test_a_move_that_fails_leaves_no_copy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_together(tmp_path / "a.gpx", b"track", "said")
    usual = Path.replace

    def another_disk(path: Path, target: Path) -> Path:
        if target.suffix == ".gpx":
            raise OSError(errno.EXDEV, os.strerror(errno.EXDEV))
        return usual(path, target)

    monkeypatch.setattr(Path, "replace", another_disk)
    with pytest.raises(PracticeError, match="could not be moved"):
        move_together(tmp_path / "a.gpx", tmp_path / "aside" / "a.gpx")
    assert set(tree(tmp_path)) == {"a.gpx", "a.toml", "aside"}


# The cache


def test_halves_of_entries_are_cleared(fished: Path) -> None:
    half = write(fished / CACHE / ".abc.77.part", b"half")
    done(fished, "coverage")
    assert not half.exists()


def test_an_entry_with_any_byte_changed_is_right_or_none(tmp_path: Path) -> None:
    kept = Cache(tmp_path)
    arrays = {"days": np.arange(9.0), "fault": np.array("none")}
    kept.store("key", arrays)
    path = tmp_path / CACHE / "key.npz"
    data, none = path.read_bytes(), 0
    for place in range(len(data)):
        changed = bytes([data[place] ^ (1 if place % 2 else 128)])
        path.write_bytes(data[:place] + changed + data[place + 1 :])
        found = kept.load("key")
        none += found is None
        if found is not None:
            assert found.keys() == arrays.keys()
            assert all((found[name] == arrays[name]).all() for name in arrays)
    assert none > len(data) / 2
    path.write_bytes(data)
    assert kept.load("key") is not None


def test_the_last_space_is_left_to_the_user(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cache, "SPACE", shutil.disk_usage(tmp_path).total + 1)
    Cache(tmp_path).store("key", {"a": np.arange(3)})
    assert not list(tmp_path.rglob("*.npz"))
