"""Nothing in a practice folder is lost by an accident.

Kills, a power cut, a disk that is full or read-only, a second command at the same time,
and folders and files that are not what they should be: each costs one sentence at most.
"""

import errno
import fcntl
import hashlib
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from practices_made import done, grebe, heron, refused, report, run, tree, write
from sweptwater.errors import PracticeError
from sweptwater.jobs.check import check
from sweptwater.practice import cache, files, originals
from sweptwater.practice.cache import CACHE, Cache
from sweptwater.practice.files import (
    LOCK,
    PAIRED,
    move_together,
    write_together,
    writing,
)
from sweptwater.practice.folder import open_practice, save_report
from sweptwater.practice.originals import keep_original
from sweptwater.practice.said import Said

HERE = Path(__file__).parent
ROOT = hasattr(os, "geteuid") and os.geteuid() == 0
NOBODY = 65534
"""The user of no privileges, by common practice of Linux distributions."""

READERS = (("coverage",), ("unfished",), ("check",))
CLI = "from sweptwater_cli.main import cli; cli()"


def python(*words: object, **options: Any) -> "subprocess.Popen[str]":
    """Start Python on what this one can import."""
    paths = os.pathsep.join(filter(None, sys.path))
    return subprocess.Popen(
        [sys.executable, *map(str, words)],
        env={**os.environ, "PYTHONPATH": paths},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **options,
    )


@contextmanager
def running(*words: object) -> "Iterator[subprocess.Popen[str]]":
    """Run Python beside the test, from when it prints a line, and end it after."""
    with python(*words) as process:
        try:
            assert process.stdout is not None
            assert process.stdout.readline().strip()
            yield process
        finally:
            process.kill()


@pytest.fixture
def fast() -> Iterator[Path]:
    """Return a folder in memory where there is one: a kill does not ask the disk."""
    memory = Path("/dev/shm")
    where = memory if os.access(memory, os.W_OK) else None
    with tempfile.TemporaryDirectory(dir=where) as folder:
        yield Path(folder)


def tracks_of(folder: Path) -> dict[str, str]:
    return tree(folder / "tracks")


def sound(folder: Path) -> bool:
    """Tell whether nothing is wrong, and nothing half written is left."""
    left = [path for path in folder.rglob(".*~") if path.is_file()]
    return not check(folder).faults and not left


def one_sentence(text: str) -> bool:
    told = text.removesuffix("\n")
    return told.startswith(("Error: ", "Not taken: ")) and "\n" not in told


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
    kills = killed(fast)
    total = sum(sum(told.values()) - told.get("too late", 0) for told in kills.values())
    assert total >= 300
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


# A folder that is read-only


def mounted(place: Path, options: str) -> None:
    words = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(place)]
    try:
        subprocess.run(words, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError) as error:
        pytest.skip(f"a file system of its own cannot be mounted here: {error}")


@contextmanager
def small_disk(place: Path, size: str = "64m") -> Iterator[Path]:
    """Yield a folder on a disk of its own; skip where that cannot be."""
    place.mkdir()
    mounted(place, f"size={size}")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


@contextmanager
def read_only(folder: Path) -> Iterator[None]:
    """Make the disk that a folder is on read-only."""
    words = ["mount", "-o", "remount,{}", str(folder)]
    subprocess.run([word.format("ro") for word in words], check=True)
    try:
        yield
    finally:
        subprocess.run([word.format("rw") for word in words], check=True)


WRITERS: tuple[Callable[[Path], tuple[object, ...]], ...] = (
    lambda track: ("upload", "--pair", "Grebe", track),
    lambda _: ("divide", "--shares", "2,1"),
    lambda _: ("remove", "--pair", "Heron", "heron-8.gpx"),
)


def test_a_read_only_folder_is_read_and_never_written(
    fished: Path, tmp_path: Path
) -> None:
    track = write(tmp_path / "new.gpx", heron(12))
    with small_disk(tmp_path / "disk") as disk:
        folder = Path(shutil.copytree(fished, disk / "pool"))
        shutil.rmtree(folder / CACHE)
        with read_only(disk):
            for words in (("check",), ("unfished",)):
                done(folder, *words)
            done(folder, "export", tmp_path / "all.gpkg")
            told = refused(folder, "coverage")
            assert "coverage.html could not be written (Read-only" in told
            for writer in WRITERS:
                assert "Read-only" in refused(folder, *writer(track))
            told = refused(folder, "export", folder / "reports" / "all.gpkg")
            assert "could not be written (Read-only" in told
        done(folder, *WRITERS[0](track))
        assert sound(folder)


@contextmanager
def unprivileged(folder: Path) -> Iterator[None]:
    """Go on as a user who may not do everything; the folder is that user's."""
    if not ROOT:
        yield
        return
    for path in (folder, *folder.rglob("*")):
        os.chown(path, NOBODY, NOBODY)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def own(fished: Path) -> Iterator[Path]:
    """Return a practice where another user can reach it."""
    done(fished, "coverage")  # so that all that commands import is there
    done(fished, "unfished")
    with tempfile.TemporaryDirectory() as place:
        Path(place).chmod(0o755)
        folder = Path(shutil.copytree(fished, Path(place) / "pool"))
        shutil.rmtree(folder / CACHE)
        yield folder
        for path in folder.rglob("*"):
            if path.is_dir():
                path.chmod(0o755)


def test_a_folder_without_leave_to_write(own: Path, tmp_path: Path) -> None:
    track = write(own.parent / "new.gpx", heron(12))
    with unprivileged(own):
        for path in (own, *own.rglob("*")):
            path.chmod(path.stat().st_mode & ~0o222)
        for words in (("check",), ("unfished",)):
            done(own, *words)
        assert "coverage.html could not be written (Permission" in refused(
            own, "coverage"
        )
        for writer in WRITERS:
            assert "Permission denied" in refused(own, *writer(track))


def test_what_cannot_be_read_is_told_and_never_passed_over(own: Path) -> None:
    place = own / "tracks" / "Heron"
    track = next(place.glob("*.gpx"))
    with unprivileged(own):
        track.chmod(0)
        faults = report(own, "check", code=1)["faults"]
        assert ["Permission denied" in fault["what"] for fault in faults] == [True]
        assert any("Permission denied" in f for f in report(own, "coverage")["faults"])
        track.chmod(0o644)
        for mode in (0o000, 0o400, 0o100):
            place.chmod(mode)
            for words in READERS:
                result = run(own, *words)
                assert "Permission denied" in result.output
                assert "Heron" in result.output
            place.chmod(0o755)
        own.chmod(0)
        for words in (*READERS, ("divide",)):
            result = run(own, *words)
            assert result.exit_code == 1
            assert one_sentence(result.stderr)
        own.chmod(0o755)
        assert sound(own)


# A full disk


def files_of(folder: Path) -> dict[str, str]:
    """Return the files of a practice, and what is half written; no empty folders."""
    return {name: told for name, told in tree(folder).items() if told != EMPTY}


EMPTY = hashlib.sha256(b"folder").hexdigest()
"""What `tree` has for a folder."""


def one_failure(folder: Path, *words: object) -> str:
    """Run a command that must fail with one sentence, and return that.

    The figures of a coverage report hold even so.
    """
    result = run(folder, *words)
    assert result.exit_code == 1, result.output
    assert ("fished," in result.stdout) == (words[0] == "coverage")
    assert one_sentence(result.stderr)
    return result.stderr.removesuffix("\n")


def fill(disk: Path) -> Path:
    """Leave no byte on a disk, and return the file that takes it."""
    filler = disk / "filler"
    with filler.open("wb", buffering=0) as file, suppress(OSError):
        while file.write(b"\0" * 4096):
            pass
    return filler


def test_a_full_disk_costs_a_sentence(
    fished: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cache, "SPACE", 0)  # so that it is tried, and fails
    track = write(tmp_path / "new.gpx", heron(12))
    with small_disk(tmp_path / "disk") as disk:
        folder = Path(shutil.copytree(fished, disk / "pool"))
        shutil.rmtree(folder / CACHE)
        filler = fill(disk)
        before = files_of(folder)
        for words in (("check",), ("unfished",)):
            done(folder, *words)
        for command in [("coverage",), *(writer(track) for writer in WRITERS)]:
            told = one_failure(folder, *command)
            assert files_of(folder) == before
            assert "No space left on device" in told
            assert "if need be by deleting the practice's .cache" in told
        # Room for a little, not for all of it: a write that stops halfway.
        with filler.open("r+b") as file:
            file.truncate(filler.stat().st_size - 3 * 4096)
        one_failure(folder, *WRITERS[0](track))
        assert files_of(folder) == before
        filler.unlink()
        for command in [writer(track) for writer in WRITERS]:
            done(folder, *command)
        assert sound(folder)


@contextmanager
def no_file_over(size: int) -> Iterator[None]:
    """Let no file grow over a size: setrlimit(2), RLIMIT_FSIZE, from memory."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_write_that_stops_halfway(fished: Path, tmp_path: Path) -> None:
    track = write(tmp_path / "new.gpx", heron(12))
    before = files_of(fished)
    shutil.rmtree(fished / CACHE)
    with no_file_over(100):
        done(fished, "unfished")  # no entry of the cache can be kept
        for command in [("coverage",), *(writer(track) for writer in WRITERS)]:
            told = one_failure(fished, *command)
            assert "could not be written (File too large)" in told
            assert files_of(fished) == before
    assert not list((fished / CACHE).iterdir())
    done(fished, *WRITERS[0](track))
    assert sound(fished)


# A second command at the same time


def test_two_uploads_at_once_both_succeed(begun: Path, tmp_path: Path) -> None:
    tracks = [write(tmp_path / f"{day}.gpx", heron(day)) for day in (8, 9, 10)]
    words = ("-c", CLI, "-C", begun, "upload", "--pair", "Heron")
    both = [python(*words, track) for track in tracks[:2]]
    for process in both:
        _, err = process.communicate()
        assert process.returncode == 0, err
    assert len(open_practice(begun).originals) == 2
    assert sound(begun)


def test_two_divisions_at_once_keep_all_that_were(begun: Path) -> None:
    first = (begun / "sectors.geojson").read_bytes()
    words = ("-c", CLI, "-C", begun, "divide", "--shares")
    both = [python(*words, shares) for shares in ("2,1", "1,2")]
    for process in both:
        _, err = process.communicate()
        assert process.returncode == 0, err
    kept = [begun / f"sectors-before-{number}.geojson" for number in (1, 2)]
    assert kept[0].read_bytes() == first
    now = {path.read_bytes() for path in (*kept, begun / "sectors.geojson")}
    assert len(now) == 3
    assert sound(begun)


TO_AND_FRO = """
import sys
from pathlib import Path
from sweptwater.jobs.removing import remove, restore

print("ready", flush=True)
while True:
    remove(Path(sys.argv[1]), "Heron", ["heron-8.gpx"])
    restore(Path(sys.argv[1]), "Heron", ["heron-8.gpx"])
"""


@pytest.mark.slow
def test_a_reader_sees_the_old_or_the_new(fished: Path) -> None:
    done(fished, "coverage")
    seen = set()
    with running("-c", TO_AND_FRO, fished) as mover:
        until = time.monotonic() + 4
        while time.monotonic() < until:
            found = report(fished, "coverage")
            seen.add(len(found["boats"]))
            for fault in found["faults"]:  # it went between the list and the reading
                assert "No such file" in fault or "not there any more" in fault
        assert mover.poll() is None
    assert seen <= {2, 3}


HOLDER = """
import sys, time
from pathlib import Path
from sweptwater.practice.files import writing

with writing(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_a_writer_that_hangs_is_told_of_and_its_end_frees_the_folder(
    begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "PATIENCE_S", 0.2)
    track = write(tmp_path / "new.gpx", heron(12))
    with running("-c", HOLDER, begun) as holder:
        holder.send_signal(signal.SIGSTOP)
        told = refused(begun, "upload", "--pair", "Heron", track)
        assert told.endswith("wait until it is done, or end it")
        done(begun, "coverage")  # readers are not kept out
    assert (begun / LOCK).exists()
    done(begun, "upload", "--pair", "Heron", track)


@pytest.mark.parametrize("number", [errno.ENOSYS, errno.ENOLCK, errno.EOPNOTSUPP])
def test_a_file_system_without_locks(
    number: int, begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def without(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(fcntl, "flock", without)
    track = write(tmp_path / "new.gpx", heron(12))
    if number == errno.ENOSYS:  # a marker serves
        (begun / LOCK).unlink()
        done(begun, "upload", "--pair", "Heron", track)
    else:
        told = refused(begun, "upload", "--pair", "Heron", track)
        assert f"cannot be written to ({os.strerror(number)})" in told


# Folders and files that are not what they should be


def test_a_pairs_folder_may_be_a_link(fished: Path, tmp_path: Path) -> None:
    before = report(fished, "coverage")
    place = fished / "tracks" / "Heron"
    place.rename(tmp_path / "elsewhere")
    place.symlink_to(tmp_path / "elsewhere")
    assert report(fished, "coverage") == before
    track = write(tmp_path / "new.gpx", heron(12))
    half = write(place / f".gone.gpx.77{PAIRED}", b"half")
    done(fished, "upload", "--pair", "Heron", track)
    assert not half.exists()
    assert sound(fished)


@pytest.mark.parametrize("what", ["link", "file", "loop"])
@pytest.mark.parametrize("where", ["tracks/Heron", "tracks"])
def test_a_folder_of_tracks_that_is_none_is_told(
    what: str, where: str, fished: Path, tmp_path: Path
) -> None:
    place = fished / where
    place.rename(tmp_path / "elsewhere")
    if what == "file":
        place.write_bytes(b"in the way")
    else:
        place.symlink_to(place if what == "loop" else tmp_path / "unmounted")
    track = write(tmp_path / "new.gpx", heron(12))
    for words in (*READERS, ("upload", "--pair", "Heron", track)):
        result = run(fished, *words)
        assert result.exit_code == 1, result.output
        assert one_sentence(result.stderr)
        assert "tracks" in result.stderr
    assert (tmp_path / "elsewhere").is_dir()


NAMES = (
    "evening\nfish.gpx",
    "\N{FISH}\N{FISHING POLE AND FISH}.gpx",
    "\N{RIGHT-TO-LEFT OVERRIDE}xpg.gpx",
    "\u05d3\u05d2.gpx",
    f"{'n' * 251}.gpx",
    "-C.gpx",
    "a'b\"c$(d).gpx",
)


@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_names_of_all_kinds(name: str, fished: Path, tmp_path: Path) -> None:
    track = write(tmp_path / "in" / name, heron(12))
    done(fished, "upload", "--pair", "Heron", "--", track)
    assert sound(fished)
    by_hand = write(fished / "tracks" / "Heron" / name, heron(13))
    assert len(report(fished, "coverage")["boats"]) == 5
    assert sound(fished)
    done(fished, "remove", "--pair", "Heron", "--", name)  # its file, not its fellow
    assert not by_hand.exists()
    assert sound(fished)


def test_names_that_differ_in_capitals_only(fished: Path, tmp_path: Path) -> None:
    for name, day in (("noon.gpx", 12), ("NOON.gpx", 13), ("Noon.GPX", 14)):
        track = write(tmp_path / name, heron(day))
        done(fished, "upload", "--pair", "Heron", track)
    assert len(open_practice(fished).originals) == 6
    assert sound(fished)


def test_a_folder_called_like_a_track(fished: Path) -> None:
    before = report(fished, "coverage")
    (fished / "tracks" / "Heron" / "x.gpx").mkdir()
    assert report(fished, "coverage") == before
    assert (
        "is a directory"
        in run(
            fished, "upload", "--pair", "Heron", fished / "tracks" / "Heron" / "x.gpx"
        ).stderr
    )


@pytest.mark.parametrize("what", ["folder", "link"])
def test_a_sidecar_that_is_no_file_is_told(what: str, fished: Path) -> None:
    said = next((fished / "tracks" / "Heron").glob("*.toml"))
    said.unlink()
    if what == "folder":
        said.mkdir()
    else:
        said.symlink_to("gone")
    (fault,) = report(fished, "check", code=1)["faults"]
    assert said.name in fault["file"]
    found = report(fished, "coverage")
    assert len(found["boats"]) == 2  # never counted without what was said of it
    assert any("what was said of" in told for told in found["faults"])


def test_a_practice_that_vanishes_is_not_made_anew(begun: Path) -> None:
    begun.rename(begun.with_name("elsewhere"))
    with pytest.raises(PracticeError, match="is not there any more"):
        keep_original(begun, "Heron", Said("a.gpx"), b"")
    with pytest.raises(PracticeError, match="is no practice folder"):
        save_report(begun, "coverage.html", "")
    with pytest.raises(PracticeError, match="cannot be written to"), writing(begun):
        pytest.fail("nothing to write to")
    assert not begun.exists()


def test_a_track_that_goes_between_the_list_and_the_look(
    fished: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = files.read_whole

    def moved_just_now(path: Path) -> bytes:
        if path.parent.name == "Heron":
            path.with_suffix(".gpx").unlink()
            path.unlink()
        return usual(path)

    monkeypatch.setattr(originals, "read_whole", moved_just_now)
    found = report(fished, "coverage")
    assert [boat["pair"] for boat in found["boats"]] == ["Grebe"]
    assert found["faults"] == []


def test_a_clock_that_was_set_back(fished: Path, tmp_path: Path) -> None:
    done(fished, "coverage")
    later = time.time() + 400 * 86_400
    for path in fished.rglob("*"):
        os.utime(path, (later, later))
    before = report(fished, "coverage")
    track = write(tmp_path / "new.gpx", heron(12))
    done(fished, "upload", "--pair", "Heron", track)
    assert len(report(fished, "coverage")["boats"]) == len(before["boats"]) + 1
    assert sound(fished)
