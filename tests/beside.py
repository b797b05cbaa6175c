"""Python beside a test, and what tests of accidents ask of a practice after one."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from practices_made import tree
from sweptwater.jobs.check import check

HERE = Path(__file__).parent
ROOT = hasattr(os, "geteuid") and os.geteuid() == 0
NOBODY = 65534
"""The user of no privileges, by common practice of Linux distributions."""

READERS = (("coverage",), ("unfished",), ("check",))
CLI = "from sweptwater_cli.main import cli; cli()"


def python(*words: object, **options: Any) -> "subprocess.Popen[str]":
    """Start Python on what this one can import."""
    paths = os.pathsep.join(filter(None, sys.path))
    return subprocess.Popen(
        [sys.executable, *map(str, words)],
        env={**os.environ, "PYTHONPATH": paths},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **options,
    )


@contextmanager
def running(*words: object) -> "Iterator[subprocess.Popen[str]]":
    """Run Python beside the test, from when it prints a line, and end it after."""
    with python(*words) as process:
        try:
            assert process.stdout is not None
            assert process.stdout.readline().strip()
            yield process
        finally:
            process.kill()


def tracks_of(folder: Path) -> dict[str, str]:
    return tree(folder / "tracks")


def sound(folder: Path) -> bool:
    """Tell whether nothing is wrong, and nothing half written is left."""
    left = [path for path in folder.rglob(".*~") if path.is_file()]
    return not check(folder).faults and not left


def one_sentence(text: str) -> bool:
    told = text.removesuffix("\n")
    return told.startswith(("Error: ", "Not taken: ")) and "\n" not in told
