"""How long it takes to cover water once, before anybody knows the wind of the day.

Banks take longest with the wind straight on or off, in a ladder of short drifts, and
least with the wind along them; half of each is reckoned with.
"""

from dataclasses import dataclass
from math import ceil, inf, sqrt

from sweptwater.plan.legs import between_s
from sweptwater.practice.outing import BoatRules, DayRules, PlanRules
from sweptwater.practice.settings import BankRules

USUAL_WIND_M_S = 6.7
"""Force 4 in the middle of its range: a usual wind on a reservoir (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Drifts:
    """Drifts alike: how many, a part of one counted as such, and the time for each.

    Examples
    --------
    >>> Drifts(58.7, 420).whole.time_s / 60
    413.0
    """

    count: float
    each_s: float

    @property
    def time_s(self) -> float:
        """The time for all of them, what passes between them included."""
        return self.count * self.each_s

    @property
    def whole(self) -> "Drifts":
        """As many, with the last part of one as a whole drift."""
        return Drifts(float(ceil(self.count - 1e-9)), self.each_s)


@dataclass(frozen=True, slots=True)
class Pace:
    """What the time for some water depends on, but for the water.

    Parameters
    ----------
    speed_m_s
        The speed of drifts.
    banks, boat, plan
        The boat band, what passes between drifts, and how far these are apart.
    """

    speed_m_s: float
    banks: BankRules
    boat: BoatRules
    plan: PlanRules

    @property
    def deep_m(self) -> float:
        """How wide the boat band is, from near to far."""
        return max(self.banks.boat_far_m - self.banks.boat_near_m, self.plan.apart_m)


def across_band(band_m2: float, pace: Pace) -> Drifts:
    """Return a ladder over a boat band, for a wind on to the bank or off it.

    A mile of bank, the band from 20 to 80 yards out, 20 yards a minute, 30 yards apart:

    >>> from sweptwater.units import YARD_M
    >>> pace = Pace(20 * YARD_M / 60, BankRules(), BoatRules(), PlanRules())
    >>> ladder = across_band(1760 * 60 * YARD_M**2, pace).whole
    >>> ladder.count, round(ladder.each_s / 60, 3), round(ladder.time_s / 3600, 1)
    (59.0, 7.0, 6.9)
    """
    long_m = pace.deep_m
    count = band_m2 / (long_m * pace.plan.apart_m)
    return Drifts(count, long_m / pace.speed_m_s + pace.boat.reset_s)


def along_band(band_m2: float, pace: Pace) -> Drifts:
    """Return drifts over a boat band for a wind along it, a stretch long each.

    The next one begins where the last one ended, or beside it.

    >>> from sweptwater.units import YARD_M
    >>> pace = Pace(20 * YARD_M / 60, BankRules(), BoatRules(), PlanRules())
    >>> along = along_band(1760 * 60 * YARD_M**2, pace).whole
    >>> along.count, round(along.each_s / 60, 3), round(along.time_s / 3600, 1)
    (8.0, 26.0, 3.5)
    """
    long_m = min(pace.banks.stretch_m, pace.plan.longest_s * pace.speed_m_s)
    count = band_m2 / (long_m * pace.plan.apart_m)
    return Drifts(count, long_m / pace.speed_m_s + pace.boat.reset_s)


def over_open_water(open_m2: float, pace: Pace) -> Drifts:
    """Return long drifts side by side, the boat motoring back up after each.

    None is longer than the water is wide, were it a square.

    Examples
    --------
    A square mile of which an hour's drift at 20 yards a minute crosses 1,200 yards:

    >>> from sweptwater.units import YARD_M
    >>> boat = BoatRules(reset_s=240, motoring_up_m_s=2.0)
    >>> pace = Pace(20 * YARD_M / 60, BankRules(), boat, PlanRules())
    >>> long = over_open_water((1760 * YARD_M) ** 2, pace)
    >>> round(long.count, 1), round(long.each_s)
    (86.0, 4269)
    >>> over_open_water(0.0, pace).time_s
    0.0
    """
    if not open_m2 > 0:
        return Drifts(0.0, 0.0)
    long_m = min(pace.plan.longest_s * pace.speed_m_s, sqrt(open_m2))
    back_s = float(between_s(long_m / pace.boat.motoring_up_m_s, pace.boat))
    count = open_m2 / (long_m * pace.plan.apart_m)
    return Drifts(count, long_m / pace.speed_m_s + back_s)


def cover_once_s(band_m2: float, open_m2: float, pace: Pace) -> float:
    """Return the time to cover some water once, in seconds.

    Parameters
    ----------
    band_m2
        Its part of the boat band.
    open_m2
        Its open water, beyond what counts as the banks'.
    """
    bank_s = (across_band(band_m2, pace).time_s + along_band(band_m2, pace).time_s) / 2
    return bank_s + over_open_water(open_m2, pace).time_s


def with_runs_s(work_s: float, run_m: float, day: DayRules, boat: BoatRules) -> float:
    """Return the time for some work with the runs there and back each day, in seconds.

    A part of a day counts with its part of the runs. Infinite if a day is not long
    enough to come there and back.

    Parameters
    ----------
    work_s
        The time for the work itself.
    run_m
        From the jetty to where it is, by water.

    Examples
    --------
    A day of 7 hours 10 minutes without lunch and what is kept in hand, of which the
    runs take an hour: 61 h 40 of work are ten days.

    >>> boat = BoatRules(motoring_up_m_s=2.0, motoring_down_m_s=2.0)
    >>> hours = with_runs_s(61 * 3600 + 2400, 3600, DayRules(), boat) / 3600
    >>> round(hours, 2), days_for(hours * 3600, DayRules())
    (71.67, 10)
    """
    runs_s = run_m / boat.motoring_up_m_s + run_m / boat.motoring_down_m_s
    usable_s = workday_s(day)
    return work_s * usable_s / (usable_s - runs_s) if runs_s < usable_s else inf


def workday_s(day: DayRules) -> float:
    """Return the time of a day afloat that is left for fishing and motoring."""
    return day.afloat_s - day.lunch_s - day.spare_s


def days_for(time_s: float, day: DayRules) -> int | None:
    """Return how many days a time afloat makes; None if it never ends."""
    return None if time_s == inf else ceil(time_s / workday_s(day) - 1e-9)
