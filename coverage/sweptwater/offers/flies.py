"""Which layer a rod's flies fished, as far as its set-up and the drift tell."""

import re
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import isfinite

import numpy as np

from sweptwater.offers.casts import Cast, FlyPath, fly_path
from sweptwater.practice.tackle import INCH_M, Line, TackleRules
from sweptwater.practice.tally import SetUp
from sweptwater.units import FOOT_M, System, band_names

USUAL_DRIFT_M_S, DRIFTS_M_S = 0.3, (0.15, 0.45)
"""How fast boats drift in force 4, and most of them in any wind that is fished: what
open boats do (see `plan.leeway`), for drifts of which nobody knows."""

USUAL_RETRIEVE_M_S, RETRIEVES_M_S = 0.2, (0.0, 1.2)
"""How fast flies are worked where nobody told (common practice, no source)."""

SLOWEST_M_S = 0.02
"""A boat that drifts more slowly is taken to drift at this."""

MOMENTS = 65
"""At so many moments a cast is looked at for its middle depth."""

WORDS_SPREAD = (0.5, 1.5)
"""What one rod calls slow another calls steady: so many times as fast, either way."""

WORDS_M_S: Mapping[str, float] = {
    **dict.fromkeys(("static", "hang", "hanging", "hung", "still", "dead"), 0.0),
    **dict.fromkeys(("very slow", "dead slow", "creeping", "crawl"), 0.05),
    **dict.fromkeys(("figure of eight", "figure of 8", "figure eight"), 0.1),
    **dict.fromkeys(("fig of eight", "fig of 8", "fig 8", "fo8", "slow"), 0.1),
    **dict.fromkeys(("steady", "medium", "draws", "long draws", "slow pulls"), 0.25),
    **dict.fromkeys(("fast", "quick", "strip", "stripping", "stripped"), 0.6),
    **dict.fromkeys(("pull", "pulls", "pulled", "pulling"), 0.5),
    **dict.fromkeys(("roly poly", "rolypoly", "hand over hand"), 0.8),
    **dict.fromkeys(("very fast", "flat out"), 1.0),
}
"""How fast line is taken in, by the words for it (common practice, no source)."""

_RATE = re.compile(
    r"(\d+(?:[.,]\d+)?)\s*(?:ips|in\.?\s*(?:/|per|a)\s*s(?:ec(?:ond)?)?"
    r"|inch(?:es)?\s*(?:/|per|a)\s*s(?:ec(?:ond)?)?)\b"
)
_CLASS = re.compile(r"(?:class|type|sink(?:er|ing)?)\s*([1-8])(?!\s*\d)")


@dataclass(frozen=True, slots=True)
class LayerFished:
    """The depth at which a rod's flies were worked: m.

    Parameters
    ----------
    layer, name
        Which layer the middle lies in, 0 at the top, and what it is called.
    middle_m, low_m, high_m
        Where the fly was for most of its work; and how shallow and how deep that may
        have been, by the doubt of the line's rate and by what was not told.
    sure
        Whether all of that lies in one layer.
    not_told
        What had to be supposed: `count`, `retrieve`, `speed`.
    """

    layer: int
    name: str
    middle_m: float
    low_m: float
    high_m: float
    sure: bool
    not_told: tuple[str, ...] = ()


def layer_of(
    setup: SetUp,
    drift_speed_m_s: float | None,
    tackle: TackleRules,
    system: System = "imperial",
) -> LayerFished | None:
    """Return the layer that a rod's flies fished; None if its line was not told.

    A floating line fishes the top layer. With any other the fly is taken to be worked
    from the end of the count, for the share `useful` of what the cast then lasts, and
    the depth is the middle one of that time. Without a count it may be worked from
    landing on, or be let sink to the useful depth: half-way between the two. The range
    takes in the doubt of the line's rate and of the words for a retrieve, and the whole
    usual range of what was not told.

    Parameters
    ----------
    drift_speed_m_s
        How fast the boat drifted; None if nobody knows.
    system
        The units in which the layer is called.

    Examples
    --------
    >>> told = SetUp("3 in/s", count_s=10, retrieve="steady")
    >>> found = layer_of(told, 0.4, TackleRules())
    >>> found.name, round(found.middle_m, 1), found.sure
    ('3-8 ft', 1.8, True)
    >>> layer_of(SetUp("floating"), None, TackleRules()).name
    '0-3 ft'
    >>> layer_of(SetUp("my uncle's"), 0.4, TackleRules()) is None
    True
    """
    line = line_of(setup, tackle)
    if line is None:
        return None
    names = layer_names(tackle, system)
    if line.sink_m_s == 0:
        return _afloat(setup, tackle, names)
    known = drift_speed_m_s is not None and isfinite(drift_speed_m_s)
    usual_m_s = (drift_speed_m_s or SLOWEST_M_S) if known else USUAL_DRIFT_M_S
    drifts_m_s = (usual_m_s,) if known else DRIFTS_M_S
    told_m_s = retrieve_m_s(setup.retrieve)
    pulls_m_s = (
        RETRIEVES_M_S
        if told_m_s is None
        else tuple(factor * told_m_s for factor in WORDS_SPREAD)
    )
    rates_m_s = [(1 + sign * tackle.doubt) * line.sink_m_s for sign in (-1, 1)]
    count_s = setup.count_s
    # A fly is highest with the slowest line pulled in fastest, and the other way round.
    ends = [
        depth_m
        for rate_m_s, pull_m_s in zip(rates_m_s, reversed(pulls_m_s), strict=True)
        for drift_m_s in drifts_m_s
        for depth_m in _worked_m(tackle, rate_m_s, drift_m_s, pull_m_s, count_s)
    ]
    pull_m_s = USUAL_RETRIEVE_M_S if told_m_s is None else told_m_s
    usual = list(_worked_m(tackle, line.sink_m_s, usual_m_s, pull_m_s, count_s))
    middle_m = sum(usual) / len(usual)
    low_m, high_m = min(*ends, middle_m), max(*ends, middle_m)
    layers = [layer_at(depth_m, tackle) for depth_m in (low_m, middle_m, high_m)]
    supposed = {
        "count": count_s is None,
        "retrieve": told_m_s is None,
        "speed": not known,
    }
    return LayerFished(
        layer=layers[1],
        name=names[layers[1]],
        middle_m=middle_m,
        low_m=low_m,
        high_m=high_m,
        sure=layers[0] == layers[2],
        not_told=tuple(word for word, is_so in supposed.items() if is_so),
    )


def layer_names(tackle: TackleRules, system: System = "imperial") -> tuple[str, ...]:
    """Return what the layers are called, from the top one down.

    Examples
    --------
    >>> layer_names(TackleRules())
    ('0-3 ft', '3-8 ft', '8-15 ft', '15+ ft')
    >>> layer_names(TackleRules(layers_m=(1, 2.5, 5)), "metric")
    ('0-1 m', '1-2.5 m', '2.5-5 m', '5+ m')
    """
    unit_m, unit = (FOOT_M, "ft") if system == "imperial" else (1.0, "m")
    return band_names([edge_m / unit_m for edge_m in tackle.layers_m], unit)


def layer_at(depth_m: float, tackle: TackleRules) -> int:
    """Return the layer that a depth lies in, 0 at the top; an edge is the upper one's.

    Examples
    --------
    >>> tackle = TackleRules(layers_m=(1.0, 3.0))
    >>> [layer_at(depth_m, tackle) for depth_m in (0, 1, 2, 9)]
    [0, 0, 1, 2]
    """
    return bisect_left(tackle.layers_m, depth_m)


def line_of(setup: SetUp, tackle: TackleRules) -> Line | None:
    """Return the line that a rod fished; None if nobody told, or nobody knows it.

    The rate that was told counts before the line's name.

    Examples
    --------
    >>> line_of(SetUp("Floater"), TackleRules()).sink_m_s
    0.0
    >>> line_of(SetUp(sink_in_s=5), TackleRules()).name
    '5 in/s'
    """
    if setup.sink_in_s is not None:
        return Line(setup.line or f"{setup.sink_in_s:g} in/s", setup.sink_in_s * INCH_M)
    return line_named(setup.line, tackle.lines) if setup.line else None


def line_named(text: str, lines: Iterable[Line]) -> Line | None:
    """Return the line that is meant: one of some, or by the rate in its name.

    Capitals do not matter, and the beginnings of a name's words will do; of several,
    the one with the shortest name is meant.

    Examples
    --------
    >>> rates = (line_named(word, TackleRules().lines) for word in ("inter", "3ips"))
    >>> [round(line.sink_m_s / INCH_M, 2) for line in rates]
    [1.5, 3.0]
    """
    lines = tuple(lines)
    said = " ".join(text.casefold().split())
    for line in lines:
        if line.name.casefold() == said:
            return line
    if re.match(r"(float|dry line)", said):
        nought = (line for line in lines if line.sink_m_s == 0)
        return next(nought, Line("floating", 0.0))
    if found := _RATE.search(said) or _CLASS.search(said):
        return Line(text, float(found[1].replace(",", ".")) * INCH_M)
    words = _words(said)
    meant = [line for line in lines if words and _begins(words, line.name)]
    meant.sort(key=lambda line: len(line.name.split()))
    clear = len(meant) == 1 or (
        len(meant) > 1 and len(meant[0].name.split()) < len(meant[1].name.split())
    )
    return meant[0] if clear else None


def retrieve_m_s(text: str) -> float | None:
    """Return how fast line is taken in by a retrieve in words; None if none is known.

    The longest of the known words in it counts.

    Examples
    --------
    >>> retrieve_m_s("slow figure-of-eight"), retrieve_m_s("roly-poly")
    (0.1, 0.8)
    >>> retrieve_m_s(""), retrieve_m_s("as my father did")
    (None, None)
    """
    said = f" {' '.join(_words(text))} "
    known = [word for word in WORDS_M_S if f" {word} " in said]
    return WORDS_M_S[max(known, key=len)] if known else None


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", text.casefold())


def _begins(words: list[str], name: str) -> bool:
    """Return whether all words are the beginnings of a name's words."""
    there = _words(name)
    return all(any(word.startswith(part) for word in there) for part in words)


def _afloat(setup: SetUp, tackle: TackleRules, names: tuple[str, ...]) -> LayerFished:
    """Return what a floating line fishes: the top; with a count it may be more."""
    edges_m = tackle.layers_m
    counted = bool(setup.count_s)
    high_m = edges_m[min(1, len(edges_m) - 1)] if counted else edges_m[0]
    return LayerFished(
        layer=0,
        name=names[0],
        middle_m=edges_m[0] / 2,
        low_m=0.0,
        high_m=high_m,
        sure=not counted,
    )


def _worked_m(
    tackle: TackleRules,
    sink_m_s: float,
    drift_m_s: float,
    pull_m_s: float,
    count_s: float | None,
) -> Iterator[float]:
    """Yield the depths that a fly was worked at: one, or without a count two ends."""
    drift_m_s = max(drift_m_s, SLOWEST_M_S)
    told_s = count_s or 0.0
    path = fly_path(Cast(tackle.cast_m, sink_m_s, drift_m_s, told_s, pull_m_s))
    yield _middle_m(path, told_s, tackle.useful)
    if count_s is None:
        path = fly_path(Cast(tackle.cast_m, sink_m_s, drift_m_s))
        useful_s = tackle.useful * path.duration_s
        yield float(np.interp(useful_s, path.time_s, path.depth_m))


def _middle_m(path: FlyPath, from_s: float, share: float) -> float:
    """Return the middle depth from a time on, for a share of what is left of a cast."""
    from_s = min(from_s, path.duration_s)
    times_s = np.linspace(from_s, from_s + share * (path.duration_s - from_s), MOMENTS)
    depths_m = np.sort(np.interp(times_s, path.time_s, path.depth_m))
    return float(depths_m[MOMENTS // 2])
