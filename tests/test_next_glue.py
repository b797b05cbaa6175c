"""What moves `next`: hopes, stocking, silence, the light; and the plan laid for it."""

import re
import shutil
from itertools import groupby
from pathlib import Path
from typing import Any

import pytest

from practices_made import begin, done, grebe, heron, refused, report, write

WORDS = ("--day", "2027-06-10", "--wind", "W3")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return Heron's drift and Grebe's two, all told."""
    scratch = tmp_path_factory.mktemp("next")
    folder = begin(scratch / "practice", scratch)
    done(folder, "divide")
    done(folder, "upload", "--pair", "Heron", write(scratch / "h.gpx", heron()))
    done(folder, "upload", "--pair", "Grebe", write(scratch / "g.gpx", grebe()))
    day = ("--day", "2027-06-08")
    done(folder, "note", "sky", "bright", *day, "--at", "06:00")
    for words in ("Heron 1 blank floating", "Grebe 1 blank 3ips", "Grebe 2 blank 3ips"):
        done(folder, "tally", *words.split(), *day)
    return folder


@pytest.fixture(scope="module")
def ahead(told: Path) -> dict[str, Any]:
    """Return what the command says."""
    return dict(report(told, "next", "--hours", "16", *WORDS))


def test_a_pair_is_sent_to_its_own_water(told: Path, ahead: dict[str, Any]) -> None:
    sectors = {pair["pair"]: set(pair["sectors"]) for pair in ahead["pairs"]}
    assert all(row["sector"] in sectors[row["pair"]] for row in ahead["rows"])
    wide = report(told, "next", "--hours", "16", "--across", *WORDS)
    assert wide["chance_after"] >= ahead["chance_after"] - 1e-3
    only = report(told, "next", "--hours", "8", "--pair", "grebe", *WORDS)
    assert {row["pair"] for row in only["rows"]} == {"Grebe"}


def test_hours_bring_something_and_more_hours_more(
    told: Path, ahead: dict[str, Any]
) -> None:
    assert 0 < ahead["chance_now"] < ahead["chance_after"] < 1
    assert all(row["chance_now"] < row["chance_after"] for row in ahead["rows"])
    fewer = report(told, "next", "--hours", "8", *WORDS)
    assert ahead["chance_now"] == fewer["chance_now"]
    assert fewer["chance_after"] < ahead["chance_after"]
    assert ahead["even_hours"] is None or ahead["even_hours"] > 16 * 0.6


def test_hours_rise_with_what_the_captain_hopes(
    told: Path, ahead: dict[str, Any], tmp_path: Path
) -> None:
    hoped = _copied(told, tmp_path)
    settings = hoped / "practice.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text.replace('# "the dam"', '"Oak" = 20\n# "the dam"'))
    found = report(hoped, "next", "--hours", "16", *WORDS)
    assert _hours_near(found, 54.955) > _hours_near(ahead, 54.955) + 1
    assert "you hope for it" in " ".join(row["why"] for row in found["rows"])
    settings.write_text(text.replace('# "the dam"', '"Nowhere" = 20\n# "the dam"'))
    (fault,) = report(hoped, "check", code=1)["faults"]
    assert fault["file"] == "practice.toml"
    assert 'no mark "Nowhere"' in fault["what"]
    remarks = report(hoped, "next", *WORDS)["remarks"]
    assert any('no mark "Nowhere"' in remark for remark in remarks)


def test_a_stocking_wakes_water_that_was_searched(told: Path, tmp_path: Path) -> None:
    before = report(told, "next", *WORDS)
    stocked = _copied(told, tmp_path)
    words = ("--near", "Buoy", "--day", "2027-06-09", "--at", "09:00")
    done(stocked, "note", "stocked", *words)
    after = report(stocked, "next", *WORDS)
    assert after["chance_now"] < before["chance_now"]


def test_what_nobody_told_counts_for_less(told: Path, tmp_path: Path) -> None:
    silent = _copied(told, tmp_path)
    tally = silent / "tally.csv"
    text = tally.read_text(encoding="utf-8")
    assert ",blank," in text
    tally.write_text(text.replace(",blank,", ",,"), encoding="utf-8")
    found, told_all = (report(one, "next", *WORDS) for one in (silent, told))
    assert found["chance_now"] < told_all["chance_now"]
    assert any("nobody told" in remark for remark in found["remarks"])


def test_another_light_counts_for_less(told: Path) -> None:
    same, other = (
        report(told, "next", "--sky", sky, *WORDS)["chance_now"]
        for sky in ("bright", "dull")
    )
    assert 0.4 * same < other < 0.9 * same


def test_a_plan_is_laid_for_it(told: Path) -> None:
    planned = report(told, "plan", "--next", *WORDS)
    for pair in planned["pairs"]:
        assert pair["drifts"] == len(pair["planned"]) == len(pair["fish"]) > 3
        assert pair["fish_texts"]
        for fish in pair["fish"]:
            assert len(fish["layers"]) == len(fish["lines"]) == 2
    text = done(told, "plan", "--next", *WORDS).stdout
    assert re.search(r"drifts 1.*: .*ft: ", text)


def test_the_words_on_the_screen(told: Path) -> None:
    text = done(told, "next", "--hours", "16", *WORDS).stdout
    first, second, head, *rows = text.splitlines()
    assert first == "Ashlode Pool, 10 June, wind W 3 (10 mph): 16 boat-hours"
    assert second.startswith("Of a hundred small shoals anywhere in this water ")
    assert head.split()[:5] == ["pair", "hours", "where", "layer", "line"]
    pairs = [row.split()[0] for row in rows if row.split()[0] in ("Heron", "Grebe")]
    assert [pair for pair, _ in groupby(pairs)] == ["Heron", "Grebe"]


def test_before_there_is_anything(tmp_path: Path) -> None:
    folder = begin(tmp_path / "practice", tmp_path)
    assert "say it, like --day" in refused(folder, "next")
    told = refused(folder, "next", "--day", "2027-06-08")
    assert "nobody has water to search on 8 June: give out sectors" in told
    found = report(folder, "next", "--day", "2027-06-08", "--across")
    assert found["chance_now"] == 0
    assert found["rows"]
    assert any("wind" in remark for remark in found["remarks"])


def _copied(folder: Path, to: Path) -> Path:
    return Path(shutil.copytree(folder, to / "practice"))


def _hours_near(found: dict[str, Any], lat: float) -> float:
    """Return the hours on water north of a latitude, by the mark called Oak."""
    return float(
        sum(
            row["hours"]
            for row in found["rows"]
            if row["lat"] > lat - 0.002 and abs(row["lon"] - 2.3) < 0.006
        )
    )
