"""Settings of searching: what a drift proves, for how long, and what is believed."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sweptwater.errors import PracticeError
from sweptwater.practice.tables import lengths, no_such_setting
from sweptwater.units import YARD_M

DAY_S = 86400.0

_MEASURED = {
    "cycle": "cycle_s",
    "working": "working_s",
    "shows": "shows_m",
    "half_life": "half_life_s",
    "swing": "swing_deg",
    "stocked_within": "stocked_within_m",
    "confirm": "confirm_s",
    "least": "least_s",
    "boats_within": "boats_within_m",
    "rest": "rest_s",
}
_SHARES = {
    "swing_leaves": (0.05, 1.0),
    "cold_leaves": (0.05, 1.0),
    "other_light": (0.0, 1.0),
    "not_told": (0.0, 1.0),
    "bright_top": (0.0, 1.0),
    "confirm_share": (0.0, 0.9),
}
_NUMBERS = {
    "cold_c": (0.1, 20.0),
    "shore_counts": (0.01, 100.0),
    "stocked_counts": (0.01, 100.0),
    "believe": (0.1, 1000.0),
    "pressed_fish": (1, 1000),
    "pressed_boats": (1, 100),
    "looks": (1, 10),
    "together": (1, 1000),
}
SECTIONS: Mapping[str, Mapping[str, str]] = {
    "search": {**_MEASURED, **dict.fromkeys((*_SHARES, *_NUMBERS), "")},
}
"""The settings of each section, with their fields where they have a unit."""


@dataclass(frozen=True, slots=True)
class SearchRules:
    """What drifts prove and how long it holds. Common practice, no source.

    Parameters
    ----------
    cycle_s, working_s
        From one cast of a rod to its next, and for how long of that its fly is worked.
    shows_m
        How wide a strip along the fly's way is in which a fish would have shown.
    together
        So many fish lie together: where one shows, the others are known of.
    looks
        So many drifts in different light or layers make water searched; fewer and
        blank prove little.
    half_life_s
        What was learned counts half after so long.
    swing_deg, swing_leaves
        A night in which the wind swung further leaves of the half-life so much.
    cold_c, cold_leaves
        So does one over which the water at the top cooled by more than this.
    other_light, not_told
        What a drift in another light counts for, and one of which nobody told.
    bright_top
        In bright light a fish is so many times as likely in the top layer.
    shore_counts
        A fish is so many times as likely on an acre by a bank as on one in the open,
        before anything is known.
    believe
        It takes so many offers to move that half-way to what offers say.
    stocked_within_m, stocked_counts
        Stocking makes what was learned before so near by worth nothing, and such water
        so many times as likely.
    confirm_s, confirm_share
        How long it takes to try a find again; and what part of a boat's hours goes to
        that at the most.
    least_s
        No boat is sent anywhere for less.
    pressed_fish, pressed_boats, boats_within_m
        So many fish pricked, or so many other boats so near, make a find pressed.
    rest_s
        After so long without them it has rested.
    """

    cycle_s: float = 40.0
    working_s: float = 20.0
    shows_m: float = 4 * YARD_M
    together: float = 10
    looks: float = 2
    half_life_s: float = 1.5 * DAY_S
    swing_deg: float = 60.0
    swing_leaves: float = 0.5
    cold_c: float = 1.0
    cold_leaves: float = 0.5
    other_light: float = 0.5
    not_told: float = 0.5
    bright_top: float = 0.5
    shore_counts: float = 2.0
    believe: float = 6.0
    stocked_within_m: float = 440 * YARD_M
    stocked_counts: float = 3.0
    confirm_s: float = 1800.0
    confirm_share: float = 0.1
    least_s: float = 1800.0
    pressed_fish: float = 6
    pressed_boats: float = 3
    boats_within_m: float = 300 * YARD_M
    rest_s: float = 1.0 * DAY_S
    hopes: Mapping[str, float] = field(default_factory=dict)
    """What the captain knows: places by name, and how many times as likely they are."""


def parse_search(table: Mapping[str, Any], hopes: Mapping[str, Any]) -> SearchRules:
    """Return what drifts prove as two sections of the settings say.

    Parameters
    ----------
    table, hopes
        The sections `search` and `hopes`.

    Raises
    ------
    PracticeError
        Naming the setting that is wrong, and what it may be.

    Examples
    --------
    >>> rules = parse_search({"half_life_h": 24, "believe": 5}, {"the dam": 2})
    >>> rules.half_life_s, rules.believe, dict(rules.hopes)
    (86400.0, 5.0, {'the dam': 2.0})
    """
    plain = {**_SHARES, **_NUMBERS}
    where = "[search] of practice.toml"
    measured = {
        key: value
        for key, value in table.items()
        if any(key == name or key.startswith(f"{name}_") for name in _MEASURED)
        and key not in plain
    }
    for key in table.keys() - measured.keys() - plain.keys():
        raise PracticeError(no_such_setting(key, [*_MEASURED, *plain], where))
    numbers = {
        key: _number(table[key], f"[search] {key}", *bounds)
        for key, bounds in plain.items()
        if key in table
    }
    rules = SearchRules(
        **lengths(measured, _MEASURED, "search"),
        **numbers,
        hopes={
            name: _number(value, f"[hopes] {name!r}", 0.01, 100.0)
            for name, value in hopes.items()
        },
    )
    if not rules.working_s <= rules.cycle_s:
        raise PracticeError(
            "[search] working must be no longer than cycle in practice.toml: a fly is "
            "worked for a part of each cast"
        )
    return rules


def _number(value: object, what: str, least: float, most: float) -> float:
    good = isinstance(value, int | float) and not isinstance(value, bool)
    if not good or not least <= float(str(value)) <= most:
        raise PracticeError(
            f"{what} must be a number from {least:g} to {most:g} in practice.toml, not "
            f"{value!r}"
        )
    return float(str(value))
