"""The ways in which the map shows fished water: each is all of it, and none twice."""

from collections.abc import Mapping
from pathlib import Path

import pytest
import shapely

from practices_made import FRAME, done, write
from sweptwater.jobs.coverage_page import page_of
from sweptwater.jobs.coverage_views import views_of
from sweptwater.jobs.covered import Sight
from sweptwater.jobs.sight import look
from sweptwater.paper import looks

TALLY = """day,pair,drift,rod,told,line,sink_in_s,count_s,retrieve
2027-06-08,Heron,1,bow,blank,floating,0,,slow
2027-06-08,Heron,1,stern,blank,5 in/s,5,40,slow
2027-06-09,Heron,1,bow,blank,floating,0,,slow
2027-06-09,Heron,1,stern,blank,floating,0,,slow
"""
NOTES = """day,time,kind,value
2027-06-08,08:00,sky,bright
2027-06-09,08:00,sky,dull
"""


@pytest.fixture
def told(fished: Path) -> Path:
    """Return a practice in which Heron told its lines, and Grebe did not."""
    write(fished / "tally.csv", TALLY)
    write(fished / "notes.csv", NOTES)
    return fished


def areas(sight: Sight) -> Mapping[str, Mapping[str, float]]:
    """Return the area of each layer of fished water by its title, view by view."""
    found: dict[str, dict[str, float]] = {}
    for layer in page_of(sight).layers:
        if layer.view:
            shapes = [FRAME.metres(one.shape) for one in layer.features]
            area = float(shapely.area(shapes).sum()) if shapes else 0.0
            found.setdefault(layer.view, {})[layer.title] = area
    return found


def test_each_is_all_of_the_fished_water(told: Path) -> None:
    sight = look(told)
    found = areas(sight)
    assert list(found) == ["often", "day", "pair", "layer", "light"]
    for view, layers in found.items():
        total = sum(layers.values())
        assert total == pytest.approx(sight.report.fished_m2, rel=1e-3), view


def test_the_deepest_flies_count(told: Path) -> None:
    """On the one day a fast sinker went along; both days went over the same water."""
    sight = look(told)
    deep = areas(sight)["layer"]
    (deepest,) = (
        area
        for title, area in deep.items()
        if "0-3" not in title and title.startswith("Deepest") and area
    )
    assert deepest == pytest.approx(sight.parts.by_pair["Heron"].area, rel=0.02)
    assert deep["Depth of flies not told"] == pytest.approx(
        sight.parts.by_pair["Grebe"].area, rel=0.02
    )


def test_the_light_of_several_days(told: Path) -> None:
    """Grebe fished on the bright day alone, and Heron the same water on both."""
    light = areas(look(told))["light"]
    assert light["Fished in several lights"] > 30_000
    assert light["Fished in bright light alone"] > 30_000
    assert light["Fished in dull light alone"] < 2_000
    assert light["Light not told"] == 0


def test_what_nobody_told_is_no_view(fished: Path) -> None:
    assert [view.key for view in views_of(look(fished))] == ["often", "day", "pair"]
    only = look(fished, day="2027-06-08", pair="Heron")
    assert views_of(only) == ()


def test_what_is_asked_for_is_no_view(told: Path) -> None:
    sight = look(told, layer="0-3", light="bright")
    assert "layer" not in {view.key for view in views_of(sight)}
    assert "light" not in {view.key for view in views_of(sight)}


def test_its_layers_can_be_told_apart_in_grey() -> None:
    """By their patterns, whatever becomes of their colours."""
    views = (looks.RANKED, tuple(looks.LIGHTS.values()), looks.PAIRS, looks.LIKELY)
    for view in (*views, tuple(looks.RATES.values())):
        assert len({look.pattern for look in view}) == len(view)


def test_the_command_shows_them(told: Path) -> None:
    done(told, "coverage")
    html = (told / "reports" / "coverage.html").read_text(encoding="utf-8")
    for title in ("how deep", "which light", "Deepest flies"):
        assert title in html
