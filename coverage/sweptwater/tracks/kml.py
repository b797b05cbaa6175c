"""What is read of KML: tracks with times, else timed places, else lines.

References
----------
OGC KML 2.3 (12-007r2): in a Track the n-th coord belongs to the n-th when, an empty
one to a missing value; a coord is "lon lat height", a tuple of coordinates
"lon,lat,height" in degrees on WGS 84. Before 2.3 these carried the prefix gx.
"""

import re
from collections.abc import Iterator, Mapping
from itertools import compress
from operator import not_
from xml.parsers import expat

from sweptwater.tracks.content import (
    DEEPEST,
    MARK,
    MARK_NAME,
    MARK_TIME,
    MOST_MARKS,
    NEST,
    SEGMENT,
    Content,
    Step,
    text,
)
from sweptwater.tracks.recording import count, were

LINE = "line"
LISTED = "listed"

_WHENS, _COORDS, _PLACES = 7, 8, 9
_LONGEST_TUPLE = 200
# The prefix of a track is not that of the file.
_LANDMARK = re.compile(rb"<(?:[\w.-]{1,20}:)?(?:Placemark|Track)(?![\w.-])")
_COORD = re.compile(rb"<(?:[\w.-]{1,20}:)?coord(?![\w.-])")

_TRACK = Step(
    {
        "when": Step(role=LISTED, column=_WHENS),
        "coord": Step(role=LISTED, column=_COORDS),
    },
    role=SEGMENT,
)
_SHAPES = {
    "Point": Step({"coordinates": text(_PLACES)}),
    "LineString": Step({"coordinates": Step(role=LINE)}),
    "Track": _TRACK,
    "MultiTrack": Step({"Track": _TRACK}),
}
_PLACEMARK = Step(
    {
        "name": text(MARK_NAME),
        "TimeStamp": Step({"when": text(MARK_TIME)}),
        "MultiGeometry": Step(_SHAPES),
        **_SHAPES,
    },
    role=MARK,
)
_FOLDER = Step({"Placemark": _PLACEMARK}, role=NEST)
_FOLDER["Folder"] = _FOLDER["Document"] = _FOLDER


class Kml(Content):
    """What is read of KML.

    Points of a Track are fixes. A file without any may hold a fix a Placemark, of
    which each has its own time; one without these too may hold its track as a line,
    which like a GPX track without times is kept as such.
    """

    kind = "KML"
    root = "kml"
    table = _FOLDER
    way = (root, "Document")
    point = "Placemark"
    # Which folders and shapes a place stood in is not known after damage.
    aftermath = frozenset(
        {
            expat.errors.codes[expat.errors.XML_ERROR_TAG_MISMATCH],
            expat.errors.codes[expat.errors.XML_ERROR_JUNK_AFTER_DOC_ELEMENT],
        }
    )

    def __init__(self, name: str, prefix: str = "") -> None:
        super().__init__(name, prefix)
        self._columns += [[], [], []]
        self._whens, self._coords, self._places = self._columns[_WHENS:]
        self._lines: list[int] = []
        self._line_lons: list[str] = []
        self._line_lats: list[str] = []
        self._rest = ""
        self._unpaired = 0

    @property
    def load(self) -> int:
        """How many points there were of which some may not be of the track."""
        waiting = len(self._whens) + len(self._coords)
        return self.points + waiting + len(self.marks.names) + len(self._line_lons)

    def resume(self, data: bytes, after: int) -> int:
        """Return where the next place or track begins, -1 if there is none."""
        match = _LANDMARK.search(data, after)
        return match.start() if match else -1

    def reopen(self) -> bytes:
        """Stand where both a place and a track are read."""
        before = super().reopen()
        self._stack[-1] = Step({"Placemark": _PLACEMARK, "Track": _TRACK})
        return before

    def lost(self, data: bytes) -> int:
        """Return about how many track points of a damaged file were not read."""
        return max(0, sum(1 for _ in _COORD.finditer(data)) - self.points)

    def cut(self) -> None:
        """Keep of a track that damage cut in two the pairs that are complete."""
        roles = [step.role for step in self._stack]
        if SEGMENT in roles:
            if roles[-1] == LISTED:
                self._columns[self._stack[-1].column].pop()
            pairs = min(len(self._whens), len(self._coords))
            del self._whens[pairs:], self._coords[pairs:]
            self._pair()
        if LINE in roles:
            self._rest = ""
        if MARK in roles:
            self._close_place()

    # ---- handlers

    def _open_rarer(self, step: Step, attributes: Mapping[str, str]) -> None:
        if step.role == LISTED:
            self._columns[step.column].append("")
            self._pieces.clear()
            self.parser.CharacterDataHandler = self._pieces.append
        elif step.role == NEST:
            if len(self._stack) > DEEPEST + 1:
                self._refuse_depth()
        elif step.role == LINE:
            self._lines.append(len(self._line_lons))
            self.parser.CharacterDataHandler = self._add_tuples
        elif step.role == MARK:
            for column in (*self.marks, self._places):
                column.append("")
        else:
            super()._open_rarer(step, attributes)

    def _close_rarer(self, step: Step) -> None:
        if step.role == LISTED:
            self._columns[step.column][-1] = self._text()
        elif step.role == SEGMENT:
            self._pair()
        elif step.role == LINE:
            self._add_tuples(" ")
            self.parser.CharacterDataHandler = None
        elif step.role == MARK:
            self._close_place()

    def _add_tuples(self, piece: str) -> None:
        tuples = (self._rest + piece).split()
        unfinished = bool(tuples) and not piece[-1:].isspace()
        self._rest = tuples.pop()[:_LONGEST_TUPLE] if unfinished else ""
        for each in tuples:
            lon, lat = _parted(each, ",")
            self._line_lons.append(lon)
            self._line_lats.append(lat)

    def _pair(self) -> None:
        """Put the places of a track with their times."""
        whens, coords = self._whens, self._coords
        if whens and len(whens) != len(coords):
            # Which belongs to which is not to be known; a wrong time is a wrong speed.
            self._unpaired += 1
            whens.clear()
        self._times += whens or [""] * len(coords)
        for coord in coords:
            lon, lat = _parted(coord, None)
            self._lons.append(lon)
            self._lats.append(lat)
        whens.clear()
        coords.clear()

    def _take_points(self, lons: list[str], lats: list[str], times: list[str]) -> None:
        self._lons += lons
        self._lats += lats
        self._times += times

    def _close_place(self) -> None:
        """Keep a placemark that has a point of its own."""
        place = self._places.pop()
        if place.strip():
            self.marks.lons[-1], self.marks.lats[-1] = _parted(place, ",")
        else:
            for column in self.marks:
                column.pop()

    def finish(self) -> None:
        """Take the best that the file has for its track, and the rest for waypoints."""
        if not self.points:
            self._take_timed_marks()
        if not self.points:
            self.segments, self._lines = self._lines, []
            times = [""] * len(self._line_lons)
            self._take_points(self._line_lons, self._line_lats, times)
        self.surplus_marks = max(0, len(self.marks.names) - MOST_MARKS)
        for column in self.marks:
            del column[MOST_MARKS:]

    def _take_timed_marks(self) -> None:
        timed = [bool(time.strip()) for time in self.marks.times]
        self.segments = [0]
        self._take_points(*(list(compress(column, timed)) for column in self.marks[:3]))
        for column in self.marks:
            column[:] = compress(column, map(not_, timed))

    def remarks(self) -> Iterator[str]:
        """Tell of tracks whose times do not fit, and of lines beside a track."""
        if self._unpaired:
            yield (
                f"{were(self._unpaired, 'track')} without as many times as places, so "
                "the times there were left out: export it again, as GPX if you can"
            )
        if self._lines:
            yield (
                f"{were(len(self._lines), 'line')} left out "
                f"({count(len(self._line_lons), 'point')}): only what has times "
                "was taken"
            )


def _parted(text: str, separator: str | None) -> tuple[str, str]:
    """Return the first and the second part of a tuple, "" where it has fewer.

    One of more than three parts, such as "-0,65,52,65", is not understood and comes
    out whole.
    """
    parts = text.split(separator, 3)
    if len(parts) > 3:
        return text, text
    return (parts[0], parts[1]) if len(parts) > 1 else ("", "")
