"""Settings: `practice.toml` there and back, and every wrong line told."""

import re
import tomllib
from dataclasses import asdict, replace
from datetime import date
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from sweptwater.errors import PracticeError
from sweptwater.practice.settings import (
    BankRules,
    Settings,
    Spread,
    check_pairs,
    check_zone,
    parse_settings,
)
from sweptwater.practice.template import settings_text, toml_string
from sweptwater.units import ACRE_M2, HECTARE_M2, YARD_M, System

START = 'name = "Ashlode Water"\npairs = ["Heron", "Grebe", "Teal"]\n'
ASHLODE = Settings("Ashlode Water", ("Heron", "Grebe", "Teal"), "Europe/London")


def flat(settings: Settings) -> dict[str, Any]:
    """Return all values of settings by one key each."""
    values: dict[str, Any] = {}
    for key, value in asdict(settings).items():
        inner = value if isinstance(value, dict) else {"": value}
        values |= {f"{key}.{name}": item for name, item in inner.items()}
    return values


def assert_same(one: Settings, other: Settings, rel: float) -> None:
    got, want = flat(one), flat(other)
    for key, value in want.items():
        numbers = isinstance(value, float) or key.endswith(("layers_m", "bands_m"))
        same = pytest.approx(value, rel=rel) if numbers else value
        assert got[key] == same, key


@pytest.mark.parametrize("units", ["imperial", "metric"])
@pytest.mark.parametrize("spread", [Spread(), Spread("round", reach_m=31.0)])
def test_the_template_reads_back_as_it_was_written(
    units: System, spread: Spread
) -> None:
    settings = replace(ASHLODE, units=units, spread=spread)
    text = settings_text(settings)
    # Lengths and areas are written to four figures.
    assert_same(parse_settings(text), settings, rel=5e-4)
    assert settings_text(parse_settings(text)) == text


def test_defaults_in_yards_come_back_exactly() -> None:
    again = parse_settings(settings_text(ASHLODE))
    assert again.spread == Spread()
    assert again.banks == BankRules()
    assert again.unfished_m2 == ACRE_M2 / 4


def test_what_is_left_out_is_the_default() -> None:
    settings = parse_settings(START)
    assert_same(settings, Settings("Ashlode Water", ("Heron", "Grebe", "Teal")), rel=0)


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_every_line_of_the_template_explains_itself(units: System) -> None:
    lines = settings_text(replace(ASHLODE, units=units)).splitlines()
    for line in lines:
        if "=" in line and not line.startswith("#"):
            assert re.search(r"  # .{10}", line), line
        assert len(line) <= 88


def _without_unit(key: str) -> str:
    return re.sub(r"_(yd|m|ft|s|min|h|m_s|mph|deg|acres|ha)$", "", key)


@pytest.mark.parametrize(
    "section",
    [
        *("spread", "banks", "unfished", "boat", "day", "plan", "tackle", "depth"),
        *("search", "match", "drifts"),
    ],
)
def test_the_template_writes_every_setting_that_can_be_read(section: str) -> None:
    table = tomllib.loads(settings_text(ASHLODE))
    with pytest.raises(PracticeError) as caught:
        parse_settings(f"{START}[{section}]\nnonsense_m = 1\n")
    told = re.search(r"settings there are (.*)$", str(caught.value))
    assert told
    names = {_without_unit(key) for key in table[section]}
    listed = {_without_unit(key) for key in told[1].split(", ")}
    assert listed == names


def test_the_template_has_every_section_and_what_stands_above_them() -> None:
    with pytest.raises(PracticeError) as caught:
        parse_settings(f"nonsense = 1\n{START}")
    told = re.search(r"settings there are (.*)$", str(caught.value))
    assert told
    assert {*told[1].split(", ")} == tomllib.loads(settings_text(ASHLODE)).keys()


@pytest.mark.parametrize(
    "days", ["2027-06-09, 2027-06-08", '"2027-06-08", "2027-06-09", "2027-06-08"']
)
def test_days_come_in_order_and_once(days: str) -> None:
    settings = parse_settings(f"{START}days = [{days}]\n")
    assert settings.days == (date(2027, 6, 8), date(2027, 6, 9))
    assert parse_settings(settings_text(settings)).days == settings.days


@pytest.mark.parametrize(
    "days", ['"2027-06-08"', "[3]", '["Tuesday"]', "[2027-06-08T10:00:00]"]
)
def test_days_that_are_none(days: str) -> None:
    with pytest.raises(PracticeError, match=r"days must be a list .* \[2027-06-08"):
        parse_settings(f"{START}days = {days}\n")


names = st.text(min_size=1, max_size=40).filter(lambda text: text.strip() == text)


@given(names)
@example('Ash "Lode" \\ Water')
@example("Lough {na} %s")
@example("a\x7fb")
@example("\N{WAVE DASH}\U0001f41f")
@example("line\nbreak\ttab")
def test_any_name_comes_back(name: str) -> None:
    settings = parse_settings(settings_text(replace(ASHLODE, name=name)))
    assert settings.name == name


def test_a_name_that_is_no_text_at_all_is_written_all_the_same() -> None:
    # What os.fsdecode makes of a file name that is not UTF-8 (PEP 383).
    broken = b"tr\xe4ck".decode("utf-8", "surrogateescape")
    assert tomllib.loads(f"name = {toml_string(broken)}")["name"] == "tr?ck"


# Units


@pytest.mark.parametrize(
    ("line", "cast_m"),
    [
        ("cast_yd = 22", 20.1168),
        ("cast_ft = 66", 20.1168),
        ("cast_m = 20.1168", 20.1168),
        ("cast_m = 20", 20.0),
    ],
)
def test_a_length_in_any_unit(line: str, cast_m: float) -> None:
    # The yard is 0.9144 m and the foot a third of it (agreement of 1959).
    settings = parse_settings(f"{START}[spread]\n{line}\n")
    assert settings.spread.cast_m == pytest.approx(cast_m, rel=1e-12)


def test_other_units() -> None:
    text = (
        f"{START}[unfished]\nat_least_ha = 0.5\n[drifts]\ngap_min = 2\nbridge_s = 300\n"
        "[banks]\nstretch_yd = 440\n"
    )
    settings = parse_settings(text)
    assert settings.unfished_m2 == 0.5 * HECTARE_M2
    assert settings.rules.gap_s == 120
    assert settings.rules.bridge_s == 300
    assert settings.banks.stretch_m == 440 * YARD_M


@pytest.mark.parametrize(
    ("section", "line", "told"),
    [
        (
            "spread",
            "cast_min = 22",
            r"\[spread\].*'cast_min'.*cast_yd or cast_ft or cast_m",
        ),
        ("spread", "cast_acres = 22", "'cast_acres', which has no unit that fits"),
        ("spread", "cast_m_s = 2", "'cast_m_s', which has no unit that fits"),
        ("spread", "cast = 22", "'cast', which has no unit that fits"),
        ("drifts", "gap_yd = 22", "'gap_yd'.* write gap_s or gap_min"),
        ("drifts", "usual_cut_s = 1", "'usual_cut_s'.* write usual_cut_m_s"),
        ("unfished", "at_least_m = 2", "'at_least_m'.* at_least_acres or at_least_ha"),
        (
            "spread",
            "cast_yd = 22\ncast_m = 20",
            "has both cast_yd and cast_m: delete one",
        ),
    ],
)
def test_a_unit_that_does_not_fit(section: str, line: str, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        parse_settings(f"{START}[{section}]\n{line}\n")


# Wrong values


@pytest.mark.parametrize(
    "value", ["0", "-3", "nan", "inf", "true", '"22"', "[22]", "1e9", "2027-06-09"]
)
@pytest.mark.parametrize(
    ("section", "key"),
    [
        ("spread", "cast_yd"),
        ("banks", "water_m"),
        ("drifts", "gap_s"),
        ("unfished", "at_least_ha"),
    ],
)
def test_a_wrong_number_names_its_section_and_key(
    section: str, key: str, value: str
) -> None:
    with pytest.raises(
        PracticeError, match=rf"\[{section}\] {key} must be a number above 0 .*, not"
    ):
        parse_settings(f"{START}[{section}]\n{key} = {value}\n")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('pairs = ["Heron"]', 'must have name as text, like name = "'),
        ('name = 3\npairs = ["Heron"]', "must have name as text"),
        ('name = " "\npairs = ["Heron"]', "must have name as text"),
        ('name = "A"', "there are no pairs: name at least one"),
        (
            START + 'units = "furlongs"',
            "units must be 'imperial' or 'metric'.*'furlongs'",
        ),
        (START + "units = []", r"units must be 'imperial' or 'metric'.*\[\]"),
        (START + 'time_zone = "Ashlode"', "no time zone 'Ashlode'.*Europe/London"),
        (START + "time_zone = 1", "must have time_zone as text"),
        (
            START + 'colour = "red"',
            "practice.toml has a setting 'colour'.* banks, boat, day, days, depth, dr",
        ),
        (START + "spread = 22", r"must have spread as a section, \[spread\]"),
        (START + "[[banks]]\nwater_m = 3", r"must have banks as a section, \[banks\]"),
        (START + '[spread]\nshape = "star"', "shape must be 'fan' or 'round'.*'star'"),
        (START + "[spread]\nhalf_angle_deg = 90", "half_angle_deg must be below 90"),
        (
            START + "[drifts]\nslowest_cut_m_s = 3",
            "slowest_cut_m_s must be below fastest",
        ),
        (START + "[banks]\nboat_near_m = 90", "boat_near must be less than boat_far"),
        (START + '[boat]\ndrogue = "half"', "drogue must be 'in' or 'out'.*'half'"),
        (START + '[day]\nleave = "9 am"', "leave must be a time of day.*'9 am'"),
        (START + "[day]\nring = 999", "ring must be a telephone number in quotes"),
        (START + "[day]\nafloat_h = 0.5", "afloat must be longer than lunch"),
        (START + "[plan]\nbank_counts = 0", "bank_counts must be a number above 0"),
        (START + "[boat]\nmotoring_up = 4", "write motoring_up_m_s or motoring_up_mph"),
        (START + "[banks]\npiece_m = 0.5", "piece must be at least a metre.*not 0.5 m"),
        (START + "[banks]\npiece_m = 500", "no longer than stretch.*not 500 m"),
        (START + "[drifts\n", r"cannot be read: .*line 3.*; mend that line"),
        (START + START, r"cannot be read: .*line 3"),
        (START + "[spread]\ncast_yd = 22 yards", r"cannot be read: .*line 4"),
    ],
)
def test_what_is_wrong_is_told(text: str, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        parse_settings(text)


@pytest.mark.parametrize("key", ["cast_yds", "Cast_yd", "kast_yd", "shapes"])
def test_unknown_keys_are_told_with_those_there_are(key: str) -> None:
    told = rf"\[spread\] of practice.toml has a setting {key!r} .*boat_yd, cast_yd"
    with pytest.raises(
        PracticeError, match=rf"{told}|no unit that fits: write cast_yd"
    ):
        parse_settings(f"{START}[spread]\n{key} = 2\n")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[spread]\nkast_yd = 2\n", "did you mean cast_yd[?]"),
        ("[spread]\nCAST_M = 2\n", "did you mean cast_m[?]"),
        ("[drifts]\nusual_cut_m_sec = 1\n", "usual_cut_m_s"),
        ("unit = 'metric'\n", "did you mean units[?] The settings there are banks"),
        ("Days = []\n", "did you mean days[?]"),
        ("[spred]\n", "did you mean spread[?]"),
        ("[match]\nlines_dwn = '9:00'\n", "did you mean lines_down[?]"),
        ("[day]\nrings = '1'\n", "did you mean ring[?] The settings there are"),
        ("colour = 'red'\n", "means nothing: the settings there are banks"),
    ],
)
def test_the_setting_that_may_be_meant(text: str, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        parse_settings(START + text)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[drifts]\ndays = [2027-06-08]\n", r"days below \[drifts\].*write it above"),
        ("days = []\n[boat]\ndays = []\n", r"days below \[boat\].*write it above"),
        ("cast_yd = 22\n", r"cast_yd above its heading.*below \[spread\]"),
        ("shape = 'round'\n", r"move that line below \[spread\]"),
        ("reset_min = 4\n", r"move that line below \[boat\]"),
    ],
)
def test_a_line_in_the_wrong_section(text: str, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        parse_settings(START + text)


@pytest.mark.parametrize(
    ("line", "tip"),
    [
        ("cast_yd = 22,5", "mend that line: write decimals with a point, like 22.5"),
        (
            "cast_yd = 22 yards  # x",
            "says: cast_yd = 22 yards; mend that line: write t",
        ),
        ("shape = \u201cfan\u201d", 'write straight quotes, like "this"'),
        ("shape = fan", 'put text in quotes, like "this"'),
        ("cast_yd: 22", "write = instead of the colon"),
        ("about the cast", "a remark begins with #"),
        ("[spread]", "mend that line: what it says is there already"),
        ("cast_yd = 20\ncast_yd = 22", "what it says is there already"),
        ('shape = "fan', 'line 4.*says: shape = "fan; mend that line'),
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_what_toml_does_not_take(line: str, tip: str, end: str) -> None:
    text = f"{START}[spread]\n{line}\n\n".replace("\n", end)
    with pytest.raises(PracticeError, match=r"practice\.toml cannot be read: ") as told:
        parse_settings(text)
    assert re.search(tip, str(told.value))


def test_brackets_without_end() -> None:
    with pytest.raises(PracticeError, match=r"practice\.toml cannot be read: "):
        parse_settings(f"{START}days = {'[' * 50_000}")


# Pairs and zones


@pytest.mark.parametrize(
    "pairs", [("Heron",), ("A", "B", "C"), ("boat-1", "2"), ("A" * 40,)]
)
def test_pairs_that_can_name_folders(pairs: tuple[str, ...]) -> None:
    assert check_pairs(pairs) == pairs
    assert check_pairs(list(pairs)) == pairs


@pytest.mark.parametrize(
    ("pairs", "told"),
    [
        (("Heron", "heron"), "all different, not Heron, heron"),
        (("Heron", "Heron"), "all different"),
        ((), "there are no pairs"),
        ("Heron", "must be a list of names"),
        (3, "must be a list of names"),
        ({"Heron": 1}, "must be a list of names"),
        (("Heron", 2), "must be a list of names"),
        (("He ron",), "'He ron': use letters, digits and hyphens"),
        (("../up",), "use letters, digits and hyphens"),
        (("-x",), "use letters"),
        (("",), "use letters"),
        (("Héron",), "use letters"),
        (("Heron\n",), "use letters"),
        (("A" * 41,), "40 at most"),
        (("Removed",), "no folder can have that name"),
        (("con",), "no folder can have that name"),
        (("NUL",), "no folder can have that name"),
        (("aux",), "no folder can have that name"),
        (("LPT1",), "no folder can have that name"),
    ],
)
def test_pairs_that_cannot(pairs: Any, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        check_pairs(pairs)


def test_pairs_of_the_file_are_checked() -> None:
    for line in ("pairs = 3", "[pairs]\nHeron = 1", 'pairs = "Heron"'):
        with pytest.raises(PracticeError, match="must be a list of names"):
            parse_settings(f'name = "A"\n{line}\n')


def test_a_pair_is_found_whatever_its_capitals() -> None:
    assert ASHLODE.pair_named("hERON") == "Heron"
    with pytest.raises(
        PracticeError, match="no pair 'Coot': the pairs are Heron, Grebe"
    ):
        ASHLODE.pair_named("Coot")


@pytest.mark.parametrize("zone", ["Europe/London", "UTC", "Pacific/Auckland"])
def test_zones_that_there_are(zone: str) -> None:
    assert check_zone(zone) == zone
    assert replace(ASHLODE, time_zone=zone).zone.key == zone


@pytest.mark.parametrize(
    "zone", ["", "Europe", "../etc/passwd", "GMT+25", "Europe/Ashlode"]
)
def test_zones_that_there_are_not(zone: str) -> None:
    with pytest.raises(PracticeError, match="write one like Europe/London"):
        check_zone(zone)


# Spread


def test_the_width_of_a_straight_drift() -> None:
    # The boat's 5 yd and twice 22 yd times sin 40 degrees (0.6428): 33.3 yd.
    assert Spread().width_m / YARD_M == pytest.approx(5 + 44 * 0.6427876, rel=1e-6)
    assert Spread("round", reach_m=20).width_m == 40


def test_a_longer_cast_leaves_the_boat_as_it_is() -> None:
    longer = Spread().scaled(1.25)
    assert longer.boat_m == Spread().boat_m
    assert longer.cast_m == pytest.approx(27.5 * YARD_M)
    assert longer.reach_m == pytest.approx(27.5 * YARD_M)
