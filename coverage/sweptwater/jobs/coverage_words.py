"""What the coverage page says in words: its lead, its cautions and its notes."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from sweptwater.jobs.covered import Covered
from sweptwater.jobs.done import done_text
from sweptwater.jobs.listed import DriftLine
from sweptwater.jobs.unfished import PieceLine, whereabouts
from sweptwater.jobs.wording import and_text, counted, day_text
from sweptwater.offers.doubts import drifts_text as numbered_text
from sweptwater.practice.settings import Settings, Spread
from sweptwater.swept.ledger import BoatLine
from sweptwater.units import System, area_text, duration_text, length_text, share_text

MUCH_S = 300.0
"""From so long on, unknown or doubtful time is worth a caution."""

MUCH_LONGER = 0.03
"""From so much on, it is told by how much a distance is expected to be too long."""

STILL_S = 600.0
"""From so long on, fishing that lay still is worth a question."""

HOLE_S = 900.0
"""From so long on, a hole in a record is missed."""

EARLY_S = 7200.0
"""A record that ends so long before the last boat's may not be all of the day."""

SAFETY = (
    "Before anyone goes out: buoyancy aids worn and kill cord on; no boat out in more "
    "wind than its crew and the venue allow; off the water and carbon rods down at the "
    "first thunder; cold water disables within minutes; ashore before dark. The "
    "venue's rules and its rangers decide."
)


def only_text(report: Covered) -> str:
    """Return what a page is confined to, like "by Heron on 8 June"; else nothing."""
    pair = f"by {report.pair}" if report.pair else ""
    day = f"on {day_text(report.day)}" if report.day else ""
    return " ".join(filter(None, (pair, deep_text(report), day)))


def deep_text(report: Covered) -> str:
    """Return the layer and the light that a page is confined to; else nothing."""
    layer = report.layer or ""
    at = "" if layer.startswith("below") else "at "
    deep = f"with flies {at}{layer}" if layer else ""
    lit = f"under a {report.light} sky" if report.light else ""
    return " ".join(filter(None, (deep, lit)))


def unswept_text(report: Covered) -> str:
    """Return what is true of water that is known from memory only.

    On a page of some boats, the tracks of others may have swept it.
    """
    here = " shown here" if only_text(report) else ""
    return f"no track{here} has swept"


def title_text(report: Covered) -> str:
    """Return what a page is called, with what it is confined to."""
    day = day_text(report.day) if report.day else None
    only = (report.pair, deep_text(report), day)
    return f"{', '.join(filter(None, (report.practice, *only)))}: fished and not fished"


def lead_text(report: Covered, pieces: Sequence[PieceLine], units: System) -> str:
    """Return the first thing to know: how much is left, and where most of it lies."""
    only = only_text(report)
    if not report.boats and not report.remembered:
        return (
            "No boat has been out yet: all of the water is unfished. Upload the first "
            "track with sweptwater upload."
        )
    if not pieces:
        return f"No piece of water worth a visit was left {only}".rstrip() + "."
    known = _known_text(report)
    first, one = pieces[0], len(pieces) == 1
    whose = f" ({first.pair})" if first.pair else ""
    sector = f"in sector {first.sector}{whose}, " if first.sector else ""
    were = (
        f"{'was' if one else 'were'} not fished {only}"
        if only
        else ("is unfished" if one else "are unfished")
    )
    return (
        f"{counted(len(pieces), 'piece')} of water {were}. The largest: "
        f"{area_text(first.area_m2, units)}, {sector}{whereabouts(first)}.{known}"
    )


def _known_text(report: Covered) -> str:
    """Return how much was fished, where some of it is known from memory only."""
    if not report.remembered:
        return ""
    shares = shares_text(report.fished_share, report.remembered_share)
    return f" Fished of all the water: {shares}."


def shares_text(recorded: float, remembered: float) -> str:
    """Return the share that was recorded, and apart from it what memory adds.

    Examples
    --------
    >>> shares_text(0.18, 0.06), shares_text(0.18, 0)
    ('18 % recorded + 6.0 % from memory', '18 %')
    """
    if not remembered:
        return share_text(recorded)
    return f"{share_text(recorded)} recorded + {share_text(remembered)} from memory"


def drifts_text(count: int) -> str:
    """Return how many drifts were told from memory.

    Examples
    --------
    >>> drifts_text(1), drifts_text(2)
    ('1 drift from memory', '2 drifts from memory')
    """
    return f"{counted(count, 'drift')} from memory"


def date_line(report: Covered, settings: Settings) -> str:
    """Return the days that a page tells of, and the spread that it assumes."""
    days = _days(report)
    ends = dict.fromkeys((days[0], days[-1])) if days else {}
    when = " to ".join(f"{day.day} {day:%B %Y}" for day in ends) or "No day yet"
    only = " ".join(filter(None, (report.pair, deep_text(report))))
    who = f", {only} only" if only else ""
    if day := report.pairs_day:
        who += f"; sectors as shared out for {day_text(day)}"
    return f"{when}{who}. {cast_text(settings.spread, settings.units)}"


def _days(report: Covered) -> list[date]:
    """Return the days on which somebody was out, in order."""
    days = {line.day for line in report.boats}
    return sorted(days | {line.day for line in report.remembered})


def missing(report: Covered) -> tuple[str, ...]:
    """Return what is not there yet and somebody has to bring or to mend.

    What the last day lacks comes first, then the faults, then the days before.
    """
    told = [*_absent(report), *_cut_short(report)]
    told.sort(key=lambda item: item[0], reverse=True)
    last = max(_days(report), default=date.max)
    return (
        *(text for day, text in told if day >= last),
        *(_fault_text(fault) for fault in report.faults),
        *(text for day, text in told if day < last),
    )


def not_told(drifts: Sequence[DriftLine]) -> Iterator[str]:
    """Yield of which of the last day's drifts nobody told what was met.

    Nothing, where no drift at all was told: a team may do without.
    """
    last = max((line.day for line in drifts), default=None)
    if not any(line.told for line in drifts):
        return
    untold: defaultdict[str, list[int]] = defaultdict(list)
    for line in drifts:
        if line.day == last and not line.told:
            untold[line.pair].append(line.number)
    for pair, numbers in untold.items():
        verb = "is" if len(numbers) == 1 else "are"
        yield (
            f"{pair} on {day_text(last or date.max)}: {numbered_text(numbers)} {verb} "
            "not told: fish, or blank?"
        )


def cautions(report: Covered) -> Iterator[str]:
    """Yield what the figures are not sure of."""
    for line in report.boats:
        yield from _unsure(line)
    for remark in report.remarks:
        yield f"{remark}{'' if remark.endswith(('.', '?')) else '.'}"
    last = max((done.day for done in report.planned), default=None)
    for done in report.planned:
        if done.day == last and done.fished < len(done.drifts):
            yield f"{done_text(done)}."
    if not report.sectors:
        yield "The water is not divided yet, so that no piece is anybody's job."


def notes(report: Covered, settings: Settings) -> tuple[str, ...]:
    """Return what the figures mean, and what nobody should forget."""
    return (
        "Fished is what the rods could reach from the boat while it drifted; water "
        "that a boat only motored across does not count. "
        f"{spread_text(settings.spread, settings.units)}{_other_casts(report)}",
        *_memory_note(report),
        "Fished once and blank proves little: other light, or another depth, may "
        "tell otherwise.",
        "A bank's water reaches from the stones to "
        f"{length_text(settings.banks.water_m, settings.units)} out; a bank "
        "is done where at least half of the water before it is fished.",
        SAFETY,
    )


def _memory_note(report: Covered) -> Iterator[str]:
    if report.remembered:
        yield (
            "From memory is what the rods could reach on a straight line between the "
            f"places that were named, of water that {unswept_text(report)}. It is in "
            "no other figure of the fished water, of the banks or of the boats."
        )


def _other_casts(report: Covered) -> str:
    if not report.boats:
        return ""
    shares = report.share_if_cast
    return (
        f" With casts a quarter shorter {share_text(shares['shorter'])} of the water "
        f"would be fished, a quarter longer {share_text(shares['longer'])}."
    )


def cast_text(spread: Spread, units: System) -> str:
    """Return the cast that figures rest on, in a few words."""
    if spread.shape == "round":
        return spread_text(spread, units)
    return (
        f"Casts of {length_text(spread.cast_m, units)}, up to "
        f"{spread.half_angle_deg:.0f} degrees off downwind."
    )


def spread_text(spread: Spread, units: System) -> str:
    """Return what a boat's rods are taken to reach, in a sentence."""
    if spread.shape == "round":
        return f"Rods reach {length_text(spread.reach_m, units)} all round the boat."
    return (
        f"Two rods cast {length_text(spread.cast_m, units)}, up to "
        f"{spread.half_angle_deg:.0f} degrees either side of downwind: a strip "
        f"{length_text(spread.width_m, units)} wide."
    )


def too_long_text(error: float) -> str:
    """Return by how much a distance may be too long; nothing, if by little."""
    if error < MUCH_LONGER:
        return ""
    return (
        f"the distance drifted comes out some {100 * error:.0f} % too long: the boat "
        "went slowly and the receiver wandered"
    )


def still_text(anchored_s: float) -> str:
    """Return what to make of fishing that lay still; nothing, if that was short."""
    if anchored_s < STILL_S:
        return ""
    return (
        f"lay still {duration_text(anchored_s)} in open water: anchored, or tied up at "
        "a jetty that the venue does not have?"
    )


def _fault_text(fault: str) -> str:
    return f"Not in order: {fault}{'' if fault.endswith(('.', '?')) else '.'}"


def memory_of(report: Covered, day: date, pair: str) -> str:
    """Return what is known from memory of a boat-day, in a few words, or nothing."""
    told = (one for one in report.remembered if (one.day, one.pair) == (day, pair))
    count = sum(line.drifts for line in told)
    return drifts_text(count) if count else ""


def absent(report: Covered) -> Iterator[tuple[date, str, str]]:
    """Yield day and pair of each boat without a track, and what memory has of it."""
    for text in report.missing:  # like "A on DAY"
        pair, _, told = text.rpartition(" on ")
        day = date.fromisoformat(told)
        yield day, pair, memory_of(report, day, pair)


def _absent(report: Covered) -> Iterator[tuple[date, str]]:
    """Yield for each day the boats without a track."""
    nothing: defaultdict[date, list[str]] = defaultdict(list)
    for on, pair, told in absent(report):
        if told:
            yield on, f"{day_text(on)}: no track from {pair}; {told}."
        else:
            nothing[on].append(pair)
    for on, pairs in nothing.items():
        yield on, f"{day_text(on)}: no track from {and_text(pairs)}."


def _cut_short(report: Covered) -> Iterator[tuple[date, str]]:
    """Yield the boat-days that have holes, or an end that comes much too early."""
    for line in report.boats:
        memory = memory_of(report, line.day, line.pair)
        verb = "is" if memory.startswith("1 ") else "are"
        told = f" There {verb} {memory}." if memory else ""
        if line.unknown_s >= HOLE_S:
            hole = duration_text(line.unknown_s)
            yield line.day, f"{_who(line)}: {hole} have no record.{told}"
        last_s = max(boat.end_s for boat in report.boats if boat.day == line.day)
        if line.end_s > line.start_s and last_s - line.end_s >= EARLY_S:
            why = told or " Did the phone die?"
            yield (
                line.day,
                f"{_who(line)}: the record ends {duration_text(last_s - line.end_s)} "
                f"before the last boat's.{why}",
            )


def _who(line: BoatLine) -> str:
    return f"{line.pair} on {day_text(line.day)}"


def hours_text(seconds: float, line: BoatLine) -> str:
    """Return a part of a boat's day; none, of a boat whose track has no times."""
    return duration_text(seconds) if hours_known(line) else "-"


def hours_known(line: BoatLine) -> bool:
    """Tell whether a boat's track has times, so that its hours count.

    That of a single fix has, and no drift.
    """
    return line.end_s > line.start_s or not line.drifts


def _unsure(line: BoatLine) -> Iterator[str]:
    who = _who(line)
    if not hours_known(line):
        yield f"{who}: its track has no times, so its hours are in no figure."
    if MUCH_S <= line.unknown_s < HOLE_S:
        yield f"{who}: {duration_text(line.unknown_s)} have no record."
    if line.doubtful_s >= MUCH_S:
        yield (
            f"{who}: {duration_text(line.doubtful_s)} counted as fishing may have been "
            "slow motoring."
        )
    if long := too_long_text(line.drift_error):
        yield f"{who}: {long}."
    if still := still_text(line.anchored_s):
        yield f"{who}: {still}"
