"""Which line reaches which depth, at the speed that the boats drift."""

from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Literal, TypeAlias

from sweptwater.errors import SweptwaterError
from sweptwater.jobs.boats import read_boat_days
from sweptwater.jobs.learned import ENOUGH, Learned, learned, leeway_for
from sweptwater.jobs.measures import parse_length_m, parse_speed_m_s
from sweptwater.jobs.opened import Opened, Watch, open_folder, unwatched
from sweptwater.jobs.sinking_words import (
    advice_text,
    pace_text_of_tracks,
    pace_text_of_wind,
)
from sweptwater.jobs.wording import or_text
from sweptwater.offers.flies import retrieve_m_s
from sweptwater.offers.wind import Wind, force_speed_m_s, parse_wind, wind_text
from sweptwater.plan.leeway import published
from sweptwater.plan.sinking import LineReach, Throw, line_reach, lines_for
from sweptwater.practice.outing import Drogue
from sweptwater.practice.tackle import TackleRules
from sweptwater.units import FOOT_M, YARD_M, System

USUAL_FORCE = 3.5
"""The wind that is supposed where nobody knows how fast the boats drift."""

WORKED = "steady"
"""The retrieve by which the time in layers is told, if none was said."""

RETRIEVES = ("static", "slow", "figure of eight", "steady", "fast", "roly-poly")
"""Some of the words for a retrieve, as an example."""

SLOWEST_M_S, FASTEST_M_S = 0.02, 2.0
LONGEST_CAST_M = 60.0
DEEPEST_M = 100.0

DEPTHS_M: dict[System, tuple[float, ...]] = {
    "imperial": tuple(FOOT_M * depth for depth in (3, 5, 8, 10, 15, 20)),
    "metric": (1.0, 1.5, 2.5, 3.5, 5.0, 7.0),
}
"""The depths that counts are told to."""

PaceFrom: TypeAlias = Literal["asked", "wind", "tracks", "usual"]
"""Where the speed of the drift is from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What the captain asks for; what is None is as the practice has it.

    Parameters
    ----------
    drift, wind, cast, depth
        As they are typed: the speed of the drift, or a wind that gives it; how far rods
        cast; a depth to reach.
    retrieve
        In words, like steady.
    drogue, pair
        Whether it is in, and whose boat it is.
    """

    drift: str | None = None
    wind: str | None = None
    cast: str | None = None
    depth: str | None = None
    retrieve: str | None = None
    drogue: Drogue | None = None
    pair: str | None = None


@dataclass(frozen=True, slots=True)
class WithDrogue:
    """The same with the drogue put in: m/s."""

    drift_m_s: float
    lines: tuple[LineReach, ...]


@dataclass(frozen=True, slots=True)
class Sinking:
    """How deep each line fishes.

    Parameters
    ----------
    pair
        Whose drifts the speed is from; None for those of all.
    drift_m_s, drift_from, drift_told
        How fast the boat drifts, where that is from, and the same in words.
    drogue, wind_from_deg, wind_m_s
        For which that holds; None where no wind was asked for.
    cast_m, retrieve, retrieve_m_s
        How far rods cast; and the retrieve for the time in layers.
    useful, doubt
        As the settings say.
    depth_m, lines_for_depth
        The depth to reach, and the lines that do so usefully, the slowest first.
    lines
        The slowest first.
    with_drogue
        The same with the drogue put in; None if it is in.
    advice, remarks
        Which line to take; and what the captain should know besides.
    """

    practice: str
    pair: str | None
    drift_m_s: float
    drift_from: PaceFrom
    drift_told: str
    drogue: Drogue
    wind_from_deg: float | None
    wind_m_s: float | None
    cast_m: float
    retrieve: str
    retrieve_m_s: float
    useful: float
    doubt: float
    depth_m: float
    lines_for_depth: tuple[str, ...]
    lines: tuple[LineReach, ...]
    with_drogue: WithDrogue | None
    advice: str
    remarks: tuple[str, ...]


def sinking(folder: Path, ask: Ask, *, watch: Watch = unwatched) -> Sinking:
    """Return how deep each line of the practice fishes.

    The drift's speed is what was asked for; else what the pair's boat does in the wind
    that was asked for; else the middle of its own drifts; else what open boats do in a
    usual wind.

    Raises
    ------
    SweptwaterError
        If the folder is unusable, or what was asked for means nothing.
    """
    opened = open_folder(folder)
    settings = opened.settings
    pair = settings.pair_named(ask.pair) if ask.pair else None
    drogue: Drogue = ask.drogue or settings.boat.drogue
    wind = parse_wind(ask.wind) if ask.wind else None
    cast_m, depth_m = _cast_m(opened, ask.cast), _depth_m(opened, ask.depth)
    worked = ask.retrieve or WORKED
    worked_m_s = _worked_m_s(worked)
    known = _learned(opened, watch)
    pace = _pace(known, ask, pair, drogue, wind, settings.units)
    if not SLOWEST_M_S <= pace.drift_m_s <= FASTEST_M_S:
        raise SweptwaterError(
            f"at {pace.drift_m_s:.2g} m/s nobody fishes from a drifting boat: say how "
            "fast it drifts, like --drift 24yd/min"
        )
    left_m_s = worked_m_s if ask.retrieve else 0.0
    throw = Throw(pace.drift_m_s, cast_m, left_m_s, worked_m_s)
    reaches = _reaches(settings.tackle, throw, settings.units)
    slower = None
    if drogue == "out":
        with_m_s = pace.drift_m_s * _ratio(known, pair)
        slow = Throw(max(with_m_s, SLOWEST_M_S), cast_m, left_m_s, worked_m_s)
        slower = WithDrogue(
            slow.drift_m_s, _reaches(settings.tackle, slow, settings.units)
        )
    return Sinking(
        practice=settings.name,
        pair=pair,
        drift_m_s=pace.drift_m_s,
        drift_from=pace.known_from,
        drift_told=pace.told,
        drogue=drogue,
        wind_from_deg=wind.from_deg if wind else None,
        wind_m_s=wind.speed_m_s if wind else None,
        cast_m=cast_m,
        retrieve=worked,
        retrieve_m_s=worked_m_s,
        useful=settings.tackle.useful,
        doubt=settings.tackle.doubt,
        depth_m=depth_m,
        lines_for_depth=tuple(one.line for one in lines_for(reaches, depth_m)),
        lines=reaches,
        with_drogue=slower,
        advice=advice_text(
            reaches,
            slower.lines if slower else (),
            throw,
            depth_m,
            settings.tackle,
            settings.units,
        ),
        remarks=_remarks(opened, wind),
    )


def _learned(opened: Opened, watch: Watch) -> Learned:
    boats = read_boat_days(opened, opened.practice.originals, watch=watch)
    return learned(opened, boats.days)


@dataclass(frozen=True, slots=True)
class _Pace:
    """How fast the boat drifts, where that is from, and the same in words."""

    drift_m_s: float
    known_from: PaceFrom
    told: str


def _pace(
    known: Learned,
    ask: Ask,
    pair: str | None,
    drogue: Drogue,
    wind: Wind | None,
    units: System,
) -> _Pace:
    if ask.drift:
        return _Pace(parse_speed_m_s(ask.drift), "asked", "as asked")
    if wind is not None:
        leeway = leeway_for(known, pair or "", drogue)
        told = pace_text_of_wind(wind_text(wind, units), drogue, leeway.drifts)
        return _Pace(leeway.speed_m_s(wind), "wind", told)
    return _own_pace(known, pair, drogue) or _Pace(
        published(drogue).speed_m_s(Wind(0.0, force_speed_m_s(USUAL_FORCE))),
        "usual",
        f"as open boats usually do in force 3 to 4 with the drogue {drogue}: no tracks "
        "tell better yet",
    )


def _own_pace(known: Learned, pair: str | None, drogue: Drogue) -> _Pace | None:
    """Return the middle speed of the drifts that tell most; None if too few do.

    The pair's own come before those of all, and those with the drogue as it is asked
    for before the others. Drifts of which nobody told are taken to be as usual.
    """
    other: Drogue = "out" if drogue == "in" else "in"
    for way in (drogue, other):
        for whose in (pair, None) if pair else (None,):
            speeds_m_s = [
                one.speed_m_s
                for one in known.seen
                if whose in (None, one.pair) and (one.drogue or known.usual) == way
            ]
            if len(speeds_m_s) < ENOUGH:
                continue
            turned, ratio = way != drogue, _ratio(known, pair)
            factor = 1.0 if not turned else ratio if drogue == "in" else 1 / ratio
            told = pace_text_of_tracks(len(speeds_m_s), whose, drogue, turned=turned)
            return _Pace(factor * median(speeds_m_s), "tracks", told)
    return None


def _ratio(known: Learned, pair: str | None) -> float:
    """Return what the drogue leaves of a boat's speed."""
    with_, without = (leeway_for(known, pair or "", way) for way in ("in", "out"))
    return min(1.0, with_.share / without.share)


def _reaches(tackle: TackleRules, throw: Throw, units: System) -> tuple[LineReach, ...]:
    return tuple(
        line_reach(line, throw, tackle, depths_m=DEPTHS_M[units], system=units)
        for line in tackle.lines
    )


def _cast_m(opened: Opened, text: str | None) -> float:
    if text is None:
        return opened.settings.tackle.cast_m
    imperial = opened.settings.units == "imperial"
    like = "25yd, or 23m"
    bare_m = YARD_M if imperial else 1.0
    cast_m = parse_length_m(text, bare_m, what="length of a cast", like=like)
    if cast_m > LONGEST_CAST_M:
        raise SweptwaterError(f"nobody casts {text}: write it like {like}")
    return cast_m


def _depth_m(opened: Opened, text: str | None) -> float:
    """Return the depth to reach: else where the deepest layer begins."""
    if text is None:
        return opened.settings.tackle.layers_m[-1]
    bare_m = FOOT_M if opened.settings.units == "imperial" else 1.0
    depth_m = parse_length_m(text, bare_m, what="depth", like="15ft, or 4.5m")
    if depth_m > DEEPEST_M:
        raise SweptwaterError(f"no line fishes at {text}: write it like 15ft, or 4.5m")
    return depth_m


def _worked_m_s(text: str) -> float:
    found = retrieve_m_s(text)
    if found is None:
        raise SweptwaterError(
            f"{text!r} is no retrieve that is known here: write {or_text(RETRIEVES)}"
        )
    return found


def _remarks(opened: Opened, wind: Wind | None) -> tuple[str, ...]:
    most_m_s = opened.settings.day.most_wind_m_s
    if wind is None or wind.speed_m_s <= most_m_s:
        return ()
    told = wind_text(wind, opened.settings.units)
    return (
        f"stay ashore: {told} is more than this practice goes afloat in, whatever the "
        "lines would do; the venue's own rules come first",
    )
