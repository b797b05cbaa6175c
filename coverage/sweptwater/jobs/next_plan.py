"""From where the next hours do most good to the drifts that a plan is laid with."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from shapely import Point

from sweptwater.jobs.next import AskNext, NextSight, look_ahead
from sweptwater.jobs.next_rows import NextRow
from sweptwater.jobs.opened import Watch, unwatched
from sweptwater.offers.rate_map import BANDWIDTH_M
from sweptwater.plan.candidates import Candidates
from sweptwater.plan.day import Stop
from sweptwater.plan.setups import WayToFish, way_to_fish
from sweptwater.plan.valued import Again, Valued, after_drifts, valued
from sweptwater.practice.outing import Drogue
from sweptwater.search.belief import Belief
from sweptwater.water.shapes import polygonal


@dataclass(frozen=True, eq=False)
class Orders:
    """Where the next hours do most good, as plans need it.

    Parameters
    ----------
    sight
        What is believed, and what each pair is to do.
    drogue
        Where the drogue mostly is for that.
    """

    sight: NextSight
    drogue: Drogue

    def rows(self, pair: str) -> tuple[NextRow, ...]:
        """Return the finds that a pair tries again."""
        rows = self.sight.report.rows
        return tuple(r for r in rows if r.pair == pair and r.find is not None)

    def valued(
        self, pair: str, possible: Candidates, speed_m_s: float, belief: Belief | None
    ) -> Valued:
        """Return the drifts that a pair could make, by what they may meet.

        Parameters
        ----------
        belief
            What is believed once other pairs have made theirs; None for the morning.
        """
        searching = self.sight.searching
        return valued(
            possible,
            belief or searching.belief,
            self.ways(speed_m_s),
            together=searching.opened.settings.search.together,
            again=[self._again(row) for row in self.rows(pair)],
        )

    def after(
        self,
        belief: Belief | None,
        stops: Sequence[Stop],
        layers: Sequence[Sequence[int]],
        speed_m_s: float,
    ) -> Belief:
        """Return what is to be believed once a pair made its drifts in vain."""
        searching = self.sight.searching
        return after_drifts(
            belief or searching.belief,
            [stop.swept for stop in stops],
            [stop.drift.length_m for stop in stops],
            layers,
            self.ways(speed_m_s),
            together=searching.opened.settings.search.together,
        )

    def ways(self, speed_m_s: float) -> tuple[WayToFish, ...]:
        """Return how each layer is fished from a boat that drifts so fast."""
        searching = self.sight.searching
        settings = searching.opened.settings
        speeds: Mapping[Drogue, float] = {self.drogue: speed_m_s}
        return tuple(
            way_to_fish(
                layer,
                speeds,
                settings.tackle,
                settings.search,
                settings.spread,
                usual=self.drogue,
            )
            for layer in range(len(searching.squares.layers))
        )

    def _again(self, row: NextRow) -> Again:
        finds = self.sight.report.finds
        find = next(line.find for line in finds if line.find.number == row.find)
        ground = Point(find.easting, find.northing).buffer(BANDWIDTH_M)
        fishable = self.sight.opened.venue.fishable
        return Again(
            polygonal(ground.intersection(fishable)),
            self.sight.searching.squares.layers.index(row.layer),
            3600 * row.hours,
        )


def orders_for(
    folder: Path, ask: AskNext, *, usual: Drogue, watch: Watch = unwatched
) -> Orders:
    """Return where the next hours do most good.

    Parameters
    ----------
    usual
        Where the drogue is if nothing tells.

    Raises
    ------
    SweptwaterError
        As `look_ahead` does.
    """
    sight = look_ahead(folder, ask, watch=watch)
    rows = sight.report.rows
    in_h = sum(row.hours for row in rows if row.drogue == "in")
    mostly_in = 2 * in_h > sum(row.hours for row in rows)
    return Orders(sight, ("in" if mostly_in else "out") if rows else usual)
