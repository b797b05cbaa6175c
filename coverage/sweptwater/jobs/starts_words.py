"""What is said of where to start a match."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from sweptwater.jobs.coverage_words import SAFETY
from sweptwater.jobs.finds import FindLine, range_text
from sweptwater.jobs.wording import counted
from sweptwater.offers.wind import Wind, beaufort, wind_text
from sweptwater.paper.intervals import hours_text
from sweptwater.plan.ground import off_course_deg
from sweptwater.plan.legal import Cut
from sweptwater.practice.match import MatchRules
from sweptwater.practice.settings import Settings
from sweptwater.units import MPH_M_S, System, duration_text, length_text, share_text

if TYPE_CHECKING:
    from sweptwater.jobs.starts_report import (
        DriftLine,
        LineFor,
        StartRow,
        StartsReport,
    )

CAUTION_FORCE = 4
"""From here on the way home against the wind is slow and wet (common practice, no
source)."""

AGAINST_DEG = 60.0
"""Home is against the wind where it lies within so many degrees of where that blows
from."""

SAME_M_S = 1e-6
"""A gust of just as much as the most is not more."""

ENDS_BEFORE: dict[Cut, str] = {
    "land": "land",
    "out of bounds": "the line out of bounds",
    "bank-anglers": "the bank anglers",
}


def speed_text(speed_m_s: float, units: System) -> str:
    """Return how hard it blows.

    Examples
    --------
    >>> speed_text(10.73, "imperial"), speed_text(10.73, "metric")
    ('24 mph', '11 m/s')
    """
    if units == "imperial":
        return f"{speed_m_s / MPH_M_S:.0f} mph"
    return f"{speed_m_s:.0f} m/s"


def too_much(wind_m_s: float, gust_m_s: float | None, most_m_s: float) -> bool:
    """Tell whether wind or gusts are more than the practice goes afloat in."""
    return max(wind_m_s, gust_m_s or 0.0) > most_m_s + SAME_M_S


def gust_text(wind: Wind, gust_m_s: float | None, settings: Settings) -> str:
    """Return what wind and gusts ask for: the first thing to be told.

    Examples
    --------
    >>> settings = Settings("Ashlode Water", ("Heron",))
    >>> gust_text(Wind(270, 6), 12.0, settings).partition(":")[0]
    'Stay ashore'
    >>> gust_text(Wind(270, 6), 8.0, settings).partition(":")[0]
    'Gusts of 18 mph'
    """
    units, most_m_s = settings.units, settings.day.most_wind_m_s
    most = speed_text(most_m_s, units)
    if wind.speed_m_s > most_m_s + SAME_M_S:
        told = speed_text(wind.speed_m_s, units)
        return (
            f"Stay ashore: a wind of {told} is over the {most} that this practice goes "
            "afloat in. The venue's rules come first."
        )
    if gust_m_s is None:
        return (
            "Gusts are half as strong again as the mean wind: look up those of the "
            f"forecast. Over {most} this practice stays ashore, and the venue's rules "
            "come first."
        )
    told = speed_text(gust_m_s, units)
    if too_much(0.0, gust_m_s, most_m_s):
        return (
            f"Stay ashore: gusts of {told} are over the {most} that this practice goes "
            "afloat in. The venue's rules come first."
        )
    as_much = gust_m_s >= 0.9 * most_m_s
    limit = f"this practice goes afloat in {most} at the most"
    return (
        f"Gusts of {told}: {limit}{', so this is the limit' if as_much else ''}. The "
        "venue decides. Stay seated and trimmed in a gust, never lie broadside to a "
        "breaking wave, and come in if it blows harder."
    )


def cautions(
    wind: Wind,
    gust_m_s: float | None,
    settings: Settings,
    *,
    against: bool,
    sunset: datetime | None,
    lines_up: datetime,
) -> Iterator[str]:
    """Yield what to bear in mind before anyone goes out, gusts first.

    Parameters
    ----------
    against
        Whether the way home from any place is against the wind.
    sunset
        On that day; None if there is none.
    """
    yield gust_text(wind, gust_m_s, settings)
    if against and beaufort(wind.speed_m_s) >= CAUTION_FORCE:
        yield (
            "The way home is against the wind, slow and wet: the times to leave by "
            f"reckon with {speed_text(settings.match.motoring_m_s, settings.units)}. "
            "If your boat makes less, leave earlier."
        )
    if sunset is not None and (sunset - lines_up).total_seconds() < 1800:
        yield (
            f"The sun sets at {sunset:%H:%M}: be ashore half an hour before, whatever "
            "the match allows."
        )
    yield SAFETY


def rules_texts(match: MatchRules, units: System) -> Iterator[str]:
    """Yield the rules of the match as the settings have them."""
    off = length_text(match.keep_off_m, units)
    yield (
        f"Keep {length_text(match.apart_m, units)} off other boats, and {off} off "
        "buoys, bank anglers and all that is out of bounds."
    )
    yield (
        "Phones are allowed."
        if match.phones
        else "Phones are banned: learn your start, your second choice and the time to "
        "leave by heart, and leave this page ashore."
    )
    yield (
        "Sounders are allowed."
        if match.sounders
        else "Sounders are banned: marks and the count tell you where you are."
    )
    yield (
        "Anchoring is allowed."
        if match.anchoring
        else "Anchoring is banned, but in need: a boat in trouble anchors bow to wind."
    )
    yield (
        "This is what practice.toml says of the match. The rules that are read out, "
        "the venue's own and its rangers' word stand above it."
    )


def find_whys(line: FindLine) -> Iterator[str]:
    """Yield why to start at a find, or not to."""
    find = line.find
    met = counted(find.offers, "offer")
    if find.rate is None:
        yield f"{met} in hours that nobody knows"
    else:
        hours = hours_text(find.rod_hours)
        yield f"{met} in {hours} rod-hours, {range_text(find)} an hour"
    yield from find.why


def untried_whys(better: float, tried: float) -> Iterator[str]:
    """Yield why to start on water that nobody has tried enough."""
    sure = share_text(tried)
    hardly = f"searched no more than {sure} sure"
    yield "nobody has fished it" if tried < 0.005 else hardly
    if better >= 1.15:
        yield f"{better:.1f} times as likely to hold fish as what was fished so far"


def doubt_text(line: FindLine | None) -> str:
    """Return how sure a place is."""
    if line is None:
        return "a bold try: nobody knows"
    find = line.find
    told = [
        "met again, by two boats or on two days"
        if find.trusted
        else "met by one boat on one day: may have been luck"
    ]
    if "stale" in find.states:
        told.append("fish may have moved")
    told += [state for state in ("pressed", "resting") if state in find.states]
    return f"{'; '.join(told)}; {share_text(find.left)} of it left"


def chance_text(chance: float) -> str:
    """Return how likely a rod goes without, as people say it.

    Examples
    --------
    >>> chance_text(0.253), chance_text(0.001), chance_text(0.999)
    ('25 in 100', '1 in 100', '99 in 100')
    """
    return f"{min(99, max(1, round(100 * chance)))} in 100"


def line_text(line: "LineFor") -> str:
    """Return a line with its count.

    Examples
    --------
    >>> from sweptwater.jobs.starts_report import LineFor
    >>> line_text(LineFor("3 in/s", 20.4, "met here"))
    '3 in/s, count 20'
    >>> line_text(LineFor("floating", 0.0, "reckoned"))
    'floating'
    """
    count = f", count {line.count_s:.0f}" if line.count_s else ""
    return f"{line.line}{count}"


def drift_text(drift: "DriftLine | None", units: System) -> str:
    """Return the longest drift past a place, and what it ends before."""
    if drift is None:
        return "cannot be drifted in this wind"
    out, in_ = (
        duration_text(time_s) for time_s in (drift.drogue_out_s, drift.drogue_in_s)
    )
    return (
        f"{length_text(drift.length_m, units)}, {out} ({in_} with the drogue in), "
        f"ends {length_text(drift.short_m, units)} short of {ENDS_BEFORE[drift.cut_by]}"
    )


def leave_text(row: "StartRow") -> str:
    """Return when a rod must leave each of its places: one time if it is the same."""
    spots = [spot for spot in (row.first, row.second) if spot]
    times = [f"{spot.leave_by:%H:%M}" if spot.leave_by else "-" for spot in spots]
    return ", ".join(dict.fromkeys(times))


def title_text(report: "StartsReport", units: System) -> str:
    """Return what it is about: the day, the wind and its gusts, lines up and where.

    The sky too, where it was asked for.
    """
    wind = wind_text(Wind(report.wind_from_deg, report.wind_m_s), units)
    gust = ""
    if report.gust_m_s is not None:
        gust = f" gusting {speed_text(report.gust_m_s, units)}"
    sky = f", {report.sky}" if report.sky else ""
    return (
        f"{report.day:%a} {report.day.day} {report.day:%b}, {wind}{gust}{sky}; lines "
        f"down {report.lines_down:%H:%M}, up {report.lines_up:%H:%M} at "
        f"{report.lines_up_at}"
    )


def propose_text(first: str, second: str | None, stay_s: float, *, drawn: bool) -> str:
    """Return what to say to the partner in the boat."""
    then = f"; without an offer by then, {second}" if second else ""
    told = f"{first} first, for {duration_text(stay_s)}{then}"
    if drawn:
        return (
            f"Propose before you cast off: {told}. Half the day is the partner's: hear "
            "what he wants, and settle who chooses when."
        )
    return f"Both rods: {told}."


def if_boats_text(second: str | None, match: MatchRules, units: System) -> str:
    """Return what to do if other boats are at a start already."""
    off = length_text(match.apart_m, units)
    go = f"go to {second}" if second else "fish the water beside it"
    return (
        f"Boats there: keep {off} off, and never begin a drift before one that is "
        f"drifting. No room left: {go}."
    )


def lead_text(report: "StartsReport") -> str:
    """Return what the starts risk, in one sentence or two."""
    rods = len(report.starts)
    best = report.all_on_best
    return (
        f"Of {rods} rods {report.expected_without:.1f} go without an offer on average, "
        f"and three or more {chance_text(report.three_or_more)} times. All {rods} at "
        f"{best.place}: {best.expected_without:.1f}, and three or more "
        f"{chance_text(best.three_or_more)} times."
    )


def against_wind(home_bearing_deg: Sequence[float], wind: Wind) -> bool:
    """Tell whether any way home is against the wind."""
    off = np.abs(off_course_deg(np.array(home_bearing_deg), wind.from_deg))
    return bool((off <= AGAINST_DEG).any()) and wind.speed_m_s > 0
