"""Lengths and speeds as people type them."""

import re

from sweptwater.errors import SweptwaterError
from sweptwater.units import (
    FOOT_M,
    KMH_M_S,
    KNOT_M_S,
    MPH_M_S,
    YARD_M,
)

_LENGTHS_M = {
    **dict.fromkeys(("yd", "yds", "yard", "yards"), YARD_M),
    **dict.fromkeys(("ft", "foot", "feet", "'"), FOOT_M),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1.0),
}
_A_MINUTE = ("min", "minute", "minutes")
_SPEEDS_M_S = {
    **dict.fromkeys(("m/s", "mps"), 1.0),
    **dict.fromkeys(("mph",), MPH_M_S),
    **dict.fromkeys(("km/h", "kmh", "kph"), KMH_M_S),
    **dict.fromkeys(("kn", "kt", "kts", "knot", "knots"), KNOT_M_S),
}
_MEASURE = re.compile(r"(\d+(?:[.,]\d+)?|[.,]\d+)\s*(.*)")
_EACH = re.compile(r"([a-z']+)\s*(?:/|\ba\b|\bper\b)\s*([a-z]+)\.?")


def parse_length_m(text: str, bare_m: float, *, what: str, like: str) -> float:
    """Return the length that a text means, in metres.

    Parameters
    ----------
    bare_m
        What a number without a unit counts.
    what, like
        What it is, and how to write it, for who writes it otherwise.

    Raises
    ------
    SweptwaterError
        If it means none.

    Examples
    --------
    >>> parse_length_m("15ft", 1.0, what="depth", like="15ft")
    4.572
    >>> parse_length_m("25", 0.9144, what="cast", like="25")
    22.86
    """
    if found := _MEASURE.fullmatch(text.strip().casefold()):
        unit_m = bare_m if not found[2] else _LENGTHS_M.get(found[2])
        if unit_m is not None and (number := _number(found[1])) > 0:
            return round(number * unit_m, 9)
    raise SweptwaterError(f"{text!r} is no {what}: write it like {like}")


def parse_speed_m_s(text: str) -> float:
    """Return the speed of a drift that a text means; a bare number is metres a second.

    Raises
    ------
    SweptwaterError
        If it means none.

    Examples
    --------
    >>> parse_speed_m_s("0.4"), round(parse_speed_m_s("24 yards a minute"), 3)
    (0.4, 0.366)
    """
    if found := _MEASURE.fullmatch(text.strip().casefold()):
        unit_m_s = _speed_unit_m_s(found[2])
        if unit_m_s is not None and (number := _number(found[1])) > 0:
            return number * unit_m_s
    raise SweptwaterError(
        f"{text!r} is no speed of a drift: write it like 24yd/min, or 0.4 for metres a "
        "second"
    )


def _speed_unit_m_s(unit: str) -> float | None:
    if not unit:
        return 1.0
    if unit in _SPEEDS_M_S:
        return _SPEEDS_M_S[unit]
    if (each := _EACH.fullmatch(unit)) and each[1] in _LENGTHS_M:
        if each[2] in _A_MINUTE:
            return _LENGTHS_M[each[1]] / 60
        if each[2] in ("s", "sec", "second"):
            return _LENGTHS_M[each[1]]
    return None


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def parse_gust_m_s(text: str) -> float:
    """Return how hard gusts blow, in metres a second.

    Raises
    ------
    SweptwaterError
        If the text means no such speed, or has no unit.

    Examples
    --------
    >>> round(parse_gust_m_s("24mph"), 3), parse_gust_m_s("11 m/s")
    (10.729, 11.0)
    """
    if found := _MEASURE.fullmatch(text.strip().casefold()):
        unit_m_s = _SPEEDS_M_S.get(found[2])
        if unit_m_s is not None and 0 < (speed := _number(found[1]) * unit_m_s) <= 60:
            return speed
    raise SweptwaterError(
        f"{text!r} does not say how hard gusts blow: write it like 24mph, 21kn or 11m/s"
    )
