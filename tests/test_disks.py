"""A folder that is read-only and a disk that is full cost one sentence."""

import hashlib
import os
import resource
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from beside import NOBODY, READERS, ROOT, one_sentence, sound
from practices_made import done, heron, refused, report, run, tree, write
from sweptwater.practice import cache
from sweptwater.practice.cache import CACHE

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
