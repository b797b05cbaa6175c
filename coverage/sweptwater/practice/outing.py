"""Settings of a day afloat: what a boat can do, the hours, how drifts are laid."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time
from typing import Any, Literal, TypeAlias

from sweptwater.errors import PracticeError
from sweptwater.practice.tables import choice_of, lengths
from sweptwater.units import MPH_M_S, YARD_M

Drogue: TypeAlias = Literal["in", "out"]
"""Whether a boat has its drogue in the water."""

_BOAT = {
    "reset": "reset_s",
    "motoring_up": "motoring_up_m_s",
    "motoring_down": "motoring_down_m_s",
}
_DAY = {
    "afloat": "afloat_s",
    "lunch": "lunch_s",
    "spare": "spare_s",
    "most_wind": "most_wind_m_s",
}
_PLAN = {
    "apart": "apart_m",
    "margin": "margin_m",
    "keep_off": "keep_off_m",
    "longest": "longest_s",
    "shortest": "shortest_m",
}
SECTIONS: Mapping[str, Mapping[str, str]] = {
    "boat": {**_BOAT, "drogue": ""},
    "day": {**_DAY, "leave": "", "ring": ""},
    "plan": {**_PLAN, "bank_counts": ""},
}
"""The settings of each section, with their fields where they have a unit."""


@dataclass(frozen=True, slots=True)
class BoatRules:
    """What a boat can do: seconds and metres a second. Common practice, no source.

    Parameters
    ----------
    reset_s
        From the end of a drift to the start of the next, if that is near; half of it
        is handling, and a longer way takes its own time on top of that half.
    motoring_up_m_s, motoring_down_m_s
        Against the wind, and before it.
    drogue
        Whether planned drifts are made with the drogue in the water.
    """

    reset_s: float = 240.0
    motoring_up_m_s: float = 4 * MPH_M_S
    motoring_down_m_s: float = 5 * MPH_M_S
    drogue: Drogue = "out"


@dataclass(frozen=True, slots=True)
class DayRules:
    """The hours of a day afloat, and when it must not be: seconds, metres a second.

    Parameters
    ----------
    leave
        When the boats leave the jetty, by the practice's clock.
    afloat_s
        From leaving the jetty to being back, lunch and motoring included.
    lunch_s, spare_s
        Of that, for lunch, and kept in hand at the end.
    most_wind_m_s
        In more wind than this nobody goes afloat.
    ring
        The venue's number to ring in need.
    """

    leave: time = time(9, 0)
    afloat_s: float = 8 * 3600.0
    lunch_s: float = 40 * 60.0
    spare_s: float = 10 * 60.0
    most_wind_m_s: float = 24 * MPH_M_S
    ring: str = ""


@dataclass(frozen=True, slots=True)
class PlanRules:
    """How planned drifts are laid: metres, seconds. Common practice, no source.

    Parameters
    ----------
    apart_m
        From drift to drift, side by side.
    margin_m
        A planned drift stays this far inside the water wherever it goes.
    keep_off_m
        And this far from bank-anglers' strips and from what is out of bounds.
    longest_s, shortest_m
        The longest and the shortest drift worth planning.
    bank_counts
        A bank's water counts so many times as much as open water.
    """

    apart_m: float = 30 * YARD_M
    margin_m: float = 10 * YARD_M
    keep_off_m: float = 50 * YARD_M
    longest_s: float = 3600.0
    shortest_m: float = 30 * YARD_M
    bank_counts: float = 2.0


def parse_boat(table: Mapping[str, Any]) -> BoatRules:
    """Return what a boat can do as a section of the settings says.

    Raises
    ------
    PracticeError
        Naming the line that is wrong, and what it may be.
    """
    drogue = choice_of(table, "drogue", ("in", "out"), "out")
    return BoatRules(drogue=drogue, **lengths(table, _BOAT, "boat", ("drogue",)))


def parse_day_afloat(table: Mapping[str, Any]) -> DayRules:
    """Return the hours of a day afloat as a section of the settings says.

    Raises
    ------
    PracticeError
        Naming the line that is wrong, and what it may be.
    """
    leave = table.get("leave", "09:00")
    try:
        told = leave if isinstance(leave, time) else time.fromisoformat(leave)
    except (TypeError, ValueError) as error:
        raise PracticeError(
            "[day] leave must be a time of day in practice.toml, like "
            f'leave = "09:00", not {leave!r}'
        ) from error
    ring = table.get("ring", "")
    if not isinstance(ring, str):
        raise PracticeError(
            "[day] ring must be a telephone number in quotes in practice.toml, like "
            f'ring = "01632 960000", not {ring!r}'
        )
    measured = lengths(table, _DAY, "day", ("leave", "ring"))
    day = DayRules(told, ring=ring.strip(), **measured)
    if not day.lunch_s + day.spare_s < day.afloat_s <= 24 * 3600:
        raise PracticeError(
            "[day] afloat must be longer than lunch and spare together, and a day at "
            "most, in practice.toml"
        )
    return day


def parse_plan(table: Mapping[str, Any]) -> PlanRules:
    """Return how drifts are laid as a section of the settings says.

    Raises
    ------
    PracticeError
        Naming the line that is wrong, and what it may be.
    """
    counts = table.get("bank_counts", 2.0)
    if isinstance(counts, bool) or not (
        isinstance(counts, int | float) and 0 < counts <= 100
    ):
        raise PracticeError(
            "[plan] bank_counts must be a number above 0, 100 at most, in "
            f"practice.toml, not {counts!r}"
        )
    measured = lengths(table, _PLAN, "plan", ("bank_counts",))
    return PlanRules(bank_counts=float(counts), **measured)
