"""Taking in the files that a pair brought, and what is said of them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from shlex import quote

import numpy as np

from sweptwater.errors import PracticeError, SweptwaterError
from sweptwater.jobs.afloat import DayFixes, day_fixes
from sweptwater.jobs.opened import Opened
from sweptwater.practice.files import read_whole, write_whole
from sweptwater.practice.originals import (
    Original,
    digest_of,
    keep_original,
    left_said,
    save_said,
)
from sweptwater.practice.said import Said
from sweptwater.tracks.read import Recording, read_track

NEEDLESS_DAY = "its times say of which day it is: --day changes nothing"
"""Told of a track with times that was uploaded with a day."""

STILL_SAID = (
    "the file beside it, with what was said of it before, was still there: that holds "
    "again"
)


@dataclass(frozen=True, slots=True)
class Refused:
    """A file that was not taken, and why."""

    file: str
    why: str


@dataclass(frozen=True, slots=True)
class Incoming:
    """A file that is taken, and what is to be done with it."""

    original: Original
    recording: Recording
    parts: tuple[DayFixes, ...]
    there: Original | None
    """The track as it was there before, if it was."""
    data: bytes | None
    """What is to be written; None if it is there already, as it should be."""
    remarks: tuple[str, ...] = ()

    @property
    def known(self) -> bool:
        """Whether it was there before."""
        return self.there is not None

    @property
    def changed(self) -> bool:
        """Whether something else is said of it than before."""
        return self.there is not None and self.there.said != self.original.said


@dataclass(frozen=True, slots=True)
class Word:
    """What is said of tracks as they come in; None where nothing is."""

    shift_s: float | None
    all_fishing: bool
    day: date | None

    def added_to(self, before: Said) -> Said:
        """Return what was said before, with this."""
        return replace(
            before,
            shift_s=before.shift_s if self.shift_s is None else self.shift_s,
            all_fishing=self.all_fishing or before.all_fishing,
            day=self.day or before.day,
        )


def take_all(
    opened: Opened, pair: str, files: Sequence[Path], said: Word
) -> tuple[list[Incoming], tuple[Refused, ...]]:
    """Return the files that can be taken, and why the others cannot."""
    incoming: list[Incoming] = []
    refused: list[Refused] = []
    for file in files:
        try:
            item = _take(opened, pair, file, said)
        except SweptwaterError as error:
            refused.append(Refused(file.name, str(error)))
            continue
        for other in incoming:
            if item.original.digest == other.original.digest:
                item = replace(item, there=item.original, data=None)
        incoming.append(item)
    return incoming, tuple(refused)


def keep(folder: Path, item: Incoming) -> Incoming:
    """Write what is to be written, and return the item with what lies there now."""
    original = item.original
    if item.data is not None and not item.known:
        kept = keep_original(folder, original.pair, original.said, item.data)
        return replace(item, original=kept)
    if item.data is not None:
        write_whole(original.path, item.data)
    if item.changed:
        save_said(original)
    return item


def _take(opened: Opened, pair: str, file: Path, said: Word) -> Incoming:
    data = read_whole(file)
    digest = digest_of(data)
    there = [item for item in opened.practice.originals if item.digest == digest]
    if there and there[0].pair != pair:
        whose = there[0].pair
        raise PracticeError(
            f"{file.name} is there already, as {whose}'s: one track cannot be two "
            f"pairs'; if it is {pair}'s, first run sweptwater remove --pair {whose} "
            f"{quote(there[0].path.name)}"
        )
    recording = read_track(data, name=file.name)
    timed = bool(np.isfinite(recording.fixes.time_s).any())
    needless = (NEEDLESS_DAY,) if timed and said.day else ()
    if timed:
        said = replace(said, day=None)
    before = there[0].said if there else left_said(opened.practice.folder, pair, digest)
    now = said.added_to(before or Said())
    if not there:
        name = before.name if before else file.name
        original = Original(file, pair, replace(now, name=name, digest=digest))
        parts = tuple(day_fixes(opened, original, recording))
        kept_on = (*((STILL_SAID,) if before else ()), *needless)
        return Incoming(original, recording, parts, None, data, kept_on)
    whole = digest_of(there[0].read()) == digest
    original = replace(there[0], said=now)
    parts = tuple(day_fixes(opened, original, recording))
    remarks = (*_remarks_on(there[0].said, now, whole=whole), *needless)
    return Incoming(
        original, recording, parts, there[0], None if whole else data, remarks
    )


def _remarks_on(before: Said, now: Said, *, whole: bool) -> Iterator[str]:
    """Yield what was put right, or is said anew, of a track that is there already."""
    if not whole:
        yield "its bytes had changed since it was uploaded: they were put back"
    if now.shift_s != before.shift_s:
        yield (
            f"its clock is {_clock(now.shift_s)} now; before, it was "
            f"{_clock(before.shift_s)}"
        )
    if now.all_fishing != before.all_fishing:
        yield "all of it counts as fishing now"
    if now.day != before.day:
        yield f"its day is {now.day} now"


def _clock(shift_s: float) -> str:
    """Say what is done to a recorder's clock."""
    if not shift_s:
        return "left as recorded"
    return f"put {'forward' if shift_s > 0 else 'back'} by {abs(shift_s) / 60:g} min"
