"""Whether a find can be trusted: fresh, stale, pressed or resting, and why."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

from sweptwater.practice.search import DAY_S, SearchRules
from sweptwater.search.ageing import Night
from sweptwater.search.finds import Find, Pricked, State

STALE = 0.5
"""What was learned is stale when less than so much of it is left."""

RESTED = 3.0
"""After so many rests what was pressed is as fresh as any."""


@dataclass(frozen=True, slots=True)
class BoatsSeen:
    """Other boats that somebody noted: seconds since 1970 UTC, metres."""

    time_s: float
    easting: float
    northing: float
    count: int
    clock: str = ""
    """When, as people say it."""


def trusted_by(
    find: Find,
    now_s: float,
    nights: Sequence[Night],
    boats: Sequence[BoatsSeen],
    rules: SearchRules,
) -> Find:
    """Return a find with its states and the reasons for them.

    Stale: less than half is left of what was learned. Pressed: within some `rest_s`
    we pricked `pressed_fish` there, or so many other boats were seen there at once as
    `pressed_boats`, and it was not left alone for `rest_s` since. Resting: it was, and
    so lately that not RESTED times as long has passed. Else fresh.

    Parameters
    ----------
    boats
        Other boats that were seen on its ground, or near it.

    Examples
    --------
    Nine pricked yesterday morning, and six boats there in the afternoon.

    >>> from datetime import date
    >>> nine = (Pricked(date(2027, 6, 8), 2400, 9),)
    >>> find = Find(1, 0, 0, 3, "A", (), 9, 9, 1.3, 6.9, 3, 12, 0, 2400, pricks=nine)
    >>> seen = [BoatsSeen(4 * 3600, 50, 0, 6, "14:30")]
    >>> found = trusted_by(find, 0.9 * DAY_S, [], seen, SearchRules())
    >>> found.states, found.why
    (('pressed',), ('9 fish pricked on Tue 8 Jun', '6 other boats at 14:30'))
    >>> trusted_by(find, 2 * DAY_S, [], seen, SearchRules()).states
    ('resting',)
    """
    states, why = list[State](), list[str]()
    if find.left < STALE:
        states.append("stale")
        why += _aged(find, now_s, nights, rules)
    near = [one for one in boats if find.first_s - rules.rest_s <= one.time_s <= now_s]
    pricks = [one for one in find.pricks if one.time_s <= now_s]
    until_s, reasons = _pressed(pricks, near, rules)
    if reasons and now_s - until_s < RESTED * rules.rest_s:
        states.append("pressed" if now_s - until_s < rules.rest_s else "resting")
        why += reasons
    return replace(find, states=tuple(states) or ("fresh",), why=tuple(why))


def _pressed(
    pricks: Sequence[Pricked], boats: Sequence[BoatsSeen], rules: SearchRules
) -> tuple[float, list[str]]:
    """Return until when a find was last pressed, and by what; by nothing if never."""
    last_s, reasons = -inf, list[str]()
    for at_s in sorted([one.time_s for one in pricks] + [one.time_s for one in boats]):
        now = _pressed_by(pricks, boats, at_s, rules)
        if now or at_s - last_s < rules.rest_s:
            # A boat or two keep from resting what was pressed just before.
            last_s, reasons = at_s, now or reasons
    return last_s, reasons


def _pressed_by(
    pricks: Sequence[Pricked],
    boats: Sequence[BoatsSeen],
    at_s: float,
    rules: SearchRules,
) -> list[str]:
    """Return what pressed a find in the rest before a time."""
    reasons = []
    lately = [one for one in pricks if at_s - rules.rest_s < one.time_s <= at_s]
    count = sum(one.count for one in lately)
    if count >= rules.pressed_fish:
        days = sorted({one.day for one in lately})
        since = "on" if len(days) == 1 else "since"
        first = f"{days[0]:%a} {days[0].day} {days[0]:%b}"
        reasons.append(f"{count} fish pricked {since} {first}")
    seen = [one for one in boats if at_s - rules.rest_s < one.time_s <= at_s]
    most = max(seen, key=lambda one: one.count, default=None)
    if most and most.count >= rules.pressed_boats:
        at = f" at {most.clock}" if most.clock else ""
        reasons.append(f"{most.count} other boats{at}")
    return reasons


def _aged(
    find: Find, now_s: float, nights: Sequence[Night], rules: SearchRules
) -> list[str]:
    since = [
        night
        for night in nights
        if find.last_s < night.midnight_s + DAY_S / 2
        and night.midnight_s - DAY_S / 2 < now_s
    ]
    reasons = []
    if swings := [night.swing_deg or 0.0 for night in since if night.swung(rules)]:
        reasons.append(f"the wind swung {max(swings):.0f} degrees overnight")
    if any(night.chilled(rules) for night in since):
        reasons.append("it turned cold")
    days = (now_s - find.last_s) / DAY_S
    if days >= 1.5:
        reasons.append(f"{days:.0f} days ago")
    elif not reasons:
        reasons.append("a day ago" if days >= 0.75 else f"{24 * days:.0f} hours ago")
    return reasons
