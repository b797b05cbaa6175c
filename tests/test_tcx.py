"""Reading TCX, against lxml on files of others.

Elements and where they stand: TCX schema, version 2 (TrainingCenterDatabasev2.xsd, from
memory) and the files of others.
"""

from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from lxml import etree

from promises import check_cut_anywhere
from sweptwater.errors import TrackError
from sweptwater.tracks.read import read_track
from sweptwater.tracks.recording import NO_POSITION, NO_SATELLITES
from track_files import clock, holds_minutes, tcx, trackpoints

DATA = Path(__file__).resolve().parents[2] / "shared" / "data"
PLAIN = tcx()
V2 = "urn:example:tcx:v2"

ODDITIES = {
    "plain": PLAIN,
    "namespace": PLAIN.replace("Database>", f'Database xmlns="{V2}">', 1),
    "prefix": PLAIN.replace("</", "</t:").replace("<", "<t:").replace("<t:/t:", "</t:"),
    "offset": PLAIN.replace("T10:", "T12:").replace("Z</Time>", "+02:00</Time>"),
    "fractions": PLAIN.replace("Z</Time>", ".000Z</Time>"),
    "position before time": PLAIN.replace("<Time>", "<Cadence>9</Cadence><Time>"),
    "several laps": tcx(trackpoints(range(4)), "", trackpoints(range(4, 10))),
    "several sports": PLAIN.replace(
        "<Activity Sport='Other'>",
        "<MultiSportSession><FirstSport><Activity>",
    ).replace("</Activity>", "</Activity></FirstSport></MultiSportSession>"),
    "version 1": PLAIN.replace("Activities>", "History>")
    .replace("<Activity Sport='Other'>", "<Other>")
    .replace("</Activity>", "</Other>"),
    "extensions with points": PLAIN.replace(
        "</Trackpoint>",
        "<Extensions><Time>noon</Time><Trackpoint><Position><LatitudeDegrees>1"
        "</LatitudeDegrees></Position></Trackpoint></Extensions></Trackpoint>",
    ),
    "points outside tracks": PLAIN.replace("<Track>", f"{trackpoints([1])}<Track>"),
}


@pytest.mark.parametrize("text", ODDITIES.values(), ids=ODDITIES)
def test_oddities_read_like_plain_files(text: str) -> None:
    recording = read_track(text.encode(), name="heron.tcx")
    assert holds_minutes(recording)
    assert (recording.kind, recording.dropped, recording.remarks) == ("TCX", {}, ())


def test_each_track_is_a_segment() -> None:
    text = tcx(trackpoints(range(2)), "", trackpoints(range(2, 4)))
    assert read_track(text.encode(), name="x").fixes.segment.tolist() == [0, 0, 2, 2]


@pytest.mark.parametrize(
    ("position", "reason"),
    [
        ("", NO_POSITION),
        ("<Position/>", NO_POSITION),
        ("<Position><LatitudeDegrees>1</LatitudeDegrees></Position>", NO_POSITION),
        (
            "<Position><LatitudeDegrees>0</LatitudeDegrees>"
            "<LongitudeDegrees>0</LongitudeDegrees></Position>",
            NO_SATELLITES,
        ),
    ],
)
def test_points_that_are_nowhere(position: str, reason: str) -> None:
    bad = f"<Trackpoint><Time>{clock(0)}</Time>{position}</Trackpoint>"
    recording = read_track(tcx(bad + trackpoints() + bad).encode(), name="x")
    assert holds_minutes(recording)
    assert recording.dropped == {reason: 2}


def test_courses_were_planned_and_are_counted_only() -> None:
    course = (
        f"<Courses><Course><Track>{trackpoints(range(3))}</Track></Course></Courses>"
    )
    text = PLAIN.replace("<Activities>", f"{course}<Activities>")
    recording = read_track(text.encode(), name="x")
    assert holds_minutes(recording)
    assert recording.remarks == (
        "1 route was left out (3 points): only what a boat recorded counts",
    )
    alone = f"<TrainingCenterDatabase>{course}</TrainingCenterDatabase>"
    with pytest.raises(TrackError, match=r"no track point \(0 waypoints, 3 route poi"):
        read_track(alone.encode(), name="x")


def test_a_file_cut_anywhere_keeps_what_is_complete() -> None:
    check_cut_anywhere(PLAIN.encode(), b"</LongitudeDegrees>")


def test_a_hole_costs_the_points_in_it() -> None:
    data = bytearray(PLAIN.encode())
    size = len(trackpoints([0]))
    start = data.index(b"<Trackpoint>")
    data[start + 3 * size + 20 : start + 5 * size + 20] = bytes(2 * size)
    recording = read_track(bytes(data), name="x")
    assert holds_minutes(recording, [0, 1, 2, 6, 7, 8, 9])
    assert "at line 4: 7 fixes were kept and at least " in recording.remarks[0]


def test_a_hole_before_courses_takes_none_of_their_points() -> None:
    plan = "<Courses><Course><Track>{}</Track></Course></Courses>"
    lost, kept = (
        tcx("\1", trackpoints(range(5))),
        plan.format(trackpoints(range(5, 10))),
    )
    text = lost.replace("</Activities>", f"</Activities>\1{kept}")
    assert holds_minutes(read_track(text.encode(), name="x"), range(5))
    text = text.replace("<Activities>", f"{kept}\1<Activities>")
    assert holds_minutes(read_track(text.encode(), name="x"), range(5))
    text = PLAIN.replace(
        "<Activities>", f"{plan.format('&' + trackpoints())}<Activities>"
    )
    assert holds_minutes(read_track(text.encode(), name="x"))


def test_a_lost_head_is_no_loss() -> None:
    data = bytes(30) + PLAIN.encode()[30:]
    recording = read_track(data, name="x")
    assert (recording.kind, holds_minutes(recording)) == ("TCX", True)


def files() -> list[Path]:
    return sorted(DATA.glob("tracks/*.tcx"))


@pytest.mark.parametrize("path", files() or [None], ids=lambda p: p.name if p else "")
def test_files_of_others_read_as_by_lxml(path: Path | None) -> None:
    if path is None:
        pytest.skip(f"no files of others under {DATA}")
    root = etree.parse(path).getroot()
    rows = [
        (
            float(point.findtext("{*}Position/{*}LongitudeDegrees")),
            float(point.findtext("{*}Position/{*}LatitudeDegrees")),
            datetime.fromisoformat(point.findtext("{*}Time")).timestamp(),
        )
        for point in root.iter("{*}Trackpoint")
    ]
    fixes = read_track(path.read_bytes(), name=path.name).fixes
    assert rows
    assert np.array_equal(np.array(rows).T[:2], [fixes.lon, fixes.lat])
    assert np.allclose(fixes.time_s, np.array(rows)[:, 2], rtol=0, atol=5e-4)
