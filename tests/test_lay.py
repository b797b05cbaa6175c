"""Laying drifts: straight banks worked by hand, then any shape in any wind."""

from itertools import product

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

from lanes_theory import theory_share
from plan_made import FORCE_4, near_lay, straight_band, yards
from shapes import ZOO
from sweptwater.arrays import Area
from sweptwater.offers.wind import Wind
from sweptwater.plan.ground import bearing_vector
from sweptwater.plan.laid import swept_share
from sweptwater.plan.lay import Lay, Wish
from sweptwater.plan.planned import WIDEST_DEG, PlannedDrift
from sweptwater.practice.outing import PlanRules
from sweptwater.units import YARD_M
from sweptwater.water.banks import QUAD_SEGS
from sweptwater.water.shapes import polygonal

WISHES: tuple[Wish, ...] = ("auto", "ladder", "parallel", "zigzag")


def lengths_yd(drifts: list[PlannedDrift]) -> list[float]:
    return [drift.length_m / YARD_M for drift in drifts]


def hours(drifts: list[PlannedDrift]) -> float:
    """Return what drifts take at 20 yards a minute, and four minutes to re-set each."""
    return (sum(lengths_yd(drifts)) / 20 + 4 * len(drifts)) / 60


def band_of(water: Area) -> Area:
    """Return the water from 20 to 80 yards off any shore."""
    off, far = (water.buffer(-yards(n), quad_segs=QUAD_SEGS) for n in (20, 80))
    return polygonal(shapely.difference(off, far))


# A mile of straight bank, by hand


def test_wind_on_to_a_mile_of_bank() -> None:
    # 1,760 / 30 = 58.7: 59 drifts of 60 yards, three minutes and four to re-set each:
    # 6.9 hours.
    lay, band = straight_band(0)
    drifts = lay.bank(1, band, "auto")
    assert {drift.pattern for drift in drifts} == {"ladder"}
    assert lengths_yd(drifts) == pytest.approx([60] * 59)
    assert hours(drifts) == pytest.approx(59 * 7 / 60)
    assert hours(drifts) == pytest.approx(6.9, abs=0.05)
    assert [round(d.off_deg(lay.wind), 6) for d in drifts] == [0] * 59


def test_with_the_usual_cast_a_drift_ends_two_yards_sooner() -> None:
    # It ends a cast of 22 yards short of land, not 20.
    lay, band = straight_band(0, cast_yd=22)
    drifts = lay.bank(1, band, "auto")
    assert lengths_yd(drifts) == pytest.approx([58] * 59)
    assert [d.places[-1][1] / YARD_M for d in drifts] == pytest.approx([22] * 59)


def test_wind_off_a_mile_of_bank() -> None:
    lay, band = straight_band(180, cast_yd=22)
    drifts = lay.bank(1, band, "auto")
    assert lengths_yd(drifts) == pytest.approx([60] * 59)
    assert [d.places[0][1] / YARD_M for d in drifts] == pytest.approx([20] * 59)


@pytest.mark.parametrize("from_deg", [90.0, 270.0])
def test_wind_along_a_mile_of_bank(from_deg: float) -> None:
    # Four stretches of 440 yards, each drifted down twice, 35 and 65 yards out: 8
    # drifts of 22 minutes and four to re-set: 8 x 26 / 60 = 3.5 hours.
    lay, band = straight_band(from_deg)
    west, south, east, north = band.bounds
    cuts = np.linspace(west, east, 5)
    drifts = [
        drift
        for number in range(4)
        for drift in lay.bank(
            number, box(cuts[number], south, cuts[number + 1], north), "auto"
        )
    ]
    assert {drift.pattern for drift in drifts} == {"parallel"}
    assert lengths_yd(drifts) == pytest.approx([440] * 8)
    out = sorted({round(float(d.places[0][1]) / YARD_M, 6) for d in drifts})
    assert out == [35, 65]
    assert hours(drifts) == pytest.approx(3.5, abs=0.05)


def test_no_drift_is_longer_than_an_hour() -> None:
    # The whole mile at once takes 88 minutes a drift: two of 44.
    lay, band = straight_band(90)
    assert lengths_yd(lay.bank(1, band, "auto")) == pytest.approx([880] * 4)


@pytest.mark.parametrize(
    ("off_deg", "pattern"), [(29, "parallel"), (31, "ladder"), (45, "ladder")]
)
def test_along_up_to_thirty_degrees(off_deg: float, pattern: str) -> None:
    for from_deg in (90 + off_deg, 90 - off_deg, 270 + off_deg, 270 - off_deg):
        lay, band = straight_band(from_deg)
        drifts = lay.bank(1, band, "auto")
        assert {drift.pattern for drift in drifts} == {pattern}


def test_a_zigzag_along_a_bank() -> None:
    # It crosses 60 yards (half a metre less at either edge) 28 degrees off the wind:
    # 1,760 / (59 / tan 28) = 15.9 legs, 2,000 yards in all.
    lay, band = straight_band(90)
    drifts = lay.bank(1, band, "zigzag")
    assert {drift.pattern for drift in drifts} == {"zigzag"}
    assert sum(lengths_yd(drifts)) == pytest.approx(
        1760 / np.cos(np.radians(28)), rel=0.01
    )
    assert all(d.off_deg(lay.wind) == pytest.approx(28) for d in drifts)


def test_open_water_down_the_wind() -> None:
    # A square of 600 yards: 20 lanes of 30, each 600 less the margin and the cast.
    water = box(0, 0, yards(600), yards(600))
    plan = PlanRules(margin_m=yards(10))
    lay = near_lay(water, Wind(180, FORCE_4), plan=plan)
    drifts = lay.open_water(water, water)
    # 580 yards across between the margins: 19.3 lanes of 30, so 20 (a quarter more is
    # one more).
    assert len(drifts) == 20
    assert {drift.pattern for drift in drifts} == {"open"}
    assert lengths_yd(drifts) == pytest.approx([568] * 20)


def test_open_water_only_over_what_is_unfished() -> None:
    water = box(0, 0, 600, 600)
    lay = near_lay(water, Wind(180, FORCE_4))
    drifts = lay.open_water(water, box(0, 200, 600, 400))
    assert drifts
    ends = np.array([drift.places[:, 1] for drift in drifts])
    assert np.unique(ends.round(6)).tolist() == [200, 400]


def test_a_bent_course_is_kept_within_half_of_what_can_be_steered() -> None:
    water = box(0, 0, 600, 600)
    for off_deg, course_deg in [(8, 8), (-8, 352), (40, 15), (-40, 345)]:
        lay = near_lay(water, Wind(180, FORCE_4), off_deg=off_deg)
        assert lay.course_deg == pytest.approx(course_deg)


# What is swept


def test_the_ladder_sweeps_all_but_the_starts() -> None:
    # Lanes of 1760 / 59 yards and a boat of 5: two triangles of 12.4 by 14.8 yards
    # are left at each start, of 29.8 by 60: 10.3 %.
    lay, band = straight_band(0)
    drifts = lay.bank(1, band, "auto")
    lane = 1760 / 59
    left = ((lane - 5) / 2) ** 2 / np.tan(np.radians(40)) / (lane * 60)
    assert theory_share(lay, band, drifts) == pytest.approx(1 - left, abs=1e-9)
    assert swept_share(lay, band, drifts) == pytest.approx(1 - left, abs=2e-3)


def test_parallel_drifts_sweep_all_but_the_starts() -> None:
    lay, band = straight_band(90)
    drifts = lay.bank(1, band, "parallel")
    left = 2 * (12.5**2) / np.tan(np.radians(40)) / (1760 * 60)
    assert theory_share(lay, band, drifts) == pytest.approx(1 - left, abs=1e-9)
    assert swept_share(lay, band, drifts) == pytest.approx(1 - left, abs=2e-3)


@pytest.mark.parametrize("off_deg", [-25.0, -12.0, 12.0, 25.0])
def test_a_slant_wind_moves_parallel_drifts_to_windward(off_deg: float) -> None:
    """By hand: the middle of what a cast at 40 degrees reaches lies L cos 40 sin off.

    Where they stayed 35 and 65 yards out, they would sweep less than theory says.
    """
    lay, band = straight_band(270 + off_deg, cast_yd=20)
    drifts = lay.bank(1, band, "parallel")
    moved_yd = 20 * np.cos(np.radians(40)) * np.sin(np.radians(off_deg))
    out_yd = sorted({float(drift.places[0][1]) / YARD_M for drift in drifts})
    assert out_yd[0] == pytest.approx(35 + moved_yd, abs=1.2)
    assert out_yd[-1] == pytest.approx(65 + moved_yd, abs=1.2)
    theory = theory_share(lay, band, drifts)
    assert swept_share(lay, band, drifts) == pytest.approx(theory, abs=0.02)


@pytest.mark.parametrize("shape", ["fan", "round"])
@pytest.mark.parametrize("wish", ["parallel", "zigzag"])
def test_along_a_bank_as_theory_says(shape: str, wish: Wish) -> None:
    # Drawn fan by fan, or with a plain buffer, within 1 % of the closed form.
    lay, band = straight_band(270)
    spread = type(lay.settings.spread)(
        "round" if shape == "round" else "fan", reach_m=yards(12), cast_m=yards(20)
    )
    settings_ = type(lay.settings)("A", ("Heron",), spread=spread)
    lay = Lay(lay.water, lay.fishable, Polygon(), settings_, lay.wind, lay.leeway)
    drifts = lay.bank(1, band, wish)
    west, south, east, north = band.bounds
    inner = box(west + yards(120), south, east - yards(120), north)
    theory = theory_share(lay, band, drifts)
    swept = swept_share(lay, inner, drifts)
    starts = 1 if shape == "round" else 1 - 0.005
    assert swept == pytest.approx(theory / (starts if wish == "parallel" else 1), 0.01)


# On any shape, in any wind


@given(
    st.sampled_from(sorted(ZOO)),
    st.floats(0, 360),
    st.sampled_from(WISHES),
    st.floats(-20, 20),
)
@settings(max_examples=25)
def test_every_drift_can_be_drifted(
    name: str, from_deg: float, wish: Wish, off_deg: float
) -> None:
    water = ZOO[name]
    lay = near_lay(water, Wind(from_deg, FORCE_4), off_deg=off_deg)
    drifts = [d for part in [band_of(water)] for d in lay.bank(1, part, wish)]
    drifts += lay.open_water(water, water)
    check_afloat(lay, drifts)


@given(st.sampled_from(["rectangle", "annulus", "two islands"]), st.floats(0, 360))
@settings(max_examples=8)
def test_every_drift_keeps_off_what_is_shut(name: str, from_deg: float) -> None:
    water = ZOO[name]
    west, south, _, north = water.bounds
    shut = polygonal(water & Point(west + 150, (south + north) / 2).buffer(90))
    lay = near_lay(water, Wind(from_deg, FORCE_4), keep_off=shut)
    drifts = lay.bank(1, polygonal(band_of(water) - shut), "auto")
    drifts += lay.open_water(lay.fishable, lay.fishable)
    assert drifts
    check_afloat(lay, drifts)
    away_m = [drift.line.distance(shut) for drift in drifts]
    assert min(away_m) >= 0.995 * lay.settings.plan.keep_off_m


def check_afloat(lay: Lay, drifts: list[PlannedDrift]) -> None:
    """Check that drifts go down the wind, in the water, a cast short of its edge."""
    plan, cast_m = lay.settings.plan, lay.settings.spread.cast_m
    shore = shapely.boundary(lay.fishable)
    loose = lay.fishable.buffer(1e-3, join_style="mitre")
    for drift in drifts:
        assert drift.off_deg(lay.wind) <= WIDEST_DEG + 1e-6
        assert plan.shortest_m - 1e-6 <= drift.length_m <= lay.longest_m + 1e-6
        assert shapely.covers(lay.fishable, drift.line)
        assert drift.line.distance(shore) >= 0.994 * plan.margin_m - 0.02
        end = drift.places[-1]
        ahead = end + (cast_m - 0.05) * bearing_vector(lay.course_deg)
        assert shapely.covers(loose, LineString([end, ahead]))


# Narrow water


@pytest.mark.parametrize(
    ("wide_yd", "from_deg"), list(product([15, 19, 30, 39, 41], [0.0, 90.0, 45.0]))
)
def test_a_creek_narrower_than_the_band(wide_yd: float, from_deg: float) -> None:
    # All of such a creek is band; what drifts there are stay in it.
    creek = box(0, 0, 800, yards(wide_yd))
    lay = near_lay(creek, Wind(from_deg, FORCE_4))
    drifts = [d for wish in WISHES for d in lay.bank(1, creek, wish)]
    check_afloat(lay, drifts)
    if wide_yd < 20 or from_deg == 0:  # less than the margins, or than a cast ahead
        assert not drifts


def test_up_a_wider_creek_the_middle_is_drifted() -> None:
    creek = box(0, 0, 800, yards(39))
    lay = near_lay(creek, Wind(90, FORCE_4))
    drifts = lay.bank(1, creek, "auto")
    assert drifts
    assert sum(d.length_m for d in drifts) > 700


@pytest.mark.parametrize("apart_yd", [15, 30, 70])
def test_islands_closer_than_the_band(apart_yd: float) -> None:
    gap_m = yards(apart_yd)
    west, east = box(300, 250, 400, 350), box(400 + gap_m, 250, 500 + gap_m, 350)
    water = Polygon(box(0, 0, 1000, 600).exterior, [west.exterior, east.exterior])
    for from_deg in (0, 45, 90, 200):
        lay = near_lay(water, Wind(from_deg, FORCE_4))
        region = polygonal(water - water.buffer(-yards(80)))
        drifts = [d for wish in WISHES for d in lay.bank(1, region, wish)]
        assert drifts
        check_afloat(lay, drifts)
        land = shapely.union(west, east)
        assert not any(drift.line.intersects(land) for drift in drifts)
