"""What the boats' drifts say of their speed, from drifts and from the outside."""

from collections.abc import Sequence
from datetime import date, datetime, time
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from practices_made import boat as track_of
from practices_made import done, report, run, write
from sweptwater.jobs.learned import (
    DriftSpeed,
    Learned,
    Seen,
    drift_sample,
    leeway_for,
    seen_drifts,
    speed_lines,
)
from sweptwater.offers.noted import Noted, noted
from sweptwater.offers.wind import Wind
from sweptwater.plan.leeway import (
    Leeway,
    Sample,
    learn,
    published,
    with_drogue,
    without_drogue,
)
from sweptwater.practice.notes import Note
from sweptwater.practice.outing import Drogue
from sweptwater.practice.settings import Rules
from sweptwater.swept.boats import BoatDay
from sweptwater.tracks.drifts import Drift, day_afloat
from sweptwater.tracks.read import read_gpx
from sweptwater.tracks.record import clean_record
from sweptwater.units import YARD_M
from sweptwater_demo.scenario import story_ladder
from tracks_made import Leg

LONDON = ZoneInfo("Europe/London")
DAY = date(2027, 6, 8)
START_S = datetime(2027, 6, 8, 10, tzinfo=LONDON).timestamp()
WEST = Wind(270, 7.5)
NOTHING = Noted(LONDON)
SPEED_KEYS = {
    *("pair", "drogue", "drifts", "speed_m_s", "slow_m_s", "fast_m_s"),
    *("drifts_in_wind", "wind_share", "share_sd", "off_deg", "off_sd_deg"),
}


def drift(
    *, lasts_s: float = 600, speed_m_s: float = 0.3, course_deg: float = 90, **rest: Any
) -> Drift:
    """Return a straight drift from ten o'clock on."""
    time_s = np.linspace(0, lasts_s, 11)
    course = np.radians(course_deg)
    way = speed_m_s * time_s
    east, north = way * np.sin(course), way * np.cos(course)
    return Drift(START_S + time_s, east, north, **rest)


def day(*drifts: Drift, pair: str = "Heron") -> BoatDay:
    afloat = SimpleNamespace(drifts=drifts)
    return cast(BoatDay, SimpleNamespace(pair=pair, day=DAY, afloat=afloat))


def seen(pair: str, drogue: Drogue | None, *shares: float) -> list[Seen]:
    return [
        Seen(pair, DAY, drogue, share * 7.5, Sample(share, 0, 1200)) for share in shares
    ]


def the(found: Sequence[DriftSpeed], pair: str | None, drogue: str) -> DriftSpeed:
    (line,) = [x for x in found if (x.pair, x.drogue or "") == (pair, drogue)]
    return line


def test_a_drift_in_a_wind() -> None:
    """By hand: 0.3 of 7.5 m/s, and 10 degrees clockwise of due east."""
    found = drift_sample(drift(course_deg=100), WEST)
    assert found is not None
    assert (found.share, found.off_deg) == pytest.approx((0.04, 10))
    assert found.duration_s == 600


@pytest.mark.parametrize(
    ("made", "wind"),
    [
        (drift(lasts_s=179), WEST),
        (drift(timed=False), WEST),
        (drift(anchored=((START_S + 100, START_S + 200),)), WEST),
        (drift(doubtful_s=301), WEST),
        (drift(), Wind(270, 1.5)),
        (drift(), Wind(0, 0)),
    ],
)
def test_what_says_nothing_of_a_boat_in_a_wind(made: Drift, wind: Wind) -> None:
    assert drift_sample(made, wind) is None


@pytest.mark.parametrize(
    "made", [drift(lasts_s=180), drift(doubtful_s=300), drift(length_error=0.2)]
)
def test_what_just_does(made: Drift) -> None:
    assert drift_sample(made, WEST) is not None
    assert drift_sample(made, Wind(270, 1.6)) is not None


def test_the_speed_as_such_needs_no_wind() -> None:
    """By hand: 180 m in 600 s, 100 of them at anchor; and one told to be 1 % long."""
    at_anchor = drift(anchored=((START_S, START_S + 600),))
    partly = drift(anchored=((START_S - 1, START_S),))
    made = day(
        *(drift(length_error=0.01), drift(lasts_s=60), at_anchor, drift(timed=False))
    )
    found = list(seen_drifts([made, day(partly)], NOTHING, {}))
    speeds = [one.speed_m_s for one in found]
    assert speeds == pytest.approx([0.297, 0.3, 0.27 / (599 / 600)], abs=2e-4)
    assert [one.sample for one in found] == [None] * 3


def test_a_wind_that_was_given_stands_in_for_a_note() -> None:
    note = Note(day=DAY, kind="wind", value="270@7.5m/s")
    given = {DAY: Wind(270, 10)}
    shares = []
    for told in (NOTHING, noted([note], LONDON)):
        (one,) = seen_drifts([day(drift())], told, given)
        assert one.sample is not None
        shares.append(one.sample.share)
    assert shares == pytest.approx([0.03, 0.04])
    (one,) = seen_drifts([day(drift())], NOTHING, {date(2027, 6, 9): WEST})
    assert one.sample is None


def test_of_a_day_with_notes_no_given_wind_is_used() -> None:
    """Heron's drift is two hours before the only note: nobody told its wind."""
    note = Note(day=DAY, at=time(12, 30), kind="wind", value="W4")
    told = noted([note], LONDON)
    (one,) = seen_drifts([day(drift())], told, {DAY: WEST})
    assert one.sample is None


def test_the_drogue_goes_by_the_notes() -> None:
    notes = [Note(day=DAY, at=time(10), pair="Heron", kind="drogue", value="in")]
    boats = [day(drift()), day(drift(), pair="Teal")]
    found = list(seen_drifts(boats, noted(notes, LONDON), {}))
    assert [one.drogue for one in found] == ["in", None]


def test_lines() -> None:
    """Against numpy: quantiles of ten speeds. Too few drifts tell no share."""
    shares = [0.03 + 0.001 * k for k in range(10)]
    made = [*seen("Teal", "out", *shares), *seen("Heron", None, 0.04)]
    found = speed_lines(made, "out")
    whose = [(line.pair, line.drogue, line.drifts) for line in found]
    assert whose == [
        *(("Heron", None, 1), ("Teal", "out", 10), (None, "out", 10), (None, None, 1)),
    ]
    line = the(found, "Teal", "out")
    speeds = 7.5 * np.array(shares)
    assert (line.slow_m_s, line.speed_m_s, line.fast_m_s) == pytest.approx(
        tuple(np.percentile(speeds, (10, 50, 90)))
    )
    learned = learn([Sample(share, 0, 1200) for share in shares], published("out"))
    assert (line.wind_share, line.share_sd) == (learned.share, learned.share_sd)
    assert (line.off_deg, line.off_sd_deg) == (learned.off_deg, learned.off_sd_deg)
    assert the(found, "Heron", "").wind_share is None
    assert speed_lines([], "out") == ()
    assert [line.pair for line in speed_lines(seen("Teal", "in", 0.03), "out")] == [
        "Teal"
    ]


def of(drogue: Drogue, *shares: float) -> Leeway:
    return learn([Sample(share, 0, 1200) for share in shares], published(drogue))


OWN, OTHERS, SLOW = (0.03, 0.031, 0.032), (0.05, 0.051, 0.052), (0.02, 0.021, 0.022)


@pytest.mark.parametrize(
    ("drifts", "drogue", "leeway"),
    [
        ([], "out", published("out")),
        ([], "in", published("in")),
        (seen("Heron", "out", *OWN[:2]), "out", published("out")),
        (seen("Heron", "out", *OWN), "out", of("out", *OWN)),
        (seen("Teal", "out", *OTHERS), "out", of("out", *OTHERS)),
        (
            [*seen("Heron", "out", *OWN), *seen("Teal", "out", *OTHERS)],
            "out",
            of("out", *OWN),
        ),
        (
            [*seen("Heron", "out", *OWN[:2]), *seen("Teal", "out", *OTHERS)],
            "out",
            of("out", *OWN[:2], *OTHERS),
        ),
        # The usual way, where nobody told; but not where somebody did.
        (seen("Heron", None, *OWN), "out", of("out", *OWN)),
        (seen("Heron", None, *OWN), "in", with_drogue(of("out", *OWN))),
        (
            [*seen("Heron", "out", *OWN), *seen("Heron", None, *SLOW)],
            "out",
            of("out", *OWN),
        ),
        (
            [*seen("Heron", "out", *OWN[:2]), *seen("Heron", None, *SLOW)],
            "out",
            of("out", *OWN[:2], *SLOW),
        ),
        # The other way with the drogue, by the ratio; others' drifts come before.
        (seen("Heron", "out", *OWN), "in", with_drogue(of("out", *OWN))),
        (seen("Heron", "in", *SLOW), "out", without_drogue(of("in", *SLOW))),
        (
            [*seen("Heron", "out", *OWN), *seen("Teal", "in", *SLOW)],
            "in",
            of("in", *SLOW),
        ),
        (seen("Teal", "out", *OTHERS), "in", with_drogue(of("out", *OTHERS))),
    ],
)
def test_whose_drifts_a_plan_goes_by(
    drifts: list[Seen], drogue: Drogue, leeway: Leeway
) -> None:
    assert leeway_for(Learned(seen=tuple(drifts)), "Heron", drogue) == leeway


def test_where_the_drogue_is_usually_in() -> None:
    told = Learned(seen=tuple(seen("Heron", None, *SLOW)), usual="in")
    assert leeway_for(told, "Heron", "in") == of("in", *SLOW)
    (line,) = speed_lines(told.seen, "in")
    assert (line.drogue, line.wind_share) == (None, of("in", *SLOW).share)
    assert leeway_for(told, "Heron", "out") == without_drogue(of("in", *SLOW))


def test_the_boat_of_the_ladder_is_found() -> None:
    """22 drifts at twenty yards a minute straight before a wind of 6.7 m/s.

    Through the receiver's errors and the finding of drifts, within the told doubt.
    """
    story = story_ladder()
    fixes = read_gpx(story.gpx).fixes
    places = story.frame.to_metres(fixes.lon, fixes.lat)
    record = clean_record(fixes.time_s, *places)
    afloat = day_afloat(record, story.water, story.jetty.buffer(25), Rules())
    made = cast(
        BoatDay, SimpleNamespace(pair="Heron", day=date(2027, 6, 7), afloat=afloat)
    )
    given = {made.day: Wind(story.wind.from_deg, story.wind.speed_m_s)}
    found = tuple(seen_drifts([made], NOTHING, given))
    (line,) = speed_lines(found, "out")
    assert (line.drifts, line.drogue) == (22, None)
    assert line.speed_m_s / YARD_M * 60 == pytest.approx(20, rel=0.03)
    assert line.wind_share == pytest.approx(0.3048 / 6.7, rel=0.05)
    assert line.off_deg == pytest.approx(0, abs=2)
    assert line.share_sd is not None
    assert line.share_sd < 0.01


@pytest.fixture
def windy(begun: Path, tmp_path: Path) -> Path:
    """Return a practice where Heron made four drifts at 0.3 m/s towards 100 degrees."""
    back = (Leg(60, 2, 0, fishing=False), Leg(90, 2, 280, fishing=False))
    legs = [leg for _ in range(4) for leg in (Leg(600, 0.3, 100), *back)]
    track = write(tmp_path / "heron.gpx", track_of(*legs, start=(-900, -400)))
    done(begun, "upload", "--pair", "Heron", track)
    return begun


def test_drifts_tell_how_fast(windy: Path) -> None:
    """By hand: 0.3 m/s is 19.7 yards a minute."""
    (line,) = report(windy, "drifts")["drift_speeds"]
    assert set(line) == SPEED_KEYS
    assert (line["pair"], line["drogue"], line["drifts"]) == ("Heron", None, 4)
    assert line["speed_m_s"] == pytest.approx(0.3, rel=0.01)
    assert line["slow_m_s"] <= line["speed_m_s"] <= line["fast_m_s"]
    assert line["drifts_in_wind"] == 0
    assert [line[key] for key in ("wind_share", "share_sd", "off_deg")] == [None] * 3
    table = done(windy, "drifts").stdout.split("How fast the boats drift\n")[1]
    assert table.splitlines() == [
        "pair   drogue    drifts  yd a minute  mostly",
        "Heron  not told       4           20  20 to 20",
    ]


def test_in_a_wind(windy: Path) -> None:
    """4 % of 7.5 m/s, ten degrees to the right; the prior counts as three drifts."""
    when = ("--day", "2027-06-08", "--at")
    done(windy, "note", "wind", "270@7.5m/s", *when, "9:30")
    done(windy, "note", "drogue", "in", *when, "9:30", "--pair", "Heron")
    (line,) = report(windy, "drifts")["drift_speeds"]
    drifts = [Sample(0.04, 10, 600)] * 4
    expected = learn(drifts, published("in"))
    assert (line["drogue"], line["drifts_in_wind"]) == ("in", 4)
    assert line["wind_share"] == pytest.approx(expected.share, rel=0.01)
    assert line["off_deg"] == pytest.approx(expected.off_deg, abs=0.3)
    assert line["share_sd"] == pytest.approx(expected.share_sd, rel=0.02)
    rows = done(windy, "drifts").stdout.splitlines()[-2:]
    assert rows[0].endswith("of the wind  off straight downwind")
    assert f"{100 * expected.share:.1f} %" in rows[1]
    assert f"{expected.off_deg:.0f} degrees right, give or take" in rows[1]


def test_days_and_pairs_are_chosen(fished: Path) -> None:
    found = report(fished, "drifts")["drift_speeds"]
    assert [line["pair"] for line in found] == ["Grebe", "Heron", None]
    one = report(fished, "drifts", "--pair", "Grebe")["drift_speeds"]
    assert [(line["pair"], line["drifts"]) for line in one] == [("Grebe", 2)]


def test_metres_and_bad_notes(windy: Path) -> None:
    settings = windy / "practice.toml"
    text = settings.read_text("utf-8")
    assert 'units = "imperial"' in text
    write(settings, text.replace('units = "imperial"', 'units = "metric"'))
    write(windy / "notes.csv", "day,kind,value\n2027-06-08,wind,breezy\n")
    result = run(windy, "drifts")
    assert "m a minute" in result.stdout
    assert "Not in order: notes.csv, row 2: 'breezy' is no wind" in result.stderr
