"""Places to start a match at: the finds, and water that nobody has tried enough."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf
from statistics import median

import numpy as np

from sweptwater.jobs.circumstances import line_text
from sweptwater.jobs.finds import FindLine
from sweptwater.jobs.places import OPEN_WATER
from sweptwater.jobs.plan_places import spot_text
from sweptwater.jobs.searched_by import patch_text
from sweptwater.jobs.searching import Searching
from sweptwater.jobs.starts_drifts import Drifting
from sweptwater.jobs.starts_report import LineFor
from sweptwater.jobs.starts_words import find_whys, untried_whys
from sweptwater.offers.effort import mostly
from sweptwater.offers.flies import layer_names
from sweptwater.offers.grouping import total
from sweptwater.offers.sky import Sky
from sweptwater.offers.stints import NOT_TOLD
from sweptwater.offers.wind import Wind
from sweptwater.plan.legal import LegalDrift
from sweptwater.plan.setups import way_to_fish
from sweptwater.plan.start_risk import StartPlace
from sweptwater.search.finds import Find, State

USUAL_RATE = 0.5
"""Offers a rod-hour, before anything is told; it weighs one offer (common practice, no
source)."""

PATCHY = 0.5
"""The shape of the rate of water of which nothing is known: fish lie in patches, so
that half of such water has less than half of what it has on average (common practice,
no source)."""

START_OFFERS = 1.0
"""How many offers the practice's mean weighs at each place, so that a rate from little
fishing is taken with a grain of salt."""

STATES: Mapping[State, float] = {"pressed": 0.5, "resting": 0.75}
"""What the offers of a find come to in such a state (common practice, no source)."""

SEARCHED = 0.3
"""Water in which fish would have shown with more than this chance has been tried."""

MOST_PLACES, MOST_KNOWN = 10, 7
"""So many places are chosen from, and so many of them finds at the most."""

SCRAP = 0.25
"""A piece of water smaller than this part of the usual one is no place to start."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """A place, with its drift in the forecast's wind and its lines by light."""

    place: StartPlace
    drift: LegalDrift | None
    sun: LineFor
    cloud: LineFor
    line: FindLine | None = None


def practice_mean(searching: Searching) -> float:
    """Return the offers a rod-hour of all that was told, drawn to the usual."""
    offers, hours = total(searching.met.stints, searching.met.loose)
    return (START_OFFERS + offers) / (START_OFFERS / USUAL_RATE + hours)


def other_water(searching: Searching, better: float = 1.0) -> tuple[float, float]:
    """Return shape and hours of the rate of water of which nothing is known.

    It is the practice's mean, or better; and what a find comes to when its fish have
    moved, since what was learned of all other water is as old.
    """
    return PATCHY, PATCHY / (practice_mean(searching) * better)


def rate_in_doubt(
    searching: Searching, offers: float, hours: float
) -> tuple[float, float]:
    """Return shape and hours of the Gamma distribution of a rate.

    Gamma(w + x / f, w / m + t / f), as `rate_map` has it: x offers in t rod-hours, the
    practice's mean m that weighs w = START_OFFERS, and how clustered offers are, f.
    Offers in no time at all tell of no rate.
    """
    offers = offers if hours > 0 else 0.0
    factor = searching.clusters.factor
    mean = practice_mean(searching)
    return START_OFFERS + offers / factor, START_OFFERS / mean + hours / factor


def known_places(
    drifting: Drifting, finds: Sequence[FindLine], wind: Wind, sky: Sky | None
) -> Iterator[Candidate]:
    """Yield the finds, the one that is worth most first.

    Those that cannot be drifted in the wind have no drift.
    """
    searching = drifting.searching
    for line in finds:
        find = line.find
        at = np.array([find.easting, find.northing])
        drift = drifting.drift(at, wind)
        shape, hours = rate_in_doubt(searching, find.offers, find.rod_hours)
        counts = _in_light(find, sky, searching.opened.settings.search.other_light)
        for state in find.states:
            counts *= STATES.get(state, 1.0)
        sun, cloud = _lines_of(drifting, find, wind)
        place = StartPlace(
            name=_named(searching, line.place, find.easting, find.northing),
            easting=find.easting,
            northing=find.northing,
            bank=find.bank,
            sector=find.sector,
            find=find.number,
            shape=shape,
            hours=hours / max(counts, 1e-6),
            holds=find.left,
            fishes=drifting.fishes(drift, wind),
            layer=_known(find.by_layer),
            line=_known(find.by_line),
            why=tuple(find_whys(line)),
        )
        yield Candidate(place, drift, sun, cloud, line)


def untried_places(
    drifting: Drifting, finds: Sequence[FindLine], wind: Wind, most: int
) -> list[Candidate]:
    """Return water that nobody has tried enough, the most promising first.

    By what is believed of it: how much likelier fish that nobody has met are there than
    fish were in the water that was fished, an acre each, before that was fished. Not
    where a find is, and only what can be drifted in the wind.
    """
    searching = drifting.searching
    squares, belief = searching.squares, searching.belief
    taken = {line.find.bank for line in finds} - {None}
    number = len(squares.patches)
    unfound = np.bincount(squares.patch, belief.unfound.sum(axis=1), number)
    area_m2 = np.array([patch.area_m2 for patch in squares.patches])
    times = unfound / area_m2 * squares.area_m2 / _fished_mean(searching)
    least_m2 = SCRAP * float(np.median(area_m2))
    found: list[Candidate] = []
    for at in np.argsort(-times, kind="stable").tolist():
        patch, here = squares.patches[at], squares.patch == at
        tried = belief.chance_in(here)
        if patch.bank in taken or patch.area_m2 < least_m2 or tried > SEARCHED:
            continue
        drift = drifting.drift(np.array([patch.easting, patch.northing]), wind)
        if drift is None and wind.speed_m_s > 0:
            continue
        better = float(times[at])
        shape, hours = other_water(searching, better)
        best = int(np.argmax(belief.unfound[here].sum(axis=0)))
        bed = squares.bed_m(at)
        told = patch_text(searching.opened, patch)
        name = _named(searching, told, patch.easting, patch.northing)
        place = StartPlace(
            name=name,
            easting=patch.easting,
            northing=patch.northing,
            bank=patch.bank,
            sector=patch.sector,
            find=None,
            shape=shape,
            hours=hours,
            fishes=drifting.fishes(drift, wind),
            layer=squares.layers[best],
            why=tuple(untried_whys(better, tried)),
        )
        layer = best if len(squares.layers) > 1 else None
        bed_m = bed[1] if bed else inf
        sun, cloud = (
            _reckoned(drifting, wind, layer, bright=bright, bed_m=bed_m)
            for bright in (True, False)
        )
        found.append(Candidate(place, drift, sun, cloud))
        taken |= {patch.bank} - {None}  # two sectors may share a bank
        if len(found) == most:
            break
    return found


def _fished_mean(searching: Searching) -> float:
    """Return how likely a fish was in each square that was fished, before, on average.

    By the rod-hours spent there; of all squares where nobody fished.
    """
    passed, before = searching.passed, searching.belief.before.sum(axis=1)
    hours = np.array([one.hours for one in passed.passes], dtype=np.float64)
    weight = hours[passed.number] * passed.part if len(hours) else np.zeros(0)
    if not weight.sum() > 0:
        return float(before.mean())
    return float(np.average(before[passed.square], weights=weight))


def _named(searching: Searching, told: str, east: float, north: float) -> str:
    """Return where a place is; of the open water where on it."""
    if told != OPEN_WATER:
        return told
    return f"{OPEN_WATER}, {spot_text(searching.opened, np.array([east, north]))}"


def _known(words: Mapping[str, int]) -> str:
    return next((word for word in words if word != NOT_TOLD), "")


def _in_light(find: Find, sky: Sky | None, other: float) -> float:
    """Return what a find counts for in some light: less if it was met in another."""
    known = {word: n for word, n in find.by_sky.items() if word != NOT_TOLD}
    if sky is None or not known:
        return 1.0
    share = known.get(sky, 0) / sum(known.values())
    return share + (1 - share) * other


def _lines_of(drifting: Drifting, find: Find, wind: Wind) -> tuple[LineFor, LineFor]:
    """Return what to fish at a find in sun and in cloud: what met most there in it."""
    searching = drifting.searching
    offers: dict[str, Counter[str]] = {}
    counts: dict[str, list[float]] = {}
    skies = mostly(searching.pieces, ["sky"])
    for at, stint in enumerate(searching.met.stints):
        line = line_text(stint)
        if (
            (stint.day, stint.pair, stint.drift) not in find.drifts
            or not stint.counts.offers
            or line == NOT_TOLD
        ):
            continue
        sky = skies.get(at, (NOT_TOLD,))[0]
        for word in ("", sky):
            offers.setdefault(word, Counter())[line] += stint.counts.offers
        if stint.setup.count_s is not None:
            counts.setdefault(line, []).append(stint.setup.count_s)

    def best(sky: str, bright: bool) -> LineFor:
        for word in (sky, ""):
            if word in offers:
                line = offers[word].most_common(1)[0][0]
                count_s = median(counts[line]) if line in counts else None
                whence = "met here" if word else "met here in other light"
                return LineFor(line, count_s, whence)  # type: ignore[arg-type]
        settings = searching.opened.settings
        names = layer_names(settings.tackle, settings.units)
        known = [names.index(name) for name in find.by_layer if name in names]
        layer = known[0] if known else None
        return _reckoned(drifting, wind, layer, bright=bright)

    return best("bright", bright=True), best("dull", bright=False)


def _reckoned(
    drifting: Drifting,
    wind: Wind,
    layer: int | None,
    *,
    bright: bool,
    bed_m: float = inf,
) -> LineFor:
    """Return which line reaches a layer.

    Where nobody knows the layer it is the top one in cloud and the second in sun: light
    sends fish down (common practice, no source).
    """
    settings = drifting.searching.opened.settings
    if layer is None:
        layer = 1 if bright else 0
    way = way_to_fish(
        layer,
        drifting.speeds_m_s(wind),
        settings.tackle,
        settings.search,
        settings.spread,
        usual=drifting.drogue,
        bed_m=bed_m,
    )
    return LineFor(way.line, way.count_s, "reckoned")
