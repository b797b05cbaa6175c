"""The sky and the wave, as people say them."""

import re
from typing import Literal, TypeAlias

from sweptwater.errors import PracticeError

Sky: TypeAlias = Literal["bright", "broken", "dull"]
"""How much of the day's light comes straight from the sun: all, some of it, none."""

SKIES: tuple[Sky, ...] = ("bright", "broken", "dull")

_WORDS: dict[str, Sky] = {
    **dict.fromkeys(("bright", "sunny", "sun", "clear", "cloudless", "blue"), "bright"),
    **dict.fromkeys(("broken", "mixed", "hazy", "patchy", "changeable"), "broken"),
    **dict.fromkeys(("sunny intervals", "sunny spells", "sun and cloud"), "broken"),
    **dict.fromkeys(("partly cloudy", "some cloud", "broken cloud"), "broken"),
    **dict.fromkeys(("dull", "overcast", "cloudy", "grey", "gray", "dark"), "dull"),
}
"""What people say for them (common practice, no source)."""


def parse_sky(text: str) -> Sky:
    """Return which sky a text means.

    Raises
    ------
    PracticeError
        If it means none.

    Examples
    --------
    >>> parse_sky("Bright"), parse_sky("sunny  intervals"), parse_sky("overcast")
    ('bright', 'broken', 'dull')
    """
    said = " ".join(re.sub(r"[-_,.]", " ", text.casefold()).split())
    if said in _WORDS:
        return _WORDS[said]
    raise PracticeError(
        f"{text!r} does not say how the sky was: write bright, broken or dull"
    )


def parse_wave(text: str) -> str:
    """Return the wave in the words that were used, without needless blanks.

    Raises
    ------
    PracticeError
        If there are none.

    Examples
    --------
    >>> parse_wave(" good  ripple ")
    'good ripple'
    """
    said = " ".join(text.split())
    if not said:
        raise PracticeError("there is no value of wave: fill it in")
    return said
