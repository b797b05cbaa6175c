"""What the user knows better: drifts that were one, were two, or were none."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sweptwater.arrays import Ints
from sweptwater.practice.said import Correction
from sweptwater.tracks.smooth import Path
from sweptwater.tracks.states import Reading, State


def corrected(
    path: Path, reading: Reading, corrections: Sequence[Correction]
) -> Reading:
    """Return the states with what was said of them, in the order in which it was.

    Parameters
    ----------
    path
        The path whose states were read.
    corrections
        By the clock of the path. A cut changes no state: see `part_numbers`.
    """
    for correction in corrections:
        reading = _corrected(path, reading, correction)
    return reading


def part_numbers(path: Path, corrections: Sequence[Correction]) -> Ints:
    """Return for each fix how many cuts come before it: no run goes across one."""
    at_s = sorted(told.start_s for told in corrections if told.kind == "cut")
    return np.searchsorted(at_s, path.time_s, side="right")


def said_to_go_on(
    corrections: Sequence[Correction], last_s: float, first_s: float
) -> bool | None:
    """Return whether two runs of fishing are one drift; None where nothing was said.

    What was said last counts.

    Parameters
    ----------
    last_s, first_s
        The last fix of the one, and the first of the other.
    """
    for told in reversed(corrections):
        if told.kind == "cut" and last_s <= told.start_s <= first_s:
            return False
        if told.kind == "join" and told.start_s <= first_s and last_s <= told.end_s:
            return True
    return None


def _corrected(path: Path, reading: Reading, told: Correction) -> Reading:
    inside = (path.time_s >= told.start_s) & (path.time_s <= told.end_s)
    if told.kind == "cut" or not inside.any():
        first = int(np.searchsorted(path.time_s, told.start_s))
        return _beginning(path, reading, {first: told.start_s})
    kind = State.MOTORING if told.kind == "strike" else State.FISHING
    if kind == State.MOTORING:
        inside &= reading.state == State.FISHING
    edges = {
        int(at): told.start_s if inside[at] else told.end_s
        for at in 1 + np.flatnonzero(np.diff(inside))
    }
    state = np.where(inside, kind, reading.state)
    known = np.append(False, reading.state[1:] != reading.state[:-1])
    edges = {at: when for at, when in edges.items() if not known[at]}
    return _beginning(
        path,
        replace(
            reading,
            state=state,
            doubtful=reading.doubtful & ~inside,
            anchored=reading.anchored & (state == State.FISHING),
        ),
        edges,
    )


def _beginning(path: Path, reading: Reading, edges: dict[int, float]) -> Reading:
    """Return the reading with states that begin between a fix and the one before."""
    since_s = reading.since_s.copy()
    for at, when_s in edges.items():
        if 0 < at < len(since_s):
            since_s[at] = np.clip(when_s, path.time_s[at - 1], path.time_s[at])
    return replace(reading, since_s=since_s)
