"""`drifts join`, `cut`, `strike`, `undo`: what the captain knows better."""

import re
import shutil
from pathlib import Path

import pytest

from practices_made import begin, boat, done, heron, refused, report, tree, write
from sweptwater.practice.originals import list_originals
from tracks_made import Leg

ON = ("--pair", "Heron", "--day", "2027-06-08")
SHORT_BACK = (Leg(60, 2.0, 0, fishing=False), Leg(200, 2.0, 270, fishing=False))


@pytest.fixture(scope="module")
def _three(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a practice where Heron drifts thrice at 0.4 m/s, 15 minutes each."""
    scratch = tmp_path_factory.mktemp("three")
    folder = begin(scratch / "pool", scratch)
    done(folder, "divide")
    drift = Leg(900, 0.4, 90)
    way = boat(drift, *SHORT_BACK, drift, *SHORT_BACK, drift, start=(-500, -300))
    track = write(scratch / "three.gpx", way)
    done(folder, "upload", "--pair", "Heron", "--shift", "30", track)
    return folder


@pytest.fixture
def three(_three: Path, tmp_path: Path) -> Path:
    """Return a copy of it."""
    return Path(shutil.copytree(_three, tmp_path / "pool"))


def _drifts(folder: Path) -> list[tuple[str, str]]:
    return [
        (line["start"][11:19], line["end"][11:19])
        for line in report(folder, "drifts", *ON)["drifts"]
    ]


def _said(folder: Path) -> str:
    (only,) = list_originals(folder, ("Heron",))
    return only.path.with_suffix(".toml").read_text("utf-8")


def test_a_join_is_kept_beside_the_track_and_taken_back(three: Path) -> None:
    before, coverage = _drifts(three), report(three, "coverage")
    (track,) = three.glob("tracks/Heron/*.gpx")
    bytes_before = track.read_bytes()
    told = report(three, "drifts", "join", "2", "1", *ON)
    assert told["what"] == "joined 1 and 2"
    after = _drifts(three)
    assert after == [(before[0][0], before[1][1]), before[2]]
    assert 'what = "join"' in _said(three)
    assert track.read_bytes() == bytes_before
    assert "took back joining at" in done(three, "drifts", "undo", *ON).output
    assert _drifts(three) == before
    assert report(three, "coverage") == coverage
    assert "nothing was corrected" in refused(three, "drifts", "undo", *ON)


def test_a_join_over_motoring_is_asked_about(three: Path) -> None:
    """The way back is 520 m in 260 s: 131 yards of 0.9144 m a minute."""
    result = done(three, "drifts", "join", "1", "2", "3", *ON)
    pace = re.search(r"in between the boat went at (.*) yd a minute", result.stderr)
    assert pace
    assert float(pace[1]) == pytest.approx(131, abs=6)
    assert "was it one drift? Else take it back with" in result.stderr


def test_a_cut_is_where_the_clock_says(three: Path) -> None:
    """The track's clock is half an hour slow: 10:00 on it is 10:30."""
    before = _drifts(three)
    assert before[0][0].startswith("10:30")
    done(three, "drifts", "cut", "1", "--at", "10:40", *ON)
    after = _drifts(three)
    assert after[0] == (before[0][0], "10:40:00")
    assert after[1] == ("10:40:00", before[0][1])
    assert "from = 2027-06-08T09:10:00.000Z" in _said(three)  # by its own clock, UTC


def test_a_cut_may_take_a_while(three: Path) -> None:
    fishing = report(three, "coverage")["boats"][0]["fishing_s"]
    done(three, "drifts", "cut", "1", "--at", "10:36-10:41", *ON)
    assert _drifts(three)[0][1] == "10:36:00"
    assert _drifts(three)[1][0] == "10:41:00"
    left = report(three, "coverage")["boats"][0]["fishing_s"]
    assert fishing - left == pytest.approx(300, abs=2)


def test_what_is_struck_sweeps_nothing(three: Path) -> None:
    before = report(three, "drifts", *ON)["drifts"]
    boats = report(three, "coverage")["boats"][0]
    done(three, "drifts", "strike", "3", *ON)
    assert report(three, "drifts", *ON)["drifts"] == before[:2]
    now = report(three, "coverage")["boats"][0]
    assert now["motoring_s"] - boats["motoring_s"] == pytest.approx(900, abs=5)
    done(three, "drifts", "strike", "1", *ON)
    done(three, "drifts", "undo", *ON)
    assert report(three, "drifts", *ON)["drifts"] == before[:2]


def test_the_hour_of_what_is_taken_back_is_that_of_the_list(
    begun: Path, tmp_path: Path
) -> None:
    """A drift from 10:00:00 was struck out at 10:00, not in the minute before."""
    done(begun, "upload", "--pair", "Heron", write(tmp_path / "a.gpx", heron()))
    (line,) = report(begun, "drifts")["drifts"]
    assert line["start"][11:16] == "10:00"
    done(begun, "drifts", "strike", "1", "--pair", "Heron")
    undone = report(begun, "drifts", "undo", "--pair", "Heron")
    assert undone["what"] == "took back what was struck out at 10:00"


def test_one_from_memory_is_struck_by_the_same_word(three: Path) -> None:
    words = ("--from", "Buoy", "--to", "Oak", "--at", "14:00-14:40", *ON)
    done(three, "drifts", "add", *words)
    assert [d["source"] for d in report(three, "drifts", *ON)["drifts"]][-1] == "memory"
    told = refused(three, "drifts", "join", "3", "4", *ON)
    assert "drift 4 of Heron on 8 June 2027 is from memory" in told
    done(three, "drifts", "strike", "4", *ON)
    assert len(_drifts(three)) == 3


def test_a_correction_goes_and_comes_back_with_its_track(three: Path) -> None:
    done(three, "drifts", "strike", "2", *ON)
    after = _drifts(three)
    done(three, "remove", "--pair", "Heron", "three.gpx")
    done(three, "restore", "--pair", "Heron", "three.gpx")
    assert _drifts(three) == after


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("join", "1", *ON), "name neighbours, like 3 4"),
        (("join", "1", "3", *ON), "name neighbours, like 3 4"),
        (("join", "3", "4", *ON), "there is no drift 4 of Heron on 8 June"),
        (("cut", "9", "--at", "10:40", *ON), "there is no drift 9"),
        (("cut", "1", "--at", "9:00", *ON), "it can only be cut in between"),
        (("cut", "1", "--at", "noon", *ON), "'noon' is no time of day"),
        (("cut", "1", "--at", "10:41-10:36", *ON), "ends before it begins"),
        (("cut", "1", "--at", "10:36-10:38-10:40", *ON), "is no time: write it like"),
        (("strike", "0", *ON), "there is no drift 0"),
        (("undo", *ON), "nothing was corrected of Heron on 8 June"),
        (("strike", "1", "--pair", "Grebe"), "Grebe has no drifts yet"),
        (("strike", "1", "--pair", "Wren"), "there is no pair 'Wren'"),
        (("strike", "1", "--pair", "Heron", "--day", "x"), "'x' is no day"),
    ],
)
def test_a_mistake_changes_nothing(
    three: Path, words: tuple[str, ...], told: str
) -> None:
    before = tree(three)
    assert told in refused(three, "drifts", *words)
    assert tree(three) == before


def test_of_two_tracks_the_last_word_is_taken_back_first(
    begun: Path, tmp_path: Path
) -> None:
    """Two files of one boat's day; the first is corrected, then the second, then it."""
    drift = Leg(900, 0.4, 90)
    for name, hour in (("am", 10), ("pm", 14)):
        begin_at = f"2027-06-08T{hour}:00:00+01:00"
        data = boat(drift, *SHORT_BACK, drift, start=(-500, -300), begin=begin_at)
        track = write(tmp_path / f"{name}.gpx", data)
        done(begun, "upload", "--pair", "Heron", track)
    for words in (
        ("cut", "1", "--at", "10:05"),
        ("strike", "4"),
        ("cut", "1", "--at", "10:02"),
    ):
        done(begun, "drifts", *words, *ON)
    told = [done(begun, "drifts", "undo", *ON).output.splitlines()[0] for _ in range(3)]
    assert "took back the cut at 10:02" in told[0]
    assert "took back what was struck out at 14:" in told[1]
    assert "took back the cut at 10:05" in told[2]
