"""`venue add`, from the outside."""

import json
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock
from shapely import LineString, Point, box

from practices_made import (
    CLOSED,
    FRAME,
    LAKE,
    begin,
    done,
    geojson,
    refused,
    remarks,
    report,
    rough,
    run,
    write,
)
from sweptwater.jobs.extend import extend_venue
from sweptwater.practice.folder import open_practice

KEYS = {
    *("kind", "added", "known", "fishable_m2", "out_of_bounds_m2", "units"),
    *("outdated", "remarks"),
}


def test_a_zone_takes_water_away(begun: Path, tmp_path: Path) -> None:
    zone = geojson(tmp_path / "a.geojson", box(-1100, -500, -1000, -400), names=["Bay"])
    found = report(begun, "venue", "add", "--kind", "out-of-bounds", zone)
    assert set(found) == KEYS
    assert found["added"] == ["Bay"]
    assert found["known"] == []
    assert rough(found["out_of_bounds_m2"], CLOSED.area + 10_000, 1e-5)
    assert rough(found["fishable_m2"], LAKE.area - CLOSED.area - 10_000, 1e-6)
    kinds = [
        feature["properties"]["kind"]
        for feature in json.loads((begun / "venue.geojson").read_text())["features"]
    ]
    assert kinds.count("out-of-bounds") == 2


def test_only_the_part_of_a_zone_on_the_water_counts(
    begun: Path, tmp_path: Path
) -> None:
    zone = geojson(tmp_path / "a.geojson", box(1100, -100, 9000, 0))
    found = report(begun, "venue", "add", "--kind", "out-of-bounds", zone)
    assert rough(found["out_of_bounds_m2"], CLOSED.area + 10_000, 1e-5)


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ("mark", "Added 1 mark."),
        ("jetty", "Added 1 jetty."),
    ],
)
def test_places_are_counted_in_words(
    begun: Path, tmp_path: Path, kind: str, told: str
) -> None:
    file = geojson(tmp_path / "a.geojson", Point(0, 0), names=["One"])
    result = done(begun, "venue", "add", "--kind", kind, file)
    first, second = result.stdout.splitlines()
    assert first == told
    # 2.78 and 0.08 square kilometres in acres of 4,840 square yards.
    assert second == "There are 687 acres to fish and 19.8 acres out of bounds."


@pytest.mark.parametrize(
    ("kind", "shapes", "told"),
    [
        ("mark", (Point(1, 0), Point(2, 0)), "Added 2 marks."),
        ("jetty", (Point(1, 0), Point(2, 0)), "Added 2 jetties."),
        (
            "out-of-bounds",
            (box(0, 0, 9, 9), box(20, 0, 29, 9)),
            "Added 2 zones out of bounds.",
        ),
        (
            "bank-anglers",
            (box(0, 590, 9, 599), box(20, 590, 29, 599)),
            "Added 2 strips",
        ),
    ],
)
def test_several_are_counted_in_words(
    begun: Path, tmp_path: Path, kind: str, shapes: tuple[Point, ...], told: str
) -> None:
    file = geojson(tmp_path / "a.geojson", *shapes)
    result = done(begun, "venue", "add", "--kind", kind, file)
    assert result.stdout.splitlines()[0].startswith(told)
    assert ("sectors do not fit" in result.stdout) == (kind == "out-of-bounds")


def test_a_metric_practice_speaks_of_hectares(tmp_path: Path) -> None:
    outline = geojson(tmp_path / "outline.geojson", LAKE)
    done(None, "start", tmp_path / "p", "--venue", outline, "--units", "metric")
    zone = geojson(tmp_path / "a.geojson", box(0, 0, 100, 100))
    result = done(tmp_path / "p", "venue", "add", "--kind", "out-of-bounds", zone)
    assert "There are 285 ha to fish and 1.0 ha out of bounds." in result.stdout
    assert "sectors" not in result.stdout  # there are none yet


def test_the_same_again_changes_nothing(begun: Path, tmp_path: Path) -> None:
    file = geojson(tmp_path / "a.geojson", Point(0, 0), Point(0, 0), names=["X", "X"])
    first = report(begun, "venue", "add", "--kind", "mark", file)
    assert (first["added"], first["known"]) == (["X"], ["X"])
    before = (begun / "venue.geojson").read_bytes()
    again = report(begun, "venue", "add", "--kind", "mark", file)
    assert (again["added"], again["known"]) == ([], ["X", "X"])
    assert (begun / "venue.geojson").read_bytes() == before
    told = done(begun, "venue", "add", "--kind", "mark", file).stdout
    assert "Added 0 marks.\n2 were there already and change nothing." in told


@pytest.mark.parametrize(
    ("kind", "shape", "told"),
    [
        ("out-of-bounds", box(5000, 0, 5100, 100), "does not touch the water"),
        ("out-of-bounds", Point(0, 0), "holds no areas"),
        ("out-of-bounds", LineString([(0, 0), (9, 9)]), "must be an area"),
        ("out-of-bounds", LAKE.envelope.buffer(50), "nothing is left to fish"),
        ("jetty", Point(0, 90_000), "lies 89.4 km from the water"),
        ("mark", box(0, 0, 9, 9), "holds no points"),
        ("bank", box(0, 0, 9, 9), "holds no points or lines, and bank needs them"),
        ("bank", Point(-600, 60), "lies 0.5 km from the shore"),
        ("bank-anglers", Point(0, 600), "holds no areas or lines"),
        ("bank-anglers", LineString([(0, 1100), (9, 1100)]), "0.5 km from the shore"),
    ],
)
def test_what_cannot_belong_is_refused(
    begun: Path, tmp_path: Path, kind: str, shape: Point, told: str
) -> None:
    file = geojson(tmp_path / "a.geojson", shape, names=["Thing"])
    assert told in refused(begun, "venue", "add", "--kind", kind, file)


def test_one_bad_feature_stops_the_file(begun: Path, tmp_path: Path) -> None:
    file = geojson(tmp_path / "a.geojson", Point(0, 0), Point(0, 90_000))
    assert "km from the water" in refused(begun, "venue", "add", "--kind", "mark", file)


def test_files_that_are_no_maps(begun: Path, tmp_path: Path) -> None:
    page = write(tmp_path / "zones.geojson", "<html></html>")
    words = ("venue", "add", "--kind", "mark")
    assert "cannot be read as a map file" in refused(begun, *words, page)
    assert run(begun, *words, tmp_path / "nowhere").exit_code == 2
    assert run(begun, "venue", "add", page).exit_code == 2
    assert run(begun, "venue", "add", "--kind", "reef", page).exit_code == 2


def test_elsewhere_there_is_no_practice(tmp_path: Path) -> None:
    file = geojson(tmp_path / "a.geojson", Point(0, 0))
    words = ("venue", "add", "--kind", "mark", file)
    assert "is no practice folder" in refused(tmp_path, *words)
    assert "is no practice folder" in refused(tmp_path / "x", *words, kept=tmp_path)


def test_a_new_practice_has_all_that_was_added(tmp_path: Path) -> None:
    folder = begin(tmp_path / "pool", tmp_path)
    features = json.loads((folder / "venue.geojson").read_text())["features"]
    named = {
        (feature["properties"]["kind"], feature["properties"]["name"])
        for feature in features
    }
    assert named == {
        ("water", "Ashlode Pool"),
        ("out-of-bounds", "Tower"),
        ("jetty", "Jetty"),
        ("mark", "Buoy"),
        ("mark", "Oak"),
    }
    lon, lat = FRAME.degrees(Point(-1195, 0)).coords[0]
    jetty = next(f for f in features if f["properties"]["kind"] == "jetty")
    assert jetty["geometry"]["coordinates"] == pytest.approx([lon, lat], abs=1e-8)


def test_four_at_once_lose_nothing(begun: Path, tmp_path: Path) -> None:
    """Real threads: each waits for the folder, and then reads what the others did."""
    files = [
        geojson(tmp_path / f"{n}.geojson", Point(-700 + 100 * n, 300), names=[f"M{n}"])
        for n in range(4)
    ]
    meet = threading.Barrier(4)

    def add(file: Path) -> None:
        meet.wait()
        extend_venue(begun, "mark", file)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(add, files))
    names = {feature.name for feature in open_practice(begun).features}
    assert {"M0", "M1", "M2", "M3"} <= names


def test_the_folder_is_read_by_the_one_who_holds_it(
    begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What another adds while this one waits is in the venue, and in the sectors."""
    usual = FileLock.acquire

    def late(lock: FileLock, *args: Any, **options: Any) -> Any:
        monkeypatch.setattr(FileLock, "acquire", usual)
        file = next(others)
        extend_venue(begun, "out-of-bounds", file)
        return lock.acquire(*args, **options)

    others = iter(
        geojson(tmp_path / f"{x}.geojson", box(x, 400, x + 50, 450), names=[f"Z{x}"])
        for x in (-400, -200)
    )
    monkeypatch.setattr(FileLock, "acquire", late)
    mark = geojson(tmp_path / "m.geojson", Point(-700, 300), names=["Mine"])
    done(begun, "venue", "add", "--kind", "mark", mark)
    names = {feature.name for feature in open_practice(begun).features}
    assert {"Z-400", "Mine"} <= names
    monkeypatch.setattr(FileLock, "acquire", late)
    done(begun, "divide")
    assert report(begun, "check")["faults"] == []


@pytest.mark.parametrize("command", ["venue", "divide"])
def test_nothing_is_left_in_a_foreign_folder(tmp_path: Path, command: str) -> None:
    place, file = tmp_path / "other", geojson(tmp_path / "m.geojson", Point(0, 0))
    place.mkdir()
    words = ("add", "--kind", "mark", file) if command == "venue" else ()
    assert "is no practice folder" in refused(place, command, *words)
    assert list(place.iterdir()) == []


def test_a_bank_is_named_and_can_be_spoken_of(begun: Path, tmp_path: Path) -> None:
    file = geojson(
        tmp_path / "b.geojson",
        LineString([(-1000, -590), (-600, -590)]),
        Point(-820, -550),
        names=["Dam wall", "Steps"],
    )
    added = run(begun, "venue", "add", "--kind", "bank", file)
    assert added.stdout.startswith("Added 2 banks.")
    assert remarks(added) == (
        "Steps and Dam wall name the same stretch of shore, and Dam wall counts there: "
        "move one of the two, or delete it.\n"
    )
    faults = report(begun, "check", code=1)["faults"]
    assert [fault["do"] for fault in faults if "Steps" in fault["what"]] == [
        "move one of the two, or delete it"
    ]
    row = ("--day", "2027-06-08", "--pair", "Heron", "--at", "10:00-11:00")
    told = run(begun, "drifts", "add", *row, "--from", "the dam wall", "--to", "oak")
    assert told.exit_code == 0, told.output
    assert "Dam wall to Oak" in told.stdout


def test_a_bank_without_a_name_is_none(begun: Path, tmp_path: Path) -> None:
    file = geojson(tmp_path / "b.geojson", Point(0, 595))
    words = ("venue", "add", "--kind", "bank", file)
    assert "has no name" in refused(begun, *words)


def test_bank_anglers_take_no_water(begun: Path, tmp_path: Path) -> None:
    before = report(begun, "coverage")["water_m2"]
    strip = geojson(tmp_path / "s.geojson", box(-900, 550, -500, 610), names=["North"])
    found = report(begun, "venue", "add", "--kind", "bank-anglers", strip)
    assert (found["added"], found["outdated"]) == (["North"], False)
    assert report(begun, "coverage")["water_m2"] == before
    page = (begun / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert "Bank anglers" in page
