"""Take a tally from a file: a spreadsheet's CSV, or a receiver's waypoints."""

import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from math import isnan
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.jobs.met import rod_named, spelt
from sweptwater.jobs.opened import Opened, Watch, local_time, parse_day, unwatched
from sweptwater.jobs.spoken import spot_at
from sweptwater.jobs.tally import Afloat, read_afloat
from sweptwater.jobs.tally_say import TalliedLine, tallied_line
from sweptwater.jobs.tally_write import Known, write_told
from sweptwater.offers.belonging import drift_at, drift_near, reach_m, seconds
from sweptwater.offers.hours_told import own_clock
from sweptwater.offers.placing import no_such_drift, says_nothing
from sweptwater.practice.files import read_whole, writing
from sweptwater.practice.sheets import (
    PLACES,
    Form,
    RowFault,
    parse_sheet,
    row_fault,
    understood,
)
from sweptwater.practice.tally import FORM, IF_NEEDED, NOT_READ, Counts, Entry, SetUp
from sweptwater.practice.tally_rows import keep_rows, parse_entry, raw_rows
from sweptwater.practice.tally_words import TOLD, parse_setup, said_counts
from sweptwater.tracks.read import Waypoint, read_waypoints

TELLING = re.compile(
    r"(?:\d+(?:/\d+){3}|(?:\d+ ?)?(?:follow(?:s|ed)?|pull(?:s|ed)?|lost|boated|offers?)"
    r"|\d+[fplb]|blank)\b",
    re.IGNORECASE,
)
"""How a waypoint's name begins that tells of an offer."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a file's tally.

    Parameters
    ----------
    lines
        What is told now that was not before.
    known
        How many rows or waypoints changed nothing.
    not_read
        The rows that could not be understood, a sentence each.
    kept_in
        The file that those were copied to; empty if there are none.
    passed_over
        Waypoints that tell of no offer, by name; columns that are none of the tally's.
    """

    file: str
    lines: tuple[TalliedLine, ...]
    known: int
    not_read: tuple[str, ...]
    kept_in: str
    passed_over: tuple[str, ...]
    questions: tuple[str, ...]


def take_tally(
    folder: Path,
    file: Path,
    *,
    pair: str | None = None,
    rod: str | None = None,
    day: str | None = None,
    watch: Watch = unwatched,
) -> Taken:
    """Take the tally that a file holds, as if each row was told by hand.

    Parameters
    ----------
    file
        A CSV with columns of the tally, in any order; or GPX, whose waypoints' names
        tell what was met.
    pair, rod, day
        Whose, and when, where the file does not say.

    Raises
    ------
    SweptwaterError
        If the file is neither, or the folder cannot be understood or written.
    """
    afloat = read_afloat(folder, watch)
    settings = afloat.opened.settings
    whose = settings.pair_named(pair) if pair else ""
    on = parse_day(day) if day else None
    data = read_whole(file)
    if data.lstrip(b"\xef\xbb\xbf \r\n\t").startswith(b"<"):
        return _take_gpx(folder, afloat, file.name, data, (whose, rod or "", on))
    return _take_csv(folder, afloat, file.name, data, (whose, rod or "", on))


def _take_csv(
    folder: Path,
    afloat: Afloat,
    name: str,
    data: bytes,
    given: tuple[str, str, date | None],
) -> Taken:
    known = afloat.known
    form = Form(name, (*FORM.columns, *IF_NEEDED), needed=())
    sheet = parse_sheet(data, form)
    head = [cell.strip().casefold() for cell in sheet.rows[0]]
    if not {"told", "follow", "pull", "lost", "boated", "offers", "line"} & set(head):
        raise PracticeError(
            f"{name} has no column of what was met: its first row must name some of "
            f"{','.join(FORM.columns)}"
        )

    def understand(values: Mapping[str, str], row: int) -> Entry:
        return parse_entry(_given(values, given), row)

    rows, faults = understood(sheet, form, understand)
    entries, unknown = spelt(known.settings, rows, name)
    told, bad = list[Entry](), [*faults, *unknown]
    for entry in entries:
        try:
            told += _tellable(afloat.opened, known, entry)
        except PracticeError as error:
            bad.append(row_fault(name, entry.row, error))
    bad.sort(key=lambda fault: fault.row)
    return _written(
        folder,
        afloat,
        name,
        told,
        not_read=bad,
        raw=raw_rows(sheet),
        passed_over=[f"column {cell}" for cell in head if cell not in form.columns],
    )


def _given(
    values: Mapping[str, str], given: tuple[str, str, date | None]
) -> dict[str, str]:
    """Return the cells of a row with what was said of all of them.

    Raises
    ------
    PracticeError
        If it says no day or no pair.
    """
    pair, rod, day = given
    whole = dict(values)
    for name, word in (
        ("pair", pair),
        ("rod", rod),
        ("day", day.isoformat() if day else ""),
    ):
        whole[name] = whole.get(name) or word
    for name in FORM.needed:
        if not whole[name]:
            raise PracticeError(f"there is no {name}: fill it in, or say --{name}")
    return whole


def _tellable(opened: Opened, known: Known, entry: Entry) -> Iterator[Entry]:
    """Yield what a row tells, rod by rod; nothing, if it is still to be filled in.

    Raises
    ------
    PracticeError
        If it is of no drift, or of a place that is not on this water.
    """
    if says_nothing(entry):
        return
    drifts = known.on(entry.day, entry.pair)
    if entry.loose and entry.told != "tallied":
        raise PracticeError(
            "it names no drift, and is no offer: write its drift or its start"
        )
    if not entry.loose and known.drift_of(entry) is None:
        raise PracticeError(no_such_drift(entry, drifts))
    if entry.place is not None:
        lon, lat = entry.place
        spot_at(opened, f"{lat:g}, {lon:g}", entry.place)
    rods = known.rods(entry.day, entry.pair)
    if entry.rod or (entry.told == "tallied" and len(rods) > 1):
        yield entry
        return
    for rod in rods:
        yield replace(entry, rod=rod)


def _written(
    folder: Path,
    afloat: Afloat,
    name: str,
    told: Iterable[Entry],
    *,
    not_read: Iterable[RowFault] = (),
    raw: list[dict[str, str]] | None = None,
    passed_over: Iterable[str] = (),
) -> Taken:
    bad = tuple(not_read)
    with writing(folder):
        if bad and raw is not None:
            rows = [{**raw[one.row - 2], "reason": str(one)} for one in bad]
            keep_rows(folder, NOT_READ, rows)
        changes = write_told(folder, afloat.known, told)
    met = afloat.met
    days = {(one.entry.day, one.entry.pair) for one in changes}
    whose = tuple(f"{pair} on {day:%a} {day.day} {day:%b}: " for day, pair in days)
    return Taken(
        file=name,
        lines=tuple(tallied_line(one) for one in changes if not one.known),
        known=sum(one.known for one in changes),
        not_read=tuple(map(str, bad)),
        kept_in=NOT_READ if bad else "",
        passed_over=tuple(passed_over),
        questions=tuple(q for q in met.questions if q.startswith(whose)),
    )


def _take_gpx(
    folder: Path,
    afloat: Afloat,
    name: str,
    data: bytes,
    given: tuple[str, str, date | None],
) -> Taken:
    pair, rod, on = given
    if not pair:
        raise PracticeError(
            f"{name} does not say whose waypoints these are: say it, like --pair Heron"
        )
    known = afloat.known
    day = on or known.last_day(pair)
    if rod and day:
        rod_named(known.settings, pair, day, rod)
    told, passed_over = list[Entry](), []
    for mark in read_waypoints(data, name=name):
        said, entries = event_of(mark.name), list[Entry]()
        if said is not None:
            with suppress(PracticeError):  # somewhere on the way home, say
                entries = _of_mark(afloat, mark, said, (pair, rod, day))
        told += entries
        if not entries:
            passed_over.append(mark.name or "a waypoint without a name")
    return _written(folder, afloat, name, told, passed_over=passed_over)


def event_of(name: str) -> tuple[bool, Counts, SetUp] | None:
    """Return what a waypoint's name tells of: whether a blank, the counts, the set-up.

    A name that only begins like one, as a bay's may, tells of nothing.

    Examples
    --------
    >>> event_of("pull 3ips")[1:]
    (Counts(follow=0, pull=1, lost=0, boated=0, unsaid=0), \
SetUp(line='3 in/s', sink_in_s=3.0, count_s=None, retrieve='', fly_place='', fly=''))
    >>> event_of("2 follows")[1].follow, event_of("Boated")[1].boated
    (2, 1)
    >>> event_of("Lost Bay"), event_of("017"), event_of("Oak")
    (None, None, None)
    """
    if not TELLING.match(name.strip()):
        return None
    words = name.split()
    blank = TOLD.get(words[0].casefold()) == "blank"
    try:
        counts, rest = (Counts(), words[1:]) if blank else said_counts(words)
        setup = parse_setup(" ".join(rest))
    except PracticeError:
        return None
    sure = not rest or words[0][0].isdigit() or words[0].casefold() == "boated"
    if counts is None or not (sure or setup.line or setup.count_s is not None):
        return None
    return blank, counts, setup


def events_among(marks: Iterable[Waypoint]) -> int:
    """Return how many waypoints tell of offers by their names."""
    return sum(event_of(mark.name) is not None for mark in marks)


def _of_mark(
    afloat: Afloat,
    mark: Waypoint,
    said: tuple[bool, Counts, SetUp],
    given: tuple[str, str, date | None],
) -> list[Entry]:
    """Return what a waypoint tells; a blank only of a drift that it is on."""
    blank, counts, setup = said
    known, (pair, rod, day) = afloat.known, given
    when = ""
    if not isnan(mark.time_s):
        local = local_time(mark.time_s, known.settings)
        day, when = local.date(), f"{local:%H:%M}"
    if day is None:
        return []
    if rod:
        rod = rod_named(known.settings, pair, day, rod)
    entry = Entry(
        day=day,
        pair=pair,
        rod=rod,
        told="blank" if blank or not counts.offers else "tallied",
        counts=counts,
        setup=setup,
        place=(round(mark.lon, PLACES), round(mark.lat, PLACES)),
        when=when,
    )
    spot = spot_at(afloat.opened, mark.name, (mark.lon, mark.lat))
    if entry.told == "tallied":
        return [entry]
    drifts, at = known.on(day, pair), own_clock(when)
    drift = drift_at(seconds(day, at, known.settings.zone), drifts) if at else None
    within_m = reach_m(known.settings.spread.cast_m)
    drift = drift or drift_near((spot.easting, spot.northing), drifts, within_m)
    if drift is None:
        return []
    rods = (rod,) if rod else known.rods(day, pair)
    plain = replace(entry, drift=drift.number, place=None, when="")
    return [replace(plain, rod=one) for one in rods]
