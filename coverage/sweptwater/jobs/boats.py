"""The boat-days of a practice: made from the originals, or as they were made before."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import cache, cached_property
from pathlib import Path

import numpy as np
import shapely

import sweptwater
from sweptwater.arrays import Area
from sweptwater.errors import SweptwaterError, TrackError
from sweptwater.jobs.afloat import DayFixes, day_fixes, one_boat, read_original
from sweptwater.jobs.opened import Opened, Watch, unwatched
from sweptwater.jobs.readings import (
    ReadDay,
    Track,
    packed_track,
    strangers,
    twins,
    unpacked_day,
    unpacked_swept,
    unpacked_track,
)
from sweptwater.practice.cache import Arrays, Cache, key_of
from sweptwater.practice.originals import Original
from sweptwater.practice.said import Correction
from sweptwater.practice.settings import Spread
from sweptwater.swept.boats import BoatDay, sweep_day, sweep_drifts
from sweptwater.swept.packed import pack_day, pack_shapes, pack_swept, unpack_shapes
from sweptwater.tracks.drifts import DayAfloat, day_afloat
from sweptwater.tracks.read import Recording
from sweptwater.tracks.record import Record
from sweptwater.tracks.untimed import untimed_drifts, with_untimed
from sweptwater.water.shapes import GRID_M, polygonal

TRACE_S = 10.0
"""A record's trace has a fix in each such time: enough to tell boats apart."""

ROOMS = (
    *("*.py", "practice/geojson.py", "practice/said.py", "water/*.py"),
    *("tracks/*.py", "swept/*.py"),
    *("jobs/opened.py", "jobs/afloat.py", "jobs/readings.py", "jobs/boats.py"),
    "jobs/merging.py",
)
"""What of the engine the figures that are kept depend on."""

BESIDE_WATER_M = 200.0
"""A trace goes no further than this from the water: nobody's way home is kept."""


@dataclass(frozen=True, slots=True)
class Boats:
    """The boat-days that were read, and what is wrong with the originals."""

    days: tuple[BoatDay, ...]
    faults: tuple[str, ...]
    reader: "Reader"

    def keys_of(self, chosen: Iterable[BoatDay]) -> list[str]:
        """Return the hash of all that each of some boat-days was made from."""
        return [self.reader.made[boat.day, boat.pair] for boat in chosen]


@dataclass
class Reader:
    """Makes boat-days of an opened practice, each once.

    What it makes is kept in the practice's cache under the hash of all that it depends
    on: the tracks, what was said of them, the venue, the settings and the engine.
    """

    opened: Opened
    used: set[str] = field(default_factory=set)
    made: dict[tuple[date, str], str] = field(default_factory=dict)
    """The hash of all that a boat-day was made from, by day and pair."""
    _parts: dict[str, Mapping[date, DayFixes]] = field(default_factory=dict)
    _zoneless: set[str] = field(default_factory=set)

    def track(self, original: Original, recording: Recording | None = None) -> Track:
        """Return the days of an original; of its recording, if that was read."""
        key = key_of(self._ground, *_told(original))
        if recording is not None:
            self._note(key, original, recording)
        elif (known := self._load(key)) and (
            track := unpacked_track(original, key, known)
        ):
            return track
        try:
            if key not in self._parts:
                self._note(key, original, read_original(self.opened, original)[0])
            traces = {day: self._trace(part) for day, part in self._parts[key].items()}
            track = Track(original, key, traces, key in self._zoneless)
        except TrackError as error:
            track = Track(original, key, fault=str(error))
        except SweptwaterError as error:  # it may be readable the next time
            return Track(original, key, fault=str(error))
        self._store(key, packed_track(track))
        return track

    def boat(self, pair: str, day: date, tracks: Sequence[Track]) -> ReadDay:
        """Return what a boat did on a day, by one track or several."""
        afloat, left_out = self._afloat(pair, day, tracks)
        key = self.made[day, pair] = self._swept_key(pair, day, tracks)
        boat = unpacked_swept(self._load(key), pair, day, afloat)
        if boat is None:
            spread, fishable = self.opened.settings.spread, self.opened.venue.fishable
            boat = sweep_day(pair, day, afloat, spread, fishable)
            self._store(key, pack_swept(boat))
        return ReadDay(boat, left_out, tuple(tracks))

    def _afloat(
        self, pair: str, day: date, tracks: Sequence[Track]
    ) -> tuple[DayAfloat, int]:
        """Return what a boat did, and how many tracks were of another."""
        key = self._day_key(pair, day, tracks)
        known = unpacked_day(self._load(key))
        if known is not None:
            return known
        parts = [self.parts(track)[day] for track in tracks]
        afloat, left_out = self._by_times(tracks, parts)
        ways = [way for part in parts for way in part.untimed]
        if ways or afloat is None:
            at_s = datetime.combine(day, time(12), self.opened.settings.zone)
            afloat = with_untimed(afloat, untimed_drifts(ways, at_s.timestamp()))
        self._store(key, {**pack_day(afloat), "left_out": np.array(left_out)})
        return afloat, left_out

    def _by_times(
        self, tracks: Sequence[Track], parts: Sequence[DayFixes]
    ) -> tuple[DayAfloat | None, int]:
        """Return what a boat did by the times of its tracks, if they have any."""
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

    def swept(self, pair: str, day: date, tracks: Sequence[Track]) -> Area:
        """Return the water that a boat swept on a day, and read no more than that."""
        key = self._swept_key(pair, day, tracks)
        known = self._load(key, ("stack", "stack_ends"))
        if known is None or (shapes := _unpacked_shapes("stack", known)) is None:
            return self.boat(pair, day, tracks).boat.stack.once
        return shapes[0]

    def swept_with(self, boat: BoatDay, spread: Spread) -> Area:
        """Return the water that a boat would have swept with another cast spread."""
        key = key_of(self.made[boat.day, boat.pair], repr(spread))

        def make() -> Sequence[Area]:
            fishable = self.opened.venue.fishable
            swept = sweep_drifts(boat.afloat.drifts, spread, fishable)
            return (polygonal(shapely.union_all(swept, grid_size=GRID_M)),)

        return self.shapes(key, make)[0]

    def is_kept(self, original: Original) -> bool:
        """Return whether the days of an original are kept already."""
        return self._cache.has(key_of(self._ground, *_told(original)))

    def can_keep(self) -> bool:
        """Return whether anything can be kept at all."""
        return self._cache.ready()

    def shapes(self, key: str, make: Callable[[], Sequence[Area]]) -> tuple[Area, ...]:
        """Return what was made before under a key, or make it and keep it."""
        known = self._load(key)
        if known is not None and (shapes := _unpacked_shapes("shapes", known)):
            return shapes
        made = tuple(make())
        self._store(key, pack_shapes("shapes", made))
        return made

    def tidy(self) -> None:
        """Delete what is kept and was not asked for, if there is much of it."""
        self._cache.tidy(self.used)

    def _trace(self, part: DayFixes) -> Record:
        """Return the record of a part, thinned, and only near the water."""
        record = part.record
        west, south, east, north = self._beside_water
        near = (record.easting >= west) & (record.easting <= east)
        near &= (record.northing >= south) & (record.northing <= north)
        time_s = record.time_s[near]
        _, first = np.unique(np.floor(time_s / TRACE_S), return_index=True)
        return Record(
            time_s[first], record.easting[near][first], record.northing[near][first], {}
        )

    @cached_property
    def _beside_water(self) -> tuple[float, float, float, float]:
        west, south, east, north = self.opened.venue.water.bounds
        off_m = BESIDE_WATER_M
        return west - off_m, south - off_m, east + off_m, north + off_m

    def _note(self, key: str, original: Original, recording: Recording) -> None:
        parts = day_fixes(self.opened, original, recording)
        if recording.loose_times:
            self._zoneless.add(key)
        self._parts[key] = {part.day: part for part in parts}

    def _day_key(self, pair: str, day: date, tracks: Sequence[Track]) -> str:
        return key_of(self._rules, pair, str(day), *(track.key for track in tracks))

    def _swept_key(self, pair: str, day: date, tracks: Sequence[Track]) -> str:
        return key_of(self._spread, self._day_key(pair, day, tracks))

    def _load(self, key: str, names: Sequence[str] | None = None) -> Arrays | None:
        self.used.add(key)
        return self._cache.load(key, names)

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
        return key_of(
            engine_mark(),
            repr(venue.frame),
            opened.settings.time_zone,
            opened.settings.name,  # a refusal names it
            shapely.to_wkb(venue.water),
        )

    @cached_property
    def _rules(self) -> str:
        rules, jetties = self.opened.settings.rules, self.opened.jetty_ground
        return key_of(self._ground, repr(rules), shapely.to_wkb(jetties))

    @cached_property
    def _spread(self) -> str:
        spread, fishable = self.opened.settings.spread, self.opened.venue.fishable
        return key_of(repr(spread), shapely.to_wkb(fishable))


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
    faults = (*unread, *strangers(read), *twins(read, opened.settings.rules.bridge_s))
    return Boats(tuple(day.boat for day in read.values()), faults, reader)


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
        *(path.read_bytes() for path in files),
    )


def _told(original: Original) -> Iterator[str]:
    """Yield what tells an original from any other; one that was changed by hand too."""
    yield from (repr(original.said), original.fault)
    try:
        stat = original.path.stat()
    except OSError:
        return
    yield f"{stat.st_size} {stat.st_mtime_ns}"


def _unpacked_shapes(name: str, known: Arrays) -> tuple[Area, ...] | None:
    try:
        return unpack_shapes(name, known)
    except (KeyError, ValueError, IndexError, shapely.GEOSException):
        return None


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
