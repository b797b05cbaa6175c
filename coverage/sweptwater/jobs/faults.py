"""What is wrong with a practice folder: where, what, and what to do about it."""

from dataclasses import dataclass

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
