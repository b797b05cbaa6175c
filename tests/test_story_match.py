"""Match morning: six drawn partners, no phones, a west wind, and buoys down the water.

West 14 mph gusting 24, lines up at 18:00 at the jetty, the best water 1.9 miles
downwind of it, ending at buoys. Right is: six starts to learn by heart; the drift cut
short by the rule's distance; leave by 17:21 (28.5 minutes at 4 mph, and 10 to spare);
at most two rods on one bank; what to do if boats are there; the gust caution first.
"""

import json
import shutil
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from match_made import BEST, BUOYS_M, MARGIN_M, MATCH_DAY, WIND, match_practice
from practices_made import FRAME, done, refused, report, tree
from sweptwater.jobs.starts import AskStarts, look_at_starts
from sweptwater.plan.start_risk import StartPlace
from sweptwater.units import MILE_M, MPH_M_S, YARD_M

KEYS = {
    *("practice", "day", "wind_from_deg", "wind_m_s", "gust_m_s", "sky", "drogue"),
    *("stay_ashore", "lines_down", "lines_up", "lines_up_at", "starts", "winds"),
    *("expected_without", "three_or_more", "all_on_best", "most_on_bank", "bold"),
    *("apart_m", "keep_off_m", "stay_s", "phones", "sounders", "anchoring", "rules"),
    *("cautions", "remarks"),
}
START_KEYS = {
    *("rod", "boat", "first", "second", "bold", "chance_without", "leave_by", "line"),
    *("count_s", "why", "propose", "if_boats"),
}
SPOT_KEYS = {
    *("place", "lat", "lon", "bank", "sector", "find", "layer", "sun", "cloud"),
    *("drift", "home_m", "home_s", "leave_by", "offers", "rod_hours", "low", "high"),
    *("left", "states", "doubt", "why"),
}
DRIFT_KEYS = {
    *("from_lat", "from_lon", "to_lat", "to_lon", "course_deg", "length_m", "up_m"),
    *("down_m", "passing_m", "aside_m", "cut_by", "short_m", "drogue_in_s"),
    "drogue_out_s",
}
WIND_SPOT_KEYS = {
    *("find", "place", "drift", "line", "useful_in_m", "useful_out_m", "home_s"),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return match_practice(tmp_path_factory.mktemp("match"))


@pytest.fixture(scope="module")
def told(folder: Path) -> Any:
    return report(folder, "starts", *WIND)


@pytest.fixture(scope="module")
def printed(folder: Path) -> list[str]:
    return done(folder, "starts", *WIND).stdout.splitlines()


def best_of(told: dict[str, Any]) -> Any:
    """Return the spot that is the best water, of whichever rod starts there."""
    return next(
        row["first"]
        for row in told["starts"]
        if row["first"]["rod_hours"] and abs(row["first"]["home_m"] - 1.9 * MILE_M) < 5
    )


def test_the_keys_are_stable(told: dict[str, Any]) -> None:
    assert set(told) == KEYS
    for row in told["starts"]:
        assert set(row) == START_KEYS
        for spot in filter(None, (row["first"], row["second"])):
            assert set(spot) == SPOT_KEYS
            assert set(spot["sun"]) == {"line", "count_s", "known_from"}
            assert set(spot["drift"]) == DRIFT_KEYS
    for wind in told["winds"]:
        assert set(wind) == {"wind", "wind_from_deg", "wind_m_s", "finds"}
        assert all(set(spot) == WIND_SPOT_KEYS for spot in wind["finds"])
    assert set(told["all_on_best"]) == {"place", "expected_without", "three_or_more"}


def test_the_gust_caution_comes_first(told: dict[str, Any], printed: list[str]) -> None:
    assert told["gust_m_s"] == pytest.approx(24 * MPH_M_S)
    assert told["wind_m_s"] == pytest.approx(14 * MPH_M_S)
    assert told["wind_from_deg"] == 270
    # As much as the practice goes afloat in, and not more.
    assert told["stay_ashore"] is False
    assert told["cautions"][0].startswith("Gusts of 24 mph")
    assert "at the most" in told["cautions"][0]
    assert "The venue decides" in told["cautions"][0]
    assert printed[0] == told["cautions"][0]
    safety = " ".join(told["cautions"])
    for word in ("buoyancy aids", "thunder", "carbon rods", "cold water", "dark"):
        assert word in safety
    assert "against the wind" in safety


def test_six_rods_start_and_two_on_one_bank_at_the_most(told: dict[str, Any]) -> None:
    rows = told["starts"]
    assert sorted(row["rod"] for row in rows) == list("123456")
    assert {row["boat"] for row in rows} == {None}
    banks = Counter(row["first"]["bank"] for row in rows)
    assert None not in banks
    assert max(banks.values()) <= 2
    assert sum(row["bold"] for row in rows) == told["bold"] == 2
    for row in rows:
        assert row["second"]["bank"] != row["first"]["bank"]
        assert (row["first"]["find"] is None) == row["bold"]
    chances = [row["chance_without"] for row in rows]
    assert chances == sorted(chances)
    assert told["expected_without"] == pytest.approx(sum(chances))
    assert 0 < told["three_or_more"] < told["all_on_best"]["three_or_more"] < 1
    assert told["expected_without"] < told["all_on_best"]["expected_without"]


def test_those_who_met_the_best_water_start_there(told: dict[str, Any]) -> None:
    best = best_of(told)
    assert best["find"] == 1
    assert best["offers"] == 11
    assert best["doubt"].startswith("met again")
    who = [row["rod"] for row in told["starts"] if row["first"] == best]
    assert set(who) <= {"1", "2"}
    assert who


def test_the_drift_is_cut_short_by_the_rules_distance(told: dict[str, Any]) -> None:
    """From the margin in the west to 50 yards before the buoys, through the place."""
    drift = best_of(told)["drift"]
    end_m, start_m = BUOYS_M - 50 * YARD_M, -2000 + MARGIN_M
    assert drift["course_deg"] == pytest.approx(90, abs=0.01)
    assert drift["length_m"] == pytest.approx(end_m - start_m, abs=1)
    assert drift["down_m"] == pytest.approx(end_m - BEST[0], abs=1)
    assert drift["up_m"] == pytest.approx(BEST[0] - start_m, abs=1)
    assert drift["passing_m"] == pytest.approx(300, abs=1)
    assert drift["cut_by"] == "out of bounds"
    assert drift["short_m"] == pytest.approx(50 * YARD_M, abs=0.5)
    east, _ = FRAME.to_metres(drift["to_lon"], drift["to_lat"])
    assert float(east) == pytest.approx(end_m, abs=1)
    assert drift["drogue_in_s"] > 1.3 * drift["drogue_out_s"]
    # The boats drifted 0.4 m/s in this wind; what open boats do pulls a little.
    assert drift["length_m"] / drift["drogue_out_s"] == pytest.approx(0.4, rel=0.15)


def test_the_boats_leave_by_1721(told: dict[str, Any]) -> None:
    best = best_of(told)
    assert best["home_m"] == pytest.approx(1.9 * MILE_M, abs=2)
    assert best["home_s"] == pytest.approx(28.5 * 60, abs=2)
    assert best["leave_by"] == "2027-06-12T17:21:00+01:00"
    assert told["lines_up"] == "2027-06-12T18:00:00+01:00"
    assert told["lines_up_at"] == "Jetty"
    for row in told["starts"]:
        ends = [row["first"]["leave_by"], row["second"]["leave_by"]]
        assert row["leave_by"] == min(ends)


def test_each_knows_what_to_propose_and_what_to_do_if_boats_are_there(
    told: dict[str, Any], printed: list[str]
) -> None:
    for row in told["starts"]:
        first, second = row["first"]["place"], row["second"]["place"]
        assert f"{first} first, for 45 min" in row["propose"]
        assert second in row["propose"]
        assert "partner" in row["propose"]
        assert "keep 50 yd off" in row["if_boats"]
        assert row["if_boats"].endswith(f"go to {second}.")
    rules = " ".join(told["rules"])
    for word in ("Phones are banned", "by heart", "Sounders", "Anchoring is banned"):
        assert word in rules
    table = printed[printed.index("") + 3 :]
    assert table[0].split()[:3] == ["rod", "start", "then"]
    assert {line.split()[0] for line in table[1:7]} == set("123456")
    assert any("17:21" in line for line in table[1:7])


def test_lines_are_told_for_sun_and_cloud(told: dict[str, Any]) -> None:
    best = best_of(told)
    assert best["sun"] == {"line": "3 in/s", "count_s": 12, "known_from": "met here"}
    assert best["cloud"]["line"] == "3 in/s"
    assert best["cloud"]["known_from"] == "met here in other light"
    bold = next(row["first"] for row in told["starts"] if row["bold"])
    assert bold["sun"]["known_from"] == "reckoned"
    assert bold["doubt"] == "a bold try: nobody knows"


def test_other_winds_are_told(told: dict[str, Any]) -> None:
    assert [wind["wind"] for wind in told["winds"]] == [
        *("N", "NE", "E", "SE", "S", "SW", "W", "NW")
    ]
    by_wind = {wind["wind"]: wind["finds"] for wind in told["winds"]}
    finds = [spot for spot in by_wind["W"] if spot["find"]]
    assert len(finds) == 4
    best = finds[0]
    assert best["drift"]["length_m"] == best_of(told)["drift"]["length_m"]
    assert best["home_s"] == pytest.approx(28.5 * 60, abs=2)
    # 40 m off the south bank a south wind leaves all of the water's width, a north one
    # the way down to a cast before the land.
    north, south = (by_wind[word][0]["drift"] for word in ("N", "S"))
    assert north["up_m"] == pytest.approx(600 + 560 - MARGIN_M, abs=1)
    assert south["down_m"] == pytest.approx(600 + 560 - 22 * YARD_M, abs=1)
    assert (north["cut_by"], south["cut_by"]) == ("land", "land")
    assert best["useful_in_m"] > best["useful_out_m"] > 1


def test_more_gust_than_the_practice_goes_afloat_in_means_ashore(folder: Path) -> None:
    found = report(folder, "starts", *WIND[:-1], "25mph")
    assert found["stay_ashore"] is True
    assert found["cautions"][0].startswith("Stay ashore: gusts of 25 mph")
    assert "venue's rules" in found["cautions"][0]


def test_the_page_is_written_and_says_all_that(
    folder: Path, printed: list[str]
) -> None:
    done(folder, "starts", *WIND)
    page = (folder / "reports" / "starts.html").read_text(encoding="utf-8")
    for text in (printed[0], "If the wind turns", "17:21", "Phones are banned"):
        assert text in page
    assert page.index(printed[0]) < page.index("<table")
    assert "http://" not in page.replace("http://www.w3.org", "")


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("--wind", "W14mph", "--gust", "much"), "how hard gusts blow"),
        (("--wind", "W14mph", "--gust", "24"), "24mph"),
        (("--wind", "W14mph", "--sky", "odd"), "bright, broken or dull"),
        (("--wind", "west"), "--wind"[2:]),
        (("--day", MATCH_DAY), "the wind of 12 June is not known"),
        (("--day", "match", "--wind", "W4"), "no day"),
    ],
)
def test_what_means_nothing_is_refused(
    folder: Path, words: tuple[str, ...], part: str
) -> None:
    assert part in refused(folder, "starts", *words)


def test_the_same_is_told_each_time(folder: Path, told: dict[str, Any]) -> None:
    assert json.dumps(report(folder, "starts", *WIND)) == json.dumps(told)
    page = tree(folder)["reports/starts.html"]
    report(folder, "starts", *WIND)
    assert tree(folder)["reports/starts.html"] == page


def place_at(
    folder: Path, at: tuple[float, float], *, sky: str | None = None
) -> StartPlace:
    """Return what the find at a place is worth."""
    ask = AskStarts(day=MATCH_DAY, wind="W14mph", sky=sky)
    (found,) = (
        one.place
        for one in look_at_starts(folder, ask).candidates
        if abs(one.place.easting - at[0]) < 5 and abs(one.place.northing - at[1]) < 5
    )
    return found


def test_the_best_water_is_worth_what_was_told_of_it(folder: Path) -> None:
    """By hand: four rods drifted 300 m at 0.4 m/s past eleven offers.

    The practice had 23 in twelve rods' 1,000 s, and begins with one in two rod-hours:
    4.5 an hour, which weighs one offer. Nine fish were pricked: half of it is left
    where that presses it, three quarters while it rests.
    """
    sight = look_at_starts(folder, AskStarts(day=MATCH_DAY, wind="W14mph"))
    best, factor = place_at(folder, BEST), sight.searching.clusters.factor
    assert best.shape == pytest.approx(1 + 11 / factor)
    mean = (1 + 23) / (2 + 12 * 1000 / 3600)
    told_h = 4 * 300 / 0.4 / 3600
    (line,) = (one.line for one in sight.candidates if one.place == best)
    assert line is not None
    assert line.find.pricked == 9
    left = {"pressed": 0.5, "resting": 0.75, "fresh": 1.0}
    (state,) = line.find.states
    hours = (1 / mean + told_h / factor) / left[state]
    assert best.hours == pytest.approx(hours, rel=0.05)
    # Half of what was learned goes in 36 h; it was learned until 23 h before.
    assert best.holds == pytest.approx(0.5 ** (23 / 36), abs=0.02)
    # 300 m at about 0.4 m/s, then back at 4 mph and two minutes of handling.
    drift_s = 300 / 0.4
    back_s = max(240, 120 + 300 / (4 * MPH_M_S))
    assert best.fishes == pytest.approx(drift_s / (drift_s + back_s), rel=0.05)
    # Out and home by 28.5 minutes each, home with ten in hand, of eight hours.
    first = [one.place for one in sight.candidates].index(best)
    assert sight.times.out_h[first] == pytest.approx(28.5 / 60, abs=0.001)
    assert sight.times.home_h[first] == pytest.approx(38.5 / 60, abs=0.001)
    assert (sight.times.match_h, sight.times.stay_h) == (8, 0.75)


def test_other_light_and_other_boats_make_a_find_worth_less(
    folder: Path, tmp_path: Path
) -> None:
    """Half of its offers in a light in which it was not met, or where it is pressed."""
    at = (-1000.0, -555.0)
    known = place_at(folder, at)
    assert place_at(folder, at, sky="bright").hours == pytest.approx(known.hours)
    assert place_at(folder, at, sky="dull").hours == pytest.approx(2 * known.hours)
    pressed = Path(shutil.copytree(folder, tmp_path / "pressed"))
    lon, lat = (float(v) for v in FRAME.to_degrees(*at))
    words = ("boats", "6", "--day", "2027-06-11", "--at", "16:00")
    done(pressed, "note", *words, "--near", f"{lat:.6f},{lon:.6f}")
    less = place_at(pressed, at)
    assert less.hours == pytest.approx(2 * known.hours)
    assert less.holds == pytest.approx(known.holds)
    assert "6 other boats at 16:00" in less.why
