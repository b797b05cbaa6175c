"""What the user said of a track, kept in a small TOML file beside it.

Its clock, whether all of it is fishing, and which of its drifts were told wrongly:
the track itself is never changed.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from math import isfinite
from typing import Any, Literal, TypeAlias, get_args

from sweptwater.practice.template import toml_string

CorrectionKind: TypeAlias = Literal["join", "cut", "strike", "fishing"]
KINDS: tuple[CorrectionKind, ...] = get_args(CorrectionKind)

_HEAD = """\
# What was said of the track beside this file. The track itself is never changed.
"""


@dataclass(frozen=True, slots=True)
class Correction:
    """What a drift really was, between two times of the track's own clock.

    Parameters
    ----------
    kind
        `join`: all of it was one drift with what lies before and after; `cut`: one
        drift ended and another began there; `strike`: it was no fishing; `fishing`:
        it was.
    start_s, end_s
        Seconds since 1970 UTC; the same for a cut.
    turn
        Which one it was of the boat's corrections, beside whatever track they stand.
    """

    kind: CorrectionKind
    start_s: float
    end_s: float
    turn: int = 0

    def shifted(self, shift_s: float) -> "Correction":
        """Return it by a clock that is so much later."""
        return replace(self, start_s=self.start_s + shift_s, end_s=self.end_s + shift_s)


@dataclass(frozen=True, slots=True)
class Said:
    """What was said of one track.

    Parameters
    ----------
    name
        What it was called when it came; empty if it was put there by hand.
    digest
        The SHA-256 of its bytes as they came, in hexadecimal; else empty.
    shift_s
        What its clock must be put forward by, in seconds.
    all_fishing
        Whether all of it is fishing, by the user's word.
    day
        The day that it is of, if it has no times.
    corrections
        In the order in which they were made.
    """

    name: str = ""
    digest: str = ""
    shift_s: float = 0.0
    all_fishing: bool = False
    day: date | None = None
    corrections: tuple[Correction, ...] = ()


def said_text(said: Said) -> str:
    """Return the text of a sidecar.

    Examples
    --------
    >>> print(said_text(Said("evening.gpx", "1f0c", shift_s=-90)))
    # What was said of the track beside this file. The track itself is never changed.
    name = "evening.gpx"
    sha256 = "1f0c"
    shift_min = -1.5  # its clock is put forward by this
    <BLANKLINE>
    """
    return _HEAD + "".join(f"{line}\n" for line in _lines(said))


def parse_said(text: str) -> Said:
    """Return what the text of a sidecar says; nothing, of what it leaves out.

    Raises
    ------
    ValueError
        If it is no TOML, or a value is none that it can be.
    """
    table = tomllib.loads(text)
    return Said(
        name=str(table.get("name", "")),
        digest=str(table.get("sha256", "")),
        shift_s=60 * _minutes(table),
        all_fishing=_flag(table, "all_fishing"),
        day=_day(table),
        corrections=tuple(_corrections(table)),
    )


def _lines(said: Said) -> Iterator[str]:
    yield f"name = {toml_string(said.name)}"
    yield f'sha256 = "{said.digest}"'
    shift_min = repr(said.shift_s / 60).removesuffix(".0")
    yield f"shift_min = {shift_min}  # its clock is put forward by this"
    if said.all_fishing:
        yield "all_fishing = true  # nothing in it is motoring, or ashore"
    if said.day:
        yield f"day = {said.day.isoformat()}  # it has no times of its own"
    for correction in said.corrections:
        yield ""
        yield "[[corrected]]  # by the track's own clock, in UTC"
        yield f'what = "{correction.kind}"'
        yield f"from = {_moment_text(correction.start_s)}"
        if correction.kind != "cut":
            yield f"to = {_moment_text(correction.end_s)}"
        if correction.turn:
            yield f"turn = {correction.turn}  # which of this boat's corrections it was"


def _moment_text(time_s: float) -> str:
    moment = datetime.fromtimestamp(time_s, UTC).replace(tzinfo=None)
    return f"{moment.isoformat(timespec='milliseconds')}Z"


def _minutes(table: Mapping[str, Any]) -> float:
    value = table.get("shift_min", 0)
    if (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or not isfinite(value)
    ):
        raise ValueError(f"shift_min must be a number of minutes, not {value!r}")
    return float(value)


def _flag(table: Mapping[str, Any], key: str) -> bool:
    value = table.get(key, False)
    if not isinstance(value, bool):
        raise ValueError(f"{key} must be true or false, not {value!r}")
    return value


def _day(table: Mapping[str, Any]) -> date | None:
    value = table.get("day")
    if value is None or (isinstance(value, date) and not isinstance(value, datetime)):
        return value
    raise ValueError(f"day must be a day like 2027-06-08, not {value!r}")


def _corrections(table: Mapping[str, Any]) -> Iterator[Correction]:
    rows = table.get("corrected", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise ValueError("corrected must be sections, each [[corrected]]")
    for row in rows:
        kind = row.get("what")
        if kind not in KINDS:
            raise ValueError(f"what must be {' or '.join(KINDS)}, not {kind!r}")
        start_s = _moment(row, "from")
        end_s = start_s if kind == "cut" else _moment(row, "to")
        if end_s < start_s:
            raise ValueError(f"to = {row['to']} comes before from = {row['from']}")
        turn = row.get("turn", 0)
        if isinstance(turn, bool) or not isinstance(turn, int):
            raise ValueError(f"turn must be a whole number, not {turn!r}")
        yield Correction(kind, start_s, end_s, turn)


def _moment(row: Mapping[str, Any], key: str) -> float:
    value = row.get(key)
    if not isinstance(value, datetime):
        raise ValueError(
            f"{key} must be a time like 2027-06-08T09:05:00Z, not {value!r}"
        )
    return value.replace(tzinfo=value.tzinfo or UTC).timestamp()
