"""Waypoints for a boat's GPS, as GPX 1.1.

References
----------
The GPX 1.1 schema: namespace, the order of a point's children (name, then desc), and
longitudes from -180 to under 180.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

NAMESPACE = "http://www.topografix.com/GPX/1/1"


@dataclass(frozen=True, slots=True)
class Mark:
    """A named place, in degrees."""

    name: str
    lon: float
    lat: float
    note: str = ""


def marks_gpx(title: str, marks: Sequence[Mark]) -> bytes:
    """Return a GPX file of waypoints.

    Examples
    --------
    >>> b'lat="52.5000000"' in marks_gpx("x", [Mark("U1", -0.5, 52.5)])
    True
    """
    root = ElementTree.Element(
        "gpx", {"version": "1.1", "creator": "sweptwater", "xmlns": NAMESPACE}
    )
    ElementTree.SubElement(
        ElementTree.SubElement(root, "metadata"), "name"
    ).text = title
    for mark in marks:
        lon = -180.0 if mark.lon >= 180 else mark.lon
        point = ElementTree.SubElement(
            root, "wpt", {"lat": f"{mark.lat:.7f}", "lon": f"{lon:.7f}"}
        )
        ElementTree.SubElement(point, "name").text = mark.name
        if mark.note:
            ElementTree.SubElement(point, "desc").text = mark.note
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="UTF-8", xml_declaration=True)
