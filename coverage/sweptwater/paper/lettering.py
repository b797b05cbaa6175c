"""Text in a drawing: made harmless, measured without a font, broken and written.

Whoever opens a drawing has other fonts than its maker, so widths are upper bounds:
what is laid out by them is never wider when it is drawn.
"""

import unicodedata
from functools import lru_cache
from typing import Literal, TypeAlias

from markupsafe import Markup

SANS = "system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif"
SERIF = "Charter, 'Iowan Old Style', Cambria, Georgia, serif"

Anchor: TypeAlias = Literal["start", "middle", "end"]

LINE = 1.28
"""Height of a line of text, in sizes of its letters."""

HALO = 3.0
"""Width in pixels of the white around letters, on both sides together."""

# The widest of five free typefaces in bold (among them DejaVu Sans and DejaVu Serif,
# which few are wider than), as a browser measured them, in ems.
_CLASSES = {
    0.42: " '|/\\,.:;ijl-",
    0.50: "!()[]Ift",
    0.62: '"*rJ_szc?`',
    0.71: "aeovxyk0123456789$",
    0.90: "ABCDEFGKOPQRTVXYZ",
    0.98: "HNUw#+<=>~^",
    1.16: "&@%mMW\u2014\u2026",
}
_WIDTHS = {letter: width for width, letters in _CLASSES.items() for letter in letters}
_ACCENT, _USUAL, _WIDEST = 0.1, 0.76, 1.4
_PLAIN = 0.91
"""Letters that are not bold are narrower by this."""


def clean(text: str) -> str:
    """Return text on one line, with nothing in it that XML cannot hold.

    Characters outside XML 1.0 (section 2.2, ``Char``), lone surrogates among them,
    become the replacement character; any white space becomes one space.

    Examples
    --------
    >>> clean("Stony  point" + chr(10) + chr(0) + chr(0xD800))
    'Stony point \ufffd\ufffd'
    """
    spaced = " ".join(text.split())
    return "".join(letter if _is_xml(ord(letter)) else "\ufffd" for letter in spaced)


def text_width(text: str, size: float, *, bold: bool = True) -> float:
    """Return a width in pixels that a text will not exceed.

    Parameters
    ----------
    size
        Of the letters, in pixels.

    Examples
    --------
    >>> text_width("12", 10), text_width("", 10)
    (14.2, 0.0)
    """
    ems = sum(map(_letter_width, unicodedata.normalize("NFD", text)))
    return round(ems * size * (1 if bold else _PLAIN), 2) + 0.0


def shortened(text: str, size: float, *, most: float, bold: bool = True) -> str:
    """Return a text, or as much of it as fits into a width in pixels, and an ellipsis.

    Examples
    --------
    >>> shortened("The old boathouse", 10, most=80)
    'The old bo\u2026'
    """
    if text_width(text, size, bold=bold) <= most:
        return text
    kept = text
    while kept and text_width(f"{kept}\u2026", size, bold=bold) > most:
        kept = kept[:-1].rstrip()
    return f"{kept}\u2026"


def wrapped(text: str, size: float, *, most: float, bold: bool = False) -> list[str]:
    """Return the lines of a text that is to be no wider than so many pixels.

    Lines are broken at spaces, and within a word that is wider than a line. One
    character is a line even if it is wider.

    Examples
    --------
    >>> wrapped("a boat reaches 28 yd", 10, most=90)
    ['a boat reaches', '28 yd']
    >>> wrapped("", 10, most=90)
    []
    """
    lines: list[str] = []
    for word in text.split():
        if lines and _fits(f"{lines[-1]} {word}", size, most, bold):
            lines[-1] = f"{lines[-1]} {word}"
            continue
        while not _fits(word, size, most, bold):
            fit = next(
                (
                    n
                    for n in range(len(word), 1, -1)
                    if _fits(word[:n], size, most, bold)
                ),
                1,
            )
            if fit == len(word):
                break
            lines.append(word[:fit])
            word = word[fit:]
        lines.append(word)
    return lines


def text_svg(
    text: str,
    x: float,
    y: float,
    *,
    size: float,
    fill: str,
    bold: bool = False,
    serif: bool = False,
    anchor: Anchor = "start",
    halo: bool = False,
) -> Markup:
    """Return a line of text whose baseline begins, ends or is centred at a place."""
    styles = Markup(' font-weight="700"') if bold else Markup()
    if serif:
        styles += Markup(' font-family="{}"').format(SERIF)
    if anchor != "start":
        styles += Markup(' text-anchor="{}"').format(anchor)
    if halo:
        styles += Markup(
            ' stroke="#fff" stroke-width="{:g}" stroke-linejoin="round" '
            'paint-order="stroke"'
        ).format(HALO)
    return Markup(
        '<text x="{:g}" y="{:g}" font-size="{:g}" fill="{}"{}>{}</text>'
    ).format(round(x, 1), round(y, 1), size, fill, styles, clean(text))


def _fits(text: str, size: float, most: float, bold: bool) -> bool:
    return text_width(text, size, bold=bold) <= most


def _is_xml(code: int) -> bool:
    return (
        0x20 <= code <= 0x7E
        or 0xA0 <= code <= 0xD7FF
        or 0xE000 <= code <= 0xFFFD
        or 0x10000 <= code <= 0x10FFFF
    )


@lru_cache(maxsize=4096)
def _letter_width(letter: str) -> float:
    if letter in _WIDTHS:
        return _WIDTHS[letter]
    if unicodedata.category(letter) in ("Mn", "Me", "Cf"):
        return _ACCENT  # also what steers the direction of writing, and has no width
    if letter.isascii():
        return _USUAL
    # A ligature may be as wide as all of its letters.
    return _WIDEST * max(len(unicodedata.normalize("NFKD", letter)) / 2, 1.0)
