"""What a shell offers while a command is typed (click's own protocol for it)."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete

from sweptwater_cli.main import cli


def offered(*words: str) -> list[str]:
    """Return what is offered for the last word."""
    *before, begun = words
    complete = ShellComplete(cli, {}, "sweptwater", "_SWEPTWATER_COMPLETE")
    return [item.value for item in complete.get_completions(before, begun)]


def test_commands_and_options() -> None:
    assert offered("cov") == ["coverage"]
    assert offered("drifts", "st") == ["strike"]
    assert offered("note", "temp") == ["temp-deep", "temp-top"]
    assert offered("divide", "--by", "b") == ["bank"]
    assert "--wind" in offered("starts", "--")


def test_pairs_of_the_practice(begun: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert offered("-C", str(begun), "upload", "--pair", "") == ["Heron", "Grebe"]
    monkeypatch.chdir(begun)
    assert offered("coverage", "--pair", "g") == ["Grebe"]
    assert offered("note", "wind", "SW4", "--pair", "h") == ["Heron"]


def test_days_of_the_practice(begun: Path) -> None:
    settings = begun / "practice.toml"
    text = settings.read_text(encoding="utf-8")
    days = "days = [2027-06-08, 2027-06-09, 2027-07-01]"
    text = re.sub(r"^days = \[.*?\]", days, text, count=1, flags=re.MULTILINE)
    settings.write_text(text, encoding="utf-8")
    for words in (["coverage"], ["note", "sky", "bright"], ["brief"], ["drifts"]):
        days_offered = offered("-C", str(begun), *words, "--day", "2027-06")
        assert days_offered == ["2027-06-08", "2027-06-09"], words


@pytest.mark.parametrize("text", ["", "pairs = 3", "pairs = [", "\udcff", "[" * 9999])
def test_what_is_no_practice_offers_nothing(tmp_path: Path, text: str) -> None:
    file = tmp_path / "practice.toml"
    file.write_bytes(text.encode("utf-8", "surrogateescape"))
    assert offered("-C", str(tmp_path), "upload", "--pair", "") == []
    assert offered("-C", str(tmp_path), "coverage", "--day", "") == []
    assert offered("-C", str(tmp_path / "none"), "upload", "--pair", "") == []


def asked(**said: str) -> str:
    """Return what the program prints to a shell that asks it in its environment."""
    script = "from sweptwater_cli.main import cli; cli(prog_name='sweptwater')"
    done = subprocess.run(
        [sys.executable, "-c", script],
        env={
            **said,
            "PATH": "/usr/bin:/bin",
            "PYTHONPATH": os.pathsep.join(filter(None, sys.path)),
        },
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_of_each_shell(shell: str) -> None:
    """As the README has it asked for."""
    assert "_SWEPTWATER_COMPLETE" in asked(_SWEPTWATER_COMPLETE=f"{shell}_source")


def test_bash_asks_for_a_pair(begun: Path) -> None:
    """In the variables that bash sets (its manual, "Programmable Completion")."""
    words = f"sweptwater -C {shlex.quote(str(begun))} coverage --pair g"
    told = asked(_SWEPTWATER_COMPLETE="bash_complete", COMP_WORDS=words, COMP_CWORD="5")
    assert told.split() == ["plain,Grebe"]
