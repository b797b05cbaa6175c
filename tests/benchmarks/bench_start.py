"""Starting up: a help page against that of an empty program of the same library.

The bar is three times as long. Run with

    pytest tests/benchmarks/bench_start.py -o python_files='bench_*.py' -o addopts='' -s
"""

import subprocess
import sys
import time

MOST = 3.0
EMPTY = "import click; click.group()(lambda: None)(['--help'])"
OURS = "from sweptwater_cli.main import cli; cli(['--help'])"


def _seconds(code: str) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
    return time.perf_counter() - began


def test_help_against_an_empty_program() -> None:
    # By turns, so that a busy machine slows both.
    turns = [(_seconds(OURS), _seconds(EMPTY)) for _ in range(10)]
    ours_s, empty_s = (min(lasted) for lasted in zip(*turns, strict=True))
    print(f"\nhelp {ours_s:.3f} s, empty {empty_s:.3f} s: {ours_s / empty_s:.1f} times")
    assert ours_s < MOST * empty_s
