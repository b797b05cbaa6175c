"""What `upload` asks of a clock, and that doing what it says puts it right."""

import re
from pathlib import Path
from typing import Any

import pytest

from practices_made import boat, done, gpx_of, heron, report, write
from sweptwater.practice.originals import list_originals
from tracks_made import Leg, trip

DAY = (
    Leg(2500, 0.3, 95),
    Leg(400, 2, 272, fishing=False),
    Leg(2500, 0.3, 80),
    Leg(390, 2, 265, fishing=False),
    Leg(1500, 0.3, 90),
)
"""Two hours of a boat's way, from 500 m west of the lake's middle."""


def _upload(folder: Path, pair: str, name: str, data: bytes, *words: object) -> Any:
    file = write(folder.parent / name, data)
    return report(folder, "upload", "--pair", pair, *words, file)["tracks"][0]


def _phone(begin: str, north_m: float = 0.0) -> bytes:
    return gpx_of(trip(*DAY), start=(-500, north_m), begin=begin)


def _obey(folder: Path, told: str) -> None:
    """Do what a question says."""
    match = re.search(r"upload (\S+) again with --shift ([-\d.]+)", told)
    assert match, told
    (original,) = [
        item
        for item in list_originals(folder, ("Heron", "Grebe"))
        if item.name == match[1]
    ]
    words = ("upload", "--pair", original.pair, f"--shift={match[2]}")
    assert "is told anew" in done(folder, *words, folder.parent / match[1]).output


def test_a_second_phone_an_hour_out(begun: Path) -> None:
    assert (
        _upload(begun, "Heron", "a.gpx", _phone("2027-06-08T09:00:00Z"))["remarks"]
        == []
    )
    late = _upload(begun, "Heron", "b.gpx", _phone("2027-06-08T10:00:00Z", 4))
    (told,) = late["remarks"]
    assert told.startswith("it goes the way of a.gpx, Heron's too, 60 min later; ")
    assert "not in the same boat" in done(begun, "coverage").output
    _obey(begun, told)
    assert "not in the same boat" not in done(begun, "coverage").output
    (line,) = report(begun, "coverage")["boats"]
    assert line["drifts"] == 3
    assert line["end_s"] - line["start_s"] == pytest.approx(7290, abs=2)


def test_local_time_as_utc_is_asked_and_put_right(begun: Path) -> None:
    """From 16:00 to 18:01 in summer time, on 24 October: the sun sets at 17:40."""
    line = _upload(begun, "Heron", "a.gpx", _phone("2027-10-24T16:00:00Z"))
    (told,) = line["remarks"]
    assert "does the device write local time as if it were UTC?" in told
    assert "again with --shift -60" in told
    _obey(begun, told)
    (boat_line,) = report(begun, "coverage")["boats"]
    assert boat_line["start_s"] % 86400 == 15 * 3600


def test_a_shift_that_was_wrong_is_reckoned_in(begun: Path) -> None:
    """The captain said an hour, and it was none: back to nothing."""
    _upload(begun, "Heron", "a.gpx", _phone("2027-06-08T09:00:00Z"))
    data = _phone("2027-06-08T09:00:00Z", 4)
    (told,) = _upload(begun, "Heron", "b.gpx", data, "--shift", 60)["remarks"]
    assert "if its own, upload b.gpx again with --shift 0" in told


def test_a_count_of_weeks_that_began_anew(fished: Path) -> None:
    """7,168 days before 10 June 2027 is 25 October 2007."""
    old = boat(Leg(900, 0.4, 90), begin="2007-10-25T10:00:00+01:00")
    (told,) = _upload(fished, "Grebe", "old.gpx", old)["remarks"]
    assert "2007-10-25, is 1,024 weeks before 2027-06-10" in told
    assert "again with --shift 10321920" in told
    _obey(fished, told)
    days = {line["day"] for line in report(fished, "coverage")["boats"]}
    assert days == {"2027-06-08", "2027-06-09", "2027-06-10"}


def test_a_clock_that_was_put_back(begun: Path) -> None:
    text = boat(Leg(1200, 0.4, 90), begin="2027-06-08T10:30:00+01:00").decode()
    ten = text.index("<time>2027-06-08T09:45:00Z")
    turned = text[:ten] + text[ten:].replace("T09:4", "T08:4")
    (told,) = _upload(begun, "Heron", "a.gpx", turned.encode())["remarks"]
    assert told.startswith("its clock went back by 60 min after 10:44 on 8 June")


def test_nothing_is_asked_again_of_what_is_there(begun: Path) -> None:
    words = ("upload", "--pair", "Heron", write(begun.parent / "a.gpx", heron()))
    for _ in range(2):
        assert "?" not in done(begun, *words).stdout
