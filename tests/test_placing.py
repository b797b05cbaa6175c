"""Which drift a telling is of, and how loosely: on drifts laid out by hand."""

from dataclasses import replace
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from sweptwater.offers.belonging import Drifted
from sweptwater.offers.hours_told import Lunch, lunch_of, told_hours
from sweptwater.offers.placing import Heard, Placing, place
from sweptwater.offers.stints import Stint
from sweptwater.practice.tally import Counts, Entry, SetUp
from sweptwater.tracks.drifts import Drift

LONDON = ZoneInfo("Europe/London")
DAY = date(2027, 6, 8)
CAST_M = 20.0
RODS = ("bow", "stern")


def at_s(text: str) -> float:
    """Return a local time of the day in seconds since 1970."""
    return datetime.combine(DAY, time.fromisoformat(text), LONDON).timestamp()


def drift(
    number: int, start: str, end: str, northing: float = 0.0, *, timed: bool = True
) -> Drifted:
    """Return a drift of 1,000 m to the east, so many metres north."""
    time_s = np.linspace(at_s(start), at_s(end), 11)
    easting = np.linspace(0.0, 1000.0, 11)
    way = Drift(time_s, easting, np.full(11, northing), timed=timed)
    return Drifted(DAY, "Heron", number, way)


DRIFTS = (
    drift(1, "09:00:40", "09:50", 0),
    drift(2, "10:00", "10:50", 300),
    drift(3, "11:00", "12:00", 600),
    drift(4, "13:10", "14:00", 0),
    drift(5, "14:10", "15:00", 300),
)
"""With lunch from 12:00 to 13:10."""

ONE = Counts(1)


def heard(*entries: Heard, drifts: tuple[Drifted, ...] = DRIFTS) -> Placing:
    """Return where some rows are placed, their rows numbered from 2 on."""
    return place(entries, drifts, rods_on=lambda *_: RODS, zone=LONDON, cast_m=CAST_M)


def row(
    start: str | None = None,
    rod: str = "bow",
    counts: Counts | None = ONE,
    at: tuple[float, float] | None = None,
    near: tuple[float, float] | None = None,
    **more: object,
) -> Heard:
    """Return a row of that start; blank if there are no counts."""
    entry = Entry(
        day=DAY,
        pair="Heron",
        start=time.fromisoformat(start) if start else None,
        rod=rod,
        told="blank" if counts is None else "tallied",
        counts=counts or Counts(),
        place=(2.3, 54.9) if at else None,
        **more,  # type: ignore[arg-type]
    )
    return Heard(entry, at, near)


def told(found: Placing) -> dict[tuple[int, str], Counts | None]:
    """Return the counts of what is told, by drift and rod; None if blank."""
    return {
        (one.drift, one.rod): one.counts if one.told == "tallied" else None
        for one in found.stints
        if one.told
    }


def stint(found: Placing, number: int, rod: str = "bow") -> Stint:
    (one,) = [s for s in found.stints if (s.drift, s.rod) == (number, rod)]
    return one


def test_every_rod_on_every_drift() -> None:
    found = heard()
    assert [(one.drift, one.rod) for one in found.stints] == [
        (number, rod) for number in range(1, 6) for rod in RODS
    ]
    assert {one.told for one in found.stints} == {""}
    assert stint(found, 3).hours == pytest.approx(1.0)
    assert (found.loose, found.questions, found.faults) == ((), (), ())


@pytest.mark.parametrize("anchoring", [False, True])
def test_time_at_anchor_counts_where_a_match_allows_it(anchoring: bool) -> None:
    """The second hour lay at anchor, all but half a minute of it."""
    first, second, *_ = DRIFTS
    lay = replace(second.drift, anchored=((at_s("10:00:10"), at_s("10:49:40")),))
    found = place(
        (),
        (first, replace(second, drift=lay)),
        rods_on=lambda *_: RODS,
        zone=LONDON,
        cast_m=CAST_M,
        anchoring=anchoring,
    )
    assert [one.match for one in found.stints] == [True, True, anchoring, anchoring]


@pytest.mark.parametrize(
    ("start", "number"),
    [
        ("09:00", 1),  # written to the minute
        ("09:02", 1),
        ("09:20", 1),  # one that was joined to it
        ("09:54", 2),  # none is going, and one begins soon
        ("08:52", 1),
        ("10:49", 2),  # going, though the next begins in eleven minutes
        ("13:02", 4),
    ],
)
def test_a_row_belongs_to_its_drift_by_its_start(start: str, number: int) -> None:
    """Numbers are for people: after a correction they change, and rows do not."""
    found = heard(row(start, drift=9))
    assert told(found) == {(number, "bow"): Counts(1)}


@pytest.mark.parametrize("start", ["12:30", "16:00"])
def test_a_row_of_no_drift(start: str) -> None:
    found = heard(row(start))
    assert told(found) == {}
    (fault,) = found.faults
    assert f"it is of a drift of Heron at {start} on Tue 8 Jun, and none" in fault.what
    assert fault.do.startswith("mend its start by the list of sweptwater drifts")
    # One that was made for a drift, and never filled in, needs no mending.
    empty = Entry(day=DAY, pair="Heron", start=time.fromisoformat(start), rod="bow")
    assert heard(Heard(empty)).faults == ()


def test_without_times_the_number_counts() -> None:
    found = heard(row(None, drift=2), drifts=(drift(2, "12:00", "12:00", timed=False),))
    assert told(found) == {(2, "bow"): Counts(1)}
    assert stint(found, 2).fishing_s == 0


def test_offers_on_their_own_are_not_added_to_the_whole() -> None:
    """Kind by kind the larger: of three, two have a place, and one is another's."""
    found = heard(
        row("10:00", counts=Counts(follow=3, boated=1)),
        row("10:00", counts=Counts(follow=2), when="10:25"),
        row(None, counts=Counts(boated=2), at=(400.0, 310.0)),
    )
    one = stint(found, 2)
    assert one.counts == Counts(follow=3, boated=2)
    timed, placed = one.placed
    # Half of the drift's 50 minutes, and so of its 1,000 m.
    assert (timed.easting, timed.northing) == pytest.approx((500, 300))
    assert timed.time_s == at_s("10:25")
    assert (placed.easting, placed.northing, placed.time_s) == (400, 310, None)
    assert found.questions == ()


def test_offers_alone_ask_whether_they_were_all() -> None:
    found = heard(row(None, when="10:25"), row(None, when="11:10"))
    assert told(found) == {(2, "bow"): Counts(1), (3, "bow"): Counts(1)}
    assert found.questions == (
        "Heron on Tue 8 Jun: on drifts 2 and 3 only offers with their own time or "
        "place are told; were those all?",
    )


@pytest.mark.parametrize(
    ("when", "at", "number"),
    [
        ("10:25", None, 2),
        ("10:53", None, 2),  # watches differ
        ("10:58", None, 3),
        ("", (500.0, 560.0), 3),
        ("", (500.0, 370.0), 2),  # a cast and 60 m off
        ("10:25", (500.0, 600.0), 2),  # the clock before the place
        ("12:30", (500.0, 590.0), 3),
    ],
)
def test_an_offer_with_its_own_clock_or_place(
    when: str, at: tuple[float, float] | None, number: int
) -> None:
    found = heard(row(None, at=at, when=when))
    assert list(told(found)) == [(number, "bow")]
    (placed,) = stint(found, number).placed
    assert at is None or (placed.easting, placed.northing) == at


@pytest.mark.parametrize(
    ("when", "at"), [("12:30", None), ("", (500.0, 450.0)), ("07:00", None)]
)
def test_an_offer_that_no_drift_was_at_stays_loose(
    when: str, at: tuple[float, float] | None
) -> None:
    found = heard(row(None, at=at, when=when))
    (loose,) = found.loose
    assert (loose.drifts, told(found)) == ((), {})
    (question,) = found.questions
    assert "there is no drift then or there" in question


@pytest.mark.parametrize(
    ("when", "near", "numbers"),
    [
        ("", None, (1, 2, 3, 4, 5)),
        ("before lunch", None, (1, 2, 3)),
        ("after lunch", None, (4, 5)),
        ("before 11", None, (1, 2)),
        ("after 2", None, (5,)),
        ("morning", None, (1, 2, 3)),
        ("about 11:30", None, (3,)),
        ("10:40-11:10", None, (2, 3)),
        ("before lunch", (500.0, 240.0), (1, 2)),  # 240 and 60 m off, not 360
        ("", (500.0, 30.0), (1, 4)),
        ("before lunch", (500.0, 900.0), (1, 2, 3)),  # none passed it: the hours count
        ("on the hang", (0.0, 600.0), (3,)),  # no hours at all
        ("before 11", (500.0, 750.0), (3,)),  # passed at another hour: the place counts
    ],
)
def test_loose_as_it_was_told(
    when: str, near: tuple[float, float] | None, numbers: tuple[int, ...]
) -> None:
    three = Counts(unsaid=3)
    found = heard(row(None, "", three, near=near, when=when, note="big ones"))
    (loose,) = found.loose
    assert (loose.drifts, loose.counts, loose.rod) == (numbers, three, "")
    assert loose.text.endswith("big ones")
    assert told(found) == {}  # it makes no drift told
    (question,) = found.questions
    assert question.startswith("Heron on Tue 8 Jun: 3 offers (")
    assert "may have been on drift" in question


def test_the_question_of_a_loose_telling() -> None:
    one = row(None, "", Counts(unsaid=3), when="before lunch", near=(500, 240))
    found = heard(one)
    assert found.questions == (
        "Heron on Tue 8 Jun: 3 offers (before lunch), may have been on drifts 1 and 2; "
        "were the others blank? then say: sweptwater tally Heron rest blank",
    )
    blanks = [row(start, rod, None) for start in ("09:00", "10:00") for rod in RODS]
    answered = heard(one, *blanks)
    assert answered.questions == ()
    assert answered.loose == found.loose


def test_a_rod_that_nobody_named() -> None:
    """Of a drift with two rods it is loose to that drift; a blank is of both."""
    found = heard(row("10:00", ""), row("11:00", "", None), row(None, "", when="13:20"))
    assert [(one.drifts, len(one.placed)) for one in found.loose] == [
        ((2,), 0),
        ((4,), 1),
    ]
    assert told(found) == {(3, "bow"): None, (3, "stern"): None}
    assert [("which rod" in question) for question in found.questions] == [True, True]
    alone = place(
        [row("10:00", "")],
        DRIFTS,
        rods_on=lambda *_: ("2",),
        zone=LONDON,
        cast_m=CAST_M,
    )
    assert told(alone) == {(2, "2"): Counts(1)}


def test_a_blank_and_an_offer_of_one_drift() -> None:
    found = heard(row("10:00", counts=None), row("10:00", when="10:25"))
    assert told(found) == {(2, "bow"): Counts(1)}
    (question,) = found.questions
    assert "is told blank" in question
    assert "which is right?" in question


def test_drifts_that_were_joined_count_together() -> None:
    joined = (drift(1, "09:00", "10:50"),)
    found = heard(row("09:00"), row("10:00", counts=Counts(2)), drifts=joined)
    assert told(found) == {(1, "bow"): Counts(3)}
    half = Entry(day=DAY, pair="Heron", start=time(10), rod="bow")
    (question,) = heard(row("09:00"), Heard(half), drifts=joined).questions
    assert "was two drifts before, of which one is not told" in question


def test_the_later_of_two_rows_of_one_start() -> None:
    found = heard(row("10:00"), row("10:00", counts=Counts(2)))
    assert told(found) == {(2, "bow"): Counts(2)}
    (question,) = found.questions
    assert "is told twice" in question


@pytest.mark.parametrize("counts", [None, Counts(1)])
def test_a_loose_row_must_say_how_many(counts: Counts | None) -> None:
    found = heard(row(None, counts=counts))
    said = [fault.do.endswith("Heron rest blank") for fault in found.faults]
    assert said == ([True] if counts is None else [])


def test_the_set_up_is_what_all_rows_say() -> None:
    found = heard(
        row("10:00", setup=SetUp("floating", 0.0), drogue="in", left_because="found"),
        row("10:00", setup=SetUp(count_s=5.0), when="10:20"),
    )
    one = stint(found, 2)
    assert one.setup == SetUp("floating", 0.0, 5.0)
    assert (one.drogue, one.left_because) == ("in", "found")


def test_a_day_without_drifts() -> None:
    found = heard(row("10:00"), row(None, "", when="morning"), drifts=())
    (fault,) = found.faults
    assert fault.what == "Heron has no drift on Tue 8 Jun"
    (loose,) = found.loose
    assert loose.drifts == ()


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("before lunch", ("00:00", "12:30")),
        ("just after lunch", ("13:15", None)),
        ("lunch", ("12:15", "13:30")),
        ("before 11", ("00:00", "11:00")),
        ("until 11.30", ("00:00", "11:30")),
        ("after 2", ("14:00", None)),
        ("after 2 pm", ("14:00", None)),
        ("from 10", ("10:00", None)),
        ("around 11", ("10:30", "11:30")),
        ("about 11:30", ("11:15", "11:45")),
        ("11-12:30", ("11:00", "12:30")),
        ("between 11 and 1", ("11:00", "13:00")),
        ("11 to lunch", ("11:00", "12:30")),
        ("In the morning", ("00:00", "12:00")),
        ("afternoon", ("12:00", None)),
        ("noon", ("11:30", "12:30")),
        ("all day", ("00:00", None)),
    ],
)
def test_hours_in_words(text: str, span: tuple[str, str | None]) -> None:
    lunch = Lunch((time(12, 30), time(13, 15)), seen=True)
    end = time.fromisoformat(span[1]) if span[1] else time.max
    assert told_hours(text, lunch) == (time.fromisoformat(span[0]), end)


@pytest.mark.parametrize("text", ["", "25:00", "before", "soon", "12-11", "99"])
def test_words_that_say_no_hours(text: str) -> None:
    assert told_hours(text) is None


def test_lunch_is_the_longest_time_in_no_drift() -> None:
    """From 11 to 15 only, and only where drifts lie on both sides of it."""
    spans = [
        ("09:00", "09:30"),
        ("10:55", "12:20"),
        ("12:30", "12:40"),
        ("14:00", "17:00"),
    ]
    seen = lunch_of([(at_s(a), at_s(b)) for a, b in spans], DAY, LONDON)
    assert (seen.span, seen.seen) == ((time(12, 40), time(14)), True)
    until_noon = lunch_of([(at_s("09:00"), at_s("12:00"))], DAY, LONDON)
    assert (until_noon.before, until_noon.after) == (time(14), time(12))
