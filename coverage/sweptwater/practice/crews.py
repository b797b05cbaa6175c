"""Who is in which boat: the rods of each pair, usually and on single days."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sweptwater.errors import PracticeError
from sweptwater.practice.tables import near_words

ENDS = ("bow", "stern")
"""Rods that have no call sign are known by where they sit."""

MOST_RODS = 2
ROD = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,11}")
DAY = re.compile(r"\d{4}-\d\d-\d\d")
SECTION = "[rods] of practice.toml"


@dataclass(frozen=True, slots=True)
class Crews:
    """Who is in which boat, as far as it was said.

    Parameters
    ----------
    usual
        The rods of pairs by call sign or number.
    by_day
        The same for what was otherwise on a day; without rods, a boat stayed ashore.
    """

    usual: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    by_day: Mapping[date, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)

    def rods_on(self, pair: str, day: date) -> tuple[str, ...]:
        """Return the rods in a pair's boat on a day; none if it stayed ashore.

        Examples
        --------
        >>> crews = Crews({"Heron": ("1", "2")}, {date(2027, 6, 9): {"Heron": ("1",)}})
        >>> crews.rods_on("Heron", date(2027, 6, 8))
        ('1', '2')
        >>> crews.rods_on("Heron", date(2027, 6, 9))
        ('1',)
        >>> crews.rods_on("Teal", date(2027, 6, 9))  # of which nothing was said
        ('bow', 'stern')
        """
        usual = self.usual.get(pair, ENDS)
        return self.by_day.get(day, {}).get(pair, usual)


def parse_crews(table: Mapping[str, Any], pairs: Iterable[str]) -> Crews:
    """Return who is in which boat, as the section `rods` of the settings says.

    Raises
    ------
    PracticeError
        If a pair or a day is none, a boat has too many rods, or a rod is in two boats
        on one day.
    """
    pairs = tuple(pairs)
    known = {pair.casefold() for pair in pairs}
    lines = {
        key: value
        for key, value in table.items()
        if key.casefold() in known or not (isinstance(value, dict) or _like_day(key))
    }
    usual = _boats(lines, pairs, SECTION)
    by_day = {
        _day(key): _boats(_day_lines(key, table[key]), pairs, _day_section(key))
        for key in table
        if key not in lines
    }
    crews = Crews(usual, dict(sorted(by_day.items())))
    _check_apart({pair: usual[pair] for pair in pairs if pair in usual}, SECTION)
    for day in crews.by_day:
        aboard = {pair: crews.rods_on(pair, day) for pair in pairs}
        _check_apart(aboard, _day_section(day.isoformat()))
    return crews


def _like_day(key: str) -> bool:
    return key[:1].isdigit() and "-" in key


def _day_section(key: str) -> str:
    return f"[rods.{key}] of practice.toml"


def _day(key: str) -> date:
    try:
        if DAY.fullmatch(key):
            return date.fromisoformat(key)
    except ValueError:
        pass
    raise PracticeError(
        f"practice.toml has a section [rods.{key}], and {key} is no day: write it like "
        "[rods.2027-06-09]"
    )


def _day_lines(key: str, value: object) -> Mapping[str, Any]:
    if isinstance(value, dict):
        return value
    raise PracticeError(
        f"{SECTION} has {key} as a line: make it a heading, [rods.{key}], with a line "
        "for each pair below it"
    )


def _boats(
    lines: Mapping[str, Any], pairs: tuple[str, ...], where: str
) -> dict[str, tuple[str, ...]]:
    boats: dict[str, tuple[str, ...]] = {}
    for key, value in lines.items():
        pair = _pair(key, pairs, where)
        if pair in boats:
            raise PracticeError(f"{where} names {pair} twice: delete one of the lines")
        boats[pair] = _rods(pair, value, where)
    return boats


def _pair(key: str, pairs: tuple[str, ...], where: str) -> str:
    for pair in pairs:
        if pair.casefold() == key.casefold():
            return pair
    raise PracticeError(
        f"{where} names a pair {key!r}, and the pairs are {', '.join(pairs)}:"
        f"{near_words(key, pairs) or ' write one of them, also if it was renamed'}"
    )


def _rods(pair: str, value: object, where: str) -> tuple[str, ...]:
    if not isinstance(value, list) or any(
        isinstance(rod, bool) or not isinstance(rod, str | int) for rod in value
    ):
        raise PracticeError(
            f'{where}: {pair} must be a list of its rods, like ["1", "2"], or [] if '
            f"the boat stayed ashore, not {value!r}"
        )
    rods = tuple(str(rod).strip() for rod in value)
    for rod in rods:
        if not ROD.fullmatch(rod):
            raise PracticeError(
                f"{where}: a rod of {pair} cannot be called {rod!r}: use a number or a "
                "call sign of letters, digits and hyphens, 12 at most"
            )
    if len(rods) > MOST_RODS:
        raise PracticeError(
            f"{where}: {pair} has {len(rods)} rods, {', '.join(rods)}: two fish from a "
            "boat, so put the others in another one or leave them out"
        )
    return rods


def _check_apart(aboard: Mapping[str, tuple[str, ...]], where: str) -> None:
    """Refuse a rod that is in two places; where people sit is in every boat."""
    seat: dict[str, str] = {}
    for pair, rods in aboard.items():
        inside: set[str] = set()
        for rod in rods:
            sign = rod.casefold()
            if sign in inside:
                raise PracticeError(
                    f"{where}: rod {rod} is twice in {pair}'s boat: delete one of the "
                    "two, or write who the other is"
                )
            inside.add(sign)
            if sign not in ENDS and seat.setdefault(sign, pair) != pair:
                raise PracticeError(
                    f"{where}: rod {rod} is in two boats, {seat[sign]} and {pair}: "
                    f"take it out of one, and write {seat[sign]} = [] for a boat that "
                    "stayed ashore"
                )
