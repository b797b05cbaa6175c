"""One pass over the XML of a track file, whatever is damaged or meant to do harm."""

import re
from collections.abc import Iterator, Mapping, Sequence
from xml.parsers import expat

from sweptwater.errors import TrackError
from sweptwater.tracks.content import Columns, Content
from sweptwater.tracks.recording import MOST_POINTS, Damage

LONGEST_TAG = 2**20
"""Where a single tag or comment goes on for more bytes, reading ends."""

MOST_PLACES = 10_000
"""After so many damaged places the rest of a file is lost."""

MOST_NAMES = 10_000
"""Files with more names of elements and attributes are refused: all are kept."""

_CHUNK = 2**16
_BLOCK = 50_000
_QUOTED = 40
_FOREIGN = {"html": "a web page", "kml": "KML", "TrainingCenterDatabase": "TCX"}
_CODES = expat.errors.codes
_EARLY_ENDS = {
    _CODES[message]
    for message in (
        expat.errors.XML_ERROR_NO_ELEMENTS,
        expat.errors.XML_ERROR_UNCLOSED_TOKEN,
        expat.errors.XML_ERROR_PARTIAL_CHAR,
        expat.errors.XML_ERROR_UNCLOSED_CDATA_SECTION,
    )
}


class _DamageError(Exception):
    """The XML cannot be read on from here."""

    def __init__(self, at: int, line: int, code: int) -> None:
        super().__init__(at)
        self.at = at
        self.line = line
        self.code = code


class Scan:
    """A pass over one file, and what it found beside track points.

    Parameters
    ----------
    name
        What to call the file in errors.
    kinds
        The kinds of file that are read; the outermost element says which it is.

    Attributes
    ----------
    content
        What the file holds, None while nothing says of what kind it is.
    damage
        What is wrong with the file.
    """

    def __init__(self, name: str, kinds: Sequence[type[Content]]) -> None:
        self.name = name
        self.content: Content | None = None
        self.damage = Damage()
        self._kinds = kinds
        self._line = self._places = self._breaks = 0
        self._broken_off = False
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
            If the file is other XML than the kinds that are read, brings a document
            type with contents, nests elements too deep or has too much of anything.
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
        if self.content:
            self.content.finish()
            while self.content.held > _BLOCK:
                yield self.content.settle(_BLOCK)
            yield self.content.settle(self.content.held)
        if self._places:
            lost = self.content.lost(data) if self.content else 0
            where = f"line {self._line}"
            self.damage = Damage(where, self._places, self._broken_off, lost)

    def _run(self, data: bytes, start: int) -> Iterator[Columns]:
        """Read on from a byte to the end of the file or the next damaged place."""
        parser = self._parser = expat.ParserCreate("utf-8")
        parser.buffer_text = True
        parser.StartDoctypeDeclHandler = self._open_doctype
        before = b""
        if self._places and self.content:
            before = self.content.reopen()
            parser.Parse(before, False)
            self._listen(self.content)
        else:
            parser.StartElementHandler = self._open_root
        origin = start - len(before)
        view = memoryview(data)
        try:
            for done in range(start + _CHUNK, len(data) + _CHUNK, _CHUNK):
                parser.Parse(view[done - _CHUNK : done], False)
                if done - origin - parser.CurrentByteIndex > LONGEST_TAG:
                    raise _DamageError(len(data), parser.CurrentLineNumber, 0)
                self._refuse_excess()
                while self.content and self.content.held > _BLOCK:
                    yield self.content.settle(_BLOCK)
            parser.Parse(b"", True)
        except expat.ExpatError as error:
            at = origin + parser.ErrorByteIndex
            raise _DamageError(at, error.lineno, error.code) from error

    def _listen(self, content: Content) -> None:
        """Let the content take in what the parser finds."""
        content.parser = self._parser
        self._parser.StartElementHandler = content.open
        self._parser.EndElementHandler = content.close

    def _refuse_excess(self) -> None:
        if len(self._parser.intern) > MOST_NAMES:
            raise TrackError(
                f"{self.name} has more than {MOST_NAMES:,} names of elements and "
                "attributes, which no recording has: export the track again"
            )
        if self.content and self.content.load > MOST_POINTS:
            raise TrackError(
                f"{self.name} has more than {MOST_POINTS:,} track points: export one "
                "day at a time"
            )

    def _note(self, damage: _DamageError, blank_lines: int) -> None:
        """Count a damaged place and forget the point that it cut in two."""
        if not self._places:
            self._line = damage.line + blank_lines
            self._broken_off = damage.code in _EARLY_ENDS
        expected = self.content.aftermath if self._places and self.content else ()
        self._breaks += 1
        self._places += damage.code not in expected
        if self.content:
            self.content.cut()

    def _next_point(self, data: bytes, after: int) -> int:
        """Return where the next track point begins, -1 if there is none."""
        if self._breaks >= MOST_PLACES:
            return -1
        if self.content:
            return self.content.resume(data, after)
        # Where the outermost element is lost, track points tell the kind: in this
        # order, as the tags that KML goes by occur in TCX as well.
        for kind in self._kinds:
            content = kind(self.name)
            start = content.resume(data, after)
            if start >= 0:
                self.content = content
                return start
        return -1

    def _open_doctype(
        self, root: str, system: str | None, public: str | None, contents: bool
    ) -> None:
        if contents:
            raise TrackError(
                f"{self.name} brings a document type with contents of its own, which "
                "no recording needs and an attack may use: export the track again"
            )

    def _open_root(self, tag: str, attributes: Mapping[str, str]) -> None:
        prefix, colon, local = tag.rpartition(":")
        for kind in self._kinds:
            if kind.root == local:
                self.content = kind(self.name, prefix + colon)
                self._listen(self.content)
                self.content.open(tag, attributes)
                return
        self._refuse_root(local)

    def _refuse_root(self, local: str) -> None:
        *others, last = (kind.kind for kind in self._kinds)
        wanted = f"{', '.join(others)} or {last}" if others else last
        known = _FOREIGN.get(local, f"XML that begins with <{local[:_QUOTED]}>")
        raise TrackError(
            f"{self.name} is {known}, not {wanted}: export the track as "
            f"{'one of these' if others else wanted} and add that"
        )
