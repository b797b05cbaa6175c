"""What papers for a day afloat tell of the sun, and of what is out of bounds."""

from collections.abc import Iterator
from datetime import datetime

import shapely

from sweptwater.jobs.opened import Opened
from sweptwater.jobs.plan_places import spot_text
from sweptwater.plan.sun import sun_day, sun_place, sun_words
from sweptwater.units import length_text


def closed_texts(opened: Opened, keep_off_m: float) -> Iterator[str]:
    """Yield what is out of bounds, by name or by place, and how far to keep off.

    Nothing where nothing is known.
    """
    for feature in opened.practice.features:
        if feature.kind not in ("out-of-bounds", "bank-anglers"):
            continue
        shape = opened.venue.frame.metres(feature.shape)
        inside = shapely.point_on_surface(shape)
        where = spot_text(opened, shapely.get_coordinates(inside)[0])
        what = "" if feature.kind == "out-of-bounds" else "bank-anglers "
        yield f"{what}{feature.name or where}"
    venue = opened.venue
    if not (venue.out_of_bounds.is_empty and venue.bank_anglers.is_empty):
        yield f"keep {length_text(keep_off_m, opened.settings.units)} off all of it"


def sunset_on(opened: Opened, moment: datetime) -> datetime | None:
    """Return when the sun sets on the day of a moment; None if it does not."""
    frame, zone = opened.venue.frame, opened.settings.zone
    midnight = moment.replace(hour=0, minute=0, second=0, microsecond=0)
    sunset_s = sun_day(midnight.timestamp(), frame.lon, frame.lat).sunset_s
    return None if sunset_s is None else datetime.fromtimestamp(sunset_s, zone)


def sun_texts(opened: Opened, begin: datetime, end: datetime) -> Iterator[str]:
    """Yield where the sun stands at the beginning, half-way and at the end; and sunset.

    Parameters
    ----------
    begin, end
        In the practice's zone.
    """
    frame = opened.venue.frame
    for moment in (begin, begin + (end - begin) / 2, end):
        place = sun_place(moment.timestamp(), frame.lon, frame.lat)
        yield f"{moment:%H:%M} {sun_words(place.bearing_deg, place.height_deg)}"
    sunset = sunset_on(opened, begin)
    if sunset is not None:
        yield f"sunset {sunset:%H:%M}"
