"""How a boat drifts in a wind: what is known before, and what its own drifts say."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot, sqrt

import numpy as np

from sweptwater.arrays import Floats
from sweptwater.offers.wind import Wind
from sweptwater.practice.outing import Drogue

SHARE, SHARE_SD = 0.045, 0.015
"""3 to 6 % of the wind, for two boats in three."""

OFF_SD_DEG = 10.0

DROGUE_RATIO, DROGUE_RATIO_SD = 0.56, 0.18
"""What a drogue leaves of the speed: mean and scatter of 0.36, 0.51, 0.59, 0.78."""

PRIOR_DRIFTS = 3.0
"""What was known before counts as so many drifts of the boat itself."""

USUAL_S, SETTLING_S = 1200.0, 600.0
"""How long a drift usually lasts, and one that tells half as much as an endless one:
gusts and the receiver move it more (common practice, no source)."""

WILD = 3.0
"""From so many times the usual scatter on, a drift counts the less the wilder it is."""


@dataclass(frozen=True, slots=True)
class Leeway:
    """How boats drift in a wind, as far as it is known.

    Parameters
    ----------
    share
        The speed of a drift as a share of the wind's at 10 m.
    share_sd
        The scatter of that share from drift to drift; of the next drift about `share`,
        so that it holds what is not known of the boat as well.
    off_deg
        The course's mean angle off straight downwind, clockwise positive.
    off_sd_deg
        Its scatter from drift to drift, in the same sense.
    drifts
        From how many drifts it was learned; 0 if it is the published range.
    """

    share: float
    share_sd: float
    off_deg: float
    off_sd_deg: float
    drifts: int = 0

    def speed_m_s(self, wind: Wind) -> float:
        """Return the expected speed of a drift in a wind."""
        return self.share * wind.speed_m_s

    def course_deg(self, wind: Wind) -> float:
        """Return the expected course of a drift in a wind, clockwise from north."""
        return float((wind.downwind_deg + self.off_deg) % 360)


@dataclass(frozen=True, slots=True)
class Sample:
    """One drift in a wind that somebody told.

    Parameters
    ----------
    share
        The speed made good as a share of the wind's.
    off_deg
        Its course's angle off straight downwind, clockwise positive.
    duration_s
        How long it lasted.
    """

    share: float
    off_deg: float
    duration_s: float


def published(drogue: Drogue) -> Leeway:
    """Return how small open boats drift, by what was measured at sea.

    With a drogue it is an extrapolation twice over: the ratio was measured on life
    rafts, at sea; and all of it was, while a reservoir has shorter waves, gusts and
    shelter. It serves until a boat's own drifts say better.

    References
    ----------
    United States Coast Guard leeway tables (Allen and Plourde 1999, CG-D-08-99, and
    the list of 2010): skiffs and open motor boats 2.5 to 6.5 % of the wind at 10 m,
    courses up to 22 degrees off it to either side; an open wooden boat 3.65 % (Allen
    and Fitzgerald 1997); a skiff with many and with few aboard 4.4 to 7.7 % (Brushett
    and others 2014). Life rafts with a drogue: 36 to 78 % of the speed without.

    Examples
    --------
    >>> published("out").speed_m_s(Wind(225, 6.7))
    0.3015
    >>> round(published("in").share, 4)
    0.0252
    """
    out = Leeway(SHARE, SHARE_SD, 0.0, OFF_SD_DEG)
    return with_drogue(out) if drogue == "in" else out


def with_drogue(out: Leeway) -> Leeway:
    """Return how a boat would drift with its drogue, from how it does without.

    Its doubt takes in that of the ratio, which was never measured on such boats: see
    `published`.
    """
    return _scaled(out, DROGUE_RATIO)


def without_drogue(in_: Leeway) -> Leeway:
    """Return how a boat would drift without its drogue, from how it does with it.

    Examples
    --------
    >>> again = without_drogue(published("in"))
    >>> round(again.share, 6), again.share_sd > published("out").share_sd
    (0.045, True)
    """
    return _scaled(in_, 1 / DROGUE_RATIO)


def _scaled(leeway: Leeway, ratio: float) -> Leeway:
    doubt = hypot(leeway.share_sd / leeway.share, DROGUE_RATIO_SD / DROGUE_RATIO)
    share = ratio * leeway.share
    return replace(leeway, share=share, share_sd=share * doubt)


def sample_of(
    *, course_deg: float, speed_m_s: float, duration_s: float, wind: Wind
) -> Sample:
    """Return what a drift in a wind tells; the wind must blow.

    Examples
    --------
    >>> sample_of(course_deg=50, speed_m_s=0.3, duration_s=900, wind=Wind(225, 4))
    Sample(share=0.075, off_deg=5.0, duration_s=900)
    """
    off_deg = (course_deg - wind.downwind_deg + 180) % 360 - 180
    return Sample(speed_m_s / wind.speed_m_s, off_deg, duration_s)


def learn(samples: Sequence[Sample], prior: Leeway) -> Leeway:
    """Return how a boat drifts by its own drifts and by what was known before.

    Shares and angles are each taken as normal about a mean of the boat's own, with a
    variance that is not known either. What was known before counts as PRIOR_DRIFTS
    drifts, k, both for the mean and for the scatter; of n drifts with weights w and a
    weighted mean x:

        mean     = (k m + W x) / (k + W),  W = sum w
        scatter2 = (k s2 + sum w (xi - x)^2 + k W (x - m)^2 / (k + W)) / (k + n)
        share_sd2 = scatter2 (1 + 1 / (k + W)),  s2 (1 + 1 / k) = the prior's share_sd2

    The weight of a drift that lasts d goes with d / (d + SETTLING_S), and is 1 if that
    is USUAL_S, so that the scatter is that of a usual drift. A drift that lies r > WILD
    scales from the middle of all is taken with (WILD / r)^2 of its weight, so that one
    wild one moves little, whatever it is. The drifts of one day share the error of its
    wind, which this does not know.

    Parameters
    ----------
    samples
        The boat's drifts.
    prior
        What was known before.

    References
    ----------
    The conjugate (normal, inverse gamma) prior with 2 + k degrees of freedom, and its
    predictive distribution, a Student's t: A. Gelman and others, Bayesian Data
    Analysis, section 3.3 (from memory).

    Examples
    --------
    >>> drifts = [Sample(0.03, 5, 1800)] * 40
    >>> learned = learn(drifts, published("out"))
    >>> round(learned.share, 3), round(learned.off_deg, 1), learned.drifts
    (0.031, 4.7, 40)
    >>> learn([], published("out")) == published("out")
    True
    """
    if not samples:
        return prior
    share = np.array([sample.share for sample in samples])
    off_deg = np.array([sample.off_deg for sample in samples])
    lasted_s = np.array([sample.duration_s for sample in samples])
    weight = lasted_s / (lasted_s + SETTLING_S) * (1 + SETTLING_S / USUAL_S)
    middle_deg = _round_middle_deg(off_deg, weight, prior.off_deg)
    mean, mean_sd = _posterior(share, weight, prior.share, prior.share_sd)
    turned_deg, off_sd_deg = _posterior(
        _turned(off_deg - middle_deg),
        weight,
        _turned(np.array(prior.off_deg - middle_deg)).item(),
        prior.off_sd_deg,
    )
    off = _turned(np.array(turned_deg + middle_deg)).item()
    return Leeway(mean, mean_sd, off, off_sd_deg, len(samples))


def _posterior(
    values: Floats, weight: Floats, mean: float, sd: float
) -> tuple[float, float]:
    """Return the mean and the scatter of the next value: see `learn`."""
    k, n = PRIOR_DRIFTS, len(values)
    weight = weight * _tame(values, mean, sd)
    total = float(weight.sum())
    own = float(weight @ values) / total
    squares = float(weight @ (values - own) ** 2)
    squares += k * total / (k + total) * (own - mean) ** 2
    scatter2 = (k * sd**2 / (1 + 1 / k) + squares) / (k + n)
    return (
        (k * mean + total * own) / (k + total),
        sqrt(scatter2 * (1 + 1 / (k + total))),
    )


def _tame(values: Floats, mean: float, sd: float) -> Floats:
    """Return how much of its weight each value keeps: the less the wilder it is.

    The prior stands among the values as often as it counts, both for their middle and
    for their scale, so that the first drift of a boat can be wild already.
    """
    k, n = PRIOR_DRIFTS, len(values)
    pool = np.append(values, [mean] * round(k))
    middle = np.median(pool)
    usual = 1.4826 * np.median(np.abs(pool - middle))
    scale = np.sqrt((k * sd**2 + n * usual**2) / (k + n))
    away = np.abs(values - middle) / (WILD * scale)
    return 1 / np.maximum(away, 1.0) ** 2


def _round_middle_deg(off_deg: Floats, weight: Floats, prior_deg: float) -> float:
    """Return the middle direction of angles and the prior's, as vectors."""
    angle = np.radians(np.append(off_deg, prior_deg))
    length = np.append(weight, PRIOR_DRIFTS)
    east, north = length @ np.sin(angle), length @ np.cos(angle)
    return float(np.degrees(np.arctan2(east, north)))


def _turned(angle_deg: Floats) -> Floats:
    """Return angles from -180 up to 180."""
    return (angle_deg + 180) % 360 - 180
