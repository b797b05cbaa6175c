"""`remove` and `restore`: nothing that was uploaded is ever gone."""

import shlex
from pathlib import Path

import pytest

from practices_made import done, grebe, heron, refused, report, tree, write
from sweptwater.jobs.removing import remove
from sweptwater.practice.originals import list_originals
from sweptwater.practice.strays import stray_files


def _contents(folder: Path) -> list[str]:
    """Return the hashes of all tracks and of what was said of them."""
    return sorted(
        told for name, told in tree(folder / "tracks").items() if "." in Path(name).name
    )


def test_a_track_goes_and_comes_back_as_it_was(fished: Path) -> None:
    before = report(fished, "coverage")
    everything = tree(fished / "tracks")
    (moved,) = report(fished, "remove", "--pair", "heron", "heron-9.gpx")["tracks"]
    assert moved["pair"] == "Heron"
    assert (fished / moved["path"]).is_file()
    without = report(fished, "coverage")
    assert len(without["boats"]) == len(before["boats"]) - 1
    assert _contents(fished) == sorted(
        told for name, told in everything.items() if "." in Path(name).name
    )
    assert done(fished, "check").output.endswith("nothing wrong.\n")
    done(fished, "restore", "--pair", "Heron", "heron-9.gpx")
    assert report(fished, "coverage") == before
    gone = {"removed", "removed/Heron"}
    now = {k: v for k, v in tree(fished / "tracks").items() if k not in gone}
    assert now == everything


def test_a_shift_is_kept_through_both(fished: Path, tmp_path: Path) -> None:
    track = write(tmp_path / "late.gpx", heron(10))
    done(fished, "upload", "--pair", "Heron", "--shift", "30", track)
    before = report(fished, "coverage")
    done(fished, "remove", "--pair", "Heron", "late.gpx")
    done(fished, "restore", "--pair", "Heron", "late.gpx")
    assert report(fished, "coverage") == before


def test_a_track_may_be_named_by_its_hash_or_its_file(fished: Path) -> None:
    (first, second) = (
        item for item in list_originals(fished, ("Heron",)) if item.pair == "Heron"
    )
    done(fished, "remove", "--pair", "Heron", first.digest[:8], second.path.name)
    assert list_originals(fished, ("Heron",)) == ()
    done(fished, "restore", "--pair", "Heron", second.digest[:8])
    assert [item.digest for item in list_originals(fished, ("Heron",))] == [
        second.digest
    ]


def test_a_track_may_be_named_by_where_it_lies(fished: Path) -> None:
    (only,) = list_originals(fished, ("Grebe",))
    moved = report(fished, "remove", "--pair", "Grebe", only.path)["tracks"]
    done(fished, "restore", "--pair", "Grebe", moved[0]["path"])
    assert list_originals(fished, ("Grebe",)) == (only,)


def test_twice_is_told_as_such(fished: Path) -> None:
    done(fished, "remove", "--pair", "Heron", "heron-9.gpx")
    again = refused(fished, "remove", "--pair", "Heron", "heron-9.gpx")
    assert "heron-9.gpx was removed already" in again
    done(fished, "restore", "--pair", "Heron", "heron-9.gpx")
    again = refused(fished, "restore", "--pair", "Heron", "heron-9.gpx")
    assert "heron-9.gpx was not removed, or is back: it counts" in again


def test_one_removed_twice_is_there_twice(fished: Path, tmp_path: Path) -> None:
    track = write(tmp_path / "heron-9.gpx", heron(9))
    for _ in range(2):
        done(fished, "remove", "--pair", "Heron", "heron-9.gpx")
        done(fished, "upload", "--pair", "Heron", track)
    told = refused(fished, "restore", "--pair", "Heron", "heron-9.gpx")
    assert "is the name of 2 tracks: say which, of" in told


def test_what_counts_already_is_not_brought_back(fished: Path, tmp_path: Path) -> None:
    done(fished, "remove", "--pair", "Heron", "heron-9.gpx")
    done(fished, "upload", "--pair", "Heron", write(tmp_path / "x.gpx", heron(9)))
    told = refused(fished, "restore", "--pair", "Heron", "heron-9.gpx")
    assert "was uploaded again since it was removed" in told


def test_a_track_put_aside_by_hand_comes_back(fished: Path) -> None:
    (only,) = list_originals(fished, ("Grebe",))
    aside = fished / "tracks" / "removed"
    aside.mkdir()
    only.path.rename(aside / only.path.name)
    only.path.with_suffix(".toml").rename(aside / f"{only.path.stem}.toml")
    assert done(fished, "check").output.endswith("nothing wrong.\n")
    done(fished, "restore", "--pair", "Grebe", "grebe-8.gpx")
    assert len(list_originals(fished, ("Grebe",))) == 1


def _typed(folder: Path, told: str) -> tuple[str, ...]:
    """Return the words after -C FOLDER of the command that a message ends with."""
    _, command = told.split("sweptwater ")
    words = shlex.split(command.rstrip("."))
    assert words[:2] == ["-C", str(folder)]
    return tuple(words[2:])


def test_what_is_told_to_be_typed_works(fished: Path, tmp_path: Path) -> None:
    """From elsewhere too: with the folder, and a space in a file's name."""
    track = write(tmp_path / "my day.gpx", heron(11))
    done(fished, "upload", "--pair", "Heron", track)
    told = refused(fished, "upload", "--pair", "Grebe", track)
    back = done(fished, *_typed(fished, told)).stdout
    done(fished, *_typed(fished, back.removesuffix("\n")))
    done(fished, *_typed(fished, told))
    done(fished, "upload", "--pair", "Grebe", track)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("remove", "--pair", "Wren", "x"), "there is no pair 'Wren'"),
        (("remove", "--pair", "Heron", "x.gpx"), "there is no track x.gpx: the tracks"),
        (("restore", "--pair", "Heron", "x.gpx"), "no track x.gpx, nor any other"),
        (
            ("remove", "--pair", "Heron", "heron-8.gpx", "none.gpx"),
            "there is no track none.gpx",
        ),
    ],
)
def test_nothing_moves_where_one_is_not_found(
    fished: Path, words: tuple[str, ...], told: str
) -> None:
    assert told in refused(fished, *words)


def test_a_crash_while_removing_leaves_nothing_wrong(
    fished: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def dying(self: Path, missing_ok: bool = False) -> None:
        raise KeyboardInterrupt

    before = _contents(fished)
    with monkeypatch.context() as patched:
        patched.setattr(Path, "unlink", dying)
        with pytest.raises(KeyboardInterrupt):
            remove(fished, "Grebe", ["grebe-8.gpx"])
    assert set(_contents(fished)) == set(before)
    assert list(stray_files(fished, ("Heron", "Grebe"), ())) == []
    assert grebe() in {p.read_bytes() for p in fished.rglob("*.gpx")}
