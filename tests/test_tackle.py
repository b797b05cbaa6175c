"""The settings of lines, layers and depth: there and back, every wrong line told."""

import re
import tomllib
from dataclasses import replace

import pytest

from sweptwater.errors import PracticeError
from sweptwater.practice.settings import Settings, parse_settings
from sweptwater.practice.tackle import LINES, DepthRules, Line, TackleRules
from sweptwater.practice.template import settings_text
from sweptwater.units import System

START = 'name = "Ashlode Water"\npairs = ["Heron"]\n'
ASHLODE = Settings("Ashlode Water", ("Heron",))


def tackle(text: str) -> TackleRules:
    return parse_settings(f"{START}[tackle]\n{text}\n").tackle


def depth(text: str) -> DepthRules:
    return parse_settings(f"{START}[depth]\n{text}\n").depth


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        ("floating", 0, 0),
        ("slow intermediate", 0.5, 1.25),
        ("intermediate", 1.25, 2.0),
        ("2 in/s", 1.75, 2.75),
        ("3 in/s", 2.5, 4.0),
        ("5 in/s", 4.5, 6.0),
        ("6 in/s", 6.0, 7.0),
        ("7 in/s", 7.0, 8.0),
    ],
)
def test_nominal_rates(name: str, least: float, most: float) -> None:
    """Ranges of the trade, no standard (common practice, from memory)."""
    (line,) = (line for line in LINES if line.name == name)
    assert (
        least <= round(line.sink_m_s / 0.0254, 6) <= most
    )  # the inch is 25.4 mm, of 1959


def test_what_is_left_out_is_the_default() -> None:
    settings = parse_settings(START)
    assert settings.tackle == TackleRules()
    assert settings.depth == DepthRules()
    assert tackle("") == TackleRules()
    assert depth("") == DepthRules()


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_the_template_comes_back(units: System) -> None:
    own = TackleRules(
        (Line("floating", 0.0), Line("sinker", 0.0762)), (1.5, 4.0), 0.5, 0.3
    )
    ground = DepthRules(1.2, (2.0, 6.0))
    text = settings_text(replace(ASHLODE, units=units, tackle=own, depth=ground))
    again = parse_settings(text)
    assert [line.name for line in again.tackle.lines] == ["floating", "sinker"]
    assert again.tackle.layers_m == pytest.approx((1.5, 4.0), rel=5e-4)
    assert (again.tackle.useful, again.tackle.doubt) == (0.5, 0.3)
    assert again.depth.below_full_m == pytest.approx(1.2, rel=5e-4)
    assert again.depth.bands_m == pytest.approx((2.0, 6.0), rel=5e-4)
    assert settings_text(again) == text


def test_a_full_reservoir_is_nought_below_full() -> None:
    text = settings_text(ASHLODE)
    assert "below_full_ft = 0  #" in text
    assert parse_settings(text).depth == DepthRules()
    assert depth("below_full_ft = 10").below_full_m == pytest.approx(3.048)


def test_every_line_of_the_template_can_be_left_out_or_changed() -> None:
    table = tomllib.loads(settings_text(ASHLODE))
    assert set(table["tackle"]) == {"layers_ft", "cast_yd", "useful", "doubt", "lines"}
    assert set(table["depth"]) == {"below_full_ft", "bands_ft"}
    assert table["tackle"]["lines"]["3 in/s"] == 3


@pytest.mark.parametrize(
    "text",
    [
        'lines = { "3 in/s" = 3, floating = 0, "6.5 in/s" = 6.5 }',
        "lines = [3, 0, 6.5]",
        '[tackle.lines]\nfloating = 0\n"6.5 in/s" = 6.5\n"3 in/s" = 3.0',
    ],
)
def test_ways_to_write_lines(text: str) -> None:
    told = [(line.name, line.sink_m_s) for line in tackle(text).lines]
    assert told == [
        ("floating", 0.0),
        ("3 in/s", pytest.approx(0.0762)),
        ("6.5 in/s", pytest.approx(0.1651)),
    ]


@pytest.mark.parametrize(
    ("text", "layers_m"),
    [
        ("layers_ft = [3, 8]", (0.9144, 2.4384)),
        ("layers_yd = [1, 2.5]", (0.9144, 2.286)),
        ("layers_m = [1]", (1.0,)),
    ],
)
def test_layers_in_any_unit(text: str, layers_m: tuple[float, ...]) -> None:
    """The foot is 0.3048 m and the yard three of it (agreement of 1959)."""
    assert tackle(text).layers_m == pytest.approx(layers_m)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("layers = [3, 8]", "'layers', which has no unit that fits: write layers_yd"),
        ("layers_min = [3]", "'layers_min', which has no unit that fits: write layer"),
        ("layers_ft = [8, 3]", r"\[tackle\] layers_ft must be depths from the top do"),
        ("layers_ft = [3, 3]", r"like layers_ft = \[3, 8, 15\], not \[3, 3\]"),
        ("layers_ft = 3", r"must be depths .*, not 3$"),
        ("layers_ft = []", r"must be depths .*, not \[\]"),
        ("layers_ft = [0, 3]", r"must be depths .*, not \[0, 3\]"),
        ("layers_ft = [true]", r"must be depths .*, not \[True\]"),
        ("layers_ft = [3]\nlayers_m = [1]", "both layers_ft and layers_m: delete one"),
        ("cast = 25", "'cast', which has no unit that fits: write cast_yd"),
        ("cast_yd = 0", r"\[tackle\] cast_yd must be a number above 0"),
        ("cast_yd = 25\ncast_m = 20", "both cast_yd and cast_m: delete one"),
        ("useful = 1.5", r"useful must be a number from 0.05 to 1 .*like 0.6, not 1.5"),
        ("useful = 0", "useful must be a number from 0.05 to 1"),
        ("doubt = 1", "doubt must be a number from 0 to 0.9 .*like 0.25, not 1"),
        ('doubt = "25 %"', "doubt must be a number from 0 to 0.9 .*not '25 %'"),
        ("usefull = 0.5", r"'usefull' that means nothing: did you mean useful\?"),
        ("layer_ft = [3]", r"did you mean layers_ft\?"),
        ("lines = 3", "lines must be names with their sink rates in inches a second"),
        ("lines = {}", "lines must be names with their sink rates"),
        ('lines = { "fast" = "3" }', "'fast' must have its sink rate .*, not '3'"),
        ('lines = { "fast" = -1 }', "'fast' must have its sink rate .*from 0 to 15"),
        ('lines = { "fast" = 76 }', "'fast' must have its sink rate .*, not 76"),
        ("lines = [3, true]", "must have its sink rate .*, not True"),
        ('lines = ["fast"]', "must have its sink rate .*, not 'fast'"),
        ("lines = { Fast = 3, fast = 5 }", "has 'fast' twice or without a name"),
        ('lines = { " " = 3 }', "has ' ' twice or without a name"),
    ],
)
def test_what_is_wrong_with_tackle(text: str, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        tackle(text)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "below_full = 3",
            "'below_full', which has no unit that fits: write below_ful",
        ),
        ("below_full_ft = -3", r"\[depth\] below_full_ft must be a number above 0"),
        ("below_full_ft = false", "below_full_ft must be a number above 0"),
        ("below_full_ft = 3\nbelow_full_m = 1", "both below_full_ft and below_full_m"),
        ("bands_ft = [25, 8]", r"\[depth\] bands_ft must be depths from the top down"),
        ("level = 3", "'level' that means nothing: the settings there are bands_ft"),
    ],
)
def test_what_is_wrong_with_depth(text: str, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        depth(text)


@pytest.mark.parametrize("key", ["useful = 0.5", "layers_ft = [3]", "bands_m = [3]"])
def test_a_line_above_its_heading(key: str) -> None:
    section = "depth" if key.startswith("bands") else "tackle"
    with pytest.raises(PracticeError, match=re.escape(f"line below [{section}]")):
        parse_settings(f"{START}{key}\n")
