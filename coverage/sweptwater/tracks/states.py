"""What the boat was doing at each fix: fishing, motoring or ashore."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from sweptwater.arrays import Area, Bools, Floats, Ints
from sweptwater.practice.settings import Rules
from sweptwater.tracks.courses import (
    doubtful,
    downwind,
    gusts,
    leaving,
    off_course,
    upwind,
)
from sweptwater.tracks.smooth import Path
from sweptwater.tracks.speeds import coarse_speed, emptiest_cut, hysteresis, valleys
from sweptwater.tracks.spells import long_enough, runs, weights_s
from sweptwater.tracks.stays import find_stays, tied_up
from sweptwater.tracks.turns import sharpen
from sweptwater.tracks.wander import Wander


class State(IntEnum):
    """What a boat is doing."""

    FISHING = 0
    MOTORING = 1
    ASHORE = 2


MOSTLY_STEADY = 0.7
"""Slow time goes one way if so much of it has one course around it."""


@dataclass(frozen=True, slots=True)
class Reading:
    """The state at each fix, and where it rests on little.

    `doubtful` marks fishing that may have been slow motoring, `anchored` fishing
    from a boat that lay still away from the shore.
    """

    state: Ints
    since_s: Floats
    """When the state of a fix began, if that of the fix before differs."""
    doubtful: Bools
    anchored: Bools
    cut_m_s: float
    wander: Wander


def read_states(path: Path, water: Area, jetties: Area, rules: Rules) -> Reading:
    """Tell fishing from motoring and from being ashore.

    Parameters
    ----------
    path
        A smoothed boat-day, in metres.
    water
        The venue's water, in metres.
    jetties
        The places where boats tie up, grown by the jetty distance; may be empty.
    """
    stays = find_stays(path, water, jetties, rules)
    weight = np.where(stays.ashore, 0.0, weights_s(path))
    cut = _steadiest_cut(path, stays.ashore, weight, rules)
    state = _by_speed(path, stays.ashore, cut, rules)
    off, steady = off_course(path, state == State.FISHING, weight, rules)
    state, gusty = _by_course(state, path, off, steady, cut, rules)
    state = _least_durations(state, path, cut, rules)
    tied = tied_up(state == State.FISHING, state == State.ASHORE, stays, path, rules)
    state = np.where(tied, State.ASHORE, state)
    state, since_s = sharpen(state, path, State.FISHING, State.MOTORING)
    fishing = state == State.FISHING
    doubts = doubtful(fishing, off, steady, path, rules)
    doubts |= fishing & ((stays.outside_m > rules.outside_m) | gusty)
    return Reading(state, since_s, doubts, stays.anchored & fishing, cut, stays.wander)


def _by_course(
    state: Ints, path: Path, off: Floats, steady: Bools, cut: float, rules: Rules
) -> tuple[Ints, Bools]:
    """Return the states that course tells, and what of the fishing is fast drifts."""
    fishing, motoring = state == State.FISHING, state == State.MOTORING
    gusty = gusts(fishing, motoring, path, cut)
    gusty |= downwind(fishing, motoring & steady, off, path, rules)
    fishing |= gusty
    back = upwind(fishing & steady, off, path, rules)
    back |= leaving(fishing & ~back, state == State.ASHORE, path, rules)
    state = np.where(fishing, State.FISHING, state)
    return np.where(back, State.MOTORING, state), gusty & ~back


def _by_speed(path: Path, ashore: Bools, cut: float, rules: Rules) -> Ints:
    """Return the states that speed alone tells."""
    speed = np.maximum(path.speed_m_s, coarse_speed(path))
    motoring = hysteresis(path, speed, cut, rules)
    state = np.where(ashore, State.ASHORE, np.where(motoring, State.MOTORING, 0))
    return _least_durations(state, path, cut, rules)


def _steadiest_cut(path: Path, ashore: Bools, weight: Floats, rules: Rules) -> float:
    """Return the emptiest cut, unless the time below it goes to and fro.

    Fast drifts with returns not much faster, and hardly any running at full speed,
    leave the emptiest speed above the returns. Another valley below, under which the
    boat goes one way, is then the cut.
    """
    speed = path.speed_m_s
    cut = emptiest_cut(speed, weight, rules)

    def steady_share(at_m_s: float) -> float:
        state = _by_speed(path, ashore, at_m_s, rules)
        slow = np.where(state == State.FISHING, weight, 0.0)
        _, steady = off_course(path, state == State.FISHING, weight, rules)
        return float(slow[steady].sum() / max(slow.sum(), 1.0))

    if steady_share(cut) >= MOSTLY_STEADY:
        return cut
    lower = [at for at in valleys(speed, weight, rules) if at < cut]
    shares = [steady_share(at) for at in lower]
    if not lower or max(shares) < MOSTLY_STEADY:
        return cut
    return lower[int(np.argmax(shares))]


def _least_durations(state: Ints, path: Path, cut: float, rules: Rules) -> Ints:
    """Give motoring, then fishing, that lasts too short to be any to its neighbours.

    A hop of a few boat's lengths hardly gets over the cut: what it takes to gather and
    lose way is motoring too, and so are the whole of long steps from fix to fix.
    """
    if not len(state):
        return state
    under_way = np.maximum(path.speed_m_s, coarse_speed(path))
    under_way = under_way > cut / rules.hysteresis**2
    for kind, other, least_s in (
        (State.MOTORING, State.FISHING, rules.least_motoring_s),
        (State.FISHING, State.MOTORING, rules.least_fishing_s),
    ):
        starts, ends = runs(state, path.stretch)
        wider = state == kind
        if kind == State.MOTORING:
            wider |= (state != State.ASHORE) & under_way
        short = (state[starts] == kind) & ~long_enough(wider, path, least_s)[starts]
        state = np.where(np.repeat(short, ends - starts), other, state)
    return state
