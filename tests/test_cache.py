"""What was worked out before is used again, and never where it is out of date."""

import os
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import box

from practices_made import done, geojson, heron, report, write
from sweptwater.jobs import boats
from sweptwater.practice.cache import CACHE, SPARED, Cache, key_of


def _figures(folder: Path) -> object:
    return report(folder, "coverage")


def _forbid(monkeypatch: pytest.MonkeyPatch) -> None:
    def read_original(*_: object) -> None:
        raise AssertionError("a track was read again")

    monkeypatch.setattr(boats, "read_original", read_original)


def test_no_track_is_read_twice(fished: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = _figures(fished)
    _forbid(monkeypatch)
    assert _figures(fished) == first


def test_deleting_it_changes_nothing(fished: Path) -> None:
    first = _figures(fished)
    shutil.rmtree(fished / CACHE)
    assert _figures(fished) == first


def test_one_more_track_reads_no_other(
    fished: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _figures(fished)
    track = write(tmp_path / "grebe-9.gpx", heron(10))
    _forbid(monkeypatch)
    done(fished, "upload", "--pair", "Grebe", track)
    assert len(report(fished, "coverage")["boats"]) == 4


@pytest.mark.parametrize("damage", [b"", b"PK\x03\x04", b"\0" * 4000])
def test_a_damaged_entry_is_made_again(fished: Path, damage: bytes) -> None:
    first = _figures(fished)
    for entry in (fished / CACHE).iterdir():
        entry.write_bytes(damage or entry.read_bytes()[:-100])
    assert _figures(fished) == first


def test_an_entry_of_other_arrays_is_made_again(fished: Path) -> None:
    first = _figures(fished)
    for entry in (fished / CACHE).glob("*.npz"):
        with np.load(entry) as arrays:
            if "days" in arrays:
                continue
        np.savez(entry, day=np.zeros(2))
    assert _figures(fished) == first


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("cast_yd = 22", "cast_yd = 30"),
        ("reset_min = 4", "reset_min = 9"),
        ('shape = "fan"', 'shape = "round"'),
        ('time_zone = "Europe/London"', 'time_zone = "Asia/Tokyo"'),
        ("gap_s = 60", "gap_s = 30"),
    ],
)
def test_other_settings_make_other_figures(fished: Path, old: str, new: str) -> None:
    """As if there had been no cache at all."""
    _figures(fished)
    settings = fished / "practice.toml"
    text = settings.read_text("utf-8")
    assert old in text
    settings.write_text(text.replace(old, new), "utf-8")
    changed = _figures(fished)
    shutil.rmtree(fished / CACHE)
    assert _figures(fished) == changed


def test_a_track_that_was_changed_by_hand_is_read_again(fished: Path) -> None:
    before = report(fished, "coverage")["fished_m2"]
    next((fished / "tracks" / "Grebe").glob("*.gpx")).write_bytes(heron(8))
    assert report(fished, "coverage")["fished_m2"] < before


def test_a_zone_that_was_closed_is_seen(fished: Path, tmp_path: Path) -> None:
    before = report(fished, "coverage")["fished_m2"]
    zone = geojson(tmp_path / "more.geojson", box(-300, -50, -100, 50))
    done(fished, "venue", "add", "--kind", "out-of-bounds", zone)
    after = _figures(fished)
    assert report(fished, "coverage")["fished_m2"] < before
    shutil.rmtree(fished / CACHE)
    assert _figures(fished) == after


def test_old_entries_go_when_there_are_many(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    keys = [key_of(str(number)) for number in range(20)]
    for key in keys:
        cache.store(key, {"a": np.arange(3)})
    used = keys[-5:]
    cache.tidy(used)
    left = [key for key in keys if cache.load(key)]
    assert left[-5:] == used
    assert len(left) == SPARED * len(used)


def test_where_nothing_can_be_kept_nothing_is_said(tmp_path: Path) -> None:
    (tmp_path / CACHE).write_text("a file where the folder should be", "utf-8")
    cache = Cache(tmp_path)
    cache.store("a" * 40, {"a": np.arange(3)})
    assert cache.load("a" * 40) is None
    cache.tidy([])


def test_the_engines_mark_covers_what_a_boat_day_is_made_by() -> None:
    root = Path(boats.__file__).parents[1]
    seen = {path for room in boats.ROOMS for path in root.glob(room)}
    for name in ("tracks/smooth.py", "swept/spread.py", "water/venue.py", "frame.py"):
        assert root / name in seen


def test_a_cache_that_cannot_be_looked_at_is_no_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where another account made it: every look at what is in it is refused."""
    cache = Cache(tmp_path)
    cache.store("a", {"x": np.zeros(3)})
    assert cache.has("a")
    look = os.stat

    def refusing(path: Any, *args: Any, **kwargs: Any) -> os.stat_result:
        if ".cache" in Path(path).parent.parts:
            raise PermissionError(13, "Permission denied", str(path))
        return look(path, *args, **kwargs)

    monkeypatch.setattr(os, "stat", refusing)
    assert not cache.has("a")
