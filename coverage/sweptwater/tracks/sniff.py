"""What the first bytes of a file say: its encoding, and what it is if it is no GPX."""

import codecs
import io
import re

READABLE = "GPX, FIT, TCX, KML or KMZ"

ZIP = b"PK\3\4"
GZIP = b"\x1f\x8b"

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
    (b"<\0", "utf-16-le"),
    (b"\0<", "utf-16-be"),
)
_HEAD = 1024
_PIECE = 2**20
_DECLARED = re.compile(rb"""\s*<\?xml[^>]*?encoding\s*=\s*["']([A-Za-z0-9._-]+)["']""")
# Those that files are written in: of the others that Python knows some are no text,
# and some run slowly on bytes made for that.
_OTHER_TEXT = re.compile(r"cp\d+|iso8859|gb|big5|shift_jis|euc_|koi8|mac[-_]")
_LIKENESSES = (
    (rb"PK\x03\x04", "a zip archive; unpack it first"),
    (rb"\x1f\x8b", "a gzip archive; unpack it first"),
    (rb".{8}\.FIT", "a FIT recording; export it as GPX"),
    (rb"%PDF", "a PDF document"),
    (rb"\x89PNG|\xff\xd8\xff|GIF8", "a picture"),
    (rb"SQLite format 3", "a database; export the track as GPX"),
    (rb"\0+\Z", "nothing but zero bytes; copy it again from the device"),
    (rb"\s*<(!doctype\s+html|html)", "a web page; download the file itself"),
    (rb"\s*\$G[A-Z]{4},", "a log of NMEA sentences; export it as GPX"),
    (rb"\s*[{[]", "JSON; export the track as GPX"),
)


def is_packed(data: bytes) -> bool:
    r"""Tell whether a file is an archive that can be opened.

    Examples
    --------
    >>> is_packed(b"PK\3\4..."), is_packed(b"<gpx/>")
    (True, False)
    """
    return data.startswith((ZIP, GZIP))


def is_fit(data: bytes) -> bool:
    """Tell whether a file has the signature of FIT, and begins with its header's size.

    That is 12 or 14 so far, and "<" would be that of XML which fakes the signature.
    """
    return data[8:12] == b".FIT" and 12 <= data[0] < ord("<")


def utf8_xml(data: bytes) -> bytes:
    r"""Return XML in UTF-8, whatever it declares, less a last character cut in two.

    A byte-order mark wins over the declaration, and a declaration that cannot be true
    (UTF-16 in single bytes, an unknown name) counts as UTF-8.

    Examples
    --------
    >>> utf8_xml("<?xml version='1.0' encoding='latin1'?><a>\xe9</a>".encode("latin1"))
    b"<?xml version='1.0' encoding='latin1'?><a>\xc3\xa9</a>"
    """
    encoding = _encoding(data)
    if encoding == "utf-8":
        return data
    decoder = codecs.getincrementaldecoder(encoding)("replace")
    view = memoryview(data)
    # By pieces: the text of all of it may be larger than memory.
    recoded = io.BytesIO()
    for at in range(0, len(data), _PIECE):
        piece = decoder.decode(bytes(view[at : at + _PIECE]), final=False)
        recoded.write(piece.encode())
    return recoded.getvalue()


def _encoding(data: bytes) -> str:
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return encoding
    declared = _DECLARED.match(data[:_HEAD])
    try:
        encoding = codecs.lookup(declared[1].decode()).name if declared else "utf-8"
    except LookupError:
        return "utf-8"
    return encoding if _OTHER_TEXT.match(encoding) else "utf-8"


def likeness(data: bytes) -> str:
    r"""Return what a file that is not XML looks like, in words, with what to do.

    Examples
    --------
    >>> likeness(b"PK\x03\x04..."), likeness(b"lat,lon\n52.6,-0.6\n")
    ('a zip archive; unpack it first', 'plain text')
    """
    for start, words in _LIKENESSES:
        if re.match(start, data, re.DOTALL | re.IGNORECASE):
            return words
    head = data[:_HEAD]
    return "plain text" if head.isascii() and b"\0" not in head else "binary data"
