"""A page's map as a PNG, which any chat program shows.

It is the static drawing with its heading and its legend, in typefaces that come with
matplotlib: the same on every machine.
"""

from importlib.util import find_spec
from pathlib import Path

import resvg_py
from shapely.geometry.base import BaseGeometry

from sweptwater.paper.drawing import render_drawing
from sweptwater.paper.layers import Page

WIDTH_PX = 720.0
"""Of the drawing: its letters are read at arm's length on a phone held upright."""

SHARPNESS = 1.5
"""Pixels of the picture for each of the drawing."""

_FACES = (
    *("DejaVuSans.ttf", "DejaVuSans-Bold.ttf"),
    *("DejaVuSerif.ttf", "DejaVuSerif-Bold.ttf"),
)


def render_picture(
    page: Page,
    *,
    around: BaseGeometry | None = None,
    wind_to_deg: float | None = None,
) -> bytes:
    """Return a page's map with its heading and legend as a PNG, 1,080 pixels wide.

    The same page is always the same picture.

    Parameters
    ----------
    around
        What the map has to show, in degrees, where that is less than all areas.
    wind_to_deg
        Where the wind blows to, for an arrow in a corner.

    Examples
    --------
    >>> page = Page(title="Pool", lead="", date_line="", units="metric")
    >>> render_picture(page)[1:4]
    b'PNG'
    """
    drawing = render_drawing(
        page, width_px=WIDTH_PX, around=around, wind_to_deg=wind_to_deg
    )
    return resvg_py.svg_to_bytes(
        svg_string=drawing,
        zoom=SHARPNESS,
        skip_system_fonts=True,
        font_files=[str(_faces() / name) for name in _FACES],
        sans_serif_family="DejaVu Sans",
        serif_family="DejaVu Serif",
        font_family="DejaVu Sans",
    )


def _faces() -> Path:
    """Return the folder of matplotlib's typefaces, without loading matplotlib."""
    found = find_spec("matplotlib")
    if found is None or not found.submodule_search_locations:
        raise ModuleNotFoundError("matplotlib is not installed", name="matplotlib")
    return Path(found.submodule_search_locations[0], "mpl-data", "fonts", "ttf")
