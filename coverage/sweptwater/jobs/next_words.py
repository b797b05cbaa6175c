"""What is said of where to go next, and why."""

import re
from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from sweptwater.jobs.finds import FindLine
from sweptwater.jobs.searching import Searching
from sweptwater.jobs.wording import and_text, counted, day_text
from sweptwater.offers.ledger import DONE
from sweptwater.offers.wind import Wind, wind_text
from sweptwater.search.squares import ANY_DEPTH
from sweptwater.search.teaching import Lesson, kinds_of_bed
from sweptwater.units import System, band_names, depths_text, length_text, share_text

if TYPE_CHECKING:
    from sweptwater.jobs.next import Next
    from sweptwater.jobs.next_rows import NextRow

PLAIN = 1.25
"""What offers have taught is told from so many times on, or less than one over that."""

HARDLY = 0.005
"""Water in which fish would have shown with less than this chance was not fished."""

MOST_UNTOLD = 6


def why_text(searching: Searching, patch: int, layer: int) -> str:
    """Return why some hours go to a layer of a piece of water."""
    squares = searching.squares
    here = squares.patch == patch
    reasons = [_history(searching, patch, layer)]
    if bed := squares.bed_m(patch):
        units = searching.opened.settings.units
        reasons.append(f"{depths_text(*bed, units)} of water")
    reasons += [
        _lesson_text(searching, one) for one in _lessons_of(searching, patch, layer)
    ]
    hope = float(searching.hopes[here].mean())
    if hope > 1.05:
        reasons.append(f"you hope for it, {hope:.2g} times")
    if np.isfinite(searching.stocked_s[here]).mean() >= DONE:
        reasons.append("stocked: what was learned before is void")
    return ", ".join(reasons)


def _history(searching: Searching, patch: int, layer: int) -> str:
    """Return what was fished of a piece of water, by its layers."""
    squares, belief = searching.squares, searching.belief
    here = squares.patch == patch
    passed = searching.passed
    over = np.isin(passed.square, np.flatnonzero(here))
    drifts = {
        (one.day, one.pair, one.drift)
        for one in (passed.passes[number] for number in np.unique(passed.number[over]))
    }
    if not drifts:
        return "never fished"
    there = np.flatnonzero(squares.there[here].any(axis=0)).tolist()
    chance = {one: belief.chance_in(here, one) for one in there}
    last = day_text(max(day for day, _, _ in drifts))
    seen = f"{counted(len(drifts), 'drift')}, last on {last}"
    if chance[layer] > HARDLY:
        return f"{share_text(chance[layer])} sure so far ({seen})"
    if all(chance[one] <= HARDLY for one in there):
        return f"hardly fished ({seen})"
    name = squares.layers[layer]
    deeper = [one for one in there if one >= layer]
    if layer and all(chance[one] <= HARDLY for one in deeper):
        top, unit = name.partition("-")[0].partition("+")[0], name.rpartition(" ")[2]
        return f"never fished below {top} {unit}"
    return f"never fished at {name}"


def _lessons_of(searching: Searching, patch: int, layer: int) -> Iterator[Lesson]:
    """Yield what offers have taught in favour of a layer of a piece of water."""
    squares = searching.squares
    here = squares.patch == patch
    bed = kinds_of_bed(squares, searching.opened.settings.depth.bands_m)[here]
    known = bed[bed >= 0]
    kinds = {
        "layer": layer,
        "bed": int(np.bincount(known).argmax()) if len(known) else None,
        "shore": int(squares.patches[patch].bank is not None),
    }
    for lesson in searching.lessons:
        if lesson.kind == kinds[lesson.of] and lesson.times >= PLAIN:
            yield lesson


def lesson_texts(searching: Searching) -> Iterator[str]:
    """Yield what offers have taught, a sentence each, the plainest first."""
    told = [
        one
        for one in searching.lessons
        if (one.times >= PLAIN or one.times <= 1 / PLAIN)
        and searching.squares.layers != (ANY_DEPTH,)
    ]
    for lesson in sorted(told, key=lambda one: -abs(np.log(one.times))):
        usual = f"{lesson.expected:.1f} would be usual"
        met = counted(round(lesson.offers), "offer")
        hours = f"{lesson.hours:.1f} rod-hours"
        yield (
            f"{_kind_text(searching, lesson).capitalize()}: {met} in {hours}, where "
            f"{usual}; such water counts {lesson.times:.1f} times"
        )


def _lesson_text(searching: Searching, lesson: Lesson) -> str:
    return f"{lesson.times:.1f} times for {_kind_text(searching, lesson)}, by offers"


def _kind_text(searching: Searching, lesson: Lesson) -> str:
    """Return what kind of water a lesson is about."""
    if lesson.of == "layer":
        return f"flies at {searching.squares.layers[lesson.kind]}"
    if lesson.of == "shore":
        return "water by a bank" if lesson.kind else "open water"
    settings = searching.opened.settings
    unit_m, unit = (0.3048, "ft") if settings.units == "imperial" else (1.0, "m")
    edges = [edge_m / unit_m for edge_m in settings.depth.bands_m]
    return f"water {band_names(edges, unit)[lesson.kind]} deep"


def why_confirm(line: FindLine) -> str:
    """Return why a find is tried again."""
    find = line.find
    met = f"find {find.number}: {counted(find.offers, 'offer')}"
    hours = f"in {find.rod_hours:.1f} rod-hours" if find.rod_hours else ""
    states = "" if find.states == ("fresh",) else " and ".join(find.states)
    why = f"{states}: {and_text(find.why)}" if states and find.why else states
    return ", ".join(filter(None, (f"{met} {hours}".strip(), why or line.advice)))


def remarks(searching: Searching, wind: Wind | None) -> Iterator[str]:
    """Yield what was supposed, and what the captain should ask about."""
    if wind is None:
        yield (
            "the wind of that day is not known, so force 4 from anywhere is supposed: "
            "say it, like --wind SW4"
        )
    if not searching.opened.venue.of_kind("jetty"):
        yield (
            "no jetty is known, so runs count from a place on the shore: sweptwater "
            "venue add --kind jetty FILE"
        )
    yield from _untold(searching)
    if searching.squares.layers == (ANY_DEPTH,):
        yield (
            "no depth and no line is known, so all depths count as one: sweptwater "
            "venue add --kind sounding FILE, and sweptwater tally tells the lines"
        )


def _untold(searching: Searching) -> Iterator[str]:
    """Yield whose drifts nobody has told: they count for less than a blank."""
    silent: dict[tuple[date, str], set[int]] = {}
    for stint in searching.met.stints:
        if not stint.told and stint.hours > 0:
            silent.setdefault((stint.day, stint.pair), set()).add(stint.drift)
    if not silent:
        return
    counts = share_text(searching.opened.settings.search.not_told)
    told = [
        f"{pair}'s of {day_text(day)} ({counted(len(drifts), 'drift')})"
        for (day, pair), drifts in sorted(silent.items())
    ]
    more = len(told) - MOST_UNTOLD
    listed = [*told[:MOST_UNTOLD], *([f"{more} more"] if more > 0 else [])]
    yield (
        f"nobody told what was met on some drifts, so that they count only {counts} of "
        f"what a blank would: {and_text(listed)}; sweptwater tally lists them"
    )


def title_text(report: "Next", units: System) -> str:
    """Return what a report of where to go next is about."""
    weather = []
    if report.wind_from_deg is not None and report.wind_m_s is not None:
        wind = Wind(report.wind_from_deg, report.wind_m_s)
        weather.append(f"wind {wind_text(wind, units)}")
    if report.sky:
        weather.append(f"{report.sky} light")
    told = f", {', '.join(weather)}" if weather else ""
    hours = f"{report.hours:g} boat-hours"
    return f"{report.practice}, {day_text(report.day)}{told}: {hours}"


def chances_text(report: "Next") -> str:
    """Return what the hours are likely to bring, in all."""
    now, then = (
        share_text(chance) for chance in (report.chance_now, report.chance_after)
    )
    text = (
        f"Of a hundred small shoals anywhere in this water {now.removesuffix(' %')} "
        f"would have shown themselves by now, and {then.removesuffix(' %')} by the end "
        "of that day"
    )
    if even_h := even_if_more(report):
        searching_h = sum(pair.search_hours for pair in report.pairs)
        text += (
            f": as many in {searching_h:.0f} hours of searching as in "
            f"{even_h:.0f} spread evenly over all water and depths"
        )
    return f"{text}."


def even_if_more(report: "Next") -> float | None:
    """Return the hours spread evenly that do as much, if they are plainly more."""
    searching_h = sum(pair.search_hours for pair in report.pairs)
    even_h = report.even_hours
    return even_h if even_h and even_h > 1.1 * searching_h else None


def hours_cell(hours: float) -> str:
    """Return hours as a table's cell tells them.

    Examples
    --------
    >>> hours_cell(1.26), hours_cell(0.5)
    ('1 h 15', '30 min')
    """
    minutes = 5 * round(12 * hours)
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h" + (f" {minutes % 60:02d}" if minutes % 60 else "")


def way_text(row: "NextRow") -> str:
    """Return how to fish some water: line, count and drogue."""
    parts = [row.line]
    if row.count_s >= 1:
        parts.append(f"count {row.count_s:.0f}")
    parts.append(f"drogue {row.drogue}")
    told = ", ".join(parts)
    return told if row.reaches else f"{told}: hardly gets there"


def fish_text(row: "NextRow") -> str:
    """Return how to fish some water, as a boat's sheet tells it."""
    deep = "" if row.layer == ANY_DEPTH else f"{row.layer}, "
    before = f" before {row.before}" if row.before else ""
    what = f" (find {row.find} again, {hours_cell(row.hours)}{before})"
    return f"{row.place}{what if row.find else ''}: {deep}{way_text(row)}"


def order_texts(rows: Sequence["NextRow"]) -> Iterator[str]:
    """Yield a pair's orders as sentences: finds first, then water fished alike."""
    alike: dict[tuple[str, str], list[NextRow]] = {}
    for row in rows:
        if row.what == "confirm":
            before = f", before {row.before}" if row.before else ""
            yield (
                f"{hours_cell(row.hours)}{before}: try {row.place} again at "
                f"{row.layer}, {way_text(row)}. {row.why[:1].upper()}{row.why[1:]}."
            )
        else:
            alike.setdefault((row.layer, way_text(row)), []).append(row)
    for (layer, way), same in alike.items():
        hours = hours_cell(sum(row.hours for row in same))
        deep = "" if layer == ANY_DEPTH else f" at {layer}"
        where = "; ".join(_where_text(row, alone=len(same) == 1) for row in same)
        yield f"{hours}{deep}, {way}: {where}."


def _where_text(row: "NextRow", *, alone: bool) -> str:
    hours = "" if alone else f" {hours_cell(row.hours)}"
    why = row.why if alone else re.split(r", | \(", row.why, maxsplit=1)[0]
    return f"{row.place}{hours}, {why}"


def page_notes(searching: Searching) -> tuple[str, ...]:
    """Return how the figures are to be read."""
    rules, units = searching.opened.settings.search, searching.opened.settings.units
    half_h = rules.half_life_s / 3600
    notes = [
        "So far, and then: of a hundred small shoals in that water and at that depth, "
        "how many would have shown themselves to the boats by now, and how many by the "
        f"end of those hours. Fish are taken to lie {rules.together:.0f} together, and "
        "one that shows tells of all. A fly shows it in a strip "
        f"{length_text(rules.shows_m, units)} wide for {rules.working_s:.0f} of every "
        f"{rules.cycle_s:.0f} seconds, and the boat closes in meanwhile, so that a "
        "slow drift searches more of its water than a fast one. Drifts are taken to "
        "lie anyhow; the second figure in the table of what was searched is for drifts "
        "as regular as can be.",
        f"What was learned goes stale: it counts half after {half_h:g} hours. A night "
        f"in which the wind swung over {rules.swing_deg:g} degrees leaves "
        f"{share_text(rules.swing_leaves)} of that time, and one over which the water "
        f"cooled by more than {rules.cold_c:g} C, or that was noted as cold, "
        f"{share_text(rules.cold_leaves)}.",
        "Where fish may be: as likely on any acre, less where it is shallow, but "
        f"{rules.shore_counts:g} times as likely by a bank, and at any depth that "
        f"there is, in bright light {rules.bright_top:g} times as likely at the top; "
        "then times your hopes, and times what offers say of such water; "
        "then less what was searched without meeting them.",
        "The hours go where the next one is likeliest to meet a fish that nobody has "
        "met, until it would do as much elsewhere; nobody is sent anywhere for less "
        f"than {rules.least_s / 60:.0f} minutes, and what is motored comes off.",
        f"Water counts as searched after {rules.looks:g} drifts in different light or "
        "depth: once over and blank proves little.",
    ]
    if stocked := searching.nights.stocked:
        near = length_text(rules.stocked_within_m, units)
        notes.append(
            f"Fish were stocked ({counted(len(stocked), 'time')}): within {near} what "
            "was learned before counts for nothing, and fish are at first "
            f"{rules.stocked_counts:g} times as likely."
        )
    notes.append("All of that can be set below [search] in practice.toml.")
    return tuple(notes)
