"""What the user says of drifts is so, to the second, and nothing else changes."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box

from sweptwater.practice.said import Correction
from sweptwater.practice.settings import Rules
from sweptwater.tracks.drifts import DayAfloat, day_afloat
from sweptwater.tracks.record import clean_record
from tracks_made import Leg, trip

WAY = trip(
    *[
        leg
        for _ in range(3)
        for leg in (Leg(900, 0.4, 90), Leg(180, 2.0, 270, fishing=False))
    ]
)
LAKE = box(-3000, -3000, 3000, 3000)
RECORD = clean_record(WAY.time_s, WAY.easting, WAY.northing)


def _day(
    *corrections: Correction, every: int = 1, silent: slice | None = None
) -> DayAfloat:
    record = RECORD
    kept = np.ones(len(record.time_s), dtype=bool)
    if silent:
        kept[silent] = False
    kept &= np.arange(len(kept)) % every == 0
    record = replace(
        record,
        time_s=record.time_s[kept],
        easting=record.easting[kept],
        northing=record.northing[kept],
    )
    return day_afloat(record, LAKE, Polygon(), Rules(), corrections)


PLAIN = _day()
ONE, TWO, THREE = PLAIN.drifts


def _spent(day: DayAfloat) -> float:
    return day.fishing_s + day.motoring_s + day.ashore_s + day.unknown_s


def test_two_drifts_are_said_to_be_one() -> None:
    day = _day(Correction("join", ONE.end_s, TWO.start_s))
    assert [(d.start_s, d.end_s) for d in day.drifts] == [
        (ONE.start_s, TWO.end_s),
        (THREE.start_s, THREE.end_s),
    ]
    back_s = TWO.start_s - ONE.end_s
    assert day.fishing_s == pytest.approx(PLAIN.fishing_s + back_s, abs=2)
    assert _spent(day) == pytest.approx(_spent(PLAIN))


@pytest.mark.parametrize("every", [1, 5, 30])
def test_a_drift_is_cut_where_it_is_said(every: int) -> None:
    plain = _day(every=every)
    at_s = plain.drifts[1].start_s + 301.5
    day = _day(Correction("cut", at_s, at_s), every=every)
    assert len(day.drifts) == len(plain.drifts) + 1
    assert day.drifts[1].end_s == pytest.approx(at_s, abs=1e-6)
    assert day.drifts[2].start_s == pytest.approx(at_s, abs=1e-6)
    assert day.fishing_s == pytest.approx(plain.fishing_s)


@pytest.mark.parametrize("part", [(0.0, 1.0), (0.25, 0.5)])
def test_what_is_struck_is_motoring(part: tuple[float, float]) -> None:
    lasted_s = TWO.end_s - TWO.start_s
    start_s, end_s = (TWO.start_s + share * lasted_s for share in part)
    day = _day(Correction("strike", start_s, end_s))
    assert PLAIN.fishing_s - day.fishing_s == pytest.approx(end_s - start_s, abs=2)
    assert day.motoring_s - PLAIN.motoring_s == pytest.approx(end_s - start_s, abs=2)
    assert len(day.drifts) == (2 if part == (0.0, 1.0) else 4)
    assert _spent(day) == pytest.approx(_spent(PLAIN))


def test_a_silence_is_bridged_if_that_is_said() -> None:
    """Fifteen minutes: longer than any that is bridged unasked."""
    second = int(ONE.start_s - RECORD.time_s[0])
    silent = slice(second + 300, second + 1400)
    plain = _day(silent=silent)
    first, second_drift = plain.drifts[:2]
    assert plain.unknown_s > 1000
    day = _day(Correction("join", first.end_s, second_drift.start_s), silent=silent)
    assert len(day.drifts) == len(plain.drifts) - 1
    assert day.unknown_s == pytest.approx(0, abs=2)


def test_all_of_a_track_is_fishing_if_that_is_said() -> None:
    day = _day(Correction("fishing", RECORD.time_s[0], RECORD.time_s[-1]))
    assert len(day.drifts) == 1
    assert day.motoring_s == 0
    assert day.fishing_s == pytest.approx(RECORD.time_s[-1] - RECORD.time_s[0])


def test_what_was_said_last_counts() -> None:
    join = Correction("join", ONE.end_s, TWO.start_s)
    strike = Correction("strike", ONE.end_s, TWO.start_s)
    day = _day(join, strike)
    starts = [drift.start_s for drift in day.drifts]
    assert starts == pytest.approx([d.start_s for d in PLAIN.drifts], abs=1)
    assert day.fishing_s == pytest.approx(PLAIN.fishing_s, abs=2)


def test_what_is_said_of_another_time_changes_nothing() -> None:
    later_s = RECORD.time_s[-1] + 3600
    for kind in ("join", "cut", "strike"):
        day = _day(Correction(kind, later_s, later_s))
        assert [d.start_s for d in day.drifts] == [d.start_s for d in PLAIN.drifts]
