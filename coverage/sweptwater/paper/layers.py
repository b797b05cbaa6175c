"""What a page is made of: one list of layers for every way to draw it, and tables."""

from dataclasses import dataclass
from typing import Literal, TypeAlias, TypeVar

import numpy as np
import shapely
from markupsafe import Markup
from shapely import Point
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.paper.looks import Look
from sweptwater.units import System
from sweptwater.water.shapes import polygonal, valid

Labels: TypeAlias = Literal["none", "names", "numbers"]

Shape = TypeVar("Shape", bound=BaseGeometry)

PLACES = 6
"""Decimals of a degree on paper: 0.1 m."""

ROUGH_DEG = 2e-5
"""Shapes that are thinned by so much, 2 m, go with one decimal fewer."""


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing on the map.

    Parameters
    ----------
    shape
        In degrees, longitude first.
    label
        A short text or number, drawn if the layer shows labels.
    tip
        What a tap or the pointer brings up; lines are kept, the first is bold.
    key
        The key of the table rows that tell of the same thing. Where it has slashes,
        rows whose key ends in one tell of all things whose key begins so.
    look
        Instead of the layer's.
    link
        The id of what tells of it on the same page: in a drawing its number leads
        there. Empty on pages whose scripts do that.
    """

    shape: BaseGeometry
    label: str = ""
    tip: str = ""
    key: str = ""
    look: Look | None = None
    link: str = ""


@dataclass(frozen=True, slots=True)
class Layer:
    """Things drawn and switched together; later layers lie on top.

    Parameters
    ----------
    key
        Names the layer within the page, for scripts and styles.
    title
        For the switch and the legend.
    look
        Of each feature that has none of its own.
    shown
        Whether it is switched on when the page opens.
    labels
        Numbers are set in a box, and before any name where both want the same place.
    in_legend
        Whether the legend explains it.
    note
        A few words for the legend.
    view
        The key of the view that it belongs to, if it is not in all of them.
    """

    key: str
    title: str
    features: tuple[Feature, ...]
    look: Look
    shown: bool = True
    labels: Labels = "none"
    in_legend: bool = True
    note: str = ""
    view: str = ""


@dataclass(frozen=True, slots=True)
class View:
    """One of several ways to show the same thing, such as how often or by whom."""

    key: str
    title: str


@dataclass(frozen=True, slots=True)
class Column:
    """The head of a table's column; figures are set to the right."""

    title: str
    numeric: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table; its key links it with features, a total is set apart."""

    cells: tuple[str, ...]
    key: str = ""
    total: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table whose first column says what the row is about.

    Parameters
    ----------
    beside
        Whether it is narrow enough to stand beside the map on a wide screen.
    folded
        Whether it is long, and shows its rows only when asked for them.

    Raises
    ------
    ValueError
        If a row has more or fewer cells than there are columns.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    note: str = ""
    beside: bool = False
    folded: bool = False

    def __post_init__(self) -> None:
        for number, row in enumerate(self.rows, start=1):
            if len(row.cells) != len(self.columns):
                raise ValueError(
                    f"row {number} of the table '{self.title}' has {len(row.cells)} "
                    f"cells for {len(self.columns)} columns"
                )


@dataclass(frozen=True, slots=True)
class Finding:
    """Sentences under one heading, such as all that is clear."""

    title: str
    sentences: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A plot.

    Parameters
    ----------
    svg
        An element of its own, whose ids nothing else on the page has.
    width
        A narrow one may stand beside another.
    """

    title: str
    svg: Markup
    note: str = ""
    width: Literal["narrow", "wide"] = "narrow"


@dataclass(frozen=True, slots=True)
class Afloat:
    """What a page needs that shows a boat where it is.

    It tells of the layers `water`, `out-of-bounds`, `sectors` and `planned`.

    Parameters
    ----------
    instead
        What to do where the browser does not know: "load Heron.gpx into the handheld".
    keep_off_m
        How far to keep off what is out of bounds.
    words
        What to bear in mind of it, a sentence each.
    """

    instead: str
    keep_off_m: float
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A page: what to read first, plots, a map, a legend and tables.

    Parameters
    ----------
    lead
        One or two sentences: what the reader needs first.
    date_line
        The days and the settings that the figures rest on.
    missing
        What is not there yet and somebody has to bring, before anything else.
    facts
        Big figures, each with its caption.
    findings
        What the figures say in sentences, before anything is drawn.
    figures, figures_note
        Plots, before the map, and how to read all of them.
    views, views_title
        Ways to show the same thing, the first when the page opens, and what they have
        in common; none if there is one way only.
    cautions
        What the reader should doubt, before the tables.
    notes
        How to read the figures, after the tables.
    afloat
        What shows the boat where it is, on a page for a boat.
    units
        Of the scale bar.

    Raises
    ------
    ValueError
        If two layers share a key or a title, or one is of a view that is not there.
    """

    title: str
    lead: str
    date_line: str
    units: System
    missing: tuple[str, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()
    figures: tuple[Figure, ...] = ()
    figures_note: str = ""
    views: tuple[View, ...] = ()
    views_title: str = ""
    layers: tuple[Layer, ...] = ()
    tables: tuple[Table, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    afloat: Afloat | None = None

    def __post_init__(self) -> None:
        for what in ("key", "title"):
            names = [getattr(layer, what) for layer in self.layers]
            if twice := {name for name in names if names.count(name) > 1}:
                raise ValueError(f"more than one layer has the {what} {twice.pop()!r}")
        known = {"", *(view.key for view in self.views)}
        if strange := {layer.view for layer in self.layers} - known:
            raise ValueError(f"there is no view {strange.pop()!r} for a layer")


def thinned(shape: Shape, tolerance_deg: float) -> Shape:
    """Return a shape with fewer vertices and short decimals, for drawing only.

    No outline moves by more than twice the tolerance and the rounding (`PLACES`, one
    decimal fewer from `ROUGH_DEG` on), and no part or hole is lost. Areas and lengths
    are to be taken before.

    Parameters
    ----------
    tolerance_deg
        In degrees; 1e-5 is at most 1.1 m on the ground.

    Examples
    --------
    >>> from shapely import LineString
    >>> thinned(LineString([(0, 0), (0.1, 1e-7), (0.2, 0)]), 1e-5).wkt
    'LINESTRING (0 0, 0.2 0)'
    """
    areal = shapely.get_dimensions(shape) == 2  # lines may cross, and do
    flat = shapely.force_2d(shape)
    simple = shapely.simplify(flat, tolerance_deg, preserve_topology=bool(areal))
    places = PLACES - (tolerance_deg >= ROUGH_DEG)
    return shapely.transform(simple, lambda xy: np.round(xy, places))


def label_points(shape: BaseGeometry, most: int = 1) -> list[tuple[float, float]]:
    """Return where a label belongs: well inside, best first, or half-way along.

    Parameters
    ----------
    shape
        In degrees.
    most
        How many places to look for in an area; a line or a point has one.

    Returns
    -------
    list
        Longitudes and latitudes.

    Examples
    --------
    >>> from shapely import LineString, box
    >>> label_points(box(0, 0, 2, 2)), label_points(LineString([(0, 0), (2, 0)]))
    ([(1.0, 1.0)], [(1.0, 0.0)])
    """
    parts = shapely.get_parts(shape)
    if (dimension := shapely.get_dimensions(shape)) == 2:
        points = _inner_points(max(parts, key=shapely.area), most)
    elif dimension == 1:
        longest = max(parts, key=shapely.length)
        points = [shapely.line_interpolate_point(longest, 0.5, normalized=True)]
    else:
        points = [parts[0]]
    return [(round(point.x, PLACES), round(point.y, PLACES)) for point in points]


def _inner_points(area: Area, most: int) -> list[Point]:
    """Return the centre of the largest circle inside, then of the next beside it..."""
    west, south, east, north = area.bounds
    tolerance = max(east - west, north - south) / 100
    points: list[Point] = []
    area = polygonal(valid(area))  # thinning can make an outline touch itself
    while len(points) < most and not area.is_empty:
        radius = shapely.maximum_inscribed_circle(area, tolerance)
        points.append(Point(radius.coords[0]))
        rest = area - points[-1].buffer(0.7 * radius.length + tolerance)
        area = polygonal(rest)
    return points or [Point((west + east) / 2, (south + north) / 2)]
