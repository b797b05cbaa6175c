"""`next`: where the next hours do most good, for small practices made by commands."""

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import Point

from practices_made import (
    FRAME,
    LAKE,
    begin,
    done,
    grebe,
    heron,
    refused,
    report,
    rough,
    run,
    write,
)

KEYS = {
    *("practice", "day", "hours", "wind_from_deg", "wind_m_s", "sky", "across"),
    *("pairs", "rows", "chance_now", "chance_after", "even_hours", "searched"),
    *("finds", "lessons", "remarks"),
}
ROW_KEYS = {
    *("pair", "sector", "bank", "place", "lat", "lon", "what", "find", "layer"),
    *("hours", "chance_now", "chance_after", "line", "sink_in_s", "count_s"),
    *("drogue", "drift_m_s", "reaches", "bed_low_m", "bed_high_m", "before", "why"),
}
PAIR_KEYS = {
    *("pair", "sectors", "hours", "search_hours", "confirm_hours"),
    *("motoring_hours", "idle_hours"),
}
JARGON = (
    *("probability", "prior", "posterior", "coverage factor", "allocation"),
    *("bayes", "poisson"),
)
TALLY = (
    ("Heron 1 bow 1/2/0/1 floating", "2027-06-08"),
    ("Heron 1 stern 0/3/0/0 3ips c30 steady", "2027-06-08"),
    ("Heron 1 bow blank floating", "2027-06-09"),
    ("Grebe 1 blank floating", "2027-06-08"),
    ("Grebe 2 bow 0/0/1/0 floating", "2027-06-08"),
)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return Heron's drift on two days and Grebe's two, some of them told."""
    scratch = tmp_path_factory.mktemp("next")
    folder = begin(scratch / "practice", scratch)
    done(folder, "divide")
    for day in (8, 9):
        track = write(scratch / f"h{day}.gpx", heron(day))
        done(folder, "upload", "--pair", "Heron", track)
    done(folder, "upload", "--pair", "Grebe", write(scratch / "g.gpx", grebe()))
    for words, when in TALLY:
        done(folder, "tally", *words.split(), "--day", when)
    return folder


@pytest.fixture(scope="module")
def found(told: Path) -> dict[str, Any]:
    """Return the figures for 14 boat-hours in a south-west wind."""
    figures = report(told, "next", "--hours", 14, "--wind", "SW4")
    assert isinstance(figures, dict)
    return figures


def test_the_figures_and_their_keys(found: dict[str, Any]) -> None:
    assert set(found) == KEYS
    assert found["rows"]
    assert all(set(row) == ROW_KEYS for row in found["rows"])
    assert all(set(pair) == PAIR_KEYS for pair in found["pairs"])
    assert found["practice"] == "Ashlode Pool"
    assert (found["day"], found["hours"]) == ("2027-06-10", 14)
    assert found["wind_from_deg"] == 225
    assert (found["sky"], found["across"]) == (None, False)


def hours_of(found: dict[str, Any], pair: str, what: str) -> float:
    """Return the hours of a pair's rows of one kind."""
    return sum(
        float(row["hours"])
        for row in found["rows"]
        if (row["pair"], row["what"]) == (pair, what)
    )


@pytest.mark.parametrize("hours", [4, None])
def test_the_hours_of_each_pair_add_up(told: Path, hours: int | None) -> None:
    asked = () if hours is None else ("--hours", hours)
    found = report(told, "next", "--wind", "SW4", *asked)
    assert [pair["pair"] for pair in found["pairs"]] == ["Heron", "Grebe"]
    assert rough(sum(pair["hours"] for pair in found["pairs"]), found["hours"])
    assert found["hours"] == (hours or 16)  # two whole days of eight hours
    for pair in found["pairs"]:
        parts = ("search", "confirm", "motoring", "idle")
        spent = sum(pair[f"{part}_hours"] for part in parts)
        assert spent == pytest.approx(pair["hours"], abs=1e-6)
        for what in ("search", "confirm"):
            of_rows = hours_of(found, pair["pair"], what)
            assert of_rows == pytest.approx(pair[f"{what}_hours"], abs=1e-6)


def test_hours_make_fish_likelier_to_have_shown(found: dict[str, Any]) -> None:
    assert 0 < found["chance_now"] < found["chance_after"] < 1
    for row in found["rows"]:
        assert 0 <= row["chance_now"] < row["chance_after"] <= 1
        assert row["why"]
        assert row["place"]
    # Spread evenly over all water, fewer fish would show in the same hours.
    searching_h = sum(pair["search_hours"] for pair in found["pairs"])
    assert found["even_hours"] > searching_h


def test_more_hours_show_more(told: Path, found: dict[str, Any]) -> None:
    few = report(told, "next", "--hours", 6, "--wind", "SW4")
    assert few["chance_now"] == pytest.approx(found["chance_now"])
    assert few["chance_after"] < found["chance_after"]


def test_each_pair_stays_in_its_own_water(told: Path, found: dict[str, Any]) -> None:
    sectors = {pair["pair"]: pair["sectors"] for pair in found["pairs"]}
    assert sectors == {"Heron": ["A"], "Grebe": ["B"]}
    for row in found["rows"]:
        assert row["sector"] in sectors[row["pair"]]
        easting, northing = FRAME.to_metres(row["lon"], row["lat"])
        assert LAKE.buffer(1).contains_properly(Point(float(easting), float(northing)))


@pytest.mark.parametrize("hours", [14, 24])
def test_pairs_go_beyond_their_own_water_only_for_good(told: Path, hours: int) -> None:
    # For few hours it is not worth the motoring.
    home = report(told, "next", "--hours", hours, "--wind", "SW4")
    words = ("--hours", hours, "--wind", "SW4", "--across")
    across = report(told, "next", *words)
    assert across["across"] is True
    assert across["chance_after"] >= home["chance_after"] * (1 - 1e-9)
    # One boat tries each find, at home or not.
    tried = [row["find"] for row in across["rows"] if row["what"] == "confirm"]
    assert sorted(tried) == [1, 2]
    sectors = {pair["pair"]: pair["sectors"] for pair in home["pairs"]}
    abroad = [r for r in across["rows"] if r["sector"] not in sectors[r["pair"]]]
    assert bool(abroad) == (hours == 24)


def test_one_pair_alone(told: Path) -> None:
    found = report(told, "next", "--pair", "grebe", "--wind", "SW4")
    assert [pair["pair"] for pair in found["pairs"]] == ["Grebe"]
    assert found["hours"] == 8
    assert {row["pair"] for row in found["rows"]} == {"Grebe"}


def test_another_light_makes_less_of_what_was_fished(told: Path) -> None:
    note = ("note", "sky", "bright", "--day", "2027-06-08", "--at", "06:00")
    done(told, *note)
    dull, whichever = (
        report(told, "next", "--wind", "SW4", *asked)["chance_now"]
        for asked in (("--sky", "dull"), ())
    )
    assert dull < 0.8 * whichever


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--pair", "Nobody"), "the pairs are Heron, Grebe"),
        (("--sky", "purple"), "write bright, broken or dull"),
        (("--wind", "XX"), "write it like SW4"),
        (("--day", "soon"), "write it like 2027-06-09"),
        (("--hours", "5000"), "like --hours 24"),
    ],
)
def test_nonsense_is_refused_in_one_sentence(
    told: Path, words: tuple[str, str], says: str
) -> None:
    assert says in refused(told, "next", *words)


@pytest.mark.parametrize(
    "words", [("--hours", "0"), ("--hours", "-2"), ("--hours", "x"), ("--drogue", "up")]
)
def test_wrong_usage(told: Path, words: tuple[str, str]) -> None:
    result = run(told, "next", *words)
    assert result.exit_code == 2
    assert words[0] in result.stderr


def test_no_tracks_yet(begun: Path) -> None:
    assert "no tracks yet: say it, like --day 2027-" in refused(begun, "next")
    found = report(begun, "next", "--day", "2027-06-08")
    assert found["chance_now"] == 0
    assert found["chance_after"] > 0
    assert {row["why"] for row in found["rows"]} == {"never fished"}
    assert any("force 4" in remark for remark in found["remarks"])
    assert found["finds"] == []


def test_no_sectors_yet(tmp_path: Path) -> None:
    folder = begin(tmp_path / "pool", tmp_path)
    told = refused(folder, "next", "--day", "2027-06-08")
    assert re.search(r"sweptwater .*\bdivide", told)
    assert "--across" in told
    across = report(folder, "next", "--day", "2027-06-08", "--across")
    assert {row["sector"] for row in across["rows"]} == {None}
    assert {row["pair"] for row in across["rows"]} == {"Heron", "Grebe"}


def test_a_find_below_the_bed_is_tried_again_on_it(begun: Path, tmp_path: Path) -> None:
    # A fast line counted down for a minute in five feet of water.
    lines = ["lat,lon,depth_m"]
    for easting in range(-1150, 1151, 100):
        for northing in range(-550, 551, 100):
            lon, lat = FRAME.to_degrees(easting, northing)
            if LAKE.contains(Point(easting, northing)):
                lines.append(f"{lat:.7f},{lon:.7f},1.5")
    depths = write(tmp_path / "depths.csv", "\n".join(lines) + "\n")
    done(begun, "venue", "add", "--kind", "sounding", depths)
    done(begun, "upload", "--pair", "Heron", write(tmp_path / "h.gpx", heron()))
    words = ["Heron", "1", "bow", "1/2/0/1", "7ips", "c60"]
    done(begun, "tally", *words, "--day", "2027-06-08")
    found = report(begun, "next", "--wind", "SW4")
    (row,) = [row for row in found["rows"] if row["what"] == "confirm"]
    assert row["layer"] == "3-8 ft"
    assert np.all([one["layer"] in ("0-3 ft", "3-8 ft") for one in found["rows"]])


@pytest.fixture(scope="module")
def shown(told: Path) -> tuple[str, str]:
    """Return what a captain reads: on the screen, and the page."""
    screen = done(told, "next", "--wind", "SW4").output
    return screen, (told / "reports" / "next.html").read_text(encoding="utf-8")


def test_the_page_links_nowhere_and_is_small(shown: tuple[str, str]) -> None:
    _, text = shown
    assert len(text.encode()) < 2 * 2**20
    assert not re.search(r"<script[^>]*\ssrc\s*=|<link\b|<img[^>]*\ssrc=.http", text)
    # The map library's own name is all that it may name.
    link = r"(?:href|src|url)\s*[=(]\s*[\"']?(https?://[^/\"')]+)"
    assert set(re.findall(link, text)) <= {"https://leafletjs.com"}


def test_the_words_are_a_captains(shown: tuple[str, str]) -> None:
    screen, text = shown
    body = re.sub(r"<(script|style)\b.*?</\1>", " ", text, flags=re.DOTALL)
    words = re.sub(r"<[^>]+>", " ", body).lower()
    assert "where to go next" in words
    for spoken in (words, screen.lower()):
        assert not [word for word in JARGON if re.search(rf"\b{word}", spoken)]


def test_the_page_warns(shown: tuple[str, str]) -> None:
    _, text = shown
    assert "Nobody knows where fish are" in text
    for caution in ("buoyancy", "thunder", "cold", "dark"):
        assert caution in text.lower()


def test_the_same_question_has_the_same_answer(told: Path) -> None:
    words = ("next", "--hours", 9, "--wind", "240@12mph")
    first = report(told, *words)
    page = (told / "reports" / "next.html").read_bytes()
    assert report(told, *words) == first
    again = (told / "reports" / "next.html").read_bytes()
    random = re.compile(rb"[0-9a-f]{32}")
    assert random.sub(b"", again) == random.sub(b"", page)
