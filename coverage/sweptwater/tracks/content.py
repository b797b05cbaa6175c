"""What is read of the elements of an XML track file: the texts of its points, unjudged.

Names are compared without their prefix, whatever namespace or version the file
claims, and whatever is not expected where it stands (extensions above all) is passed
over with all that it holds.

References
----------
GPX 1.0 and 1.1 schemas: gpx / trk / trkseg / trkpt, its position in attributes.
TCX schema, version 2: Activities / Activity / Lap / Track / Trackpoint, its position
in elements; what Courses hold was planned, not recorded. From memory: version 1 had
History / Running, Biking, Other or MultiSport / Lap in place of Activities / Activity.
"""

import re
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar, NamedTuple
from xml.parsers.expat import XMLParserType

from sweptwater.errors import TrackError

DEEPEST = 64
"""Elements nested deeper than this are refused."""

LONGEST_TEXT = 2**16
"""Times and names that go on for more characters are given up."""

MOST_MARKS = 10_000
"""Waypoints beyond these are only counted."""

# What is done where an element opens or closes: constants, as these are looked at for
# every element.
ENTERED = ""
POINT = "point"
SEGMENT = "segment"
TEXT = "text"
MARK = "mark"
ROUTE = "route"
ROUTE_POINT = "route point"
NEST = "nest"

LON, LAT, TIME, MARK_LON, MARK_LAT, MARK_TIME, MARK_NAME = range(7)
"""The columns that texts are put in."""


class Step(dict[str, "Step"]):
    """An element that is read, with the elements that are expected in it.

    Parameters
    ----------
    inside
        By name, without prefixes.
    role
        What is done with it.
    column
        Where its text is put, if that is read.
    """

    __slots__ = ("column", "role")

    def __init__(
        self,
        inside: Mapping[str, "Step"] | None = None,
        *,
        role: str = ENTERED,
        column: int = -1,
    ) -> None:
        super().__init__(inside or {})
        self.role = role
        self.column = column

    def __missing__(self, tag: str) -> "Step":
        return self.get(tag.rpartition(":")[2], PASSED)


PASSED = Step()
"""An element that is not read."""


class Columns(NamedTuple):
    """Positions and times of consecutive track points as texts, "" where missing."""

    lons: list[str]
    lats: list[str]
    times: list[str]


class Marks(NamedTuple):
    """The texts of waypoints, "" where missing."""

    lons: list[str]
    lats: list[str]
    times: list[str]
    names: list[str]


class Content:
    """What one file holds, gathered while a parser goes over it.

    A kind of file says in class variables what it looks like: `kind` and `root` are
    its name and its outermost element, `table` the step into that, `point` the tag by
    which reading can go on after damage, `way` what stands around it, and `aftermath`
    the errors of the parser that then only come of what was lost.

    Attributes
    ----------
    segments
        How many points came before each stretch of the record.
    marks, surplus_marks
        The waypoints, and how many there were beyond `MOST_MARKS`.
    routes, route_points
        How many routes there were, and points in them.
    parser
        The one that goes over the file now.
    """

    kind: ClassVar[str]
    root: ClassVar[str]
    table: ClassVar[Step]
    way: ClassVar[tuple[str, ...]]
    point: ClassVar[str]
    aftermath: ClassVar[frozenset[int]] = frozenset()

    parser: XMLParserType

    def __init__(self, name: str, prefix: str = "") -> None:
        self.name = name
        self.prefix = prefix
        self.segments: list[int] = []
        self.surplus_marks = self.routes = self.route_points = 0
        self._settled = 0
        self._columns: list[list[str]] = [[] for _ in range(7)]
        self._lons, self._lats, self._times = self._columns[: TIME + 1]
        self.marks = Marks(*self._columns[MARK_LON:])
        self._stack = [Step({self.root: self.table})]
        # Two pieces on end always fill the parser's buffer of 8 kB.
        self._pieces: deque[str] = deque(maxlen=2 * LONGEST_TEXT // 8192)

    @property
    def points(self) -> int:
        """How many track points there were."""
        return self._settled + len(self._times)

    @property
    def load(self) -> int:
        """How many points there were of any sort, which is bounded."""
        return self.points

    @property
    def held(self) -> int:
        """How many track points are not yet handed out."""
        return len(self._times)

    def settle(self, count: int) -> Columns:
        """Hand out the first points and keep the rest, which may not be complete."""
        columns = self._columns[: TIME + 1]
        settled = Columns(*(column[:count] for column in columns))
        for column in columns:
            del column[:count]
        self._settled += count
        return settled

    def finish(self) -> None:
        """Take the file to be at its end."""

    def remarks(self) -> Iterator[str]:
        """Tell what only this kind of file can have wrong with it."""
        yield from ()

    # ---- damage

    def cut(self) -> None:
        """Forget the point and the waypoint that damage cut in two."""
        roles = {step.role for step in self._stack}
        if POINT in roles:
            self._pop_incomplete(self._columns[: TIME + 1])
        if MARK in roles:
            for column in self.marks:
                column.pop()

    def _pop_incomplete(self, columns: Sequence[list[str]]) -> None:
        if columns[-1] and not all(column[-1] for column in columns):
            for column in columns:
                column.pop()

    def resume(self, data: bytes, after: int) -> int:
        """Return where the next track point begins, -1 if there is none.

        Stretches of the record that begin between are told apart, as far as seen.
        """
        raise NotImplementedError

    def _restart(self, begun: int) -> None:
        """Note how many stretches began where damage was; the first is lost in it."""
        self.segments += [self.points] * (begun if self.segments else 1)

    def reopen(self) -> bytes:
        """Stand where a track point does, and return what a parser must see for it."""
        self._stack = [self._stack[0]]
        for tag in self.way:
            self._stack.append(self._stack[-1][tag])
        return "".join(f"<{self.prefix}{tag}>" for tag in self.way).encode()

    def lost(self, data: bytes) -> int:
        """Return about how many track points of a damaged file were not read."""
        tags = data.count(f"<{self.prefix}{self.point}".encode())
        return max(0, tags - self.points - self.route_points)

    # ---- handlers for the parser

    def open(self, tag: str, attributes: Mapping[str, str]) -> None:
        """Take in the start of an element."""
        stack = self._stack
        step = stack[-1][tag]
        stack.append(step)
        if step is PASSED:
            if len(stack) > DEEPEST + 1:
                self._refuse_depth()
            return
        role = step.role
        if role is POINT:
            get = attributes.get
            self._lons.append(get("lon", ""))
            self._lats.append(get("lat", ""))
            self._times.append("")
        elif role is TEXT:
            self._pieces.clear()
            self.parser.CharacterDataHandler = self._pieces.append
        elif role:
            self._open_rarer(step, attributes)

    def _refuse_depth(self) -> None:
        raise TrackError(
            f"{self.name} nests its elements more than {DEEPEST} deep, which no "
            "recording does: export the track again"
        )

    def _open_rarer(self, step: Step, attributes: Mapping[str, str]) -> None:
        if step.role == SEGMENT:
            self.segments.append(self.points)
        elif step.role == MARK:
            position = attributes.get("lon", ""), attributes.get("lat", "")
            for column, text in zip(self.marks, (*position, "", ""), strict=True):
                column.append(text)
        elif step.role == ROUTE:
            self.routes += 1
        elif step.role == ROUTE_POINT:
            self.route_points += 1

    def close(self, tag: str) -> None:
        """Take in the end of an element."""
        step = self._stack.pop()
        role = step.role
        if role is TEXT:
            # The first one counts: another may come with elements of other origin.
            column = self._columns[step.column]
            column[-1] = column[-1] or self._text()
        elif role and role is not POINT:
            self._close_rarer(step)

    def _close_rarer(self, step: Step) -> None:
        if step.role == MARK and len(self.marks.names) > MOST_MARKS:
            self.surplus_marks += 1
            for column in self.marks:
                column.pop()

    def _text(self) -> str:
        """Return the text that the element held, or that it is beyond bounds."""
        self.parser.CharacterDataHandler = None
        text = "".join(self._pieces)
        cut = len(self._pieces) == self._pieces.maxlen
        return "(too long)" if cut or len(text) > LONGEST_TEXT else text


def text(column: int) -> Step:
    """Return a step that puts its text in a column."""
    return Step(role=TEXT, column=column)


_POINT_OF_GPX = Step(
    # ele and extensions only so that the commonest names are found at once.
    {"time": text(TIME), "ele": PASSED, "extensions": PASSED},
    role=POINT,
)
_WAYPOINT = Step({"time": text(MARK_TIME), "name": text(MARK_NAME)}, role=MARK)


class Gpx(Content):
    """What is read of GPX: only a trkpt in a trkseg in a trk counts."""

    kind = "GPX"
    root = "gpx"
    table = Step(
        {
            "trk": Step({"trkseg": Step({"trkpt": _POINT_OF_GPX}, role=SEGMENT)}),
            "wpt": _WAYPOINT,
            "rte": Step({"rtept": Step(role=ROUTE_POINT)}, role=ROUTE),
        }
    )
    way = ("gpx", "trk", "trkseg")
    point = "trkpt"

    def resume(self, data: bytes, after: int) -> int:
        """Return where the next track point begins, -1 if there is none."""
        at = data.find(f"<{self.prefix}trkpt".encode(), after)
        if at >= 0:
            self._restart(data.count(f"<{self.prefix}trkseg".encode(), after, at))
        return at


_POSITION = Step({"LatitudeDegrees": text(LAT), "LongitudeDegrees": text(LON)})
_POINT_OF_TCX = Step(
    {
        "Time": text(TIME),
        "Position": _POSITION,
        **dict.fromkeys(("AltitudeMeters", "DistanceMeters", "Extensions"), PASSED),
    },
    role=POINT,
)
_LAP = Step({"Track": Step({"Trackpoint": _POINT_OF_TCX}, role=SEGMENT)})
_ACTIVITY = Step({"Lap": _LAP})
_SPORT = Step({"Activity": _ACTIVITY})
_PLANNED = Step({"Track": Step({"Trackpoint": Step(role=ROUTE_POINT)})}, role=ROUTE)


class Tcx(Content):
    """What is read of TCX: the Trackpoints of activities, not those of courses."""

    kind = "TCX"
    root = "TrainingCenterDatabase"
    table = Step(
        {
            "Activities": Step(
                {
                    "Activity": _ACTIVITY,
                    "MultiSportSession": Step(
                        {"FirstSport": _SPORT, "NextSport": _SPORT}
                    ),
                }
            ),
            "History": Step(
                dict.fromkeys(("Running", "Biking", "Other", "MultiSport"), _ACTIVITY)
            ),
            "Courses": Step({"Course": _PLANNED}),
        }
    )
    way = (root, "Activities", "Activity", "Lap", "Track")
    point = "Trackpoint"

    def resume(self, data: bytes, after: int) -> int:
        """Return where the next track point of an activity begins, -1 if none does."""
        names = "Trackpoint|Track|Activities|History|Courses"
        prefix = re.escape(self.prefix)
        landmark = re.compile(rf"<{prefix}({names})(?![\w.-])".encode())
        planned = any(step.role in (ROUTE, ROUTE_POINT) for step in self._stack)
        begun = 0
        for match in landmark.finditer(data, after):
            tag = match[1].decode()
            if tag == self.point and not planned:
                self._restart(begun)
                return match.start()
            if tag in ("Activities", "History", "Courses"):
                planned = tag == "Courses"
            elif tag == "Track" and not planned:
                begun += 1
        return -1
