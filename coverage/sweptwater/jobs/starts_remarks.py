"""What to bear in mind of a match, and what was supposed of it."""

from collections.abc import Iterator, Sequence

import numpy as np

from sweptwater.jobs.day_words import sunset_on
from sweptwater.jobs.starts_places import Candidate
from sweptwater.jobs.starts_report import StartRow
from sweptwater.jobs.starts_rows import MatchDay
from sweptwater.jobs.starts_words import against_wind, cautions
from sweptwater.jobs.wording import and_text
from sweptwater.plan.start_risk import MOST_RODS
from sweptwater.plan.starts import Starts


def told_cautions(
    day: MatchDay, starts: Sequence[StartRow], gust_m_s: float | None
) -> Iterator[str]:
    """Yield what to bear in mind before anyone goes out, what matters most first."""
    opened, home, wind = day.opened, day.home, day.wind
    frame = opened.venue.frame
    spots = [s for row in starts for s in (row.first, row.second) if s]
    xy = np.column_stack(
        frame.to_metres([s.lon for s in spots], [s.lat for s in spots])
    )
    step = home.place - xy
    bearings = np.degrees(np.arctan2(step[:, 0], step[:, 1])) % 360
    yield from cautions(
        wind,
        gust_m_s,
        opened.settings,
        against=against_wind(bearings.tolist(), wind),
        sunset=sunset_on(opened, home.lines_up),
        lines_up=home.lines_up,
    )


def told_remarks(
    day: MatchDay, known: Sequence[Candidate], chosen: Starts
) -> Iterator[str]:
    """Yield what was supposed, and what is missing."""
    searching, opened = day.drifting.searching, day.opened
    match = opened.settings.match
    if not known:
        yield (
            "there are no finds yet, so all starts are on water that looks promising "
            "and that nobody has tried enough"
        )
    elif not day.wind.speed_m_s > 0:
        yield "in a calm nothing drifts: how long each place can be fished is not told"
    lost = [
        f"find {one.place.find} ({one.place.name})"
        for one in known
        if one.drift is None and day.wind.speed_m_s > 0
    ]
    if lost:
        be = "it is" if len(lost) == 1 else "they are"
        yield f"{and_text(lost)} cannot be drifted in this wind: {be} no start"
    pairs = opened.settings.afloat_on(searching.day)
    rods = sum(len(opened.settings.rods_on(pair, searching.day)) for pair in pairs)
    if rods > MOST_RODS and len(chosen.risk.without) == MOST_RODS:
        yield f"starts are told for the first {MOST_RODS} of {rods} rods"
    if chosen.most_on_bank > match.most_on_bank:
        yield (
            f"too few banks are known: up to {chosen.most_on_bank} rods start on one, "
            f"where [match] of practice.toml asks for {match.most_on_bank} at the most"
        )
    if chosen.bold != match.bold and known:
        yield (
            f"{chosen.bold} rods start boldly, where [match] of practice.toml asks for "
            f"{match.bold}: there are no other places"
        )
    if not opened.venue.of_kind("jetty") and not match.lines_up_at:
        yield (
            "no jetty is known, so times to leave by count to a place on the shore: "
            "sweptwater venue add --kind jetty FILE"
        )
    leeway = day.drifting.leeways[day.drifting.drogue]
    if not leeway.drifts:
        yield (
            "how fast the boats drift is supposed, as open boats do: tracks of days "
            "whose wind was noted tell it better"
        )
    if opened.depths is None:
        yield "no soundings are known: look that your flies are off the bed"
    untold = sum(s.hours for s in searching.met.stints if s.match and not s.told)
    if untold >= 1:
        yield (
            f"nobody has told of {untold:.0f} rod-hours: what was met in them is in no "
            "start"
        )
    yield from searching.remarks
