"""Settings of the match: its hours, its rules, and how the team spreads its rods."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time
from typing import Any, Literal

from sweptwater.errors import PracticeError
from sweptwater.practice.tables import choice_of, lengths
from sweptwater.units import MPH_M_S, YARD_M

_MEASURED = {
    "apart": "apart_m",
    "keep_off": "keep_off_m",
    "spare": "spare_s",
    "stay": "stay_s",
    "motoring": "motoring_m_s",
    "light": "light_s",
    "further_out": "further_out_m",
}
_TIMES = ("lines_down", "lines_up")
_YES = ("phones", "sounders", "anchoring")
_WHOLE = {"most_on_bank": (1, 12), "bold": (0, 12)}
SECTIONS: Mapping[str, Mapping[str, str]] = {
    "match": {
        **_MEASURED,
        **dict.fromkeys((*_TIMES, *_YES, *_WHOLE, "lines_up_at", "boats"), ""),
    }
}
"""The settings of each section, with their fields where they have a unit."""


@dataclass(frozen=True, slots=True)
class MatchRules:
    """The match as its own rules have it; the defaults are common practice, no source.

    Parameters
    ----------
    lines_down, lines_up
        From when to when it is fished, by the practice's clock.
    lines_up_at
        Where every boat must be at the end: a mark, or empty for the first jetty.
    boats
        Whether the six rods are drawn with others in six boats, or fish three boats of
        their own.
    apart_m, keep_off_m
        How far to keep off other boats, and off buoys, bank-anglers and whatever is out
        of bounds.
    phones, sounders, anchoring
        What is allowed.
    most_on_bank
        So many rods start on one bank at the most.
    bold
        So many rods start where less is known and more may be.
    spare_s
        Kept in hand on the way home.
    stay_s
        How long a rod stays without an offer before its second choice.
    motoring_m_s
        How fast a boat goes home.
    light_s, further_out_m
        For how long sun or cloud has to last before rods change lines; and how much
        further from the bank they drift in sun.
    """

    lines_down: time = time(10, 0)
    lines_up: time = time(18, 0)
    lines_up_at: str = ""
    boats: Literal["drawn", "own"] = "drawn"
    apart_m: float = 50 * YARD_M
    keep_off_m: float = 50 * YARD_M
    phones: bool = False
    sounders: bool = False
    anchoring: bool = False
    most_on_bank: int = 2
    bold: int = 2
    spare_s: float = 600.0
    stay_s: float = 45 * 60.0
    motoring_m_s: float = 4 * MPH_M_S
    light_s: float = 15 * 60.0
    further_out_m: float = 20 * YARD_M

    @property
    def hours(self) -> float:
        """How long it is fished, in hours."""
        down, up = (t.hour + t.minute / 60 for t in (self.lines_down, self.lines_up))
        return up - down


def parse_match(table: Mapping[str, Any]) -> MatchRules:
    """Return the match's rules as a section of the settings says.

    Raises
    ------
    PracticeError
        Naming the line that is wrong, and what it may be.

    Examples
    --------
    >>> rules = parse_match({"lines_up": "17:30", "phones": True, "keep_off_yd": 100})
    >>> rules.lines_up, rules.phones, round(rules.keep_off_m, 2), rules.hours
    (datetime.time(17, 30), True, 91.44, 7.5)
    """
    plain = (*_TIMES, *_YES, *_WHOLE, "lines_up_at", "boats")
    usual = MatchRules()
    place = table.get("lines_up_at", "")
    if not isinstance(place, str):
        raise PracticeError(
            "[match] lines_up_at must be a mark's name in quotes in practice.toml, or "
            f'"" for the jetty, not {place!r}'
        )
    rules = MatchRules(
        lines_down=_clock(table, "lines_down", usual.lines_down),
        lines_up=_clock(table, "lines_up", usual.lines_up),
        lines_up_at=place.strip(),
        boats=choice_of(table, "boats", ("drawn", "own"), usual.boats),
        **{key: choice_of(table, key, (True, False), False) for key in _YES},
        most_on_bank=_whole(table, "most_on_bank", usual.most_on_bank),
        bold=_whole(table, "bold", usual.bold),
        **lengths(table, _MEASURED, "match", plain),
    )
    if not rules.lines_down < rules.lines_up:
        raise PracticeError(
            "[match] lines_up must be later than lines_down in practice.toml"
        )
    return rules


def _clock(table: Mapping[str, Any], key: str, usual: time) -> time:
    value = table.get(key, usual)
    try:
        return value if isinstance(value, time) else time.fromisoformat(value)
    except (TypeError, ValueError) as error:
        raise PracticeError(
            f"[match] {key} must be a time of day in practice.toml, like "
            f'{key} = "{usual:%H:%M}", not {value!r}'
        ) from error


def _whole(table: Mapping[str, Any], key: str, usual: int) -> int:
    value, (least, most) = table.get(key, usual), _WHOLE[key]
    if isinstance(value, bool) or not isinstance(value, int):
        value = -1
    if not least <= value <= most:
        raise PracticeError(
            f"[match] {key} must be a whole number from {least} to {most} in "
            f"practice.toml, not {table.get(key)!r}"
        )
    return int(value)
