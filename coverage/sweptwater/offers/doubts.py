"""What a tally leaves open, as questions for the captain."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal, TypeAlias

from sweptwater.offers.stints import Loose, Stint
from sweptwater.practice.tally import Counts, Entry
from sweptwater.practice.tally_words import counts_text

Why: TypeAlias = Literal[
    "which rod",
    "no drift then",
    "partly told",
    "blank or not",
    "was that all",
    "told twice",
]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is open about a row, on which drifts, and for which rod."""

    why: Why
    entry: Entry
    drifts: tuple[int, ...]
    rod: str = ""


def ask(
    day: date,
    pair: str,
    stints: Sequence[Stint],
    loose: Sequence[Loose],
    asked: Sequence[Asked],
) -> Iterator[str]:
    """Yield the questions about one boat-day."""
    whose = f"{pair} on {day_words(day)}"
    untold = {stint.drift for stint in stints if not stint.told}
    rodless = {one.entry.row for one in asked if one.why == "which rod"}
    for one in loose:
        if one.row in rodless or not untold & set(one.drifts):
            continue
        yield (
            f"{whose}: {_offers(one.counts)}{_words(one.text)}, may have been on "
            f"{drifts_text(one.drifts)}; {_others(pair, one.drifts)}"
        )
    for one_asked in asked:
        if one_asked.why != "was that all":
            yield f"{whose}: {_question(pair, one_asked)}"
    alone = sorted(
        {n for one in asked if one.why == "was that all" for n in one.drifts}
    )
    if alone:
        yield (
            f"{whose}: on {drifts_text(alone)} only offers with their own time or "
            "place are told; were those all?"
        )


def day_words(day: date) -> str:
    """Return a day as people say it.

    Examples
    --------
    >>> day_words(date(2027, 6, 8))
    'Tue 8 Jun'
    """
    return f"{day:%a} {day.day} {day:%b}"


def drifts_text(numbers: Sequence[int]) -> str:
    """Return which drifts some numbers are.

    Examples
    --------
    >>> drifts_text([4]), drifts_text([2, 3, 4, 5]), drifts_text([1, 2, 4, 6, 7, 8])
    ('drift 4', 'drifts 2 to 5', 'drifts 1, 2, 4 and 6 to 8')
    """
    if len(numbers) == 1:
        return f"drift {numbers[0]}"
    parts: list[str] = []
    for run in _runs(sorted(numbers)):
        parts += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run)
    *most, last = parts
    return f"drifts {', '.join(most)} and {last}" if most else f"drifts {last}"


def _runs(numbers: Sequence[int]) -> list[list[int]]:
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return runs


def _others(pair: str, drifts: Sequence[int]) -> str:
    if len(drifts) == 1:
        return f"was it? then say: sweptwater tally {pair} {drifts[0]} ..."
    return f"were the others blank? then say: sweptwater tally {pair} rest blank"


def _offers(counts: Counts) -> str:
    return counts_text(counts) if counts.offers else "no offer"


def _words(text: str) -> str:
    return f" ({text})" if text else ""


def _question(pair: str, asked: Asked) -> str:
    entry, rod = asked.entry, asked.rod
    what = _offers(entry.counts)
    where = drifts_text(asked.drifts) if asked.drifts else ""
    row = f"row {entry.row}"
    match asked.why:
        case "which rod":
            return f"{what} on {where}: which rod was it? Write it in {row}"
        case "no drift then":
            words = ", ".join(filter(None, (entry.near, entry.when)))
            return (
                f"{what}{_words(words)}: there is no drift then or there; is a track "
                f"missing, or the time or the place wrong in {row}?"
            )
        case "partly told":
            return (
                f"{where}, {rod}, was two drifts before, of which one is not told; "
                f"was it blank? then say: sweptwater tally {pair} {asked.drifts[0]} ..."
            )
        case "blank or not":
            return (
                f"{where}, {rod}, is told blank, and {row} tells of {what} there; "
                "which is right?"
            )
        case _:
            return (
                f"{where}, {rod}, is told twice; {row} counts, so delete the other, "
                "or mend its start"
            )
