"""The times of track files: text to seconds since 1970."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone

import numpy as np
import numpy.typing as npt

from sweptwater.arrays import Bools, Floats, Ints

EARLIEST_S = datetime(1990, 1, 1, tzinfo=UTC).timestamp()
"""Times before 1990 and after 2100 come from a clock that was not set."""
LATEST_S = datetime(2101, 1, 1, tzinfo=UTC).timestamp()

_WIDTH = 40
_FORM = "YYYY-MM-DDThh:mm:ss"
_DIGITS = [i for i, char in enumerate(_FORM) if char.isalpha() and char != "T"]
_MARKS = [i for i, char in enumerate(_FORM) if char in "-:"]
_ZERO = np.uint8(ord("0"))
_QUOTED = 40
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_LOOSE = re.compile(
    r"(\d{4})[-/](\d{1,2})[-/](\d{1,2})(?:\s*[Tt]\s*|\s+)"
    r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d*))?)?"
    r"\s*(?:([Zz]|UTC|GMT)|([+-])(\d{2})(?::?(\d{2}))?)?",
    re.ASCII,
)

Chars = npt.NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Times:
    """What a column of times says.

    Parameters
    ----------
    time_s
        Seconds since 1970-01-01 UTC, NaN where there is none to be had.
    zoneless
        How many carried no zone and were taken as UTC.
    unreadable, implausible
        The texts that are no time, and those outside 1990 to 2100, each cut to a
        length that can be quoted: NaN in `time_s`.
    """

    time_s: Floats
    zoneless: int
    unreadable: tuple[str, ...]
    implausible: tuple[str, ...]


def read_times(texts: Sequence[str]) -> Times:
    """Return the times in a column of texts, of which some may be empty.

    The usual forms are read in bulk, what else devices write one by one.

    References
    ----------
    GPX 1.1 schema: xsd:dateTime in UTC, fractions of a second allowed.

    Examples
    --------
    >>> times = read_times(["1990-01-01T00:00:00Z", " 1990-01-01 01:00:00.5+01:00", ""])
    >>> times.time_s.tolist()
    [631152000.0, 631152000.5, nan]
    >>> read_times(["noon", "1980-01-06T00:00:00Z"]).unreadable
    ('noon',)
    """
    stripped = texts
    time_s, loose = _in_bulk(texts)
    odd = np.flatnonzero(np.isnan(time_s)).tolist()
    if any(texts[i] for i in odd):
        stripped = [text.strip() for text in texts]
        time_s, loose = _in_bulk(stripped)
        odd = np.flatnonzero(np.isnan(time_s)).tolist()
    unreadable = []
    for i in odd:
        moment = _moment(stripped[i])
        if moment is not None:
            loose[i] = moment.tzinfo is None
            moment = moment.replace(tzinfo=moment.tzinfo or UTC)
            time_s[i] = (moment - _EPOCH).total_seconds()
        elif stripped[i]:
            unreadable.append(stripped[i][:_QUOTED])
    implausible = (time_s < EARLIEST_S) | (time_s >= LATEST_S)
    time_s[implausible] = np.nan
    strange = (stripped[i][:_QUOTED] for i in np.flatnonzero(implausible).tolist())
    return Times(time_s, int(loose.sum()), tuple(unreadable), tuple(strange))


def _in_bulk(texts: Sequence[str]) -> tuple[Floats, Bools]:
    """Return the times of the usual forms, NaN for the rest, and which have no zone."""
    try:
        packed = np.array(texts, dtype=f"S{_WIDTH}")
    except UnicodeEncodeError:
        ascii_texts = [text if text.isascii() else "" for text in texts]
        packed = np.array(ascii_texts, dtype=f"S{_WIDTH}")
    chars = packed.view(np.uint8).reshape(len(texts), _WIDTH)
    digits = chars[:, _DIGITS] - _ZERO
    usual = (digits < 10).all(axis=1)
    usual &= (chars[:, _MARKS] == np.frombuffer(b"--::", np.uint8)).all(axis=1)
    usual &= np.isin(chars[:, len("YYYY-MM-DD")], np.frombuffer(b"Tt ", np.uint8))
    whole_s, real = _whole_seconds(digits.astype(np.int64))
    tails = chars[:, len(_FORM) :]
    fraction_s, places = _fractions(tails)
    east_s, zoneless, ended = _zones(tails, places)
    usual &= real & ended
    return np.where(usual, whole_s + fraction_s - east_s, np.nan), zoneless & usual


def _whole_seconds(digits: Ints) -> tuple[Ints, Bools]:
    """Return the seconds since 1970 of rows of YYYYMMDDhhmmss, and which exist."""
    year = digits[:, :4] @ np.array([1000, 100, 10, 1])
    month, day, hour, minute, second = (digits[:, 4::2] * 10 + digits[:, 5::2]).T
    real = (month > 0) & (month < 13)
    months = np.where(real, (year - 1970) * 12 + month - 1, 0)
    first, beyond = (
        (months + step).astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
        for step in (0, 1)
    )
    real &= (day > 0) & (day <= beyond - first)
    real &= (hour < 24) & (minute < 60) & (second < 60)
    return ((first + day - 1) * 24 + hour) * 3600 + minute * 60 + second, real


def _fractions(tails: Chars) -> tuple[Floats, Ints]:
    """Return the seconds of `.ddd…` at the start of rows, and how long that is."""
    fraction_s = np.zeros(len(tails))
    length = np.zeros(len(tails), dtype=np.int64)
    dotted = np.flatnonzero(tails[:, 0] == ord("."))
    if len(dotted):
        digits = tails[dotted, 1:] - _ZERO
        counted = np.logical_and.accumulate(digits < 10, axis=1)
        weights = 10.0 ** -np.arange(1, digits.shape[1] + 1)
        fraction_s[dotted] = np.where(counted, digits, 0) @ weights
        places = counted.sum(axis=1)
        length[dotted] = np.where(places > 0, places + 1, 0)
    return fraction_s, length


def _zones(tails: Chars, start: Ints) -> tuple[Floats, Bools, Bools]:
    """Return for rows that go on with `Z`, nothing or `+hh:mm` what these say.

    Returns
    -------
    east_s, zoneless, known
        Seconds east of Greenwich, whether there is no zone, and whether the row is of
        one of these forms.
    """
    start = np.minimum(start, tails.shape[1] - len("+hh:mm") - 1)
    rows = np.arange(len(tails))
    first, second = tails[rows, start], tails[rows, start + 1]
    zoneless = first == 0
    known = zoneless | (((first == ord("Z")) | (first == ord("z"))) & (second == 0))
    east_s = np.zeros(len(tails))
    signed = np.flatnonzero((first == ord("+")) | (first == ord("-")))
    if len(signed):
        offsets = tails[signed[:, None], start[signed, None] + np.arange(1, 7)]
        digits = (offsets[:, [0, 1, 3, 4]] - _ZERO).astype(np.int64)
        hours, minutes = (digits[:, ::2] * 10 + digits[:, 1::2]).T
        known[signed] = (digits < 10).all(axis=1) & (hours < 24) & (minutes < 60)
        known[signed] &= (offsets[:, 2] == ord(":")) & (offsets[:, 5] == 0)
        sense = np.where(first[signed] == ord("-"), -1, 1)
        east_s[signed] = sense * (hours * 3600 + minutes * 60)
    return east_s, zoneless, known


def _moment(text: str) -> datetime | None:
    """Return the time that a text of any usual form says, None if it says none."""
    match = _LOOSE.fullmatch(text)
    try:
        if match:
            return _assembled(match)
        # A date alone is no time: midnight would be made up.
        return datetime.fromisoformat(text) if "T" in text else None
    except (ValueError, OverflowError):
        return None


def _assembled(match: re.Match[str]) -> datetime:
    """Put a time together; 24:00 and a leap second roll over into what follows.

    Raises
    ------
    ValueError
        If there is no such date, time of day or zone.
    """
    year, month, day, hour, minute, second = (
        int(part or 0) for part in match.groups()[:6]
    )
    fraction, utc, sign, hours_off, minutes_off = match.groups()[6:]
    if hour > 24 or minute > 59 or second > 60 or int(minutes_off or 0) > 59:
        raise ValueError("no such time of day or zone")
    east = timedelta(hours=int(hours_off or 0), minutes=int(minutes_off or 0))
    zone = timezone(-east if sign == "-" else east) if utc or sign else None
    past_second_s = float(f"0.{fraction or 0}")
    return datetime(year, month, day, tzinfo=zone) + timedelta(
        hours=hour, minutes=minute, seconds=second + past_second_s
    )


def numeric_times(time_s: Floats) -> Times:
    """Return seconds since 1970 as times, without those that cannot be right.

    Examples
    --------
    >>> numeric_times(np.array([631065600.0, 631152000.0])).time_s.tolist()
    [nan, 631152000.0]
    """
    implausible = (time_s < EARLIEST_S) | (time_s >= LATEST_S)
    strange = np.flatnonzero(implausible)
    texts: tuple[str, ...] = ()
    if len(strange):
        first = _EPOCH + timedelta(seconds=float(time_s[strange[0]]))
        texts = (f"{first:%Y-%m-%dT%H:%M:%SZ}",) * len(strange)
    return Times(np.where(implausible, np.nan, time_s), 0, (), texts)
