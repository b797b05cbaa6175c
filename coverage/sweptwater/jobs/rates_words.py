"""What was met, in words: rates, their ranges, and what they can bear."""

from collections.abc import Iterator

from sweptwater.jobs.met_words import sentences
from sweptwater.jobs.rates import WhatWeMet
from sweptwater.offers.table import RateRow
from sweptwater.paper.intervals import hours_text, rate_text

UNTOLD = "-"


def range_text(low: float | None, high: float | None) -> str:
    """Return the range that a rate may lie in.

    Examples
    --------
    >>> range_text(0.0, 0.41), range_text(None, None)
    ('0 to 0.41', '-')
    """
    if low is None or high is None:
        return UNTOLD
    return f"{rate_text(low)} to {rate_text(high)}"


def offers_text(offers: int) -> str:
    """Return a number of offers.

    Examples
    --------
    >>> offers_text(1), offers_text(0)
    ('1 offer', '0 offers')
    """
    return f"{offers:,} offer{'' if offers == 1 else 's'}"


def verdict_text(row: RateRow) -> str:
    """Return what a row can bear, and which way."""
    if not row.rod_hours:
        return "not told"
    return f"{row.verdict}: {row.direction}" if row.direction else row.verdict


def whole_text(report: WhatWeMet) -> str:
    """Return what was met in all."""
    who = ", ".join(filter(None, (report.pair, str(report.day or ""))))
    start = f"{report.practice}{f' ({who})' if who else ''}"
    untold = (
        f"; {hours_text(report.untold_rod_hours)} h more not told"
        if report.untold_rod_hours
        else ""
    )
    if report.rate is None:
        return f"{start}: nobody has told what happened yet{untold}."
    hours = hours_text(report.rod_hours)
    return (
        f"{start}: {offers_text(report.offers)} in {hours} rod-hours told, "
        f"{rate_text(report.rate)} an hour ({range_text(report.low, report.high)})"
        f"{untold}."
    )


def comparisons_text(report: WhatWeMet) -> Iterator[str]:
    """Yield what the rows can bear, and the rule."""
    clear = [row for row in report.rows if row.verdict == "clear"]
    for one in sentences(report.table(by) for by in report.by):
        yield f"{one.verdict.capitalize()}: {one.text[0].lower()}{one.text[1:]}"
    if report.comparisons and not clear:
        yield (
            f"Of {report.comparisons} comparisons none is clear: too little to tell."
            if report.comparisons > 1
            else "The comparison is not clear: too little to tell."
        )
    elif report.comparisons > 1:
        yield f"{report.comparisons} comparisons were made, and that is allowed for."
    if report.widen >= 1.05:
        yield (
            f"Offers came in clusters: the ranges are {report.widen:.1f} times as wide "
            "as if each had come by itself."
        )
