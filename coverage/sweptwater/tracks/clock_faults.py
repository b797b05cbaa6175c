"""What a device's clock did while it recorded: stood still, or was put back."""

from collections.abc import Iterator
from datetime import UTC, datetime, tzinfo

import numpy as np

from sweptwater.arrays import Floats, Ints
from sweptwater.tracks.brought import minutes_text, span_text

SAME_S = 60.0
"""Two clocks that differ by less do not matter."""

QUARTER_S, ROUND_S = 900.0, 5.0
"""Clocks are wrong by whole quarters of an hour if by nearly that."""

TURNED = "its clock went back"

TWELVE_S = 12 * 3600.0
HALVES_S = 300.0
"""A clock of twelve hours is put back by those, as nearly as this."""


def stopped_clock(time_s: Floats) -> Iterator[str]:
    """Yield that a clock stood still for most of the fixes, if it did.

    Parameters
    ----------
    time_s
        Seconds of all fixes in the order of the file, NaN without a time.
    """
    known_s = time_s[np.isfinite(time_s)]
    still = len(known_s) - len(np.unique(known_s))
    if 2 * still > len(time_s):
        yield f"its clock stood still for {still:,} of {len(time_s):,} fixes"


def turned_clock(time_s: Floats, segment: Ints, zone: tzinfo) -> Iterator[str]:
    """Yield where a clock was put back while it recorded.

    A file that was written from its end to its beginning has no such fault: each fix
    still has its time.

    Parameters
    ----------
    time_s, segment
        Seconds and segments of all fixes in the order of the file.
    """
    known = np.isfinite(time_s)
    within = np.diff(segment[known]) == 0
    step_s, at_s = np.diff(time_s[known])[within], time_s[known][:-1][within]
    back = np.flatnonzero(step_s < -SAME_S)
    if not len(back) or 2 * np.count_nonzero(step_s < 0) > len(step_s):
        return
    when = datetime.fromtimestamp(float(at_s[back[0]]), UTC).astimezone(zone)
    by_s = rounded_s(float(np.median(step_s[step_s > 0]) - step_s[back[0]]))
    more = f", and {len(back) - 1} times more" if len(back) > 1 else ""
    what = f"{TURNED} by {span_text(by_s)} after {when:%H:%M} on {when.day} "
    what += f"{when:%B}{more}"
    after = f"that after it with --shift {minutes_text(by_s)}"
    if abs(by_s - TWELVE_S) < HALVES_S:
        yield (
            f"{what}: does it write 1 o'clock for 13:00? then split the file there, "
            f"and upload {after}"
        )
        return
    yield (
        f"{what}: was it set then? then split the file there, and upload either the "
        f"part before it with --shift {minutes_text(-by_s)} or {after}"
    )


def rounded_s(seconds: float) -> float:
    """Return a lag to the quarter of an hour that it is within seconds of, if any."""
    quarter = QUARTER_S * round(seconds / QUARTER_S)
    return quarter if abs(seconds - quarter) <= ROUND_S else seconds
