"""How clustered the offers of stints are, once good water is told apart."""

from collections.abc import Sequence

import pandas as pd

from sweptwater.jobs.circumstances import tellings
from sweptwater.jobs.opened import Opened
from sweptwater.offers.clusters import Clusters, clusters_of
from sweptwater.offers.effort import cut_pieces, mostly
from sweptwater.offers.noted import Noted
from sweptwater.offers.stints import Stint

CLUSTER_BY = ("sector", "sky", "layer")
"""Good water is not taken for a cluster: these tell it apart."""


def clusters_by_place(
    opened: Opened, noted: Noted, stints: Sequence[Stint]
) -> Clusters:
    """Return how clustered the offers of some stints are."""
    told = tellings(opened, noted)
    return clusters_in(stints, cut_pieces(stints, {by: told[by] for by in CLUSTER_BY}))


def clusters_in(stints: Sequence[Stint], pieces: pd.DataFrame) -> Clusters:
    """Return the same from pieces that tell sector, sky and layer."""
    where = mostly(pieces, CLUSTER_BY)
    told = [
        (stints[number], key)
        for number, key in where.items()
        if stints[number].told and stints[number].match
    ]
    ways = list(zip(*(key for _, key in told), strict=True))
    return clusters_of(
        [stint.counts.offers for stint, _ in told],
        [stint.hours for stint, _ in told],
        *ways,
        drifts=[(stint.day, stint.pair, stint.drift) for stint, _ in told],
    )
