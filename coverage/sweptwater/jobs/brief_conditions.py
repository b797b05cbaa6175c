"""What a match brief says of the day: wind, sky, sun, water, times and cautions."""

from collections.abc import Iterator

from sweptwater.errors import PracticeError, SweptwaterError
from sweptwater.jobs.day_words import closed_texts, sun_texts
from sweptwater.jobs.note_words import meaning
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.starts import StartsSight
from sweptwater.jobs.starts_words import speed_text
from sweptwater.jobs.wording import day_text
from sweptwater.offers.wind import wind_text
from sweptwater.practice.notes import Note, note_rows, read_notes
from sweptwater.units import duration_text

OF_THE_WATER = (
    *("temp_top", "temp_deep", "clarity_ft", "wave", "level", "weed", "hatch"),
    *("birds", "spooned", "stocked"),
)
"""The kinds of note that a brief hands on; what else was noted may be private."""

SAFE = (
    "Buoyancy aids on and fastened, from the jetty to the jetty; kill cord clipped to "
    "whoever has the tiller.",
    "Sit down to fish and to net. A boat that is hard to hold is a boat to take in: in "
    "need anchor with the bow to the wind, stay low, and wait for help.",
    "Cold water: about one minute to get your breath back, ten in which hands still "
    "work, an hour until you pass out. Stay with the boat.",
    "Thunder: lines in, carbon rods down, ashore at once, and not out again until 30 "
    "minutes after the last of it.",
)
"""Bow to the wind and low: United States National Weather Service, Safe Boating Week.
One minute, ten, an hour: G. Giesbrecht's 1-10-1, less in colder water. 30 minutes:
National Weather Service, lightning safety. The rest is common practice, no source."""


def condition_texts(sight: StartsSight) -> Iterator[str]:
    """Yield wind, sky and sun of the day, then what was last noted of the water."""
    report, opened = sight.report, sight.opened
    units = opened.settings.units
    gusts = (
        "gusts not told: look them up in the forecast"
        if report.gust_m_s is None
        else f"gusts {speed_text(report.gust_m_s, units)}"
    )
    yield f"Wind {wind_text(sight.wind, units)}, {gusts}"
    yield (
        f"Sky: {report.sky} expected"
        if report.sky
        else "Sky: not told, so each place has a line for sun and one for cloud"
    )
    yield f"Sun: {'; '.join(sun_texts(opened, report.lines_down, report.lines_up))}"
    noted = list(_water(sight))
    if noted:
        yield f"Noted last: {'; '.join(noted)}"
    else:
        yield (
            "Nothing is noted of the water: no temperature, clarity, hatch, or what "
            "fish had eaten"
        )


def _water(sight: StartsSight) -> Iterator[str]:
    opened, day = sight.opened, sight.report.day
    latest: dict[str, Note] = {}
    for note in _notes(opened):
        if note.day <= day:
            before = latest.get(note.kind)
            if before is None or _moment(note) >= _moment(before):
                latest[note.kind] = note
    for kind in OF_THE_WATER:
        if kind not in latest:
            continue
        note = latest[kind]
        try:
            told = meaning(kind, note.value, opened.settings.units)
        except SweptwaterError:
            told = f"{kind} {note.value}"  # `check` asks about it; it is kept as told
        near = f" near {note.near}" if note.near else ""
        yield f"{told}{near} ({day_text(note.day)})"


def _notes(opened: Opened) -> tuple[Note, ...]:
    try:
        notes, _ = note_rows(read_notes(opened.practice.folder))
    except PracticeError:  # `check` and the faults tell of it
        return ()
    return notes


def _moment(note: Note) -> tuple[object, ...]:
    return note.day, note.at is not None, note.at, note.row


def time_texts(sight: StartsSight) -> Iterator[str]:
    """Yield when the match begins and ends, and where."""
    report, match = sight.report, sight.opened.settings.match
    yield (
        f"Lines down {report.lines_down:%H:%M}, up {report.lines_up:%H:%M} at "
        f"{report.lines_up_at}"
    )
    leave = [row.leave_by for row in report.starts if row.leave_by]
    if leave:
        yield (
            f"Leave your water by the times below, {min(leave):%H:%M} at the earliest: "
            f"they keep {duration_text(match.spare_s)} in hand. Begin no drift that "
            "would end later"
        )


def closed_words(opened: Opened) -> tuple[str, ...]:
    """Return what is out of bounds; that nobody told, if nobody did."""
    found = tuple(closed_texts(opened, opened.settings.match.keep_off_m))
    return found or ("nothing told: ask the venue before casting off",)


def caution_texts(sight: StartsSight) -> Iterator[str]:
    """Yield how to stay safe: this day's cautions, the usual ones, whom to ring."""
    report, settings = sight.report, sight.opened.settings
    most = speed_text(settings.day.most_wind_m_s, settings.units)
    yield from report.cautions[1:-1]  # the first leads; the last is told in full here
    yield (
        f"This practice goes afloat in {most} at the most, gusts included. White "
        "horses everywhere are force 5: come in before that."
    )
    yield from SAFE
    yield (
        f"In need ring {settings.day.ring}, then the emergency number."
        if settings.day.ring
        else "No number to ring is known: ask at the jetty, and write it on your card."
    )
    if not report.phones:
        yield (
            "Ask whether a phone may be carried switched off in a dry bag: it is the "
            "one thing that calls for help."
        )
    yield (
        "The venue's rules, the match's own and its rangers' word stand above all that "
        "is written here."
    )
