"""Many boat-days that were never made, several at once: into the cache, and no further.

Workers only fill the cache. Whatever hinders them costs time and nothing else: what is
not there afterwards is made as ever.
"""

import multiprocessing
import sys
import warnings
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from itertools import groupby
from pathlib import Path

from sweptwater.jobs.boats import Reader, tracks_by_boat
from sweptwater.jobs.opened import Watch, open_folder, unwatched
from sweptwater.practice.originals import Original
from sweptwater.practice.settings import Spread

WORKERS = 4
"""A few: more would want memory, and fewer cores than these lose nothing by them."""

MANY = 12
"""Fewer tracks than these are made before workers would have begun."""

AT_ONCE = 6
"""So many tracks go to a worker at a time."""


def warm(
    reader: Reader,
    originals: Sequence[Original],
    spreads: Sequence[Spread] = (),
    *,
    watch: Watch = unwatched,
) -> None:
    """Make the boat-days that are not kept yet, if they are many.

    Only where processes can be forked: elsewhere starting them takes as long as it
    saves.

    Parameters
    ----------
    spreads
        Other cast spreads for which the swept water is wanted too.
    """
    missing = [item for item in originals if not reader.is_kept(item)]
    if sys.platform != "linux" or len(missing) < MANY or not reader.can_keep():
        return
    folder = reader.opened.practice.folder
    tasks = [(folder, names, tuple(spreads)) for names in _batches(missing)]
    context = multiprocessing.get_context("fork")
    try:
        with warnings.catch_warnings():
            # Numerical libraries may have threads, which the workers do not use.
            warnings.simplefilter("ignore", DeprecationWarning)
            with ProcessPoolExecutor(WORKERS, mp_context=context) as pool:
                working = [pool.submit(_work, *task) for task in tasks]
                for done in watch(working, f"reading {len(missing)} tracks"):
                    done.result()
    except (OSError, BrokenProcessPool):
        return


def _batches(originals: Sequence[Original]) -> Iterator[tuple[str, ...]]:
    """Yield the places of some tracks of one pair at a time."""
    for _, mine in groupby(originals, key=lambda item: item.pair):
        places = [str(item.path) for item in mine]
        for first in range(0, len(places), AT_ONCE):
            yield tuple(places[first : first + AT_ONCE])


def _work(folder: Path, places: tuple[str, ...], spreads: tuple[Spread, ...]) -> None:
    opened = open_folder(folder)
    reader = Reader(opened)
    originals = [o for o in opened.practice.originals if str(o.path) in places]
    by_boat = tracks_by_boat(map(reader.track, originals))
    for (day, pair), tracks in by_boat.items():
        boat = reader.boat(pair, day, tracks).boat
        for spread in spreads:
            reader.swept_with(boat, spread)
