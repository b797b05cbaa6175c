"""The folders' names must not get in the way, and the house stands as it is drawn."""

import ast
from collections.abc import Iterator
from pathlib import Path

import coverage
import pytest

ROOT = Path(__file__).parents[1]
SOURCE_ROOTS = ("coverage", "cli", "demo", "data")
ROOMS = (
    *("arrays", "units", "errors", "frame", "practice"),
    *("water", "tracks", "swept", "offers", "search", "plan", "paper", "jobs"),
)
"""In the order of the work: each imports only from those before it, and itself."""


@pytest.mark.parametrize("root", SOURCE_ROOTS)
def test_source_roots_are_no_packages(root: str) -> None:
    assert (ROOT / root).is_dir()
    assert not (ROOT / root / "__init__.py").exists()


def test_coverage_is_still_the_one_that_measures_tests() -> None:
    assert hasattr(coverage, "Coverage")


def test_top_level_holds_nothing_else() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "tests"}
    there = {p.name for p in ROOT.iterdir() if not p.name.startswith(".")}
    built = {"ashlode", "dist", "htmlcov", "coverage.xml"}
    assert there - built == allowed | set(SOURCE_ROOTS)


def _room(module: Path) -> str:
    return module.relative_to(ROOT / "coverage" / "sweptwater").parts[0].split(".")[0]


def _imports(module: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            yield node.module
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


MODULES = sorted((ROOT / "coverage" / "sweptwater").rglob("*.py"))


@pytest.mark.parametrize("module", MODULES, ids=lambda p: p.stem)
def test_rooms_import_only_from_rooms_before_them(module: Path) -> None:
    room = _room(module)
    if room == "__init__":
        return
    for name in _imports(module):
        first, *rest = name.split(".")
        assert first not in ("click", "sweptwater_cli", "sweptwater_demo"), name
        if first == "sweptwater" and rest:
            assert ROOMS.index(rest[0]) <= ROOMS.index(room), name


@pytest.mark.parametrize("module", MODULES, ids=lambda p: p.stem)
def test_modules_stay_small(module: Path) -> None:
    assert len(module.read_text(encoding="utf-8").splitlines()) <= 400
