"""Many tracks are read by several workers, and come out as if by one."""

import shutil
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import pytest

from practices_made import DRIFT_EAST, boat, report, write
from sweptwater.jobs import afloat, boats, warming
from sweptwater.jobs.opened import Opened
from sweptwater.practice.cache import CACHE
from sweptwater.practice.originals import Original


@pytest.fixture
def many(begun: Path) -> Path:
    """Return a practice with tracks enough for workers, put there by hand."""
    for number in range(warming.MANY + 1):
        begin = f"2027-06-{8 + number:02}T10:00:00+01:00"
        data = boat(DRIFT_EAST, start=(-500, -20.0 * number), begin=begin)
        write(begun / "tracks" / "Heron" / f"{number}.gpx", data)
    return begun


def _alone(folder: Path, monkeypatch: pytest.MonkeyPatch) -> object:
    with monkeypatch.context() as patch:
        patch.setattr(warming, "MANY", 10_000)
        found = report(folder, "coverage")
    shutil.rmtree(folder / CACHE)
    return found


def test_workers_change_no_figure(many: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    alone = _alone(many, monkeypatch)
    assert report(many, "coverage") == alone


def test_workers_leave_nothing_to_be_read(
    many: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []
    real = afloat.read_original

    def noting(opened: Opened, original: Original) -> object:
        read.append(original.name)  # by a worker, into its own list
        return real(opened, original)

    monkeypatch.setattr(boats, "read_original", noting)
    report(many, "coverage")
    assert read == []


@pytest.mark.parametrize("error", [OSError("no processes"), BrokenProcessPool()])
def test_without_workers_all_is_read_as_ever(
    many: Path, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    alone = _alone(many, monkeypatch)

    def none(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(warming, "ProcessPoolExecutor", none)
    assert report(many, "coverage") == alone


def test_a_broken_track_among_many_is_told(many: Path) -> None:
    write(many / "tracks" / "Heron" / "broken.gpx", b"<html>")
    found = report(many, "coverage")
    assert len(found["faults"]) == 1
    assert len(found["boats"]) == warming.MANY + 1
