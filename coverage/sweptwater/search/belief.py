"""Where fish that nobody has met may be: what is believed of each square and layer."""

from dataclasses import dataclass

import numpy as np

from sweptwater.arrays import Bools, Floats
from sweptwater.practice.search import SearchRules
from sweptwater.search.laws import haphazard_chance, regular_chance
from sweptwater.search.squares import Squares
from sweptwater.units import FOOT_M

SHALLOW_M = 8 * FOOT_M
"""Shallower water has fewer fish (common practice, no source)."""

LEAST = 0.05

DEEPEST = 0.5
"""The lowest layer holds fewer fish that take a fly (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """What is believed of a water: (squares, layers) each.

    Parameters
    ----------
    squares
        The water.
    before
        The chance that a fish is there, whatever the boats searched; they add up to 1.
    factor
        The coverage factor of what was searched, counting what is left of it.

    Examples
    --------
    By hand: two sectors of one size, the first twice as likely, both of one layer. The
    first was searched until half of its fish would have shown: of ten chances in
    fifteen that they were there five are left, and as many in the other. One fish in
    three would have shown by now.

    >>> from math import log
    >>> import shapely
    >>> from sweptwater.search.squares import lay_squares
    >>> one, two = shapely.box(0, 0, 400, 400), shapely.box(400, 0, 800, 400)
    >>> water = {"A": one, "B": two}
    >>> squares = lay_squares(one | two, water, (), layers=["all"], tops_m=[0])
    >>> first = np.array([squares.patches[p].sector == "A" for p in squares.patch])
    >>> belief = Belief(
    ...     squares,
    ...     prior(squares, SearchRules(), hopes=np.where(first, 2.0, 1.0)),
    ...     np.where(first, log(2), 0.0)[:, None],
    ... )
    >>> round(float(belief.unfound[first].sum()), 6), round(belief.chance, 6)
    (0.333333, 0.333333)
    """

    squares: Squares
    before: Floats
    factor: Floats

    @property
    def unfound(self) -> Floats:
        """The chance that a fish is there and has not been met: before x exp(-C).

        Bayes' rule, but that it is not divided by the chance of its not being met, so
        that they add up to that.
        """
        return self.before * np.exp(-self.factor)

    @property
    def chance(self) -> float:
        """The chance that a fish anywhere would have been met by now."""
        return float((self.before * haphazard_chance(self.factor)).sum())

    def chance_in(self, which: Bools, layer: int | None = None) -> float:
        """Return the chance that a fish in some squares would have been met.

        Cautiously, and 0 where none can be.

        Parameters
        ----------
        which
            The squares, (n,).
        layer
            The layer; None for all.
        """
        return self._mean(haphazard_chance(self.factor), which, layer)

    def at_best_in(self, which: Bools, layer: int | None = None) -> float:
        """Return the same for drifts laid as regularly as can be."""
        return self._mean(regular_chance(self.factor), which, layer)

    def _mean(self, chance: Floats, which: Bools, layer: int | None) -> float:
        columns = slice(None) if layer is None else slice(layer, layer + 1)
        weight = self.before[which, columns]
        total = float(weight.sum())
        return float((weight * chance[which, columns]).sum() / total) if total else 0.0


def prior(
    squares: Squares,
    rules: SearchRules,
    *,
    sky: str | None = None,
    hopes: Floats | None = None,
    taught: Floats | None = None,
) -> Floats:
    """Return the chance that a fish is in each square and layer, (n, layers).

    As likely on any acre (less where it is shallower than SHALLOW_M, as the depth),
    `shore_counts` times as likely by a bank, and as likely in each layer that is there,
    but that the lowest of all, which has no end, counts DEEPEST, and in bright light
    the top one `bright_top`, since light sends fish down; times what the captain
    hopes, times what offers teach. They add up to 1.

    Parameters
    ----------
    sky
        The light to come, if it is known.
    hopes
        How many times as likely each square is, (n,).
    taught
        The same of each square and layer, (n, layers): see `teaching`.
    """
    weight = np.where(squares.by_bank, rules.shore_counts, 1.0)
    weight = weight * np.clip(
        np.nan_to_num(squares.depth_m, nan=SHALLOW_M) / SHALLOW_M, LEAST, 1.0
    )
    if hopes is not None:
        weight = weight * hopes
    part = np.ones(len(squares.layers))
    part[1:][-1:] = DEEPEST
    if sky == "bright" and len(part) > 1:
        part[0] = rules.bright_top
    layer = squares.there * part
    each = layer * (weight / layer.sum(axis=1))[:, None]
    if taught is not None:
        each = each * taught
    return np.asarray(each / each.sum())
