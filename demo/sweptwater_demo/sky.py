"""The invented sky of the three days, and what the boats noted of them.

The sky is what it is from one time to the next; the notes are what somebody wrote down
of it, sometimes late, and of some hours nobody wrote anything.
"""

from datetime import date, datetime, time
from typing import Literal, TypeAlias

from sweptwater.practice.notes import Note
from sweptwater_demo.scenario import DAYS, SUMMER_TIME

Sky: TypeAlias = Literal["bright", "broken", "dull"]

INVENTED = "invented"

SKIES: dict[date, tuple[tuple[time, Sky], ...]] = {
    DAYS[0]: ((time(0), "bright"), (time(11, 40), "broken"), (time(14, 20), "dull")),
    DAYS[1]: ((time(0), "dull"), (time(10, 30), "broken"), (time(12, 50), "bright")),
    DAYS[2]: (
        *((time(0), "dull"), (time(11), "broken"), (time(11, 30), "bright")),
        (time(15, 10), "dull"),
    ),
}
"""From when on each sky holds, local."""

_NOTED = (
    (0, "09:05", "", "sky", "bright"),
    (0, "09:05", "", "wind", "SW4"),
    (0, "09:10", "", "temp_top", "15.5"),
    (0, "09:20", "Teal", "clarity_ft", "9"),
    (0, "10:30", "Heron", "hatch", "buzzers"),
    (0, "11:45", "Grebe", "sky", "broken"),
    (0, "12:15", "", "wave", "1 ft"),
    (0, "13:05", "Teal", "boats", "3"),
    (0, "14:25", "", "sky", "dull"),
    (0, "15:40", "", "wind", "SW4"),
    (0, "16:10", "Heron", "birds", "swifts low over the water"),
    (1, "09:30", "", "sky", "dull"),
    (1, "09:30", "", "wind", "W3"),
    (1, "09:35", "", "temp_top", "16"),
    (1, "11:10", "Heron", "sky", "broken"),
    (1, "11:15", "Grebe", "hatch", "olives"),
    (1, "13:00", "", "sky", "bright"),
    (1, "13:00", "", "wave", "6 in"),
    (1, "15:20", "Heron", "clarity_ft", "10"),
    (1, "16:15", "Heron", "spooned", "water fleas"),
    (2, "09:00", "", "wind", "NE2"),
    (2, "09:15", "", "sky", "dull"),
    (2, "09:15", "", "temp_top", "14"),
    (2, "10:05", "Heron", "hatch", "buzzers"),
    (2, "11:35", "", "sky", "bright"),
    (2, "12:30", "Teal", "temp_deep", "12.5"),
    (2, "13:40", "Teal", "spooned", "water fleas"),
    (2, "15:20", "", "sky", "dull"),
    (2, "15:45", "Heron", "birds", "swallows along the trees"),
    (2, "16:00", "", "wind", "NE2"),
)

_NEAR = {"swallows along the trees": "The Willows", "3": "Long Point"}
"""Where something was, by what was noted of it."""


def sky_at(day: date, clock: time) -> Sky:
    """Return what the sky was like.

    Examples
    --------
    >>> sky_at(DAYS[1], time(10, 29)), sky_at(DAYS[1], time(10, 30))
    ('dull', 'broken')
    """
    return [sky for since, sky in SKIES[day] if since <= clock][-1]


def sky_of(time_s: float) -> Sky:
    """Return what the sky was like at a time in seconds since 1970 in UTC."""
    moment = datetime.fromtimestamp(time_s, SUMMER_TIME)
    return sky_at(moment.date(), moment.time())


def demo_notes() -> list[Note]:
    """Return what was noted on the three days, each marked as invented."""
    return [
        Note(
            day=DAYS[number],
            at=time.fromisoformat(clock),
            pair=pair,
            kind=kind,
            value=value,
            near=_NEAR.get(value, ""),
            note=INVENTED,
        )
        for number, clock, pair, kind, value in _NOTED
    ]
