"""What is left of what was learned: it goes stale, faster over some nights."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sweptwater.arrays import Floats
from sweptwater.practice.search import DAY_S, SearchRules


@dataclass(frozen=True, slots=True)
class Night:
    """A night, and what the notes say that it changed.

    Parameters
    ----------
    midnight_s
        Its middle, in seconds since 1970 UTC: it tells from noon to noon.
    swing_deg
        By how much the wind had swung from the evening to the morning; None if nobody
        knows.
    cooled_c
        By how much the water at the top had cooled; None if nobody knows.
    cold
        Whether somebody noted that it was cold.
    """

    midnight_s: float
    swing_deg: float | None = None
    cooled_c: float | None = None
    cold: bool = False

    def swung(self, rules: SearchRules) -> bool:
        """Tell whether the wind swung so far that fish will have moved."""
        return self.swing_deg is not None and self.swing_deg > rules.swing_deg

    def chilled(self, rules: SearchRules) -> bool:
        """Tell whether it was cold, or the water cooled as much."""
        return self.cold or (self.cooled_c is not None and self.cooled_c > rules.cold_c)

    def leaves(self, rules: SearchRules) -> float:
        """Return what the night leaves of the half-life."""
        swing = rules.swing_leaves if self.swung(rules) else 1.0
        return swing * (rules.cold_leaves if self.chilled(rules) else 1.0)


def share_left(
    then_s: npt.ArrayLike,
    now_s: float,
    nights: Sequence[Night],
    rules: SearchRules,
) -> Floats:
    """Return what is left of what was learned at some times.

    Half after each half-life: 0.5 ** integral of dt / half-life, which from noon to
    noon of a night that swung the wind or was cold is so much shorter. So what is left
    from morning to evening, times what is left from evening to morning, is what is left
    of both.

    Parameters
    ----------
    then_s, now_s
        In seconds since 1970 UTC; what was learned later is whole.

    Examples
    --------
    Over two days, and over two of which the night between swung the wind: that is one
    day more.

    >>> rules = SearchRules(half_life_s=DAY_S, swing_deg=60, swing_leaves=0.5)
    >>> share_left([0.0], 2 * DAY_S, [], rules).tolist()
    [0.25]
    >>> share_left([0.0], 2 * DAY_S, [Night(DAY_S, swing_deg=120)], rules).tolist()
    [0.125]
    """
    then = np.minimum(np.asarray(then_s, dtype=np.float64), now_s)
    ages_s = now_s - then
    for night in nights:
        start_s, end_s = night.midnight_s - DAY_S / 2, night.midnight_s + DAY_S / 2
        within_s = min(now_s, end_s) - np.maximum(then, start_s)
        more = 1 / night.leaves(rules) - 1
        ages_s = ages_s + more * np.maximum(within_s, 0.0)
    return np.asarray(0.5 ** (ages_s / rules.half_life_s))
