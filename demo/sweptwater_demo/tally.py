"""What was told in the evening of what the invented rods met: the rows of a tally."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, time, timedelta

import numpy as np

from sweptwater.practice.tally import Counts, Entry
from sweptwater_demo import ashlode
from sweptwater_demo.met import Fished, Offer, fished
from sweptwater_demo.scenario import (
    DAYS,
    PAIRS,
    PHONE_DIES,
    SUMMER_TIME,
    TOLD,
    TOLD_TIMES,
    WINDS,
    BoatDay,
)
from sweptwater_demo.sky import INVENTED
from sweptwater_demo.tackle import ENDS

UNTOLD_FROM = 24
"""From which drift on Grebe told nothing, on the first day."""

BEFORE = time(13, 50)
"""Of the second day's drifts that began before, Grebe told only `LOOSE`: it lunched."""

LOOSE = Entry(
    day=DAYS[1],
    pair="Grebe",
    told="tallied",
    counts=Counts(pull=2, boated=1),
    taken="on the hang",
    near="Orchard Bay",
    when="before lunch",
    note=INVENTED,
)
"""What Grebe remembers of that morning, of no one drift."""

FOUND, SHORT_S = 2, 27 * 60.0
"""A boat left a short drift because it had found fish when it met so many."""

_DROGUE_BELOW = 0.03
_TAKEN = ("on the drop", "on the pull", "on the hang")
_FLIES = ("black nymph", "olive nymph", "orange lure")
_ON_THE_CAST = ("point", "dropper", "top dropper")
_SPECIES = ("rainbow", "rainbow", "rainbow", "brown")


def simulate_tally(days: Iterable[BoatDay], *, seed: int = 1) -> list[Entry]:
    """Return what the rods told, row by row, each marked as invented.

    Most drifts are tallied or blank. Of some Grebe told nothing; of one morning it
    remembers three fish and no drift; Heron says where its boated fish were; of the
    hours after its phone died Teal says that they were blank.

    Parameters
    ----------
    days
        Boat-days with their truth, as `scenario.boat_days` makes them.
    seed
        The same seed makes the same rows.
    """
    stints = [stint for stint in fished(days, seed=seed) if not _unseen(stint)]
    met = Counter[tuple[object, ...]]()
    for stint in stints:
        met[_drift(stint)] += len(stint.offers)
    rows = [row for one in stints for row in _told(one, met[_drift(one)], seed)]
    return sorted([*rows, LOOSE, *_remembered()], key=_order)


def _drift(stint: Fished) -> tuple[object, ...]:
    return stint.day, stint.pair, stint.number


def _unseen(stint: Fished) -> bool:
    """Tell whether a drift began after its boat's phone had died."""
    dead = stint.pair == "Teal" and stint.day == PHONE_DIES.date()
    return dead and stint.drift.start_s > PHONE_DIES.timestamp()


def _forgotten(stint: Fished) -> bool:
    if stint.pair != "Grebe":
        return False
    if stint.day == DAYS[0]:
        return stint.number >= UNTOLD_FROM
    return stint.day == DAYS[1] and stint.start < BEFORE


def _told(stint: Fished, met: int, seed: int) -> Iterator[Entry]:
    """Yield the rows that tell of a rod on a drift on which its boat met so many."""
    row = Entry(
        day=stint.day,
        pair=stint.pair,
        start=stint.start,
        drift=stint.number,
        rod=stint.rod,
        note=INVENTED,
    )
    if _forgotten(stint):
        yield row
        return
    short = stint.drift.end_s - stint.drift.start_s < SHORT_S
    row = replace(
        row,
        told="tallied" if stint.offers else "blank",
        counts=stint.counts,
        setup=stint.rig.setup,
        drogue=_drogue(stint),
        left_because="found" if short and met >= FOUND else "",
    )
    yield _with_words(row, stint, seed) if stint.offers else row
    if stint.pair == "Heron":
        yield from (_placed(stint, o) for o in stint.offers if o.kind == "boated")


def _with_words(row: Entry, stint: Fished, seed: int) -> Entry:
    """Return a row with what more a rod that met fish tells."""
    rng = np.random.default_rng((seed, round(stint.drift.start_s), len(stint.rod)))
    taken, fly, place, species = (
        str(rng.choice(words)) for words in (_TAKEN, _FLIES, _ON_THE_CAST, _SPECIES)
    )
    seen = row.counts.lost + row.counts.boated > 0
    return replace(
        row,
        taken=taken,
        setup=replace(row.setup, fly=fly, fly_place=place),
        species=species if seen else "",
    )


def _placed(stint: Fished, offer: Offer) -> Entry:
    """Return a boated fish with its own time and place."""
    lon, lat = ashlode.FRAME.to_degrees(offer.easting, offer.northing)
    return Entry(
        day=stint.day,
        pair=stint.pair,
        rod=stint.rod,
        told="tallied",
        counts=Counts(boated=1),
        setup=stint.rig.setup,
        place=(round(float(lon), 6), round(float(lat), 6)),
        when=f"{datetime.fromtimestamp(offer.time_s, SUMMER_TIME):%H:%M}",
        note=INVENTED,
    )


def _drogue(stint: Fished) -> str:
    """Return where the drogue was, as a boat knows and its speed betrays."""
    seconds = stint.drift.end_s - stint.drift.start_s
    share = stint.drift.length_m / seconds / WINDS[stint.day].speed_m_s
    return "in" if share < _DROGUE_BELOW else "out"


def _remembered() -> Iterator[Entry]:
    """Yield what Teal says of the drifts that its phone did not see."""
    day = PHONE_DIES.date()
    clocks = [time.fromisoformat(clock) for clock in TOLD[2].split("-")]
    start, end = (datetime.combine(day, clock) for clock in clocks)
    each: timedelta = (end - start) / TOLD_TIMES
    for number in range(TOLD_TIMES):
        for rod in ENDS:
            yield Entry(
                day=day,
                pair="Teal",
                start=(start + number * each).time().replace(second=0),
                rod=rod,
                told="blank",
                note=f"from memory; {INVENTED}",
            )


def _order(row: Entry) -> tuple[object, ...]:
    day, pair = DAYS.index(row.day), PAIRS.index(row.pair)
    return day, pair, row.start or time(23, 59), row.rod, row.when
