"""Whether offers come in clusters: against a judge's fits, and by simulation."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from rates_made import World, practice
from sweptwater.offers.clusters import Clusters, _absorbed, clusters_of, expected


def _design(ways: list[list[int]]) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    columns = [np.ones(len(ways[0]))]
    columns += [
        (np.array(way) == name).astype(float)
        for way in ways
        for name in set(way) - {way[0]}
    ]
    return np.column_stack(columns)


@pytest.mark.parametrize("seed", [0, 1, 3, 4])
def test_what_stints_should_have_met_is_a_poisson_regression(seed: int) -> None:
    # Judged by statsmodels' GLM: fitted values, and the diagonal of its hat matrix.
    made = practice(np.random.default_rng(seed), World(mean=2.0))
    offers = made.offers.astype(float)
    assert all(np.bincount(made.ways[way], offers).all() for way in made.ways)
    codes = [made.ways[way] for way in ("sector", "layer", "light")]
    judge = sm.GLM(
        offers,
        _design([code.tolist() for code in codes]),
        family=sm.families.Poisson(),
        exposure=made.hours,
    ).fit()
    means = expected(offers, made.hours, codes)
    assert means == pytest.approx(judge.fittedvalues, rel=1e-5)
    alone = np.arange(len(offers))
    hat = judge.get_influence().hat_matrix_diag
    taken = _absorbed(means, codes, alone, len(offers))
    assert taken == pytest.approx(float(hat @ means), rel=1e-4)


@pytest.mark.parametrize(
    "offers", [[9, 0, 0, 1, 0, 8, 0, 0, 2, 0], [3, 2, 0, 9, 1, 0, 0, 0, 7, 4]]
)
def test_equal_stints_give_pearsons_dispersion(offers: list[int]) -> None:
    # Judged by statsmodels' chi squared over degrees of freedom; what is then made of
    # it (wider for its own doubt, less for few offers) only moves it within bounds.
    judge = sm.GLM(offers, np.ones(10), family=sm.families.Poisson()).fit()
    pearson = judge.pearson_chi2 / judge.df_resid
    factor = clusters_of(offers, [1.0] * 10, ["east"] * 10).factor
    assert 0.9 * pearson < factor < 2.7 * pearson


def test_singles_and_shoals_are_told_apart() -> None:
    rng = np.random.default_rng(2)
    factors = {
        shoals: np.mean([_factor(rng, World(shoals=shoals)) for _ in range(60)])
        for shoals in (None, 1.0, 0.5)
    }
    assert factors[None] < 1.25
    # A drift should meet 0.46 offers of the stints told, on average more where it is
    # good: variance over mean is some 1 + 0.6 / shape.
    assert 1.4 < factors[1.0] < 2.3
    assert 1.9 < factors[0.5] < 3.2


@pytest.mark.parametrize("leave_at", [1, 2, 4])
def test_leaving_fish_makes_no_clusters(leave_at: int) -> None:
    rng = np.random.default_rng(4)
    factors = [_factor(rng, World(leave_at=leave_at)) for _ in range(60)]
    assert np.mean(factors) < 1.3


def test_good_water_is_no_cluster() -> None:
    offers, where = [4, 4, 4, 4, 0, 0, 0, 0], ["east"] * 4 + ["west"] * 4
    assert clusters_of(offers, [1.0] * 8, where).factor == 1
    assert clusters_of(offers, [1.0] * 8).factor > 1.5


def test_rods_of_a_boat_share_a_shoal() -> None:
    offers, hours = [3, 2, 0, 0, 0, 0, 2, 3, 0, 0, 0, 0], [0.5] * 12
    boats = [drift // 2 for drift in range(12)]
    apart = clusters_of(offers, hours)
    together = clusters_of(offers, hours, drifts=boats)
    assert together.factor > 1.3 * apart.factor
    assert (apart.drifts, together.drifts) == (12, 6)


def test_a_case_done_by_hand() -> None:
    # Chi squared over degrees of freedom is 4 / 3. Its squares are all alike, so that
    # Student's quantile adds nothing; singles' variance is (4 x 1 + 4 x 2) / 3^2.
    found = clusters_of([2, 0, 2, 0], [1.0] * 4, ["east"] * 4)
    assert found.factor == pytest.approx(1 + (1 / 3) / (1 + 12 / 9))


def test_few_offers_are_doubted() -> None:
    # Chi squared over degrees of freedom is 2: (1.5^2 + 3 x 0.5^2) / 0.5 / 3.
    assert 1 < clusters_of([2, 0, 0, 0], [1.0] * 4).factor < 1.8
    # 30 times as many drifts: 2 x 3 / 4 x 120 / 119 = 1.51, and its own doubt.
    assert 1.5 < clusters_of([2, 0, 0, 0] * 30, [1.0] * 120).factor < 1.7


@pytest.mark.parametrize(
    ("offers", "hours"), [([], []), ([0, 0], [1.0, 1.0]), ([3], [1.0]), ([2], [0.0])]
)
def test_nothing_to_tell_from(offers: list[int], hours: list[float]) -> None:
    none = clusters_of(offers, hours, ["east"] * len(offers))
    assert none == Clusters(1.0, len(offers))
    assert none.widen == 1


@given(
    st.lists(
        st.tuples(
            st.integers(0, 12), st.floats(0.1, 2), st.sampled_from("abc"), st.booleans()
        ),
        min_size=1,
        max_size=25,
    )
)
def test_never_below_one(
    stints: list[tuple[int, float, str, bool]],
) -> None:
    offers, hours, first, second = map(list, zip(*stints, strict=True))
    found = clusters_of(offers, hours, first, second)
    assert 1 <= found.factor < 100
    assert found.widen == pytest.approx(found.factor**0.5)
    again = clusters_of(offers[::-1], hours[::-1], first[::-1], second[::-1])
    assert again.factor == pytest.approx(found.factor, rel=1e-6)


def _factor(rng: np.random.Generator, world: World) -> float:
    made = practice(rng, world)
    ways = [made.ways[way].tolist() for way in ("sector", "layer", "light")]
    return clusters_of(
        made.offers.astype(float), made.hours, *ways, drifts=made.drift.tolist()
    ).factor
