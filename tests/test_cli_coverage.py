"""`coverage`, from the outside: its figures and its filters."""

import json
from math import radians, sin
from pathlib import Path

import pytest
from shapely import LineString, Point, box

from practices_made import (
    CLOSED,
    DRIFT_M,
    DRIFT_M_S,
    FAN,
    LAKE,
    STRIP_M2,
    begin,
    boat,
    done,
    geojson,
    heron,
    numbers_of,
    refused,
    report,
    rough,
    run,
    write,
)
from sweptwater.swept.pace import Rest
from sweptwater.units import ACRE_M2, area_text, duration_text
from tracks_made import Leg

KEYS = {
    *("practice", "day", "pair", "pairs_day", "water_m2", "fished_m2"),
    *("fished_share", "share_if_cast", "drifts", "drifts_over", "sectors", "banks"),
    *("days", "pairs", "boats", "missing", "faults"),
    *("remembered_m2", "remembered_share", "remembered", "remarks", "planned"),
    *("layer", "light"),
}
SECTOR_KEYS = {
    *("sector", "pair", "water_m2", "fished_m2", "fished_share", "drifts_over"),
    *("bank_m", "bank_fished_m", "bank_left_drifts", "bank_left_s"),
    *("share_if_cast", "remembered_m2", "remembered_share", "bank_remembered_m"),
    *("depth_low_m", "depth_high_m"),
}
BOAT_KEYS = {
    *("day", "pair", "start_s", "end_s", "fishing_s", "motoring_s", "ashore_s"),
    *(
        "unknown_s",
        "doubtful_s",
        "anchored_s",
        "drifts",
        "drift_m",
        "drift_error",
        "swept_m2",
    ),
    "new_m2",
}
BANK_KEYS = {
    *("bank", "sector", "length_m", "done_m", "water_m2", "fished_m2", "last_day"),
    *("name", "fished_share", "drifts"),
    *("remembered_m2", "remembered_share", "done_remembered_m"),
    *("layers", "layers_by_light"),
}
FISHABLE_M2 = LAKE.area - CLOSED.area


def test_the_figures_and_their_keys(fished: Path) -> None:
    found = report(fished, "coverage")
    assert set(found) == KEYS
    assert all(set(line) == SECTOR_KEYS for line in found["sectors"])
    assert all(set(line) == BOAT_KEYS for line in found["boats"])
    assert all(set(line) == BANK_KEYS for line in found["banks"])
    assert set(found["drifts_over"]) == {"1", "2", "3+"}
    assert found["practice"] == "Ashlode Pool"
    assert (found["day"], found["pair"], found["faults"]) == (None, None, [])
    assert rough(found["water_m2"], FISHABLE_M2)
    # Heron's strip, and Grebe's two of 500 m.
    assert found["fished_m2"] == pytest.approx(2 * STRIP_M2, rel=3e-3)
    assert found["missing"] == ["Grebe on 2027-06-09"]


def test_all_numbers_add_up(fished: Path) -> None:
    found = report(fished, "coverage")
    sectors, boats, banks = found["sectors"], found["boats"], found["banks"]
    for name in ("water_m2", "fished_m2"):
        assert rough(sum(line[name] for line in sectors), found[name], 1e-5)
    for line in (found, *sectors):
        assert rough(sum(line["drifts_over"].values()), line["fished_m2"], 1e-5)
        assert rough(line["fished_share"], line["fished_m2"] / line["water_m2"])
    for band in ("1", "2", "3+"):
        over_m2 = sum(line["drifts_over"][band] for line in sectors)
        assert over_m2 == pytest.approx(found["drifts_over"][band], rel=1e-5, abs=0.1)
    for line in boats:
        spent = ("fishing_s", "motoring_s", "ashore_s", "unknown_s")
        span_s = line["end_s"] - line["start_s"]
        assert sum(line[name] for name in spent) == pytest.approx(span_s, abs=1e-6)
    assert sum(line["new_m2"] for line in boats) == pytest.approx(
        found["fished_m2"], rel=1e-5
    )
    assert sum(line["drifts"] for line in boats) == found["drifts"]
    for name, other in (("length_m", "bank_m"), ("done_m", "bank_fished_m")):
        assert rough(sum(b[name] for b in banks), sum(s[other] for s in sectors))
    shares = found["share_if_cast"]
    assert shares["shorter"] < found["fished_share"] < shares["longer"]
    for change, share in shares.items():
        by_sector = sum(s["share_if_cast"][change] * s["water_m2"] for s in sectors)
        assert rough(by_sector / found["water_m2"], share, 1e-4)


def test_two_drifts_over_one_line_count_twice(fished: Path) -> None:
    over = report(fished, "coverage", "--pair", "Heron")["drifts_over"]
    assert over["1"] == pytest.approx(0, abs=1)
    assert over["2"] == pytest.approx(STRIP_M2, rel=2e-3)
    assert over["3+"] == 0


@pytest.mark.parametrize(("change", "factor"), [("shorter", 0.75), ("longer", 1.25)])
def test_other_casts_sweep_what_their_strip_holds(
    fished: Path, change: str, factor: float
) -> None:
    """The closed form of the strip, with a cast a quarter shorter or longer."""
    cast_m, half = factor * FAN.cast_m, radians(FAN.half_angle_deg)
    width_m = FAN.boat_m + 2 * cast_m * sin(half)
    strip_m2 = DRIFT_M * width_m + half * cast_m**2 + FAN.boat_m * cast_m
    share = report(fished, "coverage", "--pair", "Heron")["share_if_cast"][change]
    assert share * FISHABLE_M2 == pytest.approx(strip_m2, rel=3e-3)


def test_bank_done_along_a_shore_drifted_past(fished: Path) -> None:
    """Strips from 2 to 32 m and from 32 to 62 m off: two thirds of the 91 m counted.

    Two drifts of 500 m do the shore that they pass, give or take a piece (25 yd) at
    each end; one alone covers a third and does none.
    """
    found = report(fished, "coverage")
    done_m = sum(line["bank_fished_m"] for line in found["sectors"])
    assert done_m == pytest.approx(500, abs=50)
    assert {line["last_day"] for line in found["banks"] if line["done_m"]} == {
        "2027-06-08"
    }
    assert report(fished, "coverage", "--day", "2027-06-09")["banks"][0]["done_m"] == 0


def test_one_drift_along_the_shore_does_no_bank(begun: Path, tmp_path: Path) -> None:
    way = boat(Leg(2500, 0.4, 90), Leg(100, 2, 0, fishing=False), start=(-500, -583))
    done(begun, "upload", "--pair", "Grebe", write(tmp_path / "a.gpx", way))
    banks = report(begun, "coverage")["banks"]
    assert sum(line["done_m"] for line in banks) == 0
    assert sum(line["fished_m2"] for line in banks) > 0.9 * STRIP_M2


def test_a_day_and_a_pair(fished: Path) -> None:
    first = report(fished, "coverage", "--day", "2027-06-08", "--pair", "heron")
    assert (first["day"], first["pair"]) == ("2027-06-08", "Heron")
    assert first["fished_m2"] == pytest.approx(STRIP_M2, rel=2e-3)
    assert [(b["day"], b["pair"]) for b in first["boats"]] == [("2027-06-08", "Heron")]
    day = report(fished, "coverage", "--day", "2027-06-08")
    assert {b["pair"] for b in day["boats"]} == {"Heron", "Grebe"}
    assert day["fished_m2"] == pytest.approx(2 * STRIP_M2, rel=3e-3)
    assert day["missing"] == []
    assert report(fished, "coverage", "--pair", "Grebe")["missing"] == []


def test_what_is_new_stays_new_to_all(fished: Path) -> None:
    """On its second day Heron went over its own line: nothing of that is new."""
    found = report(fished, "coverage", "--day", "2027-06-09")
    (line,) = found["boats"]
    assert line["swept_m2"] == pytest.approx(STRIP_M2, rel=2e-3)
    assert line["new_m2"] == pytest.approx(0, abs=1)


def test_what_is_printed(fished: Path) -> None:
    found = report(fished, "coverage")
    lines = done(fished, "coverage").stdout.splitlines()
    # Twice STRIP_M2 in acres, and 2.78 square kilometres.
    assert lines[0].startswith(
        "Ashlode Pool: 15.2 acres of 687 acres fished, 2.2 %; with a cast 25 % shorter"
    )
    assert lines[1] == "No track from Grebe on 2027-06-09."
    head = "sector pair water fished share once twice 3+ bank bank done"
    assert lines[3].split() == head.split()
    for text, line in zip(lines[4:6], found["sectors"], strict=True):
        assert text.split()[:2] == [line["sector"], line["pair"]]
        assert numbers_of(text)[0] == round(line["water_m2"] / ACRE_M2)
        assert area_text(line["fished_m2"]) in text
    boats = lines[7:]
    assert boats[0].split()[:2] == ["day", "pair"]
    assert len(boats) == 1 + len(found["boats"])
    only = done(fished, "coverage", "--day", "2027-06-08", "--pair", "Heron").stdout
    assert only.startswith("Ashlode Pool (Heron 2027-06-08): 7.6 acres")


def test_the_pace_along_the_banks_is_printed(begun: Path, tmp_path: Path) -> None:
    along = Leg(DRIFT_M / 2 / DRIFT_M_S, DRIFT_M_S, 90)
    back = (
        Leg(50, 2, 0, fishing=False),
        Leg(250, 2, 270, fishing=False),
        Leg(35, 2, 180, fishing=False),
    )
    way = boat(*(along, *back) * 2, along, *back[:2], start=(-800, -583))
    done(begun, "upload", "--pair", "Heron", write(tmp_path / "a.gpx", way))
    lines = report(begun, "coverage")["sectors"]
    (line,) = [line for line in lines if line["bank_left_drifts"]]
    shown = done(begun, "coverage").stdout
    assert (
        f"The rest of {line['sector']}'s banks at the pace so far: "
        f"{line['bank_left_drifts']} more drifts, about "
        f"{duration_text(line['bank_left_s'])}."
    ) in shown


def test_a_metric_practice(fished: Path) -> None:
    settings = fished / "practice.toml"
    text = settings.read_text().replace('units = "imperial"', 'units = "metric"')
    settings.write_text(text)
    assert done(fished, "coverage").stdout.startswith(
        "Ashlode Pool: 6.2 ha of 278 ha fished, 2.2 %;"
    )


def test_before_anything_is_there(tmp_path: Path) -> None:
    folder = begin(tmp_path / "pool", tmp_path)
    found = report(folder, "coverage")
    assert (found["fished_m2"], found["fished_share"], found["drifts"]) == (0, 0, 0)
    assert (found["sectors"], found["boats"], found["missing"]) == ([], [], [])
    assert len(found["banks"]) == 19  # of some 440 yd along 7,800 m of shore
    shown = done(folder, "coverage").stdout
    assert f"The water is not divided yet: sweptwater -C {folder} divide" in shown
    assert f"No tracks yet: sweptwater -C {folder} upload" in shown
    page = (folder / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert "No boat has been out yet" in page


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--day", "8 June"), "'8 June' is no day: write it like 2027-06-09"),
        (("--day", "2027-02-30"), "is no day"),
        (("--day", "2027-06-10"), "there are tracks of 2027-06-08, 2027-06-09"),
        (("--pair", "Coot"), "there is no pair 'Coot'"),
        (
            ("--day", "2027-06-09", "--pair", "Grebe"),
            "Grebe has no track of 2027-06-09",
        ),
    ],
)
def test_what_is_not_there_is_refused(
    fished: Path, words: tuple[str, ...], told: str
) -> None:
    assert told in refused(fished, "coverage", *words)


def test_a_day_of_an_empty_practice(begun: Path) -> None:
    told = refused(begun, "coverage", "--day", "2027-06-08")
    assert "there are tracks of none yet" not in told
    assert "there are no tracks yet" in told


def test_one_drift_is_no_drifts(fished: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rest = Rest(drifts=1, hours_s=600.0)
    monkeypatch.setattr("sweptwater.swept.ledger.rest_of_banks", lambda *_, **__: rest)
    shown = done(fished, "coverage").stdout
    assert "banks at the pace so far: 1 more drift, about 10 min." in shown


def test_a_track_dropped_in_by_hand_counts(fished: Path) -> None:
    write(fished / "tracks" / "Grebe" / "hand.gpx", heron(10))
    found = report(fished, "coverage")
    assert ("2027-06-10", "Grebe") in {(b["day"], b["pair"]) for b in found["boats"]}
    assert found["drifts_over"]["3+"] == pytest.approx(STRIP_M2, rel=2e-3)


def test_a_zone_that_is_closed_later_takes_its_water_away(
    fished: Path, tmp_path: Path
) -> None:
    """Sums hold even before the water is divided again."""
    zone = geojson(tmp_path / "z.geojson", box(0, -600, 300, 600))
    done(fished, "venue", "add", "--kind", "out-of-bounds", zone)
    found = report(fished, "coverage")
    assert rough(found["water_m2"], FISHABLE_M2 - 300 * 1200, 1e-5)
    for name in ("water_m2", "fished_m2"):
        assert rough(sum(line[name] for line in found["sectors"]), found[name], 1e-5)


def test_a_sector_whose_water_is_closed_has_none(begun: Path, tmp_path: Path) -> None:
    half = geojson(tmp_path / "z.geojson", box(-60, -600, 1200, 600))
    done(begun, "venue", "add", "--kind", "out-of-bounds", half)
    assert len(report(begun, "coverage")["sectors"]) == 1
    assert report(begun, "divide")["kept"]
    assert len(report(begun, "coverage")["sectors"]) == 2


def test_nothing_is_shown_of_progress_off_a_terminal(fished: Path) -> None:
    result = run(fished, "coverage", "--json")
    assert result.stderr.count("\n") == 2  # where the page is, and its map
    assert "%" not in result.stderr
    assert "\r" not in result.output


def test_json_is_one_object_and_nothing_else(fished: Path) -> None:
    result = done(fished, "coverage", "--json")
    assert result.stdout.startswith("{")
    assert result.stdout.endswith("}\n")
    assert json.loads(result.stdout)["practice"] == "Ashlode Pool"


def test_days_and_pairs_are_told_too(fished: Path) -> None:
    found = report(fished, "coverage")
    first, second = found["days"]
    assert (first["day"], first["boats"]) == ("2027-06-08", 2)
    assert (second["day"], second["boats"]) == ("2027-06-09", 1)
    assert rough(second["fished_share"], found["fished_share"])
    for what in ("drifts", "fishing_s"):
        total = sum(boat[what] for boat in found["boats"])
        assert rough(sum(day[what] for day in found["days"]), total)
        assert rough(sum(pair[what] for pair in found["pairs"]), total)
    heron, grebe = sorted(found["pairs"], key=lambda pair: -pair["days"])
    both_m2 = heron["swept_m2"] - heron["alone_m2"]
    assert rough(both_m2, grebe["swept_m2"] - grebe["alone_m2"], 1e-3)
    assert rough(heron["swept_m2"] + grebe["alone_m2"], found["fished_m2"], 1e-4)


def test_banks_are_listed_by_number_and_name(fished: Path, tmp_path: Path) -> None:
    # Grebe drifted twice along the south shore; a name there, and one in the north.
    south = geojson(
        tmp_path / "banks.geojson",
        LineString([(-700, -590), (0, -590)]),
        Point(0, 595),
        names=["Dam wall", "Reeds"],
    )
    done(fished, "venue", "add", "--kind", "bank", south)
    found = report(fished, "coverage")["banks"]
    named = [line for line in found if line["name"] == "Dam wall"]
    assert named
    assert max(line["drifts"] for line in named) == 2
    assert all(
        line["fished_share"] == pytest.approx(line["fished_m2"] / line["water_m2"])
        for line in found
    )
    assert "Dam wall" not in done(fished, "coverage").stdout
    shown = done(fished, "coverage", "--banks").stdout.splitlines()
    head = next(
        i for i, line in enumerate(shown) if line.split()[:2] == ["bank", "name"]
    )
    assert shown[head].split() == [
        *("bank", "name", "sector", "length", "done", "share", "drifts", "last"),
    ]
    rows = shown[head + 1 :]
    assert len(rows) == len(found)
    for row, line in zip(rows, found, strict=True):
        assert row.split()[0] == str(line["bank"])
        assert line["name"] in row
    page = (fished / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert "Dam wall" in page
    assert "Drifts over it" in page
