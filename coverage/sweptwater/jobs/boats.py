"""The boat-days of a practice: made from the originals, or as they were made before."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import cache, cached_property
from itertools import combinations
from pathlib import Path

import numpy as np
import shapely

import sweptwater
from sweptwater.errors import SweptwaterError, TrackError
from sweptwater.jobs.afloat import DayFixes, day_fixes, one_boat, read_original
from sweptwater.jobs.opened import Opened, Watch, unwatched
from sweptwater.practice.cache import Arrays, Cache, key_of
from sweptwater.practice.originals import Original
from sweptwater.practice.said import Correction
from sweptwater.swept.boats import BoatDay, sweep_day
from sweptwater.swept.packed import pack_boat, unpack_boat
from sweptwater.tracks.drifts import DayAfloat, day_afloat
from sweptwater.tracks.read import Recording
from sweptwater.tracks.record import Record, apart_m
from sweptwater.tracks.untimed import untimed_drifts, with_untimed

BESIDE_M = 15.0
"""Two records that are this near, half of the time, were in one boat."""

TRACE_S = 10.0
"""A record's trace has a fix in each such time: enough to tell boats apart."""

ROOMS = ("*.py", "practice/geojson.py", "water/*.py", "tracks/*.py", "swept/*.py")
"""What of the engine a boat-day depends on; from the jobs, `RECORDS` too."""

RECORDS = "jobs/afloat.py"


@dataclass(frozen=True, slots=True)
class Track:
    """An original with the local days that it has fixes of, or why it has none."""

    original: Original
    key: str
    days: tuple[date, ...]
    fault: str = ""


@dataclass(frozen=True, slots=True)
class ReadDay:
    """A boat-day, and what is known of the tracks that it was made from.

    Parameters
    ----------
    boat
        What the boat did and swept.
    left_out
        How many tracks were of another boat.
    traces
        The record of each track, thinned.
    """

    boat: BoatDay
    left_out: int
    traces: tuple[Record, ...]


@dataclass(frozen=True, slots=True)
class Boats:
    """The boat-days that were read, and what is wrong with the originals."""

    days: tuple[BoatDay, ...]
    faults: tuple[str, ...]


@dataclass
class Reader:
    """Makes boat-days of an opened practice, each once.

    What it makes is kept in the practice's cache under the hash of all that it depends
    on: the tracks, what was said of them, the venue, the settings and the engine.
    """

    opened: Opened
    used: set[str] = field(default_factory=set)
    _parts: dict[str, Mapping[date, DayFixes]] = field(default_factory=dict)

    def track(self, original: Original, recording: Recording | None = None) -> Track:
        """Return the days of an original; of its recording, if that was read."""
        key = key_of(self._ground, *_told(original))
        if recording is not None:
            self._note(key, original, recording)
        elif (known := self._load(key)) is not None:
            return _unpacked_track(original, key, known)
        try:
            if key not in self._parts:
                self._note(key, original, read_original(self.opened, original)[0])
            track = Track(original, key, tuple(self._parts[key]))
        except TrackError as error:
            track = Track(original, key, (), str(error))
        except SweptwaterError as error:  # it may be readable the next time
            return Track(original, key, (), str(error))
        self._store(key, _packed_track(track))
        return track

    def boat(self, pair: str, day: date, tracks: Sequence[Track]) -> ReadDay:
        """Return what a boat did on a day, by one track or several."""
        key = key_of(self._rules, pair, str(day), *(track.key for track in tracks))
        known = self._load(key)
        if known is not None and (read := _unpacked_day(known, pair, day)):
            return read
        parts = [self.parts(track)[day] for track in tracks]
        afloat, left_out = self._afloat(tracks, parts)
        ways = [way for part in parts for way in part.untimed]
        if ways or afloat is None:
            at_s = datetime.combine(day, time(12), self.opened.settings.zone)
            afloat = with_untimed(afloat, untimed_drifts(ways, at_s.timestamp()))
        spread, fishable = self.opened.settings.spread, self.opened.venue.fishable
        boat = sweep_day(pair, day, afloat, spread, fishable)
        read = ReadDay(boat, left_out, tuple(_trace(part.record) for part in parts))
        self._store(key, _packed_day(read))
        return read

    def _afloat(
        self, tracks: Sequence[Track], parts: Sequence[DayFixes]
    ) -> tuple[DayAfloat | None, int]:
        """Return what a boat did by its times, and how many tracks were another's."""
        records = [part.record for part in parts if len(part.record.time_s)]
        if not records:
            return None, 0
        whole, left_out = one_boat(self.opened, records)
        afloat = day_afloat(
            whole,
            self.opened.venue.water,
            self.opened.jetty_ground,
            self.opened.settings.rules,
            tuple(_corrections(tracks, parts)),
        )
        return afloat, left_out

    def parts(self, track: Track) -> Mapping[date, DayFixes]:
        """Return the fixes of a track by day.

        Raises
        ------
        SweptwaterError
            If it cannot be read.
        """
        if track.key not in self._parts:
            original = track.original
            self._note(track.key, original, read_original(self.opened, original)[0])
        return self._parts[track.key]

    def tidy(self) -> None:
        """Delete what is kept and was not asked for, if there is much of it."""
        self._cache.tidy(self.used)

    def _note(self, key: str, original: Original, recording: Recording) -> None:
        parts = day_fixes(self.opened, original, recording)
        self._parts[key] = {part.day: part for part in parts}

    def _load(self, key: str) -> Arrays | None:
        self.used.add(key)
        return self._cache.load(key)

    def _store(self, key: str, arrays: Arrays) -> None:
        self.used.add(key)
        self._cache.store(key, arrays)

    @cached_property
    def _cache(self) -> Cache:
        return Cache(self.opened.practice.folder)

    @cached_property
    def _ground(self) -> str:
        """The hash of what the days of a track depend on, beside the track."""
        opened, venue = self.opened, self.opened.venue
        areas = (venue.water, venue.fishable, opened.jetty_ground)
        return key_of(
            engine_mark(),
            repr(venue.frame),
            opened.settings.time_zone,
            opened.settings.name,  # a refusal names it
            *(shapely.to_wkb(area) for area in areas),
        )

    @cached_property
    def _rules(self) -> str:
        settings = self.opened.settings
        return key_of(self._ground, repr(settings.rules), repr(settings.spread))


def read_boat_days(
    opened: Opened,
    originals: Iterable[Original],
    *,
    reader: Reader | None = None,
    watch: Watch = unwatched,
) -> Boats:
    """Return the boat-days of some originals, in the order of day and pair.

    An original that cannot be used is told among the faults; the rest go on.
    """
    reader = reader or Reader(opened)
    tracks = [reader.track(item) for item in watch(list(originals), "reading tracks")]
    by_boat = tracks_by_boat(tracks)
    read = {
        (day, pair): reader.boat(pair, day, by_boat[day, pair])
        for day, pair in watch(sorted(by_boat), "sweeping water")
    }
    reader.tidy()
    unread = (f"{t.original.pair}: {t.fault}" for t in tracks if t.fault)
    faults = (*unread, *_strangers(read), *_twins(read, opened.settings.rules.bridge_s))
    return Boats(tuple(day.boat for day in read.values()), faults)


def tracks_by_boat(tracks: Iterable[Track]) -> dict[tuple[date, str], list[Track]]:
    """Return the tracks of each boat-day, by day and pair."""
    by_boat: defaultdict[tuple[date, str], list[Track]] = defaultdict(list)
    for track in tracks:
        for day in track.days:
            by_boat[day, track.original.pair].append(track)
    return dict(by_boat)


@cache
def engine_mark() -> str:
    """Return the hash of the engine's own files and of the libraries it rests on."""
    root = Path(sweptwater.__file__).parent
    files = sorted({path for room in ROOMS for path in root.glob(room)})
    return key_of(
        sweptwater.__version__,
        np.__version__,
        shapely.__version__,
        shapely.geos_version_string,
        *(path.read_bytes() for path in (*files, root / RECORDS)),
    )


def _told(original: Original) -> Iterator[str]:
    """Yield what tells an original from any other; one that was changed by hand too."""
    yield from (repr(original.said), original.fault)
    try:
        stat = original.path.stat()
    except OSError:
        return
    yield f"{stat.st_size} {stat.st_mtime_ns}"


def _strangers(read: Mapping[tuple[date, str], ReadDay]) -> Iterator[str]:
    """Tell of tracks that were not in the boat whose pair brought them."""
    for (day, pair), found in read.items():
        if left_out := found.left_out:
            were = "track was" if left_out == 1 else "tracks were"
            yield (
                f"{pair} on {day.day} {day:%B}: {left_out} {were} not in the same boat "
                "as the rest and left out; is it another pair's?"
            )


def _twins(read: Mapping[tuple[date, str], ReadDay], gap_s: float) -> Iterator[str]:
    """Tell of two pairs of which one's track was in the other's boat."""
    on_day: defaultdict[date, list[str]] = defaultdict(list)
    for day, pair in read:
        on_day[day].append(pair)
    for day, pairs in on_day.items():
        for pair, other in combinations(pairs, 2):
            apart = (
                apart_m(one, two, gap_s)
                for one in read[day, pair].traces
                for two in read[day, other].traces
            )
            if any(metres is not None and metres < BESIDE_M for metres in apart):
                yield (
                    f"{pair} and {other} on {day.day} {day:%B} have tracks of one and "
                    "the same boat, which count twice; move the one that is not its "
                    "pair's away"
                )


def _corrections(
    tracks: Sequence[Track], parts: Sequence[DayFixes]
) -> Iterator[Correction]:
    """Yield what was said of the drifts of a boat-day; all of a track comes first."""
    for track, part in zip(tracks, parts, strict=True):
        if track.original.said.all_fishing and len(part.record.time_s):
            first_s, last_s = part.record.time_s[[0, -1]].tolist()
            yield Correction("fishing", first_s, last_s)
    for track in tracks:
        yield from track.original.corrections


def _trace(record: Record) -> Record:
    _, first = np.unique(np.floor(record.time_s / TRACE_S), return_index=True)
    return Record(
        record.time_s[first], record.easting[first], record.northing[first], {}
    )


def _packed_track(track: Track) -> Arrays:
    return {
        "days": np.array([day.toordinal() for day in track.days], dtype=np.int64),
        "fault": np.array(track.fault),
    }


def _unpacked_track(original: Original, key: str, known: Arrays) -> Track:
    days = (date.fromordinal(int(day)) for day in known["days"])
    return Track(original, key, tuple(days), str(known["fault"]))


def _packed_day(read: ReadDay) -> Arrays:
    traces = [np.column_stack([t.time_s, t.easting, t.northing]) for t in read.traces]
    return {
        **pack_boat(read.boat),
        "left_out": np.array(read.left_out),
        "trace": np.concatenate(traces),
        "trace_ends": np.cumsum([len(trace) for trace in traces]),
    }


def _unpacked_day(known: Arrays, pair: str, day: date) -> ReadDay | None:
    """Return the boat-day that was kept; None if the entry is no whole one."""
    try:
        traces = np.split(known["trace"], known["trace_ends"][:-1])
        return ReadDay(
            unpack_boat(known, pair, day),
            int(known["left_out"]),
            tuple(Record(t[:, 0], t[:, 1], t[:, 2], {}) for t in traces),
        )
    except (KeyError, ValueError, IndexError, TypeError, shapely.GEOSException):
        return None
