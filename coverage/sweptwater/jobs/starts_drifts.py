"""How the places of a match drift in its wind, and in others."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from sweptwater.arrays import Floats
from sweptwater.jobs.learned import learned, leeway_for
from sweptwater.jobs.searching import Searching
from sweptwater.jobs.starts_report import DriftLine
from sweptwater.offers.wind import Wind
from sweptwater.plan.lay import Lay
from sweptwater.plan.leeway import Leeway
from sweptwater.plan.legal import LegalDrift, longest_drift, match_lay, shut_water
from sweptwater.plan.setups import fishing_share
from sweptwater.plan.sinking import Throw, line_reach
from sweptwater.practice.outing import Drogue

DROGUES: tuple[Drogue, ...] = ("out", "in")
SLOWEST_M_S = 0.02


@dataclass(frozen=True)
class Drifting:
    """How boats drift on match day.

    Parameters
    ----------
    searching
        The practice, and what is known of it.
    drogue
        Where it usually is.
    """

    searching: Searching
    drogue: Drogue

    @cached_property
    def leeways(self) -> Mapping[Drogue, Leeway]:
        """How a boat drifts, whoever is in it: by all boats' drifts together."""
        opened = self.searching.opened
        known = learned(opened, self.searching.boats, noted=self.searching.noted)
        return {way: leeway_for(known, "", way) for way in DROGUES}

    @cached_property
    def _lays(self) -> dict[float, Lay]:
        return {}

    def lay(self, wind: Wind) -> Lay:
        """Return where a boat may drift in a wind by the rules of the match."""
        if wind.from_deg not in self._lays:
            opened = self.searching.opened
            venue, settings = opened.venue, opened.settings
            keep_off = shapely.union(venue.out_of_bounds, venue.bank_anglers)
            lay = Lay(
                venue.water,
                venue.fishable,
                keep_off,
                settings,
                wind,
                self.leeways[self.drogue],
            )
            self._lays[wind.from_deg] = match_lay(lay, settings.match.keep_off_m)
        return self._lays[wind.from_deg]

    def drift(self, place: Floats, wind: Wind) -> LegalDrift | None:
        """Return the longest drift past a place; None where there is none."""
        venue = self.searching.opened.venue
        shut = shut_water(venue.out_of_bounds, venue.bank_anglers)
        return longest_drift(self.lay(wind), shut, place)

    def speeds_m_s(self, wind: Wind) -> dict[Drogue, float]:
        """Return how fast a boat drifts with the drogue out and in."""
        return {
            way: max(self.leeways[way].speed_m_s(wind), SLOWEST_M_S) for way in DROGUES
        }

    def fishes(self, drift: LegalDrift | None, wind: Wind) -> float:
        """Return what part of the time at a place is spent drifting past it."""
        if drift is None:
            return 1.0
        settings = self.searching.opened.settings
        speed_m_s = self.leeways[self.drogue].speed_m_s(wind)
        return fishing_share(drift.passing_m, speed_m_s, settings.boat, settings.plan)

    def line(self, drift: LegalDrift | None, wind: Wind) -> DriftLine | None:
        """Return a drift as it is told."""
        if drift is None:
            return None
        ends = np.array([drift.start, drift.end])
        lon, lat = self.searching.opened.venue.frame.to_degrees(*ends.T)
        speeds = self.speeds_m_s(wind)
        return DriftLine(
            from_lat=float(lat[0]),
            from_lon=float(lon[0]),
            to_lat=float(lat[1]),
            to_lon=float(lon[1]),
            course_deg=self.lay(wind).course_deg,
            length_m=drift.length_m,
            up_m=drift.up_m,
            down_m=drift.down_m,
            passing_m=drift.passing_m,
            aside_m=drift.aside_m,
            cut_by=drift.cut_by,
            short_m=drift.short_m,
            drogue_in_s=drift.length_m / speeds["in"],
            drogue_out_s=drift.length_m / speeds["out"],
        )

    def useful_m(self, line: str, wind: Wind) -> dict[Drogue, float | None]:
        """Return how deep a line usefully works; None of one that is not known."""
        tackle = self.searching.opened.settings.tackle
        found = next((one for one in tackle.lines if one.name == line), None)
        if found is None:
            return dict.fromkeys(DROGUES)
        return {
            way: line_reach(found, Throw(speed, tackle.cast_m), tackle).useful_depth_m
            for way, speed in self.speeds_m_s(wind).items()
        }
