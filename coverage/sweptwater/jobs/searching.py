"""How surely the water was searched, and what to believe of it: from a folder."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import hypot

import numpy as np
import pandas as pd

from sweptwater.arrays import Floats, Ints
from sweptwater.errors import PracticeError
from sweptwater.jobs.boats import Reader, read_boat_days
from sweptwater.jobs.check import quick_faults
from sweptwater.jobs.circumstances import layer_fished, tellings
from sweptwater.jobs.clustered import clusters_by_place
from sweptwater.jobs.discreet import without_file_names
from sweptwater.jobs.hopes import hopes_of
from sweptwater.jobs.met import Met, met_on
from sweptwater.jobs.nights import Nights, read_nights
from sweptwater.jobs.note import read_noted
from sweptwater.jobs.numbering import Numbered, numbered_drifts
from sweptwater.jobs.opened import Opened, Watch, unwatched
from sweptwater.jobs.recall import Memory, recall
from sweptwater.jobs.warming import warm
from sweptwater.offers.clusters import Clusters
from sweptwater.offers.effort import cut_pieces, mostly
from sweptwater.offers.flies import USUAL_DRIFT_M_S, layer_names
from sweptwater.offers.noted import Noted
from sweptwater.offers.stints import NOT_TOLD, Stint
from sweptwater.offers.wind import Wind
from sweptwater.search.ageing import share_left
from sweptwater.search.belief import Belief, prior
from sweptwater.search.passes import Pass, Passed, looks, pass_over, searched
from sweptwater.search.squares import ANY_DEPTH, Squares, lay_squares
from sweptwater.search.stocking import after_stocking
from sweptwater.search.teaching import Lesson, lessons, taught
from sweptwater.search.width import search_rate_m2_s
from sweptwater.swept.boats import BoatDay


@dataclass(frozen=True)
class Searching:
    """What the boats searched, and what to believe of the water, by one morning.

    Parameters
    ----------
    boats, memory, drifts, met, noted
        What was recorded, remembered, told and noted.
    day, now_s
        The day to come, and when its boats leave, in seconds since 1970 UTC.
    nights
        What the nights between did, stocking, and other boats.
    squares
        The water.
    passed, left
        What went over each square, and what is left of each pass by its age.
    looks
        In how many ways each square was fished.
    hopes
        How many times as likely the captain holds each square.
    stocked_s
        Since when what was learned of each square holds, because of stocking.
    pieces
        The minutes of fishing, with the sky.
    clusters
        How clustered offers are.
    lessons
        What offers teach of kinds of water.
    belief
        What to believe.
    remarks
        What could not be counted with.
    faults
        What in the folder is not in order.
    """

    opened: Opened
    boats: tuple[BoatDay, ...]
    memory: Memory
    drifts: tuple[Numbered, ...]
    met: Met
    noted: Noted
    day: date
    now_s: float
    nights: Nights
    squares: Squares
    passed: Passed
    left: Floats
    looks: Ints
    hopes: Floats
    stocked_s: Floats
    pieces: pd.DataFrame
    clusters: Clusters
    lessons: tuple[Lesson, ...]
    belief: Belief
    remarks: tuple[str, ...]
    faults: tuple[str, ...]


def look_at_searching(
    opened: Opened,
    *,
    day: date | None = None,
    sky: str | None = None,
    wind: Wind | None = None,
    watch: Watch = unwatched,
) -> Searching:
    """Return how surely the water was searched by the morning of a day.

    Parameters
    ----------
    day
        The day to come; else the rota's next, or the one after the last with tracks.
    sky
        The light to come: what was fished in another counts less. None if it does not
        matter.
    wind
        The wind to come, against which the last night's swing is told.

    Raises
    ------
    SweptwaterError
        If the day is not known, or a file cannot be understood.
    """
    originals = opened.practice.originals
    reader = Reader(opened)
    warm(reader, originals, watch=watch)
    boats = read_boat_days(opened, originals, reader=reader, watch=watch)
    memory = recall(opened, boats.days)
    day = day or day_after(opened, boats.days)
    before = [boat for boat in boats.days if boat.day < day]
    remembered = [one for one in memory.days if one.day < day]
    drifts = numbered_drifts(before, remembered)
    met, noted = met_on(opened, drifts), read_noted(opened)
    settings = opened.settings
    leave = datetime.combine(day, settings.day.leave, settings.zone)
    now_s = leave.timestamp()
    nights = read_nights(opened, noted, day, wind)
    squares = water_squares(opened, met.stints)
    pieces = cut_pieces(met.stints, {"sky": tellings(opened, noted)["sky"]})
    skies = {number: sky for number, (sky,) in mostly(pieces, ["sky"]).items()}
    passed = pass_over(
        list(passes_of(opened, drifts, met.stints, skies, squares)), squares
    )
    ends_s = np.array([one.end_s for one in passed.passes])
    left = share_left(ends_s, now_s, nights.nights, settings.search)
    hopes, unknown = hopes_of(opened, squares)
    stock = after_stocking(squares, nights.stocked, now_s, settings.search)
    clusters = clusters_by_place(opened, noted, met.stints)
    found = lessons(
        passed,
        squares,
        settings.search,
        factor=clusters.factor,
        beds_m=settings.depth.bands_m,
    )
    belief = Belief(
        squares,
        prior(
            squares,
            settings.search,
            sky=sky,
            hopes=hopes * stock.times,
            taught=taught(squares, found, settings.depth.bands_m),
        ),
        searched(
            passed,
            squares,
            left,
            settings.search,
            sky=sky,
            since_s=stock.since_s,
        ),
    )
    return Searching(
        opened=opened,
        boats=tuple(before),
        memory=memory,
        drifts=drifts,
        met=met,
        noted=noted,
        day=day,
        now_s=now_s,
        nights=nights,
        squares=squares,
        passed=passed,
        left=left,
        looks=looks(passed, squares),
        hopes=hopes,
        stocked_s=stock.since_s,
        pieces=pieces,
        clusters=clusters,
        lessons=found,
        belief=belief,
        remarks=(*unknown, *nights.remarks),
        faults=(
            *without_file_names(boats.faults, opened.practice.originals),
            *quick_faults(opened),
            *map(str, (*memory.faults, *noted.faults, *met.faults)),
        ),
    )


def day_after(opened: Opened, boats: Sequence[BoatDay]) -> date:
    """Return the day to come: the rota's next, or the one after the last fished.

    Raises
    ------
    PracticeError
        If nothing tells.
    """
    fished = {boat.day for boat in boats}
    if found := opened.day_to_come(fished):
        return found
    if not fished:
        raise PracticeError(
            "the day to come is not known, since there are no tracks yet: say it, like "
            "--day 2027-06-09"
        )
    return max(fished) + timedelta(days=1)


def water_squares(opened: Opened, stints: Sequence[Stint]) -> Squares:
    """Return the water as squares; in one layer where no depth and no line is known."""
    tackle = opened.settings.tackle
    known = opened.depths is not None or any(
        layer_fished(opened, stint) is not None for stint in stints
    )
    return lay_squares(
        opened.venue.fishable,
        opened.sectors,
        opened.banks,
        layers=layer_names(tackle, opened.settings.units) if known else (ANY_DEPTH,),
        tops_m=(0.0, *tackle.layers_m) if known else (0.0,),
        depths=opened.depths,
    )


def passes_of(
    opened: Opened,
    drifts: Sequence[Numbered],
    stints: Sequence[Stint],
    skies: Mapping[int, str],
    squares: Squares,
) -> Iterator[Pass]:
    """Yield each rod on each drift, as it searched.

    Parameters
    ----------
    skies
        The light of each stint, by its place in the list.
    """
    swept = {(one.day, one.pair, one.number): one.swept for one in drifts}
    one_layer = len(squares.layers) == 1
    for number, stint in enumerate(stints):
        fished = layer_fished(opened, stint)
        water = swept[stint.day, stint.pair, stint.drift]
        if water.is_empty:
            continue
        yield Pass(
            day=stint.day,
            pair=stint.pair,
            drift=stint.drift,
            end_s=float(stint.way.time_s[-1]),
            swept=water,
            searched_m2=_searched_m2(opened, stint),
            layer=0 if one_layer else fished.layer if fished else None,
            sky=skies.get(number, NOT_TOLD),
            told=bool(stint.told),
            offers=stint.counts.offers,
            hours=stint.hours,
        )


def _searched_m2(opened: Opened, stint: Stint) -> float:
    """Return how much water one rod searched on a drift, overlaps counted again."""
    settings, way = opened.settings, stint.way
    east_m, north_m = np.diff(way.easting), np.diff(way.northing)
    length_m = float(np.hypot(east_m, north_m).sum())
    made_good_m = hypot(
        float(way.easting[-1] - way.easting[0]),
        float(way.northing[-1] - way.northing[0]),
    )
    fished_s = stint.fishing_s or length_m / USUAL_DRIFT_M_S
    if not fished_s > 0:
        return 0.0
    rate = search_rate_m2_s(
        1,
        cast_m=settings.spread.cast_m,
        drift_m_s=made_good_m / fished_s,
        rules=settings.search,
        count_s=stint.setup.count_s or 0.0,
    )
    return rate * fished_s
