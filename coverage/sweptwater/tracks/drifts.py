"""From a day's path to its drifts, and to the hours spent at each thing."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from sweptwater.arrays import Area, Bools, Floats, Ints
from sweptwater.practice.said import Correction
from sweptwater.practice.settings import Rules
from sweptwater.tracks.anchor import at_anchor
from sweptwater.tracks.bridges import bridges
from sweptwater.tracks.corrections import corrected, part_numbers
from sweptwater.tracks.record import Record, silence_s, without_snatches
from sweptwater.tracks.smooth import Path, smooth_path
from sweptwater.tracks.spells import runs, weights_s
from sweptwater.tracks.states import Reading, State, read_states
from sweptwater.tracks.wander import Wander

BESIDE_S = 60.0
"""A drift under way for no longer than this, beside its anchoring, was none."""

STEADY_M = 4.0
STEADY_S = (10.0, 40.0)
"""A drift is smoothed over the time it takes for so many metres, within bounds."""

LENGTHENED = 0.015
"""And over longer if wander would else lengthen it by more than this share."""


@dataclass(frozen=True, slots=True)
class Drift:
    """One unbroken stretch of fishing.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC of the places along it, increasing.
    easting, northing
        The places, in metres.
    doubtful_s
        The part of it that may have been slow motoring.
    anchored
        When it lay at anchor: starts and ends, in seconds since 1970 UTC. All places
        of such a spell are one.
    length_error
        By what share of itself its length is expected to be too long, because of the
        receiver's wander: see `wander`.
    """

    time_s: Floats
    easting: Floats
    northing: Floats
    doubtful_s: float = 0.0
    anchored: tuple[tuple[float, float], ...] = ()
    length_error: float = 0.0
    timed: bool = True
    """Whether the times are more than an order: a track may have none."""

    @property
    def start_s(self) -> float:
        """When fishing began, in seconds since 1970 UTC."""
        return float(self.time_s[0])

    @property
    def end_s(self) -> float:
        """When fishing ended, in seconds since 1970 UTC."""
        return float(self.time_s[-1])

    @property
    def anchored_s(self) -> float:
        """How long it lay at anchor, in seconds."""
        return sum(end_s - start_s for start_s, end_s in self.anchored)

    @property
    def at_anchor(self) -> bool:
        """Whether it was no drift at all, but a boat lying at anchor."""
        under_way_s = self.end_s - self.start_s - self.anchored_s
        return bool(self.anchored) and under_way_s < BESIDE_S

    @property
    def length_m(self) -> float:
        """The distance drifted, in metres; time at anchor has none."""
        if self.at_anchor:
            return 0.0
        step_m = np.hypot(np.diff(self.easting), np.diff(self.northing))
        return float(step_m[~self._anchored_steps()].sum())

    def _anchored_steps(self) -> Bools:
        """Mark steps that touch a time at anchor: those into it are the wander's."""
        touched = np.zeros(len(self.time_s) - 1, dtype=bool)
        for start_s, end_s in self.anchored:
            touched |= (self.time_s[1:] >= start_s) & (self.time_s[:-1] <= end_s)
        return touched

    @property
    def course_deg(self) -> float:
        """The course from the first place to the last, clockwise from north."""
        east = self.easting[-1] - self.easting[0]
        north = self.northing[-1] - self.northing[0]
        return float(np.degrees(np.arctan2(east, north)) % 360)


@dataclass(frozen=True, slots=True)
class DayAfloat:
    """What the record of one boat on one day says it did.

    The seconds of fishing, motoring, ashore and unknown add up to the time from the
    first fix to the last; doubtful and anchored time are parts of the fishing.
    """

    drifts: tuple[Drift, ...]
    motoring: tuple[Floats, ...]
    """The ways between, each (n, 2) in metres."""
    start_s: float
    end_s: float
    fishing_s: float
    motoring_s: float
    ashore_s: float
    unknown_s: float
    doubtful_s: float
    anchored_s: float
    scale_m: float
    cut_m_s: float
    wander_m_s: float | None = None
    """The speed along one axis that the receiver seemed to have where the boat surely
    lay still; None if no stay tells."""

    @property
    def length_error(self) -> float:
        """The share by which the day's distance is expected to be too long."""
        lengths = [drift.length_m for drift in self.drifts]
        errors = [drift.length_error for drift in self.drifts]
        return float(np.dot(lengths, errors) / max(sum(lengths), 1e-9))


def day_afloat(
    record: Record,
    water: Area,
    jetties: Area,
    rules: Rules,
    corrections: Sequence[Correction] = (),
) -> DayAfloat:
    """Smooth one boat's record and part it into drifts.

    Parameters
    ----------
    record
        The boat's fixes, cleaned, in metres.
    water
        The venue's water, in metres.
    jetties
        Where boats tie up, grown by the jetty distance, in metres; may be empty.
    corrections
        What the user knows better, by the record's clock.
    """
    gap_s = silence_s(record.time_s, rules.gap_s, rules.bridge_s)
    rules = replace(rules, gap_s=gap_s)
    record = without_snatches(record, gap_s, rules.least_fishing_s)
    path = smooth_path(
        record.time_s, record.easting, record.northing, record.stretches(gap_s)
    )
    reading = read_states(path, water, jetties, rules)
    day = split_day(path, corrected(path, reading, corrections), rules, corrections)
    wander = reading.wander
    return replace(
        day,
        drifts=tuple(steadied(record, d, wander, rules) for d in day.drifts),
        wander_m_s=wander.m_s if wander.seen else None,
    )


def steadied(record: Record, drift: Drift, wander: Wander, rules: Rules) -> Drift:
    """Return a drift along a path that is smoothed as hard as its speed allows.

    What motoring needs, to start and turn sharply, leaves a slow drift the wander of
    the receiver: half a metre in ten seconds lengthens 0.15 m/s by some six per cent.
    A drift by itself may be smoothed over the time that it takes for a few metres.
    """
    inside = (record.time_s >= drift.start_s) & (record.time_s <= drift.end_s)
    if inside.sum() < 5:
        return drift
    speed_m_s = _made_good_m_s(drift)
    step_s = float(np.median(np.diff(record.time_s[inside])))
    smoothing_s, length_error = _steadying(wander, speed_m_s, step_s)
    path = smooth_path(
        record.time_s[inside],
        record.easting[inside],
        record.northing[inside],
        record.stretches(rules.gap_s)[inside],
        smoothing_s=smoothing_s,
    )
    time_s = np.union1d(path.time_s, [drift.start_s, drift.end_s])
    return _pinned(
        replace(
            drift,
            time_s=time_s,
            easting=_extended(time_s, path.time_s, path.easting, path.east_m_s),
            northing=_extended(time_s, path.time_s, path.northing, path.north_m_s),
            length_error=0.0 if drift.at_anchor else length_error,
        )
    )


def _steadying(wander: Wander, speed_m_s: float, step_s: float) -> tuple[float, float]:
    """Return over how long to smooth a drift, and how much too long it still comes out.

    As long as it takes for a few metres; longer where the receiver wanders so much
    that the distance would be wrong, though bends are lost then.
    """
    least_s = float(np.clip(STEADY_M / speed_m_s, *STEADY_S))
    for smoothing_s in np.geomspace(least_s, STEADY_S[1], 8).tolist():
        error = wander.lengthens(speed_m_s, smoothing_s=smoothing_s, step_s=step_s)
        if error <= LENGTHENED:
            break
    return smoothing_s, error


def _pinned(drift: Drift) -> Drift:
    """Return a drift whose times at anchor lie on one place each."""
    easting, northing = drift.easting.copy(), drift.northing.copy()
    for start_s, end_s in drift.anchored:
        spell = (drift.time_s >= start_s) & (drift.time_s <= end_s)
        if spell.any():
            easting[spell] = np.median(easting[spell])
            northing[spell] = np.median(northing[spell])
    return replace(drift, easting=easting, northing=northing)


def _made_good_m_s(drift: Drift, over_s: float = 120.0) -> float:
    """Return the mean speed made good over two minutes: little of it is wander.

    Time at anchor aside; where less than that lies between, of all the rest.
    """
    over_s = min(over_s, drift.end_s - drift.start_s)
    from_s = np.linspace(drift.start_s, drift.end_s - over_s, 100)
    for start_s, end_s in drift.anchored:
        from_s = from_s[(from_s + over_s < start_s) | (from_s > end_s)]
    if not len(from_s):
        afloat_s = drift.end_s - drift.start_s - drift.anchored_s
        return max(drift.length_m / max(afloat_s, 1.0), 1e-3)
    east, north = (
        np.interp(from_s + over_s, drift.time_s, along)
        - np.interp(from_s, drift.time_s, along)
        for along in (drift.easting, drift.northing)
    )
    return max(float(np.mean(np.hypot(east, north))) / max(over_s, 1.0), 1e-3)


def _extended(time_s: Floats, known_s: Floats, along: Floats, m_s: Floats) -> Floats:
    """Return places at times up to half a step beyond those that are known."""
    early = np.minimum(time_s - known_s[0], 0.0) * m_s[0]
    late = np.maximum(time_s - known_s[-1], 0.0) * m_s[-1]
    return np.interp(time_s, known_s, along) + early + late


def split_day(
    path: Path, reading: Reading, rules: Rules, corrections: Sequence[Correction] = ()
) -> DayAfloat:
    """Return the drifts and hours of a path whose states are known."""
    if not len(path.time_s):
        return DayAfloat((), (), 0, 0, 0, 0, 0, 0, 0, 0, path.scale_m, reading.cut_m_s)
    parts = part_numbers(path, corrections)
    starts, ends = runs(reading.state, path.stretch + parts)
    kind = reading.state[starts]
    first_s, last_s = _run_times(path, reading.since_s, starts, ends)
    fishing = kind == State.FISHING
    bridged = bridges(path, (starts, ends), fishing, rules, corrections)
    drifts = tuple(
        _drift(path, reading, starts[group], ends[group])
        for group in _groups(fishing, bridged)
    )
    spent = [float((last_s - first_s)[kind == state].sum()) for state in State]
    fishing_s = sum(drift.end_s - drift.start_s for drift in drifts)
    total_s = float(path.time_s[-1] - path.time_s[0])
    ways = tuple(
        np.column_stack([path.easting[a:b], path.northing[a:b]])
        for a, b, k in zip(starts, ends, kind, strict=True)
        if k == State.MOTORING and b - a > 1
    )
    return DayAfloat(
        drifts=drifts,
        motoring=ways,
        start_s=float(path.time_s[0]),
        end_s=float(path.time_s[-1]),
        fishing_s=fishing_s,
        motoring_s=spent[State.MOTORING],
        ashore_s=spent[State.ASHORE],
        unknown_s=max(
            0.0, total_s - fishing_s - spent[State.MOTORING] - spent[State.ASHORE]
        ),
        doubtful_s=sum(drift.doubtful_s for drift in drifts),
        anchored_s=sum(drift.anchored_s for drift in drifts),
        scale_m=path.scale_m,
        cut_m_s=reading.cut_m_s,
    )


def _run_times(
    path: Path, since_s: Floats, starts: Ints, ends: Ints
) -> tuple[Floats, Floats]:
    """Return when runs begin and end: between them and neighbours they meet."""
    first_s, last_s = path.time_s[starts].copy(), path.time_s[ends - 1].copy()
    meets = path.stretch[starts[1:]] == path.stretch[ends[:-1] - 1]
    first_s[1:][meets] = since_s[starts[1:]][meets]
    last_s[:-1][meets] = since_s[starts[1:]][meets]
    return first_s, last_s


def _groups(fishing: Bools, bridged: Bools) -> list[Ints]:
    """Return the runs that make up each drift."""
    members = np.flatnonzero(fishing)
    breaks = np.flatnonzero(~bridged[members])
    return [group for group in np.split(members, breaks) if len(group)]


def _drift(path: Path, reading: Reading, starts: Ints, ends: Ints) -> Drift:
    index = np.concatenate([np.arange(a, b) for a, b in zip(starts, ends, strict=True)])
    spans = _beyond(path, reading.since_s, int(starts[0]), int(ends[-1]))
    places = np.column_stack([path.time_s, path.easting, path.northing])[index]
    places = np.vstack([*spans[0], places, *spans[1]])
    weight = weights_s(path)[index]
    return Drift(
        time_s=places[:, 0].copy(),
        easting=places[:, 1].copy(),
        northing=places[:, 2].copy(),
        doubtful_s=float(weight[reading.doubtful[index]].sum()),
        anchored=tuple(
            spell
            for start, end in zip(starts.tolist(), ends.tolist(), strict=True)
            for spell in at_anchor(path, reading.anchored, start, end)
        ),
    )


def _beyond(
    path: Path, since_s: Floats, start: int, end: int
) -> tuple[list[Floats], list[Floats]]:
    """Return the places where a run begins and ends, where it meets neighbours."""

    def between(i: int, j: int) -> list[Floats]:
        if not 0 <= i < j < len(path.time_s) or path.stretch[i] != path.stretch[j]:
            return []
        share = (since_s[j] - path.time_s[i]) / (path.time_s[j] - path.time_s[i])
        both = np.column_stack([path.time_s, path.easting, path.northing])
        return [both[i] + share * (both[j] - both[i])]

    return between(start - 1, start), between(end - 1, end)
