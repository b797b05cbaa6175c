"""Each step names the next one, and what it says to type can be typed."""

import re
import shlex
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from shapely import Point

from practices_made import commands, done, geojson, grebe, report, run, write
from sweptwater_cli.guide import NEXT, Step
from sweptwater_cli.main import cli


def steps() -> set[str]:
    return {name for name, command in commands().items() if type(command) is Step}


def test_all_steps_have_one_and_nothing_else_has() -> None:
    assert steps() == NEXT.keys()


@pytest.mark.parametrize("name", sorted(NEXT))
def test_what_it_says_to_type_is_a_command(name: str) -> None:
    given = {"pair": "Heron", "day": "2027-06-09", "wind": "SW4", "gust": "22mph"}
    text = NEXT[name](given)
    if "sweptwater" not in text:
        assert name == "brief"  # nothing is left to be typed
        return
    typed = re.search(r"sweptwater (.*)$", text)
    assert typed
    words = [w.replace("PAIR", "Heron") for w in shlex.split(typed[1])]
    command = cli.commands[words[0]]
    with click.Context(cli) as parent:
        context = command.make_context(
            words[0], _with_file(words[1:]), parent, resilient_parsing=False
        )
    assert context.params


def _with_file(words: list[str]) -> list[str]:
    return [__file__ if word == "FILE" else word for word in words]


def test_it_is_said_last_and_not_to_programs(begun: Path, tmp_path: Path) -> None:
    file = write(tmp_path / "a b.gpx", grebe())
    result = done(begun, "upload", "--pair", "Grebe", file)
    last = result.stderr.splitlines()[-1]
    there = shlex.quote(str(begun))
    assert last == (
        "Next: what each rod met, drift by drift: "
        f"sweptwater -C {there} tally Grebe 1 bow blank"
    )
    typed = shlex.split(last.rpartition("sweptwater ")[2])
    assert CliRunner().invoke(cli, typed).exit_code == 0
    assert report(begun, "coverage")["fished_m2"] > 0
    assert "Next" not in run(begun, "coverage", "--json").stderr


def test_a_pair_is_left_to_tell_all_of_its_drifts(fished: Path) -> None:
    one = done(fished, "tally", "Grebe", "1", "bow", "2/0/0/0")
    assert "Not told yet" in one.stdout
    assert "Next" not in one.stderr
    assert "Next: " in done(fished, "tally", "Grebe", "rest", "blank").stderr


@pytest.mark.parametrize("words", ["coverage", "rates", "tally"])
def test_without_tracks_nothing_goes_on_from_there(begun: Path, words: str) -> None:
    """Each says itself that tracks are wanted, and how to bring them."""
    result = done(begun, words)
    assert "sweptwater -C" in result.output
    assert "upload" in result.output
    assert "Next" not in result.output


def test_what_is_divided_is_not_to_be_cut_anew(begun: Path, tmp_path: Path) -> None:
    mark = geojson(tmp_path / "m.geojson", Point(100, 100), names=["Hut"])
    depths = write(tmp_path / "d.csv", "lat,lon,depth_m\n54.95,2.3,4\n")
    for words in (("mark", mark), ("sounding", depths)):
        assert "Next" not in done(begun, "venue", "add", "--kind", *words).stderr
    (begun / "sectors.geojson").unlink()
    other = geojson(tmp_path / "o.geojson", Point(-100, 100), names=["Elm"])
    told = done(begun, "venue", "add", "--kind", "mark", other).stderr
    assert told.endswith("divide\n")


def test_what_was_asked_goes_along() -> None:
    given = {"day": "2027-06-09", "sky": "bright", "pair": "Heron", "across": True}
    assert NEXT["next"]({**given, "hours": 24.0}).endswith(
        "plan --next --day 2027-06-09 --sky bright --pair Heron --across"
    )


def test_what_was_not_done_has_no_next(begun: Path, tmp_path: Path) -> None:
    bad = write(tmp_path / "a.gpx", b"<html>")
    result = run(begun, "upload", "--pair", "Grebe", bad)
    assert result.exit_code == 1
    assert "Next" not in result.stderr


def test_a_reader_who_has_seen_enough_stops_no_page(fished: Path) -> None:
    """`coverage | head -1` closes the pipe; the page is written all the same."""
    import subprocess
    import sys

    script = (
        f"import sys; from sweptwater_cli.main import cli; "
        f"cli(['-C', {str(fished)!r}, 'coverage', '--banks'])"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        process.stdout.close()
        process.wait()
    assert (fished / "reports" / "coverage.html").is_file()
