"""Waypoints and routes for a boat's GPS, as GPX 1.1.

References
----------
The GPX 1.1 schema: namespace, the order of the children of a file (waypoints, then
routes) and of a point and a route (name, then desc, number and points), and longitudes
from -180 to under 180.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from xml.etree import ElementTree

from sweptwater.paper.lettering import clean

NAMESPACE = "http://www.topografix.com/GPX/1/1"


@dataclass(frozen=True, slots=True)
class Mark:
    """A named place, in degrees."""

    name: str
    lon: float
    lat: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class Route:
    """A way to go, from its first point to its last.

    Parameters
    ----------
    name
        Short enough for the list of a handheld: "H3".
    points
        Longitudes and latitudes, at least two.
    note
        What else there is to say of it.

    Raises
    ------
    ValueError
        If it has fewer than two points.
    """

    name: str
    points: tuple[tuple[float, float], ...]
    note: str = ""

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise ValueError(f"a route needs two points, {self.name!r} has fewer")

    @property
    def ends(self) -> tuple[Mark, Mark]:
        """Where it starts and ends, named for it."""
        (first, *_, last) = self.points
        return Mark(f"{self.name} start", *first), Mark(f"{self.name} end", *last)


def marks_gpx(title: str, marks: Sequence[Mark]) -> bytes:
    """Return a GPX file of waypoints.

    Examples
    --------
    >>> b'lat="52.5000000"' in marks_gpx("x", [Mark("U1", -0.5, 52.5)])
    True
    """
    return routes_gpx(title, (), marks)


def routes_gpx(
    title: str, routes: Sequence[Route], marks: Sequence[Mark] = ()
) -> bytes:
    """Return a GPX file of routes, and of waypoints: at their ends, then the marks.

    Characters that XML cannot hold are replaced.

    Examples
    --------
    >>> drift = Route("H3", ((-0.5, 52.5), (-0.49, 52.51)))
    >>> b"<name>H3 end</name>" in routes_gpx("Heron, 9 June", [drift])
    True
    """
    root = ElementTree.Element(
        "gpx", {"version": "1.1", "creator": "sweptwater", "xmlns": NAMESPACE}
    )
    _add_text(ElementTree.SubElement(root, "metadata"), "name", title)
    for mark in [*(end for route in routes for end in route.ends), *marks]:
        _add_point(root, "wpt", mark.lon, mark.lat, mark.name, mark.note)
    for number, route in enumerate(routes, start=1):
        _add_route(root, number, route)
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="UTF-8", xml_declaration=True)


def short_names(pairs: Sequence[str]) -> Mapping[str, str]:
    """Return the first letters of each pair, as many as tell it from the others.

    One that ends in a figure gets a hyphen, to be told from the number of a drift.

    Examples
    --------
    >>> dict(short_names(["Heron", "Grebe", "Great-Tit"]))
    {'Heron': 'H', 'Grebe': 'Greb', 'Great-Tit': 'Grea'}
    >>> dict(short_names(["B", "B2"]))
    {'B': 'B', 'B2': 'B2-'}
    """
    return {pair: _short(pair, {*pairs} - {pair}) for pair in pairs}


def _short(pair: str, others: set[str]) -> str:
    folded = [other.casefold() for other in others]
    for length in count(1):
        begin = pair[:length]
        if length >= len(pair) or not any(
            other.startswith(begin.casefold()) for other in folded
        ):
            break
    return f"{begin}-" if begin[-1:].isdigit() else begin


def _add_route(root: ElementTree.Element, number: int, route: Route) -> None:
    element = ElementTree.SubElement(root, "rte")
    _add_text(element, "name", route.name)
    _add_text(element, "desc", route.note)
    _add_text(element, "number", str(number))
    start, end = route.ends
    names = [start.name, *([""] * (len(route.points) - 2)), end.name]
    for name, (lon, lat) in zip(names, route.points, strict=True):
        _add_point(element, "rtept", lon, lat, name)


def _add_point(
    parent: ElementTree.Element,
    tag: str,
    lon: float,
    lat: float,
    name: str,
    note: str = "",
) -> None:
    rounded = round(lon, 7)
    place = {
        "lat": f"{lat:.7f}",
        "lon": f"{-180.0 if rounded >= 180 else rounded:.7f}",
    }
    point = ElementTree.SubElement(parent, tag, place)
    _add_text(point, "name", name)
    _add_text(point, "desc", note)


def _add_text(parent: ElementTree.Element, tag: str, text: str) -> None:
    if told := clean(text):
        ElementTree.SubElement(parent, tag).text = told
