"""What is wrong with a practice folder: where, what, and what to do about it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

AGAIN = "mend that, and check again"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: where, what, and what to do about it."""

    file: str
    what: str
    do: str


def fault_from(file: str, sentence: str) -> Fault:
    """Return the fault that an error's sentence tells: what first, then what to do.

    Examples
    --------
    >>> fault_from("a.toml", "a.toml has no name: write one")
    Fault(file='a.toml', what='a.toml has no name', do='write one')
    >>> fault_from("a.toml", "a.toml is missing").do
    'mend that, and check again'
    """
    for mark in ("; ", ": "):
        what, _, do = sentence.rpartition(mark)
        if what:
            return Fault(file, what, do)
    return Fault(file, sentence, AGAIN)


def day_text(day: date) -> str:
    """Return a day as people say it, without its year."""
    return f"{day.day} {day:%B}"


def counted(number: int, one: str) -> str:
    """Return a number with its noun.

    Examples
    --------
    >>> counted(1, "track"), counted(3, "track")
    ('1 track', '3 tracks')
    """
    return f"{number} {one}{'' if number == 1 else 's'}"


def or_text(names: Sequence[str]) -> str:
    """Return names of which one is meant.

    Examples
    --------
    >>> or_text(["Heron"]), or_text(["Heron", "Grebe", "Teal"])
    ('Heron', 'Heron, Grebe or Teal')
    """
    *most, last = names
    return f"{', '.join(most)} or {last}" if most else last
