"""The settings of a practice: `practice.toml`, whose every line explains itself.

The file speaks in the practice's units; here they become SI, once. A length may be
given in yards, feet or metres, by the end of its name (`cast_yd`, `cast_m`).
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from sweptwater.errors import PracticeError
from sweptwater.practice.crews import Crews, parse_crews
from sweptwater.practice.match import SECTIONS as MATCH_SECTIONS
from sweptwater.practice.match import MatchRules, parse_match
from sweptwater.practice.outing import (
    SECTIONS,
    BoatRules,
    DayRules,
    PlanRules,
    parse_boat,
    parse_day_afloat,
    parse_plan,
)
from sweptwater.practice.reach import SECTIONS as REACH_SECTIONS
from sweptwater.practice.reach import (
    BankRules,
    Rules,
    Spread,
    parse_banks,
    parse_drifts,
    parse_spread,
)
from sweptwater.practice.search import SECTIONS as SEARCH_SECTIONS
from sweptwater.practice.search import SearchRules, parse_search
from sweptwater.practice.tables import (
    check_known,
    choice_of,
    lengths,
    load_table,
    section_of,
    text_of,
)
from sweptwater.practice.tackle import SECTIONS as TACKLE_SECTIONS
from sweptwater.practice.tackle import (
    DepthRules,
    TackleRules,
    parse_depth,
    parse_tackle,
)
from sweptwater.units import ACRE_M2, SYSTEMS, YARD_M, System

PAIR = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,39}")
NO_PAIR = re.compile(r"removed|con|prn|aux|nul|(com|lpt)\d", re.IGNORECASE)
"""Names that folders have already, here or on Windows."""

LEAST_PIECE_M = 1.0

__all__ = [
    "NO_PAIR",
    "PAIR",
    "BankRules",
    "Rules",
    "Settings",
    "Spread",
    "check_pairs",
    "check_zone",
    "parse_settings",
]


@dataclass(frozen=True, slots=True)
class Settings:
    """What a practice is called, who fishes it, and how its numbers are made."""

    name: str
    pairs: tuple[str, ...]
    time_zone: str = "UTC"
    units: System = "imperial"
    days: tuple[date, ...] = ()
    """The practice days, in order, as far as they are known before."""
    crews: Crews = field(default_factory=Crews)
    spread: Spread = field(default_factory=Spread)
    banks: BankRules = field(default_factory=BankRules)
    rules: Rules = field(default_factory=Rules)
    unfished_m2: float = ACRE_M2 / 4
    unfished_wide_m: float = 15 * YARD_M
    """What is narrower between drifts is no place to send a boat to."""
    boat: BoatRules = field(default_factory=BoatRules)
    day: DayRules = field(default_factory=DayRules)
    plan: PlanRules = field(default_factory=PlanRules)
    tackle: TackleRules = field(default_factory=TackleRules)
    depth: DepthRules = field(default_factory=DepthRules)
    search: SearchRules = field(default_factory=SearchRules)
    match: MatchRules = field(default_factory=MatchRules)

    @property
    def zone(self) -> ZoneInfo:
        """The time zone that days and hours are told in."""
        return ZoneInfo(self.time_zone)

    def rods_on(self, pair: str, day: date) -> tuple[str, ...]:
        """Return the rods in a pair's boat on a day; none if it stayed ashore.

        Rods of which nothing was said are `bow` and `stern`.
        """
        return self.crews.rods_on(pair, day)

    def afloat_on(self, day: date) -> tuple[str, ...]:
        """Return the pairs whose boats went out on a day, or are to."""
        return tuple(pair for pair in self.pairs if self.rods_on(pair, day))

    def pair_named(self, name: str) -> str:
        """Return the pair of that name, whatever its capitals.

        Raises
        ------
        PracticeError
            If there is none.
        """
        for pair in self.pairs:
            if pair.casefold() == name.casefold():
                return pair
        raise PracticeError(
            f"there is no pair {name!r}: the pairs are {', '.join(self.pairs)} "
            "(practice.toml names them)"
        )


def parse_settings(text: str) -> Settings:
    """Return the settings that the text of a `practice.toml` means.

    Raises
    ------
    PracticeError
        Naming the line or the setting that is wrong, and what it may be.
    """
    table = load_table(text, "practice.toml")
    _check_places(table)
    check_known(table, {*_ABOVE, *_NAMED, *_SECTIONS}, "practice.toml")
    name, zone = text_of(table, "name"), text_of(table, "time_zone", "UTC")
    try:
        pairs = check_pairs(table.get("pairs", ()))
        zone = check_zone(zone)
    except PracticeError as error:  # they are given on the command line too
        raise PracticeError(f"practice.toml: {error}") from error
    settings = Settings(
        name=name,
        pairs=pairs,
        time_zone=zone,
        units=choice_of(table, "units", SYSTEMS, "imperial"),
        days=_days(table.get("days", [])),
        crews=parse_crews(section_of(table, "rods"), pairs),
        spread=parse_spread(section_of(table, "spread")),
        banks=parse_banks(section_of(table, "banks")),
        rules=parse_drifts(section_of(table, "drifts")),
        **lengths(section_of(table, "unfished"), _UNFISHED, "unfished"),
        boat=parse_boat(section_of(table, "boat")),
        day=parse_day_afloat(section_of(table, "day")),
        plan=parse_plan(section_of(table, "plan")),
        tackle=parse_tackle(section_of(table, "tackle")),
        depth=parse_depth(section_of(table, "depth")),
        search=parse_search(section_of(table, "search"), section_of(table, "hopes")),
        match=parse_match(section_of(table, "match")),
    )
    _check_together(settings)
    return settings


def check_pairs(pairs: Sequence[str]) -> tuple[str, ...]:
    """Return the pairs' names if they can name folders and differ.

    Raises
    ------
    PracticeError
        If a name has other characters than letters, digits and hyphens, or is there
        twice, capitals aside.
    """
    if not isinstance(pairs, list | tuple) or not all(
        isinstance(pair, str) for pair in pairs
    ):
        raise PracticeError('pairs must be a list of names, like ["Heron", "Grebe"]')
    for pair in pairs:
        if not PAIR.fullmatch(pair):
            raise PracticeError(
                f"a pair cannot be called {pair!r}: use letters, digits and hyphens, "
                "40 at most"
            )
        if NO_PAIR.fullmatch(pair):
            raise PracticeError(
                f"a pair cannot be called {pair!r}: no folder can have that name here"
            )
    if not pairs or len({pair.casefold() for pair in pairs}) < len(pairs):
        raise PracticeError(
            f"the pairs must be at least one and all different, not {', '.join(pairs)}"
            if pairs
            else "there are no pairs: name at least one"
        )
    return tuple(pairs)


def check_zone(name: str) -> str:
    """Return the name of a time zone if there is one.

    Raises
    ------
    PracticeError
        If there is none.
    """
    if name not in available_timezones():
        raise PracticeError(
            f"there is no time zone {name!r}: write one like Europe/London"
        )
    return name


def _days(days: object) -> tuple[date, ...]:
    """Return days written as TOML writes them, or as text, in order."""
    if isinstance(days, list):
        try:
            told = {date.fromisoformat(str(day)) for day in days}
        except ValueError:
            pass
        else:
            return tuple(sorted(told))
    raise PracticeError(
        "days must be a list of days in practice.toml, like "
        f"[2027-06-08, 2027-06-09], not {days!r}"
    )


_UNFISHED = {"at_least": "unfished_m2", "narrowest": "unfished_wide_m"}

_SECTIONS: Mapping[str, Mapping[str, str]] = {
    **REACH_SECTIONS,
    "unfished": _UNFISHED,
    **SECTIONS,
    **TACKLE_SECTIONS,
    **SEARCH_SECTIONS,
    **MATCH_SECTIONS,
}
_ABOVE = ("name", "pairs", "days", "time_zone", "units")
"""Settings that stand above all sections."""

_NAMED = ("rods", "hopes")
"""Sections whose settings are names that people give."""


def _check_places(table: Mapping[str, Any]) -> None:
    """Refuse a setting that is in another section's place: a line added at the end."""
    pairs = table.get("pairs", ())
    pairs = pairs if isinstance(pairs, list) else ()
    for section in (*_SECTIONS, *_NAMED):
        inside = table.get(section)
        below = inside.keys() if isinstance(inside, dict) else set()
        for key in _ABOVE:
            if key in below and key not in pairs:
                raise PracticeError(
                    f"practice.toml has {key} below [{section}], where it means "
                    "nothing: write it above the first heading in brackets"
                )
    for key in table.keys() - {*_ABOVE, *_NAMED, *_SECTIONS}:
        for section, names in _SECTIONS.items():
            if any(re.fullmatch(rf"{name}(_[a-z0-9_]+)?", key) for name in names):
                raise PracticeError(
                    f"practice.toml has {key} above its heading, where it means "
                    f"nothing: move that line below [{section}]"
                )


def _check_together(settings: Settings) -> None:
    rules, banks = settings.rules, settings.banks
    if not rules.slowest_cut_m_s < rules.fastest_cut_m_s:
        raise PracticeError(
            "[drifts] slowest_cut_m_s must be below fastest_cut_m_s in practice.toml"
        )
    if not LEAST_PIECE_M <= banks.piece_m <= banks.stretch_m:
        raise PracticeError(
            "[banks] piece must be at least a metre and no longer than stretch in "
            f"practice.toml, not {banks.piece_m:.4g} m"
        )
    if not banks.boat_near_m < banks.boat_far_m:
        raise PracticeError(
            "[banks] boat_near must be less than boat_far in practice.toml: a boat "
            "drifts between the two"
        )
