"""Days, numbers and lists of names, as the sentences of reports tell them."""

from collections.abc import Sequence
from datetime import date

from sweptwater.units import YARD_M, System


def day_text(day: date) -> str:
    """Return a day as people say it, without its year.

    Examples
    --------
    >>> day_text(date(2027, 6, 8))
    '8 June'
    """
    return f"{day.day} {day:%B}"


def day_cell(day: date) -> str:
    """Return a day as a table's cell tells it.

    Examples
    --------
    >>> day_cell(date(2027, 6, 8))
    '8 Jun'
    """
    return f"{day.day} {day:%b}"


def counted(number: int, one: str) -> str:
    """Return a number with its noun.

    Examples
    --------
    >>> counted(1, "track"), counted(3, "track")
    ('1 track', '3 tracks')
    """
    return f"{number} {one}{'' if number == 1 else 's'}"


def pace_text(speed_m_s: float, units: System) -> str:
    """Return how fast a boat went, as somebody in it can judge.

    Examples
    --------
    >>> pace_text(0.25, "imperial"), pace_text(0.25, "metric")
    ('16 yd a minute', '15 m a minute')
    >>> pace_text(0.02, "imperial")
    '1.3 yd a minute'
    """
    unit_m, unit = (1.0, "m") if units == "metric" else (YARD_M, "yd")
    a_minute = 60 * speed_m_s / unit_m
    return f"{a_minute:,.{1 if a_minute < 10 else 0}f} {unit} a minute"


def and_text(names: Sequence[str]) -> str:
    """Return names as a sentence lists them.

    Examples
    --------
    >>> and_text(["Heron"]), and_text(["Heron", "Grebe", "Teal"])
    ('Heron', 'Heron, Grebe and Teal')
    """
    return _listed(names, "and")


def or_text(names: Sequence[str]) -> str:
    """Return names of which one is meant.

    Examples
    --------
    >>> or_text(["Heron"]), or_text(["Heron", "Grebe", "Teal"])
    ('Heron', 'Heron, Grebe or Teal')
    """
    return _listed(names, "or")


def _listed(names: Sequence[str], word: str) -> str:
    *most, last = names
    return f"{', '.join(most)} {word} {last}" if most else last
