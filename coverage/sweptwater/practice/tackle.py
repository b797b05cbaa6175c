"""Settings of tackle and of depth: lines by sink rate, layers, the water's level."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, TypeGuard

from sweptwater.errors import PracticeError
from sweptwater.practice.tables import ENDINGS, lengths, no_such_setting
from sweptwater.units import FOOT_M, YARD_M

INCH_M = 0.0254

FASTEST_IN_S = 15
"""No fly line sinks faster (common practice, no source)."""

MOST_EDGES = 8

SECTIONS: Mapping[str, Mapping[str, str]] = {
    "tackle": dict.fromkeys(("lines", "layers", "useful", "doubt", "cast"), ""),
    "depth": dict.fromkeys(("below_full", "bands"), ""),
}
"""The settings of each section."""


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


def parse_tackle(table: Mapping[str, Any]) -> TackleRules:
    """Return lines and layers as a section of the settings says.

    Raises
    ------
    PracticeError
        Naming the setting that is wrong, and what it may be.

    Examples
    --------
    >>> tackle = parse_tackle({"lines": {"floating": 0, "fast": 3}, "layers_m": [1, 3]})
    >>> [line.name for line in tackle.lines], tackle.layers_m
    (['floating', 'fast'], (1.0, 3.0))
    """
    usual = TackleRules()
    _check_names(table, "tackle", ("cast", "layers"), ("lines", "useful", "doubt"))
    cast = {key: value for key, value in table.items() if key.startswith("cast_")}
    return TackleRules(
        lines=_lines(table["lines"]) if "lines" in table else usual.lines,
        layers_m=_edges(table, "layers", "tackle", usual.layers_m),
        useful=_share(table, "useful", usual.useful, least=0.05, most=1.0),
        doubt=_share(table, "doubt", usual.doubt, least=0.0, most=0.9),
        **lengths(cast, {"cast": "cast_m"}, "tackle"),
    )


def parse_depth(table: Mapping[str, Any]) -> DepthRules:
    """Return how deep the water is told as a section of the settings says.

    Raises
    ------
    PracticeError
        Naming the setting that is wrong, and what it may be.

    Examples
    --------
    >>> parse_depth({"below_full_m": 0, "bands_m": [2, 5]})
    DepthRules(below_full_m=0.0, bands_m=(2.0, 5.0))
    """
    _check_names(table, "depth", ("below_full", "bands"), ())
    level = {key: value for key, value in table.items() if key.startswith("below_")}
    if [_is_number(value) and value == 0 for value in level.values()] == [True]:
        level = {}  # a full reservoir; other lengths are never 0
    return DepthRules(
        bands_m=_edges(table, "bands", "depth", DepthRules().bands_m),
        **lengths(level, {"below_full": "below_full_m"}, "depth"),
    )


def _check_names(
    table: Mapping[str, Any],
    section: str,
    measured: Sequence[str],
    words: Sequence[str],
) -> None:
    """Refuse a setting that there is not; those that are measured end in a unit."""
    where = f"[{section}] of practice.toml"
    spelled = [f"{name}{end}" for name in measured for end in ENDINGS["_m"]]
    for key in table:
        if key in spelled or key in words:
            continue
        for name in measured:
            if key == name or key.startswith(f"{name}_"):
                ways = " or ".join(f"{name}{end}" for end in ENDINGS["_m"])
                raise PracticeError(
                    f"{where} has {key!r}, which has no unit that fits: write {ways}"
                )
        raise PracticeError(
            no_such_setting(key, [*spelled, *words], where, [*spelled, *words])
        )


def _edges(
    table: Mapping[str, Any], name: str, section: str, usual: tuple[float, ...]
) -> tuple[float, ...]:
    """Return increasing depths in metres."""
    given = [key for key in table if key.startswith(f"{name}_")]
    if not given:
        return usual
    if len(given) > 1:
        raise PracticeError(
            f"[{section}] of practice.toml has both {given[0]} and {given[1]}: delete "
            "one of them"
        )
    key, values = given[0], table[given[0]]
    good = isinstance(values, list) and 1 <= len(values) <= MOST_EDGES
    if good and all(_is_number(value) and 0 < value < 1000 for value in values):
        unit_m = ENDINGS["_m"][key.removeprefix(name)]
        edges_m = tuple(unit_m * value for value in values)
        if all(one < two for one, two in pairwise(edges_m)):
            return edges_m
    raise PracticeError(
        f"[{section}] {key} must be depths from the top down in practice.toml, like "
        f"{key} = [3, 8, 15], not {values!r}"
    )


def _lines(told: object) -> tuple[Line, ...]:
    """Return lines by their rates in inches a second, the slowest first."""
    if isinstance(told, list):
        told = {_rate_name(rate): rate for rate in told}
    if not isinstance(told, dict) or not told:
        raise PracticeError(
            "[tackle] lines must be names with their sink rates in inches a second in "
            f'practice.toml, like lines = {{ "floating" = 0, "3 in/s" = 3 }}, not '
            f"{told!r}"
        )
    lines: dict[str, Line] = {}
    for name, rate in told.items():
        if not (_is_number(rate) and 0 <= rate <= FASTEST_IN_S):
            raise PracticeError(
                f"[tackle] lines: {name!r} must have its sink rate in inches a second "
                f"in practice.toml, from 0 to {FASTEST_IN_S}, not {rate!r}"
            )
        plain = " ".join(name.split())
        if not plain or plain.casefold() in lines:
            raise PracticeError(
                f"[tackle] lines has {name!r} twice or without a name in "
                "practice.toml: call each line by a name of its own"
            )
        lines[plain.casefold()] = Line(plain, rate * INCH_M)
    return tuple(sorted(lines.values(), key=lambda line: line.sink_m_s))


def _rate_name(rate: object) -> str:
    return "floating" if rate == 0 else f"{rate} in/s"


def _share(
    table: Mapping[str, Any], key: str, usual: float, *, least: float, most: float
) -> float:
    value = table.get(key, usual)
    if not (_is_number(value) and least <= value <= most):
        raise PracticeError(
            f"[tackle] {key} must be a number from {least:g} to {most:g} in "
            f"practice.toml, like {usual:g}, not {value!r}"
        )
    return float(value)


def _is_number(value: object) -> TypeGuard[int | float]:
    return isinstance(value, int | float) and not isinstance(value, bool)
