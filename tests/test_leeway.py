"""How boats drift in a wind: the published range, and learning from drifts."""

from dataclasses import replace
from math import atan2, degrees, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from sweptwater.offers.wind import Wind
from sweptwater.plan.leeway import (
    PRIOR_DRIFTS,
    SETTLING_S,
    USUAL_S,
    WILD,
    Leeway,
    Sample,
    learn,
    published,
    sample_of,
    with_drogue,
    without_drogue,
)

OUT, IN = published("out"), published("in")

OPEN_BOATS = {
    "skiff, cathedral hull": (3.15, 0.0),
    "skiff, V hull": (2.87, 3.98),
    "skiff, V hull, aluminium": (2.52, 13.37),
    "open boat with a centre console": (5.55, 0.0),
    "sport boat without canvas": (6.54, 0.0),
    "open wooden boat, 5.5 m": (3.65, 0.0),
    "skiff of 5.8 m with 13 aboard": (4.4, 0.0),
}
"""Slope in % of the wind and offset in cm/s. The first five: the Coast Guard's list as
Allen made it for drift models (2010; Allen and Plourde 1999, CG-D-08-99), as the open
file OBJECTPROP.DAT of a public drift model gives it. The sixth: Allen and Fitzgerald
1997; the last: Brushett and others 2014, who found 7.71 % with one aboard, which two
rods and their gear are not. Swamped boats (1.65 and 1.73 %) fish no more."""

RAFTS = {
    "deep ballast": (1.91, 3.75),
    "shallow ballast, canopy": (2.31, 2.96),
    "no ballast, no canopy": (3.15, 5.34),
    "no ballast, canopy": (1.21, 3.39),
}
"""The same list's slopes of life rafts with a drogue and without."""


@pytest.mark.parametrize("name", OPEN_BOATS)
@pytest.mark.parametrize("wind_m_s", [3, 5, 8])
def test_published_boats_lie_in_the_range(name: str, wind_m_s: float) -> None:
    slope, offset_cm_s = OPEN_BOATS[name]
    share = (slope + offset_cm_s / wind_m_s) / 100
    assert abs(share - OUT.share) <= 2 * OUT.share_sd


def test_the_range_is_no_wider_than_the_boats() -> None:
    """Two thirds of the published slopes lie within one scatter, and no more."""
    slopes = np.array([slope for slope, _ in OPEN_BOATS.values()]) / 100
    inside = np.mean(np.abs(slopes - OUT.share) <= OUT.share_sd)
    assert 0.4 <= inside <= 0.8


@pytest.mark.parametrize("name", RAFTS)
def test_published_drogues_lie_in_the_range(name: str) -> None:
    with_, without = RAFTS[name]
    found = replace(OUT, share=without / 100, share_sd=0.0)
    expected = with_drogue(found)
    assert abs(with_ / 100 - expected.share) <= 2 * expected.share_sd


def test_the_drogue_ratio_is_that_of_the_rafts() -> None:
    ratios = [with_ / without for with_, without in RAFTS.values()]
    assert IN.share / OUT.share == pytest.approx(np.mean(ratios), abs=0.005)
    doubt = sqrt((IN.share_sd / IN.share) ** 2 - (OUT.share_sd / OUT.share) ** 2)
    assert doubt == pytest.approx(np.std(ratios, ddof=1) / np.mean(ratios), abs=0.01)


def test_the_course_lies_to_both_sides() -> None:
    """Down 3.15 and across 1.29 % of the wind: the furthest of the same list."""
    furthest_deg = degrees(atan2(1.29, 3.15))
    assert furthest_deg == pytest.approx(22.27, abs=0.01)
    for leeway in (OUT, IN):
        assert leeway.off_deg == 0
        assert 2 * leeway.off_sd_deg < furthest_deg < 3 * leeway.off_sd_deg


def test_speed_and_course() -> None:
    """By hand: a south-west wind of 5 m/s blows to 45 degrees."""
    leeway = Leeway(0.04, 0.01, -50, 9)
    wind = Wind(225, 5)
    assert leeway.speed_m_s(wind) == pytest.approx(0.2)
    assert leeway.course_deg(wind) == pytest.approx(355)


@pytest.mark.parametrize(
    ("course", "from_deg", "off"),
    [(45, 225, 0), (5, 170, 15), (350, 180, -10), (10, 195, -5), (180, 10, -10)],
)
def test_off_the_wind(course: float, from_deg: float, off: float) -> None:
    found = sample_of(
        course_deg=course, speed_m_s=0.2, duration_s=600, wind=Wind(from_deg, 4)
    )
    assert (found.share, found.off_deg) == pytest.approx((0.05, off))


def test_the_posterior_by_hand() -> None:
    """Two drifts of five minutes, each of weight 1.5 / 3 = 1 / 2, one of 20: 1.

    Shares 0.03, 0.03 and 0.04: W = 2, x = 0.035, and with k = 3
    mean = (0.135 + 0.07) / 5 = 0.041. s2 = 0.015^2 x 3 / 4 = 1.6875e-4. Squares: 2 x
    0.005^2 = 5e-5, and 6 / 5 x 0.01^2 = 1.2e-4. scatter2 = (5.0625e-4 + 1.7e-4) / 6;
    share_sd2 = 6 / 5 of that = 1.3525e-4. Angles 10, 10 and 2: x = 6, mean 2.4; s2 =
    75; squares 32 and 43.2; (225 + 75.2) / 6 x 6 / 5 = 60.04.
    """
    assert (PRIOR_DRIFTS, SETTLING_S, USUAL_S) == (3, 600, 1200)
    found = learn([*[Sample(0.03, 10, 300)] * 2, Sample(0.04, 2, 1200)], OUT)
    assert found.share == pytest.approx(0.041)
    assert found.share_sd == pytest.approx(sqrt(1.3525e-4))
    assert found.off_deg == pytest.approx(2.4)
    assert found.off_sd_deg == pytest.approx(sqrt(60.04))
    assert found.drifts == 3


@pytest.mark.slow
def test_the_posterior_against_integration() -> None:
    """Mean and variance of the next drift, by scipy over all means and variances.

    The prior: variance ~ inverse gamma (1 + k / 2, k s2 / 2), mean ~ normal(m, variance
    / k); a drift of weight w ~ normal(mean, variance / w).
    """
    samples = [
        Sample(share, 0, duration_s)
        for share, duration_s in ((0.031, 400), (0.038, 1500), (0.035, 900), (0.04, 60))
    ]
    found = learn(samples, OUT)
    k = PRIOR_DRIFTS
    s2 = OUT.share_sd**2 / (1 + 1 / k)
    weight = np.array([1.5 * s.duration_s / (s.duration_s + 600) for s in samples])
    share = np.array([s.share for s in samples])

    def density(mean: float, log_sd: float) -> float:
        sd = np.exp(log_sd)
        variance = sd**2
        prior = stats.invgamma.pdf(variance, 1 + k / 2, scale=k * s2 / 2)
        prior *= stats.norm.pdf(mean, OUT.share, sd / np.sqrt(k))
        likely = np.prod(stats.norm.pdf(share, mean, sd / np.sqrt(weight)))
        return float(prior * likely * 2 * variance)  # to log sd

    mean = np.linspace(-0.01, 0.09, 401)
    log_sd = np.linspace(np.log(2e-3), np.log(0.1), 301)
    grid = np.array([[density(m, s) for s in log_sd[::3]] for m in mean[::2]])
    mean, log_sd = mean[::2], log_sd[::3]

    def expected(values: np.ndarray) -> float:
        inner = integrate.simpson(grid * values, x=log_sd, axis=1)
        return float(integrate.simpson(inner, x=mean))

    whole = expected(np.ones_like(grid))
    centre = expected(np.broadcast_to(mean[:, None], grid.shape)) / whole
    spread = expected((mean[:, None] - centre) ** 2 + np.exp(2 * log_sd)) / whole
    assert found.share == pytest.approx(centre, rel=1e-3)
    assert found.share_sd == pytest.approx(sqrt(spread), rel=5e-3)


@pytest.mark.parametrize("share", [0.022, 0.035, 0.06])
@pytest.mark.parametrize("off_deg", [-14.0, 0.0, 8.0])
def test_a_boat_is_found(share: float, off_deg: float) -> None:
    """Made up: 200 boats with 20 drifts each, and the twenty-first foretold.

    Of normal errors, 95 in 100 lie within 1.96 of the told scatter: of 200, 190 with a
    scatter of 3, and fewer are out while the prior widens it. The mean errs by less
    than half of that scatter as a rule.
    """
    rng = np.random.default_rng(5)
    hits, off_hits, errors = 0, 0, []
    for _ in range(200):
        shares = rng.normal(share, 0.15 * share, 21)
        offs = rng.normal(off_deg, 7, 21)
        lasted_s = rng.uniform(300, 3000, 21)
        made = [Sample(*row) for row in zip(shares, offs, lasted_s, strict=True)]
        found = learn(made[:20], OUT)
        hits += abs(shares[20] - found.share) <= 1.96 * found.share_sd
        off_hits += abs(offs[20] - found.off_deg) <= 1.96 * found.off_sd_deg
        errors.append(abs(found.share - share) / found.share_sd)
    assert 181 <= hits <= 200
    assert 181 <= off_hits <= 200
    assert np.median(errors) < 0.5


def test_few_drifts_move_it_a_little_and_many_determine_it() -> None:
    shares = [
        learn([Sample(0.025, 0, 1800)] * n, OUT).share for n in (0, 1, 3, 30, 300)
    ]
    assert shares == sorted(shares, reverse=True)
    assert shares[1] > 0.039
    assert shares[-1] == pytest.approx(0.025, abs=5e-4)


def test_many_drifts_determine_the_scatter() -> None:
    rng = np.random.default_rng(2)
    made = [Sample(x, y, 1200) for x, y in rng.normal((0.03, 5), (0.004, 6), (400, 2))]
    found = learn(made, OUT)
    assert found.share_sd == pytest.approx(0.004, rel=0.1)
    assert found.off_sd_deg == pytest.approx(6, rel=0.1)


@given(
    st.integers(0, 30),
    st.floats(-2, 2),
    st.floats(-180, 180),
    st.floats(180, 20_000),
)
def test_one_wild_drift_moves_it_little(
    number: int, share: float, off_deg: float, lasted_s: float
) -> None:
    """By no more than WILD scales of a single drift among the prior's and the rest."""
    rng = np.random.default_rng(number)
    good = [
        Sample(x, y, 1200) for x, y in rng.normal((0.04, 3), (0.005, 5), (number, 2))
    ]
    without, with_ = (
        learn(s, OUT) for s in (good, [*good, Sample(share, off_deg, lasted_s)])
    )
    most = WILD / (PRIOR_DRIFTS + number / 2)
    assert abs(with_.share - without.share) <= most * 1.3 * OUT.share_sd
    assert abs(with_.off_deg - without.off_deg) <= most * 1.3 * OUT.off_sd_deg
    assert with_.share_sd <= 2.5 * OUT.share_sd


def test_angles_go_round() -> None:
    """Drifts that all go the wrong way: 178 and -178 are next to each other."""
    made = [Sample(0.04, 178, 3600), Sample(0.04, -178, 3600)] * 50
    found = learn(made, replace(OUT, off_deg=180.0))
    assert abs(found.off_deg) == pytest.approx(180, abs=0.5)
    assert found.off_sd_deg < 5


def test_the_other_drogue_and_back() -> None:
    learned = Leeway(0.03, 0.004, 5.0, 6.0, 25)
    found = with_drogue(learned)
    assert found.share == pytest.approx(0.03 * 0.56)
    # Relative: 0.1333 and 0.18 / 0.56 = 0.3214, together 0.348.
    assert found.share_sd / found.share == pytest.approx(0.348, abs=5e-4)
    assert (found.off_deg, found.off_sd_deg, found.drifts) == (5.0, 6.0, 25)
    assert without_drogue(found).share == pytest.approx(0.03)
