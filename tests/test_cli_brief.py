"""The match brief of the match morning: what it says, in which order, and its cards.

West 14 mph gusting 24, lines up at 18:00 at the jetty, the best water 1.9 miles
downwind, ending at buoys: leave by 17:21 (28.5 minutes at 4 mph, and 10 to spare).
"""

import re
import shutil
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from match_made import WIND, match_practice
from practices_made import done, refused, report
from sweptwater.practice.tackle import TackleRules

KEYS = {
    *("practice", "day", "stay_ashore", "first", "conditions", "times", "rules"),
    *("triggers", "known", "places", "unknown", "closed", "cautions", "cards"),
    "starts",
}
SECTIONS = (
    *("Conditions", "Times", "Rules of the match", "Who starts where"),
    *("When something changes", "If the wind turns", "Where it is"),
    *("What we know, and how surely", "Where fish were met"),
    *("What we do not know, and nobody has fished", "Out of bounds"),
    *("How to stay safe", "Rod cards"),
)

MOST_WORDS = 60
"""A card with more is learned by nobody (common practice, no source)."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return match_practice(tmp_path_factory.mktemp("match"))


@pytest.fixture(scope="module")
def told(folder: Path) -> Any:
    return report(folder, "brief", *WIND)


@pytest.fixture(scope="module")
def page(folder: Path, told: Any) -> str:
    return (folder / "reports" / "brief.html").read_text(encoding="utf-8")


def lines_of(card: dict[str, Any]) -> dict[str, str]:
    """Return a card's lines by their words; of a word twice the first."""
    return dict(reversed(card["lines"]))


def best_card(told: Any) -> dict[str, str]:
    """Return the card of a rod that starts at the best water."""
    rods = {row["rod"] for row in told["starts"]["starts"] if row["first"]["find"] == 1}
    return next(lines_of(card) for card in told["cards"] if card["rod"] in rods)


def heading(title: str) -> re.Pattern[str]:
    return re.compile(rf"<h2[^>]*>{title}")


def words_of(page: str, title: str) -> str:
    """Return the text of a section of the page."""
    body = heading(title).split(page, maxsplit=1)[1]
    body = re.split(r"<h2", body, maxsplit=1)[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def test_the_keys_are_stable(told: dict[str, Any]) -> None:
    assert set(told) == KEYS
    assert {tuple(card) for card in told["cards"]} == {("rod", "boat", "lines")}
    assert {tuple(one) for one in told["triggers"]} == {("when", "do")}
    assert {tuple(one) for one in told["places"]} == {
        ("place", "rods", "line", "met", "sure")
    }


def test_the_gust_comes_first_and_the_sections_in_their_order(
    told: dict[str, Any], page: str
) -> None:
    assert told["first"].startswith("Gusts of 24 mph")
    body = page.split("<main>", 1)[1]
    heads = [found.start() for t in SECTIONS if (found := heading(t).search(body))]
    places = [body.index(told["first"]), *heads]
    assert len(heads) == len(SECTIONS)
    assert places == sorted(places)


def test_six_cards_are_short_enough_to_learn(told: dict[str, Any]) -> None:
    """Sixty words at the most (common practice, no source)."""
    assert [card["rod"] for card in told["cards"]] == [
        row["rod"] for row in told["starts"]["starts"]
    ]
    for card in told["cards"]:
        words = " ".join(f"{word} {text}" for word, text in card["lines"]).split()
        assert len(words) <= MOST_WORDS
        assert card["lines"][0][0] == "Start"
        assert card["lines"][-1][0] == "Leave"
        assert lines_of(card)["If"] == "boats are there, or no offer for 45 min"


def test_the_card_of_the_best_water_says_where_how_deep_and_when_to_leave(
    told: dict[str, Any],
) -> None:
    card = best_card(told)
    # 3 in/s for 12 s is 36 inches.
    assert card["Fish"] == "3 in/s, count 12, 3 ft down"
    assert card["Drift"] == "E, stop 50 yd before the line out of bounds"
    leave = min(
        row["leave_by"] for row in told["starts"]["starts"] if row["first"]["find"] == 1
    )
    assert card["Leave"] == leave[11:16] == "17:21"


def test_what_a_rod_does_when_something_changes(told: dict[str, Any]) -> None:
    triggers = {one["when"]: one["do"] for one in told["triggers"]}
    assert "20 yd further out" in triggers["Sun out for 15 min"]
    assert "Clouded over for 15 min" in triggers
    assert triggers["No offer for 45 min, or boats on your start"] == (
        "your second choice"
    )
    assert triggers["Thunder"] == "lines in, rods down, ashore at once"
    assert "White horses all over, or gusts of 24 mph" in triggers


def test_how_fast_a_boat_may_drift_is_by_the_sink_rate(told: dict[str, Any]) -> None:
    """By hand: useful depth = useful x rate x cast / speed, in the layer's middle."""
    tackle = TackleRules()
    paces = [one for one in told["triggers"] if one["when"].startswith("Drifting")]
    for one in paces:
        found = re.match(
            r"Drifting faster than ([\d.]+) yd a minute with ([\d.]+) in/s at "
            r"(\d+)-(\d+) ft \(a boat's length in under (\d+) s\)",
            one["when"],
        )
        assert found, one["when"]
        pace, rate, top, low, length_s = (float(v) for v in found.groups())
        middle_yd = (top + low) / 2 / 3
        cast_yd = tackle.cast_m / 0.9144
        assert pace == pytest.approx(
            tackle.useful * rate / 36 * 60 * cast_yd / middle_yd, abs=0.5
        )
        assert length_s == pytest.approx(5 / (pace / 60), abs=0.8)


def test_what_is_known_and_what_is_not(told: dict[str, Any], page: str) -> None:
    """Eleven offers were met at the best water, 23 in all, in 12 rods' 1,000 s."""
    assert told["known"][0].startswith("23 offers in 3.3 rod-hours")
    best = told["places"][0]
    assert best["met"].startswith("11 offers")
    assert best["sure"].startswith("met again")
    assert best["rods"]
    unfished = report_unfished(page)
    assert unfished in told["unknown"][0]
    assert "Buoys" in told["closed"]
    assert "keep 50 yd off all of it" in told["closed"]


def report_unfished(page: str) -> str:
    """Return the share of unfished water that the page tells."""
    found = re.search(
        r"[\d.]+ % of the water is unfished",
        words_of(page, "What we do not know, and nobody has fished"),
    )
    assert found
    return found[0]


def test_unfished_water_is_told_as_unfished_tells_it(
    folder: Path, told: dict[str, Any]
) -> None:
    found = report(folder, "unfished")
    water_m2 = report(folder, "coverage")["water_m2"]
    share = round(100 * found["unfished_m2"] / water_m2)
    assert told["unknown"][0].startswith(f"{share} % of the water is unfished")


def test_the_cautions_are_there(told: dict[str, Any], page: str) -> None:
    """Bow to the wind, 1-10-1 and 30 minutes: sources in jobs/brief_conditions."""
    safe = words_of(page, "How to stay safe")
    for word in (
        *("Buoyancy aids", "kill cord", "bow to the wind", "one minute", "carbon rods"),
        *("30 minutes", "No number to ring is known", "rangers", "against the wind"),
    ):
        assert word in safe, word
    foot = page.split("<article", 1)[1].split("</article>", 1)[0]
    for word in ("leave it ashore", "Buoyancy aid on", "Thunder: ashore", "________"):
        assert word in foot, word


def test_the_page_stands_alone_and_is_small(page: str) -> None:
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert "https://" not in page
    assert "<script" not in page
    assert len(page.encode()) < 300_000
    for link in re.findall(r'href="#([^"]+)"', page):
        assert f'id="{link}"' in page, link


def test_the_command_prints_the_cards_after_the_gust(folder: Path) -> None:
    printed = done(folder, "brief", *WIND).stdout.splitlines()
    assert printed[0].startswith("Gusts of 24 mph")
    assert [line for line in printed if line.startswith("rod ")] == [
        f"rod {card['rod']}" for card in report(folder, "brief", *WIND)["cards"]
    ]
    assert "Leave  17:21" in printed


def test_the_same_is_written_each_time(folder: Path, page: str) -> None:
    report(folder, "brief", *WIND)
    assert (folder / "reports" / "brief.html").read_text(encoding="utf-8") == page


def test_more_gust_than_the_practice_goes_afloat_in_means_ashore(
    folder: Path, tmp_path: Path
) -> None:
    copy = Path(shutil.copytree(folder, tmp_path / "copy"))
    found = report(copy, "brief", *WIND[:-1], "25mph")
    assert found["stay_ashore"] is True
    assert found["first"].startswith("Stay ashore")
    assert all(card["lines"][0][0] == "First" for card in found["cards"])
    page = (copy / "reports" / "brief.html").read_text(encoding="utf-8")
    assert '<p class="first ashore"' in page


def test_what_is_noted_and_the_number_to_ring_are_handed_on(
    folder: Path, tmp_path: Path
) -> None:
    copy = Path(shutil.copytree(folder, tmp_path / "copy"))
    day = ("--day", "2027-06-11")
    done(copy, "note", "temp-top", "14.5", *day)
    done(copy, "note", "hatch", "<b>olives</b>", *day)
    done(copy, "note", "other", "a word for the captain alone", *day)
    settings = copy / "practice.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(
        text.replace('ring = ""', 'ring = "01632 960123"', 1), encoding="utf-8"
    )
    found = report(copy, "brief", *WIND)
    noted = next(one for one in found["conditions"] if one.startswith("Noted last"))
    assert "water at the top 14.5 C (58 F) (11 June)" in noted
    assert "hatch <b>olives</b>" in noted
    assert "captain alone" not in str(found)
    assert any("ring 01632 960123" in one for one in found["cautions"])
    page = (copy / "reports" / "brief.html").read_text(encoding="utf-8")
    assert "hatch &lt;b&gt;olives&lt;/b&gt;" in page
    assert "In need ring 01632 960123. The rangers decide." in page


def test_with_nothing_told_every_section_says_so(begun: Path) -> None:
    found = report(begun, "brief", "--day", "2027-06-12", "--wind", "W4")
    page = (begun / "reports" / "brief.html").read_text(encoding="utf-8")
    assert found["known"] == [
        "Nobody has told what was met: nothing is known of fish on this water"
    ]
    assert found["conditions"][-1].startswith("Nothing is noted of the water")
    assert any("is not known, since no line was told" in t for t in found["unknown"])
    for title in SECTIONS:
        assert len(words_of(page, title)) > 20, title


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("--wind", "W14mph", "--sky", "odd"), "bright, broken or dull"),
        (("--day", "2027-06-12"), "the wind of 12 June is not known"),
    ],
)
def test_what_means_nothing_is_refused(
    folder: Path, words: tuple[str, ...], part: str
) -> None:
    assert part in refused(folder, "brief", *words)
