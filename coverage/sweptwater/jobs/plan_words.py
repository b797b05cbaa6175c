"""The sentences of a plan, on the screen and on paper."""

from collections.abc import Iterator

from sweptwater.jobs.planning import PairDay, Planning
from sweptwater.jobs.wording import and_text, counted
from sweptwater.offers.wind import beaufort, wind_text
from sweptwater.plan.day import Rest
from sweptwater.units import MPH_M_S, area_text, share_text

CAUTION_FORCE, STRONG_FORCE = 4, 5
"""Open drifting boats: take care from force 4, and think twice from 5: common
practice, no standard; the venue's own rule comes first."""


def possible_text(base: Planning, day: PairDay) -> str:
    """Return what the hours are good for, in one line."""
    units, plan = base.opened.settings.units, day.plan
    head = f"{base.afloat_s / 3600:g} h afloat in this wind: "
    if not plan.stops:
        return f"{head}no drift that can be drifted and fits"
    told = (
        f"{head}{counted(len(plan.stops), 'drift')}, {area_text(day.new.area, units)}"
    )
    told += f", {share_text(day.new.area / day.sector.area)} of the {_whole(base)}"
    told += f" (expect {area_text(day.expected_m2, units)}: no boat keeps its line)"
    if plan.bank_time_s > 0 and base.orders is None:
        told += f"; the banks alone need {hours_text(plan.bank_time_s)}"
    return told


def hours_text(time_s: float) -> str:
    """Return hours as a captain reckons with them.

    Examples
    --------
    >>> hours_text(11.2 * 3600), hours_text(1.14 * 3600), hours_text(0.1 * 3600)
    ('11 h', '1.1 h', '0.1 h')
    """
    hours = time_s / 3600
    return f"{hours:.0f} h" if hours >= 9.95 else f"{hours:.1f} h"


def sectors_text(day: PairDay) -> str:
    """Return whose water a pair has that day."""
    if not day.sectors:
        return "all of the water"
    return f"sector {and_text(list(day.sectors))}"


def left_out_text(base: Planning, rest: Rest) -> str:
    """Return what did not fit, with its hours."""
    names = {bank.number: bank.name for bank in base.opened.banks}
    where = "open water" if rest.bank is None else names.get(rest.bank, "a bank")
    return (
        f"{where}: {counted(rest.drifts, 'drift')}, {hours_text(rest.time_s)}, "
        f"{area_text(rest.new_m2, base.opened.settings.units)}"
    )


def ashore_text(base: Planning) -> str:
    """Return why nobody should go afloat."""
    settings = base.opened.settings
    most = settings.day.most_wind_m_s
    limit = (
        f"{most / MPH_M_S:.0f} mph"
        if settings.units == "imperial"
        else f"{most * 3.6:.0f} km/h"
    )
    return (
        f"Stay ashore: {wind_text(base.wind, settings.units)} is over the {limit} that "
        "this practice goes afloat in."
    )


def cautions(base: Planning) -> Iterator[str]:
    """Yield what this day's wind asks for; the venue's own rules come first."""
    force = beaufort(base.wind.speed_m_s)
    if force >= STRONG_FORCE:
        yield (
            "A strong wind for an open boat: the venue may keep boats in. Never lie "
            "broadside to a breaking wave; if the engine fails, anchor bow to wind."
        )
    elif force >= CAUTION_FORCE:
        yield (
            "White horses are likely: stay seated, trim the boat level, and be sure of "
            "the engine before each drift on to a shore."
        )
    yield (
        "Gusts are half as strong again as the mean wind: if it is more than was "
        "forecast, or the venue says so, come in."
    )


def _whole(base: Planning) -> str:
    return "water" if base.ask.across else "sector"
