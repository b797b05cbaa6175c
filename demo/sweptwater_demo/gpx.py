"""Writing GPX 1.1: plain text, the elements in the order that its schema asks for."""

from xml.sax.saxutils import escape

import numpy as np

from sweptwater.frame import Frame
from sweptwater_demo.gps import Fixes

CREATOR = "sweptwater demo (invented data)"
_GAP_S = 120.0
_HEAD = """<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="{creator}" xmlns="http://www.topografix.com/GPX/1/1">
<metadata><name>{name}</name><desc>{note}</desc><time>{start}</time></metadata>
<trk><name>{name}</name><desc>{note}</desc>
<trkseg>
"""


def gpx_bytes(fixes: Fixes, frame: Frame, *, name: str, note: str) -> bytes:
    """Return fixes as a GPX file with one track, a new segment after a long gap.

    Parameters
    ----------
    fixes
        At least one fix, in metres of the frame.
    frame
        The frame the fixes are in.
    name
        The track's name.
    note
        What the file says of itself: that it is invented.

    Notes
    -----
    Latitudes and longitudes have seven decimals, about a centimetre; times are UTC.
    """
    lon, lat = frame.to_degrees(fixes.easting, fixes.northing)
    times = fixes.time_s.astype("datetime64[s]").astype(str).tolist()
    breaks = set((np.flatnonzero(np.diff(fixes.time_s) > _GAP_S) + 1).tolist())
    lines = [
        f'<trkpt lat="{y:.7f}" lon="{x:.7f}"><time>{t}Z</time></trkpt>'
        for y, x, t in zip(lat.tolist(), lon.tolist(), times, strict=True)
    ]
    for row in breaks:
        lines[row] = "</trkseg>\n<trkseg>\n" + lines[row]
    head = _HEAD.format(
        creator=escape(CREATOR),
        name=escape(name),
        note=escape(note),
        start=times[0] + "Z",
    )
    return (head + "\n".join(lines) + "\n</trkseg>\n</trk>\n</gpx>\n").encode()
