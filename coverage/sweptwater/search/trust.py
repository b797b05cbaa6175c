"""Whether a find can be trusted: fresh, stale, pressed or resting, and why."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sweptwater.practice.search import DAY_S, SearchRules
from sweptwater.search.ageing import Night
from sweptwater.search.finds import Find, State

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

    Stale: less than half is left of what was learned. Pressed: in the last `rest_s`
    we pricked `pressed_fish` there, or so many other boats were seen there as
    `pressed_boats`. Resting: so it was before, up to RESTED times as long ago, and
    nobody has been there since. Else fresh.

    Parameters
    ----------
    boats
        Other boats that were seen on its ground, or near it.

    Examples
    --------
    Nine pricked yesterday morning, and six boats there in the afternoon.

    >>> find = Find(1, 0, 0, 3, "A", (), 9, 9, 1.3, 6.9, 3, 12, 0, 2400, left=0.7)
    >>> seen = [BoatsSeen(4 * 3600, 50, 0, 6, "14:30")]
    >>> found = trusted_by(find, 0.9 * DAY_S, [], seen, SearchRules())
    >>> found.states, found.why
    (('pressed',), ('9 fish pricked', '6 other boats at 14:30'))
    >>> trusted_by(find, 2 * DAY_S, [], seen, SearchRules()).states
    ('resting',)
    """
    states, why = list[State](), list[str]()
    if find.left < STALE:
        states.append("stale")
        why += _aged(find, now_s, nights, rules)
    near = [one for one in boats if find.first_s - rules.rest_s <= one.time_s <= now_s]
    reasons = _pressed(find, near, now_s - rules.rest_s, rules)
    before = _pressed(find, near, now_s - RESTED * rules.rest_s, rules)
    if reasons:
        states.append("pressed")
        why += reasons
    elif before and not any(one.time_s > now_s - rules.rest_s for one in near):
        states.append("resting")
        why += before
    return replace(find, states=tuple(states) or ("fresh",), why=tuple(why))


def _pressed(
    find: Find, near: Sequence[BoatsSeen], since_s: float, rules: SearchRules
) -> list[str]:
    reasons = []
    if find.last_s >= since_s and find.pricked >= rules.pressed_fish:
        reasons.append(f"{find.pricked} fish pricked")
    seen = [one for one in near if one.time_s >= since_s]
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
    if not reasons or days >= 1.5:
        reasons.append(f"{days:.0f} days ago" if days >= 1.5 else "a day ago")
    return reasons
