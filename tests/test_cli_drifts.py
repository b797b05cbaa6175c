"""`drifts`, `drifts add` and `drifts strike`, from the outside."""

from pathlib import Path

import pytest
from shapely import LineString, Point

from memory_made import FISHABLE, OUT_M, hull, tell, with_marks
from practices_made import (
    FRAME,
    LAKE,
    done,
    geojson,
    refused,
    report,
    rough,
    run,
    write,
)
from sweptwater.practice.remembered import REMEMBERED

ROW_KEYS = {
    *("day", "pair", "number", "start", "end", "minutes", "length_m", "course_deg"),
    *("swept_m2", "near", "length_error", "doubtful_s", "source", "told", "depth_m"),
}
GREBE = ("--pair", "Grebe", "--at", "12:30-13:40")


def at(easting: float, northing: float) -> str:
    """Return a place as LAT,LON."""
    lon, lat = FRAME.to_degrees(easting, northing)
    return f"{float(lat):.6f},{float(lon):.6f}"


def place(found: dict[str, float]) -> Point:
    easting, northing = FRAME.to_metres(found["lon"], found["lat"])
    return Point(float(easting), float(northing))


@pytest.fixture
def pool(fished: Path, tmp_path: Path) -> Path:
    """Return the fished practice with more marks."""
    return with_marks(fished, tmp_path)


def test_the_drifts_and_their_keys(fished: Path) -> None:
    found = report(fished, "drifts")
    assert set(found) == {
        *("practice", "day", "pair", "drifts", "drift_speeds", "remarks", "faults")
    }
    assert all(set(line) == ROW_KEYS for line in found["drifts"])
    whose = [(line["day"][-2:], line["pair"]) for line in found["drifts"]]
    assert whose == [("08", "Grebe")] * 2 + [("08", "Heron"), ("09", "Heron")]
    assert {line["source"] for line in found["drifts"]} == {"track"}
    assert found["drifts"] == sorted(
        found["drifts"], key=lambda line: (line["day"], line["pair"], line["start"])
    )


def test_a_day_and_a_pair(fished: Path) -> None:
    found = report(fished, "drifts", "--day", "2027-06-09", "--pair", "HERON")
    assert (found["day"], found["pair"]) == ("2027-06-09", "Heron")
    assert [line["number"] for line in found["drifts"]] == [1]
    told = refused(fished, "drifts", "--day", "2027-06-09", "--pair", "Grebe")
    assert "Grebe has no track of 2027-06-09" in told


def test_before_any_drift(begun: Path) -> None:
    upload = f"sweptwater -C {begun} upload"
    assert done(begun, "drifts").stdout.startswith(f"No drifts yet: {upload}")
    assert report(begun, "drifts")["drifts"] == []


def test_options_belong_behind_their_command(fished: Path) -> None:
    words = ("add", *GREBE, "--from", "oak", "--to", "buoy")
    result = run(fished, "drifts", "--pair", "Grebe", *words)
    assert result.exit_code == 2
    assert "Write the options after add" in result.stderr


def test_numbers_follow_time_over_both(fished: Path) -> None:
    words = ("--pair", "Heron", "--from", "oak", "--to", "buoy", "--at", "9:00-9:40")
    (line,) = tell(fished, *words, "--day", "2027-06-08")["drifts"]
    assert line["number"] == 1
    lines = report(fished, "drifts", "--day", "2027-06-08", "--pair", "Heron")["drifts"]
    assert [(one["number"], one["source"]) for one in lines] == [
        (1, "memory"),
        (2, "track"),
    ]
    assert "there is no drift 7" in refused(
        fished, "drifts", "strike", "7", "--pair", "Heron"
    )


@pytest.mark.parametrize(
    ("named", "where"),
    [
        ("Boathouse", (-900, -600)),
        ("THE  boathouse", (-900, -600)),
        ("the point", (-200, -600)),
        ("long point", (-200, -600)),
        ("jetty", (-1195, 0)),
        (at(-700, 100), (-700, 100)),
    ],
)
def test_places_are_named_as_people_do(
    pool: Path, named: str, where: tuple[float, float]
) -> None:
    found = tell(pool, *GREBE, "--from", named, "--to", "buoy")
    assert place(found["from"]).distance(Point(where)) < 0.2


def test_a_bank_is_taken_by_its_middle(pool: Path) -> None:
    """By geopandas from the package: the bank's water lies about that place."""
    found = tell(pool, *GREBE, "--from", "bank 3", "--to", "buoy")
    spot = place(found["from"])
    assert LAKE.boundary.distance(spot) < 0.1
    (start,) = found["drifts"]
    assert start["near"] == "bank 3"


@pytest.mark.parametrize(
    ("named", "told"),
    [
        ("boathous", 'there is no mark "boathous": did you mean Boathouse?'),
        ("boat hosue", 'there is no mark "boat hosue": did you mean Boathouse?'),
        ("tren island", "did you mean Tern Island?"),
        ("somewhere else", "name a mark or a jetty (Boathouse, Buoy, Jetty, Long Poi"),
        ("bank 99", "there is no bank 99: the banks are 1 to 19"),
        ("54.8,2.3", "54.8,2.3 is not on this water but"),
        ("2.3,54.95", "write the latitude first, then the longitude"),
        ("95,2.3", "95,2.3 is not on this water but"),
        ("oak", "oak and the oak are one place: name where the drift began"),
    ],
)
def test_a_place_that_is_none(pool: Path, named: str, told: str) -> None:
    words = ("--from", named, "--to", "the oak")
    assert told in refused(pool, "drifts", "add", *GREBE, *words)
    assert not (pool / REMEMBERED).exists()


def test_several_places_of_one_word(pool: Path, tmp_path: Path) -> None:
    marks = geojson(
        tmp_path / "x.geojson",
        Point(900, -600),
        Point(700, -600),
        Point(500, -600),
        names=["Short Point", "Pier", "Pier"],
    )
    done(pool, "venue", "add", "--kind", "mark", marks)
    add = ("drifts", "add", *GREBE, "--to", "buoy", "--from")
    told = refused(pool, *add, "point")
    assert '"point" may be Long Point or Short Point: write more of the name' in told
    assert "write its latitude and longitude" in refused(pool, *add, "pier")


def test_far_from_where_a_boat_can_drift(pool: Path, tmp_path: Path) -> None:
    mark = geojson(tmp_path / "x.geojson", Point(0, 1100), names=["Church"])
    done(pool, "venue", "add", "--kind", "mark", mark)
    told = refused(pool, "drifts", "add", *GREBE, "--from", "church", "--to", "buoy")
    # 500 m from the shore, and 5 yards on, as in the narrowest water: 552 yards.
    assert "Church is not on this water: the nearest place where a boat can" in told
    assert "552 yd away" in told


@pytest.mark.parametrize(
    ("hours", "told"),
    [
        ("13:40-12:30", "a drift cannot begin at 13:40 and end at 12:30: put the"),
        ("23:30-00:20", "write one over midnight as two"),
        ("12:30-12:30", "a drift cannot begin at 12:30 and end at 12:30"),
        ("12:30", "'12:30' are no hours: write them like 11:05-11:50"),
        ("12:30-25:00", "'25:00' is no time of day: write it like 11:05"),
    ],
)
def test_hours_that_are_none(pool: Path, hours: str, told: str) -> None:
    words = ("--from", "oak", "--to", "buoy", "--pair", "Grebe", "--at", hours)
    assert told in refused(pool, "drifts", "add", *words)


def test_hours_as_people_write_them(pool: Path) -> None:
    words = ("--from", "oak", "--to", "buoy", "--pair", "Grebe", "--at")
    for hours in ("12.30 to 1:40 pm", "12:30\u201313:40", " 12:30 - 13:40 "):
        (line,) = tell(pool, *words, hours)["drifts"]
        assert (line["start"][11:16], line["end"][11:16]) == ("12:30", "13:40")


def test_the_night_when_the_clocks_change(pool: Path) -> None:
    """In London they went from 01:00 to 02:00 on 28 March 2027 (tz database)."""
    words = ("--from", "oak", "--to", "buoy", "--pair", "Grebe", "--at", "1:30-2:15")
    told = refused(pool, "drifts", "add", *words, "--day", "2027-03-28")
    assert "01:30 to 02:15 is no time on the night when the clocks change" in told


def test_who_and_when(begun: Path) -> None:
    words = ("drifts", "add", "--from", "oak", "--to", "buoy", "--at", "9:00-9:40")
    assert "there is no pair 'Coot'" in refused(begun, *words, "--pair", "Coot")
    told = refused(begun, *words, "--pair", "Grebe")
    assert "there are no tracks yet" in told
    assert "--day 2027-06-09" in told
    told = refused(begun, *words, "--pair", "Grebe", "--day", "8 June")
    assert "'8 June' is no day" in told
    assert "from 1 to 20" in refused(begun, *words, "--pair", "Grebe", "--times", "0")
    told = refused(begun, "drifts", "strike", "1", "--pair", "Grebe")
    assert "Grebe has no drifts yet" in told


def test_the_last_day_with_tracks(fished: Path) -> None:
    found = tell(fished, *GREBE, "--from", "oak", "--to", "buoy")
    assert (found["day"], found["pair"]) == ("2027-06-09", "Grebe")


def test_ends_lie_some_way_out(pool: Path) -> None:
    """From the shore, from an island, from a bank: 20 yards, and no further."""
    for named, on in (("boathouse", LAKE.exterior), ("tern island", LAKE.interiors[0])):
        found = tell(pool, *GREBE, "--from", named, "--to", "buoy")
        (line,) = found["drifts"]
        away_m = _drift(pool, line["number"]).coords[0]
        assert on.distance(Point(away_m)) == pytest.approx(OUT_M, abs=0.05)
        assert LAKE.boundary.distance(Point(away_m)) >= OUT_M - 0.05


def _drift(folder: Path, number: int, day: str = "2027-06-09") -> LineString:
    """Return Grebe's drift as the package has it, in metres."""
    import geopandas as gpd

    file = folder / "reports" / "all.gpkg"
    done(folder, "export", file)
    table = gpd.read_file(file, layer="drifts")
    mine = table[(table.pair == "Grebe") & (table.number == number)]
    shape = FRAME.metres(mine[mine.day == day].geometry.iloc[-1])
    assert isinstance(shape, LineString)
    return shape


def test_a_spit_is_crossed_and_told(pool: Path) -> None:
    """The island is 200 by 100 m; a line at northing 290 passes its north end.

    Against shapely: the hulls of the two parts over water, each with the water that
    hangs together with it, and none reached from land.
    """
    words = ("--from", at(200, 250), "--to", at(900, 250))
    found = tell(pool, *GREBE, *words)
    (remark,) = found["remarks"]
    assert "the straight line crosses 219 yd of land" in remark  # 200 m
    west = hull((200, 250), (400, 250)).intersection(FISHABLE)
    east = hull((600, 250), (900, 250)).intersection(FISHABLE)
    assert found["swept_m2"] == pytest.approx(west.area + east.area, rel=2e-3)
    assert west.area < hull((200, 250), (400, 250)).area - 400  # the island's part


def test_mostly_land_is_refused(pool: Path) -> None:
    words = ("--from", at(350, 250), "--to", at(650, 250))
    told = refused(pool, "drifts", "add", *GREBE, *words)
    assert "lies on land for 219 yd of its 328 yd: name places that one drift" in told


def test_out_of_bounds_is_not_counted(pool: Path) -> None:
    """The zone reaches from 800 to 1,000 m east."""
    found = tell(pool, *GREBE, "--from", at(650, 100), "--to", at(1150, 100))
    (remark,) = found["remarks"]
    assert "219 yd of it lie out of bounds, where nothing is counted" in remark
    whole = hull((650, 100), (1150, 100))
    assert found["swept_m2"] == pytest.approx(
        whole.intersection(FISHABLE).area, rel=2e-3
    )


@pytest.mark.parametrize(
    ("hours", "how"),
    [("12:30-12:35", "faster"), ("06:00-20:00", "slower"), ("12:30-13:40", "")],
)
def test_a_speed_that_no_boat_drifts_at_is_asked_about(
    pool: Path, hours: str, how: str
) -> None:
    words = ("--from", "boathouse", "--to", "point", "--pair", "Grebe", "--at", hours)
    remarks = tell(pool, *words)["remarks"]
    assert len(remarks) == bool(how)
    if how:
        assert f"a minute is {how} than a boat drifts: are the places and" in remarks[0]
        # 700 m in 5 minutes, and in 14 hours.
        pace = {"faster": 700 / 0.9144 / 5, "slower": 700 / 0.9144 / 840}[how]
        told = f"{pace:,.1f}" if pace < 10 else f"{pace:,.0f}"
        assert f": {told} yd a minute" in remarks[0]


def test_a_far_day_is_asked_about(pool: Path) -> None:
    words = ("--from", "boathouse", "--to", "point", "--day", "2029-06-09")
    (remark,) = tell(pool, *GREBE, *words)["remarks"]
    assert "2029-06-09 is 731 days from all tracks: is the day right?" in remark


def test_a_boat_that_stayed_ashore_is_asked_about(pool: Path) -> None:
    settings = pool / "practice.toml"
    ashore = "[rods.2027-06-08]\nGrebe = []\n\n[spread]"
    write(settings, settings.read_text("utf-8").replace("[spread]", ashore, 1))
    words = ("--from", "boathouse", "--to", "point", "--day", "2027-06-08")
    (remark,) = tell(pool, *GREBE, *words)["remarks"]
    assert "practice.toml says that Grebe stayed ashore that day: which is" in remark


def test_two_drifts_at_once_are_asked_about(pool: Path) -> None:
    tell(pool, *GREBE, "--from", "boathouse", "--to", "point")
    words = ("--pair", "Grebe", "--from", "oak", "--to", "buoy", "--at", "13:00-14:00")
    (remark,) = tell(pool, *words)["remarks"]
    assert "is at the same time as that from boathouse to point: is one" in remark
    heron = ("--pair", "Heron", *words[2:])
    assert tell(pool, *heron)["remarks"] == []


def test_a_round_spread(pool: Path) -> None:
    """A straight line of 700 m and a circle: 2 r l + pi r2; clipped by the shore."""
    settings = pool / "practice.toml"
    text = settings.read_text()
    assert 'shape = "fan"' in text
    settings.write_text(text.replace('shape = "fan"', 'shape = "round"'))
    found = tell(pool, *GREBE, "--from", at(-700, 450), "--to", at(0, 450))
    reach_m = 22 * 0.9144
    line = LineString([(-700, 450), (0, 450)])
    assert rough(found["swept_m2"], line.buffer(reach_m, quad_segs=64).area, 2e-3)


def test_two_writers_keep_apart(pool: Path) -> None:
    from filelock import FileLock

    with FileLock(pool / ".lock"), pytest.MonkeyPatch.context() as patch:
        patch.setattr("sweptwater.practice.files.PATIENCE_S", 0.05)
        told = refused(
            pool, "drifts", "add", *GREBE, "--from", "boathouse", "--to", "point"
        )
    assert "another command is writing to" in told
