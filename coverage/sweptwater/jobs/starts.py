"""Where the rods start a match: from a practice folder to a report."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sweptwater.errors import PracticeError
from sweptwater.jobs.finds import find_lines
from sweptwater.jobs.measures import parse_gust_m_s
from sweptwater.jobs.opened import Opened, Watch, open_folder, parse_day, unwatched
from sweptwater.jobs.searching import Searching, look_at_searching
from sweptwater.jobs.starts_drifts import Drifting
from sweptwater.jobs.starts_home import Home, clock, home_of, reached, xy_of
from sweptwater.jobs.starts_places import (
    MOST_KNOWN,
    MOST_PLACES,
    Candidate,
    known_places,
    other_water,
    untried_places,
)
from sweptwater.jobs.starts_remarks import told_cautions, told_remarks
from sweptwater.jobs.starts_report import AllOnBest, StartsReport
from sweptwater.jobs.starts_rows import MatchDay, start_rows, wind_rows
from sweptwater.jobs.starts_words import rules_texts, too_much
from sweptwater.jobs.wording import day_text
from sweptwater.offers.noted import wind_at
from sweptwater.offers.sky import parse_sky
from sweptwater.offers.wind import Wind, parse_wind
from sweptwater.plan.start_risk import MOST_RODS, MatchTimes
from sweptwater.plan.starts import Starts, choose_starts
from sweptwater.practice.crews import ENDS
from sweptwater.practice.match import MatchRules
from sweptwater.practice.outing import Drogue

TEAM = 6
"""So many rods fish a match where nobody said who."""

FEWER_PLACES = 8
"""A larger team chooses from fewer places, or it would take long."""

MOST_TOLD = 10
"""So many finds are told of in each wind."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AskStarts:
    """What the captain asks for.

    Parameters
    ----------
    day
        Of the match, like 2027-06-12; else the day to come.
    wind, gust, sky
        Of that day, as they are typed; the wind else as it was noted.
    drogue
        Where it usually is; else as the settings say.
    """

    day: str | None = None
    wind: str | None = None
    gust: str | None = None
    sky: str | None = None
    drogue: Drogue | None = None


@dataclass(frozen=True)
class StartsSight:
    """All that a page of starts shows, and what rod cards need.

    Parameters
    ----------
    searching
        What is known of the practice.
    candidates, times, chosen
        The places that were chosen from, how long rods are where, and what was chosen,
        by their places in the list.
    home
        Where the boats must be at the end.
    wind
        The forecast's.
    report
        The figures.
    """

    searching: Searching
    candidates: tuple[Candidate, ...]
    times: MatchTimes
    chosen: Starts
    home: Home
    wind: Wind
    report: StartsReport

    @property
    def opened(self) -> Opened:
        """The practice."""
        return self.searching.opened


def look_at_starts(
    folder: Path, ask: AskStarts, *, watch: Watch = unwatched
) -> StartsSight:
    """Return where the rods start.

    Raises
    ------
    SweptwaterError
        If the folder is unusable, day, wind, gusts or sky are none, or there is no
        place to start at.
    """
    day = parse_day(ask.day) if ask.day else None
    sky = parse_sky(ask.sky) if ask.sky else None
    wind = parse_wind(ask.wind) if ask.wind else None
    gust_m_s = parse_gust_m_s(ask.gust) if ask.gust else None
    opened = open_folder(folder)
    searching = look_at_searching(opened, day=day, sky=sky, wind=wind, watch=watch)
    wind = wind or _noted_wind(searching)
    drogue = ask.drogue or opened.settings.boat.drogue
    drifting = Drifting(searching, drogue)
    home = home_of(searching)
    finds = find_lines(searching)
    known = list(known_places(drifting, finds, wind, sky))
    good = [one for one in known if one.drift is not None or not wind.speed_m_s > 0]
    good = good[:MOST_KNOWN]
    rods, boats = _rods(searching)
    most = MOST_PLACES if len(rods) <= TEAM else FEWER_PLACES
    untried = untried_places(drifting, finds, wind, max(0, most - len(good)))
    candidates = reached([*good, *untried], home)
    if not candidates:
        raise PracticeError(
            "there is no place to start at: nothing on this water can be drifted in "
            "that wind with the distances that [match] and [plan] of practice.toml ask "
            "for"
        )
    match = opened.settings.match
    times = _times(searching, candidates, home)
    chosen = _choose(match, candidates, times, len(rods))
    match_day = MatchDay(drifting, home, wind, sky)
    starts = tuple(start_rows(match_day, candidates, chosen, rods, boats))
    told = [*known[:MOST_TOLD], *_bold(candidates, chosen)]
    report = StartsReport(
        practice=opened.settings.name,
        day=searching.day,
        wind_from_deg=wind.from_deg,
        wind_m_s=wind.speed_m_s,
        gust_m_s=gust_m_s,
        sky=sky,
        drogue=drogue,
        stay_ashore=too_much(
            wind.speed_m_s, gust_m_s, opened.settings.day.most_wind_m_s
        ),
        lines_down=clock(searching, match.lines_down),
        lines_up=home.lines_up,
        lines_up_at=home.name,
        starts=starts,
        winds=tuple(wind_rows(match_day, told)),
        expected_without=chosen.risk.expected,
        three_or_more=chosen.risk.at_least(3),
        all_on_best=AllOnBest(
            place=candidates[chosen.best].place.name,
            expected_without=chosen.all_on_best.expected,
            three_or_more=chosen.all_on_best.at_least(3),
        ),
        most_on_bank=chosen.most_on_bank,
        bold=chosen.bold,
        apart_m=match.apart_m,
        keep_off_m=match.keep_off_m,
        stay_s=match.stay_s,
        phones=match.phones,
        sounders=match.sounders,
        anchoring=match.anchoring,
        rules=tuple(rules_texts(match, opened.settings.units)),
        cautions=tuple(told_cautions(match_day, starts, gust_m_s)),
        remarks=tuple(told_remarks(match_day, known, chosen)),
    )
    return StartsSight(searching, candidates, times, chosen, home, wind, report)


def _noted_wind(searching: Searching) -> Wind:
    noon_s = searching.now_s + searching.opened.settings.day.afloat_s / 2
    wind = wind_at(searching.noted, searching.day, noon_s, "")
    if wind is None:
        raise PracticeError(
            f"the wind of {day_text(searching.day)} is not known: say it, like --wind "
            "SW4 or --wind 240@12mph"
        )
    return wind


def _rods(searching: Searching) -> tuple[list[str], list[str | None]]:
    """Return the rods, and the pair that each practised with if that is known.

    No more than can be reckoned with; the others are told of in a remark.
    """
    settings, day = searching.opened.settings, searching.day
    aboard = {p: settings.rods_on(p, day) for p in settings.afloat_on(day)}
    own = settings.match.boats == "own"
    if own:
        seats = [(pair, (aboard[pair] + ENDS)[:2]) for pair in aboard]
        named = [
            (rod if rod not in ENDS else f"{pair} {rod}", pair)
            for pair, rods in seats
            for rod in rods
        ]
        named = named[:MOST_RODS]
        return [rod for rod, _ in named], [pair for _, pair in named]
    known = [(rod, pair) for pair, rods in aboard.items() for rod in rods]
    if not known or any(rod in ENDS for rod, _ in known):
        return [str(number + 1) for number in range(TEAM)], [None] * TEAM
    known = known[:MOST_RODS]
    return [rod for rod, _ in known], [pair for _, pair in known]


def _times(
    searching: Searching, candidates: Sequence[Candidate], home: Home
) -> MatchTimes:
    """Return how long rods are at each place: they leave the jetty at lines down."""
    match = searching.opened.settings.match
    xy, speed_m_h = xy_of(candidates), 3600 * match.motoring_m_s
    out_m = home.ways.lengths_m(searching.opened.jetty[None], xy)[0]
    home_m = home.ways.lengths_m(xy, home.place[None])[:, 0]
    return MatchTimes(
        match_h=match.hours,
        stay_h=match.stay_s / 3600,
        out_h=np.where(np.isfinite(out_m), out_m, home_m) / speed_m_h,
        home_h=home_m / speed_m_h + match.spare_s / 3600,
        runs_h=home.ways.lengths_m(xy, xy) / speed_m_h,
        background=other_water(searching),
    )


def _choose(
    match: MatchRules, candidates: Sequence[Candidate], times: MatchTimes, rods: int
) -> Starts:
    size = 2 if match.boats == "own" else 1
    return choose_starts(
        [one.place for one in candidates],
        times,
        boats=rods // size,
        rods_in_boat=size,
        most_on_bank=match.most_on_bank,
        bold=match.bold,
    )


def _bold(candidates: Sequence[Candidate], chosen: Starts) -> list[Candidate]:
    firsts = dict.fromkeys(choice.first for choice in chosen.choices)
    return [candidates[at] for at in firsts if candidates[at].place.bold]
