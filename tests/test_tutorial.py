"""The tutorial, typed as it stands: every command in it, in order."""

import re
import shlex
from pathlib import Path

import pytest

from practices_made import run
from sweptwater_demo.build import TO_TRY, leave_to_try
from sweptwater_demo.scenario import boat_days

TUTORIAL = Path(__file__).parents[1] / "demo" / "TUTORIAL.md"


def commands() -> list[list[str]]:
    """Return the words of each command of its console blocks."""
    text = TUTORIAL.read_text(encoding="utf-8")
    blocks = re.findall(r"^```console\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)
    lines = [line for block in blocks for line in block.splitlines()]
    assert all(line.startswith("$ ") for line in lines)
    return [shlex.split(line.removeprefix("$ ")) for line in lines]


@pytest.mark.slow
def test_every_command_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    typed = commands()
    assert typed[0] == ["sweptwater", "demo", "ashlode"]
    leave_to_try(tmp_path / "ashlode" / TO_TRY, boat_days(seed=1))  # what it leaves
    for words in typed[1:]:
        if words[0] == "cd":
            monkeypatch.chdir(words[1])
            continue
        assert words[0] == "sweptwater"
        result = run(None, *words[1:])
        assert result.exit_code == 0, (words, result.output)
    mine = tmp_path / "mine"
    for name in ("brief", "coverage", "met", "next", "starts"):
        assert (mine / "reports" / f"{name}.html").stat().st_size > 30_000, name
    named = re.findall(r"`((?:reports|plans)/[\w./-]+)`", TUTORIAL.read_text("utf-8"))
    assert len(named) >= 4
    assert [name for name in named if not (mine / name).exists()] == []
    assert (tmp_path / "mine.zip").is_file()


def test_it_goes_through_the_whole_job() -> None:
    used = {words[1] for words in commands() if words[0] == "sweptwater"}
    assert used >= {
        *("start", "venue", "divide", "plan", "upload", "drifts", "note", "tally"),
        *("coverage", "unfished", "rates", "next", "starts", "brief", "pack", "check"),
    }
