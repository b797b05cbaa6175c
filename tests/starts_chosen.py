"""Starts as the program chooses them from what a practice found (`plan.starts`).

Finds and water that nobody has tried enough are places with a rate in doubt and a
chance that they still hold, as the program's own report of starts has them.
"""

from collections.abc import Sequence

import numpy as np

from match_fished import HALF_M, MATCH, Place, hours_near, places_found
from practice_next import DAY_S, belief_of, nights, squares_of
from practising import SEARCH, Fished
from sweptwater.offers.wind import Wind
from sweptwater.plan.setups import fishing_share
from sweptwater.plan.start_risk import MatchTimes, StartPlace
from sweptwater.plan.starts import choose_starts
from sweptwater.search.ageing import share_left
from waters_searched import Searched

MOST_PLACES, MOST_KNOWN = 10, 7
USUAL_RATE, START_OFFERS = 0.5, 1.0
HOLDING, HOLDING_H, MOST_HOLDS = 0.25, 2.0, 0.9
TRIED, SCRAP = 0.3, 0.25


def starts_by_program(
    water: Searched, fished: Sequence[Fished], winds: Sequence[Wind]
) -> list[tuple[Place, Place]]:
    """Return the first and the second choice of each rod.

    Parameters
    ----------
    winds
        Of the days of practice, and of the match.
    """
    day = len(winds) - 1
    found = places_found(water, fished, day)[:MOST_KNOWN]
    hours = sum(one.hours * len(one.layers) for one in fished)
    offers = sum(len(one.offer_shoal) for one in fished)
    mean = (START_OFFERS + offers) / (START_OFFERS / USUAL_RATE + hours)
    fishes = fishing_share(
        2 * HALF_M,
        water.lay(winds[-1]).speed_m_s,
        water.settings.boat,
        water.settings.plan,
    )
    near_h = [hours_near(fished, place.at) for place in found]
    known = [
        StartPlace(
            name=f"find {number}",
            easting=float(place.at[0]),
            northing=float(place.at[1]),
            bank=int(place.bank) if place.bank.isdigit() else None,
            sector=None,
            find=number,
            shape=START_OFFERS + len(place.layers),
            hours=START_OFFERS / mean + there_h,
            holds=float(
                share_left([place.last_s], day * DAY_S, nights(winds), SEARCH)[0]
            ),
            fishes=fishes,
        )
        for number, (place, there_h) in enumerate(zip(found, near_h, strict=True), 1)
    ]
    holding = (HOLDING * HOLDING_H + min(hours, sum(near_h))) / (HOLDING_H + hours)
    bold, bold_places = _untried(
        water, fished, winds, {p.bank for p in found}, (holding, mean / holding, fishes)
    )
    count = MOST_PLACES - len(known)
    places, told = [*known, *bold[:count]], [*found, *bold_places[:count]]
    rest = max(0, offers - sum(len(p.layers) for p in found))
    rest_h = max(0.0, hours - sum(near_h))
    times = _times(water, told, (START_OFFERS + rest, START_OFFERS / mean + rest_h))
    chosen = choose_starts(
        places, times, most_on_bank=MATCH.most_on_bank, bold=MATCH.bold
    )
    return [
        (told[one.first], told[one.first if one.second is None else one.second])
        for one in chosen.choices
    ]


def _untried(
    water: Searched,
    fished: Sequence[Fished],
    winds: Sequence[Wind],
    taken: set[str],
    holding: tuple[float, float, float],
) -> tuple[list[StartPlace], list[Place]]:
    """Return water that nobody has tried enough, the most promising first."""
    share, rate, fishes = holding
    squares, belief = squares_of(water), belief_of(water, fished, winds)
    count = len(squares.patches)
    unfound = np.bincount(squares.patch, belief.unfound.sum(axis=1), count)
    area_m2 = np.array([patch.area_m2 for patch in squares.patches])
    times = unfound / area_m2 * area_m2.sum()
    least_m2 = SCRAP * float(np.median(area_m2))
    bold, places = [], []
    for at in np.argsort(-times, kind="stable").tolist():
        patch, here = squares.patches[at], squares.patch == at
        tried = belief.chance_in(here) > TRIED
        if str(patch.bank) in taken or patch.area_m2 < least_m2 or tried:
            continue
        layer = int(np.argmax(belief.unfound[here].sum(axis=0)))
        bank = f"open {at}" if patch.bank is None else str(patch.bank)
        spot = np.array([patch.easting, patch.northing])
        places.append(Place(spot, bank, (layer,)))
        bold.append(
            StartPlace(
                name=bank,
                easting=patch.easting,
                northing=patch.northing,
                bank=patch.bank,
                sector=None,
                find=None,
                shape=START_OFFERS,
                hours=START_OFFERS / rate,
                holds=min(MOST_HOLDS, share * float(times[at])),
                fishes=fishes,
            )
        )
        if len(bold) == MOST_PLACES:
            break
    return bold, places


def _times(
    water: Searched, places: Sequence[Place], background: tuple[float, float]
) -> MatchTimes:
    spots = np.array([water.waters.jetty, *(place.at for place in places)])
    runs_h = water.waters.ways.lengths_m(spots, spots)
    runs_h = np.minimum(runs_h, 1e5) / water.settings.boat.motoring_up_m_s / 3600
    day = water.settings.day
    return MatchTimes(
        match_h=(day.afloat_s - day.lunch_s) / 3600,
        stay_h=MATCH.stay_s / 3600,
        out_h=runs_h[0, 1:],
        home_h=runs_h[1:, 0],
        runs_h=runs_h[1:, 1:],
        background=background,
    )
