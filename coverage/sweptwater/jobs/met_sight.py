"""What the page of what the boats met is made of."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from sweptwater.arrays import Area
from sweptwater.offers.table import RateRow
from sweptwater.paper.looks import RateClass
from sweptwater.practice.tally import Counts


@dataclass(frozen=True, slots=True)
class Untold:
    """Drifts of which nobody told what a rod met; an empty rod is both of a boat."""

    day: date
    pair: str
    rod: str
    drifts: tuple[int, ...]
    rod_hours: float


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """What was fished at one bank, at one layer, in one light.

    Parameters
    ----------
    bank, name
        The bank's number, and its name where it has one.
    drifts
        Those of which a part was fished so.
    share
        Of the bank's water, swept so.
    """

    bank: int
    name: str
    sector: str
    layer: str
    light: str
    rod_hours: float
    drifts: int
    share: float


@dataclass(frozen=True, slots=True)
class PlacedOffers:
    """Offers at one place, in metres, and what is to be said of them in a few words.

    Parameters
    ----------
    sure
        Whether the place itself was told, and not only the drift that it is on.
    """

    counts: Counts
    easting: float
    northing: float
    text: str
    sure: bool = True


@dataclass(frozen=True, slots=True)
class LooseOffers:
    """Offers of which nobody told the place, and where they may have been, if known."""

    counts: Counts
    text: str
    area: Area | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Met:
    """What the boats met, as the page tells it.

    Parameters
    ----------
    days
        On which somebody fished, in order.
    mean
        Offers a rod-hour of all that was told; None where nothing was.
    offers, rod_hours, drifts
        Of drifts that were told.
    untold_rod_hours, untold
        Fished, but nobody told what happened; and by whom.
    tables
        Rates by one circumstance or by two: the names of these, parted by commas, to
        the rows.
    comparisons
        How many were made in all tables together.
    widen
        How many times as wide ranges are because offers come in bunches.
    layer_unsure_share
        In what part of the rod-hours whose layer is known its doubt reaches another.
    questions
        What somebody has to answer, in sentences.
    areas
        The water by what its rate is, in metres.
    smoothed_m
        Over how much water the map takes rates together.
    """

    practice: str
    days: tuple[date, ...]
    mean: float | None
    offers: int
    rod_hours: float
    drifts: int
    untold_rod_hours: float
    tables: Mapping[str, tuple[RateRow, ...]]
    comparisons: int
    widen: float = 1.0
    layer_unsure_share: float | None = None
    untold: tuple[Untold, ...] = ()
    ledger: tuple[LedgerRow, ...] = ()
    loose: tuple[LooseOffers, ...] = ()
    questions: tuple[str, ...] = ()
    areas: Mapping[RateClass, Area] = field(default_factory=dict)
    placed: tuple[PlacedOffers, ...] = ()
    smoothed_m: float = 150.0
