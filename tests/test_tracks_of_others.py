"""Every file that others wrote is read as its index says, or refused in one sentence.

The number of points and of those with a time stands in the index beside the files; it
was counted with other readers (its own head names them).
"""

import re
from pathlib import Path

import numpy as np
import pytest

from sweptwater.errors import TrackError
from sweptwater.tracks.read import read_track

DATA = Path(__file__).resolve().parents[2] / "shared" / "data"
UNSET = {"jpx__ISSUE-86.gpx"}
"""Files whose one time is of 1985, before there was the satellite system."""


def listed() -> dict[str, tuple[int, int]]:
    """Return points and points with a time of each track file in the index."""
    index = DATA / "INDEX.md"
    if not index.exists():
        return {}
    row = re.compile(r"\| (\S+\.(?:gpx|fit|tcx)) \|.*?; (\d+) \((\d+)\)")
    rows = map(row.match, index.read_text().splitlines())
    return {found[1]: (int(found[2]), int(found[3])) for found in rows if found}


def files() -> list[Path]:
    return sorted([*DATA.glob("tracks/*"), *DATA.glob("odd-files/*")])


@pytest.mark.parametrize("path", files() or [None], ids=lambda p: p.name if p else "")
def test_files_of_others(path: Path | None) -> None:
    if path is None:
        pytest.skip(f"no files of others under {DATA}")
    points, timed = listed()[path.name]
    try:
        recording = read_track(path.read_bytes(), name=path.name)
    except TrackError as error:
        refusal = str(error)
    else:
        refusal = ""
        fixes = recording.fixes
        assert recording.kind == path.suffix[1:].upper()
        assert (len(fixes), recording.dropped) == (points, {})
        has_time = int((~np.isnan(fixes.time_s)).sum())
        assert has_time == (0 if path.name in UNSET else timed)
    assert bool(refusal) == (points == 0)
    assert not refusal or refusal.startswith(f"{path.name} ")


def test_the_index_lists_all_files() -> None:
    if not files():
        pytest.skip(f"no files of others under {DATA}")
    assert {path.name for path in files()} == set(listed())
