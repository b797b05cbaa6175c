"""Two commands at once, and folders and files that are not what they should be."""

import errno
import fcntl
import os
import signal
import time
from pathlib import Path

import pytest

from beside import (
    CLI,
    READERS,
    one_sentence,
    python,
    running,
    sound,
)
from practices_made import done, heron, refused, report, run, write
from sweptwater.errors import PracticeError
from sweptwater.practice import files, originals
from sweptwater.practice.files import (
    LOCK,
    PAIRED,
    writing,
)
from sweptwater.practice.folder import open_practice, save_report
from sweptwater.practice.originals import keep_original
from sweptwater.practice.said import Said

# A second command at the same time


def test_two_uploads_at_once_both_succeed(begun: Path, tmp_path: Path) -> None:
    tracks = [write(tmp_path / f"{day}.gpx", heron(day)) for day in (8, 9, 10)]
    words = ("-c", CLI, "-C", begun, "upload", "--pair", "Heron")
    both = [python(*words, track) for track in tracks[:2]]
    for process in both:
        _, err = process.communicate()
        assert process.returncode == 0, err
    assert len(open_practice(begun).originals) == 2
    assert sound(begun)


def test_two_divisions_at_once_keep_all_that_were(begun: Path) -> None:
    first = (begun / "sectors.geojson").read_bytes()
    words = ("-c", CLI, "-C", begun, "divide", "--shares")
    both = [python(*words, shares) for shares in ("2,1", "1,2")]
    for process in both:
        _, err = process.communicate()
        assert process.returncode == 0, err
    kept = [begun / f"sectors-before-{number}.geojson" for number in (1, 2)]
    assert kept[0].read_bytes() == first
    now = {path.read_bytes() for path in (*kept, begun / "sectors.geojson")}
    assert len(now) == 3
    assert sound(begun)


TO_AND_FRO = """
import sys
from pathlib import Path
from sweptwater.jobs.removing import remove, restore

print("ready", flush=True)
while True:
    remove(Path(sys.argv[1]), "Heron", ["heron-8.gpx"])
    restore(Path(sys.argv[1]), "Heron", ["heron-8.gpx"])
"""


@pytest.mark.slow
def test_a_reader_sees_the_old_or_the_new(fished: Path) -> None:
    done(fished, "coverage")
    seen = set()
    with running("-c", TO_AND_FRO, fished) as mover:
        until = time.monotonic() + 4
        while time.monotonic() < until:
            found = report(fished, "coverage")
            seen.add(len(found["boats"]))
            for fault in found["faults"]:  # it went between the list and the reading
                assert "No such file" in fault or "not there any more" in fault
        assert mover.poll() is None
    assert seen <= {2, 3}


HOLDER = """
import sys, time
from pathlib import Path
from sweptwater.practice.files import writing

with writing(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_a_writer_that_hangs_is_told_of_and_its_end_frees_the_folder(
    begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "PATIENCE_S", 0.2)
    track = write(tmp_path / "new.gpx", heron(12))
    with running("-c", HOLDER, begun) as holder:
        holder.send_signal(signal.SIGSTOP)
        told = refused(begun, "upload", "--pair", "Heron", track)
        assert told.endswith("wait until it is done, or end it")
        done(begun, "coverage")  # readers are not kept out
    assert (begun / LOCK).exists()
    done(begun, "upload", "--pair", "Heron", track)


@pytest.mark.parametrize("number", [errno.ENOSYS, errno.ENOLCK, errno.EOPNOTSUPP])
def test_a_file_system_without_locks(
    number: int, begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def without(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(fcntl, "flock", without)
    track = write(tmp_path / "new.gpx", heron(12))
    if number == errno.ENOSYS:  # a marker serves
        (begun / LOCK).unlink()
        done(begun, "upload", "--pair", "Heron", track)
    else:
        told = refused(begun, "upload", "--pair", "Heron", track)
        assert f"cannot be written to ({os.strerror(number)})" in told


# Folders and files that are not what they should be


def test_a_pairs_folder_may_be_a_link(fished: Path, tmp_path: Path) -> None:
    before = report(fished, "coverage")
    place = fished / "tracks" / "Heron"
    place.rename(tmp_path / "elsewhere")
    place.symlink_to(tmp_path / "elsewhere")
    assert report(fished, "coverage") == before
    track = write(tmp_path / "new.gpx", heron(12))
    half = write(place / f".gone.gpx.77{PAIRED}", b"half")
    done(fished, "upload", "--pair", "Heron", track)
    assert not half.exists()
    assert sound(fished)


@pytest.mark.parametrize("what", ["link", "file", "loop"])
@pytest.mark.parametrize("where", ["tracks/Heron", "tracks"])
def test_a_folder_of_tracks_that_is_none_is_told(
    what: str, where: str, fished: Path, tmp_path: Path
) -> None:
    place = fished / where
    place.rename(tmp_path / "elsewhere")
    if what == "file":
        place.write_bytes(b"in the way")
    else:
        place.symlink_to(place if what == "loop" else tmp_path / "unmounted")
    track = write(tmp_path / "new.gpx", heron(12))
    for words in (*READERS, ("upload", "--pair", "Heron", track)):
        result = run(fished, *words)
        assert result.exit_code == 1, result.output
        assert one_sentence(result.stderr)
        assert "tracks" in result.stderr
    assert (tmp_path / "elsewhere").is_dir()


NAMES = (
    "evening\nfish.gpx",
    "\N{FISH}\N{FISHING POLE AND FISH}.gpx",
    "\N{RIGHT-TO-LEFT OVERRIDE}xpg.gpx",
    "\u05d3\u05d2.gpx",
    f"{'n' * 251}.gpx",
    "-C.gpx",
    "a'b\"c$(d).gpx",
)


@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_names_of_all_kinds(name: str, fished: Path, tmp_path: Path) -> None:
    track = write(tmp_path / "in" / name, heron(12))
    done(fished, "upload", "--pair", "Heron", "--", track)
    assert sound(fished)
    by_hand = write(fished / "tracks" / "Heron" / name, heron(13))
    assert len(report(fished, "coverage")["boats"]) == 5
    assert sound(fished)
    done(fished, "remove", "--pair", "Heron", "--", name)  # its file, not its fellow
    assert not by_hand.exists()
    assert sound(fished)


def test_names_that_differ_in_capitals_only(fished: Path, tmp_path: Path) -> None:
    for name, day in (("noon.gpx", 12), ("NOON.gpx", 13), ("Noon.GPX", 14)):
        track = write(tmp_path / name, heron(day))
        done(fished, "upload", "--pair", "Heron", track)
    assert len(open_practice(fished).originals) == 6
    assert sound(fished)


def test_a_folder_called_like_a_track(fished: Path) -> None:
    before = report(fished, "coverage")
    (fished / "tracks" / "Heron" / "x.gpx").mkdir()
    assert report(fished, "coverage") == before
    assert (
        "is a directory"
        in run(
            fished, "upload", "--pair", "Heron", fished / "tracks" / "Heron" / "x.gpx"
        ).stderr
    )


@pytest.mark.parametrize("what", ["folder", "link"])
def test_a_sidecar_that_is_no_file_is_told(what: str, fished: Path) -> None:
    said = next((fished / "tracks" / "Heron").glob("*.toml"))
    said.unlink()
    if what == "folder":
        said.mkdir()
    else:
        said.symlink_to("gone")
    (fault,) = report(fished, "check", code=1)["faults"]
    assert said.name in fault["file"]
    found = report(fished, "coverage")
    assert len(found["boats"]) == 2  # never counted without what was said of it
    assert any("what was said of" in told for told in found["faults"])


def test_a_practice_that_vanishes_is_not_made_anew(begun: Path) -> None:
    begun.rename(begun.with_name("elsewhere"))
    with pytest.raises(PracticeError, match="is not there any more"):
        keep_original(begun, "Heron", Said("a.gpx"), b"")
    with pytest.raises(PracticeError, match="is no practice folder"):
        save_report(begun, "coverage.html", "")
    with pytest.raises(PracticeError, match="cannot be written to"), writing(begun):
        pytest.fail("nothing to write to")
    assert not begun.exists()


def test_a_track_that_goes_between_the_list_and_the_look(
    fished: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = files.read_whole

    def moved_just_now(path: Path) -> bytes:
        if path.parent.name == "Heron":
            path.with_suffix(".gpx").unlink()
            path.unlink()
        return usual(path)

    monkeypatch.setattr(originals, "read_whole", moved_just_now)
    found = report(fished, "coverage")
    assert [boat["pair"] for boat in found["boats"]] == ["Grebe"]
    assert found["faults"] == []


def test_a_clock_that_was_set_back(fished: Path, tmp_path: Path) -> None:
    done(fished, "coverage")
    later = time.time() + 400 * 86_400
    for path in fished.rglob("*"):
        os.utime(path, (later, later))
    before = report(fished, "coverage")
    track = write(tmp_path / "new.gpx", heron(12))
    done(fished, "upload", "--pair", "Heron", track)
    assert len(report(fished, "coverage")["boats"]) == len(before["boats"]) + 1
    assert sound(fished)
