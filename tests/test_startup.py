"""Start-up stays light: no help page imports a heavy library."""

import subprocess
import sys

import pytest

from sweptwater_cli.main import cli

HEAVY = {
    "folium",
    "geopandas",
    "matplotlib",
    "numpy",
    "pandas",
    "pyogrio",
    "pyproj",
    "shapely",
}
SCRIPT = """
import sys
from sweptwater_cli.main import cli
cli({args!r}, standalone_mode=False)
print(*sys.modules, file=sys.stderr)
"""


@pytest.mark.parametrize(
    "args",
    [["--help"], ["--version"], *([name, "--help"] for name in sorted(cli.commands))],
    ids=" ".join,
)
def test_help_imports_no_heavy_library(args: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT.format(args=args)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert not HEAVY & set(done.stderr.split())
