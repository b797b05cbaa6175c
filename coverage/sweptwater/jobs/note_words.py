"""What the value of a note means, kind by kind."""

import re
from math import floor

from sweptwater.errors import PracticeError, SweptwaterError
from sweptwater.jobs.measures import parse_length_m
from sweptwater.offers.noted import parse_drogue
from sweptwater.offers.sky import parse_sky
from sweptwater.offers.wind import parse_wind, wind_text
from sweptwater.units import FOOT_M, System, depth_text

CLEAREST_M = 50.0

COLDEST_C, WARMEST_C = -1.0, 40.0
SURELY_C, SURELY_F = 30.0, 40.0
"""Water of a bare number up to the one is told in C, and from the other on in F."""

WITHOUT_A_VALUE = ("stocked",)
"""What says something by its kind alone."""

_NAMES = {
    "temp_top": "water at the top",
    "temp_deep": "water deep down",
    "clarity_ft": "clarity",
    "other": "noted",
}
"""What kinds are called, where it is not by their own word."""

_WARMTH = re.compile(
    r"([-+]?\d+(?:[.,]\d+)?)\s*(?:\u00b0|deg(?:rees?)?)?\s*"
    r"(c(?:elsius)?|f(?:ahrenheit)?)?"
)


def meaning(kind: str, value: str, units: System) -> str:
    """Return what a note says, as a captain reads it.

    Raises
    ------
    PracticeError
        If it says nothing that its kind can mean.

    Examples
    --------
    >>> meaning("sky", "sunny", "imperial"), meaning("sky", "Dull", "imperial")
    ('sky bright (sunny)', 'sky dull')
    >>> meaning("temp_top", "58F", "metric"), meaning("clarity_ft", "2m", "imperial")
    ('water at the top 14.4 C (58 F)', 'clarity 7 ft')
    >>> meaning("stocked", "", "imperial"), meaning("boats", "4", "imperial")
    ('stocked', 'boats 4')
    """
    said = " ".join(value.split())
    if not said and kind not in WITHOUT_A_VALUE:
        raise PracticeError(f"there is no value of {kind}: say what it was")
    name = _NAMES.get(kind, kind)
    if kind == "wind":
        return f"wind {wind_text(parse_wind(said), units)}"
    if kind == "drogue":
        return f"drogue {parse_drogue(said)}"
    if kind == "sky":
        sky = parse_sky(said)
        return f"sky {sky}" if said.casefold() == sky else f"sky {sky} ({said})"
    if kind == "clarity_ft":
        return f"{name} {depth_text(clarity_m(said), units)}"
    if kind in ("temp_top", "temp_deep"):
        return f"{name} {_warmth_text(warmth_c(said))}"
    return f"{name} {said}".rstrip()


def clarity_m(text: str) -> float:
    """Return how deep one sees into the water; a bare number is in feet.

    Raises
    ------
    PracticeError
        If the text means no depth.

    Examples
    --------
    >>> clarity_m("1.5m"), clarity_m("10")
    (1.5, 3.048)
    """
    like = "6ft, or 1.8m"
    try:
        found_m = parse_length_m(text, FOOT_M, what="clarity of water", like=like)
    except SweptwaterError as error:
        raise PracticeError(str(error)) from error
    if found_m > CLEAREST_M:
        raise PracticeError(f"{text!r} is clearer than water is: write it like {like}")
    return found_m


def warmth_c(text: str) -> float:
    """Return the temperature of water that a text means, in degrees Celsius.

    Raises
    ------
    PracticeError
        If it means none, or may be in C or in F.

    Examples
    --------
    >>> warmth_c("14.5"), warmth_c("50F"), warmth_c("58 degrees") == warmth_c("58 f")
    (14.5, 10.0, True)
    """
    how = "write it like 14.5C, or 58F"
    found = _WARMTH.fullmatch(" ".join(text.casefold().split()))
    if not found:
        raise PracticeError(f"{text!r} is no temperature: {how}")
    number, unit = float(found[1].replace(",", ".")), (found[2] or "")[:1]
    if not unit and SURELY_C < number < SURELY_F:
        raise PracticeError(f"{text!r} may be in C or in F: {how}")
    in_f = unit == "f" or (not unit and number >= SURELY_F)
    warm_c = (number - 32) / 1.8 if in_f else number
    if not COLDEST_C <= warm_c <= WARMEST_C:
        raise PracticeError(f"{text!r} is no temperature of water: {how}")
    return warm_c


def _warmth_text(warm_c: float) -> str:
    return f"{warm_c:.1f} C ({floor(1.8 * warm_c + 32.5)} F)".replace(".0 C", " C")
