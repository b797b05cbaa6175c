"""Settings of tackle and of depth: lines by sink rate, layers, the water's level."""

from dataclasses import dataclass

from sweptwater.units import FOOT_M, YARD_M

INCH_M = 0.0254


@dataclass(frozen=True, slots=True)
class Line:
    """A fly line as it is printed on its spool.

    Parameters
    ----------
    name
        What people call it.
    sink_m_s
        How fast it sinks; 0 floats.
    """

    name: str
    sink_m_s: float


LINES = (
    Line("floating", 0.0),
    Line("slow intermediate", 0.75 * INCH_M),
    Line("intermediate", 1.5 * INCH_M),
    Line("2 in/s", 2 * INCH_M),
    Line("3 in/s", 3 * INCH_M),
    Line("5 in/s", 5 * INCH_M),
    Line("6 in/s", 6 * INCH_M),
    Line("7 in/s", 7 * INCH_M),
)
"""Nominal rates of the trade (common practice, from memory; good to some 25 %)."""


@dataclass(frozen=True, slots=True)
class TackleRules:
    """Lines and the layers that they fish: metres, seconds, metres a second.

    Parameters
    ----------
    lines
        What the team carries.
    layers_m
        The lower edges of all layers but the deepest, increasing.
    useful
        What part of the overrun depth flies usefully work at (common practice, no
        source).
    doubt
        A nominal sink rate is good to so large a share of itself (common practice).
    cast_m
        How far rods cast when it is about depth.
    """

    lines: tuple[Line, ...] = LINES
    layers_m: tuple[float, ...] = (3 * FOOT_M, 8 * FOOT_M, 15 * FOOT_M)
    useful: float = 0.6
    doubt: float = 0.25
    cast_m: float = 25 * YARD_M


@dataclass(frozen=True, slots=True)
class DepthRules:
    """How deep the water is told.

    Parameters
    ----------
    below_full_m
        How far the level is now below the one that soundings are told from.
    bands_m
        The edges between bands of water depth, increasing.
    """

    below_full_m: float = 0.0
    bands_m: tuple[float, ...] = (8 * FOOT_M, 15 * FOOT_M, 25 * FOOT_M)
