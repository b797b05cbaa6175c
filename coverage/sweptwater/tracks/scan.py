"""One pass over the XML of a GPX file: the texts of its points, unjudged.

Names are compared without their prefix, whatever namespace or version the file
claims; only a trkpt in a trkseg in a trk counts, and whatever is not expected where it
stands (`extensions` above all) is passed over with all that it holds.
"""

import re
from collections import deque
from collections.abc import Iterator, Mapping
from typing import NamedTuple
from xml.parsers import expat

from sweptwater.errors import TrackError

DEEPEST = 64
"""Elements nested deeper than this are refused."""

LONGEST_TAG = 2**20
"""Where a single tag or comment goes on for more bytes, reading ends."""

LONGEST_TEXT = 2**16
"""Times and names that go on for more characters are given up."""

MOST_PLACES = 10_000
"""After so many damaged places the rest of a file is lost."""

MOST_MARKS = 10_000
"""Waypoints beyond these are only counted."""

_CHUNK = 2**16
_BLOCK = 50_000
_QUOTED = 40
_FOREIGN = {"html": "a web page", "kml": "KML", "TrainingCenterDatabase": "TCX"}
_EARLY_ENDS = {
    expat.errors.codes[message]
    for message in (
        expat.errors.XML_ERROR_NO_ELEMENTS,
        expat.errors.XML_ERROR_UNCLOSED_TOKEN,
        expat.errors.XML_ERROR_PARTIAL_CHAR,
        expat.errors.XML_ERROR_UNCLOSED_CDATA_SECTION,
    )
}


class _Step(dict[str, "_Step"]):
    """An element that is read, with the elements that are expected in it."""

    def __missing__(self, tag: str) -> "_Step":
        return self.get(tag.rpartition(":")[2], _PASSED)


_PASSED = _Step()
_TIME = _Step()
_MARK_TIME = _Step()
_MARK_NAME = _Step()
# ele and extensions only so that the commonest names are found at once.
_POINT = _Step(time=_TIME, ele=_PASSED, extensions=_PASSED)
_SEGMENT = _Step(trkpt=_POINT)
_TRACK = _Step(trkseg=_SEGMENT)
_MARK = _Step(time=_MARK_TIME, name=_MARK_NAME)
_ROUTE_POINT = _Step()
_ROUTE = _Step(rtept=_ROUTE_POINT)
_GPX = _Step(trk=_TRACK, wpt=_MARK, rte=_ROUTE)
_START = _Step(gpx=_GPX)


class Columns(NamedTuple):
    """Attributes and times of consecutive track points as texts, "" where missing."""

    lons: list[str]
    lats: list[str]
    times: list[str]


class Mark(NamedTuple):
    """The texts of a waypoint, "" where missing."""

    lon: str
    lat: str
    time: str
    name: str


class _DamageError(Exception):
    """The XML cannot be read on from here."""

    def __init__(self, at: int, line: int, *, at_end: bool = False) -> None:
        super().__init__(at)
        self.at = at
        self.line = line
        self.at_end = at_end


class Scan:
    """A pass over one file, and what it found beside track points.

    Parameters
    ----------
    name
        What to call the file in errors.

    Attributes
    ----------
    root
        The outermost element, "" before there was one.
    segments
        How many points came before each trkseg.
    marks, surplus_marks
        The waypoints, and how many there were beyond `MOST_MARKS`.
    routes, route_points
        How many routes there were, and points in them.
    places, line, broken_off
        In how many places the file is damaged, the line of the first one, and whether
        it just ends too early there.
    lost
        About how many track points the damage cost.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self.root = ""
        self.segments: list[int] = []
        self.marks: list[Mark] = []
        self.surplus_marks = self.routes = self.route_points = 0
        self.places = self.line = self.lost = 0
        self.broken_off = False
        self._settled = 0
        self._lons: list[str] = []
        self._lats: list[str] = []
        self._times: list[str] = []
        self._mark = dict.fromkeys(Mark._fields, "")
        self._stack = [_START]
        # Two pieces on end always fill the parser's buffer of 8 kB.
        self._pieces: deque[str] = deque(maxlen=2 * LONGEST_TEXT // 8192)
        self._parser = expat.ParserCreate()

    def columns(self, data: bytes) -> Iterator[Columns]:
        """Yield the track points in blocks; other findings are complete at the end.

        After a damaged place reading goes on with the next track point that follows,
        never with one before, so that the work grows with the length of the file.

        Parameters
        ----------
        data
            XML in UTF-8, whatever it declares.

        Raises
        ------
        TrackError
            If the file is other XML than GPX, brings a document type with contents or
            nests elements deeper than `DEEPEST`.
        """
        blank = re.match(rb"\s*(?=<\?xml)", data)
        start = blank.end() if blank else 0
        blank_lines = data.count(b"\n", 0, start)
        while start >= 0:
            try:
                yield from self._run(data, start)
                break
            except _DamageError as damage:
                self._note(damage, blank_lines)
                start = self._next_point(data, max(damage.at, start + 1))
        yield self._settle(len(self._times))
        if self.places:
            self.lost = max(0, data.count(self._point_tag()) - self._settled)

    def _run(self, data: bytes, start: int) -> Iterator[Columns]:
        """Read on from a byte to the end of the file or the next damaged place."""
        parser = self._parser = expat.ParserCreate("utf-8")
        parser.buffer_text = True
        parser.StartDoctypeDeclHandler = self._open_doctype
        before = self._reopen() if self.places else b""
        parser.Parse(before, False)
        parser.StartElementHandler = self._open if before else self._open_root
        parser.EndElementHandler = self._close
        origin = start - len(before)
        view = memoryview(data)
        try:
            for done in range(start + _CHUNK, len(data) + _CHUNK, _CHUNK):
                parser.Parse(view[done - _CHUNK : done], False)
                if done - origin - parser.CurrentByteIndex > LONGEST_TAG:
                    raise _DamageError(len(data), parser.CurrentLineNumber)
                if len(self._times) > _BLOCK:
                    yield self._settle(len(self._times) - 1)
            parser.Parse(b"", True)
        except expat.ExpatError as error:
            at = origin + parser.ErrorByteIndex
            at_end = error.code in _EARLY_ENDS
            raise _DamageError(at, error.lineno, at_end=at_end) from error

    def _note(self, damage: _DamageError, blank_lines: int) -> None:
        """Count a damaged place and forget the point that it cut in two."""
        if not self.places:
            self.line = damage.line + blank_lines
            self.broken_off = damage.at_end
        self.places += 1
        cut = any(step is _POINT for step in self._stack)
        if cut and self._times and not self._times[-1]:
            for column in (self._lons, self._lats, self._times):
                column.pop()

    def _next_point(self, data: bytes, after: int) -> int:
        """Return where the next track point begins, -1 if there is none."""
        if self.places >= MOST_PLACES:
            return -1
        tag = self._point_tag()
        at = data.find(tag, after)
        if at >= 0:
            # Lost with the damage, perhaps, is where stretches of the record began.
            begun = data.count(tag[:-2] + b"seg", after, at)
            here = self._settled + len(self._times)
            self.segments += [here] * (begun if self.segments else 1)
        return at

    def _point_tag(self) -> bytes:
        return f"<{self._prefix()}trkpt".encode()

    def _prefix(self) -> str:
        return "".join(self.root.rpartition(":")[:2])

    def _reopen(self) -> bytes:
        """Stand in a trkseg again, and return what the parser must see for that."""
        self._stack = [_START, _GPX, _TRACK, _SEGMENT]
        tags = ("gpx", "trk", "trkseg")
        return "".join(f"<{self._prefix()}{tag}>" for tag in tags).encode()

    def _settle(self, count: int) -> Columns:
        """Hand out the first points and keep the rest, which may not be complete."""
        settled = Columns(self._lons[:count], self._lats[:count], self._times[:count])
        for column in (self._lons, self._lats, self._times):
            del column[:count]
        self._settled += count
        return settled

    def _open_doctype(
        self, root: str, system: str | None, public: str | None, contents: bool
    ) -> None:
        if contents:
            raise TrackError(
                f"{self.name} brings a document type with contents of its own, which "
                "no recording needs and an attack may use: export the track again"
            )

    def _open_root(self, tag: str, attributes: Mapping[str, str]) -> None:
        local = tag.rpartition(":")[2]
        if local != "gpx":
            kind = _FOREIGN.get(local, f"XML that begins with <{local[:_QUOTED]}>")
            raise TrackError(
                f"{self.name} is {kind}, not GPX: export the track as GPX and add that"
            )
        self.root = tag
        self._parser.StartElementHandler = self._open
        self._open(tag, attributes)

    def _open(self, tag: str, attributes: Mapping[str, str]) -> None:
        stack = self._stack
        step = stack[-1][tag]
        stack.append(step)
        if step is _PASSED:
            if len(stack) > DEEPEST + 1:
                raise TrackError(
                    f"{self.name} nests its elements more than {DEEPEST} deep, which "
                    "no recording does: export the track again"
                )
        elif step is _POINT:
            get = attributes.get
            self._lons.append(get("lon", ""))
            self._lats.append(get("lat", ""))
            self._times.append("")
        elif step is _TIME:
            self._pieces.clear()
            self._parser.CharacterDataHandler = self._pieces.append
        else:
            self._open_rarer(step, attributes)

    def _open_rarer(self, step: _Step, attributes: Mapping[str, str]) -> None:
        if step is _SEGMENT:
            self.segments.append(self._settled + len(self._times))
        elif step is _MARK:
            position = {key: attributes.get(key, "") for key in ("lon", "lat")}
            self._mark = {**position, "time": "", "name": ""}
        elif step is _MARK_TIME or step is _MARK_NAME:
            self._pieces.clear()
            self._parser.CharacterDataHandler = self._pieces.append
        elif step is _ROUTE:
            self.routes += 1
        elif step is _ROUTE_POINT:
            self.route_points += 1

    def _close(self, tag: str) -> None:
        step = self._stack.pop()
        if step is _TIME:
            # The first one counts: another may come with elements of other origin.
            self._times[-1] = self._times[-1] or self._text()
        elif step is _MARK_TIME:
            self._mark["time"] = self._mark["time"] or self._text()
        elif step is _MARK_NAME:
            self._mark["name"] = self._mark["name"] or self._text()
        elif step is _MARK:
            if len(self.marks) < MOST_MARKS:
                self.marks.append(Mark(**self._mark))
            else:
                self.surplus_marks += 1

    def _text(self) -> str:
        """Return the text that the element held, or that it is beyond bounds."""
        self._parser.CharacterDataHandler = None
        text = "".join(self._pieces)
        cut = len(self._pieces) == self._pieces.maxlen
        return "(too long)" if cut or len(text) > LONGEST_TEXT else text
