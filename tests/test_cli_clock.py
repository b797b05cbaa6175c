"""Midnights, changes of the clock, far zones and shifts, from the outside.

What day and hour a moment is, is judged by Python's zoneinfo and datetime.
"""

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from practices_made import BACK, DRIFT_EAST, boat, done, heron, report, run, write
from sweptwater.jobs.afloat import day_fixes, local_days
from sweptwater.jobs.opened import open_folder
from sweptwater.practice.originals import Original
from sweptwater.practice.said import Said
from sweptwater.practice.settings import Settings
from sweptwater.tracks.read import read_gpx
from tracks_made import Leg

SPENT = ("fishing_s", "motoring_s", "ashore_s", "unknown_s")
DRIFT_S = DRIFT_EAST.seconds
WHOLE_S = DRIFT_S + sum(leg.seconds for leg in BACK)

ZONES = (
    *("Europe/London", "Asia/Kolkata", "Asia/Kathmandu", "Pacific/Auckland"),
    *("Australia/Lord_Howe", "America/St_Johns", "America/Sao_Paulo", "UTC"),
    *("Pacific/Chatham", "Pacific/Kiritimati", "America/Los_Angeles"),
)
SPRING, AUTUMN = date(2027, 3, 28), date(2027, 10, 31)
"""When the clocks of Europe are changed in 2027, at 01:00 UTC."""


def _zoned(folder: Path, zone: str) -> Path:
    """Put a practice into another time zone, as a captain would."""
    settings = folder / "practice.toml"
    text = settings.read_text()
    settings.write_text(
        re.sub(r'^time_zone = "[^"]+"', f'time_zone = "{zone}"', text, flags=re.M)
    )
    assert open_folder(folder).settings.time_zone == zone
    return folder


def _uploaded(folder: Path, data: bytes, *words: object) -> Any:
    file = write(folder.parent / "a.gpx", data)
    return report(folder, "upload", "--pair", "Heron", *words, file)


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


@given(
    st.floats(datetime(2012, 1, 1, tzinfo=UTC).timestamp(), 2.2e9),
    st.sampled_from(ZONES),
)
@example(datetime(2027, 3, 28, 0, 59, 59, tzinfo=UTC).timestamp(), "Europe/London")
@example(datetime(2027, 10, 31, 1, 30, tzinfo=UTC).timestamp(), "Europe/London")
@example(datetime(2027, 10, 30, 23, 30, tzinfo=UTC).timestamp(), "Europe/London")
@example(datetime(2021, 9, 21, 19, 45, tzinfo=UTC).timestamp(), "Asia/Tehran")
@example(datetime(2027, 6, 9, 18, 29, 59, tzinfo=UTC).timestamp(), "Asia/Kolkata")
@example(datetime(2027, 6, 9, 18, 30, tzinfo=UTC).timestamp(), "Asia/Kolkata")
def test_a_moments_day_is_the_zones(moment_s: float, zone: str) -> None:
    settings = Settings("a", ("Heron",), time_zone=zone)
    (found,) = local_days(np.array([moment_s]), settings)
    told = datetime.fromtimestamp(moment_s, UTC).astimezone(ZoneInfo(zone)).date()
    assert date.fromordinal(int(found)) == told


@pytest.mark.parametrize(
    ("day", "hours"), [(SPRING, 23), (AUTUMN, 25), (SPRING + timedelta(days=1), 24)]
)
def test_a_day_on_which_the_clock_is_changed_has_its_hours(
    day: date, hours: int
) -> None:
    settings = Settings("a", ("Heron",), time_zone="Europe/London")
    noon_s = datetime(day.year, day.month, day.day, 12, tzinfo=UTC).timestamp()
    minutes = noon_s + 60 * np.arange(-1440.0, 1440.0)
    assert (local_days(minutes, settings) == day.toordinal()).sum() == 60 * hours


@pytest.mark.parametrize("zone", ["Europe/London", "Asia/Kolkata", "Pacific/Auckland"])
def test_the_fixes_of_two_days_in_one_file(begun: Path, zone: str) -> None:
    """Every fix is in the day that zoneinfo says, and none is lost."""
    opened = open_folder(_zoned(begun, zone))
    start = datetime(2027, 6, 8, 22, 15, tzinfo=ZoneInfo(zone))
    data = boat(Leg(9000, 0.1, 90), begin=start.isoformat())
    original = Original(Path("a.gpx"), "Heron", Said("a.gpx"))
    parts = day_fixes(opened, original, read_gpx(data))
    assert [part.day for part in parts] == [date(2027, 6, 8), date(2027, 6, 9)]
    assert [len(part.record.time_s) for part in parts] == [105 * 60, 45 * 60 + 1]
    for part in parts:
        told = {
            datetime.fromtimestamp(at, UTC).astimezone(ZoneInfo(zone)).date()
            for at in part.record.time_s[[0, -1]].tolist()
        }
        assert told == {part.day}


@pytest.mark.parametrize("zone", ["Europe/London", "Asia/Kolkata", "Pacific/Auckland"])
def test_a_drift_over_midnight_is_cut_in_two(begun: Path, zone: str) -> None:
    """A boat-day is a local day: two drifts, and together all of the one."""
    start = datetime(2027, 6, 8, 23, 40, tzinfo=ZoneInfo(zone))
    found = _uploaded(
        _zoned(begun, zone), boat(DRIFT_EAST, *BACK, begin=start.isoformat())
    )
    first, second = found["drifts"]
    assert [first["day"], second["day"]] == ["2027-06-08", "2027-06-09"]
    assert [first["number"], second["number"]] == [1, 1]
    midnight = datetime(2027, 6, 9, tzinfo=ZoneInfo(zone))
    assert abs((_moment(first["end"]) - midnight).total_seconds()) <= 1
    assert abs((_moment(second["start"]) - midnight).total_seconds()) <= 1
    assert _moment(first["start"]).utcoffset() == start.utcoffset()
    assert first["minutes"] == pytest.approx(20, abs=0.1)
    assert 60 * (first["minutes"] + second["minutes"]) == pytest.approx(DRIFT_S, abs=6)
    assert first["length_m"] + second["length_m"] == pytest.approx(1000, abs=2)
    lines = report(begun, "coverage")["boats"]
    assert [line["day"] for line in lines] == ["2027-06-08", "2027-06-09"]
    spent_s = sum(line[what] for line in lines for what in SPENT)
    assert spent_s == pytest.approx(WHOLE_S, abs=1.5)
    assert sum(line["unknown_s"] for line in lines) == 0


@pytest.mark.parametrize(
    ("begin", "start", "end"),
    [
        # 00:45 GMT; at 01:00 the clock goes to 02:00.
        ("2027-03-28T00:45:00Z", "2027-03-28T00:45+00:00", "2027-03-28T02:26+01:00"),
        # 01:45 BST; at 02:00 the clock goes back to 01:00.
        ("2027-10-31T00:45:00Z", "2027-10-31T01:45+01:00", "2027-10-31T01:26+00:00"),
    ],
)
def test_a_drift_while_the_clock_is_changed_is_one(
    begun: Path, begin: str, start: str, end: str
) -> None:
    (drift,) = _uploaded(begun, boat(DRIFT_EAST, *BACK, begin=begin))["drifts"]
    assert drift["minutes"] == pytest.approx(DRIFT_S / 60, abs=0.1)
    for told, meant in ((drift["start"], start), (drift["end"], end)):
        assert abs((_moment(told) - _moment(meant)).total_seconds()) <= 60
        assert _moment(told).utcoffset() == _moment(meant).utcoffset()
    (line,) = report(begun, "coverage")["boats"]
    assert sum(line[what] for what in SPENT) == pytest.approx(WHOLE_S, abs=1)


def test_the_hours_that_are_printed_are_local(begun: Path) -> None:
    data = boat(DRIFT_EAST, *BACK, begin="2027-06-09T04:00:00Z")
    file = write(begun.parent / "a.gpx", data)
    told = done(_zoned(begun, "Asia/Kolkata"), "upload", "--pair", "Heron", file).stdout
    assert "Heron's drifts on 2027-06-09" in told
    assert told.splitlines()[6].split()[:3] == ["1", "09:30", "10:11"]


def test_summer_in_the_south(begun: Path) -> None:
    """Auckland goes to summer time on 26 September 2027: on the 25th at 14:00 UTC."""
    data = boat(DRIFT_EAST, *BACK, begin="2027-09-25T13:40:00Z")
    (drift,) = _uploaded(_zoned(begun, "Pacific/Auckland"), data)["drifts"]
    assert drift["day"] == "2027-09-26"
    assert drift["start"].startswith("2027-09-26T01:40:0")
    assert drift["start"].endswith("+12:00")
    assert drift["end"].startswith("2027-09-26T03:21:")
    assert drift["end"].endswith("+13:00")


def test_two_days_in_one_file_are_two_boat_days(begun: Path) -> None:
    """The night between them is nobody's, and unknown to neither."""
    one, two = (heron(day).decode() for day in (8, 9))
    middle = two[two.index("<trkseg>") :]
    both = one[: one.index("</trk>")] + middle
    found = _uploaded(begun, both.encode())
    (line,) = found["tracks"]
    assert line["days"] == ["2027-06-08", "2027-06-09"]
    assert line["fixes"] == 2 * 3101
    assert line["unknown_s"] == 0
    assert [(d["day"], d["number"]) for d in found["drifts"]] == [
        ("2027-06-08", 1),
        ("2027-06-09", 1),
    ]
    for boat_line in report(begun, "coverage")["boats"]:
        assert sum(boat_line[what] for what in SPENT) == pytest.approx(WHOLE_S, abs=1)


# Shifts


def test_a_shift_moves_a_track_to_another_day_in_every_figure(begun: Path) -> None:
    """Fourteen hours after 10:00 is midnight: the next day has all of it."""
    plain = _uploaded(begun, heron(), "--shift", 0)
    sidecar = next((begun / "tracks" / "Heron").glob("*.toml"))
    before = report(begun, "coverage", "--day", "2027-06-08")
    text = sidecar.read_text().replace("shift_min = 0", "shift_min = 840")
    sidecar.write_text(text)
    after = report(begun, "coverage", "--day", "2027-06-09")
    assert [line["day"] for line in before["boats"]] == ["2027-06-08"]
    assert [line["day"] for line in after["boats"]] == ["2027-06-09"]
    for key in ("fished_m2", "fished_share", "drifts"):
        assert after[key] == pytest.approx(before[key])
    (was,), (now,) = before["boats"], after["boats"]
    assert now["start_s"] - was["start_s"] == pytest.approx(14 * 3600)
    assert now["end_s"] - was["end_s"] == pytest.approx(14 * 3600)
    for what in (*SPENT, "swept_m2", "new_m2", "drift_m"):
        assert now[what] == pytest.approx(was[what], abs=1e-6)
    assert "2027-06-08" not in {b["day"] for b in report(begun, "coverage")["boats"]}
    again = _uploaded(begun, heron())  # the same file: told as it was put right
    (drift,) = again["drifts"]
    moved = _moment(drift["start"]) - _moment(plain["drifts"][0]["start"])
    assert moved == timedelta(hours=14)
    assert again["tracks"][0]["days"] == ["2027-06-09"]


def test_a_shift_back_over_midnight_cuts_a_drift(begun: Path) -> None:
    """Half an hour back, and half a minute, over midnight."""
    data = boat(DRIFT_EAST, *BACK, begin="2027-06-09T00:20:00+01:00")
    found = _uploaded(begun, data, "--shift", -30.5)
    assert found["tracks"][0]["days"] == ["2027-06-08", "2027-06-09"]
    first, second = found["drifts"]
    meant = _moment("2027-06-08T23:49:30+01:00")
    assert abs((_moment(first["start"]) - meant).total_seconds()) <= 5
    assert 60 * (first["minutes"] + second["minutes"]) == pytest.approx(DRIFT_S, abs=6)


def test_a_shift_of_1024_weeks_brings_a_track_back(begun: Path) -> None:
    """7,168 days before 8 June 2027 is 23 October 2007, in summer time still."""
    assert date(2027, 6, 8) - timedelta(days=7168) == date(2007, 10, 23)
    data = boat(DRIFT_EAST, *BACK, begin="2007-10-23T10:00:00+01:00")
    found = _uploaded(begun, data, "--shift", 10_321_920)
    assert found["tracks"][0]["days"] == ["2027-06-08"]
    assert found["drifts"][0]["start"].startswith("2027-06-08T10:00:0")


@pytest.mark.parametrize(
    ("zone", "write_min"),
    [("Europe/London", "-60"), ("America/Chicago", "300"), ("UTC", None)],
)
def test_times_without_a_zone_are_asked_about_with_what_to_write(
    begun: Path, zone: str, write_min: str | None
) -> None:
    """June in London is an hour ahead of UTC, in Chicago five behind: zoneinfo."""
    _zoned(begun, zone)
    naive = re.sub(rb"(T[0-9:]+)(\.\d+)?Z", rb"\1", heron())
    (track,) = _uploaded(begun, naive)["tracks"]
    asked = [text for text in track["remarks"] if "device writes local time" in text]
    assert len(asked) == (write_min is not None)
    if write_min:
        (minutes,) = re.findall(r"upload \S+ again with --shift (\S+?):", asked[0])
        assert minutes == write_min
        _uploaded(begun, naive, "--shift", minutes)
        (boat_day,) = report(begun, "coverage")["boats"]
        local = datetime.fromtimestamp(boat_day["start_s"], ZoneInfo(zone))
        assert f"{local:%H:%M}" == "09:00"  # as the file has it


def test_a_needless_day_is_told(begun: Path) -> None:
    found = _uploaded(begun, heron(), "--day", "2027-06-20")
    (track,) = found["tracks"]
    assert track["days"] == ["2027-06-08"]
    assert any("--day changes nothing" in text for text in track["remarks"])


@pytest.mark.parametrize("minutes", ["abc", "1,5", "nan", "inf", "1:30", ""])
def test_a_shift_that_is_no_number_is_told_in_plain_words(
    begun: Path, tmp_path: Path, minutes: str
) -> None:
    file = write(tmp_path / "a.gpx", heron())
    result = run(begun, "upload", "--pair", "Heron", "--shift", minutes, file)
    assert result.exit_code == 2
    assert f"'--shift': {minutes!r} is no number" in result.stderr
    assert "range" not in result.stderr + done(begun, "upload", "--help").stdout
