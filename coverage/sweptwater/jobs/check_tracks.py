"""What is wrong with the tracks: files that do not count, or count for another."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from shlex import quote
from typing import TypeAlias

from sweptwater.errors import SweptwaterError
from sweptwater.jobs.afloat import APART_M, day_fixes, one_boat
from sweptwater.jobs.faults import Fault, fault_from
from sweptwater.jobs.opened import Opened, Watch
from sweptwater.jobs.readings import in_one_boat
from sweptwater.jobs.wording import counted, day_text, or_text
from sweptwater.practice.files import read_whole
from sweptwater.practice.folder import SETTINGS
from sweptwater.practice.originals import TRACKS, Original, digest_of
from sweptwater.practice.strays import (
    Stray,
    digest_said,
    said_of,
    stray_files,
    unclaimed_folders,
    unknown_words,
)
from sweptwater.tracks.read import read_track
from sweptwater.tracks.record import Record, apart_m


@dataclass(frozen=True, slots=True)
class _Part:
    """What a track recorded of one day, and where the track lies."""

    shown: str
    digest: str
    record: Record


_Days: TypeAlias = Mapping[tuple[date, str], list[_Part]]


def stray_faults(opened: Opened) -> Iterator[Fault]:
    """Tell of files that nobody counts, but for folders with an unknown pair's name."""
    practice, pairs = opened.practice, opened.settings.pairs
    unclaimed = unclaimed_folders(practice.folder, pairs)
    for stray in stray_files(practice.folder, pairs, practice.originals):
        parts = stray.shown.split("/")
        if stray.why != "nobody" or parts[1] not in unclaimed:
            yield _stray(opened, stray)


def stray_sentences(opened: Opened) -> Iterator[str]:
    """Yield the same in short, and without names of files: for reports."""
    practice, pairs = opened.practice, opened.settings.pairs
    strays = list(stray_files(practice.folder, pairs, practice.originals))
    lost = sum(stray.why in ("nobody", "below", "loose") for stray in strays)
    if lost:
        lie, them = ("lies", "it") if lost == 1 else ("lie", "them")
        yield (
            f"{counted(lost, 'track')} {lie} in no pair's folder, so that nobody "
            f"counts {them}: sweptwater check tells more"
        )
    for pair in pairs:
        gone = sum(stray.why == "alone" and stray.pair == pair for stray in strays)
        if gone:
            yield (
                f"{counted(gone, 'track')} of {pair}'s "
                f"{'is' if gone == 1 else 'are'} not there any more: sweptwater check "
                "tells more"
            )


def track_faults(opened: Opened, watch: Watch) -> Iterator[Fault]:
    """Yield all that is wrong with the tracks of the pairs; each is read once."""
    seen: dict[str, str] = {}
    days: defaultdict[tuple[date, str], list[_Part]] = defaultdict(list)
    for original in watch(opened.practice.originals, "reading tracks"):
        if original.fault:
            yield unsaid(original)
            continue
        shown = _shown(opened, original)
        try:
            data = read_whole(original.path)
            digest = digest_of(data)
            yield from _of_bytes(original, shown, digest, seen)
            recording = read_track(data, name=original.name)
            for part in day_fixes(opened, original, recording):
                if len(part.record.time_s):
                    days[part.day, part.pair].append(_Part(shown, digest, part.record))
        except SweptwaterError as error:
            again = f"mend it, or run sweptwater remove --pair {original.pair}"
            yield Fault(shown, str(error), f"{again} {quote(original.path.name)}")
    yield from _other_boats(opened, days)
    yield from _one_boat_twice(opened, days)
    yield from _crews(opened, days)


def unsaid(original: Original) -> Fault:
    """Return the fault of a track of which it is not known what was said."""
    said = said_of(original).name
    name = said if said in original.fault else original.path.name
    return fault_from(f"{TRACKS}/{original.pair}/{name}", original.fault)


def _stray(opened: Opened, stray: Stray) -> Fault:
    pairs = opened.settings.pairs
    whose = f"{TRACKS}/{stray.pair}" if stray.pair else f"{TRACKS}/{pairs[0]}"
    if stray.why == "alone":
        return _without_track(opened, stray)
    if stray.why == "unreadable":
        return Fault(
            stray.shown,
            "this file is no track that can be read here",
            "if it is one, export it as GPX and upload that; else move it away",
        )
    what = {
        "nobody": "this track is in no pair's folder, so that nobody counts it",
        "below": "this track is in a folder below a pair's, so that nobody counts it",
        "loose": "this track lies outside the tracks' folder, so that nobody counts it",
    }[stray.why]
    do = {
        "nobody": f"move it to {whose}, or to the folder of the pair it belongs to",
        "below": f"move it up to {whose}, or out of there if it is not to count",
        "loose": "upload it for the pair it belongs to, like sweptwater upload "
        f"--pair {pairs[0]} {quote(str(opened.practice.folder / stray.shown))}, "
        "or move it away",
    }[stray.why]
    return Fault(stray.shown, what, do)


def _without_track(opened: Opened, stray: Stray) -> Fault:
    """Tell of words about a track that is gone, or was moved without them."""
    digest = digest_said(opened.practice.folder / stray.shown)
    for original in opened.practice.originals:
        if digest and original.digest == digest:
            return Fault(
                stray.shown,
                f"the track that this tells of lies at {_shown(opened, original)}, so "
                "that what was said of it does not count",
                f"move this file to {TRACKS}/{original.pair} too, named "
                f"{said_of(original).name}, or delete it",
            )
    return Fault(
        stray.shown,
        "the track that this tells of is not there",
        "upload the track again, or delete this file",
    )


def _of_bytes(
    original: Original, shown: str, digest: str, seen: dict[str, str]
) -> Iterator[Fault]:
    """Tell of a track that was changed, or is there twice, or of words beside it."""
    for word, near in unknown_words(original):
        yield Fault(
            f"{TRACKS}/{original.pair}/{said_of(original).name}",
            f"{word} means nothing there:{near}",
            "write that for it, or delete the line",
        )
    if digest != original.digest:
        yield Fault(
            shown,
            "the track is not as it was uploaded: its bytes have changed",
            "upload the file from the device again, or delete the .toml beside it to "
            "take it as it is",
        )
    if digest in seen:
        yield Fault(
            shown,
            f"this is the same track as {seen[digest]}",
            "run sweptwater remove for the one that is not its pair's",
        )
    seen.setdefault(digest, shown)


def _other_boats(opened: Opened, days: _Days) -> Iterator[Fault]:
    """Tell of tracks that were not in the boat whose pair brought them."""
    for (day, pair), parts in sorted(days.items(), key=lambda item: item[0]):
        if len(parts) < 2:
            continue
        whole, left_out = one_boat(opened, [part.record for part in parts])
        if left_out:
            odd = [_name(part) for part in parts if _elsewhere(opened, whole, part)]
            which = f": {', '.join(odd)}" if len(odd) == left_out else ""
            names = ", ".join(map(_name, parts))
            yield Fault(
                f"{TRACKS}/{pair}",
                f"of its tracks of {day_text(day)}, {names}, {left_out} "
                f"{'was' if left_out == 1 else 'were'} not in the same boat as the "
                f"rest and left out{which}",
                "move what is another pair's to that pair's folder, with the .toml "
                "beside it; or if its clock is wrong, write shift_min in that .toml",
            )


def _elsewhere(opened: Opened, whole: Record, part: _Part) -> bool:
    metres = apart_m(whole, part.record, opened.settings.rules.gap_s)
    return metres is not None and metres > APART_M


def _name(part: _Part) -> str:
    return part.shown.rpartition("/")[2]


def _one_boat_twice(opened: Opened, days: _Days) -> Iterator[Fault]:
    """Tell of tracks of two pairs that were in one boat."""
    gap_s = opened.settings.rules.bridge_s
    for (day, pair), (other_day, other) in combinations(sorted(days), 2):
        for one in days[day, pair] if day == other_day else ():
            for two in days[other_day, other]:
                if one.digest != two.digest and in_one_boat(
                    one.record, two.record, gap_s
                ):
                    yield Fault(
                        two.shown,
                        f"this and {one.shown} were in one and the same boat on "
                        f"{day_text(day)}, which counts twice",
                        "run sweptwater remove for the one that is not its pair's, or "
                        "move it to the folder of the pair whose boat it was",
                    )


def _crews(opened: Opened, days: _Days) -> Iterator[Fault]:
    """Tell of what the settings say of boats and days that the tracks do not."""
    settings = opened.settings
    for (day, pair), parts in sorted(days.items(), key=lambda item: item[0]):
        if not settings.rods_on(pair, day):
            yield Fault(
                SETTINGS,
                f"it says that {pair} stayed ashore on {day_text(day)}, and "
                f"{parts[0].shown} is of that day",
                f"write who was in its boat below [rods.{day}], or move the track to "
                "the pair whose boat it was",
            )
    for day in settings.crews.by_day:
        if settings.days and day not in settings.days and not _fished(days, day):
            of = or_text([item.isoformat() for item in settings.days])
            yield Fault(
                SETTINGS,
                f"[rods.{day}] is about a day that is not among the days",
                f"mend it to {of}, or write it among the days",
            )


def _fished(days: _Days, day: date) -> bool:
    return any(day == other for other, _ in days)


def _shown(opened: Opened, original: Original) -> str:
    return original.path.relative_to(opened.practice.folder).as_posix()
