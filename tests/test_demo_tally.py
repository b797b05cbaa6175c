"""The invented bed, sky, fish and tally, held against the truth they are made from."""

import csv
import io
import json
from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime, time

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from shapely.geometry import shape

from sweptwater.arrays import Floats
from sweptwater.offers.flies import layer_of
from sweptwater.offers.wind import parse_wind
from sweptwater.practice.notes import FORM, KINDS, note_rows, with_note
from sweptwater.practice.sheets import Sheet
from sweptwater.practice.tackle import TackleRules
from sweptwater.practice.tally import Entry
from sweptwater.units import FOOT_M
from sweptwater_demo import ashlode, bed
from sweptwater_demo.fish import (
    BEST,
    ELSEWHERE,
    EVERYWHERE,
    LAYERS_M,
    rate,
    willows_bank,
)
from sweptwater_demo.met import FOLLOWED, Fished, fished
from sweptwater_demo.scenario import (
    DAYS,
    PAIRS,
    PHONE_DIES,
    SUMMER_TIME,
    WINDS,
    BoatDay,
    boat_days,
)
from sweptwater_demo.sky import SKIES, Sky, demo_notes, sky_at, sky_of
from sweptwater_demo.tackle import DEEP, ENDS, MIDDLE, RIGS, TOP, Rig, rig_of
from sweptwater_demo.tally import LOOSE, simulate_tally
from sweptwater_demo.truth import FISHING, Truth

OFF_DAM = (1200.0, -700.0)
BELOW_WILLOWS = (-1000.0, -710.0)
NOWHERE = (-2000.0, -600.0)
SKY_WORDS: tuple[Sky, ...] = ("bright", "broken", "dull")


# The bed


def afloat(share: float, seed: int) -> Floats:
    """Return a place on the water, so much of the way along some scan line."""
    west, south, east, north = ashlode.water().bounds
    northing = south + (north - south) * np.random.default_rng(seed).uniform(0.02, 0.98)
    line = shapely.LineString([(west, northing), (east, northing)])
    wet = max(shapely.get_parts(line & ashlode.water()), key=lambda part: part.length)
    return shapely.get_coordinates(wet.interpolate(share, normalized=True))


@settings(max_examples=60, deadline=None)
@given(share=st.floats(0.001, 0.999), seed=st.integers(0, 10**6))
def test_the_bed_is_below_the_level_wherever_there_is_water(
    share: float, seed: int
) -> None:
    assert 0 < bed.depth_m(afloat(share, seed))[0] < 25


def test_the_bed_meets_the_level_at_the_shore_and_on_islands() -> None:
    shore = shapely.get_coordinates(ashlode.water().boundary)
    assert bed.depth_m(shore).max() < 1e-6
    a_step_out = ashlode.water().buffer(-0.5).boundary.segmentize(20)
    assert 0 < bed.depth_m(shapely.get_coordinates(a_step_out)).max() < 1.2
    islands = [shapely.Polygon(ring).centroid for ring in ashlode.water().interiors]
    assert not bed.depth_m(shapely.get_coordinates(islands)).any()


def test_the_water_is_deepest_towards_the_dam_and_along_the_streams() -> None:
    found = bed.soundings()
    deepest = np.argsort(found.depth_m)[-20:]
    places = np.column_stack(ashlode.FRAME.to_metres(found.lon, found.lat))[deepest]
    assert shapely.distance(ashlode.dam(), shapely.points(places)).max() < 700
    # Across the east arm's drowned stream: its bed lies below the ground beside it.
    across = np.array([[1283.0, 401.0], [1335.0, 370.0], [1387.0, 339.0]])
    left, middle, right = bed.depth_m(across)
    assert middle > max(left, right) + 1


def test_a_survey_has_some_two_thousand_soundings_that_fit_the_bed() -> None:
    text = bed.soundings_csv(bed.soundings(seed=3))
    rows = list(csv.DictReader(io.StringIO(text)))
    assert 1800 < len(rows) < 2200
    assert all(row["note"] == "invented" for row in rows)
    told_m = np.array([float(row["depth_m"]) for row in rows])
    lon, lat = ([float(row[name]) for row in rows] for name in ("lon", "lat"))
    places = np.column_stack(ashlode.FRAME.to_metres(lon, lat))
    assert shapely.contains_xy(ashlode.water().buffer(0.2), *places.T).all()
    off_m = told_m - bed.depth_m(places)
    assert np.abs(np.median(off_m)) < 0.03
    assert np.quantile(np.abs(off_m), 0.95) < 0.5
    assert text == bed.soundings_csv(bed.soundings(seed=3))
    assert text != bed.soundings_csv(bed.soundings(seed=4))


def test_contours_lie_where_the_bed_is_so_deep() -> None:
    told = json.loads(bed.contours_geojson())
    assert told["invented"] is True
    assert [f["properties"]["depth_m"] for f in told["features"]] == [2, 5, 10]
    for feature in told["features"]:
        assert feature["properties"]["invented"] is True
        line = ashlode.FRAME.metres(shape(feature["geometry"]))
        places = shapely.get_coordinates(line.segmentize(30))
        off_m = np.abs(bed.depth_m(places) - feature["properties"]["depth_m"])
        # Between triangles of 15 m the bed is not flat, least of all on steep banks.
        assert np.quantile(off_m, 0.9) < 0.4
        assert shapely.covers(ashlode.water(), line)


# The sky, and what the boats noted


def minutes(clock: time) -> int:
    return 60 * clock.hour + clock.minute


def test_notes_tell_of_the_sky_and_the_wind_as_they_were() -> None:
    notes = demo_notes()
    assert {note.kind for note in notes} <= set(KINDS)
    assert {note.day for note in notes} == set(DAYS)
    assert {note.pair for note in notes} == {"", *PAIRS}
    for note in notes:
        assert "invented" in note.note
        assert note.at is not None
        if note.kind == "sky":
            assert note.value == sky_at(note.day, note.at)
        if note.kind == "wind":
            wind, true = parse_wind(note.value), WINDS[note.day]
            assert wind.from_deg == true.from_deg
            assert wind.speed_m_s == pytest.approx(true.speed_m_s, abs=1)


def test_each_sky_is_noted_within_the_hour_but_one() -> None:
    late = []
    for day, spells in SKIES.items():
        for since, sky in spells:
            begun = max(since, time(9))
            noted = [n for n in demo_notes() if (n.day, n.kind) == (day, "sky")]
            at = [minutes(n.at) for n in noted if n.at and n.value == sky]
            after = [clock - minutes(begun) for clock in at]
            if not any(0 <= wait <= 45 for wait in after):
                late.append((day, sky))
    assert late == [(DAYS[2], "broken")]  # half an hour that nobody wrote of
    assert {sky for spells in SKIES.values() for _, sky in spells} == set(SKY_WORDS)


def test_notes_come_back_from_a_file_of_notes() -> None:
    sheet = Sheet((FORM.columns,))
    for note in demo_notes():
        sheet = with_note(sheet, note)
    read, faults = note_rows(sheet)
    assert list(read) == demo_notes()
    assert not faults


# The fish


def an_hour(place: tuple[float, float], fly_ft: float, sky: Sky) -> float:
    where = np.array([place])
    deep = bed.depth_m(where)
    fly_m = np.array([fly_ft * FOOT_M])
    return float(rate(where, water_m=deep, fly_m=fly_m, sky=sky, hour=12)[0])


def test_the_story_is_there_to_be_found() -> None:
    for place, most in ((OFF_DAM, 1), (BELOW_WILLOWS, 1), (NOWHERE, ELSEWHERE)):
        deep, top = an_hour(place, 11, "bright"), an_hour(place, 2, "dull")
        if place != BELOW_WILLOWS:  # there the water is not so deep everywhere
            assert deep == pytest.approx(0.9 * (EVERYWHERE + most * BEST), rel=0.08)
        assert top == pytest.approx(0.9 * (EVERYWHERE + most * BEST), rel=0.08)
        assert an_hour(place, 6, "dull") > 0.8 * top
        assert an_hour(place, 2, "bright") < 0.15 * top
        assert an_hour(place, 11, "dull") < 0.2 * top


def test_flies_do_not_fish_below_the_bed() -> None:
    rim = shapely.get_coordinates(willows_bank().buffer(30).exterior.segmentize(2))
    depths_m = bed.depth_m(rim)
    place = rim[np.argmin(np.abs(depths_m - 2.0))]
    assert 1.5 < bed.depth_m(place[None])[0] < 2.4
    assert an_hour((place[0], place[1]), 20, "dull") > 1.5


@pytest.mark.parametrize("rig", RIGS, ids=lambda rig: rig.setup.line)
@pytest.mark.parametrize("drift_m_s", [0.12, 0.2, 0.3, 0.36])
def test_a_set_up_as_it_is_told_means_the_layer_that_was_fished(
    rig: Rig, drift_m_s: float
) -> None:
    fished_in = layer_of(rig.setup, drift_m_s, TackleRules())
    assert fished_in is not None
    assert fished_in.layer == np.searchsorted(LAYERS_M, rig.fly_m)


@pytest.mark.parametrize("sky", SKY_WORDS)
def test_rods_of_a_boat_fish_different_layers_on_most_drifts(sky: Sky) -> None:
    rigs = [[rig_of(end, number, sky) for end in ENDS] for number in range(1, 13)]
    apart = [bow is not stern for bow, stern in rigs]
    assert sum(apart) >= 8
    assert {rig.setup.line for pair in rigs for rig in pair} > {MIDDLE.setup.line}
    assert [rig.fly_m for rig in RIGS] == sorted(rig.fly_m for rig in RIGS)


def still_day(place: tuple[float, float], hours: float, clock: time) -> BoatDay:
    """Return a boat that fishes for hours at one place."""
    start_s = datetime.combine(DAYS[2], clock, SUMMER_TIME).timestamp()
    n = round(hours * 3600) + 1
    truth = Truth(
        time_s=start_s + np.arange(float(n)),
        easting=np.full(n, place[0]),
        northing=np.full(n, place[1]),
        state=np.full(n, FISHING),
        downwind_deg=np.zeros(n),
        drift=np.zeros(n, dtype=np.int64),
    )
    return BoatDay("Teal", DAYS[2], "long", WINDS[DAYS[2]], "", b"", truth)


def test_offers_come_as_often_as_they_should_and_mildly_in_clusters() -> None:
    # From memory: a compound Poisson sum of clusters of N has mean l E[N] and variance
    # l E[N^2]; with N = 1 or 2 (probability q) that is a ratio of (1 + 3q) / (1 + q).
    day = still_day(OFF_DAM, 1.0, time(12))
    days = [fished([day], seed=seed) for seed in range(200)]
    ratio = (1 + 3 * FOLLOWED) / (1 + FOLLOWED)
    for rod, rig, fly_ft in ((0, TOP, 1), (1, DEEP, 11)):
        assert days[0][rod].rig is rig
        expected = an_hour(OFF_DAM, fly_ft, "bright")
        assert days[0][rod].expected == pytest.approx(expected)
        met = [len(both[rod].offers) for both in days]
        error = np.sqrt(ratio * expected / len(days))
        assert np.mean(met) == pytest.approx(expected, abs=3.5 * error)
        assert np.var(met) / np.mean(met) == pytest.approx(ratio, rel=0.3)


def test_offers_lie_within_their_drift_in_the_order_of_time() -> None:
    day = still_day(OFF_DAM, 0.08, time(12))
    met = 0
    for seed in range(200):
        for one in fished([day], seed=seed):
            times_s = [offer.time_s for offer in one.offers]
            assert times_s == sorted(times_s)
            assert all(one.drift.start_s <= t <= one.drift.end_s for t in times_s)
            assert one.counts.offers == len(one.offers)
            met += len(one.offers)
    assert met > 50


# The tally of three days


@pytest.fixture(scope="module")
def nine() -> list[BoatDay]:
    return boat_days(seed=1)


@pytest.fixture(scope="module")
def truth(nine: list[BoatDay]) -> list[Fished]:
    return fished(nine)


@pytest.fixture(scope="module")
def rows(nine: list[BoatDay]) -> list[Entry]:
    return simulate_tally(nine)


@pytest.mark.slow
def test_the_same_seed_is_the_same_tally(
    nine: list[BoatDay], rows: list[Entry]
) -> None:
    assert simulate_tally(nine) == rows
    assert simulate_tally(nine, seed=2) != rows


@pytest.mark.slow
def test_what_was_met_is_within_chance_of_the_truth(truth: list[Fished]) -> None:
    ratio = (1 + 3 * FOLLOWED) / (1 + FOLLOWED)
    met = [len(one.offers) for one in truth]
    assert 80 <= sum(met) <= 160  # 0.8 to 1.5 offers a rod-hour, all in all
    cells = {
        "all": truth,
        "hot": [one for one in truth if one.expected > 0.4],
        "elsewhere": [one for one in truth if one.expected < 0.12],
    }
    for cell in cells.values():
        expected = sum(one.expected for one in cell)
        # Clusters widen chance by sqrt(ratio): as if it were 1 / ratio of the events.
        low, high = stats.poisson.interval(0.998, expected / ratio)
        assert low <= sum(len(one.offers) for one in cell) / ratio <= high
    # What is to be found stands out: deep in the sun, on top without, and little else.
    right = [
        (one.rig is DEEP and sky_of(one.drift.start_s) == "bright")
        or (one.rig in (TOP, MIDDLE) and sky_of(one.drift.start_s) == "dull")
        for one in truth
    ]
    hours = [(one.drift.end_s - one.drift.start_s) / 3600 for one in truth]
    there, here = (
        np.sum(np.array(met)[np.equal(right, where)])
        / np.sum(np.array(hours)[np.equal(right, where)])
        for where in (True, False)
    )
    assert there > 3 * here


@pytest.mark.slow
def test_the_tally_tells_what_was_met_and_where_not_says_nothing(
    truth: list[Fished], rows: list[Entry]
) -> None:
    by_drift = {
        (row.day, row.pair, row.drift, row.rod): row for row in rows if row.drift
    }
    assert len(by_drift) == sum(row.drift is not None for row in rows)
    for one in truth:
        key = (one.day, one.pair, one.number, one.rod)
        late = one.drift.start_s > PHONE_DIES.timestamp()
        if one.pair == "Teal" and one.day == PHONE_DIES.date() and late:
            assert key not in by_drift
            continue
        row = by_drift[key]
        assert row.start is not None
        begun = datetime.combine(one.day, row.start, SUMMER_TIME).timestamp()
        assert 0 <= one.drift.start_s - begun < 60
        if row.told:
            assert row.told == ("tallied" if one.offers else "blank")
            assert row.counts == one.counts
            assert row.setup.line == one.rig.setup.line
        else:
            assert one.pair == "Grebe"
            assert not row.counts.offers
            assert not row.setup.line


def pick(rows: Sequence[Entry], pair: str, day: date) -> list[Entry]:
    return [row for row in rows if (row.pair, row.day) == (pair, day)]


@pytest.mark.slow
def test_every_kind_of_row_is_there_and_marked_as_invented(rows: list[Entry]) -> None:
    assert all("invented" in row.note for row in rows)
    told = Counter(row.told for row in rows)
    assert min(told["tallied"], told["blank"], told[""]) >= 25
    loose = [row for row in rows if row.when == "before lunch"]
    assert loose == [LOOSE]
    assert loose[0].counts.offers == 3
    assert loose[0].near in {
        f["properties"]["name"] for f in ashlode.marks_geojson()["features"]
    }
    morning = [
        r for r in pick(rows, "Grebe", DAYS[1]) if r.start and r.start < time(13)
    ]
    assert morning
    assert not any(row.told for row in morning)
    remembered = [r for r in pick(rows, "Teal", DAYS[1]) if r.drift is None]
    assert [(r.start, r.told) for r in remembered[::2]] == [
        (time(12, 30), "blank"),
        (time(13, 37), "blank"),
    ]
    assert {row.rod for row in remembered} == set(ENDS)
    assert {row.left_because for row in rows} == {"", "found"}
    assert {row.drogue for row in rows} == {"", "in", "out"}
    kinds = ("follow", "pull", "lost", "boated")
    assert all(any(getattr(r.counts, kind) for r in rows) for kind in kinds)


@pytest.mark.slow
def test_herons_boated_fish_have_their_own_place_and_time(
    truth: list[Fished], rows: list[Entry]
) -> None:
    placed = [row for row in rows if row.place is not None]
    boated = [
        (one, offer)
        for one in truth
        for offer in one.offers
        if one.pair == "Heron" and offer.kind == "boated"
    ]
    assert len(placed) == len(boated) > 2
    by_time = sorted(placed, key=lambda row: (row.day, row.when))
    boated.sort(key=lambda pair: pair[1].time_s)
    for row, (one, offer) in zip(by_time, boated, strict=True):
        assert (row.rod, row.counts.boated, row.counts.offers) == (one.rod, 1, 1)
        assert row.place is not None
        east, north = ashlode.FRAME.to_metres(*row.place)
        assert np.hypot(east - offer.easting, north - offer.northing) < 0.2
