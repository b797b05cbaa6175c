"""The tally: brought up to date with the drifts, and who still has to tell what."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import reduce
from operator import add
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.jobs.boats import read_boat_days
from sweptwater.jobs.met import Met, met_on
from sweptwater.jobs.numbering import Numbered, numbered_drifts
from sweptwater.jobs.opened import Opened, Watch, open_folder, unwatched
from sweptwater.jobs.recall import recall
from sweptwater.jobs.tally_write import Known, with_all_drifts
from sweptwater.offers.stints import Loose, Stint
from sweptwater.practice.files import writing
from sweptwater.practice.folder import check_practice
from sweptwater.practice.sheets import RowFault
from sweptwater.practice.tally import TALLY, Counts
from sweptwater.practice.tally_rows import read_tally, save_tally


@dataclass(frozen=True, slots=True)
class Ashore:
    """What has been told of one boat-day: drifts, by what is known of their rods.

    Parameters
    ----------
    drifts
        How many there were.
    told
        Of how many each rod was tallied or blank.
    blank
        How many of those were blank for all rods.
    not_told
        The numbers of the others, of which a rod at least is not told.
    rods_not_told
        The rods that still have to tell of some, with the numbers of those drifts.
    offers
        How many there were on the drifts that are told, and loose.
    """

    day: date
    pair: str
    drifts: int
    told: int
    blank: int
    not_told: tuple[int, ...]
    rods_not_told: dict[str, tuple[int, ...]]
    follow: int
    pull: int
    lost: int
    boated: int
    offers: int


@dataclass(frozen=True, slots=True)
class LooseLine:
    """Offers that nobody can put on one rod's drift."""

    day: date
    pair: str
    rod: str
    offers: int
    follow: int
    pull: int
    lost: int
    boated: int
    text: str
    drifts: tuple[int, ...]
    row: int


@dataclass(frozen=True, slots=True)
class TallyReport:
    """What is told and what is not, of all boat-days."""

    practice: str
    new_rows: int
    """How many rods on drifts had no row yet."""
    boats: tuple[Ashore, ...]
    loose: tuple[LooseLine, ...]
    questions: tuple[str, ...]
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Afloat:
    """An opened practice with all its drifts, numbered."""

    opened: Opened
    drifts: tuple[Numbered, ...]
    faults: tuple[str, ...]
    """What is wrong with tracks and drifts from memory."""

    @property
    def known(self) -> Known:
        """The drifts by boat-day."""
        return Known(self.opened.settings, self.drifts)

    @property
    def met(self) -> Met:
        """What the tally says of them."""
        return met_on(self.opened, self.drifts, all_rows=True)


def read_afloat(folder: Path, watch: Watch = unwatched) -> Afloat:
    """Return a practice with all its drifts.

    Raises
    ------
    SweptwaterError
        If the folder is no practice, or cannot be understood.
    """
    check_practice(folder)  # no lock is left in a folder that is none
    opened = open_folder(folder)
    boats = read_boat_days(opened, opened.practice.originals, watch=watch)
    memory = recall(opened, boats.days)
    drifts = numbered_drifts(boats.days, memory.days)
    return Afloat(opened, drifts, (*boats.faults, *map(str, memory.faults)))


def tally(folder: Path, *, watch: Watch = unwatched) -> TallyReport:
    """Bring the tally up to date with the drifts, and say what is not told yet.

    Each rod on each drift gets a row, and no row is taken out; where all have one, the
    file stays as it is.

    Raises
    ------
    SweptwaterError
        If the folder or the file cannot be understood, or not be written.
    """
    afloat = read_afloat(folder, watch)
    with writing(folder):
        new = bring_up(folder, afloat.known)
    return report_of(afloat, new)


def bring_up(folder: Path, known: Known) -> int:
    """Write the rows that are missing, and return how many those were.

    The caller holds the folder.

    Raises
    ------
    PracticeError
        If the file is no table, or cannot be written.
    """
    before = read_tally(folder)
    sheet, new = with_all_drifts(before, known)
    if sheet != before:
        save_tally(folder, sheet)
    return new


def extend_tally(opened: Opened, drifts: Sequence[Numbered]) -> str:
    """Give some drifts their rows, and return why that could not be; else nothing.

    What was done before holds all the same.
    """
    folder = opened.practice.folder
    try:
        with writing(folder):
            bring_up(folder, Known(opened.settings, drifts))
    except PracticeError as error:
        return f"the drifts are not in {TALLY} yet: {error}"
    return ""


def report_of(afloat: Afloat, new: int = 0) -> TallyReport:
    """Return what is told of the drifts, and what is not."""
    met = afloat.met
    days = dict.fromkeys((one.day, one.pair) for one in met.stints)
    return TallyReport(
        practice=afloat.opened.settings.name,
        new_rows=new,
        boats=tuple(
            _ashore(
                [one for one in met.stints if (one.day, one.pair) == which],
                [one for one in met.loose if (one.day, one.pair) == which],
            )
            for which in days
        ),
        loose=tuple(map(_loose_line, met.loose)),
        questions=met.questions,
        faults=(*afloat.faults, *map(str, met.faults)),
    )


def _ashore(stints: Sequence[Stint], loose: Sequence[Loose]) -> Ashore:
    first = stints[0]
    numbers = dict.fromkeys(one.drift for one in stints)
    untold = {one.drift for one in stints if not one.told}
    fished = {one.drift for one in stints if one.told == "tallied"}
    rods = dict.fromkeys(one.rod for one in stints if not one.told)
    told = (*(one.counts for one in stints), *(one.counts for one in loose))
    counts = reduce(add, told, Counts())
    return Ashore(
        day=first.day,
        pair=first.pair,
        drifts=len(numbers),
        told=len(numbers) - len(untold),
        blank=len(numbers.keys() - untold - fished),
        not_told=tuple(sorted(untold)),
        rods_not_told={
            rod: tuple(one.drift for one in stints if one.rod == rod and not one.told)
            for rod in rods
        },
        follow=counts.follow,
        pull=counts.pull,
        lost=counts.lost,
        boated=counts.boated,
        offers=counts.offers,
    )


def _loose_line(one: Loose) -> LooseLine:
    return LooseLine(
        *(one.day, one.pair, one.rod),
        *(one.counts.offers, *one.counts.of_kind),
        *(one.text, one.drifts, one.row),
    )


def tally_faults(opened: Opened, drifts: Sequence[Numbered]) -> tuple[RowFault, ...]:
    """Return the rows that cannot be understood, or are of nothing that there is."""
    return met_on(opened, drifts, all_rows=True).faults
