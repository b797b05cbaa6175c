"""The stale find: nine offers, left on purpose; six boats moved in; the wind swung.

Right is: 6.75 offers a rod-hour with a wide range, stale and pressed: one boat for 30
minutes early in the day, and no start for all.
"""

from pathlib import Path
from typing import Any

import pytest
from scipy.stats import chi2

from practices_made import BACK, begin, boat, done, report, write
from tracks_made import Leg

FORTY_MIN = 2400.0
DAY, NEXT_DAY = "2027-06-08", "2027-06-09"


@pytest.fixture(scope="module")
def practice(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the practice on the evening of the find."""
    scratch = tmp_path_factory.mktemp("find")
    folder = begin(scratch / "practice", scratch)
    done(folder, "divide")
    track = boat(Leg(FORTY_MIN, 0.4, 90), *BACK)
    done(folder, "upload", "--pair", "Heron", write(scratch / "h.gpx", track))
    for words in ("bow 0/3/0/2 floating", "stern 1/1/1/1 floating"):
        done(folder, "tally", "Heron", "1", *words.split(), "--day", DAY)
    day = ("--day", DAY)
    done(folder, "note", "wind", "W3", *day, "--at", "09:30")
    done(folder, "note", "boats", "6", "--near", "Buoy", *day, "--at", "14:30")
    done(folder, "note", "other", "turned cold", *day, "--at", "21:00")
    return folder


@pytest.fixture(scope="module")
def ahead(practice: Path) -> dict[str, Any]:
    """Return where to go next, with a wind that has swung by 120 degrees."""
    words = ("--day", NEXT_DAY, "--wind", "030@10mph")
    return dict(report(practice, "next", *words))


def test_the_rate_and_its_wide_range(ahead: dict[str, Any]) -> None:
    (line,) = ahead["finds"]
    find = line["find"]
    assert find["offers"] == 9
    assert find["rod_hours"] == pytest.approx(4 / 3, rel=0.02)
    assert find["rate"] == pytest.approx(6.75, rel=0.02)
    # Garwood's interval: halves of chi squared with 18 and 20 degrees of freedom.
    # The range told begins with half an offer at the practice's own mean.
    exact = [
        chi2.ppf(p, n) / 2 / find["rod_hours"] for p, n in ((0.025, 18), (0.975, 20))
    ]
    assert (find["low"], find["high"]) == pytest.approx(exact, rel=0.08)
    assert find["high"] > 3.5 * find["low"]


def test_it_is_stale_and_pressed_and_says_why(ahead: dict[str, Any]) -> None:
    (line,) = ahead["finds"]
    assert line["find"]["states"] == ["stale", "pressed"]
    why = ", ".join(line["find"]["why"])
    assert "wind swung 120 degrees" in why
    assert "cold" in why
    assert "6 other boats at 14:30" in why
    assert "8 fish pricked" in why


def test_one_boat_tries_it_for_half_an_hour_before_eleven(
    ahead: dict[str, Any],
) -> None:
    (line,) = ahead["finds"]
    assert line["advice"] == "one boat, 30 minutes, before 11:00: no start for all"
    (again,) = [row for row in ahead["rows"] if row["what"] == "confirm"]
    assert again["find"] == line["find"]["number"]
    assert again["hours"] == pytest.approx(0.5)
    assert again["before"] == "11:00"


def test_beyond_their_own_water_one_boat_tries_it(practice: Path) -> None:
    words = ("--day", NEXT_DAY, "--wind", "030@10mph", "--across")
    (again,) = [
        row for row in report(practice, "next", *words)["rows"] if row["find"] == 1
    ]
    assert (again["what"], again["hours"], again["before"]) == ("confirm", 0.5, "11:00")


def test_a_quiet_night_leaves_it_fresher(practice: Path, ahead: dict[str, Any]) -> None:
    calm = report(practice, "next", "--day", NEXT_DAY, "--wind", "W3")
    (line,), (swung,) = calm["finds"], ahead["finds"]
    assert line["find"]["left"] > swung["find"]["left"]


def test_all_six_rods_do_not_start_on_it(practice: Path) -> None:
    starts = report(practice, "starts", "--day", NEXT_DAY, "--wind", "030@10mph")
    on_it = [row for row in starts["starts"] if row["first"]["find"] == 1]
    assert len(on_it) <= 2


@pytest.mark.parametrize(("anchoring", "offers"), [("false", []), ("true", [4])])
def test_what_a_boat_met_at_anchor_is_a_find_where_a_match_allows_it(
    tmp_path: Path, anchoring: str, offers: list[int]
) -> None:
    folder = begin(tmp_path / "practice", tmp_path)
    file = folder / "practice.toml"
    told = file.read_text(encoding="utf-8")
    assert "\nanchoring = false" in told
    write(file, told.replace("\nanchoring = false", f"\nanchoring = {anchoring}"))
    # A drift that nobody told of, then forty minutes at one spot.
    away = Leg(200, 2, 0, fishing=False)
    way = (Leg(900, 0.4, 90), away, Leg(FORTY_MIN, 0.0, 90), away)
    done(folder, "upload", "--pair", "Heron", write(tmp_path / "h.gpx", boat(*way)))
    done(folder, "tally", "Heron", "2", "bow", "0/4/0/0", "--day", DAY)
    finds = report(folder, "next", "--day", NEXT_DAY, "--across")["finds"]
    assert [line["find"]["offers"] for line in finds] == offers


def test_half_a_day_has_time_for_it_and_an_hour_has_not(practice: Path) -> None:
    words = ("--day", NEXT_DAY, "--wind", "030@10mph")
    for hours, times in ((8, 1), (2, 0)):  # of two boats
        rows = report(practice, "next", "--hours", hours, *words)["rows"]
        assert [row["what"] for row in rows].count("confirm") == times
