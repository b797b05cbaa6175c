"""From a path to drifts: known trips, with and without a receiver's error."""

from datetime import UTC, datetime

import numpy as np
import pytest
import shapely

from sweptwater.practice.settings import Rules
from sweptwater.tracks.drifts import DayAfloat, Drift, day_afloat
from sweptwater.tracks.record import Record, clean_record
from tracks_made import BIG_WATER, NO_JETTY, Leg, ladder, seen, trip, wander


def _total_s(day: DayAfloat) -> float:
    return day.fishing_s + day.motoring_s + day.ashore_s + day.unknown_s


def _of(record: Record, water: shapely.Polygon = BIG_WATER) -> DayAfloat:
    return day_afloat(record, water, NO_JETTY, Rules())


@pytest.mark.parametrize("seed", [None, 0, 1])
@pytest.mark.parametrize("drift_m_s", [0.1, 0.3, 0.6])
def test_long_drifts_with_a_motor_between(drift_m_s: float, seed: int | None) -> None:
    way = trip(
        *[
            leg
            for _ in range(4)
            for leg in (
                Leg(1500, drift_m_s, 40),
                Leg(1500 * drift_m_s / 2, 2.0, 220, fishing=False),
            )
        ]
    )
    day = seen(way, seed=seed)
    assert len(day.drifts) == 4
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.01)
    assert _total_s(day) == pytest.approx(day.end_s - day.start_s)


@pytest.mark.parametrize("seed", [None, 0, 1, 2])
def test_slow_returns_between_rungs_are_not_fishing(seed: int | None) -> None:
    """A plain cut at 1.3 m/s would call every return fishing, and all one drift."""
    way = ladder(10)
    day = seen(way, seed=seed)
    assert len(day.drifts) == 10
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.02)


@pytest.mark.parametrize("seed", [None, 0, 1])
def test_course_decides_where_speed_cannot(seed: int | None) -> None:
    """Returns at 0.85 m/s are slower than some drifts: only their course tells."""
    way = trip(
        *[
            leg
            for _ in range(8)
            for leg in (Leg(420, 0.4, 90), Leg(198, 0.85, 270, fishing=False))
        ],
        Leg(300, 2.2, 270, fishing=False),
    )
    day = seen(way, seed=seed)
    assert len(day.drifts) == 8
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.03)


def test_a_zigzag_survives_the_course_rule() -> None:
    """Steered 50 degrees either side of the wind at 0.65 m/s, it stays one drift."""
    way = trip(*[Leg(150, 0.65, 90 + side) for side in (50, -50) * 5])
    day = seen(way)
    assert len(day.drifts) == 1
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.01)
    assert day.doubtful_s > 0


def test_a_fast_drift_in_strong_wind_is_fishing() -> None:
    way = trip(
        *[
            leg
            for _ in range(5)
            for leg in (Leg(900, 0.9, 10), Leg(400, 2.1, 190, fishing=False))
        ]
    )
    day = seen(way)
    assert len(day.drifts) == 5
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.01)


def test_a_day_without_a_motor_is_all_one_drift() -> None:
    way = trip(Leg(3600, 0.35, 120))
    day = seen(way)
    assert len(day.drifts) == 1
    assert day.motoring_s == 0


def test_a_day_under_way_has_no_drifts() -> None:
    way = trip(Leg(1800, 2.0, 0, fishing=False), Leg(1800, 2.4, 90, fishing=False))
    day = seen(way)
    assert not day.drifts
    assert day.motoring_s == pytest.approx(3600, rel=0.01)


@pytest.mark.parametrize(
    ("silent_s", "drifts", "unknown_s"), [(40, 1, 0), (300, 1, 0), (900, 2, 900)]
)
def test_a_silence_within_a_drift(
    silent_s: float, drifts: int, unknown_s: float
) -> None:
    """Up to ten minutes are bridged where the boat went on as it drifted."""
    way = trip(Leg(3600, 0.4, 45))
    kept = np.abs(way.time_s - way.time_s[1800]) >= silent_s / 2
    day = _of(clean_record(way.time_s[kept], way.easting[kept], way.northing[kept]))
    assert len(day.drifts) == drifts
    assert day.unknown_s == pytest.approx(unknown_s, abs=2)
    assert _total_s(day) == pytest.approx(3600, abs=2)


def test_a_silence_that_the_boat_motored_through_is_unknown() -> None:
    way = trip(Leg(1200, 0.4, 0), Leg(240, 2.0, 180, fishing=False), Leg(1200, 0.4, 0))
    kept = (np.arange(len(way.time_s)) < 1200) | (np.arange(len(way.time_s)) > 1440)
    day = _of(clean_record(way.time_s[kept], way.easting[kept], way.northing[kept]))
    assert len(day.drifts) == 2
    assert day.unknown_s == pytest.approx(240, abs=3)


LAKE = shapely.box(0, 0, 3000, 3000)


def _lunch(east: float, minutes: float) -> Record:
    """Return a drift that ends at a place, so many minutes there, and a drift on."""
    rng = np.random.default_rng(5)
    way = trip(
        Leg(1200, 0.4, 0),
        Leg(60 * minutes, 0, 0, fishing=False),
        Leg(200, 2.0, 90, fishing=False),
        Leg(1200, 0.4, 0),
    )
    noise = rng.normal(0, 0.5, len(way.time_s))
    return clean_record(way.time_s, way.easting + east + noise, way.northing + 900)


def test_lunch_on_the_bank_is_ashore() -> None:
    day = _of(_lunch(6.0, 30), LAKE)
    assert day.ashore_s == pytest.approx(1800, rel=0.05)
    assert day.fishing_s == pytest.approx(2400, rel=0.03)


def test_lying_still_in_open_water_is_fishing_and_told() -> None:
    day = _of(_lunch(800.0, 30), LAKE)
    assert day.ashore_s == 0
    assert day.anchored_s == pytest.approx(1800, rel=0.1)


def test_a_short_stop_at_the_bank_is_not_ashore() -> None:
    assert _of(_lunch(6.0, 2), LAKE).ashore_s == 0


def test_the_drive_home_is_off_the_water() -> None:
    way = trip(Leg(1200, 0.4, 0), Leg(600, 11.0, 180, fishing=False))
    day = _of(clean_record(way.time_s, way.easting + 100, way.northing + 100), LAKE)
    assert day.ashore_s > 530
    assert day.fishing_s == pytest.approx(1200, rel=0.03)


@pytest.mark.parametrize("count", [0, 1, 2, 5])
def test_hardly_any_fixes(count: int) -> None:
    day = _of(clean_record(np.arange(float(count)), np.zeros(count), np.zeros(count)))
    assert not day.drifts
    assert _total_s(day) == pytest.approx(max(0, count - 1))


@pytest.mark.parametrize("every", [1, 5, 10])
def test_sampling_hardly_moves_the_hours(every: int) -> None:
    way = trip(
        *[
            leg
            for _ in range(5)
            for leg in (Leg(1300, 0.35, 300), Leg(250, 1.8, 120, fishing=False))
        ]
    )
    day = seen(way, every=every)
    assert len(day.drifts) == 5
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.01)


def test_a_drift_knows_its_length_and_course() -> None:
    drift = seen(trip(Leg(1800, 0.5, 135)), seed=None).drifts[0]
    assert drift.length_m == pytest.approx(900, rel=1e-3)
    assert drift.course_deg == pytest.approx(135, abs=0.1)
    assert datetime.fromtimestamp(drift.start_s, UTC).year == 2027


@pytest.mark.parametrize(("drift_m_s", "back_m_s"), [(0.65, 1.2), (0.75, 1.5)])
@pytest.mark.parametrize("seed", [None, 0, 1])
def test_fast_drifts_with_returns_hardly_faster(
    drift_m_s: float, back_m_s: float, seed: int | None
) -> None:
    """Hardly any full speed: the emptiest cut would lie above the returns."""
    rungs = [
        leg
        for _ in range(16)
        for leg in (
            Leg(100 / drift_m_s, drift_m_s, 0),
            Leg(100 / back_m_s, back_m_s, 180, fishing=False),
            Leg(30 / back_m_s, back_m_s, 90, fishing=False),
        )
    ]
    way = trip(Leg(80, 3.0, 90, fishing=False), *rungs)
    day = seen(way, seed=seed)
    assert len(day.drifts) == 16
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.08)


@pytest.mark.parametrize("seed", [None, 0, 1])
def test_a_day_of_fast_drifts_is_not_all_motoring(seed: int | None) -> None:
    way = trip(
        *[
            leg
            for _ in range(6)
            for leg in (Leg(700, 1.1, 30), Leg(350, 2.2, 210, fishing=False))
        ]
    )
    day = seen(way, seed=seed)
    assert len(day.drifts) == 6
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.02)


@pytest.mark.parametrize("every", [61, 75, 90, 120])
def test_a_fix_a_minute_is_no_silence(every: int) -> None:
    way = trip(
        *[
            leg
            for _ in range(4)
            for leg in (Leg(2400, 0.3, 60), Leg(400, 1.8, 240, fishing=False))
        ]
    )
    day = seen(way, seed=None, every=every)
    assert len(day.drifts) == 4
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.06)
    assert day.unknown_s < 600


def test_a_moment_heard_in_a_silence_does_not_break_the_drift() -> None:
    way = trip(Leg(3600, 0.3, 60))
    index = np.arange(len(way.time_s))
    kept = (index < 1500) | (index > 2000) | ((index > 1740) & (index < 1765))
    day = _of(clean_record(way.time_s[kept], way.easting[kept], way.northing[kept]))
    assert len(day.drifts) == 1
    assert day.unknown_s == pytest.approx(0, abs=2)


@pytest.mark.parametrize("drift_m_s", [0.05, 0.08])
def test_creeping_along_the_bank_with_a_drogue_is_fishing(drift_m_s: float) -> None:
    way = trip(Leg(3000, drift_m_s, 0), Leg(300, 2.0, 90, fishing=False))
    lake = shapely.box(0, 0, 3000, 3000)
    day = _of(clean_record(way.time_s, way.easting + 11, way.northing + 900), lake)
    assert day.ashore_s == 0
    assert day.fishing_s == pytest.approx(3000, rel=0.02)


def test_a_drift_just_outside_a_coarse_outline_is_fishing_and_doubtful() -> None:
    way = trip(Leg(2400, 0.4, 0))
    lake = shapely.box(18, -100, 3000, 3000)
    day = _of(clean_record(way.time_s, way.easting, way.northing), lake)
    assert day.fishing_s == pytest.approx(2400, rel=0.01)
    assert day.doubtful_s == pytest.approx(2400, rel=0.05)


def test_a_slow_drift_that_ends_in_lunch_keeps_its_fishing() -> None:
    way = trip(Leg(1200, 0.06, 270), Leg(1500, 0, 0, fishing=False))
    day = _of(clean_record(way.time_s, way.easting + 76, way.northing + 900), LAKE)
    assert day.ashore_s == pytest.approx(1500, abs=420)
    assert day.fishing_s > 700


def test_time_told_of_a_drift_is_never_more_than_it() -> None:
    way = trip(Leg(1500, 0.0, 0))
    record = clean_record(way.time_s[::50], way.easting[::50], way.northing[::50])
    day = _of(record)
    assert day.anchored_s <= day.fishing_s + 1e-6


@pytest.mark.parametrize("turned", ["before", "after"])
def test_a_silence_is_bridged_only_if_both_sides_agree(turned: str) -> None:
    """On one side the boat went across the straight line over the silence."""
    straight, across = Leg(1500, 0.4, 0), Leg(1200, 0.4, 90)
    legs = [straight, across] if turned == "after" else [across, straight]
    way = trip(*legs)
    middle = 1500 if turned == "after" else 1200
    silent = (
        slice(middle - 250, middle)
        if turned == "after"
        else slice(middle, middle + 250)
    )
    kept = np.ones(len(way.time_s), dtype=bool)
    kept[silent] = False
    day = _of(clean_record(way.time_s[kept], way.easting[kept], way.northing[kept]))
    assert len(day.drifts) == 2
    assert day.unknown_s == pytest.approx(250, abs=2)


def test_a_slow_drift_is_not_lengthened_by_the_receivers_wander() -> None:
    """Smoothed as for motoring, these come out some 8 % too long."""
    way = trip(Leg(5400, 0.12, 50))
    lengths = [seen(way, seed=seed).drifts[0].length_m for seed in range(4)]
    assert np.mean(lengths) == pytest.approx(5400 * 0.12, rel=0.04)


def test_a_drift_reaches_half_way_to_the_fixes_beside_it() -> None:
    way = trip(
        *[
            leg
            for _ in range(12)
            for leg in (Leg(300, 0.4, 0), Leg(120, 1.6, 180, fishing=False))
        ]
    )
    day = seen(way, seed=None, every=20)
    spans = [drift.time_s[-1] - drift.time_s[0] for drift in day.drifts]
    assert sum(spans) == pytest.approx(day.fishing_s)
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.06)


def test_to_and_fro_at_a_drifts_speed_is_fishing_and_doubtful() -> None:
    """Nothing tells which way the wind blew: all is counted, and told."""
    way = trip(*[Leg(600, 0.75, 90 + 180 * (i % 2)) for i in range(8)])
    day = seen(way)
    assert day.fishing_s == pytest.approx(4800, rel=0.01)
    assert day.doubtful_s > 0.8 * 4800


@pytest.mark.parametrize("every", [5, 12, 20, 30])
def test_turns_are_timed_between_fixes_that_are_far_apart(every: int) -> None:
    """Half-way between two fixes these drifts would come out some 10 % too long."""
    legs = (Leg(301, 0.35, 0), Leg(97, 1.2, 180, fishing=False))
    way = trip(*legs * 12)
    day = seen(way, every=every)
    assert len(day.drifts) == 12
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.04)


def test_a_drift_through_gusts_is_not_broken_by_them() -> None:
    """A gust takes it to 1.25 m/s, over the cut that the returns ask for."""
    legs = []
    for _ in range(6):
        legs += [Leg(20, 0.85 + 0.02 * i, 0) for i in range(20)]
        legs += [Leg(20, 1.25 - 0.02 * i, 0) for i in range(20)]
        legs += [Leg(420, 1.9, 180, fishing=False)]
    way = trip(*legs)
    day = seen(way)
    assert len(day.drifts) == 6
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.02)


def test_moving_across_is_not_fishing_though_steering_across_is() -> None:
    """Both head 75 degrees off the wind; one goes no faster than the drifts do."""
    steered = [Leg(120, 0.65, side) for side in (75, -75) * 2]
    moved = [Leg(300, 0.4, 0), Leg(100, 0.95, 85, fishing=False)]
    drifts = [Leg(500, 0.62, 0), Leg(270, 2.0, 180, fishing=False)]
    way = trip(*drifts * 3, *steered, Leg(300, 2.0, 180, fishing=False), *moved * 4)
    day = seen(way)
    assert len(day.drifts) == 8
    assert day.fishing_s == pytest.approx(way.fishing_s, rel=0.03)


@pytest.mark.parametrize("seed", [None, 0, 1])
def test_time_at_anchor_has_no_distance(seed: int | None) -> None:
    way = trip(
        Leg(900, 0.4, 90),
        Leg(1500, 0.0, 0),
        Leg(900, 0.4, 90),
        Leg(300, 2.0, 270, fishing=False),
    )
    day = seen(way, seed=seed)
    (drift,) = day.drifts
    assert drift.length_m == pytest.approx(720, rel=0.03)
    assert drift.anchored_s == pytest.approx(1500, abs=60)
    assert not drift.at_anchor
    ((start_s, end_s),) = drift.anchored
    lying = (drift.time_s >= start_s) & (drift.time_s <= end_s)
    assert len(np.unique(drift.easting[lying])) == 1


def test_a_boat_that_only_lay_at_anchor_is_told_as_that() -> None:
    way = trip(
        Leg(300, 2.0, 0, fishing=False),
        Leg(1800, 0.0, 0),
        Leg(300, 2.0, 90, fishing=False),
        Leg(900, 0.4, 0),
    )
    at_anchor, drift = seen(way).drifts
    assert at_anchor.at_anchor
    assert not drift.at_anchor
    assert at_anchor.length_m == 0
    assert at_anchor.length_error == 0
    assert drift.length_m == pytest.approx(360, rel=0.04)


@pytest.mark.parametrize("seed", range(4))
def test_a_drift_in_still_air_is_not_at_anchor(seed: int) -> None:
    """Five minutes of it are 18 m, which is within the wander of one spot."""
    way = trip(Leg(3000, 0.06, 45), Leg(300, 2.0, 225, fishing=False))
    assert seen(way, seed=seed).anchored_s == 0


@pytest.mark.parametrize("minutes", [1.5, 4])
def test_tied_up_when_the_record_begins_is_ashore(minutes: float) -> None:
    way = trip(
        Leg(60 * minutes, 0, 0, fishing=False),
        Leg(300, 2.0, 90, fishing=False),
        Leg(1200, 0.4, 0),
    )
    day = _of(clean_record(way.time_s, way.easting + 6, way.northing + 900), LAKE)
    assert len(day.drifts) == 1
    assert day.ashore_s == pytest.approx(60 * minutes, abs=20)


def test_a_stay_goes_on_over_a_silence() -> None:
    """Neither side of it lasts the five minutes that a stay must."""
    way = trip(
        Leg(300, 2.0, 270, fishing=False),
        Leg(660, 0, 0, fishing=False),
        Leg(300, 2.0, 90, fishing=False),
        Leg(900, 0.4, 0),
    )
    kept = (np.arange(len(way.time_s)) < 500) | (np.arange(len(way.time_s)) > 700)
    east = way.easting[kept] + 606
    day = _of(clean_record(way.time_s[kept], east, way.northing[kept] + 900), LAKE)
    assert len(day.drifts) == 1
    assert day.ashore_s == pytest.approx(460, abs=30)
    assert day.unknown_s == pytest.approx(201, abs=3)


def test_a_hop_between_two_anchorages_parts_them() -> None:
    """Some twenty metres in half a minute hardly get over the cut."""
    hop = [Leg(7, 0.7, 0, fishing=False), Leg(12, 1.3, 0, fishing=False)]
    way = trip(
        *(Leg(1200, 0.3, 90), Leg(300, 2.0, 270, fishing=False)),
        *(Leg(900, 0, 0), *hop, Leg(7, 0.6, 0, fishing=False), Leg(900, 0, 0)),
    )
    assert len(seen(way).drifts) == 3


def test_steps_to_an_anchorage_are_the_wanders() -> None:
    time_s = np.arange(0.0, 1000.0, 10.0)
    lying = (time_s >= 400) & (time_s <= 600)
    east = np.where(lying, 130.0, 0.3 * time_s)
    drift = Drift(time_s, east, 0 * east, anchored=((400.0, 600.0),))
    assert drift.length_m == pytest.approx(0.3 * (390 + 380))


def test_a_minute_beside_an_anchoring_is_no_drift() -> None:
    time_s = np.arange(0.0, 1000.0, 10.0)
    east = 0.3 * np.minimum(time_s, 50)
    drift = Drift(time_s, east, 0 * east, anchored=((50.0, 990.0),))
    assert drift.at_anchor
    assert drift.length_m == 0


def test_at_anchor_over_a_silence() -> None:
    """Neither side of the silence lasts the five minutes that a stay must."""
    way = trip(Leg(300, 2, 0, fishing=False), Leg(600, 0, 0), Leg(900, 0.4, 0))
    kept = np.abs(np.arange(len(way.time_s)) - 600) > 80
    day = _of(clean_record(way.time_s[kept], way.easting[kept], way.northing[kept]))
    assert day.anchored_s > 350


def test_a_slow_drift_beside_the_jetty_leaves_the_stay_its_own() -> None:
    way = trip(
        Leg(480, 0, 0, fishing=False),
        Leg(12, 1.4, 90, fishing=False),
        Leg(2400, 0.06, 0),
    )
    day = _of(clean_record(way.time_s, way.easting + 8, way.northing + 900), LAKE)
    assert day.ashore_s == pytest.approx(480, abs=30)


@pytest.mark.parametrize("drift_m_s", [0.2, 0.3])
def test_five_metres_of_wander_do_not_lengthen_a_drift(drift_m_s: float) -> None:
    """Smoothed as for two metres, it comes out some 4 to 6 % too long."""
    way = trip(Leg(700, 0, 0, fishing=False), Leg(6000, drift_m_s, 20))
    lengths = []
    for seed in range(3):
        rng = np.random.default_rng(seed)
        error = wander(len(way.time_s), rng, 5.0) + rng.normal(
            0, 0.4, (len(way.time_s), 2)
        )
        day = _of(
            clean_record(
                way.time_s, way.easting + 8 + error[:, 0], way.northing + error[:, 1]
            ),
            shapely.box(0, -20_000, 20_000, 20_000),
        )
        lengths.append(sum(drift.length_m for drift in day.drifts))
    assert np.mean(lengths) == pytest.approx(6000 * drift_m_s, rel=0.03)


def test_a_short_drift_in_still_air_is_not_at_anchor() -> None:
    """Seven minutes of it are 25 m: more than the usual wander, and than swinging."""
    engine = Leg(300, 2.0, 0, fishing=False)
    day = seen(trip(engine, Leg(420, 0.06, 90), engine), seed=None)
    assert day.fishing_s == pytest.approx(420, rel=0.05)
    assert day.anchored_s == 0
