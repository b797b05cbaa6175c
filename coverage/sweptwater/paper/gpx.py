"""Waypoints and routes for a boat's GPS, and plain tracks, as GPX 1.1.

References
----------
The GPX 1.1 schema: namespace, the order of the children of a file (waypoints, then
routes, then tracks) and of a point and a route (name, then desc, number and points),
and longitudes from -180 to under 180.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from xml.etree import ElementTree

import numpy as np

from sweptwater.arrays import Floats
from sweptwater.paper.lettering import clean
from sweptwater.practice.targets import CREATOR

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
        "gpx", {"version": "1.1", "creator": CREATOR, "xmlns": NAMESPACE}
    )
    _add_text(ElementTree.SubElement(root, "metadata"), "name", title)
    for mark in [*(end for route in routes for end in route.ends), *marks]:
        _add_point(root, "wpt", mark.lon, mark.lat, mark.name, mark.note)
    for number, route in enumerate(routes, start=1):
        _add_route(root, number, route)
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="UTF-8", xml_declaration=True)


def track_gpx(segments: Iterable[tuple[Floats, Floats, Floats]], zone: str) -> bytes:
    r"""Return a GPX file of one track that says places and times, and nothing else.

    Parameters
    ----------
    segments
        Longitudes and latitudes in degrees and seconds since 1970 UTC, (n,) each; NaN
        where there is no time.
    zone
        What stands behind each time: `Z`, or nothing where the record left it open.

    Examples
    --------
    >>> here = np.array([-0.65]), np.array([52.65]), np.array([1812448800.25])
    >>> print(*track_gpx([here], "Z").decode().splitlines()[4:6], sep="\n")
    <trkpt lat="52.6500000" lon="-0.6500000">
    <time>2027-06-08T10:00:00.250Z</time></trkpt>
    """
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="1.1" creator="{CREATOR}" xmlns="{NAMESPACE}">',
        "<trk>",
    ]
    for lon, lat, time_s in segments:
        lines += ["<trkseg>", *_points(lon, lat, time_s, zone), "</trkseg>"]
    return "\n".join([*lines, "</trk>", "</gpx>", ""]).encode()


def _points(lon: Floats, lat: Floats, time_s: Floats, zone: str) -> Iterator[str]:
    thousandths = np.round(np.nan_to_num(time_s) * 1000).astype(np.int64)
    moments = np.datetime_as_string(thousandths.astype("datetime64[ms]")).tolist()
    untimed = np.isnan(time_s).tolist()
    for x, y, moment, none in zip(
        _east(lon).tolist(), lat.tolist(), moments, untimed, strict=True
    ):
        yield f'<trkpt lat="{y:.7f}" lon="{x:.7f}">'
        yield "</trkpt>" if none else f"<time>{moment}{zone}</time></trkpt>"


def _east(lon: Floats) -> Floats:
    """Return longitudes to seven decimals; 180 is -180 in GPX."""
    rounded = np.round(lon, 7)
    return np.where(rounded >= 180, -180.0, rounded)


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
    place = {"lat": f"{lat:.7f}", "lon": f"{_east(np.array([lon]))[0]:.7f}"}
    point = ElementTree.SubElement(parent, tag, place)
    _add_text(point, "name", name)
    _add_text(point, "desc", note)


def _add_text(parent: ElementTree.Element, tag: str, text: str) -> None:
    if told := clean(text):
        ElementTree.SubElement(parent, tag).text = told
