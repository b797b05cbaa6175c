"""The finds of a practice, and what to do about each."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from shapely import Point

from sweptwater.jobs.circumstances import layer_text, line_text
from sweptwater.jobs.places import BANK_M, place_text
from sweptwater.jobs.searching import Searching
from sweptwater.jobs.wording import counted
from sweptwater.offers.effort import mostly
from sweptwater.offers.grouping import total
from sweptwater.offers.stints import NOT_TOLD
from sweptwater.paper.intervals import rate_text
from sweptwater.search.ageing import share_left
from sweptwater.search.finding import Told, finds_in
from sweptwater.search.finds import Find
from sweptwater.search.trust import trusted_by
from sweptwater.water.banks import nearest_bank

EARLY = timedelta(hours=2)
"""What has moved, or was pressed, is tried this soon after leaving the jetty, so that
the rest of the day can still be planned by it (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class FindLine:
    """A find, and what to do about it.

    Parameters
    ----------
    find
        What was found.
    place, lat, lon
        Where.
    line
        The line that met most; empty if nobody told.
    confirm
        Whether it is to be tried again before it is trusted.
    before
        By when, on the clock; empty if it does not matter.
    advice
        What to do, in words.
    """

    find: Find
    place: str
    lat: float
    lon: float
    line: str
    confirm: bool
    before: str
    advice: str


def find_lines(searching: Searching) -> tuple[FindLine, ...]:
    """Return the finds by the morning of the day to come, the best first."""
    opened, rules = searching.opened, searching.opened.settings.search
    banks = {bank.number: bank.water for bank in opened.banks}

    def place(east: float, north: float) -> tuple[int | None, str | None]:
        point = Point(east, north)
        bank = next((n for n, water in banks.items() if water.intersects(point)), None)
        if bank is None:  # as `place_text` says it: a place has one bank, or none
            beside = nearest_bank(opened.banks, east, north, BANK_M)
            bank = beside.number if beside else None
        sector = next(
            (n for n, water in opened.sectors.items() if water.intersects(point)), None
        )
        return bank, sector

    met, nights = searching.met, searching.nights
    offers, hours = total(met.stints, met.loose)
    found = finds_in(
        _told(searching),
        mean=offers / hours if hours else None,
        widen=searching.clusters.widen,
        place=place,
        left=lambda times_s: share_left(times_s, searching.now_s, nights.nights, rules),
    )
    lines = []
    for find, ground in found:
        boats = [
            seen
            for seen in nights.boats
            if ground.distance(Point(seen.easting, seen.northing))
            <= rules.boats_within_m
        ]
        trusted = trusted_by(find, searching.now_s, nights.nights, boats, rules)
        lines.append(_line(searching, trusted))
    return tuple(lines)


def _told(searching: Searching) -> Told:
    opened, pieces = searching.opened, searching.pieces
    swept = {(one.day, one.pair, one.number): one.swept for one in searching.drifts}
    skies = mostly(pieces, ["sky"])
    # A drift that is no match fishing has no part in what a start is worth.
    kept = [at for at, stint in enumerate(searching.met.stints) if stint.match]
    stints = [searching.met.stints[at] for at in kept]
    new = {at: number for number, at in enumerate(kept)}
    rows = pieces[pieces["stint"].isin(new)]
    return Told(
        stints=stints,
        swept=[swept[one.day, one.pair, one.drift] for one in stints],
        layers=[layer_text(opened, one) for one in stints],
        skies=[skies.get(at, (NOT_TOLD,))[0] for at in kept],
        lines=[line_text(one) for one in stints],
        minute_stint=np.array([new[at] for at in rows["stint"]], dtype=int),
        minute_easting=rows["easting"].to_numpy(),
        minute_northing=rows["northing"].to_numpy(),
        minute_hours=rows["hours"].to_numpy(),
    )


def _line(searching: Searching, find: Find) -> FindLine:
    opened = searching.opened
    lon, lat = opened.venue.frame.to_degrees(find.easting, find.northing)
    known = [line for line in find.by_line if line != NOT_TOLD]
    soon = not {"stale", "pressed"}.isdisjoint(find.states)
    leave = datetime.fromtimestamp(searching.now_s, opened.settings.zone)
    before = f"{leave + EARLY:%H:%M}" if soon else ""
    return FindLine(
        find=find,
        place=place_text(opened, find.easting, find.northing),
        lat=float(lat),
        lon=float(lon),
        line=known[0] if known else "",
        confirm=not find.good,
        before=before,
        advice=advice_text(find, opened.settings.search.confirm_s, before),
    )


def range_text(find: Find) -> str:
    """Return the range of a find's offers a rod-hour, in words.

    Examples
    --------
    >>> range_text(Find(1, 0, 0, 3, "A", (), 9, 9, 4 / 3, 6.75, 3.09, 12.8, 0, 2400))
    '3.1 to 13'
    >>> range_text(Find(1, 0, 0, 3, "A", (), 9, 9, 0, None, None, None, 0, 0))
    'hours not known'
    """
    if find.low is None or find.high is None:
        return "hours not known"
    return f"{rate_text(find.low)} to {rate_text(find.high)}"


def advice_text(find: Find, confirm_s: float, before: str) -> str:
    """Return what to do about a find.

    Examples
    --------
    >>> find = Find(1, 0, 0, 3, "A", (), 9, 9, 1.3, 6.9, 3, 12, 0, 2400)
    >>> advice_text(find, 1800, "")
    'one boat, 30 minutes: tried again before it is trusted'
    """
    try_it = f"one boat, {counted(round(confirm_s / 60), 'minute')}"
    if before:
        return f"{try_it}, before {before}: no start for all"
    if find.states == ("resting",):
        return f"{try_it}: it has been left alone since"
    if not find.trusted:
        return f"{try_it}: tried again before it is trusted"
    return "two boats or two days met it: good for a start"
