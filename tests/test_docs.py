"""What the documents say is what the commands do."""

import re
import shlex
import shutil
import sys
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path

import click
import pytest

from practices_made import commands, run, write
from sweptwater_cli.main import cli
from sweptwater_demo.build import files_of_ashlode
from sweptwater_demo.pictures import PLACE, SHOTS, main
from sweptwater_demo.scenario import BoatDay, boat_days

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Shown:
    """A command of a console block, and what the block shows that it prints."""

    words: tuple[str, ...]
    lines: tuple[str, ...]


def _blocks(kind: str) -> list[str]:
    return re.findall(rf"^```{kind}\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)


def _console() -> list[Shown]:
    """Return the commands of the README's console blocks, in order."""
    shown: list[Shown] = []
    for block in _blocks("console"):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, *lines = part.splitlines()
            shown.append(Shown(tuple(shlex.split(command)), tuple(lines)))
    return shown


@pytest.mark.parametrize("name", sorted(commands()))
def test_every_command_has_help_with_an_example(name: str) -> None:
    told = run(None, *name.split(), "--help").stdout
    assert "Example" in told
    assert f"sweptwater {name}" in re.sub(r" -C \S+", "", told)
    for parameter in commands()[name].params:
        if isinstance(parameter, click.Option):
            assert parameter.help, parameter.name
    assert "None" not in told


@pytest.mark.parametrize("name", sorted(commands()))
def test_every_command_is_in_the_readme(name: str) -> None:
    plain = re.sub(r" -C \S+", "", README)
    assert f"sweptwater {name}" in plain


def _examples(name: str) -> list[list[str]]:
    """Return the words of each example in the help of a command, from its first on."""
    told = run(None, *name.split(), "--help").stdout
    lines = re.findall(r"^\s+sweptwater (.+)$", told, re.MULTILINE)
    return [shlex.split(line) for line in lines]


def _parse(words: list[str]) -> None:
    """Parse what stands behind the program's name, and run nothing."""
    first, *rest = words[2:] if words[0] == "-C" else words
    command = cli.commands[first]
    if isinstance(command, click.Group) and rest and rest[0] in command.commands:
        command = command.commands[rest.pop(0)]
    with click.Context(cli) as parent:
        command.make_context(command.name, rest, parent)


@pytest.mark.parametrize("name", ["", *sorted({c.split()[0] for c in commands()})])
def test_the_examples_of_help_can_be_typed(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """None has an option that there is not, or lacks what must be given."""
    monkeypatch.chdir(tmp_path)
    group = sorted(c for c in commands() if c.split()[0] == name)
    examples = [words for each in {name, *group} for words in _examples(each)]
    assert examples
    for words in examples:
        for word in words:
            if re.fullmatch(r"[\w-]+\.(?:gpx|fit|tcx|kml|kmz|csv|zip|geojson)", word):
                (tmp_path / word).touch()
        _parse(words)


def test_what_cannot_be_typed_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for wrong in (["upload", "--pair", "Heron"], ["coverage", "--colour"]):
        with pytest.raises(click.UsageError):
            _parse(wrong)
    with pytest.raises(click.UsageError, match=r"to$"):
        _parse(["drifts", "add", "--pair", "Grebe", "--from", "point", "--at", "9-11"])


def test_the_two_commands_for_a_shell_are_what_ci_runs() -> None:
    """CI finds them by how they end, and takes the first: there must be just one."""
    lines = [line for block in _blocks("sh") for line in block.splitlines()]
    assert len(lines) == 2
    ci = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    for line, end in zip(lines, ("sweptwater demo ashlode", "-m pytest"), strict=True):
        assert line.startswith("python3 -m venv .venv && .venv/bin/python -m pip ")
        assert line.endswith(end)
        assert [x for x in README.splitlines() if x.endswith(end)] == [line]
        assert f"'/{end}$/p' README.md" in ci


@pytest.fixture(scope="module")
def heron() -> BoatDay:
    """Return the boat-day whose track the README uploads."""
    days = boat_days(seed=1)
    return next(day for day in days if day.file_name == "heron-2027-06-08.gpx")


def test_the_readmes_evening(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, heron: BoatDay
) -> None:
    """Each command works, in order, and prints the lines that are shown."""
    monkeypatch.chdir(tmp_path)
    for path in files_of_ashlode().values():
        shutil.copy(path, tmp_path)
    write(tmp_path / heron.file_name, heron.gpx)
    console = _console()
    assert len(console) >= 8
    for shown in console:
        program, *words = shown.words
        assert program == "sweptwater"
        result = run(None, *words)
        assert result.exit_code == 0, (words, result.output)
        printed = result.stdout.splitlines()
        assert [line for line in shown.lines if line not in printed] == [], words
        where = [printed.index(line) for line in shown.lines]
        assert where == sorted(where)
    assert (tmp_path / "unfished.gpx").is_file()
    assert (tmp_path / "practice" / "reports" / "coverage.html").is_file()


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_files_that_documents_name_are_there(name: str) -> None:
    """Paths in back quotes with a slash and an ending, from the root or the engine."""
    text = (ROOT / name).read_text(encoding="utf-8")
    for path in re.findall(r"`([\w./-]+/[\w.-]+\.(?:py|toml|md|geojson))`", text):
        places = (ROOT, ROOT / "coverage" / "sweptwater", ROOT / "data")
        assert any((place / path).exists() for place in places), path


def test_the_pictures_of_the_readme_are_those_that_are_made() -> None:
    shown = re.findall(r"demo/pictures/([\w-]+\.png)", README)
    assert sorted(shown) == sorted(SHOTS)
    assert {path.name for path in PLACE.iterdir()} == set(SHOTS)
    for name in shown:
        assert 10_000 < (PLACE / name).stat().st_size < 250_000, name
    assert len(re.findall(r'alt="[^"]{20,}"|!\[[^\]]{20,}\]', README)) == len(shown)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "Name the one folder"),
        (["no-demo"], "build the demo first"),
    ],
)
def test_no_pictures_are_taken_of_nothing(
    words: list[str], told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sweptwater_demo.pictures.CHROMIUM", tmp_path)
    monkeypatch.setattr("sweptwater_demo.pictures.PLACE", tmp_path)
    monkeypatch.setattr("sweptwater_demo.pictures._browser", nullcontext)
    with pytest.raises(SystemExit, match=told):
        main(words)


def test_a_tool_that_is_not_there_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sweptwater_demo.pictures.PLACE", tmp_path)
    monkeypatch.setattr("sweptwater_demo.pictures.CHROMIUM", tmp_path / "none")
    with pytest.raises(SystemExit, match="install chromium first"):
        main([str(tmp_path)])
    monkeypatch.setattr("sweptwater_demo.pictures.CHROMIUM", tmp_path)
    monkeypatch.setitem(sys.modules, "playwright.sync_api", None)
    with pytest.raises(SystemExit, match=r"playwright.* is not there: install"):
        main([str(tmp_path)])
