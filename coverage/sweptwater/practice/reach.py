"""How far rods reach, how the shore is told, where fishing ends: settings of them."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import radians, sin
from typing import Any, Literal

from sweptwater.errors import PracticeError
from sweptwater.practice.tables import choice_of, lengths
from sweptwater.units import YARD_M

_SPREAD = {
    "boat": "boat_m",
    "cast": "cast_m",
    "reach": "reach_m",
    "half_angle": "half_angle_deg",
}
_BANKS = {
    "stretch": "stretch_m",
    "water": "water_m",
    "piece": "piece_m",
    "boat_near": "boat_near_m",
    "boat_far": "boat_far_m",
}
_DRIFTS = {
    "gap": "gap_s",
    "bridge": "bridge_s",
    "slowest_cut": "slowest_cut_m_s",
    "fastest_cut": "fastest_cut_m_s",
    "usual_cut": "usual_cut_m_s",
    "least_fishing": "least_fishing_s",
    "least_motoring": "least_motoring_s",
    "course_speed": "course_speed_m_s",
    "course_least": "course_least_s",
    "course_off": "course_off_deg",
    "course_around": "course_around_s",
    "ashore_within": "ashore_within_m",
    "ashore_least": "ashore_least_s",
    "shore": "shore_m",
    "jetty": "jetty_m",
    "outside": "outside_m",
    "wander": "wander_m_s",
}

SECTIONS: Mapping[str, Mapping[str, str]] = {
    "spread": {**_SPREAD, "shape": ""},
    "banks": _BANKS,
    "drifts": _DRIFTS,
}
"""The settings of each section, with their fields where they have a unit."""


@dataclass(frozen=True, slots=True)
class Spread:
    """How far a boat's rods reach: metres and degrees.

    Parameters
    ----------
    shape
        `fan` casts downwind from the length of the boat; `round` reaches `reach_m`
        all round, for boats whose heading is unknown.
    boat_m, cast_m, half_angle_deg
        The fan's boat, cast and angle either side of downwind.
    reach_m
        The round spread's radius.
    """

    shape: Literal["fan", "round"] = "fan"
    boat_m: float = 5 * YARD_M
    cast_m: float = 22 * YARD_M
    half_angle_deg: float = 40.0
    reach_m: float = 22 * YARD_M

    def scaled(self, factor: float) -> "Spread":
        """Return the spread of a cast so many times as long."""
        return Spread(
            self.shape,
            self.boat_m,
            self.cast_m * factor,
            self.half_angle_deg,
            self.reach_m * factor,
        )

    @property
    def width_m(self) -> float:
        """The width of the strip that a straight drift sweeps."""
        if self.shape == "round":
            return 2 * self.reach_m
        return self.boat_m + 2 * self.cast_m * sin(radians(self.half_angle_deg))


@dataclass(frozen=True, slots=True)
class Rules:
    """Where fishing ends and motoring begins.

    Speeds are in metres a second, times in seconds, angles in degrees and distances
    in metres. The defaults are common practice, no source, and were tried on
    simulated days.
    """

    gap_s: float = 60.0
    bridge_s: float = 600.0
    slowest_cut_m_s: float = 0.7
    fastest_cut_m_s: float = 2.5
    usual_cut_m_s: float = 1.0
    least_fishing_s: float = 45.0
    least_motoring_s: float = 15.0
    course_speed_m_s: float = 0.6
    course_least_s: float = 20.0
    course_off_deg: float = 70.0
    course_around_s: float = 2700.0
    course_steady: float = 0.6
    doubt_off_deg: float = 45.0
    hysteresis: float = 1.2
    ashore_within_m: float = 20.0
    ashore_least_s: float = 300.0
    shore_m: float = 15.0
    jetty_m: float = 25.0
    outside_m: float = 15.0
    wander_m_s: float = 0.04


@dataclass(frozen=True, slots=True)
class BankRules:
    """How the shore is told in stretches, in metres.

    A boat drifts along a bank from `boat_near_m` to `boat_far_m` out; the water that
    counts as the bank's goes from the stones to `water_m`.
    """

    stretch_m: float = 440 * YARD_M
    water_m: float = 100 * YARD_M
    piece_m: float = 25 * YARD_M
    boat_near_m: float = 20 * YARD_M
    boat_far_m: float = 80 * YARD_M


def parse_banks(table: Mapping[str, Any]) -> BankRules:
    """Return how the shore is told as a section of the settings says.

    Raises
    ------
    PracticeError
        Naming the line that is wrong, and what it may be.
    """
    return BankRules(**lengths(table, _BANKS, "banks"))


def parse_drifts(table: Mapping[str, Any]) -> Rules:
    """Return where fishing ends and motoring begins as a section of the settings says.

    Raises
    ------
    PracticeError
        Naming the line that is wrong, and what it may be.
    """
    return Rules(**lengths(table, _DRIFTS, "drifts"))


def parse_spread(table: Mapping[str, Any]) -> Spread:
    """Return how far a boat's rods reach as a section of the settings says.

    Raises
    ------
    PracticeError
        Naming the line that is wrong, and what it may be.
    """
    shape = choice_of(table, "shape", ("fan", "round"), "fan")
    spread = Spread(shape=shape, **lengths(table, _SPREAD, "spread", ("shape",)))
    if not spread.half_angle_deg < 90:
        raise PracticeError(
            "[spread] half_angle_deg must be below 90 in practice.toml: rods that cast "
            'further round have the shape "round"'
        )
    return spread
