"""How things look on paper: the palette, and a look as Leaflet and SVG want it.

Every look can be told from the others without colour, by its hatching, its line or
its symbol, so that a grey print says the same as the screen.

References
----------
Marks, pieces and plans take hues of the palette of Okabe and Ito ("Color universal
design", 2008), which people with any common colour blindness can tell apart. Swept
water is a scale of one hue in even steps of lightness, dark for often.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from markupsafe import Markup

Pattern: TypeAlias = Literal[
    "plain",
    "lines",
    "close-lines",
    "falling",
    "upright",
    "level",
    "cross",
    "dots",
    "sparse-dots",
    "double",
]
RateClass: TypeAlias = Literal["surely fewer", "fewer", "about", "more", "surely more"]
Symbol: TypeAlias = Literal["circle", "square", "triangle", "diamond", "cross"]

_TILES: dict[Pattern, tuple[int, str, int]] = {
    "plain": (8, "", 0),
    "lines": (9, "M0 0V9", 45),
    "close-lines": (5, "M0 0V5", 45),
    "cross": (7, "M0 0V7M0 0H7", 45),
    "dots": (7, "M2 3.5a1.3 1.3 0 1 0 2.6 0a1.3 1.3 0 1 0 -2.6 0", 45),
    "sparse-dots": (8, "M2.2 4a1.8 1.8 0 1 0 3.6 0a1.8 1.8 0 1 0 -3.6 0", 45),
    "falling": (6, "M0 0V6", -45),
    "upright": (6, "M3 0V6", 0),
    "level": (6, "M0 3H6", 0),
    "double": (11, "M2 0V11M5 0V11", -45),
}
"""The width of a tile, its path, and by how many degrees it is turned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How one thing is drawn: its line, its filling, its ends or its symbol.

    Parameters
    ----------
    stroke, fill, ink
        Colours as ``#rrggbb``, of the line, the filling and the pattern; an empty
        text is no line, no filling, and a pattern in the colour of the line.
    weight, radius
        Width of the line and size of the symbol, in pixels of the screen.
    fill_opacity
        Of filling and pattern together, 0 to 1.
    dash
        Lengths of dashes and gaps in pixels, as SVG's ``stroke-dasharray``.
    pattern
        What is drawn over the filling.
    arrow
        Whether a line begins with a dot and ends with an arrowhead.
    symbol
        How a point is drawn.
    """

    stroke: str = ""
    weight: float = 1.0
    dash: str = ""
    fill: str = ""
    fill_opacity: float = 1.0
    pattern: Pattern = "plain"
    ink: str = ""
    arrow: bool = False
    symbol: Symbol = "circle"
    radius: float = 6.0

    @property
    def filled(self) -> bool:
        """Whether anything is drawn inside the outline."""
        return bool(self.fill) or self.pattern != "plain"

    @property
    def paint(self) -> str:
        """The SVG paint of the filling."""
        return self.fill if self.pattern == "plain" else f"url(#{self._pattern_id})"

    @property
    def ends(self) -> str:
        """The CSS class that gives a line its dot and arrowhead, if any."""
        return f"ends-{self.stroke[1:]}" if self.arrow else ""

    @property
    def _ink(self) -> str:
        return self.ink or self.stroke

    @property
    def _pattern_id(self) -> str:
        return f"{self.pattern}-{self.fill[1:] or 'clear'}-{self._ink[1:]}"


LAND = "#f0ece2"
INK = "#16222b"
CALL = "#c24e00"  # vermillion, a shade darker so that text in it can be read

MORE_INK, FEWER_INK = "#0b4f7d", "#a84300"
"""Of rates above and below the others; where they stand tells it too."""

WATER = Look(stroke="#5b7482", weight=1.2, fill="#e6eff2")
SWEPT_ONCE = Look(fill="#bcd7e1", pattern="lines", ink="#92bccb")
SWEPT_TWICE = Look(fill="#7fb3c8", pattern="close-lines", ink="#4e8ca6")
SWEPT_OFTEN = Look(fill="#4a8ba8", pattern="cross", ink="#2b6482")
SWEPT = (SWEPT_ONCE, SWEPT_TWICE, SWEPT_OFTEN)
"""Water that one, two, and three or more drifts have swept."""

RANKED = (
    SWEPT_OFTEN,
    SWEPT_TWICE,
    SWEPT_ONCE,
    Look(fill="#d6e7ec", pattern="level", ink="#a5c3cd"),
)
"""Water by its last day, the latest first, or by how deep flies were in it, the deepest
first: older, or higher, is lighter."""

REST = Look(fill="#e6e6de", pattern="dots", ink="#b4b5a8")
"""Water that is fished and none of those: before, or not told."""

PAIRS = (
    Look(fill="#6fb1de", pattern="lines", ink="#0b4f7d"),
    Look(fill="#c3e8da", pattern="falling", ink="#00785a"),
    Look(fill="#b5568d", pattern="upright", ink="#6d2550"),
    Look(fill="#d6d6d6", pattern="level", ink="#4a4a4a"),
    Look(fill="#2f7896", pattern="cross", ink="#c3e6f8"),
    Look(fill="#e6e0b8", pattern="dots", ink="#5c5a2c"),
)
"""Water that one pair alone has swept, pair by pair; then from the first again."""

LIGHTS: Mapping[str, Look] = {
    "bright": Look(fill="#fcfcf6", pattern="level", ink="#6f6b3c"),
    "broken": Look(fill="#bfd8c8", pattern="lines", ink="#4f8468"),
    "dull": Look(fill="#8e9aa8", pattern="upright", ink="#3d4956"),
}
"""Water that was fished in one light alone: the duller the darker."""

SEVERAL = SWEPT_OFTEN
"""Water that several pairs have swept, or several lights have seen swept."""

REMEMBERED = Look(
    stroke="#123c53", weight=1.2, dash="5 3", fill="#ffffff", pattern="double"
)
"""Water that only memory knows to be swept: hatched in double lines on white."""

REMEMBERED_DRIFT = Look(stroke="#123c53", weight=1.4, dash="7 5", arrow=True)
UNFISHED = Look(stroke=CALL, weight=1.8, fill="#ffe9b0", pattern="sparse-dots")
UNFISHED_BIT = replace(UNFISHED, weight=0.6)
UNDER_WAY = Look(stroke="#6a6a6a", weight=1.1, dash="1 4")
OUT_OF_BOUNDS = Look(
    stroke="#5a4a4a", weight=1.5, fill="#dcd6d2", pattern="cross", ink="#7d6a6a"
)
ANGLERS = Look(
    stroke="#7a4b00", weight=4, dash="2 4", fill="#f3e3c3", pattern="upright"
)
SECTOR = Look(stroke="#2b2140", weight=3, dash="11 6")
BANK = Look(stroke="#00694d", weight=2.5, dash="1 5")
DRIFT = Look(stroke="#33566b", weight=0.9, arrow=True)
EARLIER_DRIFT = Look(stroke="#3d7691", weight=0.5)
PLANNED = Look(stroke="#8a2f63", weight=2.1, arrow=True)
"""A drift to come: a bold whole line, where a fished one is a hair."""

OFFER = Look(stroke="#3d2a00", weight=1.5, fill="#e69f00", symbol="diamond", radius=6)
OFFER_ON_DRIFT = replace(OFFER, fill="#ffffff", stroke="#6b4a00", weight=1.8)
"""Offers of which only the drift is known, half-way along it."""

LOOSE_OFFER = Look(stroke="#3d2a00", weight=1.4, dash="2 4", pattern="double")
"""Where offers may have been that were told of no one drift."""

RATES: Mapping[RateClass, Look] = {
    "surely fewer": Look(
        stroke="#7a3b00", weight=1.4, fill="#e3a765", pattern="dots", ink="#7a3b00"
    ),
    "fewer": Look(fill="#f6e3cc", pattern="level", ink="#c08a50"),
    "about": Look(fill="#f4f4ee", stroke="#a9a99c", weight=0.6, dash="2 3"),
    "more": Look(fill="#c3e0f0", pattern="lines", ink="#5d9cc0"),
    "surely more": Look(
        stroke="#0b3d61", weight=1.4, fill="#3f83b0", pattern="cross", ink="#0b3d61"
    ),
}
"""Water by its rate against that of all: what is sure has an edge and a dense pattern,
more is hatched and blue, fewer dotted or level and brown."""

LIKELY = (
    Look(fill="#f4f4ee", stroke="#a9a99c", weight=0.6, dash="2 3"),
    Look(fill="#efe3ef", pattern="dots", ink="#b79bb7"),
    Look(fill="#d8b9d8", pattern="level", ink="#8f5c8f"),
    Look(stroke="#4d1f4d", weight=1.2, fill="#a86aa8", pattern="cross", ink="#4d1f4d"),
)
"""Water by how likely fish are that nobody has met: the darker the likelier."""

GO_TO = Look(stroke="#1c1030", weight=2.6, dash="8 3")
"""Water to go to next."""

FIND = Look(stroke="#ffffff", weight=1.5, fill="#00694d", symbol="diamond", radius=8)
FIND_IN_DOUBT = replace(FIND, fill="#ffffff", stroke="#00694d", weight=2)
"""Finds: those in doubt are open."""

JETTY = Look(stroke="#ffffff", weight=1.5, fill=INK, symbol="square", radius=6)
MARK = Look(stroke="#ffffff", weight=1.2, fill=INK, symbol="triangle", radius=6)


def swept(drifts_over: int) -> Look:
    """Return the look of water that so many separate drifts have swept.

    Examples
    --------
    >>> swept(1) == SWEPT_ONCE, swept(7) == SWEPT_OFTEN
    (True, True)
    """
    return SWEPT[min(max(drifts_over, 1), len(SWEPT)) - 1]


def offer(count: int, *, sure: bool = True) -> Look:
    """Return the look of so many offers at one place: its area grows as they do.

    Parameters
    ----------
    sure
        Whether the place is known; else the mark is open.

    Examples
    --------
    >>> offer(1).radius, offer(4).radius, offer(400).radius
    (4.5, 9.0, 15.0)
    """
    look = OFFER if sure else OFFER_ON_DRIFT
    return replace(look, radius=min(round(4.5 * max(count, 1) ** 0.5, 1), 15.0))


def leaflet_style(look: Look) -> dict[str, bool | float | str]:
    """Return a look as the path options of Leaflet."""
    return {
        "stroke": bool(look.stroke),
        "color": look.stroke or INK,
        "weight": look.weight,
        "opacity": 1,
        "dashArray": look.dash,
        "fill": look.filled,
        "fillColor": look.paint or LAND,
        "fillOpacity": look.fill_opacity,
        "className": look.ends,
        "symbol": look.symbol,
        "radius": look.radius,
    }


def svg_definitions(looks: Iterable[Look]) -> Markup:
    """Return what the looks need to be defined once a page: patterns and line ends.

    The drawing that holds it may be empty but must not be ``display: none``.
    """
    once = dict.fromkeys(looks)
    patterns = dict.fromkeys(_pattern(look) for look in once if look.pattern != "plain")
    ends = dict.fromkeys(_ends(look) for look in once if look.arrow)
    return Markup("").join([*patterns, *ends])


def swatch(look: Look, kind: Literal["area", "line", "point"]) -> Markup:
    """Return a small drawing of a look for the legend."""
    if kind == "point":
        shape = Markup('<path d="{}"{}/>').format(
            symbol_path(look.symbol, x=18, y=11, radius=look.radius), _paint(look)
        )
    elif kind == "line" or not look.filled:
        shape = Markup('<path d="M3 15C12 5 21 17 32 8" class="{}"{}/>').format(
            look.ends, _paint(look, filled=False)
        )
    else:
        shape = Markup('<rect x="2" y="2" width="32" height="18" rx="2"{}/>').format(
            _paint(look)
        )
    return Markup(
        '<svg class="swatch" viewBox="0 0 36 22" width="36" height="22" '
        'aria-hidden="true">{}</svg>'
    ).format(shape)


def symbol_path(symbol: Symbol, *, x: float, y: float, radius: float) -> str:
    """Return the SVG path of a point's symbol, as page.js draws it on the map."""
    r = radius
    return {
        "circle": f"M{x - r} {y}a{r} {r} 0 1 0 {2 * r} 0a{r} {r} 0 1 0 {-2 * r} 0z",
        "square": f"M{x - r} {y - r}h{2 * r}v{2 * r}h{-2 * r}z",
        "triangle": f"M{x} {y - r}l{r} {2 * r}h{-2 * r}z",
        "diamond": f"M{x} {y - r}l{r} {r}l{-r} {r}l{-r} {-r}z",
        "cross": f"M{x - r} {y - r}l{2 * r} {2 * r}m0 {-2 * r}l{-2 * r} {2 * r}",
    }[symbol]


def _paint(look: Look, *, filled: bool = True) -> Markup:
    return Markup(
        ' fill="{}" fill-opacity="{}" stroke="{}" stroke-width="{}" '
        'stroke-dasharray="{}"'
    ).format(
        look.paint if filled and look.filled else "none",
        look.fill_opacity,
        look.stroke or "none",
        look.weight,
        look.dash or "none",
    )


def _pattern(look: Look) -> Markup:
    size, path, turn_deg = _TILES[look.pattern]
    ground = Markup('<rect width="{0}" height="{0}" fill="{1}"/>').format(
        size, look.fill
    )
    dotted = look.pattern in ("dots", "sparse-dots")
    drawn = 'fill="{}"' if dotted else 'stroke="{}" stroke-width="1.4"'
    return Markup(
        '<pattern id="{}" class="{}" width="{}" height="{}" '
        'patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({turn_deg})">{{}}<path d="{path}" {drawn}/>'
        "</pattern>"
    ).format(
        look._pattern_id,
        look.pattern,
        size,
        size,
        ground if look.fill else "",
        look._ink,
    )


def _ends(look: Look) -> Markup:
    return Markup(
        '<marker id="dot-{0}" viewBox="-2 -2 4 4" markerWidth="5" markerHeight="5" '
        'markerUnits="userSpaceOnUse"><circle r="2" fill="#{0}"/></marker>'
        '<marker id="arrow-{0}" viewBox="-8 -4.5 9 9" markerWidth="9" markerHeight="9" '
        'markerUnits="userSpaceOnUse" orient="auto"><path d="M-8 -4.5L1 0L-8 4.5z" '
        'fill="#{0}"/></marker><marker id="tip-{0}" viewBox="-8 -4.5 9 9" '
        'markerWidth="4" markerHeight="4" markerUnits="userSpaceOnUse" orient="auto">'
        '<path d="M-8 -4.5L1 0L-8 4.5z" fill="#{0}"/></marker>'
        "<style>.ends-{0}{{marker-start:url(#dot-{0});marker-end:url(#arrow-{0})}}"
        ".far .ends-{0}{{marker-start:none;marker-end:url(#tip-{0})}}</style>"
    ).format(look.stroke[1:])
