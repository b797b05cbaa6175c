"""`upload`, from the outside: one boat whose way is known, and files of every fault."""

import json
import os
import re
import shlex
import subprocess
import sys
import tomllib
from datetime import datetime
from math import cos, radians, sin
from pathlib import Path

import pytest
from filelock import FileLock
from shapely import LineString, box

from practices_made import (
    BACK,
    CLOSED,
    DRIFT_EAST,
    DRIFT_M,
    FAN,
    FAN_M2,
    STRIP_M2,
    boat,
    done,
    geojson,
    gpx_of,
    grebe,
    heron,
    refused,
    remarks,
    report,
    rough,
    run,
    tree,
    write,
)
from sweptwater.practice import files
from sweptwater.units import duration_text
from tracks_made import Leg, trip

TRACK_KEYS = {
    *("file", "pair", "days", "fixes", "dropped", "fishing_s", "motoring_s"),
    *(
        "ashore_s",
        "unknown_s",
        "doubtful_s",
        "anchored_s",
        "drift_m",
        "drift_error",
        "swept_m2",
        "new_m2",
        "changed",
        "untimed",
    ),
    *("known", "dropped_why", "remarks"),
}
DRIFT_KEYS = {
    *("day", "pair", "number", "start", "end", "length_m", "course_deg", "swept_m2"),
    *("source", "told", "minutes", "near", "length_error", "doubtful_s"),
    "depth_m",
}
STILL = (Leg(1200, 0.4, 90), Leg(2400, 0.0, 90), Leg(600, 0.4, 90))
SPENT = ("fishing_s", "motoring_s", "ashore_s", "unknown_s")


@pytest.fixture
def track(tmp_path: Path) -> Path:
    return write(tmp_path / "evening.gpx", heron())


def _from(pair: str, *files: Path) -> tuple[object, ...]:
    return ("upload", "--pair", pair, *files)


def test_a_straight_drift_of_a_thousand_metres(begun: Path, track: Path) -> None:
    """Length, times, course and strip by closed form; motoring adds nothing."""
    found = report(begun, *_from("Heron", track))
    keys = {"tracks", "drifts", "planned", "refused", "tally_fault"}
    assert set(found) == keys
    (line,) = found["tracks"]
    assert set(line) == TRACK_KEYS
    assert (line["file"], line["pair"], line["days"]) == (
        "evening.gpx",
        "Heron",
        ["2027-06-08"],
    )
    assert (line["fixes"], line["dropped"], line["known"]) == (3101, 0, False)
    assert line["fishing_s"] == pytest.approx(2500, abs=5)
    assert line["motoring_s"] == pytest.approx(600, abs=5)
    assert sum(line[what] for what in SPENT) == pytest.approx(3100, abs=1e-6)
    assert line["doubtful_s"] == 0
    assert line["swept_m2"] == pytest.approx(STRIP_M2, rel=2e-3)
    assert line["new_m2"] == pytest.approx(line["swept_m2"], rel=1e-6)
    (drift,) = found["drifts"]
    assert set(drift) == DRIFT_KEYS
    assert drift["length_m"] == pytest.approx(1000, abs=2)
    assert drift["course_deg"] == pytest.approx(90, abs=0.1)
    assert drift["swept_m2"] == pytest.approx(STRIP_M2, rel=2e-3)
    assert (drift["number"], drift["source"], drift["told"]) == (1, "track", False)
    assert drift["near"] == "Buoy"  # 60 m off its start
    # British Summer Time is an hour before UTC in June.
    start = datetime.fromisoformat(drift["start"])
    assert drift["start"].startswith("2027-06-08T10:00:0")
    assert drift["start"].endswith("+01:00")
    seconds = (datetime.fromisoformat(drift["end"]) - start).total_seconds()
    assert seconds == pytest.approx(2500, abs=5)
    assert drift["minutes"] == pytest.approx(seconds / 60, abs=0.02)


def test_what_is_printed(begun: Path, track: Path) -> None:
    result = done(begun, *_from("heron", track))
    lines = result.stdout.splitlines()
    # STRIP_M2 in acres of 4,840 square yards, 1,000 m in yards.
    assert lines[:3] == [
        "evening.gpx: Heron, 2027-06-08, 3,101 fixes",
        "  42 min fishing, 10 min motoring",
        "  7.6 acres of water swept, 7.6 acres of it new",
    ]
    assert lines[4] == "Heron's drifts on 2027-06-08"
    words = ["1", "10:00", "10:41", "42", "1,093", "yd", "E", "7.6", "acres", "Buoy"]
    assert lines[6].split() == words
    assert remarks(result) == ""


def test_the_original_is_kept_byte_for_byte(begun: Path, track: Path) -> None:
    report(begun, *_from("Heron", track))
    (kept,) = (begun / "tracks" / "Heron").glob("*.gpx")
    assert kept.read_bytes() == track.read_bytes()
    assert kept.name.endswith("-evening.gpx")
    said = tomllib.loads(kept.with_suffix(".toml").read_text())
    assert (said["name"], said["shift_min"]) == ("evening.gpx", 0)


def test_the_same_again_changes_nothing(fished: Path, track: Path) -> None:
    before = tree(fished)
    found = report(fished, *_from("Heron", track))
    assert found["tracks"][0]["known"] is True
    assert found["tracks"][0]["new_m2"] == 0
    assert found["tracks"][0]["swept_m2"] == pytest.approx(STRIP_M2, rel=2e-3)
    assert (
        "was there already: nothing changes."
        in done(fished, *_from("Heron", track)).stdout
    )
    assert tree(fished) == before


def test_one_file_named_twice_is_taken_once(begun: Path, track: Path) -> None:
    copy = write(begun.parent / "copy.gpx", track.read_bytes())
    found = report(begun, *_from("Heron", track, copy))
    assert [line["known"] for line in found["tracks"]] == [False, True]
    assert len(list((begun / "tracks" / "Heron").glob("*.gpx"))) == 1
    assert len(found["drifts"]) == 1


def test_another_pair_cannot_have_the_same_track(fished: Path, track: Path) -> None:
    told = refused(fished, *_from("Grebe", track))
    assert "is there already, as Heron's" in told
    _, _, way_out = told.strip().rstrip(".").rpartition("first run sweptwater ")
    done(fished, *shlex.split(way_out))
    done(fished, *_from("Grebe", track))


def test_new_water_adds_up_to_what_is_fished(begun: Path, tmp_path: Path) -> None:
    """Over several calls, and over several files of one call that overlap."""
    cross = boat(Leg(1500, 0.4, 0), BACK[1], start=(0, -300))
    files = [
        write(tmp_path / f"{i}.gpx", data)
        for i, data in enumerate((heron(8), heron(9), cross, grebe()))
    ]
    lines = report(begun, *_from("Heron", *files[:3]))["tracks"]
    lines += report(begun, *_from("Grebe", files[3]))["tracks"]
    new_m2 = [line["new_m2"] for line in lines]
    assert new_m2[1] < 1  # over the same line
    assert new_m2[2] < lines[2]["swept_m2"]  # across it
    fished_m2 = report(begun, "coverage")["fished_m2"]
    assert sum(new_m2) == pytest.approx(fished_m2, rel=1e-5)


def test_two_phones_in_one_boat_are_one_boat(begun: Path, tmp_path: Path) -> None:
    """The second phone, half a fan's width off, adds what it adds to the boat only."""
    whole = trip(DRIFT_EAST, *BACK)
    when = "2027-06-08T10:00:00+01:00"
    one = write(tmp_path / "1.gpx", gpx_of(whole, start=(-500, 0), begin=when))
    two = write(tmp_path / "2.gpx", gpx_of(whole, start=(-500, 15), begin=when))
    lines = report(begun, *_from("Heron", one, two))["tracks"]
    assert lines[1]["swept_m2"] == pytest.approx(STRIP_M2, rel=2e-3)
    covered = report(begun, "coverage")
    assert covered["drifts"] == 1
    assert sum(line["new_m2"] for line in lines) == pytest.approx(
        covered["fished_m2"], rel=1e-5
    )


def test_a_morning_and_an_afternoon_are_one_day(begun: Path, tmp_path: Path) -> None:
    morning = write(tmp_path / "1.gpx", heron())
    later = boat(
        DRIFT_EAST, *BACK, start=(-500, 100), begin="2027-06-08T14:00:00+01:00"
    )
    afternoon = write(tmp_path / "2.gpx", later)
    report(begun, *_from("Heron", morning))
    found = report(begun, *_from("Heron", afternoon))
    assert [drift["number"] for drift in found["drifts"]] == [1, 2]
    assert found["tracks"][0]["new_m2"] == pytest.approx(STRIP_M2, rel=2e-3)
    (line,) = report(begun, "coverage")["boats"]
    assert line["drifts"] == 2
    assert sum(line[what] for what in SPENT) == pytest.approx(
        line["end_s"] - line["start_s"]
    )
    assert line["unknown_s"] == pytest.approx(4 * 3600 - 3100, abs=1)


@pytest.mark.parametrize(
    ("begin", "days"),
    [
        # 23:30 UTC is half past midnight in Britain in June, but not in January.
        ("2027-06-08T23:30:00+00:00", ["2027-06-09"]),
        ("2027-01-08T22:30:00+00:00", ["2027-01-08"]),
        ("2027-06-08T22:30:00+00:00", ["2027-06-08", "2027-06-09"]),
    ],
)
def test_the_day_is_the_local_one(
    begun: Path, tmp_path: Path, begin: str, days: list[str]
) -> None:
    file = write(tmp_path / "a.gpx", boat(DRIFT_EAST, *BACK, begin=begin))
    found = report(begun, *_from("Heron", file))
    assert found["tracks"][0]["days"] == days
    assert sorted({drift["day"] for drift in found["drifts"]}) == days
    # Nothing is lost at midnight but what lies between two fixes.
    total_s = sum(found["tracks"][0][what] for what in SPENT)
    assert total_s == pytest.approx(3100, abs=1.5)


@pytest.mark.parametrize("minutes", [60, -90.5])
def test_a_clock_is_put_right(begun: Path, track: Path, minutes: float) -> None:
    found = report(begun, "upload", "--pair", "Heron", "--shift", minutes, track)
    start = datetime.fromisoformat(found["drifts"][0]["start"])
    meant = datetime.fromisoformat("2027-06-08T10:00:00+01:00").timestamp()
    assert start.timestamp() == pytest.approx(meant + 60 * minutes, abs=5)
    (said,) = (begun / "tracks" / "Heron").glob("*.toml")
    assert tomllib.loads(said.read_text())["shift_min"] == minutes
    (line,) = report(begun, "coverage")["boats"]
    assert line["start_s"] == pytest.approx(meant + 60 * minutes)


def test_a_shift_can_change_the_day(begun: Path, track: Path) -> None:
    words = ("upload", "--pair", "Heron", "--shift", 14 * 60, track)
    assert report(begun, *words)["tracks"][0]["days"] == ["2027-06-09"]


def test_a_shift_may_be_said_later(fished: Path, track: Path) -> None:
    before = report(fished, "coverage")["boats"]
    words = ("upload", "--pair", "Heron", "--shift")
    result = done(fished, *words, 60, track)
    assert "was there already, and is told anew" in result.stdout
    assert "put forward by 60 min now; before, it was left as" in result.stdout
    after = report(fished, "coverage")["boats"]
    later_s = [b["start_s"] - a["start_s"] for a, b in zip(before, after, strict=True)]
    assert sorted(later_s) == [0, 0, 3600]
    again = done(fished, "upload", "--pair", "Heron", track)  # nothing is said
    assert "nothing changes" in again.stdout
    back = done(fished, *words, 0, track).stdout
    assert "left as recorded now; before, it was put forward by 60 min" in back
    assert report(fished, "coverage")["boats"] == before
    assert "put back by 90 min now" in done(fished, *words, -90, track).stdout


def test_a_shift_said_later_may_change_the_day(fished: Path, track: Path) -> None:
    """Onto the day after, of which there is another track of Heron's."""
    words = ("upload", "--pair", "Heron", "--shift", 20 * 60, track)
    found = report(fished, *words)
    assert found["tracks"][0]["days"] == ["2027-06-09"]
    assert {d["day"] for d in found["drifts"]} == {"2027-06-09"}
    assert len(report(fished, "coverage")["boats"]) == 2


@pytest.mark.parametrize("shift", ["nan", "inf", "much"])
def test_a_shift_that_is_no_number_is_wrong_usage(
    begun: Path, track: Path, shift: str
) -> None:
    words = ("upload", "--pair", "Heron", "--shift", shift, track)
    assert run(begun, *words).exit_code == 2


def test_a_shift_of_a_century_is_refused(begun: Path, track: Path) -> None:
    words = ("upload", "--pair", "Heron", "--shift", "1e12", track)
    assert "no clock is 1,000,000,000,000 minutes slow" in refused(begun, *words)


def test_water_out_of_bounds_is_not_swept(begun: Path, tmp_path: Path) -> None:
    """A drift from 500 m west of the closed zone to its middle: nothing within."""
    way = boat(Leg(1500, 0.4, 90), *BACK, start=(300, 0))
    file = write(tmp_path / "a.gpx", way)
    (line,) = report(begun, *_from("Heron", file))["tracks"]
    west = CLOSED.bounds[0]
    # The strip up to the zone, less what is beside the first fan: two triangles.
    half = radians(FAN.half_angle_deg)
    beside_m2 = FAN.cast_m**2 * sin(half) * cos(half)
    expected_m2 = (west - 300) * FAN.width_m - beside_m2
    assert line["swept_m2"] == pytest.approx(expected_m2, rel=2e-3)


def test_a_truncated_file_gives_what_it_has(begun: Path, tmp_path: Path) -> None:
    data = heron()
    cut = data[: data.rindex(b"<trkpt", 0, len(data) // 2) + 20]
    file = write(tmp_path / "cut.gpx", cut)
    result = done(begun, *_from("Heron", file))
    assert "breaks off" in result.stdout
    (line,) = report(begun, *_from("Heron", file))["tracks"]
    assert line["fixes"] == cut.count(b"</trkpt>")
    assert 1000 < line["fixes"] < 3000
    assert "breaks off" in line["remarks"][0]


def test_what_is_dropped_is_counted(begun: Path, tmp_path: Path) -> None:
    lines = heron().split(b"\n")
    lines[100] = b'<trkpt lat="0" lon="0"><time>2027-06-08T09:01:00Z</time></trkpt>'
    lines[101] = b'<trkpt lat="954" lon="2.3"><time>2027-06-08T09:01:01Z</time></trkpt>'
    lines[102] = lines[102].partition(b"<time>")[0] + b"</trkpt>"
    file = write(tmp_path / "a.gpx", b"\n".join(lines))
    (line,) = report(begun, *_from("Heron", file))["tracks"]
    assert line["dropped"] == sum(line["dropped_why"].values()) == 3
    assert line["fixes"] + line["dropped"] == 3101
    assert line["dropped_why"]["without a time"] == 1


HTML = b"<!DOCTYPE html><html><body>Sign in to see this track</body></html>"


def _untimed() -> bytes:
    return b"\n".join(
        line.partition(b"<time>")[0] + b"</trkpt>" if b"<trkpt" in line else line
        for line in heron().split(b"\n")
    )


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("empty.gpx", b"", "is empty"),
        ("page.gpx", HTML, "is a web page, not GPX"),
        ("noise.gpx", bytes(range(256)) * 9, "is not GPX"),
        ("text.gpx", b"Heron fished the dam all day.", "is not GPX"),
        ("untimed.gpx", _untimed(), "has no times"),
        (
            "far.gpx",
            boat(DRIFT_EAST, start=(90_000, 0)),
            "is from elsewhere: it never comes nearer than 89 km to Ashlode Pool",
        ),
        ("track.fit", b"\x0e\x10", "is not GPX, FIT, TCX, KML or KMZ"),
        ("marks.gpx", b"<gpx><wpt lat='54' lon='2'/></gpx>", "holds no track point"),
        ("nowhere.gpx", b"<gpx><trk><trkseg><trkpt/></trkseg></trk></gpx>", "position"),
    ],
    ids=lambda value: value if isinstance(value, str) and "." in value else "",
)
def test_files_of_every_fault(
    begun: Path, tmp_path: Path, name: str, data: bytes, told: str
) -> None:
    file = write(tmp_path / name, data)
    sentence = refused(begun, *_from("Heron", file))
    assert told in sentence
    assert name in sentence
    found = report(begun, *_from("Heron", file), code=1)
    assert (found["tracks"], found["drifts"]) == ([], [])
    assert [line["file"] for line in found["refused"]] == [file.name]


def test_the_good_ones_are_taken(begun: Path, track: Path, tmp_path: Path) -> None:
    bad = write(tmp_path / "page.gpx", HTML)
    other = write(tmp_path / "other.gpx", heron(9))
    found = report(begun, *_from("Heron", track, bad, other), code=1)
    assert [line["file"] for line in found["tracks"]] == ["evening.gpx", "other.gpx"]
    assert [line["file"] for line in found["refused"]] == ["page.gpx"]
    assert len(list((begun / "tracks" / "Heron").glob("*.gpx"))) == 2
    again = run(begun, *_from("Heron", track, bad, other))
    assert again.exit_code == 1
    assert again.stderr.startswith("Not taken: page.gpx is a web page, not GPX")
    assert again.stderr.count("\n") == 1


def test_an_unknown_pair(begun: Path, track: Path) -> None:
    told = refused(begun, *_from("Coot", track))
    assert "there is no pair 'Coot': the pairs are Heron, Grebe" in told


def test_wrong_usage(begun: Path, track: Path) -> None:
    for words in (
        ("upload", track),
        ("upload", "--pair", "Heron"),
        ("upload", "--pair", "Heron", begun / "nowhere.gpx"),
        ("upload", "--pair", "Heron", begun),
    ):
        result = run(begun, *words)
        assert result.exit_code == 2
        assert result.stdout == ""


def test_one_fix_is_a_track_without_a_drift(begun: Path, tmp_path: Path) -> None:
    lines = heron().split(b"\n")
    first = next(i for i, line in enumerate(lines) if b"<trkpt" in line)
    data = b"\n".join([*lines[: first + 1], b"</trkseg></trk></gpx>"])
    result = done(begun, *_from("Heron", write(tmp_path / "a.gpx", data)))
    assert result.stdout.startswith(
        "a.gpx: Heron, 2027-06-08, 1 fix\n  0 min fishing\n"
    )
    assert "drifts on" not in result.stdout
    assert report(begun, "coverage")["fished_m2"] == 0
    assert done(begun, "check").stdout == "Ashlode Pool: 1 track, nothing wrong.\n"


SCRIPT = (sys.executable, "-c", "from sweptwater_cli.main import cli; cli()")


def test_two_at_once_keep_one_original(begun: Path, track: Path) -> None:
    """Real processes: the second one waits for the first, and finds its track."""
    words = [*SCRIPT, "-C", str(begun), "upload", "--pair", "Heron", str(track)]
    both = [
        subprocess.Popen([*words, "--json"], stdout=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    told = [json.loads(process.communicate()[0]) for process in both]
    assert [process.returncode for process in both] == [0, 0]
    known = [one["tracks"][0]["known"] for one in told]
    assert sorted(known) == [False, True]
    assert len(list((begun / "tracks" / "Heron").glob("*.gpx"))) == 1


def test_another_writer_is_waited_for_and_then_told(
    begun: Path, track: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "PATIENCE_S", 0.05)
    with FileLock(begun / files.LOCK):
        told = refused(begun, *_from("Heron", track))
        assert "another command is writing to" in told
        assert "another command is writing to" in refused(begun, "divide")
        assert report(begun, "coverage")["drifts"] == 0  # reading goes on
    done(begun, *_from("Heron", track))


@pytest.mark.skipif(os.name == "nt", reason="there are no such terminals")
def test_progress_is_shown_on_a_terminal_only(fished: Path) -> None:
    import pty

    words = [*SCRIPT, "-C", str(fished), "coverage", "--json"]
    reader, writer = pty.openpty()
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=writer) as process:
        assert process.stdout is not None
        found = json.loads(process.stdout.read())
    os.close(writer)
    shown = os.read(reader, 100_000)
    os.close(reader)
    assert found["drifts"] == 4
    assert b"sweeping water" in shown
    assert b"100%" in shown
    piped = subprocess.run(words, capture_output=True, check=True)
    assert b"sweeping water" not in piped.stderr
    assert json.loads(piped.stdout) == found


def test_no_practice(tmp_path: Path, track: Path) -> None:
    assert "is no practice folder" in refused(tmp_path, *_from("Heron", track))


def test_bytes_that_changed_are_put_back(fished: Path, track: Path) -> None:
    (kept,) = (fished / "tracks" / "Heron").glob("*-heron-8.gpx")
    kept.write_bytes(track.read_bytes()[:5000])
    result = done(fished, *_from("Heron", track))
    assert "its bytes had changed since it was uploaded" in result.stdout
    assert kept.read_bytes() == track.read_bytes()
    assert len(list(kept.parent.glob("*.gpx"))) == 2
    assert report(fished, "check")["faults"] == []


def test_the_drive_home_is_not_on_the_water(begun: Path, tmp_path: Path) -> None:
    home = (Leg(400, 2, 270, fishing=False), Leg(900, 11, 270, fishing=False))
    way = boat(DRIFT_EAST, *BACK, *home, Leg(600, 0.5, 0, fishing=False))
    file = write(tmp_path / "a.gpx", way)
    found = report(begun, *_from("Heron", file))
    assert len(found["drifts"]) == 1
    assert found["tracks"][0]["swept_m2"] == pytest.approx(STRIP_M2, rel=2e-3)
    assert found["tracks"][0]["fishing_s"] == pytest.approx(2500, abs=5)
    assert found["tracks"][0]["ashore_s"] > 600


def test_odd_names_are_kept_safely(begun: Path, tmp_path: Path) -> None:
    odd = "Évening <b>ü & \"q\" 'x' #1.GPX"
    file = write(tmp_path / odd, heron())
    found = report(begun, *_from("Heron", file))
    assert found["tracks"][0]["file"] == odd
    (said,) = (begun / "tracks" / "Heron").glob("*.toml")
    assert tomllib.loads(said.read_text(encoding="utf-8"))["name"] == odd
    assert report(begun, "check")["faults"] == []


def test_two_crossing_drifts_are_counted_where_they_cross(
    begun: Path, tmp_path: Path
) -> None:
    """Twice over: a square of the strip's width, by closed form."""
    cross = boat(Leg(1500, 0.4, 0), BACK[1], start=(0, -300))
    files = (write(tmp_path / "1.gpx", heron()), write(tmp_path / "2.gpx", cross))
    for pair, file in zip(("Heron", "Grebe"), files, strict=True):
        report(begun, *_from(pair, file))
    over = report(begun, "coverage")["drifts_over"]
    assert over["2"] == pytest.approx(FAN.width_m**2, rel=5e-3)
    assert over["1"] == pytest.approx(
        STRIP_M2 + 600 * FAN.width_m + FAN_M2 - 2 * FAN.width_m**2, rel=3e-3
    )


def test_lines_of_boats_and_sectors_do_not_move(fished: Path, tmp_path: Path) -> None:
    """Dividing again changes no track's figures."""
    line = LineString([(-300, -650), (-300, 650)])
    before = report(fished, "coverage")
    done(fished, "divide", "--lines", geojson(tmp_path / "l.geojson", line))
    after = report(fished, "coverage")
    assert after["boats"] == before["boats"]
    assert rough(after["fished_m2"], before["fished_m2"])
    west = next(s for s in after["sectors"] if s["sector"] == "A")
    assert rough(west["water_m2"], box(-1200, -600, -300, 600).area, 1e-5)


FAR = "its day, {}, is {} days from the others: is the device's clock right?"


def test_a_day_far_from_the_others_is_asked_about(begun: Path, tmp_path: Path) -> None:
    """From 24 October 2009 to 8 June 2027 are 6,436 days: 17 years, 4 of them leap."""
    days = (datetime(2027, 6, 8) - datetime(2009, 10, 24)).days
    old = boat(Leg(600, 0.4, 90), begin="2009-10-24T10:00:00+01:00")
    first = write(tmp_path / "old.gpx", old)
    good = write(tmp_path / "good.gpx", heron())
    found = report(begun, *_from("Heron", first, good))["tracks"]
    assert found[0]["remarks"] == [FAR.format("2009-10-24", f"{days:,}")]
    assert found[1]["remarks"] == [FAR.format("2027-06-08", f"{days:,}")]
    again = report(begun, *_from("Heron", first))["tracks"][0]
    assert (again["known"], again["remarks"]) == (True, [])


@pytest.mark.parametrize(("day", "far"), [("2027-08-07", 0), ("2027-08-08", 1)])
def test_two_months_are_not_far(
    begun: Path, track: Path, tmp_path: Path, day: str, far: int
) -> None:
    assert report(begun, *_from("Heron", track))["tracks"][0]["remarks"] == []
    later = boat(Leg(600, 0.4, 90), begin=f"{day}T10:00:00+01:00")
    found = report(begun, *_from("Heron", write(tmp_path / "b.gpx", later)))
    assert len(found["tracks"][0]["remarks"]) == far


def test_a_clock_that_stood_still_is_told(begun: Path, tmp_path: Path) -> None:
    data = boat(Leg(999, 0.4, 90))
    times = re.findall(rb"<time>[^<]+</time>", data)[1:]  # the first is the file's
    for time in times[-700:]:
        data = data.replace(time, times[299])
    stuck = write(tmp_path / "stuck.gpx", data)
    line = report(begun, *_from("Heron", stuck))["tracks"][0]
    assert len(times) == 1000
    assert line["remarks"] == ["its clock stood still for 700 of 1,000 fixes"]
    assert line["dropped_why"]["less than half a second after another"] == 700


def test_a_boat_that_lay_still_is_asked_about(begun: Path, tmp_path: Path) -> None:
    file = write(tmp_path / "still.gpx", boat(*STILL))
    told = done(begun, *_from("Heron", file)).stdout
    line = report(begun, *_from("Heron", file))["tracks"][0]
    assert line["anchored_s"] == pytest.approx(2400, abs=240)
    assert f"  lay still {duration_text(line['anchored_s'])} in open water: " in told


def test_a_short_rest_is_not_asked_about(begun: Path, tmp_path: Path) -> None:
    way = (Leg(900, 0.4, 90), Leg(420, 0.0, 90), Leg(900, 0.4, 90))
    told = done(begun, *_from("Heron", write(tmp_path / "a.gpx", boat(*way)))).stdout
    assert "lay still" not in told


def test_what_was_said_is_not_lost_with_its_mistake(fished: Path, track: Path) -> None:
    said = next((fished / "tracks" / "Heron").glob("*.toml"))
    original = said.with_suffix(".gpx")
    write(said, "shift_min = ten")
    file = write(track.with_name("again.gpx"), original.read_bytes())
    told = refused(fished, *_from("Heron", file))
    assert f"tracks/Heron/{said.name} cannot be read" in told


def test_a_track_that_cannot_be_read_is_at_fault_alone(
    fished: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    track = next((fished / "tracks" / "Heron").glob("*.gpx"))
    track.with_suffix(".toml").unlink()
    usual = Path.read_bytes

    def fails(path: Path) -> bytes:
        if path.name == track.name:
            raise PermissionError(13, "Permission denied")
        return usual(path)

    monkeypatch.setattr(Path, "read_bytes", fails)
    (fault,) = report(fished, "coverage")["faults"]
    assert fault == "Heron: a track could not be read (Permission denied)"
    (fault,) = report(fished, "check", code=1)["faults"]
    assert fault["file"] == f"tracks/Heron/{track.name}"


def _without_times(data: bytes) -> bytes:
    return re.sub(rb"<time>[^<]*</time>", b"", data)


def test_a_track_without_times_counts_if_it_is_said_to_be_all_fishing(
    begun: Path, tmp_path: Path
) -> None:
    """A straight drift of 1,000 m: the water is known, the hours are not."""
    track = write(tmp_path / "no-times.gpx", _without_times(boat(DRIFT_EAST)))
    told = refused(begun, "upload", "--pair", "Heron", track)
    assert "has no times" in told
    assert "--all-fishing, and of which day it is: --day" in told
    words = ("upload", "--pair", "Heron", "--all-fishing", track)
    assert "say of which day it is: --day" in refused(begun, *words)
    found = report(begun, *words, "--day", "2027-06-08")
    (line,) = found["tracks"]
    assert line["untimed"]
    assert line["days"] == ["2027-06-08"]
    assert line["fishing_s"] == 0
    assert rough(line["swept_m2"], STRIP_M2, 0.01)
    assert line["dropped"] == 0
    (drift,) = found["drifts"]
    assert (drift["start"], drift["end"], drift["minutes"]) == ("", "", 0)
    assert rough(drift["length_m"], DRIFT_M, 0.01)
    coverage = report(begun, "coverage")
    assert rough(coverage["fished_m2"], STRIP_M2, 0.01)
    assert coverage["boats"][0]["drifts"] == 1
    page = (begun / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert "Heron on 8 June: its track has no times, so its hours are in no fig" in page
    (line,) = re.findall(r"^2027.*", done(begun, "coverage").stdout, re.MULTILINE)
    assert line.split()[2:6] == ["-"] * 4
    done(begun, "check")


def test_all_of_a_track_may_be_fishing(begun: Path, tmp_path: Path) -> None:
    track = write(tmp_path / "all.gpx", boat(DRIFT_EAST, *BACK))
    plain = report(begun, "upload", "--pair", "Heron", track)["tracks"][0]
    assert plain["motoring_s"] > 500
    again = done(begun, "upload", "--pair", "Heron", "--all-fishing", track).output
    assert "all of it counts as fishing now" in again
    done(begun, "remove", "--pair", "Heron", "all.gpx")
    words = ("upload", "--pair", "Heron", "--all-fishing", "--day", "2027-06-09", track)
    (line,) = report(begun, *words)["tracks"]
    assert line["motoring_s"] == 0
    assert line["days"] == ["2027-06-08"]  # it has times of its own
    total_s = plain["fishing_s"] + plain["motoring_s"]
    assert line["fishing_s"] == pytest.approx(total_s, abs=2)


def test_a_second_phone_without_times_adds_its_water(
    fished: Path, tmp_path: Path
) -> None:
    before = report(fished, "coverage")["boats"]
    north = _without_times(boat(DRIFT_EAST, start=(-500, -400)))
    track = write(tmp_path / "second.gpx", north)
    words = ("--all-fishing", "--day", "2027-06-08")
    found = report(fished, "upload", "--pair", "Heron", *words, track)
    assert [bool(drift["start"]) for drift in found["drifts"]] == [True, False]
    after = report(fished, "coverage")["boats"]
    assert len(after) == len(before)
    for one, other in zip(before, after, strict=True):
        assert one["fishing_s"] == other["fishing_s"]


def test_a_track_that_stays_on_one_spot_tells_nothing(
    begun: Path, tmp_path: Path
) -> None:
    spot = re.findall(rb"<trkpt[^>]*>", boat(DRIFT_EAST))[0] + b"</trkpt>"
    data = b"<gpx><trk><trkseg>" + 9 * spot + b"</trkseg></trk></gpx>"
    words = ("--all-fishing", "--day", "2027-06-08", write(tmp_path / "x.gpx", data))
    told = refused(begun, "upload", "--pair", "Heron", *words)
    assert "stays on one spot and has no times" in told
