"""What every recording promises, whatever bytes it was read from."""

import re
from collections.abc import Callable

import numpy as np
import pytest

from sweptwater.errors import TrackError
from sweptwater.tracks.read import Recording, read_track
from track_files import holds_minutes

# 1990 and 2101, between which a fix may have been taken.
FIRST_S, LAST_S = 631152000, 4133980800


def check_sane(data: bytes, read: Callable[..., Recording]) -> None:
    """Check that bytes end in a recording that keeps its word, or in one sentence."""
    try:
        recording = read(data, name="heron")
    except TrackError as error:
        refusal = str(error)
    else:
        refusal = ""
        check_promises(recording)
    assert not refusal or re.fullmatch(r"heron \w.+", refusal)


def check_cut_anywhere(data: bytes, end_of_fix: bytes) -> None:
    """Check that a file of the ten minutes keeps what was complete where it broke."""
    for length in range(0, len(data), 3):
        cut = data[:length]
        complete = cut.count(end_of_fix)
        if complete:
            recording = read_track(cut, name="x")
            assert holds_minutes(recording, range(complete)), length
            assert "breaks off at line" in recording.remarks[0]
        else:
            with pytest.raises(TrackError, match=r"is damaged|is empty|is not GPX"):
                read_track(cut, name="x")


def check_promises(recording: Recording) -> None:
    fixes = recording.fixes
    assert len(fixes) > 0
    assert len(fixes.lat) == len(fixes.time_s) == len(fixes.segment) == len(fixes)
    assert (np.abs(fixes.lat) <= 90).all()
    assert ((fixes.lon >= -180) & (fixes.lon < 180)).all()
    untimed = np.isnan(fixes.time_s)
    assert (untimed | (fixes.time_s >= FIRST_S) & (fixes.time_s < LAST_S)).all()
    assert (np.diff(fixes.segment, prepend=0) >= 0).all()
    assert all(re.fullmatch(r"\w.+", remark) for remark in recording.remarks)
    assert all(count > 0 for count in recording.dropped.values())
