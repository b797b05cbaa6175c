"""The words of a tally: what people write for counts, blanks and set-ups."""

import re
from collections.abc import Sequence
from dataclasses import replace

from sweptwater.errors import PracticeError
from sweptwater.practice.sheets import parse_number
from sweptwater.practice.tackle import INCH_M, LINES, Line
from sweptwater.practice.tally import Counts, SetUp, ToldOf

MOST = 99
"""More of one kind, by one rod on one drift, are a slip of the pencil."""

FASTEST_IN_S = 20.0
LONGEST_COUNT_S = 300.0
"""No line sinks faster, and nobody counts for longer (from practice, no source)."""

TOLD: dict[str, ToldOf] = {
    **dict.fromkeys(("tallied", "tally", "told", "counted", "yes", "y"), "tallied"),
    **dict.fromkeys(("blank", "b", "none", "nothing", "nil"), "blank"),
    **dict.fromkeys(("", "not told", "untold", "-", "?"), ""),
}
KINDS = ("follow", "pull", "lost", "boated")
HOW = "write follows, pulls, lost and boated, like 2/1/0/1 or 2 follows 1 boated"

_KIND_OF = {
    **dict.fromkeys(("f", "follow", "follows", "followed", "follower"), "follow"),
    **dict.fromkeys(("followers", "swirl", "swirls"), "follow"),
    **dict.fromkeys(("p", "pull", "pulls", "pulled", "pluck", "plucks"), "pull"),
    **dict.fromkeys(("tap", "taps", "knock", "knocks", "touch", "touches"), "pull"),
    **dict.fromkeys(("l", "lost", "dropped"), "lost"),
    **dict.fromkeys(("b", "boated", "landed", "netted", "caught", "fish"), "boated"),
    **dict.fromkeys(("o", "offer", "offers", "take", "takes"), "unsaid"),
}
_NUMBER_WORDS = (
    *("one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)
_NUMBERS = {word: number for number, word in enumerate(_NUMBER_WORDS, 1)}
_FOUR = re.compile(r"(\d+)/(\d+)/(\d+)/(\d+)")
_NUMBER = re.compile(r"(\d+)([a-z]*)")
_WHOLE = re.compile(r"\d+(?:\.0*)?")
_SINK = re.compile(
    r"(?<![\w.])(\d+(?:[.,]\d+)?)\s*(?:ips|i/s|in/s|in/sec|inches? (?:a|per) second)\b"
)
_COUNT = re.compile(r"\b(?:c|ct|count(?:ed)?(?: to)?)\s?(\d+)(?:\s?s(?:ec)?)?\b")


def parse_told(text: str) -> ToldOf:
    """Return what the cell `told` says.

    Raises
    ------
    PracticeError
        If it says nothing that is known.

    Examples
    --------
    >>> parse_told("Blank"), parse_told("nothing"), parse_told("yes"), parse_told("")
    ('blank', 'blank', 'tallied', '')
    """
    said = TOLD.get(text.strip().casefold())
    if said is None:
        raise PracticeError(
            f"{text!r} does not say whether it was told: write tallied, or blank, or "
            "leave the cell empty while nobody has told"
        )
    return said


def parse_count(text: str, what: str) -> int | None:
    """Return how many a cell says; None if it is empty.

    Raises
    ------
    PracticeError
        If it is no whole number from 0 to `MOST`.

    Examples
    --------
    >>> parse_count("2", "pull"), parse_count("2.0", "pull"), parse_count("", "pull")
    (2, 2, None)
    """
    if not text:
        return None
    if not _WHOLE.fullmatch(text):
        raise PracticeError(
            f"{text!r} is not how many ({what}): write a whole number, like 2"
        )
    return _bounded(int(float(text)))


def _bounded(number: int) -> int:
    if number > MOST:
        raise PracticeError(
            f"{number} of one kind on one drift is more than {MOST}: is it a slip of "
            "the pencil? write the right number"
        )
    return number


def said_counts(words: Sequence[str]) -> tuple[Counts | None, tuple[str, ...]]:
    """Return the counts that some words begin with, and the words after them.

    Four numbers with strokes are follows, pulls, lost and boated. Else each number
    goes with the kind that is named after it, a kind alone is one, and a number alone
    is of offers whose kind nobody told.

    Returns
    -------
    tuple
        No counts where the words begin with none.

    Raises
    ------
    PracticeError
        If there are not four numbers between the strokes, or too many fish.

    Examples
    --------
    >>> said_counts(["2/1/0/1", "floating"])
    (Counts(follow=2, pull=1, lost=0, boated=1, unsaid=0), ('floating',))
    >>> said_counts("2 follows and 1b".split())[0]
    Counts(follow=2, pull=0, lost=0, boated=1, unsaid=0)
    >>> said_counts(["three"])[0], said_counts(["3ips"])[0]
    (Counts(follow=0, pull=0, lost=0, boated=0, unsaid=3), None)
    """
    rest = [word for word in words if word]
    counts: Counts | None = None
    while rest:
        found = _next_counts(rest)
        if found is None and counts and rest[0].casefold() in ("and", "+", "&", ","):
            found = _next_counts(rest[1:])
            found = (found[0], 1 + found[1]) if found else None
        if found is None:
            break
        counts = found[0] if counts is None else counts + found[0]
        rest = rest[found[1] :]
    if counts is not None:
        for number in (*counts.of_kind, counts.unsaid):
            _bounded(number)
    return counts, tuple(rest)


def _next_counts(words: Sequence[str]) -> tuple[Counts, int] | None:
    """Return the counts that the next words say, and how many words those are."""
    if not words:
        return None
    word = words[0].casefold().rstrip(",;")
    if found := _FOUR.fullmatch(word):
        return Counts(*map(int, found.groups())), 1
    if re.fullmatch(r"\d*(?:/\d*)+", word):
        raise PracticeError(f"{words[0]!r} is not four counts: {HOW}")
    after = words[1].casefold().rstrip(",;") if len(words) > 1 else ""
    number, kind = _NUMBERS.get(word), ""
    if found := _NUMBER.fullmatch(word):
        number, kind = int(found[1]), found[2]
    if number is None:
        kind = _KIND_OF.get(word, "") if len(word) > 2 else ""
        return (Counts(**{kind: 1}), 1) if kind else None
    if kind:
        return (Counts(**{_KIND_OF[kind]: number}), 1) if kind in _KIND_OF else None
    if after in _KIND_OF:
        return Counts(**{_KIND_OF[after]: number}), 2
    if _SINK.match(f"{word} {after}"):
        return None
    return Counts(unsaid=number), 1


def parse_setup(text: str, lines: Sequence[Line] = LINES) -> SetUp:
    """Return the set-up that some words tell: line, sink rate, count, and the retrieve.

    Parameters
    ----------
    lines
        The lines that the team carries, which are known by their names.

    Raises
    ------
    PracticeError
        If a sink rate or a count cannot be.

    Examples
    --------
    >>> parse_setup("3ips c20 slow pulls")
    SetUp(line='3 in/s', sink_in_s=3.0, count_s=20.0, retrieve='slow pulls', \
fly_place='', fly='')
    >>> parse_setup("Floating roly-poly").line
    'floating'
    >>> parse_setup("slow intermediate").sink_in_s
    0.75
    """
    rest = " ".join(text.split())
    line, sink_in_s, count_s = "", None, None
    if found := _SINK.search(rest.casefold()):
        sink_in_s = parse_sink(found[1])
        rest = _without(rest, found.span())
    if found := _COUNT.search(rest.casefold()):
        count_s = parse_seconds(found[1])
        rest = _without(rest, found.span())
    for known in sorted(lines, key=lambda one: -len(one.name)):
        name = re.escape(known.name.casefold())
        if found := re.search(rf"(?<!\w){name}(?!\w)", rest.casefold()):
            line, rest = known.name, _without(rest, found.span())
            break
    setup = SetUp(line, sink_in_s, count_s, rest.strip(" ,;"))
    return with_line(setup, lines)


def with_line(setup: SetUp, lines: Sequence[Line] = LINES) -> SetUp:
    """Return a set-up with the sink rate of its line, or the line of its sink rate.

    Examples
    --------
    >>> with_line(SetUp("Intermediate")).sink_in_s, with_line(SetUp("3ips")).sink_in_s
    (1.5, 3.0)
    """
    line, sink_in_s = setup.line, setup.sink_in_s
    if line and sink_in_s is None:
        named = [one for one in lines if one.name.casefold() == line.casefold()]
        if named:
            rate = round(named[0].sink_m_s / INCH_M, 3)
            return replace(setup, line=named[0].name, sink_in_s=rate)
        if found := _SINK.search(line.casefold()):
            return replace(setup, sink_in_s=parse_sink(found[1]))
    if sink_in_s is not None and not line:
        return replace(setup, line=_line_of(sink_in_s, lines))
    return setup


def _line_of(sink_in_s: float, lines: Sequence[Line]) -> str:
    for one in lines:
        if abs(one.sink_m_s / INCH_M - sink_in_s) < 0.01:
            return one.name
    return f"{sink_in_s:g} in/s"


def parse_sink(text: str) -> float:
    """Return a sink rate in inches a second.

    Raises
    ------
    PracticeError
        If no line sinks so.
    """
    rate = parse_number(text)
    if not 0 <= rate <= FASTEST_IN_S:
        raise PracticeError(
            f"{text!r} is no sink rate: write inches a second, like 3, and 0 for a "
            "floating line"
        )
    return rate


def parse_seconds(text: str) -> float:
    """Return for how many seconds a line was let sink.

    Raises
    ------
    PracticeError
        If nobody counts so.
    """
    seconds = parse_number(text)
    if not 0 <= seconds <= LONGEST_COUNT_S:
        raise PracticeError(f"{text!r} is no count: write seconds, like 20")
    return seconds


def _without(text: str, span: tuple[int, int]) -> str:
    return " ".join(f"{text[: span[0]]} {text[span[1] :]}".split())


def counts_text(counts: Counts) -> str:
    """Return counts as people say them.

    Examples
    --------
    >>> counts_text(Counts(follow=2, boated=1)), counts_text(Counts(unsaid=1))
    ('2 follows, 1 boated', '1 offer')
    >>> counts_text(Counts(pull=1, unsaid=2)), counts_text(Counts())
    ('1 pull, 2 other offers', 'blank')
    """
    known = [
        f"{number} {kind}{'s' if number > 1 and kind in ('follow', 'pull') else ''}"
        for kind, number in zip(KINDS, counts.of_kind, strict=True)
        if number
    ]
    if counts.unsaid:
        other = "other " if known else ""
        more = "s" if counts.unsaid > 1 else ""
        known.append(f"{counts.unsaid} {other}offer{more}")
    return ", ".join(known) or "blank"
