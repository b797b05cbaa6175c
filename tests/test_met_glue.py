"""From a told practice to what its reports are made of. Against sums by hand."""

import shutil
from datetime import date
from pathlib import Path

import geopandas as gpd
import pytest

from practices_made import FRAME, begin, done, grebe, heron, report, write
from sweptwater.jobs.coverage_words import not_told
from sweptwater.jobs.listed import DriftLine
from sweptwater.jobs.met_shown import spots_of
from sweptwater.jobs.rates import look_at_offers

PLACE = (100.0, 0.0)
"""On Heron's drift, in metres."""


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return three drifts: rods that told, one that did not, and an offer in place."""
    scratch = tmp_path_factory.mktemp("glue")
    folder = begin(scratch / "practice", scratch)
    done(folder, "divide")
    done(folder, "upload", "--pair", "Heron", write(scratch / "h.gpx", heron()))
    done(folder, "upload", "--pair", "Grebe", write(scratch / "g.gpx", grebe()))
    lon, lat = FRAME.to_degrees(*PLACE)
    for words in (
        ("Heron", 1, "bow", "0/3/0/0", "floating"),
        ("Heron", 1, "bow", "0/1/0/0", "--at-place", f"{lat:.6f},{lon:.6f}"),
        ("Heron", 1, "stern", "blank", "3ips", "c30", "steady"),
        ("Grebe", 1, "bow", "0/0/0/2", "floating"),
        ("Grebe", 2, "blank", "floating"),
    ):
        done(folder, "tally", *words)
    return folder


def test_rods_of_one_drift_are_one_cluster(told: Path) -> None:
    sight = look_at_offers(told)
    assert sight.clusters.drifts == 3
    assert len([stint for stint in sight.stints if stint.told]) == 5


def test_an_offer_with_a_place_is_on_the_map_once(told: Path) -> None:
    offers, effort = spots_of(look_at_offers(told))
    assert offers.weight.sum() == pytest.approx(3 + 2)
    at = (abs(offers.easting - PLACE[0]) < 1) & (offers.weight == 1)
    assert at.sum() == 1
    found = report(told, "rates")
    assert effort.weight.sum() == pytest.approx(found["rod_hours"])


def test_how_often_a_layer_is_in_doubt(told: Path) -> None:
    found = report(told, "rates", "--by", "layer")
    hours = {row["by"]["layer"]: row["rod_hours"] for row in found["rows"]}
    deep = sum(spent for layer, spent in hours.items() if layer[0] not in "0n")
    known = sum(spent for layer, spent in hours.items() if layer != "not told")
    # A floating line is surely on top; one that sinks at 3 in/s, by a quarter, is not.
    assert found["layer_unsure_share"] == pytest.approx(deep / known)
    assert 0 < deep < known


def test_one_rod_that_told_is_enough_for_a_drifts_layer(told: Path) -> None:
    banks = report(told, "coverage")["banks"]
    assert any(line["layers"]["0-3 ft"] > 0.5 for line in banks)
    assert all("not told" not in line["layers"] for line in banks)


def test_layers_below_the_bed_are_none(told: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(told, tmp_path / "shallow"))
    places = [(x, y) for x in range(-1150, 1200, 50) for y in (-580, -560, -540, -520)]
    lines = ["lat,lon,depth_m"]
    for place in places:
        lon, lat = FRAME.to_degrees(*place)
        lines.append(f"{lat:.7f},{lon:.7f},1.8")
    depths = write(tmp_path / "depths.csv", "\n".join(lines))
    done(folder, "venue", "add", "--kind", "sounding", depths)
    banks = report(folder, "coverage")["banks"]
    fished = [line for line in banks if line["layers"].get("0-3 ft", 0) > 0.5]
    assert fished
    assert all(set(line["layers"]) == {"0-3 ft", "3-8 ft"} for line in fished)


def test_the_package_says_which_places_were_told(told: Path, tmp_path: Path) -> None:
    file = tmp_path / "all.gpkg"
    done(told, "export", file)
    offers = gpd.read_file(file, layer="offers")
    found = sorted(zip(offers["pair"], offers["pull"], offers["placed"], strict=True))
    assert found == [
        ("Grebe", 0, "middle of the drift"),
        ("Heron", 1, "told"),
        ("Heron", 2, "middle of the drift"),
    ]


def drift(day: int, number: int, *, told: bool) -> DriftLine:
    return DriftLine(
        *(date(2027, 6, day), "Heron", number, "", "", 0.0, 1.0, 0.0, 1.0, ""),
        *(0.0, 0.0, "track", told),
    )


def test_the_page_asks_for_the_last_days_drifts_that_nobody_told() -> None:
    lines = [drift(8, 1, told=False), drift(9, 1, told=True), drift(9, 2, told=False)]
    (text,) = not_told(lines)
    assert "drift 2 is not told" in text
    assert not list(not_told(lines[:1]))  # a team may do without a tally
