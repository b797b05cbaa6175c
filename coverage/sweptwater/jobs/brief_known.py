"""What a match brief says of what the practice taught, and of what nobody knows."""

from collections.abc import Iterator
from pathlib import Path

from sweptwater.jobs.brief_report import KnownPlace
from sweptwater.jobs.finds import find_lines
from sweptwater.jobs.met_words import sentences
from sweptwater.jobs.rates import WhatWeMet, look_at_offers
from sweptwater.jobs.searching import Searching
from sweptwater.jobs.starts import StartsSight
from sweptwater.jobs.starts_places import SEARCHED
from sweptwater.jobs.starts_report import Spot
from sweptwater.jobs.starts_words import doubt_text, find_whys
from sweptwater.jobs.unfished import Unfished, unfished, whereabouts
from sweptwater.jobs.wording import and_text, counted
from sweptwater.paper.intervals import hours_text, rate_text
from sweptwater.search.laws import haphazard_chance
from sweptwater.search.squares import ANY_DEPTH
from sweptwater.units import area_text, share_text

MOST_SAID = 4
"""So many sentences about what differs."""

MOST_PIECES = 5
"""So many pieces of unfished water are told by place."""

MOST_FINDS = 8

LEAST_HOURS = 0.05


def known_texts(sight: StartsSight, folder: Path) -> Iterator[str]:
    """Yield what the practice taught, as surely as it did."""
    report = look_at_offers(folder).report
    yield _met_text(report)
    told = list(sentences([report.table(by) for by in report.by]))
    for one in told[:MOST_SAID]:
        sure = "" if one.verdict == "clear" else "May be luck: "
        yield f"{sure}{one.text[:1].lower() if sure else one.text[:1]}{one.text[1:]}"
    if not told and report.rod_hours > 0:
        yield (
            "No light, depth, line or place differs from the others by more than luck "
            "may do"
        )


def _met_text(report: WhatWeMet) -> str:
    if report.rate is None or report.low is None or report.high is None:
        return "Nobody has told what was met: nothing is known of fish on this water"
    low, high = rate_text(report.low), rate_text(report.high)
    return (
        f"{counted(report.offers, 'offer')} in {hours_text(report.rod_hours)} "
        f"rod-hours that were told, {rate_text(report.rate)} an hour ({low} to {high})"
    )


def unknown_texts(sight: StartsSight, folder: Path) -> Iterator[str]:
    """Yield what nobody knows: unfished water, layers hardly searched, what is untold.

    The figures of unfished water are those of `unfished`.
    """
    opened, units = sight.opened, sight.opened.settings.units
    found = unfished(folder)
    water_m2 = opened.venue.fishable.area
    share = share_text(found.unfished_m2 / water_m2)
    yield (
        f"{share} of the water is unfished, {area_text(found.unfished_m2, units)} in "
        f"{counted(len(found.pieces), 'piece')}{_largest(found, sight)}"
    )
    yield from _layers(sight.searching)
    untold = sum(s.hours for s in sight.searching.met.stints if s.match and not s.told)
    if untold >= LEAST_HOURS:
        yield (
            f"Nobody has told of {hours_text(untold)} rod-hours: fish met in them are "
            "in no figure here"
        )


def _largest(found: Unfished, sight: StartsSight) -> str:
    units = sight.opened.settings.units
    told = [
        f"{area_text(one.area_m2, units)} {whereabouts(one)}"
        for one in found.pieces[:MOST_PIECES]
    ]
    return f". The largest: {'; '.join(told)}" if told else ""


def _layers(searching: Searching) -> Iterator[str]:
    """Yield how much of the water was searched, layer by layer."""
    squares = searching.squares
    if squares.layers == (ANY_DEPTH,):
        yield "At which depth flies fished is not known, since no line was told"
        return
    chance = haphazard_chance(searching.belief.factor)
    parts, never = [], []
    for layer, name in enumerate(squares.layers):
        here = chance[squares.there[:, layer], layer]
        if len(here):
            parts.append(f"{share_text(float((here >= SEARCHED).mean()))} at {name}")
            if not (here > 0).any():
                never.append(name)
    if parts:
        yield (
            "Of the water so much was searched that a small shoal would have shown "
            f"three times in ten or oftener: {', '.join(parts)}"
        )
    if never:
        yield f"Nobody has fished at {and_text(never)}"


def known_places(sight: StartsSight) -> Iterator[KnownPlace]:
    """Yield the finds, the best first, then the water of bold starts."""
    rods = _rods(sight)
    lines = find_lines(sight.searching)
    for line in lines[:MOST_FINDS]:
        yield KnownPlace(
            place=next(
                (s.place for s in _spots(sight) if s.find == line.find.number),
                line.place,
            ),
            rods=rods.get(line.find.number, ""),
            line=line.line,
            met="; ".join(find_whys(line)),
            sure=doubt_text(line),
        )
    untried = {s.place: s for s in _spots(sight) if s.find is None}
    for place, spot in untried.items():
        yield KnownPlace(
            place, rods.get(place, ""), "", "; ".join(spot.why), spot.doubt
        )


def _spots(sight: StartsSight) -> list[Spot]:
    rows = sight.report.starts
    return [s for row in rows for s in (row.first, row.second) if s is not None]


def _rods(sight: StartsSight) -> dict[int | str, str]:
    """Return who starts at each place, by its find or name, and who goes there next."""
    found: dict[int | str, list[list[str]]] = {}
    for row in sight.report.starts:
        for at, spot in enumerate((row.first, row.second)):
            if spot is not None:
                key = spot.find or spot.place
                found.setdefault(key, [[], []])[at].append(row.rod)
    told = {}
    for key, (first, then) in found.items():
        parts = [", ".join(first)] if first else []
        parts += [f"then {', '.join(then)}"] if then else []
        told[key] = "; ".join(parts)
    return told
