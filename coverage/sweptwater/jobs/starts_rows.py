"""Where each rod starts, and what could be drifted in other winds, as it is told."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np
from scipy.optimize import linear_sum_assignment

from sweptwater.jobs.opened import Opened
from sweptwater.jobs.starts_drifts import Drifting
from sweptwater.jobs.starts_home import Home, xy_of
from sweptwater.jobs.starts_places import Candidate
from sweptwater.jobs.starts_report import Spot, SpotInWind, StartRow, WindRow
from sweptwater.jobs.starts_words import doubt_text, if_boats_text, propose_text
from sweptwater.offers.sky import Sky
from sweptwater.offers.wind import Wind, force_speed_m_s
from sweptwater.plan.homeward import Homeward, homewards
from sweptwater.plan.starts import Starts
from sweptwater.plan.turns import EIGHT_DEG
from sweptwater.units import compass_point

LIGHT_FORCE = 3.0
"""In a calm the other winds are told as if they blew like this."""


@dataclass(frozen=True)
class MatchDay:
    """How boats drift on match day, where they end it, its wind and its light."""

    drifting: Drifting
    home: Home
    wind: Wind
    sky: Sky | None

    @property
    def opened(self) -> Opened:
        """The practice."""
        return self.drifting.searching.opened


def start_rows(
    sight: MatchDay,
    candidates: Sequence[Candidate],
    chosen: Starts,
    rods: Sequence[str],
    pairs: Sequence[str | None],
) -> Iterator[StartRow]:
    """Yield where each rod starts, the one that is likeliest to have an offer first.

    Parameters
    ----------
    rods, pairs
        The rods, and the pair that each practised with if that is known.
    """
    match, units = sight.opened.settings.match, sight.opened.settings.units
    own = match.boats == "own"
    spots = _spots(sight, candidates)
    size = 2 if own else 1
    who = _who(candidates, chosen, pairs[::size])
    for at, choice in enumerate(chosen.choices):
        first = spots[choice.first]
        second = None if choice.second is None else spots[choice.second]
        times = [s.leave_by for s in (first, second) if s and s.leave_by]
        then = second.place if second else None
        line = first.cloud if sight.sky == "dull" else first.sun
        for seat in range(size):
            number = size * who[at] + seat
            yield StartRow(
                rod=rods[number],
                boat=pairs[number] if own else None,
                first=first,
                second=second,
                bold=candidates[choice.first].place.bold,
                chance_without=chosen.risk.without[size * at + seat],
                leave_by=min(times, default=None),
                line=line.line,
                count_s=line.count_s,
                why="; ".join(first.why),
                propose=propose_text(first.place, then, match.stay_s, drawn=not own),
                if_boats=if_boats_text(then, match, units),
            )


def _who(
    candidates: Sequence[Candidate], chosen: Starts, pairs: Sequence[str | None]
) -> list[int]:
    """Return which rod, or boat, makes each choice: those who met fish there before."""

    def met(place: int | None, pair: str | None) -> int:
        line = None if place is None else candidates[place].line
        return sum(whose == pair for _, whose, _ in line.find.drifts) if line else 0

    gain = np.array(
        [
            [
                met(choice.first, pair)
                + 0.5 * met(choice.second, pair)
                # Else in their order.
                - 1e-6 * abs(at - number)
                for number, pair in enumerate(pairs)
            ]
            for at, choice in enumerate(chosen.choices)
        ]
    )
    _, found = linear_sum_assignment(gain, maximize=True)
    return [int(number) for number in found]


def _spots(sight: MatchDay, candidates: Sequence[Candidate]) -> list[Spot]:
    opened = sight.opened
    lon, lat = opened.venue.frame.to_degrees(*xy_of(candidates).T)
    home = _homewards(sight, candidates)
    return [
        _spot(sight, one, (float(lat[at]), float(lon[at])), home[at])
        for at, one in enumerate(candidates)
    ]


def _homewards(
    sight: MatchDay, candidates: Sequence[Candidate]
) -> tuple[Homeward, ...]:
    return homewards(
        sight.home.ways,
        xy_of(candidates) if candidates else np.zeros((0, 2)),
        sight.home.place,
        sight.opened.settings.match,
        sight.home.lines_up,
    )


def _spot(
    sight: MatchDay, one: Candidate, at: tuple[float, float], home: Homeward
) -> Spot:
    place, find = one.place, one.line.find if one.line else None
    return Spot(
        place=place.name,
        lat=at[0],
        lon=at[1],
        bank=place.bank,
        sector=place.sector,
        find=place.find,
        layer=place.layer,
        sun=one.sun,
        cloud=one.cloud,
        drift=sight.drifting.line(one.drift, sight.wind),
        home_m=home.way_m if isfinite(home.way_m) else None,
        home_s=home.run_s if isfinite(home.run_s) else None,
        leave_by=home.leave_by,
        offers=find.offers if find else None,
        rod_hours=find.rod_hours if find else None,
        low=find.low if find else None,
        high=find.high if find else None,
        left=find.left if find else None,
        states=find.states if find else (),
        doubt=doubt_text(one.line),
        why=place.why,
    )


def wind_rows(sight: MatchDay, told: Sequence[Candidate]) -> Iterator[WindRow]:
    """Yield what could be drifted in eight winds, as strong as the forecast's."""
    drifting = sight.drifting
    homes = _homewards(sight, told)
    for from_deg in EIGHT_DEG:
        wind = Wind(from_deg, sight.wind.speed_m_s or force_speed_m_s(LIGHT_FORCE))
        rows = []
        for one, home in zip(told, homes, strict=True):
            at = np.array([one.place.easting, one.place.northing])
            line = (one.cloud if sight.sky == "dull" else one.sun).line
            useful = drifting.useful_m(line, wind)
            rows.append(
                SpotInWind(
                    find=one.place.find,
                    place=one.place.name,
                    drift=drifting.line(drifting.drift(at, wind), wind),
                    line=line,
                    useful_in_m=useful["in"],
                    useful_out_m=useful["out"],
                    home_s=home.run_s if isfinite(home.run_s) else None,
                )
            )
        yield WindRow(compass_point(from_deg), from_deg, wind.speed_m_s, tuple(rows))
