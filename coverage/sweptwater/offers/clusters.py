"""Whether offers come in clusters: a shoal under the boat, and then nothing.

Counts that come in clusters scatter more than single ones would, and leave more open.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from scipy.special import ndtri, stdtrit

from sweptwater.arrays import Floats, Ints

LEAST_FREEDOM = 3.0
"""Squares that scatter even more tell nothing of how much they do."""

ROUNDS = 200
"""A fit by turns has settled long before, but where classes hardly overlap."""


@dataclass(frozen=True, slots=True)
class Clusters:
    """How much more the counts of drifts scatter than offers that come singly.

    Parameters
    ----------
    factor
        The variance of counts over their mean, 1 or more.
    drifts
        How many drifts tell so.
    """

    factor: float = 1.0
    drifts: int = 0

    @property
    def widen(self) -> float:
        """How many times as wide clusters make a range."""
        return sqrt(self.factor)


def clusters_of(
    offers: Sequence[float] | Floats,
    hours: Sequence[float] | Floats,
    *ways: Sequence[Hashable],
    drifts: Sequence[Hashable] | None = None,
) -> Clusters:
    """Return how clustered the offers of some stints are.

    What stints should have met comes from the rate of the classes that they belong to
    (`expected`), so that good water is not taken for a cluster. Then

        factor = sum over drifts of (offers - expected)^2 / its mean without clusters,

    a mean of Pearson's terms (chi squared over degrees of freedom) weighted by what
    each drift should have met. Unweighted, a drift that should have met 0.02 and met 1
    counts fifty times; and a boat that leaves with its first fish makes many such.
    Weighted, the factor's mean is 1 for single offers under any rule for stopping,
    since offers less rate times hours is a martingale; and for clustered ones it is
    what the variance of totals is multiplied with.

    A range needs more than that, since the factor itself is uncertain: it is multiplied
    by the square of Student's quantile over the normal one, with as many degrees of
    freedom as the squares' own scatter has (Satterthwaite). And what few offers tell is
    doubted: the excess over 1 is divided by 1 + v, v the factor's variance for single
    offers, as if over all practices the excess had a standard deviation of 1.

    Parameters
    ----------
    offers, hours
        (n,) of each stint that was told.
    ways
        (n,) names of classes each: by sector, by layer, by light and so on.
    drifts
        (n,) what stints share a cluster, a boat's drift say; by default none do.

    References
    ----------
    The dispersion of counts: P. McCullagh, J. A. Nelder, Generalized Linear Models, 2nd
    edition, 1989, 6.2 (from memory). F. E. Satterthwaite, An approximate distribution
    of estimates of variance components, Biometrics Bulletin 2, 1946 (from memory).

    Examples
    --------
    >>> clusters_of([6, 0, 0, 0, 6, 0], [1] * 6, ["east"] * 6).factor > 3
    True
    >>> clusters_of([1, 1, 1, 1], [1] * 4, ["east"] * 4)
    Clusters(factor=1.0, drifts=4)
    >>> clusters_of([], [])
    Clusters(factor=1.0, drifts=0)
    """
    found, spent = np.asarray(offers, float), np.asarray(hours, float)
    codes = [_codes(way) for way in ways]
    means = expected(found, spent, codes)
    together = np.arange(len(found)) if drifts is None else _codes(drifts)
    number = int(together.max(initial=-1)) + 1
    off = np.bincount(together, found - means, number).astype(float)
    sums = np.bincount(together, means, number).astype(float)
    plain = float(sums.sum() - _absorbed(means, codes, together, number))
    if plain < 1e-9:
        return Clusters(1.0, number)
    doubt = float((sums + 2 * sums**2).sum()) / plain**2
    factor = max(1.0, float((off**2).sum()) / plain * _student(off))
    return Clusters(1 + (factor - 1) / (1 + doubt), number)


def expected(offers: Floats, hours: Floats, ways: Sequence[Ints]) -> Floats:
    """Return (n,) what stints should have met, by the classes that they belong to.

    Rates are products of an effect of each class: the Poisson log-linear model, fitted
    by scaling to each way's totals in turn until all agree.

    Parameters
    ----------
    ways
        (n,) numbers of classes each.

    References
    ----------
    W. E. Deming, F. F. Stephan, On a least squares adjustment..., 1940 (from memory).
    """
    if not offers.sum():
        return np.zeros_like(offers)
    means = hours * offers.sum() / max(hours.sum(), 1e-12)
    totals = [np.bincount(way, offers) for way in ways]
    for _ in range(ROUNDS):
        before = means
        for way, total in zip(ways, totals, strict=True):
            now = np.bincount(way, means)
            scale = np.divide(total, now, out=np.zeros_like(total), where=now > 0)
            means = means * scale[way]
        if np.allclose(means, before, rtol=1e-9, atol=1e-12):
            break
    return means


def _absorbed(
    means: Floats, ways: Sequence[Ints], together: Ints, number: int
) -> float:
    """Return how much of the scatter the fit takes up: the trace of its hat matrix.

    That of the sums by drift, in units of variance.
    """
    columns = [np.ones(len(means))]
    columns += [(way == name).astype(float) for way in ways for name in np.unique(way)]
    design = np.column_stack(columns)
    weighted = design * means[:, None]
    sums = np.column_stack(
        [np.bincount(together, column, number) for column in weighted.T]
    )
    inverse = np.linalg.pinv(design.T @ weighted, hermitian=True)
    return float(np.einsum("gi,ij,gj->", sums, inverse, sums))


def _student(off: Floats) -> float:
    """Return how much wider a range is whose variance comes from these squares."""
    all_squares, fourths = float((off**2).sum()), float((off**4).sum())
    scatter = fourths - all_squares**2 / len(off)
    if scatter <= 1e-12 * fourths:
        return 1.0
    freedom = max(LEAST_FREEDOM, 2 * all_squares**2 / scatter)
    return float((stdtrit(freedom, 0.975) / ndtri(0.975)) ** 2)


def _codes(names: Sequence[Hashable]) -> Ints:
    numbers: dict[Hashable, int] = {}
    return np.array([numbers.setdefault(name, len(numbers)) for name in names], int)
