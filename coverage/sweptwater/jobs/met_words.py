"""What the boats met in words: what is clear, what leans, and what nobody has told."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sweptwater.jobs.circumstances import NO_SECTOR
from sweptwater.jobs.coverage_words import SAFETY
from sweptwater.jobs.done import numbers_text
from sweptwater.jobs.met_sight import LooseOffers, Met, Untold
from sweptwater.jobs.places import OPEN_WATER
from sweptwater.jobs.wording import and_text, counted, day_text
from sweptwater.offers.compare import RULE, Verdict
from sweptwater.offers.table import RateRow
from sweptwater.paper.intervals import hours_text, rate_text
from sweptwater.practice.tally import Counts
from sweptwater.units import System, length_text, share_text

BY_TITLES: Mapping[str, str] = {
    "day": "day",
    "hour": "hour of the day",
    "pair": "pair",
    "rod": "rod",
    "sector": "sector",
    "bank": "bank",
    "shore": "how far from the shore",
    "depth": "depth of the water",
    "layer": "depth of the flies",
    "sky": "light",
    "wind": "wind",
    "wave": "wave",
    "line": "line",
    "drogue": "drogue",
}
"""What rates are told by, as people say it."""

_PLACES: Mapping[str, str] = {
    "day": "on {}",
    "hour": "at {}",
    "pair": "for {}",
    "rod": "for rod {}",
    "sector": "in sector {}",
    "bank": "at {}",
    "shore": "{} from the shore",
    "depth": "over {} of water",
    "layer": "with the flies at {}",
    "sky": "in {} light",
    "wind": "in a wind of {}",
    "wave": "in a wave told as {}",
    "line": "on the {} line",
    "drogue": "with the drogue {}",
}

_OF_ITS_OWN: Mapping[str, str] = {
    OPEN_WATER: "on open water",
    NO_SECTOR: "outside all sectors",
}


@dataclass(frozen=True, slots=True)
class Sentence:
    """What one row of a table says, and how sure that is."""

    verdict: Verdict
    text: str


def by_title(by: str) -> str:
    """Return what a table of rates is called.

    Examples
    --------
    >>> by_title("sky"), by_title("layer,sky")
    ('By light', 'By depth of the flies and light')
    """
    return f"By {and_text([BY_TITLES.get(name, name) for name in by.split(',')])}"


def row_label(row: RateRow) -> str:
    """Return what a row is about, as a table's first cell."""
    return ", ".join(row.by.values())


def sentences(tables: Iterable[Sequence[RateRow]]) -> Iterator[Sentence]:
    """Yield what differs, the surest first, then the one with the most offers.

    Of two rows that were held against each other, one says all: the one with more.
    """
    found = [
        row
        for rows in tables
        for row in rows
        if row.direction == "more"
        or (row.direction and not any(_mirrors(other, row) for other in rows))
    ]
    found.sort(key=lambda row: (row.verdict, -row.offers))
    for row in found:
        yield Sentence(row.verdict, _sentence(row))


def circumstances(by: Mapping[str, str]) -> str:
    """Return circumstances as a sentence tells them.

    Examples
    --------
    >>> circumstances({"layer": "3-8 ft", "sky": "dull"})
    'with the flies at 3-8 ft, in dull light'
    """
    return ", ".join(
        _OF_ITS_OWN.get(value) or _PLACES.get(name, f"{name} {{}}").format(value)
        for name, value in by.items()
    )


def counts_words(counts: Counts) -> str:
    """Return what offers came to, in the words of the tally.

    Examples
    --------
    >>> counts_words(Counts(follow=2, boated=1))
    '2 followed, 1 boated'
    """
    words = {
        "followed": counts.follow,
        "pulled": counts.pull,
        "lost": counts.lost,
        "boated": counts.boated,
    }
    told = [f"{number} {word}" for word, number in words.items() if number]
    return ", ".join(told) or "none"


def title_text(met: Met) -> str:
    """Return what the page is called."""
    return f"{met.practice}: what we met"


def date_line(met: Met) -> str:
    """Return the days that the page tells of."""
    ends = dict.fromkeys((met.days[0], met.days[-1])) if met.days else {}
    when = " to ".join(f"{day.day} {day:%B %Y}" for day in ends) or "No day yet"
    return f"{when}. Offers are follows, pulls, fish lost and fish boated."


def lead_text(met: Met) -> str:
    """Return the first thing to know: how much was told, and what it came to."""
    if met.mean is None:
        return (
            "Nobody has told yet what happened on any drift: a drift without fish is "
            "told as blank, and counts."
        )
    untold = (
        f" Of another {_rod_hours(met.untold_rod_hours)} nobody has told: "
        "they count neither as fish nor as blank."
        if met.untold_rod_hours >= 0.05
        else ""
    )
    return (
        f"{counted(met.offers, 'offer')} in {_rod_hours(met.rod_hours)} that "
        f"were told, {rate_text(met.mean)} an hour.{untold}"
    )


def missing(met: Met) -> tuple[str, ...]:
    """Return who has not told what, the latest day first, and what has to be answered.

    Of one day those come first of whom the most is missing.
    """
    untold = sorted(met.untold, key=lambda one: (-one.day.toordinal(), -one.rod_hours))
    return (*map(untold_text, untold), *met.questions)


def untold_text(untold: Untold) -> str:
    """Return what nobody has told of a rod's drifts.

    Examples
    --------
    >>> from datetime import date
    >>> untold_text(Untold(date(2027, 6, 8), "Teal", "stern", (3, 4, 7), 2.1))
    'Teal, 8 June: stern has not told drifts 3-4, 7 (2.1 rod-hours).'
    """
    who = f"{untold.rod} has not told" if untold.rod else "neither rod has told"
    plural = "" if len(untold.drifts) == 1 else "s"
    return (
        f"{untold.pair}, {day_text(untold.day)}: {who} drift{plural} "
        f"{numbers_text(untold.drifts)} "
        f"({_rod_hours(untold.rod_hours)})."
    )


def loose_text(loose: LooseOffers) -> str:
    """Return offers of which nobody told the drift, with what was said of them."""
    return f"{loose.text}: {counts_words(loose.counts)}"


def counted_text(met: Met) -> str:
    """Return how many comparisons were made, and what came of that.

    Where there are many, one or two in twenty lean by chance.
    """
    if not met.comparisons:
        return "Nothing could be compared yet."
    made = (
        "1 comparison was made"
        if met.comparisons == 1
        else f"{met.comparisons} comparisons were made"
    )
    by_chance = round(met.comparisons / 20)
    luck = (
        f"; with so many, about {by_chance} would lean by luck alone"
        if by_chance
        else ""
    )
    return f"{made}{luck}."


def cautions(met: Met) -> Iterator[str]:
    """Yield what the figures cannot tell."""
    if met.mean is None:
        return
    yield (
        "Place, light, line and hour often go together: what one row seems to do may "
        "be another's work. A plan that tries them apart tells more."
    )
    yield (
        "A rate is of fish that showed: water with few offers may hold fish that did "
        "not."
    )
    if met.layer_unsure_share:
        yield (
            "The layer of flies follows from line, count, retrieve and drift, to some "
            f"25 %: in {share_text(met.layer_unsure_share)} of the rod-hours they may "
            "have fished the one beside it."
        )
    if met.loose:
        yield (
            f"{counted(len(met.loose), 'line')} of the tally told of no one drift: see "
            "the last table. Such offers count in a rate only where every drift that "
            "they may be of was told and belongs to it."
        )


def notes(met: Met, units: System) -> tuple[str, ...]:
    """Return how the figures are to be read."""
    bunches = (
        "Offers came in bunches, as shoals do, so that ranges are "
        f"{met.widen:.1f} times as wide as if each had come by itself."
        if met.widen >= 1.05
        else "Offers came no more in bunches than chance would have it."
    )
    return (
        "A rod-hour is one rod fishing for an hour; motoring, lunch and gaps in the "
        "record are none. A blank drift counts as hours without an offer; one that "
        "nobody told counts as nothing at all.",
        "A rate is the offers over the hours. Its range holds the true rate 95 times "
        "in 100; where hours are few, it goes no further than what the rest of the "
        f"practice makes likely. {bunches}",
        f"How sure: {RULE[0].lower()}{RULE[1:]} {counted_text(met)}",
        "The map takes offers and hours within some "
        f"{length_text(met.smoothed_m, units)} together; where nobody fished it says "
        "nothing.",
        SAFETY,
    )


def _rod_hours(hours: float) -> str:
    told = hours_text(hours)
    return f"{told} rod-hour{'' if told == '1' else 's'}"


def _mirrors(other: RateRow, row: RateRow) -> bool:
    """Return whether a row that has more is all that another was held against."""
    held = (row.against_offers, row.against_rod_hours)
    return other.direction == "more" and held == (other.offers, other.rod_hours)


def _sentence(row: RateRow) -> str:
    first, *others = row.by.items()
    among = f" {circumstances(dict(others))}" if others else ""
    against = f"{row.against_offers} in {hours_text(row.against_rod_hours)}"
    if row.against_rod_hours > 0:
        against += f" ({rate_text(row.against_offers / row.against_rod_hours)})"
    rate, low, high = (rate_text(x or 0.0) for x in (row.rate, row.low, row.high))
    return (
        f"{row.direction.capitalize()} offers {circumstances(dict([first]))} than "
        f"otherwise{among}: {row.offers} in {_rod_hours(row.rod_hours)} ({rate} an "
        f"hour, {low} to {high}) against {against}."
    )
