"""Tell what a rod met on a drift, in the words of the command line."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.jobs.met import rod_named
from sweptwater.jobs.opened import Watch, parse_day, unwatched
from sweptwater.jobs.spoken import spoken_spot
from sweptwater.jobs.tally import Afloat, read_afloat
from sweptwater.jobs.tally_write import Change, Known, write_told
from sweptwater.jobs.wording import day_text
from sweptwater.offers.belonging import hours_of
from sweptwater.offers.doubts import drifts_text
from sweptwater.offers.hours_told import own_clock
from sweptwater.practice.files import writing
from sweptwater.practice.sheets import Position
from sweptwater.practice.tables import near_words
from sweptwater.practice.tally import Entry, SetUp, ToldOf
from sweptwater.practice.tally_words import (
    HOW,
    TOLD,
    counts_text,
    parse_setup,
    said_counts,
)

SOMEWHERE = ("somewhere", "?", "loose", "sometime", "some")
REST = ("rest", "others")
EVERY = ("all",)
BOTH = ("both",)
BLANKS = frozenset(word for word, told in TOLD.items() if told == "blank")

WHICH = (
    "say which drift: its number, like 4, or 4-7, or rest for all that are not told, "
    "or somewhere if nobody knows"
)
_RANGE = re.compile(r"(\d+)(?:-|\u2013|to)(\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Say:
    """What somebody told of a drift, in their words.

    Parameters
    ----------
    words
        The pair, which drift, the rod, what it met, and its set-up.
    day
        Of when; the pair's last day with drifts, if not said.
    when, near, at_place
        A time or a place of its own: a clock or words, a mark, a latitude and
        longitude.
    taken, fly_place, fly, species, drogue, left, note
        Further words for the columns of those names.
    """

    words: tuple[str, ...]
    day: str | None = None
    when: str = ""
    near: str = ""
    at_place: str = ""
    taken: str = ""
    fly_place: str = ""
    fly: str = ""
    species: str = ""
    drogue: str = ""
    left: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class TalliedLine:
    """One thing that was told, as it stands in the tally now."""

    day: date
    pair: str
    drift: int | None
    rod: str
    told: str
    follow: int
    pull: int
    lost: int
    boated: int
    offers: int
    line: str
    sink_in_s: float | None
    count_s: float | None
    retrieve: str
    text: str
    """The same as a captain reads it."""
    instead_of: str
    """What stood there and counts no more; else empty."""
    known: bool
    """Whether it stood there already, so that nothing changed."""


@dataclass(frozen=True, slots=True)
class Tallied:
    """What was told, and what it leaves open."""

    day: date
    pair: str
    lines: tuple[TalliedLine, ...]
    not_told: tuple[int, ...]
    """The numbers of the drifts of that boat-day that are not told yet."""
    questions: tuple[str, ...]


def say_tally(folder: Path, say: Say, *, watch: Watch = unwatched) -> Tallied:
    """Write what somebody told of a drift, or several.

    Raises
    ------
    SweptwaterError
        If the words cannot be understood, or there is no such pair, day, drift, rod or
        place.
    """
    afloat = read_afloat(folder, watch)
    known = afloat.known
    pair = afloat.opened.settings.pair_named(say.words[0])
    day = parse_day(say.day) if say.day else known.last_day(pair)
    if day is None or not known.on(day, pair):
        raise PracticeError(_no_drifts(known, pair, day))
    first = _shared(afloat, say, day, pair)
    told = _told(afloat, known, first, say.words[1:])
    with writing(folder):
        changes = write_told(folder, known, told)
    return tallied(afloat, day, pair, changes)


def tallied(afloat: Afloat, day: date, pair: str, changes: Sequence[Change]) -> Tallied:
    """Return what was told of a boat-day, and what that leaves open."""
    met = afloat.met
    mine = [one for one in met.stints if (one.day, one.pair) == (day, pair)]
    whose = f"{pair} on {day:%a} {day.day} {day:%b}: "
    return Tallied(
        day=day,
        pair=pair,
        lines=tuple(map(tallied_line, changes)),
        not_told=tuple(sorted({one.drift for one in mine if not one.told})),
        questions=tuple(text for text in met.questions if text.startswith(whose)),
    )


def tallied_line(change: Change) -> TalliedLine:
    """Return what became of something told, as it is listed."""
    entry, setup = change.entry, change.entry.setup
    return TalliedLine(
        *(entry.day, entry.pair, entry.drift, entry.rod, entry.told),
        *entry.counts.of_kind,
        entry.counts.offers,
        *(setup.line, setup.sink_in_s, setup.count_s, setup.retrieve),
        text=entry_text(entry),
        instead_of=entry_text(change.before) if change.before else "",
        known=change.known,
    )


def entry_text(entry: Entry) -> str:
    """Return what a row says, as a captain reads it.

    Examples
    --------
    >>> from sweptwater.practice.tally import Counts
    >>> entry_text(Entry(day=date(2027, 6, 8), pair="Heron", told="tallied",
    ...     counts=Counts(2), setup=SetUp("3 in/s", 3, 20, "slow"), when="11:20"))
    '2 follows; 11:20; 3 in/s, count 20, slow'
    """
    setup = entry.setup
    said = counts_text(entry.counts) if entry.told else "not told"
    place = f"{entry.place[1]:.5f},{entry.place[0]:.5f}" if entry.place else ""
    where = ", ".join(word for word in (entry.near, place, entry.when) if word)
    count = f"count {setup.count_s:g}" if setup.count_s is not None else ""
    tackle = (setup.line, count, setup.retrieve, setup.fly_place, setup.fly)
    drogue = f"drogue {entry.drogue}" if entry.drogue else ""
    rest = (entry.taken, entry.species, drogue, entry.left_because, entry.note)
    parts = (
        said,
        where,
        ", ".join(filter(None, tackle)),
        ", ".join(filter(None, rest)),
    )
    return "; ".join(part for part in parts if part)


def _no_drifts(known: Known, pair: str, day: date | None) -> str:
    if day is None:
        return (
            f"there is no drift of {pair} yet: upload its track, or put one in with "
            "sweptwater drifts add"
        )
    days = [day_text(on) for on, whose in known.boat_days if whose == pair]
    listed = f" (it has some on {', '.join(days)})" if days else ""
    return (
        f"{pair} has no drift on {day_text(day)}{listed}: mend the day, upload the "
        "track, or put the drift in with sweptwater drifts add"
    )


def _shared(afloat: Afloat, say: Say, day: date, pair: str) -> Entry:
    """Return what the options say, of whatever drift."""
    place: Position | None = None
    if say.at_place:
        spot = spoken_spot(afloat.opened, say.at_place)
        lon, lat = afloat.opened.venue.frame.to_degrees(spot.easting, spot.northing)
        place = (round(float(lon), 6), round(float(lat), 6))
    near = _plain(say.near)
    if near:
        spoken_spot(afloat.opened, near)
    drogue = say.drogue.strip().casefold()
    if drogue not in ("", "in", "out"):
        raise PracticeError(
            f"{say.drogue!r} does not say where the drogue was: say in, for in the "
            "water, or out"
        )
    return Entry(
        day=day,
        pair=pair,
        setup=SetUp(fly_place=_plain(say.fly_place), fly=_plain(say.fly)),
        taken=_plain(say.taken),
        species=_plain(say.species),
        drogue=drogue,
        left_because=_plain(say.left),
        place=place,
        near=near,
        when=_plain(say.when),
        note=_plain(say.note),
    )


def _plain(text: str) -> str:
    return " ".join(text.split())


def _told(
    afloat: Afloat, known: Known, first: Entry, words: Sequence[str]
) -> list[Entry]:
    """Return what some words tell, drift by drift and rod by rod."""
    said = " ".join(words).split()  # some were in quotes
    words = [word for word in said if word.casefold() not in ("drift", "drifts")]
    if not words:
        raise PracticeError(WHICH)
    which, *rest = words
    loose = which.casefold() in SOMEWHERE
    numbers = [] if loose else _numbers(known, first, which)
    rod, rest = _rod(known, first, rest)
    entry = _with_words(afloat, replace(first, rod=rod), rest)
    if loose:
        return [_somewhere(known, entry)]
    several = len(numbers) > 1 or which.casefold() in REST
    if several and entry.told == "tallied":
        raise PracticeError(
            f"{counts_text(entry.counts)} cannot be told of several drifts at once: "
            "tell them drift by drift, or say somewhere instead of the numbers"
        )
    rods = known.rods(first.day, first.pair)
    aboard = (rod,) if rod or entry.told == "tallied" else rods
    if len(rods) == 1:
        aboard = rods
    told = [
        replace(entry, drift=number, rod=one) for number in numbers for one in aboard
    ]
    if which.casefold() in REST:
        told = _untold(afloat, told)
    return told


def _untold(afloat: Afloat, told: Sequence[Entry]) -> list[Entry]:
    """Return those of rods and drifts of which nothing was told."""
    open_ = {
        (one.day, one.pair, one.drift, one.rod)
        for one in afloat.met.stints
        if not one.told
    }
    left = [e for e in told if (e.day, e.pair, e.drift, e.rod) in open_]
    if not left:
        first = told[0]
        raise PracticeError(
            f"all drifts of {first.pair} on {day_text(first.day)} are told already: "
            "name one by its number to tell it anew"
        )
    return left


def _numbers(known: Known, first: Entry, which: str) -> list[int]:
    """Return the numbers of the drifts that are meant."""
    there = [one.number for one in known.on(first.day, first.pair)]
    if which.casefold() in (*REST, *EVERY):
        return there
    numbers: list[int] = []
    for part in re.split(r"[,+]", which):
        if part.isdecimal():
            numbers.append(int(part))
        elif (found := _RANGE.fullmatch(part)) and int(found[1]) <= int(found[2]):
            numbers += range(int(found[1]), min(int(found[2]), 9999) + 1)
        else:
            near = near_words(which, (*REST, *SOMEWHERE[:1], *EVERY))
            raise PracticeError(f"{which!r} is no drift:{near or ''} {WHICH}")
    for number in numbers:
        if number not in there:
            raise PracticeError(
                f"{first.pair} has no drift {number} on {day_text(first.day)}, only "
                f"{drifts_text(there)}: see sweptwater drifts"
            )
    return list(dict.fromkeys(numbers))


def _somewhere(known: Known, entry: Entry) -> Entry:
    if entry.told != "tallied":
        raise PracticeError(
            "only offers can be told of no drift in particular: say how many, or name "
            "the drifts that were blank, or rest"
        )
    drifts = known.on(entry.day, entry.pair)
    words = entry.when and own_clock(entry.when) is None
    if words and hours_of(entry, drifts, known.settings.zone) is None:
        raise PracticeError(
            f"{entry.when!r} does not say when: write 11:20, 11:00-12:30, about 11:30, "
            "before lunch, after 2, morning or afternoon, and the rest with --note"
        )
    return entry


def _rod(known: Known, first: Entry, words: Sequence[str]) -> tuple[str, list[str]]:
    """Return the rod that some words name, and the others; empty if none does."""
    rest = [word for word in words if word.casefold() != "rod"]
    for i, word in enumerate(rest):
        if word.casefold() in BOTH and not i:
            return "", rest[1:]
        if word[:1].isdigit() and i:
            continue
        try:
            rod = rod_named(known.settings, first.pair, first.day, word)
        except PracticeError:
            continue
        others = [*rest[:i], *rest[i + 1 :]]
        if not word.isdecimal() or "rod" in words:
            return rod, others
        if others and others[0][0].isalpha() and not said_counts(rest[:2])[1]:
            return "", rest  # 2 follows
        if not others:
            raise PracticeError(
                f"{word} may be rod {word}, or {word} offers: write bow or stern for "
                f"the rod, or {word} offers"
            )
        return rod, others
    return "", rest


def _with_words(afloat: Afloat, entry: Entry, words: Sequence[str]) -> Entry:
    """Return an entry with what some words say: counts or a blank, and the set-up."""
    lines = afloat.opened.settings.tackle.lines
    if words and words[0].casefold().strip(".,;") in BLANKS:
        setup = parse_setup(" ".join(words[1:]), lines)
        return replace(entry, told="blank", setup=_joined(setup, entry.setup))
    counts, rest = said_counts(words)
    setup = parse_setup(" ".join(rest), lines)
    entry = replace(entry, setup=_joined(setup, entry.setup))
    if counts is not None:
        told: ToldOf = "tallied" if counts.offers else "blank"
        return replace(entry, told=told, counts=counts)
    if setup.line or setup.count_s is not None:
        return entry
    if rest:
        near = near_words(rest[0], BLANKS)
        raise PracticeError(
            f"{' '.join(rest)!r} tells neither what was met nor which line:{near} "
            f"{HOW}; blank if there was nothing; and the line like 3ips c20"
        )
    if not any((entry.setup.fly, entry.taken, entry.drogue, entry.left_because)):
        raise PracticeError(f"it does not say what was met: {HOW}, or blank")
    return entry


def _joined(setup: SetUp, options: SetUp) -> SetUp:
    return replace(setup, fly_place=options.fly_place, fly=options.fly)
