"""What the notes say of wind, sky, wave and drogues, at any time of a day."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Generic, TypeVar
from zoneinfo import ZoneInfo

from sweptwater.errors import PracticeError
from sweptwater.offers.sky import Sky, parse_sky, parse_wave
from sweptwater.offers.wind import Wind, parse_wind
from sweptwater.practice.notes import NOTES, Note
from sweptwater.practice.outing import Drogue
from sweptwater.practice.sheets import RowFault, row_fault

EARLIER = timedelta(hours=1)
"""A day's first wind was blowing before somebody noted it, for so long at least; so it
is with the sky and the wave."""

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Said(Generic[Value]):
    """A note with what its value means."""

    note: Note
    value: Value

    @property
    def clock(self) -> time:
        """From when on it holds, local."""
        return self.note.at or time.min


@dataclass(frozen=True, slots=True)
class Noted:
    """The notes that are counted with, each kind in the order of time.

    Parameters
    ----------
    zone
        The practice's zone, in which the notes tell the time.
    faults
        The rows whose value means nothing.
    """

    zone: ZoneInfo
    winds: tuple[Said[Wind], ...] = ()
    drogues: tuple[Said[Drogue], ...] = ()
    faults: tuple[RowFault, ...] = ()
    skies: tuple[Said[Sky], ...] = ()
    waves: tuple[Said[str], ...] = ()


def noted(notes: Iterable[Note], zone: ZoneInfo) -> Noted:
    """Return what some notes mean; those of other kinds are passed over."""
    notes = tuple(notes)
    winds, bad_winds = _meant(notes, "wind", parse_wind)
    drogues, bad_drogues = _meant(notes, "drogue", parse_drogue)
    skies, bad_skies = _meant(notes, "sky", parse_sky)
    waves, bad_waves = _meant(notes, "wave", parse_wave)
    bad = (*bad_winds, *bad_drogues, *bad_skies, *bad_waves)
    faults = tuple(sorted(bad, key=lambda fault: fault.row))
    return Noted(zone, winds, drogues, faults, skies, waves)


def wind_at(noted: Noted, day: date, time_s: float, pair: str) -> Wind | None:
    """Return the wind that was noted for a boat at a time; None if nobody did.

    A note holds until the next of that day. A pair goes by its own notes and by those
    for all boats, the latest of them, and of one moment by its own. A day's first wind
    holds for the hour before it as well.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC.
    """
    return _held_early(noted.winds, day, pair, _clock(noted, time_s))


def sky_at(noted: Noted, day: date, time_s: float, pair: str) -> Sky | None:
    """Return the sky that was noted over a boat at a time; None if nobody did.

    As `wind_at`, but that nothing is known before the day's first note: a sky changes
    faster than people write it down.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC.
    """
    return _held(_of(noted.skies, day, pair), _clock(noted, time_s))


def wave_at(noted: Noted, day: date, time_s: float, pair: str) -> str | None:
    """Return the wave that was noted at a boat at a time, in words; None if nobody did.

    As `sky_at`.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC.
    """
    return _held(_of(noted.waves, day, pair), _clock(noted, time_s))


def drogue_at(noted: Noted, day: date, time_s: float, pair: str) -> Drogue | None:
    """Return whether a boat had its drogue in at a time; None if nobody noted it.

    As `wind_at`, but that a drogue may have been put out a minute before the note.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC.
    """
    return _held(_of(noted.drogues, day, pair), _clock(noted, time_s))


def has_wind(noted: Noted, day: date) -> bool:
    """Return whether anybody noted the wind of a day."""
    return any(said.note.day == day for said in noted.winds)


def parse_drogue(text: str) -> Drogue:
    """Return whether a text says that the drogue is in the water.

    Raises
    ------
    PracticeError
        If it says neither.

    Examples
    --------
    >>> parse_drogue(" In "), parse_drogue("out")
    ('in', 'out')
    """
    said = text.strip().casefold()
    if said == "in":
        return "in"
    if said == "out":
        return "out"
    raise PracticeError(
        f"{text!r} does not say where the drogue is: write in, for in the water, or out"
    )


def _meant(
    notes: Iterable[Note], kind: str, parse: Callable[[str], Value]
) -> tuple[tuple[Said[Value], ...], list[RowFault]]:
    said, faults = list[Said[Value]](), []
    for note in notes:
        if note.kind != kind:
            continue
        try:
            said.append(Said(note, parse(note.value)))
        except PracticeError as error:
            faults.append(row_fault(NOTES, note.row, error))
    # Sorting keeps the rows' order within a moment: the later one counts.
    said.sort(key=lambda one: (one.note.day, one.clock, one.note.pair != ""))
    return tuple(said), faults


def _of(said: Iterable[Said[Value]], day: date, pair: str) -> list[Said[Value]]:
    return [one for one in said if one.note.day == day and one.note.pair in ("", pair)]


def _held_early(
    said: Iterable[Said[Value]], day: date, pair: str, clock: time
) -> Value | None:
    """Return what holds for a boat; a day's first note for the hour before as well."""
    mine = _of(said, day, pair)
    now = datetime.combine(day, clock)
    if mine:
        first = datetime.combine(day, mine[0].clock)
        if first - EARLIER <= now < first:
            now = first
    return _held(mine, now.time())


def _held(said: Iterable[Said[Value]], clock: time) -> Value | None:
    """Return what the latest note up to a time says."""
    held = [one.value for one in said if one.clock <= clock]
    return held[-1] if held else None


def _clock(noted: Noted, time_s: float) -> time:
    return datetime.fromtimestamp(time_s, UTC).astimezone(noted.zone).time()
