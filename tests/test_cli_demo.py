"""`demo`, from the outside: here with two short days, and whole where it is slow."""

import shutil
from collections import Counter
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

import sweptwater_demo.build as build
from practices_made import done, refused, remarks, report, run, write
from sweptwater.jobs.boats import read_boat_days
from sweptwater.jobs.met import read_stints
from sweptwater.jobs.opened import open_folder
from sweptwater.jobs.recall import recall
from sweptwater.practice.tally import Counts, Entry
from sweptwater_demo import ashlode
from sweptwater_demo.build import MARK, TO_TRY, drawn_ashlode, files_of_ashlode
from sweptwater_demo.gps import Fixes
from sweptwater_demo.gpx import gpx_bytes
from sweptwater_demo.met import fished
from sweptwater_demo.scenario import DAYS, PAIRS, BoatDay, boat_days
from tracks_made import Leg, trip

REPORTS = {
    "coverage.html",
    *(f"coverage-{day}.html" for day in DAYS),
    "met.html",
    "next.html",
    "starts.html",
    "brief.html",
    "unfished.gpx",
    "practice.gpkg",
}
PICTURES = {name.replace(".html", ".png") for name in REPORTS if name.endswith(".html")}


def _short_day(pair: str, day: date, north_m: float) -> BoatDay:
    """Return a boat-day of one drift of 300 m in the middle of the water."""
    way = trip(Leg(750, 0.4, 90), Leg(150, 2, 270, fishing=False))
    start_s = 1.8e9 + (day - date(2027, 1, 15)).days * 86400 + 3600
    fixes = Fixes(
        start_s + way.time_s - way.time_s[0], way.easting, way.northing + north_m
    )
    gpx = gpx_bytes(fixes, ashlode.FRAME, name="short", note="invented")
    name = f"{pair.lower()}-{day}.gpx"
    return BoatDay(pair, day, "long", None, name, gpx, None)  # type: ignore[arg-type]


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Send each boat out once, for a quarter of an hour, instead of three days."""
    monkeypatch.setattr(build, "boat_days", _short_days)
    monkeypatch.setattr(build, "simulate_tally", _short_tally)


def _short_days(*, seed: int) -> list[BoatDay]:
    assert seed == 1
    sent = zip(("Heron", "Teal", "Grebe"), DAYS, strict=True)
    return [_short_day(pair, day, 40.0 * i) for i, (pair, day) in enumerate(sent)]


def _short_tally(days: list[BoatDay], *, seed: int) -> list[Entry]:
    assert (len(days), seed) == (3, 1)
    of = Entry(day=DAYS[0], pair="Heron", drift=1, note="invented")
    blank = replace(of, rod="bow", told="blank")
    return [blank, replace(of, rod="stern", told="tallied", counts=Counts(pull=2))]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Build a quick demo once; return where, and what was printed."""
    place = tmp_path_factory.mktemp("built")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(build, "boat_days", _short_days)
        patched.setattr(build, "simulate_tally", _short_tally)
        patched.chdir(place)
        result = done(None, "demo")
    assert remarks(result) == ""  # no bars off a terminal
    return place / "ashlode", result.stdout


@pytest.fixture
def copy(built: tuple[Path, str], tmp_path: Path) -> Path:
    return Path(shutil.copytree(built[0], tmp_path / "ashlode"))


def test_it_says_where_to_look(built: tuple[Path, str]) -> None:
    folder, printed = built
    first, *places = printed.splitlines()
    assert first.startswith(
        "Ashlode Water (invented): three pairs, three days, 3 drift"
    )
    assert "2 offers in 0 rod-hours told; 0 faults" in first
    shown = {line.rpartition(": ")[2] for line in places}
    sheets = {
        str(Path("ashlode", "plans", "2027-06-11", f"{pair}{ending}.html"))
        for pair in PAIRS
        for ending in ("", ".afloat")
    }
    reports = {str(Path("ashlode") / "reports" / name) for name in REPORTS}
    to_try = Path("ashlode", TO_TRY)
    assert shown == reports | sheets | {str(to_try)}
    assert all((folder.parent / place).stat().st_size > 500 for place in shown)
    left = {path.name for path in (folder.parent / to_try).iterdir()}
    assert left == {f"{kind}.geojson" for kind in files_of_ashlode()} | {
        "heron-2027-06-08.gpx"
    }
    assert {path.name for path in (folder / "reports").iterdir()} == REPORTS | PICTURES
    assert "invented" in (folder / MARK).read_text(encoding="utf-8")


def test_what_it_built_is_a_practice_without_faults(copy: Path) -> None:
    assert report(copy, "check")["faults"] == []
    found = report(copy, "coverage")
    assert {(b["pair"], b["day"]) for b in found["boats"]} == {
        ("Heron", "2027-06-08"),
        ("Teal", "2027-06-09"),
        ("Grebe", "2027-06-10"),
    }
    # On the day after the last, the pairs have gone one sector on.
    assert found["pairs_day"] == "2027-06-11"
    assert [s["pair"] for s in found["sectors"]] == ["Grebe", "Teal", "Heron"]
    for track in copy.glob("tracks/*/*.gpx"):
        assert b"invented" in track.read_bytes()


@pytest.mark.slow
@pytest.mark.usefixtures("quick")
def test_a_demo_is_built_again_even_if_it_broke_off(copy: Path) -> None:
    pages = {p.name: p.read_bytes() for p in copy.glob("reports/*.html")}
    write(copy / "reports" / "mine.txt", "gone")
    write(copy / "venue.geojson", "{")
    (copy / "practice.toml").unlink()
    assert "0 faults" in done(None, "demo", copy).stdout
    assert {p.name: p.read_bytes() for p in copy.glob("reports/*.html")} == pages
    assert not (copy / "reports" / "mine.txt").exists()


def test_a_folder_with_something_else_is_left_alone(
    fished: Path, tmp_path: Path
) -> None:
    assert "holds something that is no demo" in refused(
        None, "demo", fished, kept=fished
    )
    write(tmp_path / "mine" / "letter.txt", "x")
    told = refused(None, "demo", tmp_path / "mine", kept=tmp_path)
    assert "name another folder" in told
    assert run(None, "demo", tmp_path / "mine" / "letter.txt").exit_code == 2


def test_a_track_of_ones_own_in_the_demo_is_never_lost(
    copy: Path, tmp_path: Path
) -> None:
    own = write(tmp_path / "own.gpx", _short_day("Heron", DAYS[0], 300).gpx)
    done(copy, "upload", "--pair", "Heron", own)
    told = refused(None, "demo", copy, kept=copy)
    assert "own.gpx is no track of the demo, and would be lost" in told


def test_the_shipped_water_is_the_drawn_one() -> None:
    drawn, files = drawn_ashlode(), files_of_ashlode()
    assert set(drawn) == set(files)
    for name, text in drawn.items():
        assert files[name].read_bytes() == text.encode("utf-8"), name


@pytest.mark.slow
def test_the_whole_demo(tmp_path: Path) -> None:
    folder = tmp_path / "ashlode"
    first = done(None, "demo", folder).stdout.splitlines()[0]
    assert "three pairs, three days" in first
    assert "0 faults" in first
    assert {path.name for path in (folder / "reports").iterdir()} == REPORTS | PICTURES
    found = report(folder, "coverage")
    assert len(found["boats"]) == 9
    assert found["missing"] == []
    assert found["faults"] == []
    # Nine boats with eight hours each at 0.15 to 0.3 m/s and a strip of some 30 m
    # sweep from a tenth to a third of the 1,100 acres.
    assert 0.1 < found["fished_share"] < 0.33
    for line in found["boats"]:
        spent = ("fishing_s", "motoring_s", "ashore_s", "unknown_s")
        assert sum(line[what] for what in spent) == pytest.approx(
            line["end_s"] - line["start_s"], abs=1e-3
        )
    assert sum(b["new_m2"] for b in found["boats"]) == pytest.approx(
        found["fished_m2"], rel=1e-4
    )
    assert_told_as_it_was(folder)
    assert_the_story_is_found(folder)


def assert_the_story_is_found(folder: Path) -> None:
    """Check that the rates lie as the truth does: deep in the sun, on top without."""
    found = report(folder, "rates", "--by", "layer,sky")
    rate = {(r["by"]["layer"], r["by"]["sky"]): r["rate"] for r in found["rows"]}
    assert rate["8-15 ft", "bright"] > 2 * rate["8-15 ft", "dull"]
    assert rate["0-3 ft", "dull"] > 2 * rate["0-3 ft", "bright"]
    # And the page says so, of all its tables together.
    clear = [
        row for row in report(folder, "rates")["rows"] if row["verdict"] == "clear"
    ]
    assert ({"layer": "8-15 ft", "sky": "bright"}, "more") in [
        (row["by"], row["direction"]) for row in clear
    ]
    page = (folder / "reports" / "met.html").read_text(encoding="utf-8")
    assert (
        "More offers with the flies at 8-15 ft than otherwise in bright light" in page
    )
    assert found["untold_rod_hours"] > 5
    assert found["questions"]


def assert_told_as_it_was(folder: Path) -> None:
    """Check that every row came to the drift that it is of, with what was met there."""
    opened = open_folder(folder)
    boats = read_boat_days(opened, opened.practice.originals)
    memory = recall(opened, boats.days)
    met = read_stints(opened, boats.days, memory.days)
    assert met.faults == ()
    assert len(met.questions) == 1
    (loose,) = met.loose
    assert (loose.pair, loose.counts.offers) == ("Grebe", 3)
    seen = [stint for stint in met.stints if stint.source == "track"]
    truth, found = fished(boat_days()), 0
    for stint in seen:
        if not stint.told:
            continue
        whose = (stint.day, stint.pair, stint.rod)
        middle_s = stint.way.time_s.mean()
        (one,) = [
            one
            for one in truth
            if (one.day, one.pair, one.rod) == whose
            and one.drift.start_s < middle_s < one.drift.end_s
        ]
        assert stint.counts == one.counts
        assert stint.setup.line == one.rig.setup.line
        boated = one.counts.boated if one.pair == "Heron" else 0
        assert sum(placed.counts.boated for placed in stint.placed) == boated
        found += 1
    counts = Counter((stint.source, stint.told) for stint in met.stints)
    assert found > 250
    assert counts["memory", "blank"] == 4
    assert counts["track", ""] == 58
