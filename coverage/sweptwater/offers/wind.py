"""The wind: as people say it, and as a plan uses it."""

import re
from dataclasses import dataclass

from sweptwater.errors import PracticeError
from sweptwater.units import (
    COMPASS_POINTS,
    KMH_M_S,
    KNOT_M_S,
    MPH_M_S,
    System,
    compass_point,
)

FORCES_FROM_M_S = (
    *(0.25, 1.55, 3.35, 5.45, 7.95, 10.75),
    *(13.85, 17.15, 20.75, 24.45, 28.45, 32.65),
)
"""From what speed on each Beaufort force is the next: 1 to 12."""

MOST_M_S = 60.0
"""No wind over water that anybody would write down blows harder than this."""

_UNITS_M_S = {
    **dict.fromkeys(("mph", "mi/h"), MPH_M_S),
    **dict.fromkeys(("kn", "kt", "kts", "knot", "knots"), KNOT_M_S),
    **dict.fromkeys(("m/s", "ms", "mps"), 1.0),
    **dict.fromkeys(("km/h", "kmh", "kph"), KMH_M_S),
}
_WORDS = {"north": "N", "south": "S", "east": "E", "west": "W"}
_NUMBER = r"\d+(?:[.,]\d+)?"
_RANGE = rf"(?P<low>{_NUMBER})(?:\s*(?:-|\u2013|/|to)\s*(?P<high>{_NUMBER}))?"
_POINT = r"(?P<point>[nesw](?:[-\s]?[nesw]){0,2})"
_DEGREES = rf"(?P<degrees>{_NUMBER})"
_UNIT = "|".join(sorted(_UNITS_M_S, reverse=True))
_BY_SPEED = re.compile(
    rf"(?:{_POINT}(?:[\s,]*(?:f|force)?\s*{_NUMBER}\s*\(|[\s,@]*)"
    rf"|{_DEGREES}\s*(?:[\s,@\u00b0]|deg)[\s,@]*){_RANGE}\s*(?P<unit>{_UNIT})\)?"
)
_BY_FORCE = re.compile(rf"{_POINT}[\s,]*(?:f|force|bft)?\s*{_RANGE}(?:\s*bft)?")
_BARE = re.compile(rf"(?:{_POINT}|{_DEGREES}.*)")
"""A start that people leave something out after."""

HOW = "write it like SW4, or 240@12mph"


@dataclass(frozen=True, slots=True)
class Wind:
    """A wind: where it comes from, and how hard it blows at 10 m above the water.

    Parameters
    ----------
    from_deg
        The bearing that it comes from, degrees clockwise from north.
    speed_m_s
        Its mean speed.

    Examples
    --------
    >>> Wind(from_deg=225, speed_m_s=6.7).downwind_deg
    45.0
    """

    from_deg: float
    speed_m_s: float

    @property
    def downwind_deg(self) -> float:
        """The bearing that it blows to."""
        return float((self.from_deg + 180) % 360)


def parse_wind(text: str) -> Wind:
    """Return the wind that a text means, always named by where it comes from.

    A compass point and a Beaufort force, or degrees or a point and a speed with its
    unit. Of two forces or speeds it is the middle; where both a force and a speed are
    told, the speed counts.

    Raises
    ------
    PracticeError
        If it means none, or one that nobody has met.

    Examples
    --------
    >>> parse_wind("SW4")
    Wind(from_deg=225.0, speed_m_s=6.688)
    >>> parse_wind("240 @ 10 m/s"), parse_wind("wsw 10 m/s").from_deg
    (Wind(from_deg=240.0, speed_m_s=10.0), 247.5)
    >>> parse_wind("SW 4-5") == parse_wind("SW 4.5"), parse_wind("calm").speed_m_s
    (True, 0.0)
    """
    said = " ".join(text.casefold().split())
    if said == "calm":
        return Wind(0.0, 0.0)
    for word, letter in _WORDS.items():
        said = said.replace(word, letter.casefold())
    if found := _BY_SPEED.fullmatch(said):
        speed_m_s = _UNITS_M_S[found["unit"]] * _middle(found["low"], found["high"])
        if speed_m_s > MOST_M_S:
            raise PracticeError(f"{text!r} is more wind than there is: {HOW}")
        return Wind(_from_deg(text, found["point"], found["degrees"]), speed_m_s)
    if found := _BY_FORCE.fullmatch(said):
        speed_m_s = _force_speed_m_s(text, found["low"], found["high"])
        return Wind(_from_deg(text, found["point"], None), speed_m_s)
    raise PracticeError(f"{text!r} {_lack(said)}: {HOW}")


def beaufort(speed_m_s: float) -> int:
    """Return the Beaufort force of a mean speed at 10 m.

    The published bounds leave 0.1 m/s between the forces; each force ends here in the
    middle of that, and the next begins there.

    References
    ----------
    World Meteorological Organization, Manual on Codes (WMO-No. 306), code table 1100.

    Examples
    --------
    >>> [beaufort(speed_m_s) for speed_m_s in (0.1, 3.3, 3.4, 32.7)]
    [0, 2, 3, 12]
    """
    return sum(speed_m_s >= least_m_s for least_m_s in FORCES_FROM_M_S)


def force_speed_m_s(force: float) -> float:
    """Return the mean speed at 10 m that a Beaufort force stands for: 0.836 B^1.5.

    Rather than the middle of a force's range, because it has a value for the half
    forces that people tell ("4 to 5"), and for 12, whose range has no end. From force
    1 to 11 it is within 0.13 m/s of the middle, and it lies in the range of each.

    References
    ----------
    The scale's equivalents of 1946 (from memory).

    Examples
    --------
    >>> round(force_speed_m_s(4), 3), round(force_speed_m_s(4.5), 3)
    (6.688, 7.98)
    """
    return float(0.836 * force**1.5)


def wind_text(wind: Wind, units: System = "imperial") -> str:
    """Return a wind as people on the water say it.

    Examples
    --------
    >>> wind_text(parse_wind("sw 4")), wind_text(Wind(225, 6.7), "metric")
    ('SW 4 (15 mph)', 'SW 4 (7 m/s)')
    >>> wind_text(parse_wind("calm"))
    'calm'
    """
    force = beaufort(wind.speed_m_s)
    if not force:
        return "calm"
    unit_m_s, unit = (MPH_M_S, "mph") if units == "imperial" else (1.0, "m/s")
    speed = f"{wind.speed_m_s / unit_m_s:.0f} {unit}"
    return f"{compass_point(wind.from_deg)} {force} ({speed})"


def _lack(said: str) -> str:
    """Return what is wrong with a text that is no wind."""
    found = _BARE.fullmatch(said)
    if not found:
        return "is no wind"
    if found["point"]:
        return "does not say how hard the wind blows"
    return "does not say a wind's speed with its unit"


def _from_deg(text: str, point: str | None, degrees: str | None) -> float:
    if point is None:
        bearing_deg = _number(degrees or "")
        if bearing_deg > 360:
            raise PracticeError(
                f"{text!r} is no wind, since degrees go from 0 to 360: {HOW}"
            )
        return bearing_deg % 360
    name = re.sub(r"[-\s]", "", point).upper()
    if name not in COMPASS_POINTS:
        raise PracticeError(
            f"{text!r} is no wind, since {name} is none of the sixteen compass "
            f"points: {HOW}"
        )
    return 22.5 * COMPASS_POINTS.index(name)


def _force_speed_m_s(text: str, low: str, high: str | None) -> float:
    if max(_number(low), _number(high or low)) > 12:
        raise PracticeError(
            f"{text!r} is no wind, since Beaufort's forces go from 0 to 12 and a speed "
            f"needs its unit: {HOW}"
        )
    return round(force_speed_m_s(_middle(low, high)), 6)


def _middle(low: str, high: str | None) -> float:
    return (_number(low) + _number(high or low)) / 2


def _number(text: str) -> float:
    return float(text.replace(",", "."))
