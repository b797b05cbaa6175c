"""Winds as people write them, and Beaufort's forces."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.errors import PracticeError
from sweptwater.offers.wind import (
    Wind,
    beaufort,
    force_speed_m_s,
    parse_wind,
    wind_text,
)
from sweptwater.units import COMPASS_POINTS, KMH_M_S, KNOT_M_S, MPH_M_S

RANGES_M_S = (
    *((0, 0.2), (0.3, 1.5), (1.6, 3.3), (3.4, 5.4), (5.5, 7.9), (8.0, 10.7)),
    *((10.8, 13.8), (13.9, 17.1), (17.2, 20.7), (20.8, 24.4), (24.5, 28.4)),
    (28.5, 32.6),
)
"""Forces 0 to 11: WMO-No. 306, code table 1100, as the pages delta-s.org/weer and
meteothes.gr give it. 12 is 32.7 m/s and more."""

SW4 = Wind(225, 6.688)


def same(found: Wind, wind: Wind) -> bool:
    return found.from_deg == pytest.approx(wind.from_deg) and (
        found.speed_m_s == pytest.approx(wind.speed_m_s, abs=5e-4)
    )


@pytest.mark.parametrize(("force", "bounds"), list(enumerate(RANGES_M_S)))
def test_each_force_has_its_published_range(
    force: int, bounds: tuple[float, float]
) -> None:
    assert [beaufort(speed_m_s) for speed_m_s in bounds] == [force, force]
    assert bounds[0] <= force_speed_m_s(force) <= bounds[1]
    if 1 <= force <= 11:
        assert force_speed_m_s(force) == pytest.approx(sum(bounds) / 2, abs=0.13)


def test_the_highest_force_has_no_end() -> None:
    assert [beaufort(v) for v in (32.7, 50, 1e9)] == [12] * 3
    assert beaufort(force_speed_m_s(12)) == 12


@pytest.mark.parametrize(("force", "m_s"), [(4, 6.688), (6, 12.287), (8, 18.917)])
def test_the_speed_of_a_force(force: int, m_s: float) -> None:
    """0.836 B^1.5 (from memory), worked out with numpy elsewhere."""
    assert force_speed_m_s(force) == pytest.approx(m_s, abs=5e-4)


@pytest.mark.parametrize(
    ("text", "wind"),
    [
        *((text, SW4) for text in ("SW4", "sw 4", " Sw  4 ", "SW F4", "SW force 4")),
        *((text, SW4) for text in ("south-west 4", "South West 4", "s-w 4", "SW, 4")),
        ("SW 4 Bft", SW4),
        ("wsw 5", Wind(247.5, 9.347)),
        ("north-north-east 2", Wind(22.5, 2.365)),
        ("SW 4-5", Wind(225, force_speed_m_s(4.5))),
        ("SW4/5", Wind(225, force_speed_m_s(4.5))),
        ("SW 4 to 5", Wind(225, force_speed_m_s(4.5))),
        ("N 0", Wind(0, 0)),
        ("Calm", Wind(0, 0)),
        ("240@12mph", Wind(240, 12 * MPH_M_S)),
        ("240 @ 12 MPH", Wind(240, 12 * MPH_M_S)),
        ("240 12 mph", Wind(240, 12 * MPH_M_S)),
        ("240\u00b0 12-14 mph", Wind(240, 13 * MPH_M_S)),
        ("240@10kn", Wind(240, 10 * KNOT_M_S)),
        ("240@10 knots", Wind(240, 10 * KNOT_M_S)),
        ("240@5.5m/s", Wind(240, 5.5)),
        ("240@5,5 m/s", Wind(240, 5.5)),
        ("240@20km/h", Wind(240, 20 * KMH_M_S)),
        ("240@20 kmh", Wind(240, 20 * KMH_M_S)),
        ("5@3m/s", Wind(5, 3)),
        ("360@3m/s", Wind(0, 3)),
        ("22,5@3m/s", Wind(22.5, 3)),
        ("SW@15mph", Wind(225, 15 * MPH_M_S)),
        ("SW 15mph", Wind(225, 15 * MPH_M_S)),
        ("SW 4 (15 mph)", Wind(225, 15 * MPH_M_S)),
    ],
)
def test_winds_as_people_write_them(text: str, wind: Wind) -> None:
    assert same(parse_wind(text), wind)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "'' is no wind: write it like SW4, or 240@12mph"),
        ("breezy", "'breezy' is no wind: write it like"),
        ("4", "'4' does not say a wind's speed with its unit: write it like SW4, or"),
        ("SW", "'SW' does not say how hard the wind blows: write it like SW4"),
        ("SW 15", "'SW 15' is no wind, since Beaufort's forces go from 0 to 12 and a"),
        ("SW 11-13", "Beaufort's forces go from 0 to 12"),
        ("240@12", "'240@12' does not say a wind's speed with its unit"),
        ("240 4", "does not say a wind's speed with its unit"),
        ("24012mph", "does not say a wind's speed with its unit"),
        ("361@5m/s", "since degrees go from 0 to 360: write"),
        ("240@500mph", "'240@500mph' is more wind than there is"),
        ("SN4", "since SN is none of the sixteen compass points: write"),
        ("WWS 4", "WWS is none of the sixteen"),
        ("-20@5m/s", "is no wind"),
        ("SW nan", "is no wind"),
        ("240@5yd", "does not say a wind.s speed with its unit"),
    ],
)
def test_what_is_no_wind(text: str, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        parse_wind(text)


@given(st.text(max_size=12))
def test_any_text_is_a_wind_or_refused(text: str) -> None:
    try:
        wind = parse_wind(text)
    except PracticeError:
        return
    assert 0 <= wind.from_deg < 360
    assert 0 <= wind.speed_m_s <= 60


@given(
    st.sampled_from(COMPASS_POINTS),
    st.integers(1, 12),
    st.sampled_from(["{}{}", "{} {}", "{} f{}"]),
    st.booleans(),
)
def test_a_point_and_a_force_come_back(
    point: str, force: int, form: str, lower: bool
) -> None:
    text = form.format(point, force)
    told = wind_text(parse_wind(text.lower() if lower else text))
    assert told.split(" (")[0] == f"{point} {force}"


@given(st.integers(0, 359), st.integers(0, 599), st.sampled_from("@ ,"))
def test_degrees_and_a_speed_come_back(
    from_deg: int, tenths: int, between: str
) -> None:
    wind = parse_wind(f"{from_deg}{between}{tenths / 10}m/s")
    assert wind.from_deg == from_deg
    assert wind.speed_m_s == pytest.approx(tenths / 10)


@given(st.floats(0, 359.9), st.floats(0.3, 59))
def test_what_is_told_can_be_written_down(from_deg: float, speed_m_s: float) -> None:
    """Within the sixteenth of a circle, and half a mile an hour."""
    wind = Wind(from_deg, speed_m_s)
    again = parse_wind(wind_text(wind))
    assert abs((again.from_deg - from_deg + 180) % 360 - 180) <= 11.25 + 1e-9
    assert abs(again.speed_m_s - speed_m_s) <= MPH_M_S / 2 + 1e-9
