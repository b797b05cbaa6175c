"""Kill commands at chosen instants, and look at what they leave.

    python tests/killing.py SCRATCH SEED [COMMAND ...]

Everything is imported once; each command then runs in a fork, on a copy of a small
practice, and is killed (SIGKILL) either just before the n-th of its calls that change
a file, for every n, or by the clock. Prints one JSON object: how many kills fell
before, inside and after the writing, by command, and what was wrong afterwards. With
commands named, only these are killed, and only at their calls.
"""

import hashlib
import json
import random
import shutil
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from shapely import Point

from forked import Command, ran
from practices_made import begin, boat, done, geojson, write
from sweptwater.errors import SweptwaterError
from sweptwater.jobs.check import check
from sweptwater.jobs.correct import cut_drift, undo
from sweptwater.jobs.coverage import coverage
from sweptwater.jobs.divide import Wish, divide
from sweptwater.jobs.extend import extend_venue
from sweptwater.jobs.note import Say as Remark
from sweptwater.jobs.note import add_note
from sweptwater.jobs.remember import Say, add_drift
from sweptwater.jobs.removing import remove, restore
from sweptwater.jobs.start import start
from sweptwater.jobs.tally_say import Say as Met
from sweptwater.jobs.tally_say import say_tally
from sweptwater.jobs.upload import upload
from sweptwater.practice.files import LOCK
from sweptwater.practice.folder import SETTINGS, open_practice
from sweptwater.practice.geojson import sectors_text, venue_text
from sweptwater.practice.notes import note_rows, read_notes
from sweptwater.practice.remembered import read_sheet, told_rows
from sweptwater.practice.tally_rows import read_tally, tally_rows
from tracks_made import Leg

MOST = ("upload", "divide")
"""The commands that are killed most often."""

State = tuple[str, ...] | None


@dataclass(frozen=True)
class Case:
    """A command, the practice that it changes, and one that undoes it."""

    name: str
    base: Path
    command: Command
    undo: Command | None = None
    steps: Sequence[Command] = ()
    """What leads to the states between that are right too: one file of two."""


@dataclass
class Tally:
    """What fell where, and what was wrong."""

    kills: dict[str, Counter[str]] = field(default_factory=dict)
    wrong: list[str] = field(default_factory=list)


def contents(folder: Path) -> Counter[str]:
    """Count the files of a practice by their bytes, but for what can be made again."""
    return Counter(
        hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
        and path.name != LOCK
        and path.relative_to(folder).parts[0] not in (".cache", "reports")
        and path.name not in ("venue.geojson", SETTINGS)  # states tell of these
    )


def state(folder: Path) -> State:
    """Return what a practice says; None if there is none."""
    if not (folder / SETTINGS).exists():
        return None
    practice = open_practice(folder)
    return (
        repr(practice.settings),
        venue_text(practice.features),
        sectors_text(practice.sectors),
        str(told_rows(read_sheet(folder))),
        str(note_rows(read_notes(folder))),
        str(
            [
                replace(row, row=0)
                for row in tally_rows(read_tally(folder))[0]
                if row.told
            ]
        ),
        *sorted(
            f"{item.pair} {item.said} {item.fault} "
            f"{hashlib.sha256(item.path.read_bytes()).hexdigest()}"
            for item in practice.originals
        ),
    )


def leftovers(folder: Path) -> list[str]:
    """Return the files that only a crash leaves."""
    return [
        path.relative_to(folder).as_posix()
        for path in folder.rglob(".*")
        if path.is_file() and path.name != LOCK and path.parent.name != ".cache"
    ]


def faults(folder: Path) -> list[str]:
    """Return what `check` finds."""
    return [
        f"{fault.file}: {fault.what}"
        for fault in check(folder).faults
        if fault.what != "the water is not divided yet"  # `start` does not divide
    ]


class Judge:
    """Says what is wrong with a practice after a kill."""

    def __init__(self, case: Case, scratch: Path) -> None:
        self.case = case
        self.before = contents(case.base)
        self.states = [state(case.base)]
        folder = copied(case.base, scratch / "whole")
        for step in (*case.steps, case.command):
            with suppress(SweptwaterError):  # a step that says it again
                step(folder)
            self.states.append(state(folder))
        self.replaced = self.before - contents(folder)
        """What the command writes anew; states tell whether that is right."""

    def wrong(self, folder: Path) -> Iterator[str]:
        """Yield what is wrong at once, after the command again, and undone."""
        yield from self._wrong_now(folder, self.states)
        try:
            self.case.command(folder)
        except SweptwaterError as error:
            if state(folder) != self.states[-1]:
                yield f"the next command fails: {error}"
        yield from self._wrong_now(folder, self.states[-1:])
        if self.case.command is not coverage:  # which keeps no other writer out
            yield from leftovers(folder)
        if self.case.undo:
            self.case.undo(folder)
            yield from self._wrong_now(folder, self.states[:1])

    def _wrong_now(self, folder: Path, states: Sequence[State]) -> Iterator[str]:
        if lost := self.before - self.replaced - contents(folder):
            yield f"{lost.total()} files are gone"
        now = state(folder)
        if now not in states:
            yield f"the state is neither old nor new: {now}"
        if now is not None:
            yield from faults(folder)


def copied(base: Path, to: Path) -> Path:
    """Copy a practice to a place where another may be."""
    shutil.rmtree(to, ignore_errors=True)
    if base.exists():
        shutil.copytree(base, to)
    return to


def kill_all(case: Case, scratch: Path, tally: Tally, *, timed: int) -> None:
    """Kill a command at each of its calls, and by the clock, and judge each time."""
    judge, folder = Judge(case, scratch), scratch / "killed"
    whole = ran(case.command, copied(case.base, folder))
    users = whole.users
    counts = tally.kills.setdefault(case.name, Counter())

    def one(**when: Any) -> None:
        run = ran(case.command, copied(case.base, folder), **when)
        if not run.killed:
            counts["too late"] += 1
            return
        done_so_far = len(run.users) - (1 if "at" in when else 0)
        phase = "inside" if 0 < done_so_far < len(users) else "before"
        counts["after" if users and done_so_far >= len(users) else phase] += 1
        last = run.calls[-1] if run.calls else "nothing"
        tally.wrong.extend(
            f"{case.name}, killed at {len(run.calls)} ({last}) of {len(whole.calls)}: "
            f"{what}"
            for what in judge.wrong(folder)
        )

    for number in range(1, len(whole.calls) + 1):
        one(at=number)
    for _ in range(timed):
        one(after_s=random.uniform(0, 0.02))
    for _ in range(timed // 3):
        one(after_s=-1 - random.uniform(0.001, whole.took_s))


def kill_twice(case: Case, scratch: Path, tally: Tally, *, calls: int) -> None:
    """Kill a command inside its writing, then the next one that clears up after it."""
    judge, folder = Judge(case, scratch), scratch / "killed"
    first = ran(case.command, copied(case.base, folder))
    counts = tally.kills.setdefault(f"{case.name}, and the next", Counter())
    for number in first.users[1:]:
        once = copied(case.base, scratch / "once")
        ran(case.command, once, at=number)
        for second in range(2, 2 + calls):
            run = ran(_forgiving(case.command), copied(once, folder), at=second)
            counts["inside" if run.killed else "too late"] += 1
            last = run.calls[-1] if run.calls else "nothing"
            tally.wrong.extend(
                f"{case.name}, killed at {number} ({first.calls[number - 1]}) and "
                f"again at {second} ({last}): {what}"
                for what in judge.wrong(folder)
            )


def _forgiving(command: Command) -> Command:
    """Return a command that may find its work done."""

    def run(folder: Path) -> None:
        with suppress(SweptwaterError):
            command(folder)

    return run


def small_track(day: int) -> bytes:
    """Return a track of a few minutes."""
    legs = (Leg(240, 0.4, 90), Leg(60, 2, 270, fishing=False), Leg(120, 0.4, 80))
    return boat(*legs, begin=f"2027-06-{day:02}T10:00:00+01:00")


def cases(scratch: Path) -> list[Case]:
    """Return the commands, with the practices that they change."""
    base = begin(scratch / "base", scratch)
    done(base, "divide")
    tracks = [write(scratch / f"day-{day}.gpx", small_track(day)) for day in (8, 9, 10)]
    upload(base, "Heron", tracks[:1], shift_s=1800.0)
    upload(base, "Grebe", [write(scratch / "g.gpx", small_track(11))])
    divide(base, Wish(shares=(2, 1)))
    say_tally(base, Met(words=("Grebe", "1", "bow", "1/0/0/0")))
    gone = copied(base, scratch / "gone")
    remove(gone, "Heron", ["day-8.gpx"])
    place = geojson(scratch / "oak.geojson", Point(100, -300), names=["Elm"])
    lake = scratch / "outline.geojson"

    def bring(*files: Path) -> Command:
        return lambda folder: upload(folder, "Heron", files)

    def take(folder: Path) -> object:
        return remove(folder, "Heron", ["day-8.gpx"])

    def give(folder: Path) -> object:
        return restore(folder, "Heron", ["day-8.gpx"])

    def cut(folder: Path) -> object:
        return cut_drift(folder, 1, at="10:32", pair="Heron")

    def recall(folder: Path) -> object:
        say = Say(
            pair="Grebe", day="2027-06-11", from_="Buoy", to="Oak", at="14:00-14:40"
        )
        return add_drift(folder, say)

    def note_it(folder: Path) -> object:
        wind = Remark(kind="wind", value="SW4", day="2027-06-11", at="10:00")
        return add_note(folder, wind)

    def tell(folder: Path) -> object:
        return say_tally(folder, Met(words=("Grebe", "1", "bow", "2/0/0/1")))

    def start_it(folder: Path) -> object:
        return start(folder, lake, pairs=("Heron",))

    return [
        Case("upload", base, bring(*tracks[1:]), steps=[bring(tracks[1])]),
        Case("divide", base, lambda folder: divide(folder, Wish(shares=(1, 3)))),
        Case("remove", base, take, undo=give),
        Case("restore", gone, give, undo=take),
        Case("venue add", base, lambda f: extend_venue(f, "mark", place)),
        Case("start", scratch / "nothing", start_it),
        Case("drifts cut", base, cut, undo=lambda f: undo(f, pair="Heron")),
        Case("drifts add", base, recall),
        Case("note", base, note_it),
        Case("tally", base, tell),
        Case("coverage", base, coverage),
    ]


def main(scratch: Path, seed: int, only: Sequence[str]) -> Tally:
    """Kill all commands, or some, and return what came of it."""
    random.seed(seed)
    tally = Tally()
    for case in cases(scratch):
        if only:
            if case.name in only:
                kill_all(case, scratch, tally, timed=0)
            continue
        kill_all(case, scratch, tally, timed=60 if case.name in MOST else 12)
        if case.name in (*MOST, "remove", "restore"):
            kill_twice(case, scratch, tally, calls=4)
    return tally


if __name__ == "__main__":
    found = main(Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3:])
    json.dump({"kills": found.kills, "wrong": found.wrong}, sys.stdout)
